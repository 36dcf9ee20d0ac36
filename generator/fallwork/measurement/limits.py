"""What the numbers of a lab allow in a record of it, whatever a lab usually overlooks.

Takes a scenario; gives for each measurand the range in which every trial of the lab must lie. The
ranges are wide on purpose: they hold a lab with friction, tilt, hidden mass and a bearing that are
so many times what is easily overlooked that they would have been noticed. Whoever lies outside was
another run, or is written down wrongly. A mean may lie within and be doubtful all the same, and
trials of one lab differ much less from each other. The margins are common practice, no standard.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from math import hypot, inf, sqrt

from fallwork.measurement.influences import Influence, InfluenceKind, influences_of
from fallwork.measurement.inputs import Case
from fallwork.measurement.model import Estimate, Measurand
from fallwork.measurement.motion import held_pull
from fallwork.measurement.suspects import FAR, NEAR
from fallwork.measurement.view import driven_phases, measurands_of, view_of
from fallwork.mechanics import Apparatus, solve
from fallwork.scenario import Scenario

SURE = 4.0  # standard uncertainties of what is given
PROBABLE = 2.0  # likewise, within which a mean is looked for
UNLISTED = 0.05  # of a value: scales of sensors, and what no list of influences holds
SCALES = 0.02  # of a value: scales of sensors that are in order, and what a value varies by itself
PLACED = 0.010  # m, by which a release or an end may be misplaced
FRICTION_SHARE = 0.05  # of a friction as given, that is easily overlooked
FRICTION_VARIES = 0.3  # of a friction, by which two trials may differ
VARYING = (InfluenceKind.FRICTION, InfluenceKind.PULLEY_BEARING)  # from trial to trial
FORCES = (Measurand.MEAN_TENSION, Measurand.TENSION_OVER_TIME)
OF_MASSES = (Measurand.ACCELERATION, *FORCES)


@dataclass(frozen=True, kw_only=True)
class Range:
    """Between which values a measurand of any trial lies, before its own uncertainty."""

    value: float  # what the lab's numbers give
    low: float
    high: float
    doubtful: float  # from which distance from ``value`` on a mean calls for a second look
    varies: float  # by how much trials of one lab may differ from what is usual among them


Limits = Mapping[str, Range]  # by Measurand


def limits_of(scenario: Scenario, gravity: float) -> Limits:
    """The ranges for what can be measured in this scenario; forces without the sensor's zero."""
    case = Case(scenario=scenario, gravity=Estimate(value=gravity, u=0.0))
    view, apparatus = view_of(scenario), case.apparatus()
    solution = solve(apparatus)
    values = measurands_of(solution, view)
    influences = influences_of(apparatus, view) if solution.moves else ()

    def told(other: Apparatus) -> dict[str, float]:
        return {**dict.fromkeys(OF_MASSES, 0.0), **measurands_of(solve(other), view)}

    known = case.propagated(told)
    found: dict[str, Range] = {
        name: _range(values[name], known.estimate(name).u, name, influences)
        for name in OF_MASSES
        if name in values
    }
    distance = values.get(Measurand.DISTANCE)
    if distance is not None:
        given = scenario.run.distance
        u = distance * given.u / given.value if given and given.value else 0.0
        found[Measurand.DISTANCE] = _about(distance, PLACED + SURE * u, PROBABLE * u, PLACED)
        starts = values[Measurand.ACCELERATION] != 0  # else another object moves alone
        if starts and len(driven_phases(solution)) == 1 and scenario.run.speed is None:
            found |= _after(found[Measurand.ACCELERATION], found[Measurand.DISTANCE])
    if view.string is not None:
        effects = _effects(influences, Measurand.MEAN_TENSION, 0.0)
        bearing = effects.get(InfluenceKind.PULLEY_BEARING, 0.0)
        held = _about(held_pull(apparatus, view), FAR * bearing, bearing, 0.0)
        found[Measurand.FORCE_HELD] = held
    return {name.value: found[name] for name in Measurand if name in found}


def _range(value: float, u: float, name: str, influences: tuple[Influence, ...]) -> Range:
    """Influences as large as can just be overlooked, as large as one may well be, and as they
    change from trial to trial; ``u`` is what the givens make uncertain.
    """
    easily = hypot(*_effects(influences, name, FRICTION_SHARE).values())
    varying = _effects(influences, name, FRICTION_VARIES)
    return _about(
        value,
        hypot(FAR * easily, SURE * u),
        hypot(NEAR * easily, PROBABLE * u),
        hypot(*(varying.get(kind, 0.0) for kind in VARYING)),
    )


def _effects(
    influences: tuple[Influence, ...], name: str, share: float
) -> dict[InfluenceKind, float]:
    """What each influence does where it is as large as is easily overlooked; of a friction that is
    given at least a ``share``.
    """
    found = {each.kind: abs(each.effects.get(name, 0.0)) for each in influences}
    for each in influences:
        if each.kind is InfluenceKind.FRICTION:
            found[each.kind] *= max(1.0, share * -each.least / each.amount)
    return found


def _about(value: float, off: float, doubtful: float, varies: float) -> Range:
    whole, scales = UNLISTED * abs(value) + off, SCALES * abs(value)
    return Range(
        value=value,
        low=value - whole,
        high=value + whole,
        doubtful=min(hypot(scales, doubtful), whole),
        varies=min(scales + varies, whole),
    )


def _after(acceleration: Range, distance: Range) -> dict[str, Range]:
    """Final speed and time from rest: v² = 2 a d, t² = 2 d/a."""
    both = (acceleration, distance)
    (a, slow, fast), (d, near, far) = ([r.value, max(r.low, 0), max(r.high, 0)] for r in both)
    speeds = [sqrt(2 * x * y) for x, y in ((a, d), (slow, near), (fast, far))]
    times = [sqrt(2 * y / x) if x > 0 else inf for x, y in ((a, d), (fast, near), (slow, far))]
    doubtful = hypot(*(each.doubtful / each.value for each in both)) / 2
    varies = hypot(*(each.varies / each.value for each in both)) / 2
    return {
        name: Range(value=v, low=low, high=high, doubtful=doubtful * v, varies=varies * v)
        for name, (v, low, high) in (
            (Measurand.FINAL_SPEED, speeds),
            (Measurand.TRAVEL_TIME, times),
        )
    }
