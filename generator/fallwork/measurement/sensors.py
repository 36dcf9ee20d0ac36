"""What is known of the sensors beside their records, and what it does to everything they measure.

Takes standard uncertainties that all trials share (type B); gives for each of them the values as
they would be if that one were off by its standard uncertainty. So a quantity that is derived from
several measured ones gets its correlations right.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from functools import partial
from math import sqrt

from fallwork.measurement.model import Measurand
from fallwork.measurement.statistics import resolution

Values = Mapping[str, float]  # by Measurand


@dataclass(frozen=True, kw_only=True)
class Sensors:
    """Type B standard uncertainties, 0 where nothing is known.

    Steps are what the last place shown amounts to. Rounding of a changing reading is part of the
    scatter of trials; only a reading that stays the same is rounded the same way every time.
    A tilt of the track belongs to the slope of the scenario, and so to the prediction.
    """

    position_scale: float = 0.0  # relative, of positions and velocities alike
    force_scale: float = 0.0  # relative
    force_zero: float = 0.0  # N, what is left of it after zeroing
    position_step: float = 0.0  # m
    force_step: float = 0.0  # N
    value_steps: Mapping[str, float] = field(default_factory=dict)
    # ^ by Measurand: the last place of values that were typed in, all rounded alike


@dataclass(frozen=True, kw_only=True)
class Shift:
    """One thing that may be off in all trials alike."""

    name: str
    u: float
    apply: Callable[[Values, float], dict[str, float]]  # what is read if it is off by so much


SCALES = ("scale of positions", "scale of forces")
FROM_POSITION = (
    Measurand.ACCELERATION,
    Measurand.FINAL_SPEED,
    Measurand.DISTANCE,
    Measurand.WORK_OF_TENSION,
    Measurand.COASTING_ACCELERATION,
)
FORCES = (
    Measurand.MEAN_TENSION,
    Measurand.TENSION_OVER_TIME,
    Measurand.FORCE_HELD,
    Measurand.FORCE_SLACK,
)
FROM_FORCE = (*FORCES, Measurand.WORK_OF_TENSION)


def shifts(sensors: Sensors) -> tuple[Shift, ...]:
    """What the sensors may have shifted, those of unknown size left out."""
    two_ends = resolution(sensors.position_step) * sqrt(2)  # a distance has two
    every: list[tuple[str, float, Callable[[Values, float], dict[str, float]]]] = [
        (SCALES[0], sensors.position_scale, partial(_scaled, FROM_POSITION)),
        (SCALES[1], sensors.force_scale, partial(_scaled, FROM_FORCE)),
        ("zero of forces", sensors.force_zero, offset),
        ("last place of positions", two_ends, partial(_added, Measurand.DISTANCE)),
        ("last place of forces", resolution(sensors.force_step), offset),
    ]
    for quantity, step in sensors.value_steps.items():
        every.append(("last place of the values", resolution(step), partial(_added, quantity)))
    return tuple(Shift(name=name, u=u, apply=apply) for name, u, apply in every if u > 0)


def effects(
    derived: Callable[[Values], float], values: Values, sensors: Sensors
) -> dict[str, float]:
    """The type B terms of a quantity that is derived from measured values: u by name, those of no
    size left out. ``derived`` is taken as linear over one standard uncertainty.
    """
    centre = derived(values)
    off = [(each.name, each.apply(values, each.u)) for each in shifts(sensors)]
    found = [(name, abs(derived(shifted) - centre)) for name, shifted in off]
    return {name: u for name, u in found if u > 0}


def _scaled(which: tuple[Measurand, ...], values: Values, share: float) -> dict[str, float]:
    return {name: value * (1 + share) if name in which else value for name, value in values.items()}


def offset(values: Values, force: float) -> dict[str, float]:
    """The values if all forces were read so much larger, N."""
    shifted = {name: value + force if name in FORCES else value for name, value in values.items()}
    if Measurand.WORK_OF_TENSION in values:  # over the distance, or what work and mean say of it
        work, mean = values[Measurand.WORK_OF_TENSION], values.get(Measurand.MEAN_TENSION, 0.0)
        distance = values.get(Measurand.DISTANCE, work / mean if mean else 0.0)
        shifted[Measurand.WORK_OF_TENSION] += force * distance
    return shifted


def _added(quantity: str, values: Values, more: float) -> dict[str, float]:
    return {name: value + more if name == quantity else value for name, value in values.items()}
