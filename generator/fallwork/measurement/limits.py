"""What the numbers of a lab allow in a record of it, whatever a lab usually overlooks.

Takes a scenario; gives for each measurand the range in which every trial of the lab must lie. The
ranges are wide on purpose: they hold a lab with friction, tilt, hidden mass and a bearing that are
so many times what is easily overlooked that they would have been noticed. Whoever lies outside was
another run, or is written down wrongly. A mean may lie within and be doubtful all the same, and
trials of one lab differ much less from each other. The margins are common practice, no standard.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from math import fsum, hypot, inf, sqrt

import numpy as np

from fallwork.measurement.derived import Case
from fallwork.measurement.influences import Influence, InfluenceKind, influences_of
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
    names = [name for name in (Measurand.ACCELERATION, *FORCES) if name in values]

    def told(other: Apparatus) -> list[float]:
        found = measurands_of(solve(other), view)
        return [found.get(name, 0.0) for name in names]

    u = np.linalg.norm(case.changes(told), axis=0)
    found: dict[str, Range] = {
        name: _range(values[name], name, influences, float(u[at])) for at, name in enumerate(names)
    }
    distance = values.get(Measurand.DISTANCE)
    if distance is not None:
        found[Measurand.DISTANCE] = _distance(distance, scenario)
        starts = values[Measurand.ACCELERATION] != 0  # else another object moves alone
        if starts and len(driven_phases(solution)) == 1 and scenario.run.speed is None:
            found |= _after(found[Measurand.ACCELERATION], found[Measurand.DISTANCE])
    if view.string is not None:
        pull = held_pull(apparatus, view)
        bearing = _effect(influences, InfluenceKind.PULLEY_BEARING, Measurand.MEAN_TENSION)
        found[Measurand.FORCE_HELD] = _about(pull, FAR * bearing, bearing, 0.0)
    return {name.value: found[name] for name in Measurand if name in found}


def _about(value: float, off: float, doubtful: float, varies: float) -> Range:
    whole, scales = UNLISTED * abs(value) + off, SCALES * abs(value)
    return Range(
        value=value,
        low=value - whole,
        high=value + whole,
        doubtful=min(hypot(scales, doubtful), whole),
        varies=min(scales + varies, whole),
    )


def _range(value: float, name: str, influences: tuple[Influence, ...], u: float) -> Range:
    """Influences as large as can just be overlooked, as large as one may well be, and as they
    change from trial to trial; ``u`` is what the givens make uncertain.
    """
    easily = [_effect(influences, kind, name, FRICTION_SHARE) for kind in InfluenceKind]
    varies = [_effect(influences, kind, name, FRICTION_VARIES) for kind in VARYING]
    return _about(
        value,
        hypot(FAR * hypot(*easily), SURE * u),
        hypot(NEAR * hypot(*easily), PROBABLE * u),
        hypot(*varies),
    )


def _effect(
    influences: tuple[Influence, ...], kind: InfluenceKind, name: str, share: float = 0.0
) -> float:
    """What an influence does where it is as large as is easily overlooked; of a friction that is
    given at least a ``share``.
    """
    return fsum(
        abs(each.effects.get(name, 0.0)) * max(1.0, share * -each.least / each.amount)
        if kind is InfluenceKind.FRICTION
        else abs(each.effects.get(name, 0.0))
        for each in influences
        if each.kind is kind
    )


def _distance(distance: float, scenario: Scenario) -> Range:
    given = scenario.run.distance
    relative = 0.0 if given is None or not given.value else given.u / given.value
    u = relative * distance
    return _about(distance, PLACED + SURE * u, PROBABLE * u, PLACED)


def _after(acceleration: Range, distance: Range) -> dict[str, Range]:
    """Final speed and time from rest: v² = 2 a d, t² = 2 d/a."""
    a, d = ([max(each.low, 0.0), max(each.high, 0.0)] for each in (acceleration, distance))
    speeds = [sqrt(2 * a[end] * d[end]) for end in (0, 1)]
    times = [sqrt(2 * d[end] / a[1 - end]) if a[1 - end] > 0 else inf for end in (0, 1)]
    both = (acceleration, distance)
    speed = sqrt(2 * acceleration.value * distance.value)
    time = sqrt(2 * distance.value / acceleration.value)
    doubtful = hypot(*(each.doubtful / each.value for each in both)) / 2
    varies = hypot(*(each.varies / each.value for each in both)) / 2

    def derived(value: float, ends: list[float]) -> Range:
        return Range(
            value=value,
            low=ends[0],
            high=ends[1],
            doubtful=doubtful * value,
            varies=varies * value,
        )

    return {
        Measurand.FINAL_SPEED: derived(speed, speeds),
        Measurand.TRAVEL_TIME: derived(time, times),
    }
