"""Uncertainty of what a model gives, from the uncertainties of what goes into it.

Takes any model as a function of named numbers, its inputs and a seed; gives the linear result
(JCGM 100:2008, 5.1 and 5.2) with its budget, the Monte Carlo result (JCGM 101:2008, 7) and
whether the two agree (JCGM 101:2008, 8). Knows nothing of apparatus or trials.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from enum import Enum
from math import floor, inf, log10, sqrt

import numpy as np

from fallwork.measurement.model import Array, Estimate
from fallwork.measurement.statistics import LEVEL, interval, welch_satterthwaite

Numbers = Mapping[str, Array]
Model = Callable[[Numbers], Numbers]  # arrays of one length in, arrays of that length out

BLOCK = 10_000  # draws (JCGM 101:2008, 7.9.4)
FEWEST_BLOCKS, MOST_BLOCKS = 5, 50
STEP = 0.01  # of a derivative, in standard uncertainties
DIGITS = 1  # of an uncertainty that count when two intervals are compared
ROUNDING = 1e-14  # relative, of what a model gives: some units of the last bit
SHARE = 0.1  # of an uncertainty, by which the ends of two intervals may differ at most


class Distribution(Enum):
    """What is known of an input beside its value and standard uncertainty."""

    NORMAL = "normal"
    RECTANGULAR = "rectangular"


@dataclass(frozen=True, kw_only=True)
class Input:
    """A number that goes into a model."""

    name: str
    value: float
    u: float
    dof: float = inf
    distribution: Distribution = Distribution.NORMAL
    lowest: float = -inf  # what it can't lie below; a draw that does counts as this


@dataclass(frozen=True, kw_only=True)
class Contribution:
    """What one input adds to the uncertainty of an output."""

    input: str
    sensitivity: float  # ∂output/∂input
    u_input: float
    u: float  # |sensitivity| × u_input, in the unit of the output
    share: float  # of the squared standard uncertainty; correlations left out


@dataclass(frozen=True, kw_only=True)
class LinearResult:
    """The law of propagation of uncertainty; mappings by output."""

    estimates: Mapping[str, Estimate]
    intervals: Mapping[str, tuple[float, float]]
    budget: Mapping[str, tuple[Contribution, ...]]  # the largest first
    correlations: Mapping[tuple[str, str], float]  # of outputs, through inputs that they share


@dataclass(frozen=True, kw_only=True)
class MonteCarloResult:
    """Propagation of distributions; mappings by output."""

    draws: int
    estimates: Mapping[str, Estimate]  # mean and standard deviation of the draws
    intervals: Mapping[str, tuple[float, float]]  # with equal probability on either side
    noise: Mapping[str, float]  # twice the standard deviation of either end of the interval
    undefined: Mapping[str, float]  # share of the draws for which the model gave nothing
    correlations: Mapping[tuple[str, str], float]


@dataclass(frozen=True, kw_only=True)
class Agreement:
    """Linear against Monte Carlo interval (JCGM 101:2008, 8.2)."""

    low: float  # |difference| of the lower ends
    high: float  # of the upper ends
    tolerance: float  # half a unit of the first digit of u, or u/10 where that is less
    noise: float  # by which the ends of the Monte Carlo interval may be off
    holds: bool  # both differences within tolerance, but for the noise


def tolerance(u: float, digits: int = DIGITS) -> float:
    """Half a unit in the last of ``digits`` significant digits of u (JCGM 101:2008, 7.9.2)."""
    if u <= 0:
        return 0.0
    unit = floor(log10(u)) - digits + 1
    if round(u / 10.0**unit) >= 10**digits:  # 0.0996 is 0.10
        unit += 1
    return 0.5 * 10.0**unit


def _allowed(u: float) -> float:
    """The tolerance of a comparison: for a u of 0.0011 half a unit, 0.0005, would say nothing."""
    return min(tolerance(u), SHARE * u)


def linear(
    model: Model,
    inputs: Sequence[Input],
    correlations: Mapping[tuple[str, str], float] | None = None,
    level: float = LEVEL,
) -> LinearResult:
    """First-order propagation with central differences, all points in one call of the model."""
    u = np.array([each.u for each in inputs])
    values, jacobian = derivatives(model, inputs)
    names = tuple(values)
    matrix = np.array([jacobian[name] for name in names]).reshape(len(names), len(inputs))
    parts = matrix * u
    covariance = parts @ _correlation_matrix(inputs, correlations or {}) @ parts.T
    sizes = np.sqrt(np.maximum(np.diag(covariance), 0.0))
    dofs = [each.dof for each in inputs]
    dof = [welch_satterthwaite(list(zip(np.abs(row), dofs, strict=True))) for row in parts]
    estimates = {
        name: Estimate(value=values[name], u=float(sizes[at]), dof=dof[at])
        for at, name in enumerate(names)
    }
    return LinearResult(
        estimates=estimates,
        intervals={name: interval(estimate, level) for name, estimate in estimates.items()},
        budget={name: _budget(inputs, matrix[at], parts[at]) for at, name in enumerate(names)},
        correlations=_pairs(names, covariance, sizes),
    )


def monte_carlo(
    model: Model,
    inputs: Sequence[Input],
    seed: int,
    correlations: Mapping[tuple[str, str], float] | None = None,
    level: float = LEVEL,
) -> MonteCarloResult:
    """Draws in blocks until every output is stable within a fifth of its tolerance (7.9, 8.2),
    or MOST_BLOCKS have been drawn.
    """
    generator = np.random.default_rng(seed)
    root = _root(_correlation_matrix(inputs, correlations or {}))
    blocks: list[Numbers] = []
    ends: dict[str, list[tuple[float, float]]] = {}
    while len(blocks) < MOST_BLOCKS:
        block = _full(model(_draw(inputs, generator, root)), BLOCK)
        blocks.append(block)
        for name, values in block.items():
            ends.setdefault(name, []).append(_ends(_defined(values), level))
        if len(blocks) >= FEWEST_BLOCKS and _stable(block, ends):
            break
    whole = {name: np.concatenate([block[name] for block in blocks]) for name in blocks[0]}
    defined = {name: _defined(values) for name, values in whole.items()}
    return MonteCarloResult(
        draws=BLOCK * len(blocks),
        estimates={name: _estimate(values) for name, values in defined.items()},
        intervals={name: _ends(values, level) for name, values in defined.items()},
        noise={name: _noise(pairs) for name, pairs in ends.items()},
        undefined={name: 1 - len(defined[name]) / len(values) for name, values in whole.items()},
        correlations=_correlations_of(whole),
    )


def agreement(result: LinearResult, simulated: MonteCarloResult, name: str) -> Agreement:
    """Whether the linear interval of an output holds."""
    low, high = (
        abs(ours - theirs)
        for ours, theirs in zip(result.intervals[name], simulated.intervals[name], strict=True)
    )
    allowed = _allowed(simulated.estimates[name].u)
    noise = simulated.noise[name]
    close = max(low, high) <= allowed + noise
    return Agreement(
        low=low,
        high=high,
        tolerance=allowed,
        noise=noise,
        holds=bool(close) and simulated.undefined[name] == 0,
    )


# ---- linear


def derivatives(
    model: Model, inputs: Sequence[Input]
) -> tuple[dict[str, float], dict[str, list[float]]]:
    """Values and sensitivities of every output; one-sided where an input can't go lower."""
    steps = [STEP * each.u if each.u > 0 else 0.0 for each in inputs]
    offsets = [
        (1.0, 2.0) if each.value - step < each.lowest else (-1.0, 1.0)
        for each, step in zip(inputs, steps, strict=True)
    ]
    length = 1 + 2 * len(inputs)
    points = {}
    for at, each in enumerate(inputs):
        column = np.full(length, float(each.value))
        column[1 + 2 * at : 3 + 2 * at] += steps[at] * np.array(offsets[at])
        points[each.name] = column
    outputs = _full(model(points), length)
    values = {name: float(column[0]) for name, column in outputs.items()}
    jacobian = {
        name: [
            _slope(column[0], column[1 + 2 * at], column[2 + 2 * at], step, offsets[at])
            for at, step in enumerate(steps)
        ]
        for name, column in outputs.items()
    }
    return values, jacobian


def _slope(
    centre: float, first: float, second: float, step: float, offsets: tuple[float, float]
) -> float:
    """The derivative; 0 where the outputs differ by no more than rounding."""
    rounding = ROUNDING * max(abs(centre), abs(first), abs(second))
    if step == 0 or max(abs(first - centre), abs(second - centre)) <= rounding:
        return 0.0
    if offsets == (-1.0, 1.0):
        return float((second - first) / (2 * step))
    return float((4 * first - 3 * centre - second) / (2 * step))


def _budget(inputs: Sequence[Input], row: Array, parts: Array) -> tuple[Contribution, ...]:
    total = float(np.sum(parts**2))
    entries = [
        Contribution(
            input=each.name,
            sensitivity=float(row[at]),
            u_input=each.u,
            u=abs(float(parts[at])),
            share=float(parts[at]) ** 2 / total if total > 0 else 0.0,
        )
        for at, each in enumerate(inputs)
    ]
    return tuple(sorted(entries, key=lambda entry: -entry.u))  # equal ones keep their order


def _pairs(names: Sequence[str], covariance: Array, sizes: Array) -> dict[tuple[str, str], float]:
    return {
        (first, second): float(covariance[i, j] / (sizes[i] * sizes[j]))
        for i, first in enumerate(names)
        for j, second in enumerate(names)
        if i < j and sizes[i] > 0 and sizes[j] > 0
    }


def _correlation_matrix(
    inputs: Sequence[Input], correlations: Mapping[tuple[str, str], float]
) -> Array:
    places = {each.name: at for at, each in enumerate(inputs)}
    matrix = np.eye(len(inputs))
    for (first, second), value in correlations.items():
        matrix[places[first], places[second]] = matrix[places[second], places[first]] = value
    return matrix


# ---- Monte Carlo


def _root(matrix: Array) -> Array:
    """A root of a correlation matrix, also where it is only just possible."""
    values, vectors = np.linalg.eigh(matrix)
    if values.min(initial=0.0) < -1e-9:
        raise ValueError("such correlations can't be")
    return np.asarray(vectors * np.sqrt(np.maximum(values, 0.0)))


def _draw(inputs: Sequence[Input], generator: np.random.Generator, root: Array) -> Numbers:
    """One block. Correlated inputs are joined as normal ones are; a rectangular one stays alone."""
    standard = generator.standard_normal((BLOCK, len(inputs)))
    uniform = generator.uniform(-sqrt(3), sqrt(3), (BLOCK, len(inputs)))
    joined = standard @ root.T
    drawn = {}
    for at, each in enumerate(inputs):
        flat = each.distribution is Distribution.RECTANGULAR
        deviate = uniform[:, at] if flat else joined[:, at]
        drawn[each.name] = np.maximum(each.value + each.u * deviate, each.lowest)
    return drawn


def _full(outputs: Numbers, length: int) -> dict[str, Array]:
    """Every output as an array of that length: a model may give a number that never changes."""
    return {
        name: np.broadcast_to(np.asarray(values, dtype=float), (length,))
        for name, values in outputs.items()
    }


def _estimate(values: Array) -> Estimate:
    if len(values) < 2:
        return Estimate(value=np.nan, u=np.nan)
    return Estimate(value=float(np.mean(values)), u=float(np.std(values, ddof=1)))


def _ends(values: Array, level: float) -> tuple[float, float]:
    if not len(values):
        return np.nan, np.nan
    low, high = np.quantile(values, [(1 - level) / 2, (1 + level) / 2])
    return float(low), float(high)


def _defined(values: Array) -> Array:
    return values[np.isfinite(values)]


def _noise(ends: Sequence[tuple[float, float]]) -> float:
    """Twice the standard deviation of the ends of the interval, from how the blocks differ."""
    spread = np.std(np.array(ends), axis=0, ddof=1) / sqrt(len(ends))
    return 2 * float(np.max(spread))


def _stable(block: Numbers, ends: Mapping[str, Sequence[tuple[float, float]]]) -> bool:
    """Whether every interval is known to a fifth of its tolerance; a block tells u well enough."""
    for name, values in block.items():
        size = _estimate(_defined(values)).u
        if size > 0 and _noise(ends[name]) > _allowed(size) / 5:
            return False
    return True


def _correlations_of(outputs: Numbers) -> dict[tuple[str, str], float]:
    """Of all draws for which every output is defined."""
    names = tuple(outputs)
    table = np.array([outputs[name] for name in names])
    table = table[:, np.all(np.isfinite(table), axis=0)]
    if table.shape[1] < 2:
        return {}
    centred = table - table.mean(axis=1, keepdims=True)
    covariance = centred @ centred.T / (table.shape[1] - 1)
    return _pairs(names, covariance, np.sqrt(np.diag(covariance)))
