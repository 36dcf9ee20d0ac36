"""A straight line through points, with the covariance of its parameters.

Takes x and y of equal length; gives intercept and slope with uncertainties. Finding which points
belong to the line is left to others.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from math import fsum, inf, sqrt

import numpy as np

from fallwork.measurement.model import Array, Estimate

Points = Sequence[float] | Array


@dataclass(frozen=True, kw_only=True)
class Line:
    """y = intercept + slope × x."""

    intercept: float
    slope: float
    covariance: tuple[tuple[float, float], tuple[float, float]]  # of (intercept, slope)
    dof: float  # of the uncertainties: points less parameters, or infinite where u was known
    scatter: float  # residual standard deviation; with known u its ratio to them
    r_squared: float  # about the mean; about zero for a line through the origin
    sum_of_squares: float  # of the residuals, over u² where u is known (chi-squared)

    @property
    def u_intercept(self) -> float:
        """Standard uncertainty of the intercept."""
        return sqrt(self.covariance[0][0])

    @property
    def u_slope(self) -> float:
        """Standard uncertainty of the slope."""
        return sqrt(self.covariance[1][1])

    @property
    def correlation(self) -> float:
        """Of intercept and slope; 0 where one is certain."""
        product = self.u_intercept * self.u_slope
        return self.covariance[0][1] / product if product > 0 else 0.0

    def at(self, x: float) -> Estimate:
        """The line's value at x."""
        (aa, ab), (_, bb) = self.covariance
        variance = aa + 2 * x * ab + x * x * bb
        return Estimate(
            value=self.intercept + self.slope * x, u=sqrt(max(variance, 0.0)), dof=self.dof
        )

    def reading_at(self, x: float) -> Estimate:
        """A single new reading at x, for a line fitted without known u."""
        mean = self.at(x)
        return Estimate(value=mean.value, u=sqrt(mean.u**2 + self.scatter**2), dof=self.dof)


def fit_line(x: Points, y: Points, u: Points | None = None) -> Line:
    """Least squares; with known standard uncertainties ``u`` of y, weighted by 1/u².

    Raises ValueError for fewer than three points (two with known u) or a single x.
    """
    abscissas, ordinates, weights = _arrays(x, y, u)
    dof = len(abscissas) - 2
    if dof < (1 if u is None else 0) or np.ptp(abscissas) == 0:
        raise ValueError("a line needs points at two x at least, and one more for its scatter")
    total = fsum(weights)
    x_mean = fsum(weights * abscissas) / total
    y_mean = fsum(weights * ordinates) / total
    dx, dy = abscissas - x_mean, ordinates - y_mean
    sxx = fsum(weights * dx * dx)
    slope = fsum(weights * dx * dy) / sxx
    rest = fsum(weights * (dy - slope * dx) ** 2)
    variance = 1.0 if u is not None else rest / dof
    ab = -variance * x_mean / sxx
    return Line(
        intercept=y_mean - slope * x_mean,
        slope=slope,
        covariance=((variance * (1 / total + x_mean**2 / sxx), ab), (ab, variance / sxx)),
        dof=dof if u is None else inf,
        scatter=sqrt(rest / dof) if dof else 0.0,
        r_squared=_explained(rest, fsum(weights * dy * dy)),
        sum_of_squares=rest,
    )


def fit_through_origin(x: Points, y: Points, u: Points | None = None) -> Line:
    """Least squares for a line through the origin; its intercept is 0 and certain."""
    abscissas, ordinates, weights = _arrays(x, y, u)
    dof = len(abscissas) - 1
    if dof < (1 if u is None else 0) or not np.any(abscissas):
        raise ValueError("a line through the origin needs a point elsewhere, and one more")
    sxx = fsum(weights * abscissas**2)
    slope = fsum(weights * abscissas * ordinates) / sxx
    rest = fsum(weights * (ordinates - slope * abscissas) ** 2)
    variance = 1.0 if u is not None else rest / dof
    return Line(
        intercept=0.0,
        slope=slope,
        covariance=((0.0, 0.0), (0.0, variance / sxx)),
        dof=dof if u is None else inf,
        scatter=sqrt(rest / dof) if dof else 0.0,
        r_squared=_explained(rest, fsum(weights * ordinates**2)),
        sum_of_squares=rest,
    )


def _arrays(x: Points, y: Points, u: Points | None) -> tuple[Array, Array, Array]:
    abscissas, ordinates = np.asarray(x, dtype=float), np.asarray(y, dtype=float)
    weights = np.ones(len(abscissas)) if u is None else 1 / np.asarray(u, dtype=float) ** 2
    if not len(abscissas) == len(ordinates) == len(weights):
        raise ValueError("x, y and u differ in length")
    return abscissas, ordinates, weights


def _explained(rest: float, whole: float) -> float:
    return 1 - rest / whole if whole > 0 else 1.0
