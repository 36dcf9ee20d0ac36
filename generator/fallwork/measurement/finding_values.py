"""What the fitted lines say: acceleration, final speed, travel time, distance, coasting.

Takes fitted numbers with their covariance; gives estimates by linear propagation (JCGM 100:2008,
5.2.2), correlations included.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from math import isnan, nan

import numpy as np

from fallwork.measurement.model import Array, Estimate, Measurand, Span
from fallwork.measurement.propagation import Input, derivatives

RELEASE, LANDING = "release", "landing"
PLACE = ("place x", "place v", "place a")
OF_SPEEDS, OF_PLACES = "distance of speeds", "distance of places"


# Names, values (n,) and their covariance (n, n), in m, m/s, m/s² and s; parts are independent.
Part = tuple[Sequence[str], Array, Array]


@dataclass(frozen=True, kw_only=True)
class Parameters:
    """All fitted numbers of a trial, by name; times count from ``origin``.

    ``x``, ``v`` and ``a`` are position, speed and acceleration of the driven line at time 0 (no
    position where velocities were fitted), ``dv`` and ``da`` what the coasting line has more, and
    ``place x``, … another driven line where positions were fitted beside velocities. ``release`` is
    there where it isn't where the driven line is at rest (NaN: it isn't in the record), ``landing``
    where no coasting line meets the driven one, ``covered`` where only a distance ends the driven
    part. ``before`` is the position before the release.
    """

    parts: Sequence[Part]
    origin: float  # s

    @property
    def by_name(self) -> dict[str, float]:
        """The numbers alone."""
        pairs = (zip(names, values, strict=True) for names, values, _ in self.parts)
        return {name: float(value) for part in pairs for name, value in part}

    def lines(self) -> list[tuple[float, float]]:
        """Speed at time 0 of the record and acceleration of the driven and the coasting line."""
        p = self.by_name
        found = [(p["v"], p["a"])]
        if "dv" in p:
            found.append((p["v"] + p["dv"], p["a"] + p["da"]))
        return [(v - a * self.origin, a) for v, a in found]

    def times(self, otherwise: Span = (nan, nan)) -> Span:
        """Release and landing, s of the record; ``otherwise`` where they aren't told."""
        found = told({name: np.asarray(value) for name, value in self.by_name.items()})
        first, last = (self.origin + float(found[name]) for name in (RELEASE, LANDING))
        return otherwise[0] if isnan(first) else first, otherwise[1] if isnan(last) else last


def one(name: str, value: float, u: float) -> Part:
    """A single number with its standard uncertainty."""
    return [name], np.array([value]), np.array([[u**2]])


def told(p: Mapping[str, Array]) -> dict[str, Array]:
    """What the numbers say, by Measurand and RELEASE, LANDING; NaN where they don't."""
    v, a = p["v"], p["a"]
    release = p.get(RELEASE, -v / a)
    first = v + a * release
    landing = p.get(LANDING, np.full_like(a, np.nan))
    if "covered" in p:  # where it never is, the end is where the object turns
        last = np.sqrt(np.maximum(first**2 + 2 * a * p["covered"], 0.0))
        landing = release + (last - first) / a
    elif LANDING not in p and "dv" in p:
        landing = -p["dv"] / p["da"]
    final, time = v + a * landing, landing - release
    found = {
        RELEASE: release,
        LANDING: landing,
        Measurand.ACCELERATION: a,
        Measurand.FINAL_SPEED: final,
        Measurand.TRAVEL_TIME: time,
    }
    if "covered" not in p:
        found[OF_SPEEDS] = (first + final) / 2 * time
        if "before" in p:
            x, v, a = (p[each] for each in (PLACE if PLACE[0] in p else "xva"))
            found[OF_PLACES] = x + v * landing + a * landing * landing / 2 - p["before"]
    if "da" in p:
        found[Measurand.COASTING_ACCELERATION] = p["a"] + p["da"]
    return found


def motion_estimates(
    parameters: Parameters, dof: float
) -> tuple[dict[str, Estimate], Estimate | None]:
    """Estimates by Measurand; those that the numbers don't tell are left out. And the distance by
    the way that is not the surer one, if any.
    """
    from scipy.linalg import block_diag  # slow to import, and not every command has trials

    covariance = block_diag(*(each for _, _, each in parameters.parts))
    inputs = [
        Input(name=name, value=value, u=max(variance, 0.0) ** 0.5)
        for (name, value), variance in zip(
            parameters.by_name.items(), covariance.diagonal().tolist(), strict=True
        )
    ]
    values, slopes = derivatives(told, inputs)
    matrix = np.array(list(slopes.values()))
    variances = np.einsum("ki,ij,kj->k", matrix, covariance, matrix)
    found = {
        name: Estimate(value=value, u=float(np.sqrt(max(variance, 0.0))), dof=dof)
        for (name, value), variance in zip(values.items(), variances, strict=True)
        if np.isfinite(value)
    }
    both = [found.pop(way) for way in (OF_SPEEDS, OF_PLACES) if way in found]
    ways = sorted(both, key=lambda way: way.u) if RELEASE in found else []
    for time in (RELEASE, LANDING):
        found.pop(time, None)
    if ways:
        found[Measurand.DISTANCE] = ways[0]
    return found, ways[1] if len(ways) > 1 else None
