"""Reviews the design of a set of numbers: whether they give clean data.

Takes a scenario and local gravity; gives findings as data, each with the limits between which it is
well chosen. The sentences about them are the lesson stage's.
"""

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace
from enum import Enum

from fallwork.errors import table
from fallwork.measurement.inputs import Case
from fallwork.measurement.model import Estimate, Measurand
from fallwork.measurement.prediction import linear_prediction
from fallwork.measurement.view import View, driven_phases, known_sum, measurands_of, view_of
from fallwork.mechanics import Apparatus, Solution, solve
from fallwork.scenario import Hanging, Scenario, Slider

USUAL_RATE = 50.0  # 1/s, of a motion sensor where no record tells; common practice
_NOTHING = 1e-9  # SI; less than that is zero


class Aspect(Enum):
    """What is looked at; the value is its key in ``clean_data.yaml`` and in the texts."""

    SPEED = "speed"  # m/s, of the watched object when the driven part ends
    TIME = "time"  # s, of the driven part
    READINGS = "readings"  # of the motion sensor in that time
    RESISTANCE = "resistance"  # share of the acceleration that friction and bearings take
    TENSION = "tension"  # share of its weight by which the pull on a hanging object differs
    ROOM = "room"  # m, from the front of a cart to the end of its surface
    UNCERTAINTY = "uncertainty"  # of the acceleration, standard and relative


class Verdict(Enum):
    """Where a value stands to its limits."""

    FITS = "fits"
    LOW = "low"
    HIGH = "high"


@dataclass(frozen=True)
class Finding:
    """One aspect of a set of numbers, with the limits between which data come out clean."""

    aspect: Aspect
    value: float  # in the SI unit of the aspect, or a share of one
    of: str = ""  # the object that it is about
    cause: str = ""  # of an uncertainty: the path of the given value that adds most to it

    def _limit(self, end: str) -> float | None:
        limits = table("planning", "clean_data")[self.aspect.value]
        return float(limits[end]) if end in limits else None

    @property
    def low(self) -> float | None:
        """The lower limit, if there is one."""
        return self._limit("low")

    @property
    def high(self) -> float | None:
        """The upper limit, if there is one."""
        return self._limit("high")

    @property
    def verdict(self) -> Verdict:
        """Which limit is passed, if any."""
        if self.low is not None and self.value < self.low:
            return Verdict.LOW
        passed = self.high is not None and self.value > self.high
        return Verdict.HIGH if passed else Verdict.FITS


def review(
    scenario: Scenario, gravity: Estimate, *, rate: float = USUAL_RATE
) -> tuple[Finding, ...]:
    """What there is to say of the numbers, in the order of ``Aspect``; nothing of a set-up that
    stays at rest.

    ``gravity`` in m/s²; ``rate`` is that of the motion sensor, readings a second.
    """
    case, view = Case(scenario=scenario, gravity=gravity), view_of(scenario)
    apparatus = case.apparatus()
    solution = solve(apparatus)
    if not solution.moves:
        return ()
    expected = measurands_of(solution, view)  # for the givens as they are
    speed, time = (expected.get(each) for each in (Measurand.FINAL_SPEED, Measurand.TRAVEL_TIME))
    found = [] if speed is None else [Finding(Aspect.SPEED, abs(speed), view.moving)]
    if time is not None:
        readings = float(int(time * rate))
        found += [Finding(Aspect.TIME, time), Finding(Aspect.READINGS, readings)]
    return (
        *found,
        *_resistance(apparatus, solution, view.moving),
        *_tension(scenario, solution, gravity.value),
        *_room(scenario, solution),
        *_uncertainty(case, view, expected.get(Measurand.ACCELERATION, 0.0)),
    )


def _resistance(apparatus: Apparatus, solution: Solution, moving: str) -> Iterator[Finding]:
    """Against the same set-up without friction and bearing torque."""
    bodies = apparatus.bodies.items()
    pulleys = {name: replace(each, bearing_torque=0.0) for name, each in apparatus.pulleys.items()}
    smooth_bodies = {n: replace(each, friction=0.0, static_friction=None) for n, each in bodies}
    smooth = solve(replace(apparatus, bodies=smooth_bodies, pulleys=pulleys))
    without = smooth.phases[0].accelerations.get(moving) if smooth.moves else None
    found = solution.phases[0].accelerations.get(moving)
    if found is not None and without is not None:
        taken = abs(found - without)
        if abs(without) > _NOTHING and taken > _NOTHING:
            yield Finding(Aspect.RESISTANCE, taken / abs(without), moving)


def _tension(scenario: Scenario, solution: Solution, gravity: float) -> Iterator[Finding]:
    """For what hangs from a string; what a moving pulley carries has no string of its own."""
    for name, thing in scenario.objects.items():
        if isinstance(thing, Hanging) and thing.hangs_from is None:
            weight = thing.mass.value * gravity
            for pulls in solution.phases[0].tensions.values():
                if (pull := pulls.get(name)) is not None:
                    yield Finding(Aspect.TENSION, abs(1 - pull / weight), name)


def _room(scenario: Scenario, solution: Solution) -> Iterator[Finding]:
    """When the driven part ends, of the foremost that moves forward on each surface.

    None of what goes back, or whose place isn't given, nor where the run ends otherwise than by its
    distance.
    """

    def moved(name: str) -> float:
        """m, until the driven part ends; 0 where nothing tells."""
        parts = [phase.displacements.get(name) for phase in driven_phases(solution)]
        return known_sum(parts) or 0.0

    run, least = scenario.run, dict[str, Finding]()
    if run.distance is None or not math.isclose(abs(moved(run.object)), run.distance.value):
        return
    for name, thing in scenario.objects.items():
        if isinstance(thing, Slider) and thing.starts_at is not None and moved(name) > 0:
            length = scenario.surfaces[thing.runs_on].length
            if length is not None:
                room = max(length.value - thing.starts_at.value - moved(name), 0.0)
                found = Finding(Aspect.ROOM, room, name)
                known = least.get(thing.runs_on, found)
                least[thing.runs_on] = min(known, found, key=lambda each: each.value)
    yield from least.values()


def _uncertainty(case: Case, view: View, acceleration: float) -> Iterator[Finding]:
    """Of the acceleration, propagated from the uncertainties of the givens."""
    if not case.inputs or abs(acceleration) <= _NOTHING:
        return
    result, name = linear_prediction(case, view), Measurand.ACCELERATION
    u = result.estimate(name).u
    if u > 0:
        cause = result.budget(name)[0].input
        yield Finding(Aspect.UNCERTAINTY, u / abs(acceleration), view.moving, cause)
