"""Reviews the design of a set of numbers: whether they give clean data.

Takes a scenario and local gravity; gives findings as data, each with the limits between which it is
well chosen. The sentences about them are the lesson stage's.
"""

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace
from enum import Enum

from fallwork.errors import table
from fallwork.measurement.model import Estimate, Measurand
from fallwork.measurement.prediction import Case, View, driven_phases, linear_prediction, view_of
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
    found = [*_motion(case, view, solution, rate), *_room(scenario, solution)]
    found += _strengths(case, apparatus, solution, view.moving)
    return tuple(sorted(found, key=lambda each: list(Aspect).index(each.aspect)))


def _motion(case: Case, view: View, solution: Solution, rate: float) -> Iterator[Finding]:
    """For the givens as they are; the acceleration's uncertainty is propagated from theirs."""
    expected = view.measurands(solution)
    speed, time = (expected.get(each) for each in (Measurand.FINAL_SPEED, Measurand.TRAVEL_TIME))
    if speed is not None:
        yield Finding(Aspect.SPEED, abs(speed), view.moving)
    if time is not None:
        yield Finding(Aspect.TIME, time)
        yield Finding(Aspect.READINGS, float(int(time * rate)))
    acceleration = abs(expected.get(Measurand.ACCELERATION, 0.0))
    if case.inputs and acceleration > _NOTHING:
        result = linear_prediction(case, view)
        if u := result.estimate(Measurand.ACCELERATION).u:
            cause = result.budget(Measurand.ACCELERATION)[0].input
            yield Finding(Aspect.UNCERTAINTY, u / acceleration, view.moving, cause)


def _strengths(
    case: Case, apparatus: Apparatus, solution: Solution, moving: str
) -> Iterator[Finding]:
    """Friction and bearing torque, against the same set-up without; and the pulls of strings on
    what hangs: what a moving pulley carries has no string of its own.
    """
    bodies = {
        n: replace(b, friction=0.0, static_friction=None) for n, b in apparatus.bodies.items()
    }
    pulleys = {name: replace(each, bearing_torque=0.0) for name, each in apparatus.pulleys.items()}
    smooth = solve(replace(apparatus, bodies=bodies, pulleys=pulleys))
    without = smooth.phases[0].accelerations.get(moving) if smooth.moves else None
    found = solution.phases[0].accelerations.get(moving)
    if found is not None and without is not None:
        taken = abs(found - without)
        if abs(without) > _NOTHING and taken > _NOTHING:
            yield Finding(Aspect.RESISTANCE, taken / abs(without), moving)
    for name, thing in case.scenario.objects.items():
        if isinstance(thing, Hanging) and thing.hangs_from is None:
            weight = thing.mass.value * case.gravity.value
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
        return 0.0 if None in parts else sum(part or 0.0 for part in parts)

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
