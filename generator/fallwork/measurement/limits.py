"""What the numbers of a lab allow in a record of it, whatever a lab usually overlooks.

Takes a scenario; gives for each measurand the range in which every trial of the lab must lie. The
ranges are wide on purpose: they hold a lab with friction, tilt, hidden mass and a bearing that are
so many times what is easily overlooked that they would have been noticed. Whoever lies outside was
another run, or is written down wrongly. The margins are common practice, no standard.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from math import fsum, hypot, inf, sqrt

from fallwork.measurement.derived import Case
from fallwork.measurement.influences import Influence, InfluenceKind, influences_of
from fallwork.measurement.model import Estimate, Measurand
from fallwork.measurement.motion import held_pull
from fallwork.measurement.suspects import FAR
from fallwork.measurement.view import driven_phases, measurands_of, view_of
from fallwork.mechanics import Apparatus, solve
from fallwork.scenario.model import Scenario

SURE = 4.0  # standard uncertainties of what is given
UNLISTED = 0.05  # of a value: scales of sensors, and what no list of influences holds
PLACED = 0.010  # m, by which a release or an end may be misplaced
FRICTION_SHARE = 0.05  # of a friction as given, that is easily overlooked
VARYING = (InfluenceKind.FRICTION, InfluenceKind.PULLEY_BEARING)  # from trial to trial
FORCES = (Measurand.MEAN_TENSION, Measurand.TENSION_OVER_TIME)


@dataclass(frozen=True, kw_only=True)
class Range:
    """Between which values a measurand of any trial lies, before its own uncertainty."""

    low: float
    high: float
    varies: float  # by how much trials of one lab may differ from each other


Limits = Mapping[str, Range]  # by Measurand


def limits_of(scenario: Scenario, gravity: float) -> Limits:
    """The ranges for what can be measured in this scenario; forces without the sensor's zero."""
    case = Case(scenario=scenario, gravity=Estimate(value=gravity, u=0.0))
    view, apparatus = view_of(scenario), case.apparatus()
    solution = solve(apparatus)
    values = measurands_of(solution, view)
    influences = influences_of(apparatus, view) if solution.moves else ()
    found: dict[str, Range] = {
        name: _range(value, name, influences, _uncertainties(case, name))
        for name, value in values.items()
        if name in (Measurand.ACCELERATION, *FORCES)
    }
    distance = values.get(Measurand.DISTANCE)
    if distance is not None:
        found[Measurand.DISTANCE] = _distance(distance, scenario)
        if len(driven_phases(solution)) == 1 and scenario.run.speed is None:
            found |= _after(found[Measurand.ACCELERATION], found[Measurand.DISTANCE])
    if view.string is not None:
        pull = held_pull(apparatus, view)
        bearing = _hardest(influences, InfluenceKind.PULLEY_BEARING, Measurand.MEAN_TENSION)
        found[Measurand.FORCE_HELD] = _about(pull, bearing, 0.0)
    return {name.value: found[name] for name in Measurand if name in found}


def _about(value: float, off: float, varies: float) -> Range:
    whole = UNLISTED * abs(value) + off
    return Range(
        low=value - whole, high=value + whole, varies=min(UNLISTED * abs(value) + varies, whole)
    )


def _range(
    value: float, name: str, influences: tuple[Influence, ...], given: Iterator[float]
) -> Range:
    kinds = {each.kind: _hardest(influences, each.kind, name) for each in influences}
    varies = hypot(*(kinds.get(kind, 0.0) for kind in VARYING))
    return _about(value, hypot(*kinds.values(), *(SURE * u for u in given)), varies)


def _hardest(influences: tuple[Influence, ...], kind: InfluenceKind, name: str) -> float:
    """What an influence does where it is as large as can just be overlooked."""
    return fsum(
        abs(each.effects.get(name, 0.0)) * FAR * _share(each)
        for each in influences
        if each.kind is kind
    )


def _share(influence: Influence) -> float:
    """How often the listed amount goes into what is overlooked: a large friction hides more."""
    if influence.kind is not InfluenceKind.FRICTION:
        return 1.0
    return max(1.0, FRICTION_SHARE * -influence.least / influence.amount)


def _uncertainties(case: Case, name: str) -> Iterator[float]:
    """What one standard uncertainty of each given does."""
    view = view_of(case.scenario)

    def value(apparatus: Apparatus) -> float:
        return measurands_of(solve(apparatus), view).get(name, 0.0)

    for each in case.ends:
        yield (value(each.more) - value(each.less)) * each.part


def _distance(distance: float, scenario: Scenario) -> Range:
    given = scenario.run.distance
    relative = 0.0 if given is None or not given.value else given.u / given.value
    return _about(distance, PLACED + SURE * relative * distance, PLACED)


def _after(acceleration: Range, distance: Range) -> dict[str, Range]:
    """Final speed and time from rest: v² = 2 a d, t² = 2 d/a."""
    a, d = ([max(each.low, 0.0), max(each.high, 0.0)] for each in (acceleration, distance))
    speeds = [sqrt(2 * a[end] * d[end]) for end in (0, 1)]
    times = [sqrt(2 * d[end] / a[1 - end]) if a[1 - end] > 0 else inf for end in (0, 1)]
    return {
        Measurand.FINAL_SPEED: Range(low=speeds[0], high=speeds[1], varies=inf),
        Measurand.TRAVEL_TIME: Range(low=times[0], high=times[1], varies=inf),
    }
