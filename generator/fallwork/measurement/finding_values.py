"""What the fitted lines say: acceleration, final speed, travel time, distance, coasting.

Takes fitted parameters with their covariance; gives estimates by linear propagation (JCGM 100:2008,
5.2.2), correlations included.
"""

from collections.abc import Callable
from dataclasses import dataclass, replace
from math import sqrt

import numpy as np

from fallwork.measurement.model import Array, Estimate, Measurand

TINY = 1e-6  # relative step of a derivative where a parameter is certain


@dataclass(frozen=True, kw_only=True)
class Parameters:
    """All fitted numbers of a trial in one vector, and where in it they stand.

    A line is (speed at time 0, acceleration); a place is (c0, c1, c2, position before release)
    with positions c0 + c1 t + c2 t²/2 in the driven part.
    """

    values: Array
    covariance: Array
    dof: float
    driven: tuple[int, int]
    coasting: tuple[int, int] | None = None
    release: int | None = None  # a time of its own, where it isn't where the line is at rest
    landing: int | None = None  # a time of its own, where no coasting line meets the driven one
    covered: int | None = None  # a distance that ends the driven part where nothing else does
    place: tuple[int, int, int, int] | None = None

    def with_more(self, values: Array, covariance: Array) -> "Parameters":
        """With further, independent numbers behind the others."""
        n, k = len(self.values), len(values)
        whole = np.zeros((n + k, n + k))
        whole[:n, :n], whole[n:, n:] = self.covariance, covariance
        return replace(self, values=np.concatenate([self.values, values]), covariance=whole)


def propagated(function: Callable[[Array], float], parameters: Parameters) -> Estimate:
    """The function's value with its standard uncertainty."""
    slope = _slope(function, parameters, parameters.values)
    variance = float(slope @ parameters.covariance @ slope)
    return Estimate(
        value=function(parameters.values), u=sqrt(max(variance, 0.0)), dof=parameters.dof
    )


def _slope(function: Callable[[Array], float], parameters: Parameters, at: Array) -> Array:
    """The function's derivatives, over steps of a hundredth of a standard uncertainty."""
    steps = np.sqrt(np.diag(parameters.covariance)) * 1e-2
    sizes = np.maximum(np.abs(at), 1e-3) * TINY
    steps = np.where(steps > 0, steps, sizes)
    return np.array(
        [
            (function(at + off) - function(at - off)) / (2 * step)
            for off, step in zip(np.diag(steps), steps, strict=True)
        ]
    )


def held_to(function: Callable[[Array], float], parameters: Parameters) -> Parameters:
    """The parameters nearest to the fitted ones for which the function is zero.

    Least squares with one constraint, linearised anew until it stands still.
    """
    fitted, covariance = parameters.values, parameters.covariance
    values = fitted
    for _ in range(6):
        slope = _slope(function, parameters, values)
        along = covariance @ slope
        weight = float(slope @ along)
        if weight <= 0:
            return parameters
        values = fitted - along * (function(values) + float(slope @ (fitted - values))) / weight
    return replace(
        parameters, values=values, covariance=covariance - np.outer(along, along) / weight
    )


@dataclass(frozen=True, kw_only=True)
class Lines:
    """The functions of the parameters that are of interest."""

    parameters: Parameters

    @property
    def lands(self) -> bool:
        """Whether the end of the driven part is known."""
        own = self.parameters
        return any(each is not None for each in (own.coasting, own.landing, own.covered))

    def release(self, p: Array) -> float:
        """When the driven line is at rest, unless it has a time of its own, s."""
        if self.parameters.release is not None:
            return float(p[self.parameters.release])
        speed, acceleration = p[list(self.parameters.driven)]
        return float(-speed / acceleration)

    def landing(self, p: Array) -> float:
        """When the driven line meets the coasting one, unless it has a time of its own, or ends
        with a distance, s.
        """
        if self.parameters.covered is not None:
            return self._arrival(p, float(p[self.parameters.covered]))
        if self.parameters.landing is not None:
            return float(p[self.parameters.landing])
        assert self.parameters.coasting is not None  # asked for where one of both is there
        speed, acceleration = p[list(self.parameters.driven)]
        other, coasting = p[list(self.parameters.coasting)]
        return float((other - speed) / (acceleration - coasting))

    def _arrival(self, p: Array, distance: float) -> float:
        """When so much is covered since release, s; where it never is, when the object turns."""
        speed, acceleration = p[list(self.parameters.driven)]
        first = speed + acceleration * self.release(p)
        last = sqrt(max(first**2 + 2 * acceleration * distance, 0.0))
        return self.release(p) + float((last - first) / acceleration)

    def final_speed(self, p: Array) -> float:
        """Of the driven line at landing, m/s."""
        speed, acceleration = p[list(self.parameters.driven)]
        return float(speed + acceleration * self.landing(p))

    def travel_time(self, p: Array) -> float:
        """From release to landing, s."""
        return self.landing(p) - self.release(p)

    def distance_of_speeds(self, p: Array) -> float:
        """Area under the driven line, m."""
        speed, acceleration = p[list(self.parameters.driven)]
        first = speed + acceleration * self.release(p)
        return float((first + self.final_speed(p)) / 2 * self.travel_time(p))

    def distance_of_places(self, p: Array) -> float:
        """Position at landing less position before release, m."""
        assert self.parameters.place is not None  # asked for where it is there
        c0, c1, c2, before = p[list(self.parameters.place)]
        t = self.landing(p)
        return float(c0 + c1 * t + c2 * t * t / 2 - before)


def motion_estimates(
    parameters: Parameters, *, released: bool
) -> tuple[dict[str, Estimate], Estimate | None]:
    """Estimates by Measurand, times and distance only where the release is known (``released``);
    and the distance by the way that is not the surer one, if any."""
    lines = Lines(parameters=parameters)
    found = {Measurand.ACCELERATION: _one(parameters, parameters.driven[1])}
    other = None
    if lines.lands:
        found[Measurand.FINAL_SPEED] = propagated(lines.final_speed, parameters)
        if released:
            found[Measurand.TRAVEL_TIME] = propagated(lines.travel_time, parameters)
        if released and parameters.covered is None:
            ways = [propagated(lines.distance_of_speeds, parameters)]
            if parameters.place is not None:
                ways.append(propagated(lines.distance_of_places, parameters))
            ways.sort(key=lambda way: way.u)
            found[Measurand.DISTANCE] = ways[0]
            other = ways[1] if len(ways) > 1 else None
    if parameters.coasting is not None:
        found[Measurand.COASTING_ACCELERATION] = _one(parameters, parameters.coasting[1])
    return {quantity.value: estimate for quantity, estimate in found.items()}, other


def _one(parameters: Parameters, at: int) -> Estimate:
    u = sqrt(max(float(parameters.covariance[at, at]), 0.0))
    return Estimate(value=float(parameters.values[at]), u=u, dof=parameters.dof)
