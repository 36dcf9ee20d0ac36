"""Means, standard uncertainties, coverage factors and outliers.

Takes plain numbers; gives estimates in the same unit. Knows nothing of trials or sensors.
Terms and formulas: JCGM 100:2008 (GUM).
"""

from collections.abc import Sequence
from dataclasses import dataclass
from math import fsum, inf, isinf, sqrt
from typing import overload

from fallwork.measurement.model import Array, Estimate, Outcome

LEVEL = 0.95  # of coverage intervals
SIGNIFICANCE = 0.01  # of the outlier test: a clean set is seldom flagged
GUARD = 10  # times: the last place of values over that of their difference
FEWEST = 5  # values that an outlier test needs: of fewer any may look far off


@dataclass(frozen=True, kw_only=True)
class Spread:
    """Mean and scatter of repeated readings."""

    n: int
    mean: float
    standard_deviation: float | None  # with n − 1; None for a single reading

    @property
    def u(self) -> float | None:
        """Type A standard uncertainty of the mean (GUM 4.2.3)."""
        return None if self.standard_deviation is None else self.standard_deviation / sqrt(self.n)

    @property
    def estimate(self) -> Estimate:
        """The mean with its type A uncertainty; raises ValueError for a single reading."""
        if self.u is None:
            raise ValueError("a single reading has no scatter")
        return Estimate(value=self.mean, u=self.u, dof=self.n - 1)


def spread(values: Sequence[float] | Array) -> Spread:
    """Mean and standard deviation of at least one reading, in two exactly summed passes."""
    readings = [float(value) for value in values]
    n = len(readings)
    if n == 0:
        raise ValueError("no readings")
    origin = readings[0]  # taken off first, so that a large common part costs no digits
    shifts = [reading - origin for reading in readings]
    shift = fsum(shifts) / n
    deviation = None if n == 1 else sqrt(fsum((each - shift) ** 2 for each in shifts) / (n - 1))
    return Spread(n=n, mean=origin + shift, standard_deviation=deviation)


def rectangular(half_width: float) -> float:
    """Standard uncertainty of a value known to lie within ± half_width (GUM 4.3.7)."""
    return half_width / sqrt(3)


def guarded(step: float) -> float:
    """Where a difference ends of values whose last place is ``step``: one place after theirs, so
    that it doesn't come out as something else than in percent or in the next formula.
    """
    return step / GUARD


def lost_in_rounding(difference: Outcome, step: float) -> bool:
    """Whether a difference of unknown uncertainty is one that rounding its values may make;
    ``step`` is what one unit in their last place does to it.
    """
    return difference.u is None and abs(difference.value) <= step / 2


def resolution(step: float) -> float:
    """Standard uncertainty of a reading that is shown in steps (GUM F.2.2.1)."""
    return step / sqrt(12)


def welch_satterthwaite(terms: Sequence[tuple[float, float]]) -> float:
    """Effective degrees of freedom of a sum of independent terms (u, dof) (GUM G.2b).

    Infinite where no term with finite degrees of freedom contributes.
    """
    largest = max((u for u, _ in terms), default=0.0)
    if largest == 0:
        return inf
    total = fsum((u / largest) ** 2 for u, _ in terms)
    shares = fsum((u / largest) ** 4 / dof for u, dof in terms if not isinf(dof))
    return total**2 / shares if shares > 0 else inf


@overload
def combined(terms: Sequence[tuple[float, float]]) -> tuple[float, float]: ...
@overload
def combined(terms: Sequence[tuple[float | None, float]]) -> tuple[float | None, float]: ...
def combined(terms: Sequence[tuple[float | None, float]]) -> tuple[float | None, float]:
    """Combined standard uncertainty of independent terms (u, dof), and its dof (GUM 5.1.2).

    Unknown if that of any term is.
    """
    known = [(u, dof) for u, dof in terms if u is not None]
    if len(known) < len(terms):
        return None, inf
    return sqrt(fsum(u**2 for u, _ in known)), welch_satterthwaite(known)


def coverage_factor(dof: float, level: float = LEVEL) -> float:
    """Student's t for a two-sided interval; broken dof are taken as they are (GUM G.4.1)."""
    return quantile(dof, (1 + level) / 2)


def quantile(dof: float, share: float) -> float:
    """Below which a ``share`` of Student's t lies."""
    from scipy.special import stdtrit  # slow to import, and not every command has trials

    return float(stdtrit(dof, share))


@overload
def limit_of(outcome: Estimate, level: float = LEVEL) -> float: ...
@overload
def limit_of(outcome: Outcome, level: float = LEVEL) -> float | None: ...
def limit_of(outcome: Outcome, level: float = LEVEL) -> float | None:
    """Expanded uncertainty k × u; None where u isn't known."""
    return None if outcome.u is None else coverage_factor(outcome.dof, level) * outcome.u


@overload
def interval(outcome: Estimate, level: float = LEVEL) -> tuple[float, float]: ...
@overload
def interval(outcome: Outcome, level: float = LEVEL) -> tuple[float, float] | None: ...
def interval(outcome: Outcome, level: float = LEVEL) -> tuple[float, float] | None:
    """The coverage interval; None where u isn't known."""
    half = limit_of(outcome, level)
    return None if half is None else (outcome.value - half, outcome.value + half)


def outliers(
    values: Sequence[float] | Array, significance: float = SIGNIFICANCE
) -> tuple[int, ...]:
    """Positions of values that stand too far off to belong to one normal distribution, in order.

    Generalised extreme Studentised deviate test (B. Rosner, Technometrics 25 (1983) 165), for up
    to a fifth of the values, at least one; with one it is Grubbs' test. A flag is a reason to
    look, none to leave a value out.
    """
    left = list(range(len(values)))
    removed: list[int] = []
    found = 0
    for _ in range(max(1, len(left) // 5) if len(left) >= FEWEST else 0):
        whole, n = spread([values[at] for at in left]), len(left)
        off = {at: abs(float(values[at]) - whole.mean) for at in left}
        removed.append(max(left, key=off.__getitem__))
        left.remove(removed[-1])
        if off[removed[-1]] > critical_deviate(n, significance) * (whole.standard_deviation or 0.0):
            found = len(removed)
    return tuple(sorted(removed[:found]))


def critical_deviate(n: int, significance: float = SIGNIFICANCE) -> float:
    """Greatest distance from the mean, in standard deviations, that one of n may have by chance."""
    t = quantile(n - 2, 1 - significance / (2 * n))
    return (n - 1) * t / sqrt((n - 2 + t * t) * n)
