"""A cart on a level track, written down by sensors of many kinds: records with known truth.

Independent of the program's own simulation. SI units; the run begins at ``release``.
"""

from dataclasses import dataclass

import numpy as np

from fallwork.measurement.model import Array, Record

ACCELERATION, COASTING, LASTS, COASTS = 1.5, -0.08, 0.9, 0.5  # m/s², m/s², s, s
SPEED = ACCELERATION * LASTS  # m/s, at the end of the driven part
DISTANCE = ACCELERATION * LASTS**2 / 2  # m
PULL, WEIGHT = 0.66, 0.78  # N, driven and held
TRUTH = {
    "acceleration": ACCELERATION,
    "final_speed": SPEED,
    "travel_time": LASTS,
    "distance": DISTANCE,
    "coasting_acceleration": COASTING,
    "mean_tension": PULL,
    "mean_tension_over_time": PULL,
    "work_of_tension": PULL * DISTANCE,
    "force_held": WEIGHT,
}


@dataclass(frozen=True, kw_only=True)
class Path:
    """The true motion and pull at some times."""

    time: Array
    position: Array
    velocity: Array
    force: Array


def path(*, rate: float = 100.0, release: float = 0.8, after: float = 0.4) -> Path:
    """Held, driven, coasting, and back off the stop at a third of the speed."""
    time = np.arange(0.0, release + LASTS + COASTS + after, 1 / rate)
    t = time - release
    stop, back = LASTS + COASTS, -0.3 * (SPEED + COASTING * COASTS)
    where = DISTANCE + SPEED * COASTS + COASTING * COASTS**2 / 2
    pieces, coast = [t < 0, t < LASTS, t < stop], t - LASTS
    places = [0 * t, ACCELERATION * t**2 / 2, DISTANCE + SPEED * coast + COASTING * coast**2 / 2]
    speeds = [0 * t, ACCELERATION * t, SPEED + COASTING * coast]
    return Path(
        time=time,
        position=np.select(pieces, places, where + back * (t - stop)),
        velocity=np.select(pieces, speeds, back),
        force=np.select(pieces[:2], [0 * t + WEIGHT, 0 * t + PULL], 0.0),
    )


def record(true: Path, **columns: Array) -> Record:
    """A record with some of position, velocity, force."""
    return Record(name="trial-01", time=true.time, **columns)
