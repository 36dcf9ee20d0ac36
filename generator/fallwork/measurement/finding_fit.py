"""Fits straight lines or parabolas to stretches of a record, with honest uncertainties.

Takes stretches of readings; gives their parameters with covariances. Readings are averaged over
blocks longer than the memory of their noise, and the polynomial is fitted to the block means by
generalised least squares (JCGM 100:2008, H.3 for correlated results; Aitken's formula). All
stretches share one noise. Where the stretches lie is left to ``finding``.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from math import ceil, factorial
from typing import Any

import numpy as np

from fallwork.measurement.finding_noise import Memory, block_covariance, memory_of
from fallwork.measurement.model import Array

MOST_BLOCKS = {0: 20, 1: 20, 2: 16, 3: 16}  # in the longest stretch, by degree
MEMORIES = {0: 2.0, 1: 2.0, 2: 1.2, 3: 1.2}  # least length of a block in memories, by degree
Places = np.ndarray[Any, np.dtype[np.int64]]
SPIKE = 6.0  # standard deviations from the fit
BENT = 2.5  # times the noise: residuals above this mean that a stretch is not one polynomial
CALM = 2.5  # usual variances: a part of the held stretch with more is a hand's doing
CALM_PARTS, CALM_SIZE = 8, 10  # most parts to look at; least readings in one
ALIKE = 3.0  # greatest ratio of variances at which the held stretch tells of the same noise


@dataclass(frozen=True, kw_only=True)
class Stretch:
    """Readings that follow one polynomial."""

    time: Array  # s
    values: Array


@dataclass(frozen=True, kw_only=True)
class Fit:
    """Polynomials c0 + c1 t + c2 t²/2 + …, one for each stretch."""

    parameters: tuple[Array, ...]
    covariances: tuple[Array, ...]
    dof: float
    variance: float  # of a single reading
    memory: Memory
    edges: tuple[Places, ...]  # of the blocks of each stretch, counted in readings

    def line(self, at: int) -> tuple[Array, Array]:
        """The straight line (value at t = 0, slope) of a stretch and its covariance.

        For parabolas it is the line of their slope.
        """
        first = len(self.parameters[at]) - 2
        return self.parameters[at][first:], self.covariances[at][first:, first:]


def without_spikes(stretch: Stretch, degree: int) -> tuple[Stretch, tuple[float, ...]]:
    """The stretch without readings that stand alone far off the polynomial, and their times."""
    kept = np.ones(len(stretch.time), dtype=bool)
    origin = stretch.time.mean() if len(stretch.time) else 0.0
    for _ in range(20):
        if kept.sum() < degree + 4:
            break
        rest = _residuals(stretch.time - origin, stretch.values, degree, kept)
        size = np.abs(rest)
        limit = SPIKE * _robust_scatter(rest[kept], stretch.values[kept])
        far = kept & (size > max(limit, 0.5 * float(size[kept].max())))
        if not far.any():
            break
        kept &= ~far
    left_out = tuple(float(each) for each in stretch.time[~kept])
    return Stretch(time=stretch.time[kept], values=stretch.values[kept]), left_out


def until_bend(stretch: Stretch, degree: int, like: Stretch) -> Stretch:
    """The stretch without its last part, as far as that doesn't belong to one polynomial.

    ``like`` is a stretch with the same noise. What a sensor smooths lets a stop show early.
    """
    rest = _residuals(like.time - like.time.mean(), like.values, degree)
    noise = max(float(np.sqrt(np.mean(rest**2))), _robust_scatter(rest, like.values))
    last = len(stretch.time)
    while last > degree + 2 and _bends(stretch.time[:last], stretch.values[:last], degree, noise):
        last -= 1
    if degree + 3 < last < len(stretch.time):
        last -= 1  # what lies just before a bend that shows may be off by less than shows
    return Stretch(time=stretch.time[:last], values=stretch.values[:last])


def _bends(time: Array, values: Array, degree: int, noise: float) -> bool:
    """Whether readings scatter too much, or the last is not where those before it lead."""
    design = _design(time - time.mean(), degree)
    solution, *_ = np.linalg.lstsq(design[:-1], values[:-1], rcond=None)
    rest = values - design @ solution
    inverse = np.linalg.pinv(design[:-1].T @ design[:-1])
    reach = noise * float(np.sqrt(1 + design[-1] @ inverse @ design[-1]))
    scatter = float(np.sqrt(rest[:-1] @ rest[:-1] / max(len(time) - degree - 2, 1)))
    return scatter > BENT * noise or abs(float(rest[-1])) > BENT * reach


def calm_part(stretch: Stretch) -> Stretch:
    """The longest part without a hand's movement: where the scatter is not above the usual."""
    n = len(stretch.time)
    parts = min(n // CALM_SIZE, CALM_PARTS)
    if parts < 3:
        return stretch
    edges = np.round(np.linspace(0, n, parts + 1)).astype(int)
    pieces = [stretch.values[first:last] for first, last in pairwise(edges)]
    levels = np.array([np.median(piece) for piece in pieces])
    scatters = np.array([piece.var() for piece in pieces])
    usual = float(np.quantile(scatters, 0.4))
    off = np.abs(levels - np.median(levels))
    calm = (scatters <= CALM * usual) & (off**2 <= CALM * usual)
    runs = "".join("x" if each else " " for each in calm).split(" ")
    longest = max(len(run) for run in runs)
    first = next(
        (at for at in range(parts) if longest and calm[at : at + longest].sum() == longest), 0
    )
    keep = slice(edges[first], edges[first + longest])
    return Stretch(time=stretch.time[keep], values=stretch.values[keep])


def _robust_scatter(rest: Array, values: Array) -> float:
    """Standard deviation that single outliers don't move; not below the steps of the readings."""
    steps = np.diff(np.unique(values))
    step = float(steps.min()) if len(steps) else 0.0
    middle = 1.4826 * float(np.median(np.abs(rest - np.median(rest))))
    return max(middle, step / 2, 1e-6 * float(np.ptp(values)), 1e-300)


def _residuals(time: Array, values: Array, degree: int, kept: Array | None = None) -> Array:
    design = _design(time, degree)
    use = slice(None) if kept is None else kept
    solution, *_ = np.linalg.lstsq(design[use], values[use], rcond=None)
    return np.asarray(values - design @ solution)


def _design(time: Array, degree: int) -> Array:
    return np.stack([time**power / factorial(power) for power in range(degree + 1)], axis=1)


def fit_stretches(
    stretches: Sequence[Stretch], degree: int, quiet: Sequence[Array] = ()
) -> Fit | None:
    """One polynomial of degree 0 to 3 for each stretch; None where there are too few readings.

    ``quiet`` are further residuals of the same sensor (at rest): they tell of the noise's memory,
    as far as their variance is alike, but not of its size.
    """
    parameters = (degree + 1) * len(stretches)
    if any(len(each.time) < degree + 2 for each in stretches):
        return None
    origin = float(stretches[0].time.mean())
    local = [Stretch(time=each.time - origin, values=each.values) for each in stretches]
    rests = [_residuals(each.time, each.values, degree) for each in local]
    free = sum(len(each) for each in rests) - parameters
    variance = sum(float(each @ each) for each in rests) / free
    alike = [each for each in quiet if len(each) > 5 and _alike(each, variance)]
    memory = memory_of([*rests, *alike], parameters)
    if alike and not memory.differences:  # a hand's unrest can hide them
        memory = replace(memory, differences=memory_of(rests, parameters).differences)
    blocks = _blocks([len(each.time) for each in local], degree, memory)
    if sum(blocks) <= parameters:
        return None
    return _solved(local, degree, blocks, memory, origin)


def _alike(rest: Array, variance: float) -> bool:
    own = float(rest.var())
    return own > 0 and variance / ALIKE < own < variance * ALIKE


def _blocks(lengths: Sequence[int], degree: int, memory: Memory) -> list[int]:
    """How many blocks each stretch is cut into."""
    longest = max(lengths)
    size = ceil(longest / MOST_BLOCKS[degree])
    if memory.length > 1.3:
        size = max(size, ceil(MEMORIES[degree] * memory.length))
    size = min(size, max(1, longest // (degree + 4)))
    return [max(length // size, degree + 1) for length in lengths]


def _solved(
    stretches: Sequence[Stretch], degree: int, blocks: Sequence[int], memory: Memory, origin: float
) -> Fit:
    solutions, inverses, cuts, squares = [], [], [], 0.0
    for stretch, number in zip(stretches, blocks, strict=True):
        edges = np.round(np.linspace(0, len(stretch.time), number + 1)).astype(int)
        sizes = np.diff(edges).astype(float)
        cuts.append(edges)
        design = np.add.reduceat(_design(stretch.time, degree), edges[:-1]) / sizes[:, None]
        means = np.add.reduceat(stretch.values, edges[:-1]) / sizes
        root = np.linalg.cholesky(block_covariance(edges[:-1].astype(float), sizes, memory))
        white, y = np.linalg.solve(root, design), np.linalg.solve(root, means)
        inverse = np.linalg.inv(white.T @ white)
        solution = inverse @ (white.T @ y)
        squares += float(np.sum((y - white @ solution) ** 2))
        back = _moved(degree, origin)
        solutions.append(np.asarray(back @ solution))
        inverses.append(back @ inverse @ back.T)
    dof = sum(blocks) - (degree + 1) * len(stretches)
    variance = squares / dof
    return Fit(
        parameters=tuple(solutions),
        covariances=tuple(np.asarray(variance * each) for each in inverses),
        dof=float(dof),
        variance=variance,
        memory=memory,
        edges=tuple(cuts),
    )


def block_weights(shares: Array, fit: Fit) -> tuple[Array, Array]:
    """For a mean with these shares of the readings of the first stretch: the blocks' shares, and
    the covariance of their means for readings of variance 1.
    """
    edges = fit.edges[0]
    sizes = np.diff(edges).astype(float)
    sums = np.add.reduceat(shares, edges[:-1])
    return sums, block_covariance(edges[:-1].astype(float), sizes, fit.memory)


def _moved(degree: int, origin: float) -> Array:
    """Turns parameters of a polynomial in t − origin into those in t."""
    matrix = np.zeros((degree + 1, degree + 1))
    for row in range(degree + 1):
        for column in range(row, degree + 1):
            step = column - row
            matrix[row, column] = (-origin) ** step / factorial(step)
    return matrix
