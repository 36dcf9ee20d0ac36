"""Values with their uncertainty: means, combinations, coverage intervals, the verdict, outliers.

Takes plain numbers; gives values in the same unit. Knows nothing of trials or sensors.
Terms and formulas: JCGM 100:2008 (GUM).
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from enum import Enum
from math import fsum, inf, isinf, sqrt
from statistics import mean, stdev
from typing import Any, Self, overload

import numpy as np

Array = np.ndarray[Any, np.dtype[np.float64]]

LEVEL = 0.95  # of coverage intervals
SIGNIFICANCE = 0.01  # of the outlier test: a clean set is seldom flagged
GUARD = 10  # times: the last place of values over that of their difference
FEWEST = 5  # values that an outlier test needs: of fewer any may look far off


class Verdict(Enum):
    """Whether a difference is zero within k × u."""

    AGREE = "agree"
    DIFFER = "differ"
    OPEN = "not judged"  # u isn't known


@dataclass(frozen=True, kw_only=True)
class Outcome:
    """A value whose standard uncertainty may be unknown. None means unknown, which isn't zero:
    whatever rests on it is unknown too, and no verdict is possible on it.
    """

    value: float
    u: float | None
    dof: float = inf  # of the uncertainty
    step: float = 0.0  # the last place as written, where u is unknown: it says how to print

    @property
    def coverage_factor(self) -> float | None:
        """Student's t for 95 % and ``dof``; None where u isn't known."""
        return None if self.u is None else coverage_factor(self.dof)

    @property
    def limit(self) -> float | None:
        """Expanded uncertainty k × u; None where u isn't known."""
        return None if self.u is None else coverage_factor(self.dof) * self.u

    @property
    def interval_95(self) -> tuple[float, float] | None:
        """The coverage interval; None where u isn't known."""
        half = self.limit
        return None if half is None else (self.value - half, self.value + half)

    @property
    def verdict(self) -> Verdict:
        """Whether the value, a difference, is zero within its expanded uncertainty (GUM G.3)."""
        if self.limit is None:
            return Verdict.OPEN
        return Verdict.AGREE if abs(self.value) <= self.limit else Verdict.DIFFER

    def times(self, factor: float) -> Self:
        """The value multiplied by an exact number."""
        u = None if self.u is None else abs(factor) * self.u
        return replace(self, value=factor * self.value, u=u, step=abs(factor) * self.step)


@dataclass(frozen=True, kw_only=True)
class Estimate(Outcome):
    """A value with its standard uncertainty and the degrees of freedom of that uncertainty."""

    u: float


def rectangular(half_width: float) -> float:
    """Standard uncertainty of a value known to lie within ± half_width (GUM 4.3.7), as half a step
    is for a reading that is shown in steps (GUM F.2.2.1).
    """
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


@overload
def combined(terms: Sequence[tuple[float, float]]) -> tuple[float, float]: ...
@overload
def combined(terms: Sequence[tuple[float | None, float]]) -> tuple[float | None, float]: ...
def combined(terms: Sequence[tuple[float | None, float]]) -> tuple[float | None, float]:
    """Combined standard uncertainty of independent terms (u, dof) (GUM 5.1.2), and its effective
    degrees of freedom (GUM G.2b), infinite where no term with finite ones contributes. Unknown if
    that of any term is.
    """
    known = [(u, dof) for u, dof in terms if u is not None]
    if len(known) < len(terms):
        return None, inf
    largest = max((u for u, _ in known), default=0.0)
    if largest == 0:
        return 0.0, inf
    total = fsum((u / largest) ** 2 for u, _ in known)
    shares = fsum((u / largest) ** 4 / dof for u, dof in known if not isinf(dof))
    u = sqrt(fsum(u**2 for u, _ in known))
    return u, total**2 / shares if shares > 0 else inf


def coverage_factor(dof: float, level: float = LEVEL) -> float:
    """Student's t for a two-sided interval; broken dof are taken as they are (GUM G.4.1)."""
    return quantile(dof, (1 + level) / 2)


def quantile(dof: float, share: float) -> float:
    """Below which a ``share`` of Student's t lies."""
    from scipy.special import stdtrit  # slow to import, and not every command has trials

    return float(stdtrit(dof, share))


def outliers(
    values: Sequence[float] | Array, significance: float = SIGNIFICANCE
) -> tuple[int, ...]:
    """Positions of values that stand too far off to belong to one normal distribution, in order.
    Generalised extreme Studentised deviate test (B. Rosner, Technometrics 25 (1983) 165), for up to
    a fifth of the values, at least one (then Grubbs' test). A flag is a reason to look.
    """
    left, removed, found = dict(enumerate(map(float, values))), list[int](), 0
    for _ in range(max(1, len(left) // 5) if len(left) >= FEWEST else 0):
        middle, limit = mean(left.values()), critical_deviate(len(left), significance)
        off = {at: abs(value - middle) for at, value in left.items()}
        removed.append(max(off, key=off.__getitem__))
        if off[removed[-1]] > limit * stdev(left.values()):
            found = len(removed)
        del left[removed[-1]]
    return tuple(sorted(removed[:found]))


def critical_deviate(n: int, significance: float = SIGNIFICANCE) -> float:
    """Greatest distance from the mean, in standard deviations, that one of n may have by chance."""
    t = quantile(n - 2, 1 - significance / (2 * n))
    return (n - 1) * t / sqrt((n - 2 + t * t) * n)
