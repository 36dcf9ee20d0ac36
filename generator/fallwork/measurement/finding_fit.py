"""Fits straight lines or parabolas to stretches of a record, with honest uncertainties.

Takes stretches of readings; gives their parameters with covariances. Readings are averaged over
blocks longer than the autocorrelation time of their noise, and the polynomial is fitted to the
block means by generalised least squares (JCGM 100:2008, H.3 for correlated results; Aitken's
formula). All stretches share one noise. Where the stretches lie is left to ``finding``.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from math import ceil, factorial
from typing import Any

import numpy as np

from fallwork.measurement.finding_noise import Noise, block_covariance, noise_of
from fallwork.measurement.model import Array

MOST_BLOCKS = {0: 20, 1: 20, 2: 16, 3: 16}  # in the longest stretch, by degree
LEAST_BLOCK = {0: 2.0, 1: 2.0, 2: 1.2, 3: 1.2}  # in autocorrelation times, by degree
Places = np.ndarray[Any, np.dtype[np.int64]]
SPIKE = 6.0  # standard deviations from the fit
BENT = 2.5  # times the noise: residuals above this mean that a stretch is not one polynomial
CALM = 2.5  # usual variances: a part of the held stretch with more is a hand's doing
CALM_PARTS, CALM_SIZE = 8, 10  # most parts to look at; least readings in one
ALIKE = 3.0  # greatest ratio of variances at which the held stretch tells of the same noise


@dataclass(frozen=True, kw_only=True)
class Readings:
    """Readings that follow one polynomial."""

    time: Array  # s
    values: Array

    def part(self, which: Any) -> "Readings":
        """The readings that an index or a mask picks."""
        return Readings(time=self.time[which], values=self.values[which])

    @property
    def step(self) -> float:
        """The usual time between readings, s."""
        return float(np.median(np.diff(self.time)))


@dataclass(frozen=True, kw_only=True)
class Fit:
    """Polynomials c0 + c1 t + c2 t²/2 + …, one for each stretch."""

    parameters: tuple[Array, ...]
    covariances: tuple[Array, ...]
    dof: float
    variance: float  # of a single reading
    noise: Noise
    edges: tuple[Places, ...]  # of the blocks of each stretch, counted in readings

    def line(self, at: int) -> tuple[Array, Array]:
        """The straight line (value at t = 0, slope) of a stretch and its covariance.

        For parabolas it is the line of their slope.
        """
        return self.parameters[at][-2:], self.covariances[at][-2:, -2:]


def without_spikes(stretch: Readings, degree: int) -> tuple[Readings, tuple[float, ...]]:
    """The stretch without readings that stand alone far off the polynomial, and their times."""
    kept = np.ones(len(stretch.time), dtype=bool)
    for _ in range(20):
        if kept.sum() < degree + 4:
            break
        rest = residuals(stretch, degree, kept)
        size = np.abs(rest)
        limit = SPIKE * _robust_scatter(rest[kept], stretch.values[kept])
        far = kept & (size > max(limit, 0.5 * float(size[kept].max())))
        if not far.any() or 3 * far.sum() >= kept.sum():  # so many don't stand alone
            break
        kept &= ~far
    return stretch.part(kept), tuple(float(each) for each in stretch.time[~kept])


def until_bend(stretch: Readings, degree: int, like: Readings) -> Readings:
    """The stretch without its last part, as far as that doesn't belong to one polynomial.

    ``like`` is a stretch with the same noise. What a sensor smooths lets a stop show early.
    """
    rest = residuals(like, degree)
    noise = max(float(np.sqrt(np.mean(rest**2))), _robust_scatter(rest, like.values))
    last = len(stretch.time)
    while last > degree + 2 and _bends(stretch.part(slice(last)), degree, noise):
        last -= 1
    if degree + 3 < last < len(stretch.time):
        last -= 1  # what lies just before a bend that shows may be off by less than shows
    return stretch.part(slice(last))


def _bends(stretch: Readings, degree: int, noise: float) -> bool:
    """Whether readings scatter too much, or the last is not where those before it lead."""
    before, last = (design := _design(stretch, degree))[:-1], design[-1]
    rest = residuals(stretch, degree, slice(-1))
    reach = noise * float(np.sqrt(1 + last @ np.linalg.pinv(before.T @ before) @ last))
    scatter = float(np.sqrt(rest[:-1] @ rest[:-1] / max(len(before) - degree - 1, 1)))
    return scatter > BENT * noise or abs(float(rest[-1])) > BENT * reach


def calm_part(stretch: Readings) -> Readings:
    """The longest part without a hand's movement: where the scatter is not above the usual."""
    n = len(stretch.time)
    parts = min(n // CALM_SIZE, CALM_PARTS)
    if parts < 3:
        return stretch
    edges = np.round(np.linspace(0, n, parts + 1)).astype(int)
    pieces = [stretch.values[first:last] for first, last in pairwise(edges)]
    levels, scatters = (np.array([of(piece) for piece in pieces]) for of in (np.median, np.var))
    limit = CALM * float(np.quantile(scatters, 0.4))
    calm = (scatters <= limit) & ((levels - np.median(levels)) ** 2 <= limit)
    spans = [(a, b) for a in range(parts) for b in range(a, parts + 1) if calm[a:b].all()]
    first, last = max(spans, key=lambda span: span[1] - span[0])
    return stretch.part(slice(edges[first], edges[last]))


def _robust_scatter(rest: Array, values: Array) -> float:
    """Standard deviation that single outliers don't move; not below the steps of the readings."""
    steps = np.diff(np.unique(values))
    step = float(steps.min()) if len(steps) else 0.0
    middle = 1.4826 * float(np.median(np.abs(rest - np.median(rest))))
    return max(middle, step / 2, 1e-6 * float(np.ptp(values)), 1e-300)


def residuals(stretch: Readings, degree: int, kept: Any = slice(None)) -> Array:
    """What the polynomial through the readings that are ``kept`` leaves of all of them."""
    design = _design(stretch, degree)
    solution, *_ = np.linalg.lstsq(design[kept], stretch.values[kept], rcond=None)
    return np.asarray(stretch.values - design @ solution)


def _design(stretch: Readings, degree: int, origin: float | None = None) -> Array:
    """Terms 1, t, t²/2, … of each reading; time counts from the mean or from an ``origin``."""
    since = stretch.time - (stretch.time.mean() if origin is None else origin)
    return np.stack([since**power / factorial(power) for power in range(degree + 1)], axis=1)


def fit_stretches(
    stretches: Sequence[Readings], degree: int, quiet: Sequence[Array] = ()
) -> Fit | None:
    """One polynomial of degree 0 to 3 for each stretch; None where there are too few readings.

    ``quiet`` are further residuals of the same sensor (at rest): they tell of the noise's
    autocorrelation, as far as their variance is alike, but not of its size.
    """
    parameters = (degree + 1) * len(stretches)
    if any(len(each.time) < degree + 2 for each in stretches):
        return None
    rests = [residuals(each, degree) for each in stretches]
    variance = sum(float(each @ each) for each in rests) / (sum(map(len, rests)) - parameters)
    alike = [
        each
        for each in quiet
        if len(each) > 5 and 0 < variance / ALIKE < float(each.var()) < variance * ALIKE
    ]
    noise = noise_of([*rests, *alike], parameters)
    if alike and not noise.differences:  # a hand's unrest can hide them
        noise = replace(noise, differences=noise_of(rests, parameters).differences)
    blocks = _blocks([len(each.time) for each in stretches], degree, noise)
    if sum(blocks) <= parameters:
        return None
    return _solved(stretches, degree, blocks, noise)


def _blocks(lengths: Sequence[int], degree: int, noise: Noise) -> list[int]:
    """How many blocks each stretch is cut into."""
    longest = max(lengths)
    size = ceil(longest / MOST_BLOCKS[degree])
    if noise.time > 1.3:
        size = max(size, ceil(LEAST_BLOCK[degree] * noise.time))
    size = min(size, max(1, longest // (degree + 4)))
    return [max(length // size, degree + 1) for length in lengths]


def _solved(stretches: Sequence[Readings], degree: int, blocks: Sequence[int], noise: Noise) -> Fit:
    solutions, inverses, cuts, squares = [], [], [], 0.0
    origin = float(stretches[0].time.mean())
    powers = range(degree + 1)
    back = np.array(  # turns parameters of a polynomial in t − origin into those in t
        [
            [(-origin) ** (k - i) / factorial(k - i) if k >= i else 0.0 for k in powers]
            for i in powers
        ]
    )
    for stretch, number in zip(stretches, blocks, strict=True):
        edges = np.round(np.linspace(0, len(stretch.time), number + 1)).astype(int)
        sizes = np.diff(edges).astype(float)
        design, means = (
            (np.add.reduceat(each, edges[:-1]).T / sizes).T
            for each in (_design(stretch, degree, origin), stretch.values)
        )
        covariance = block_covariance(edges[:-1].astype(float), sizes, noise)
        solution, inverse, rest = least_squares(design, means, covariance)
        squares += rest
        cuts.append(edges)
        solutions.append(np.asarray(back @ solution))
        inverses.append(back @ inverse @ back.T)
    dof = sum(blocks) - (degree + 1) * len(stretches)
    variance = squares / dof
    return Fit(
        parameters=tuple(solutions),
        covariances=tuple(np.asarray(variance * each) for each in inverses),
        dof=float(dof),
        variance=variance,
        noise=noise,
        edges=tuple(cuts),
    )


def least_squares(design: Array, values: Array, covariance: Array) -> tuple[Array, Array, float]:
    """Generalised least squares: the parameters (k,), their covariance (k, k) if ``covariance``
    (n, n) is that of the values, and the sum of squared residuals over it (chi-squared).
    """
    root = np.linalg.cholesky(covariance)
    white, y = np.linalg.solve(root, design), np.linalg.solve(root, values)
    solution, *_ = np.linalg.lstsq(white, y, rcond=None)
    squares = float(np.sum((y - white @ solution) ** 2))
    return solution, np.linalg.inv(white.T @ white), squares


def block_weights(shares: Array, fit: Fit) -> tuple[Array, Array]:
    """For a mean with these shares of the readings of the first stretch: the blocks' shares, and
    the covariance of their means for readings of variance 1.
    """
    edges = fit.edges[0]
    sizes = np.diff(edges).astype(float)
    sums = np.add.reduceat(shares, edges[:-1])
    return sums, block_covariance(edges[:-1].astype(float), sizes, fit.noise)
