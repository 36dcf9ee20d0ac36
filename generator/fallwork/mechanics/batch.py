"""The driven part of many cases of one apparatus at once.

Takes an apparatus with arrays; gives accelerations, tensions, time and speeds as arrays of their
common shape. The equations are those of single cases: a mode is found for one of them and tried on
all the others in which the same numbers are zero.
"""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from operator import itemgetter
from typing import Any

import numpy as np

from fallwork.mechanics.algebra import Array, Flags
from fallwork.mechanics.apparatus import Apparatus, Number
from fallwork.mechanics.assembly import Setup, setup_of
from fallwork.mechanics.equations import Openings, Response, conditions_hold, solve_mode
from fallwork.mechanics.state import Stage, go_on, openings_of, reach, start_of, start_speeds

CHUNK = 8192  # cases solved together: few enough for their numbers to stay in the cache


@dataclass(frozen=True, kw_only=True)
class DrivenBatch:
    """The driven part of the run. Arrays have the common shape of the apparatus' arrays."""

    accelerations: Mapping[str, Array]  # m/s², nan where undetermined
    segment_tensions: Mapping[str, tuple[Array, ...]]  # N, nan where undetermined
    start_velocities: Mapping[str, Array]  # m/s
    duration: Array  # s; nan where something that rubs stops before, or the object never arrives

    def end_velocity(self, name: str) -> Array:
        """Of an object when the distance is covered, m/s; nan where it isn't."""
        return self.start_velocities[name] + self.accelerations[name] * self.duration


def solve_driven(apparatus: Apparatus) -> DrivenBatch:
    """The driven part of every case. All arrays must broadcast together. Ends of surfaces and the
    run's time limit aren't watched. Raises ImpossibleApparatus.
    """
    setup, run = setup_of(apparatus), apparatus.run
    distance: Number = np.nan if run.distance is None else run.distance
    shape = np.broadcast_shapes(setup.mass.shape[:-1], np.shape(run.speed), np.shape(distance))
    size, spans, places = setup.mass.shape[-1], setup.rigging.spans, setup.rigging.of_object

    def flat(rows: Array) -> Array:
        return np.broadcast_to(rows, (*shape, size)).reshape(-1, size)

    setup, speed = setup.changed(flat), flat(start_speeds(setup, run.speed))
    target = np.broadcast_to(distance, shape).reshape(-1)
    acceleration, tension = _solved(setup, speed)
    duration = _duration(setup, acceleration, speed, target)
    return DrivenBatch(
        accelerations={name: acceleration[:, at].reshape(shape) for name, at in places.items()},
        segment_tensions={
            name: tuple(tension[:, at].reshape(shape) for at in string.span_of_segments(spans))
            for name, string in setup.rigging.strings.items()
        },
        start_velocities={name: speed[:, at].reshape(shape) for name, at in places.items()},
        duration=duration.reshape(shape),
    )


def _solved(setup: Setup, speed: Array) -> tuple[Array, Array]:
    """Accelerations by coordinate and tensions by span, nan where undetermined, in every case."""
    count = len(speed)
    acceleration = np.empty(speed.shape, order="F")
    tension, pending = np.empty((count, len(setup.stretch)), order="F"), np.ones(count, dtype=bool)
    while pending.any():
        case = int(np.argmax(pending))
        alone = setup.changed(itemgetter(case))
        start = start_of(alone, speed[case])
        state, stages = go_on(alone, start)
        response = stages[-1].response
        acceleration[case], tension[case] = response.acceleration, response.loads.tension
        tension[case, [each.at for each in response.ranges if each.kind == "tension"]] = np.nan
        pending[case] = False
        cut = any(len(setup.rigging.strings[name].spans) > 1 for name in state.loose)
        if response.ranges or np.isnan(response.acceleration).any() or cut or state.gripped:
            continue  # something is undetermined, or a string slack on one side of a pulley only
        openings = openings_of(alone, state)
        openings = replace(openings, spans=openings_of(alone, start).spans)
        places = np.flatnonzero(pending & _alike(setup, speed, case))
        for first in range(0, len(places), CHUNK):
            some: Any = places[first : first + CHUNK]
            if some[-1] - some[0] < len(some):  # they follow each other: nothing is copied
                some = slice(some[0], some[-1] + 1)
            response, good = _applied(setup.changed(itemgetter(some)), stages, openings)
            acceleration[some], tension[some] = response.acceleration, response.loads.tension
            pending[some] = ~good
    return acceleration, tension


def _alike(setup: Setup, speed: Array, case: int) -> Flags:
    """The cases in which speeds and numbers have the same signs as in one."""
    rows = (row for each in (speed, setup.mass, setup.kinetic, setup.static) for row in each.T)
    return np.asarray(np.logical_and.reduce([np.sign(row) == np.sign(row[case]) for row in rows]))


def _applied(setup: Setup, stages: tuple[Stage, ...], openings: Openings) -> tuple[Response, Flags]:
    """The response in every case, and in which of them all conditions hold."""
    good = np.ones(len(setup.mass), dtype=bool)
    for static, found in stages:
        holding = setup.holding(static)
        response = solve_mode(holding, found.mode)
        good &= conditions_hold(holding, response, openings)
    return response, good


def _duration(setup: Setup, acceleration: Array, speed: Array, distance: Array) -> Array:
    """When the run's object has moved by the distance; nan where it doesn't before something that
    rubs comes to a stop."""
    at = setup.rigging.of_object[setup.apparatus.run.object]
    a, v = acceleration[:, at], speed[:, at]
    goal = np.sign(np.where(v == 0, a, v)) * distance  # where it goes first
    after = reach(a, v, goal)
    back = ~np.isfinite(after)  # it turns round before, if it arrives at all
    after[back] = reach(a[back], v[back], -goal[back])
    rubs = np.flatnonzero(setup.static.any(axis=0) & speed.any(axis=0))
    for each in rubs:
        with np.errstate(divide="ignore", invalid="ignore"):
            stop = np.where(setup.static[:, each] > 0, -speed[:, each] / acceleration[:, each], 0.0)
        after[(stop > 0) & (stop < after)] = np.nan
    return np.where(np.isfinite(after), after, np.nan)
