"""Fits straight lines or parabolas to stretches of a record, with honest uncertainties.

Takes stretches of readings; gives parameters with covariances. Neighbouring readings share noise
(velocities are slopes over several positions, sensors smooth), so an average of n is less certain
than 1/√n says; where velocities are differences of positions it is more certain. Readings are
averaged over blocks longer than the autocorrelation time of their noise, and one model is fitted to
the means of all blocks by generalised least squares (JCGM 100:2008, H.3 for correlated results;
Aitken's formula). Where the stretches lie is left to ``finding``.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from math import ceil, log2

import numpy as np

from fallwork.measurement.finding_signals import FARTHEST, Readings, powers
from fallwork.measurement.model import Array, Estimate

ALIKE = 3.0  # greatest ratio of variances at which the held stretch tells of the same noise
LONGEST = 80  # samples up to which autocorrelation is looked for
ALTERNATING = -4.0  # standard deviations: an autocorrelation below this is no accident
CANCELLED = 0.6  # of the white level: noise of differences adds up to less than this
LOST = 0.7  # standard deviations: a smaller correlation ends the sum
CLEAR = 3.5  # standard deviations


Rests = Sequence[Array]  # residuals of stretches


@dataclass(frozen=True, kw_only=True)
class Noise:
    """The noise of evenly sampled readings."""

    time: float  # autocorrelation time: samples that share their noise, 1 for white noise
    reach: int  # farthest lag at which a correlation is clear; 0 for white noise
    differences: bool  # whether the noise is that of differences, and cancels in sums

    @property
    def correlation(self) -> float:
        """Of neighbours, in the first-order autoregressive noise of the same time."""
        return (self.time - 1) / (self.time + 1)


def noise_of(rests: Rests, parameters: int) -> Noise:
    """The noise that residuals of one or several stretches show. ``parameters`` is how many were
    fitted to them: they take the slowest part of the noise away, which is put back here. The sum of
    autocorrelations is cut at the first that is lost in its own scatter (Bartlett's formula for the
    variance of sample autocorrelations).
    """
    found, n = autocorrelations(rests)
    time, corrected = 1.0, found
    for _ in range(3):
        taken = min(parameters * time / n, 0.5)
        corrected = (found + taken) / (1 + taken)
        lost = np.flatnonzero(corrected < LOST * _scatter(corrected, n)[:-1])
        cut = max(int(lost[0]) if len(lost) else len(corrected), 1)
        time = max(1 + 2 * float(corrected[:cut].sum()), 1.0)
    clear = np.flatnonzero((np.abs(corrected) > CLEAR * _scatter(corrected, n)[:-1])[:FARTHEST])
    # Where correlations turn clearly negative, their sum with the variance vanishes.
    first = int(np.argmin(np.append(found, 0.0) > 0))
    near = found[: max(3 * first + 4, 8)]
    cancels = float(np.min(1 + 2 * np.cumsum(near))) < CANCELLED
    alternates = float(near.min()) < ALTERNATING * float(_scatter(found, n)[first])
    reach = int(clear[-1]) + 1 if len(clear) else 0
    return Noise(time=time, reach=reach, differences=cancels and alternates)


def autocorrelations(rests: Rests) -> tuple[Array, int]:
    """Autocorrelations at lags 1, 2, …, pooled over the stretches, and the number of residuals."""
    n = sum(map(len, rests))
    variance = sum(float(each @ each) for each in rests) / n
    longest = max(3, min(LONGEST, max(map(len, rests)) // 3))
    totals, numbers = np.zeros(longest), np.zeros(longest)
    for each in rests:
        size = 2 ** ceil(log2(len(each) + longest))  # nothing comes round again
        power = np.abs(np.fft.rfft(each, size)) ** 2
        totals += np.fft.irfft(power, size)[1 : longest + 1]
        numbers += np.maximum(len(each) - np.arange(1, longest + 1), 0)
    known = (numbers > 0) & (variance > 0)
    return np.divide(totals, numbers * variance, out=np.zeros(longest), where=known), n


def _scatter(correlations: Array, n: int) -> Array:
    """Standard deviation of each sample autocorrelation and the next, given those before it."""
    return np.asarray(np.sqrt((1 + 2 * np.cumsum([0.0, *correlations**2])) / n))


def block_covariance(starts: Array, sizes: Array, noise: Noise) -> Array:
    """Covariance (k, k) of the means of k blocks of readings whose own variance is 1. ``starts``
    and ``sizes`` count samples. The noise is taken as first-order autoregressive.
    """
    r = noise.correlation
    if r <= 0:
        return np.diag(1 / sizes)
    within = (sizes * (1 - r * r) - 2 * r * (1 - r**sizes)) / ((1 - r) * sizes) ** 2
    weight = (1 - r**sizes) / (1 - r) / sizes
    between = starts[None, :] - (starts + sizes - 1)[:, None]
    upper = np.where(between > 0, r ** np.maximum(between, 0), 0.0) * np.outer(weight, weight)
    return np.asarray(upper + upper.T + np.diag(within))


@dataclass(frozen=True, kw_only=True)
class Fit:
    """A polynomial c0 + c1 t + c2 t²/2 + … in the time t since an origin, and what comes on top of
    it in the second stretch, if there is one: d0 + d1 t + d2 t²/2 + …, or from d1 on.
    """

    values: Array  # the c, then the d
    covariance: Array
    dof: float
    variance: float  # of a single reading
    noise: Noise

    def told(self, *weights: float) -> Estimate:
        """A sum of the first parameters with these weights."""
        w, n = np.array(weights), len(weights)
        u = float(np.sqrt(w @ self.covariance[:n, :n] @ w))
        return Estimate(value=float(w @ self.values[:n]), u=u, dof=self.dof)


def fit_stretches(
    parts: Sequence[Readings], degree: int, quiet: Rests = (), origin: float = 0, smooth: int = 0
) -> Fit | None:
    """A polynomial of degree 0 to 3 through one stretch or two; None where readings are too few.
    ``quiet`` are further residuals of the same sensor (at rest): they tell of the noise's
    autocorrelation, as far as their variance is alike, but not of its size. At the ``origin``, in
    s, the polynomials of two stretches agree in so many derivatives (``smooth``, the 0th counted).
    """
    parameters = (degree + 1) * len(parts)
    if any(len(each.time) < degree + 2 for each in parts):
        return None
    noise = _noise_beside([each.residuals(degree) for each in parts], parameters, quiet)
    size = _block_size([len(each.time) for each in parts], degree, noise)
    begin, step = parts[0].time[0], parts[0].step
    blocks = []
    for at, stretch in enumerate(parts):
        n = len(stretch.time)
        edges = np.round(np.linspace(0, n, max(n // size, degree + 1) + 1)).astype(int)
        terms = powers(stretch.time - origin, degree)
        columns = np.column_stack([terms, at * terms[:, smooth:], stretch.values])
        means = np.add.reduceat(columns, edges[:-1]) / np.diff(edges)[:, None]
        starts = edges[:-1] + round((stretch.time[0] - begin) / step)
        blocks.append(np.column_stack([means, starts, np.diff(edges)]))
    *design, values, starts, sizes = np.concatenate(blocks).T
    matrix = np.array(design[: parameters - smooth]).T  # of one stretch, nothing comes on top
    dof = len(values) - matrix.shape[1]
    if dof <= 0:
        return None
    covariance = block_covariance(starts, sizes, noise)
    found, inverse, squares = least_squares(matrix, values, covariance)
    variance = squares / dof
    return Fit(values=found, covariance=variance * inverse, dof=dof, variance=variance, noise=noise)


def _noise_beside(rests: Rests, parameters: int, quiet: Rests) -> Noise:
    """The noise of residuals, and of those at rest whose variance is alike."""
    variance = sum(float(each @ each) for each in rests) / (sum(map(len, rests)) - parameters)
    low, high = variance / ALIKE, variance * ALIKE
    alike = [each for each in quiet if len(each) > 5 and 0 < low < float(each.var()) < high]
    noise = noise_of([*rests, *alike], parameters)
    if alike and not noise.differences:  # a hand's unrest can hide them
        noise = replace(noise, differences=noise_of(rests, parameters).differences)
    return noise


def _block_size(lengths: Sequence[int], degree: int, noise: Noise) -> int:
    most, least = (20, 2.0) if degree < 2 else (16, 1.2)  # blocks; autocorrelation times
    size = ceil(max(lengths) / most)
    if noise.time > 1.3:
        size = max(size, ceil(least * noise.time))
    return min(size, max(1, max(lengths) // (degree + 4)))


def least_squares(design: Array, values: Array, covariance: Array) -> tuple[Array, Array, float]:
    """Generalised least squares: the parameters (k,), their covariance (k, k) if ``covariance``
    (n, n) is that of the values, and the sum of squared residuals over it (chi-squared).
    """
    root = np.linalg.cholesky(covariance)
    white, y = np.linalg.solve(root, design), np.linalg.solve(root, values)
    solution, *_ = np.linalg.lstsq(white, y, rcond=None)
    squares = float(np.sum((y - white @ solution) ** 2))
    return solution, np.linalg.inv(white.T @ white), squares
