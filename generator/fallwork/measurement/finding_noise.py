"""How far the noise of a record reaches, and what that does to averages.

Takes residuals; gives the noise's autocorrelation time and the covariance of block means.
Neighbouring readings share noise (velocities are slopes over several positions, sensors smooth), so
an average of n readings is less certain than 1/√n says; where velocities are differences of
positions it is more certain. Fitting is left to ``finding_fit``.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from math import ceil, log2

import numpy as np

from fallwork.measurement.model import Array

LONGEST = 80  # samples up to which autocorrelation is looked for
ALTERNATING = -4.0  # standard deviations: an autocorrelation below this is no accident
CANCELLED = 0.6  # of the white level: noise of differences adds up to less than this
LOST = 0.7  # standard deviations: a smaller correlation ends the sum
CLEAR = 3.5  # standard deviations
FARTHEST = 16  # samples up to which a clear correlation counts as made by the sensor


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


def noise_of(residuals: Sequence[Array], parameters: int) -> Noise:
    """The noise that residuals of one or several stretches show.

    ``parameters`` is how many were fitted to them: they take the slowest part of the noise away,
    which is put back here. The sum of autocorrelations is cut at the first that is lost in its
    own scatter (Bartlett's formula for the variance of sample autocorrelations).
    """
    found, n = autocorrelations(residuals)
    time, corrected = 1.0, found
    for _ in range(3):
        taken = min(parameters * time / n, 0.5)
        corrected = (found + taken) / (1 + taken)
        lost = np.flatnonzero(corrected < LOST * _scatter(corrected, n))
        cut = max(int(lost[0]) if len(lost) else len(corrected), 1)
        time = max(1 + 2 * float(corrected[:cut].sum()), 1.0)
    clear = np.flatnonzero((np.abs(corrected) > CLEAR * _scatter(corrected, n))[:FARTHEST])
    return Noise(
        time=time,
        reach=int(clear[-1]) + 1 if len(clear) else 0,
        differences=_of_differences(found, n),
    )


def autocorrelations(residuals: Sequence[Array]) -> tuple[Array, int]:
    """Autocorrelations at lags 1, 2, …, pooled over the stretches, and the number of residuals."""
    n = sum(map(len, residuals))
    variance = sum(float(each @ each) for each in residuals) / n
    longest = max(3, min(LONGEST, max(map(len, residuals)) // 3))
    totals, numbers = np.zeros(longest), np.zeros(longest)
    for each in residuals:
        size = 2 ** ceil(log2(len(each) + longest))  # nothing comes round again
        power = np.abs(np.fft.rfft(each, size)) ** 2
        totals += np.fft.irfft(power, size)[1 : longest + 1]
        numbers += np.maximum(len(each) - np.arange(1, longest + 1), 0)
    known = (numbers > 0) & (variance > 0)
    return np.divide(totals, numbers * variance, out=np.zeros(longest), where=known), n


def _scatter(correlations: Array, n: int) -> Array:
    """Standard deviation of each sample autocorrelation, given those at smaller lags."""
    before = np.concatenate([[0.0], np.cumsum(correlations**2)[:-1]])
    return np.asarray(np.sqrt((1 + 2 * before) / n))


def _of_differences(correlations: Array, n: int) -> bool:
    """Whether correlations turn clearly negative, so that their sum with the variance vanishes."""
    negative = np.flatnonzero(correlations <= 0)
    first = int(negative[0]) if len(negative) else len(correlations)
    near = correlations[: max(3 * first + 4, 8)]
    scatter = float(np.sqrt((1 + 2 * np.sum(correlations[:first] ** 2)) / n))
    level = float(np.min(1 + 2 * np.cumsum(near)))
    return level < CANCELLED and float(near.min()) < ALTERNATING * scatter


def block_covariance(starts: Array, sizes: Array, noise: Noise) -> Array:
    """Covariance (k, k) of the means of k blocks of readings whose own variance is 1.

    ``starts`` and ``sizes`` count samples. The noise is taken as first-order autoregressive.
    """
    r = noise.correlation
    if r <= 0:
        return np.diag(1 / sizes)
    within = (sizes * (1 - r * r) - 2 * r * (1 - r**sizes)) / ((1 - r) * sizes) ** 2
    weight = (1 - r**sizes) / (1 - r) / sizes
    between = starts[None, :] - (starts + sizes - 1)[:, None]
    upper = np.where(between > 0, r ** np.maximum(between, 0), 0.0) * np.outer(weight, weight)
    return np.asarray(upper + upper.T + np.diag(within))
