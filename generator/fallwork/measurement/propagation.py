"""Uncertainty of what a model gives, from the uncertainties of what goes into it.

Takes any model as a function of named numbers, its inputs and a seed; gives the linear result
(JCGM 100:2008, 5.1 and 5.2) with its budget, the Monte Carlo result (JCGM 101:2008, 7) and
whether the two agree (JCGM 101:2008, 8). Knows nothing of apparatus or trials.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from math import floor, inf, log10, nan, sqrt
from typing import Any, NamedTuple

import numpy as np

from fallwork.measurement.model import Array, Estimate
from fallwork.measurement.statistics import LEVEL, combined

Numbers = Mapping[Any, Array]  # by name
Model = Callable[[Numbers], Numbers]  # arrays of one length in, arrays of that length out

BLOCK = 10_000  # draws (JCGM 101:2008, 7.9.4)
FEWEST_BLOCKS, MOST_BLOCKS = 5, 50
STEP = 0.01  # of a derivative, in standard uncertainties
DIGITS = 1  # of an uncertainty that count when two intervals are compared
ROUNDING = 1e-14  # relative, of what a model gives: some units of the last bit
SHARE = 0.1  # of an uncertainty, by which the ends of two intervals may differ at most


@dataclass(frozen=True, kw_only=True)
class Input:
    """A number that goes into a model."""

    name: str
    value: float
    u: float
    dof: float = inf
    rectangular: bool = False  # its distribution; else it is normal
    lowest: float = -inf  # what it can't lie below; a draw that does counts as this


class Contribution(NamedTuple):
    """What one input adds to the uncertainty of an output."""

    input: str
    u: float  # |∂output/∂input| × u of the input, in the unit of the output
    share: float  # of the squared standard uncertainty


@dataclass(frozen=True, kw_only=True)
class LinearResult:
    """The law of propagation of uncertainty for any outputs of n inputs."""

    inputs: Sequence[Input]
    values: Mapping[Any, float]  # by output
    slopes: Mapping[Any, Array]  # by output: ∂output/∂input, (n,)

    def changes(self, output: Any) -> Array:
        """(n,): what one standard uncertainty of each input does to an output, with its sign."""
        return np.asarray(self.slopes[output] * np.array([each.u for each in self.inputs]))

    def estimate(self, output: Any) -> Estimate:
        """An output with its combined standard uncertainty."""
        sizes = map(abs, map(float, self.changes(output)))
        u, dof = combined([(size, i.dof) for size, i in zip(sizes, self.inputs, strict=True)])
        return Estimate(value=self.values[output], u=u, dof=dof)

    def budget(self, output: Any) -> tuple[Contribution, ...]:
        """What every input adds, the largest first; equal ones in the order of the inputs."""
        sizes = np.abs(self.changes(output))
        shares = sizes**2 / (float(np.sum(sizes**2)) or 1.0)
        names = (each.name for each in self.inputs)
        entries = map(Contribution, names, sizes.tolist(), shares.tolist())
        return tuple(sorted(entries, key=lambda entry: -entry.u))


@dataclass(frozen=True, kw_only=True)
class Drawn(Estimate):
    """Propagation of distributions: one output, by the mean and standard deviation of the draws."""

    ends: tuple[float, float]  # of 95 % of the draws, with equal probability on either side
    noise: float  # twice the standard deviation of either end, from how the blocks differ
    undefined: float  # share of the draws for which the model gave nothing

    @property
    def interval_95(self) -> tuple[float, float]:
        """The coverage interval."""
        return self.ends

    def agrees_with(self, linear: Estimate) -> bool:
        """Whether both ends agree within the tolerance and the noise (JCGM 101:2008, 8.2)."""
        ends = zip(linear.interval_95 or (), self.ends, strict=True)
        apart = max(abs(ours - theirs) for ours, theirs in ends)
        return apart <= _allowed(self.u) + self.noise and self.undefined == 0


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
    """First-order propagation with central differences, all points in one call of the model;
    one-sided ones where an input can't go lower.
    """
    centre = np.array([each.value for each in inputs], dtype=float)
    steps = np.array([STEP * max(each.u, 0.0) for each in inputs])
    one_sided = centre - steps < np.array([each.lowest for each in inputs])
    points, at = np.tile(centre, (1 + 2 * len(inputs), 1)), np.arange(len(inputs))
    points[1 + 2 * at, at] += steps * np.where(one_sided, 1.0, -1.0)
    points[2 + 2 * at, at] += steps * np.where(one_sided, 2.0, 1.0)
    columns = {each.name: column for each, column in zip(inputs, points.T, strict=True)}
    outputs = _full(model(columns), len(points))
    slopes = {}
    for name, found in outputs.items():
        middle, first, second = found[0], found[1::2], found[2::2]
        size = np.maximum(abs(middle), np.maximum(np.abs(first), np.abs(second)))
        apart = np.maximum(np.abs(first - middle), np.abs(second - middle))
        still = (steps == 0) | (apart <= ROUNDING * size)  # no more than rounding
        rise = np.where(one_sided, 4 * first - 3 * middle - second, second - first)
        slopes[name] = np.where(still, 0.0, rise / (2 * np.where(still, 1.0, steps)))
    values = {name: float(found[0]) for name, found in outputs.items()}
    return LinearResult(inputs=inputs, values=values, slopes=slopes)


def _full(outputs: Numbers, length: int) -> dict[Any, Array]:
    """Every output as an array of that length: a model may give a number that never changes."""
    arrays = ((name, np.asarray(values, dtype=float)) for name, values in outputs.items())
    return {name: np.broadcast_to(each, (length,)) for name, each in arrays}


def monte_carlo(model: Model, inputs: Sequence[Input], seed: int) -> tuple[int, dict[Any, Drawn]]:
    """How many sets of inputs were drawn, and every output. Draws in blocks until each is stable
    within a fifth of its tolerance (7.9, 8.2), or MOST_BLOCKS have been drawn.
    """
    generator = np.random.default_rng(seed)
    blocks: list[Mapping[Any, Array]] = []
    ends: list[Mapping[Any, tuple[float, float]]] = []
    while len(blocks) < MOST_BLOCKS:
        standard = generator.standard_normal((BLOCK, len(inputs)))
        uniform = generator.uniform(-sqrt(3), sqrt(3), (BLOCK, len(inputs)))
        columns = np.where([each.rectangular for each in inputs], uniform, standard).T
        pairs = zip(inputs, columns, strict=True)
        block = {i.name: np.maximum(i.value + i.u * each, i.lowest) for i, each in pairs}
        blocks.append(_full(model(block), BLOCK))
        told = {name: _told(values) for name, values in blocks[-1].items()}
        ends.append({name: each for name, (_, _, each) in told.items()})
        if len(blocks) >= FEWEST_BLOCKS:  # one block tells u well enough
            noises = {name: _noise([each[name] for each in ends]) for name in told}
            if not any(u > 0 and noises[n] > _allowed(u) / 5 for n, (_, u, _) in told.items()):
                break
    found = {}
    for name in blocks[0]:
        values = np.concatenate([each[name] for each in blocks])
        (value, u, both), noise = _told(values), _noise([each[name] for each in ends])
        undefined = 1 - float(np.mean(np.isfinite(values)))
        found[name] = Drawn(value=value, u=u, ends=both, noise=noise, undefined=undefined)
    return BLOCK * len(blocks), found


def _told(values: Array) -> tuple[float, float, tuple[float, float]]:
    """Mean, standard deviation and ends of the draws that gave something; nan of fewer than two."""
    found = values[np.isfinite(values)]
    if len(found) < 2:
        return nan, nan, (nan, nan)
    low, high = np.quantile(found, [(1 - LEVEL) / 2, (1 + LEVEL) / 2])
    return float(np.mean(found)), float(np.std(found, ddof=1)), (float(low), float(high))


def _noise(ends: Sequence[tuple[float, float]]) -> float:
    return 2 * float(np.max(np.std(np.array(ends), axis=0, ddof=1))) / sqrt(len(ends))
