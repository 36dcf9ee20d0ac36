"""Reviews the design of a set of numbers: whether they give clean data.

Takes a scenario and local gravity; gives findings as data, each with the limits between which it is
well chosen. The sentences about them are the lesson stage's.
"""

import math
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from enum import Enum
from functools import cache
from importlib import resources

import yaml

from fallwork.measurement.derived import Case
from fallwork.measurement.losses import without_resistance
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


@dataclass(frozen=True, kw_only=True)
class Finding:
    """One aspect of a set of numbers, with the limits between which data come out clean."""

    aspect: Aspect
    value: float  # in the SI unit of the aspect, or a share of one
    of: str = ""  # the object that it is about
    cause: str = ""  # of an uncertainty: the path of the given value that adds most to it

    @property
    def low(self) -> float | None:
        """The lower limit, if there is one."""
        return _limits()[self.aspect.value].get("low")

    @property
    def high(self) -> float | None:
        """The upper limit, if there is one."""
        return _limits()[self.aspect.value].get("high")

    @property
    def verdict(self) -> Verdict:
        """Which limit is passed, if any."""
        if self.low is not None and self.value < self.low:
            return Verdict.LOW
        if self.high is not None and self.value > self.high:
            return Verdict.HIGH
        return Verdict.FITS


@cache
def _limits() -> Mapping[str, Mapping[str, float]]:
    source = resources.files("fallwork.planning") / "clean_data.yaml"
    found: dict[str, dict[str, float]] = yaml.safe_load(source.read_text(encoding="utf-8"))
    return found


@dataclass(frozen=True, kw_only=True)
class _Design:
    """Everything that the aspects are read from."""

    case: Case
    view: View
    apparatus: Apparatus
    solution: Solution
    expected: Mapping[str, float]  # by Measurand, for the givens as they are
    rate: float  # 1/s


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
    design = _Design(
        case=case,
        view=view,
        apparatus=apparatus,
        solution=solution,
        expected=measurands_of(solution, view),
        rate=rate,
    )
    return tuple(finding for look in _LOOKS for finding in look(design))


def _speed(design: _Design) -> Iterator[Finding]:
    speed = design.expected.get(Measurand.FINAL_SPEED)
    if speed is not None:
        yield Finding(aspect=Aspect.SPEED, value=abs(speed), of=design.view.moving)


def _time(design: _Design) -> Iterator[Finding]:
    time = design.expected.get(Measurand.TRAVEL_TIME)
    if time is not None:
        yield Finding(aspect=Aspect.TIME, value=time)
        yield Finding(aspect=Aspect.READINGS, value=float(int(time * design.rate)))


def _resistance(design: _Design) -> Iterator[Finding]:
    """Against the same set-up without friction and bearing torque."""
    moving = design.view.moving
    smooth = solve(without_resistance(design.apparatus))
    if smooth.moves and moving in smooth.phases[0].accelerations:
        without = smooth.phases[0].accelerations[moving]
        found = design.solution.phases[0].accelerations.get(moving)
        if found is not None and abs(without) > _NOTHING and abs(found - without) > _NOTHING:
            share = abs(found - without) / abs(without)
            yield Finding(aspect=Aspect.RESISTANCE, value=share, of=moving)


def _tension(design: _Design) -> Iterator[Finding]:
    """For what hangs from a string; what a moving pulley carries has no string of its own."""
    pulls = design.solution.phases[0].tensions
    for name, thing in design.case.scenario.objects.items():
        if not isinstance(thing, Hanging) or thing.hangs_from is not None:
            continue
        weight = thing.mass.value * design.case.gravity.value
        for each in pulls.values():
            pull = each.get(name)
            if pull is not None:
                yield Finding(aspect=Aspect.TENSION, value=abs(1 - pull / weight), of=name)


def _room(design: _Design) -> Iterator[Finding]:
    """When the driven part ends, of the foremost that moves forward on each surface."""
    least: dict[str, Finding] = {}
    for name, thing in design.case.scenario.objects.items():
        room = _ahead(design, thing) if isinstance(thing, Slider) else None
        if isinstance(thing, Slider) and room is not None:
            found = Finding(aspect=Aspect.ROOM, value=room, of=name)
            known = least.get(thing.runs_on, found)
            least[thing.runs_on] = min(known, found, key=lambda each: each.value)
    yield from least.values()


def _ahead(design: _Design, thing: Slider) -> float | None:
    """m to the front of its surface; None for what goes back, or whose place isn't given, and where
    the run ends otherwise than by its distance.
    """
    length = design.case.scenario.surfaces[thing.runs_on].length
    moved = known_sum(
        [phase.displacements.get(thing.name) for phase in driven_phases(design.solution)]
    )
    if length is None or thing.starts_at is None or not moved or moved < 0 or not _covered(design):
        return None
    return max(length.value - thing.starts_at.value - moved, 0.0)


def _covered(design: _Design) -> bool:
    """Whether the run's object moves by the run's distance."""
    run = design.case.scenario.run
    parts = [phase.displacements.get(run.object) for phase in driven_phases(design.solution)]
    moved = known_sum(parts)
    if run.distance is None or moved is None:
        return False
    return math.isclose(abs(moved), run.distance.value)


def _uncertainty(design: _Design) -> Iterator[Finding]:
    """Of the acceleration, propagated from the uncertainties of the givens."""
    name, inputs = Measurand.ACCELERATION.value, design.case.inputs
    value = design.expected.get(name, 0.0)
    if inputs and abs(value) > _NOTHING:
        result = linear_prediction(design.case, design.view)
        u = result.estimates[name].u
        if u > 0:
            yield Finding(
                aspect=Aspect.UNCERTAINTY,
                value=u / abs(value),
                of=design.view.moving,
                cause=result.budget[name][0].input,
            )


_LOOKS: tuple[Callable[[_Design], Iterator[Finding]], ...] = (
    _speed,
    _time,
    _resistance,
    _tension,
    _room,
    _uncertainty,
)
