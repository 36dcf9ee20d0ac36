"""What the fitted lines say: acceleration, final speed, travel time, distance, coasting.

Takes fitted numbers with their covariance; gives estimates by linear propagation (JCGM 100:2008,
5.2.2), correlations included.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from fallwork.measurement.model import Array, Estimate, Measurand
from fallwork.measurement.propagation import Input, derivatives

RELEASE, LANDING = "release", "landing"
OF_SPEEDS, OF_PLACES = "distance of speeds", "distance of places"


@dataclass(frozen=True, kw_only=True)
class Parameters:
    """All fitted numbers of a trial, by name.

    ``driven x``, ``driven v`` and ``driven a`` are position, speed and acceleration of the driven
    line at time 0 (no position where velocities were fitted), likewise ``coasting``, and ``place``
    where positions were fitted beside velocities. ``release`` is there where it isn't where the
    driven line is at rest (NaN: it isn't in the record), ``landing`` where no coasting line meets
    the driven one, ``covered`` where only a distance ends the driven part. ``before`` is the
    position before the release.
    """

    names: tuple[str, ...] = ()
    values: Array  # (n,), in m, m/s, m/s² and s
    covariance: Array  # (n, n)
    dof: float

    def with_more(
        self, names: Sequence[str], values: Sequence[float] | Array, covariance: Array
    ) -> "Parameters":
        """With further, independent numbers behind the others."""
        n = len(self.names)
        whole = np.zeros((n + len(names), n + len(names)))
        whole[:n, :n], whole[n:, n:] = self.covariance, covariance
        return replace(
            self,
            names=(*self.names, *names),
            values=np.concatenate([self.values, values]),
            covariance=whole,
        )

    def with_one(self, name: str, value: float, u: float) -> "Parameters":
        """With one more, its value and standard uncertainty."""
        return self.with_more([name], [value], np.array([[u**2]]))

    def line(self, which: str) -> tuple[float, float] | None:
        """Speed at time 0 and acceleration of a line that was fitted."""
        found = dict(zip(self.names, self.values.tolist(), strict=True))
        return (found[f"{which} v"], found[f"{which} a"]) if f"{which} v" in found else None

    def touching(self) -> "Parameters":
        """The numbers nearest to the fitted ones for which the parabolas of the driven and the
        coasting part touch: the path has no jump.

        Least squares with one constraint, linearised anew until it stands still.
        """
        values = self.values
        for _ in range(6):
            x, v, a = values[3:6] - values[:3]
            slope = np.zeros(len(values))
            slope[3:6] = -2 * a, 2 * v, -2 * x
            slope[:3] = -slope[3:6]
            along = self.covariance @ slope
            weight = float(slope @ along)
            if weight <= 0:
                return self
            gap = v * v - 2 * x * a + float(slope @ (self.values - values))
            values = self.values - along * gap / weight
        covariance = self.covariance - np.outer(along, along) / weight
        return replace(self, values=values, covariance=covariance)


def told(p: Mapping[str, Array]) -> dict[str, Array]:
    """What the numbers say, by Measurand and RELEASE, LANDING; NaN where they don't."""
    v, a = p["driven v"], p["driven a"]
    release = p.get(RELEASE, -v / a)
    first = v + a * release
    landing = p.get(LANDING, np.full_like(a, np.nan))
    if "covered" in p:  # where it never is, the end is where the object turns
        last = np.sqrt(np.maximum(first**2 + 2 * a * p["covered"], 0.0))
        landing = release + (last - first) / a
    elif LANDING not in p and "coasting v" in p:
        landing = (p["coasting v"] - v) / (a - p["coasting a"])
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
            line = "place" if "place x" in p else "driven"
            x, v, a = (p[f"{line} {each}"] for each in "xva")
            found[OF_PLACES] = x + v * landing + a * landing * landing / 2 - p["before"]
    if "coasting a" in p:
        found[Measurand.COASTING_ACCELERATION] = p["coasting a"]
    return found


def motion_estimates(parameters: Parameters) -> tuple[dict[str, Estimate], Estimate | None]:
    """Estimates by Measurand, RELEASE and LANDING; those that the numbers don't tell are left out.
    And the distance by the way that is not the surer one, if any.
    """
    sizes = np.sqrt(np.maximum(np.diag(parameters.covariance), 0.0))
    inputs = [
        Input(name=name, value=float(value), u=float(u))
        for name, value, u in zip(parameters.names, parameters.values, sizes, strict=True)
    ]
    values, slopes = derivatives(told, inputs)
    matrix = np.array(list(slopes.values()))
    variances = np.einsum("ki,ij,kj->k", matrix, parameters.covariance, matrix)
    found = {
        name: Estimate(value=value, u=float(np.sqrt(max(variance, 0.0))), dof=parameters.dof)
        for (name, value), variance in zip(values.items(), variances, strict=True)
        if np.isfinite(value)
    }
    both = [found.pop(way) for way in (OF_SPEEDS, OF_PLACES) if way in found]
    ways = sorted(both, key=lambda way: way.u) if RELEASE in found else []
    if ways:
        found[Measurand.DISTANCE] = ways[0]
    return found, ways[1] if len(ways) > 1 else None
