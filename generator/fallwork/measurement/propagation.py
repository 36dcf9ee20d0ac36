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
from fallwork.measurement.statistics import LEVEL, combined, interval

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
    share: float  # of the squared standard uncertainty


@dataclass(frozen=True, kw_only=True)
class LinearResult:
    """The law of propagation of uncertainty; mappings by output."""

    estimates: Mapping[str, Estimate]
    budget: Mapping[str, tuple[Contribution, ...]]  # the largest first


@dataclass(frozen=True, kw_only=True)
class Drawn:
    """Propagation of distributions: one output."""

    estimate: Estimate  # mean and standard deviation of the draws
    interval_95: tuple[float, float]  # with equal probability on either side
    noise: float  # twice the standard deviation of either end of the interval
    undefined: float  # share of the draws for which the model gave nothing

    def agrees_with(self, linear: Estimate) -> bool:
        """Whether both ends of the linear interval lie within the tolerance of these, but for the
        noise (JCGM 101:2008, 8.2).
        """
        ends = zip(interval(linear), self.interval_95, strict=True)
        apart = max(abs(ours - theirs) for ours, theirs in ends)
        return apart <= _allowed(self.estimate.u) + self.noise and self.undefined == 0


@dataclass(frozen=True, kw_only=True)
class MonteCarloResult:
    """Every output, and how many sets of inputs were drawn."""

    draws: int
    outputs: Mapping[str, Drawn]


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


def linear(model: Model, inputs: Sequence[Input]) -> LinearResult:
    """First-order propagation with central differences, all points in one call of the model."""
    values, jacobian = derivatives(model, inputs)
    estimates, budget = {}, {}
    for name, value in values.items():
        row = np.array(jacobian[name])
        parts = row * [each.u for each in inputs]
        terms = [(abs(float(part)), each.dof) for part, each in zip(parts, inputs, strict=True)]
        u, dof = combined(terms)
        estimates[name] = Estimate(value=value, u=u, dof=dof)
        budget[name] = _budget(inputs, row, parts)
    return LinearResult(estimates=estimates, budget=budget)


def monte_carlo(model: Model, inputs: Sequence[Input], seed: int) -> MonteCarloResult:
    """Draws in blocks until every output is stable within a fifth of its tolerance (7.9, 8.2),
    or MOST_BLOCKS have been drawn.
    """
    generator = np.random.default_rng(seed)
    blocks: list[Numbers] = []
    ends: dict[str, list[tuple[float, float]]] = {}
    while len(blocks) < MOST_BLOCKS:
        block = _full(model(_draw(inputs, generator)), BLOCK)
        blocks.append(block)
        for name, values in block.items():
            ends.setdefault(name, []).append(_ends(_defined(values)))
        if len(blocks) >= FEWEST_BLOCKS and _stable(block, ends):
            break
    whole = {name: np.concatenate([block[name] for block in blocks]) for name in blocks[0]}
    return MonteCarloResult(
        draws=BLOCK * len(blocks),
        outputs={name: _drawn(values, ends[name]) for name, values in whole.items()},
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


# ---- Monte Carlo


def _draw(inputs: Sequence[Input], generator: np.random.Generator) -> Numbers:
    """One block of independent inputs."""
    standard = generator.standard_normal((BLOCK, len(inputs)))
    uniform = generator.uniform(-sqrt(3), sqrt(3), (BLOCK, len(inputs)))
    drawn = {}
    for at, each in enumerate(inputs):
        flat = each.distribution is Distribution.RECTANGULAR
        deviate = (uniform if flat else standard)[:, at]
        drawn[each.name] = np.maximum(each.value + each.u * deviate, each.lowest)
    return drawn


def _full(outputs: Numbers, length: int) -> dict[str, Array]:
    """Every output as an array of that length: a model may give a number that never changes."""
    return {
        name: np.broadcast_to(np.asarray(values, dtype=float), (length,))
        for name, values in outputs.items()
    }


def _drawn(values: Array, ends: Sequence[tuple[float, float]]) -> Drawn:
    defined = _defined(values)
    return Drawn(
        estimate=Estimate(
            value=float(np.mean(defined)) if len(defined) > 1 else np.nan, u=_deviation(defined)
        ),
        interval_95=_ends(defined),
        noise=_noise(ends),
        undefined=1 - len(defined) / len(values),
    )


def _deviation(values: Array) -> float:
    return float(np.std(values, ddof=1)) if len(values) > 1 else np.nan


def _ends(values: Array) -> tuple[float, float]:
    if not len(values):
        return np.nan, np.nan
    low, high = np.quantile(values, [(1 - LEVEL) / 2, (1 + LEVEL) / 2])
    return float(low), float(high)


def _defined(values: Array) -> Array:
    return values[np.isfinite(values)]


def _noise(ends: Sequence[tuple[float, float]]) -> float:
    """Twice the standard deviation of the ends of the interval, from how the blocks differ."""
    spread = np.std(np.array(ends), axis=0, ddof=1) / sqrt(len(ends))
    return 2 * float(np.max(spread))


def _stable(block: Numbers, ends: Mapping[str, Sequence[tuple[float, float]]]) -> bool:
    """Whether every interval is known to a fifth of its tolerance; a block tells u well enough."""
    sizes = {name: _deviation(_defined(values)) for name, values in block.items()}
    return not any(u > 0 and _noise(ends[n]) > _allowed(u) / 5 for n, u in sizes.items())
