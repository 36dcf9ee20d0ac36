"""How long the noise of a record remembers, and what that does to averages.

Takes residuals; gives the memory of the noise and the covariance of block means. Neighbouring
readings share noise (velocities are slopes over several positions, sensors smooth), so an average
of n readings is less certain than 1/√n says; where velocities are differences of positions it is
more certain. Fitting is left to ``finding_fit``.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from math import ceil, log2

import numpy as np

from fallwork.measurement.model import Array

LONGEST = 80  # samples up to which memory is looked for
ALTERNATING = -4.0  # standard deviations: an autocorrelation below this is no accident
CANCELLED = 0.6  # of the white level: noise of differences adds up to less than this
LOST = 0.7  # standard deviations: a smaller correlation ends the sum
CLEAR = 3.5  # standard deviations
FARTHEST = 16  # samples up to which a clear correlation counts as made by the sensor


@dataclass(frozen=True, kw_only=True)
class Memory:
    """The noise of evenly sampled readings."""

    length: float  # samples that share their noise: 1 for white noise
    reach: int  # farthest lag at which a correlation is clear; 0 for white noise
    differences: bool  # whether the noise is that of differences, and cancels in sums

    @property
    def correlation(self) -> float:
        """Of neighbours, in the first-order autoregressive noise of the same length."""
        return (self.length - 1) / (self.length + 1)


def memory_of(residuals: Sequence[Array], parameters: int) -> Memory:
    """The memory of noise, from residuals of one or several stretches.

    ``parameters`` is how many were fitted to them: they take the slowest part of the noise away,
    which is put back here. The sum of autocorrelations is cut at the first that is lost in its
    own scatter (Bartlett's formula for the variance of sample autocorrelations).
    """
    found, n = _autocorrelations(residuals)
    length = 1.0
    corrected = found
    for _ in range(3):
        taken = min(parameters * length / n, 0.5)
        corrected = (found + taken) / (1 + taken)
        scatter = _scatter(corrected, n)
        lost = np.flatnonzero(corrected < LOST * scatter)
        cut = max(int(lost[0]) if len(lost) else len(corrected), 1)
        length = max(1 + 2 * float(corrected[:cut].sum()), 1.0)
    clear = np.flatnonzero((np.abs(corrected) > CLEAR * _scatter(corrected, n))[:FARTHEST])
    return Memory(
        length=length,
        reach=int(clear[-1]) + 1 if len(clear) else 0,
        differences=_of_differences(found, n),
    )


def _autocorrelations(residuals: Sequence[Array]) -> tuple[Array, int]:
    """Autocorrelations at lags 1, 2, …, pooled over the stretches, and the number of residuals."""
    n = sum(len(each) for each in residuals)
    variance = sum(float(each @ each) for each in residuals) / n
    longest = max(3, min(LONGEST, max(len(each) for each in residuals) // 3))
    result = np.zeros(longest)
    if variance > 0:
        lags = np.arange(1, longest + 1)
        numbers = sum(np.maximum(len(each) - lags, 0) for each in residuals)
        totals = sum(_lagged_products(each, longest) for each in residuals)
        np.divide(totals, numbers * variance, out=result, where=numbers > 0)
    return result, n


def _lagged_products(values: Array, longest: int) -> Array:
    """Sums of each value times the one 1, 2, …, ``longest`` places on, by Fourier transform."""
    size = 2 ** ceil(log2(len(values) + longest))  # room enough for nothing to come round again
    power = np.abs(np.fft.rfft(values, size)) ** 2
    return np.asarray(np.fft.irfft(power, size)[1 : longest + 1])


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


def block_covariance(starts: Array, sizes: Array, memory: Memory) -> Array:
    """Covariance (k, k) of the means of k blocks of readings whose own variance is 1.

    ``starts`` and ``sizes`` count samples. The noise is taken as first-order autoregressive.
    """
    r = memory.correlation
    if r <= 0:
        return np.diag(1 / sizes)
    within = (sizes * (1 - r * r) - 2 * r * (1 - r**sizes)) / ((1 - r) * sizes) ** 2
    weight = (1 - r**sizes) / (1 - r) / sizes
    between = starts[None, :] - (starts + sizes - 1)[:, None]
    upper = np.where(between > 0, r ** np.maximum(between, 0), 0.0) * np.outer(weight, weight)
    return np.asarray(upper + upper.T + np.diag(within))
