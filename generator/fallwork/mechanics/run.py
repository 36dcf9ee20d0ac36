"""Following a run from release to where it ends: the answer of the solver.

Takes an apparatus whose numbers are floats; gives its ``Solution``, part by part, each until the
first of the events that can end it.
"""

import math
from collections.abc import Iterator
from dataclasses import replace
from typing import Any, NamedTuple

import numpy as np

from fallwork.mechanics.apparatus import Apparatus, ImpossibleApparatus
from fallwork.mechanics.assembly import Setup, setup_of
from fallwork.mechanics.equations import Response
from fallwork.mechanics.phases import phase_of
from fallwork.mechanics.rigging import Element
from fallwork.mechanics.solution import End, Ending, Phase, Role, Solution
from fallwork.mechanics.state import State, go_on, reach, start_of, start_speeds, stretching, whole

NOISE = 1e-12  # what rounding can leave of a difference, relative to its terms
LIMIT = 60  # parts after which a run is no longer followed
FOREVER = 1e9  # s; what would happen after more than thirty years never does


ENDS_THE_RUN = frozenset({Ending.REACHES, Ending.TAUT, Ending.TIME})
GOES_ON = {Ending.RESTS: Ending.TURNS, Ending.SPIN_STOPS: Ending.SPIN_TURNS}  # if it doesn't stay


class Event(NamedTuple):
    """The end of a part of the run: when, s from its beginning; what happens, as far as that is
    clear before it does; and the coordinate that it is about, if any.
    """

    after: float
    end: End
    coordinate: int = -1

    @property
    def covers(self) -> bool:
        """Whether the run's object has moved by the run's distance."""
        return self.end.ending is Ending.COVERED


def solve(apparatus: Apparatus) -> Solution:
    """The whole run. Raises ImpossibleApparatus for what can't be."""
    setup = setup_of(apparatus)
    release = start_of(setup, start_speeds(setup, apparatus.run.speed))
    state, motion = _go_on(setup, release)
    if _rests(setup, state, motion):
        still = replace(state, speed=np.zeros(len(state.speed)))
        rest = phase_of(setup, motion, still, still, role=Role.AT_REST)
        return Solution(moves=False, phases=(rest,))
    phases: list[Phase] = []
    state, until, jerked = _followed(setup, state, motion, phases)
    if not phases and until is not None and until.subject:  # over the end of its way
        raise ImpossibleApparatus(
            "ends-at-once", until.subject, number=f"{until.subject}.starts_at"
        )
    gripped = tuple(name for name in apparatus.strings if name in state.gripped)
    ended: dict[str, Any] = {"until": until, "jerked": jerked, "gripped": gripped}
    return Solution(moves=True, phases=tuple(phases), **ended)


def _followed(
    setup: Setup, state: State, motion: Response, phases: list[Phase]
) -> tuple[State, End | None, str | None]:
    """Part after part: the last state, what ends the run, and a string that is jerked then."""
    while len(phases) < LIMIT:
        if (until := _blocked(setup, state, motion)) is not None:
            return state, until, None
        event = _next_event(setup, state, motion)
        if event is None:
            phases.append(_phase(setup, phases, motion, state))
            break
        after = _advance(setup, state, motion, event)
        following, next_motion = after, motion
        if event.end.ending in GOES_ON:
            following, next_motion = _go_on(setup, after)
        end = _end(setup, event, after, next_motion)
        told = {"after": after, "duration": event.after, "ends": end}
        phases.append(_phase(setup, phases, motion, state, **told))
        if end.ending in ENDS_THE_RUN:
            return state, end, None
        if event.covers:
            following = replace(after, covered=True)
            if end.ending is Ending.LANDS:
                following = _land(setup, following, phases)
                rates = stretching(setup, following)
                for string in setup.rigging.strings:  # pulled at with a speed that its end hasn't
                    if whole(setup, string, rates) > 0:
                        return state, end, string
            following, next_motion = _go_on(setup, following)
        state, motion = following, next_motion
        if _rests(setup, state, motion):
            break
    return state, None, None


def _go_on(setup: Setup, state: State) -> tuple[State, Response]:
    following, stages = go_on(setup, state)
    return following, stages[-1].response


def _rests(setup: Setup, state: State, motion: Response) -> bool:
    """Nothing moves along or down; a pulley that goes on turning by itself doesn't count."""
    along = [not coordinate.turns for coordinate in setup.rigging.coordinates]
    return not (state.speed[along].any() or motion.acceleration[along].any())  # nan moves


def _phase(setup: Setup, before: list[Phase], motion: Response, state: State, **told: Any) -> Phase:
    role = Role.COASTING if state.landed.any() else Role.RUNNING_ON
    role = role if state.covered else Role.DRIVEN
    part = 1 + sum(phase.role is role for phase in before)
    return phase_of(setup, motion, state, role=role, part=part, **told)


def _advance(setup: Setup, state: State, motion: Response, event: Event) -> State:
    t, acceleration = event.after, motion.acceleration
    moved = state.speed * t + acceleration * t**2 / 2
    if event.covers:  # the distance without rounding
        at, distance = event.coordinate, float(setup.apparatus.run.distance or 0.0)
        goal = math.copysign(distance, state.position[at] + moved[at])
        moved = moved * ((goal - state.position[at]) / moved[at])
    size = np.abs(state.speed) * t + np.abs(acceleration) * t**2 / 2
    back = np.abs(moved) <= NOISE * size  # it is back where the part began
    moved = np.where(back, 0.0, moved)
    speed = np.where(back & (size > 0), -state.speed, state.speed + acceleration * t)
    noise = NOISE * np.maximum(np.abs(state.speed), np.abs(acceleration) * t)
    speed = np.where(np.abs(speed) <= noise, 0.0, speed)
    if event.end.ending in GOES_ON:
        speed[event.coordinate] = 0.0
    loose = [
        span.string in state.loose or (span.string in state.gripped and not motion.mode.taut[at])
        for at, span in enumerate(setup.rigging.spans)
    ]
    slack = np.where(loose, state.slack - setup.stretch @ moved, 0.0)
    time, position = state.time + t, state.position + moved
    return replace(state, time=time, position=position, speed=speed, slack=slack)


def _land(setup: Setup, before: State, phases: list[Phase]) -> State:
    """The pad stops the object at once; everything else keeps its speed."""
    name = setup.apparatus.run.object
    there = np.arange(len(before.speed)) == setup.rigging.of_object[name]
    after = replace(before, speed=np.where(there, 0.0, before.speed), landed=before.landed | there)
    ends = End(ending=Ending.ON_PAD, subject=name)
    phases.append(phase_of(setup, None, before, after, role=Role.LANDING, ends=ends, duration=0.0))
    return after


def _end(setup: Setup, event: Event, after: State, motion: Response) -> End:
    """What ends a part; ``motion`` is what follows."""
    at, ending = event.coordinate, event.end.ending
    if event.covers and setup.rigging.coordinates[at].surface is None and after.speed[at] > 0:
        ending = Ending.LANDS
    if ending in GOES_ON and motion.acceleration[at] != 0:
        ending = GOES_ON[ending]
    return replace(event.end, ending=ending)


def _next_event(setup: Setup, state: State, motion: Response) -> Event | None:
    """The first event after now; None if nothing happens any more or can't be told."""
    soon = (event for event in _events(setup, state, motion) if event.after < FOREVER)
    first = min(soon, key=lambda event: event.after, default=None)
    adrift = bool(np.any(np.isnan(motion.acceleration)))  # where it goes, nothing says
    return None if first and adrift and first.end.ending not in ENDS_THE_RUN else first


def _blocked(setup: Setup, state: State, motion: Response) -> End | None:
    """The end of the run where a body at a limit would go on beyond it; None if none would."""
    for at, position, end in _limits(setup):
        way = 1 if position > 0 else -1
        heading = state.speed[at] or np.nan_to_num(motion.acceleration[at])
        gap = position - state.position[at]
        if way * heading > 0 and way * gap <= 1e-12 * max(abs(position), 1e-9):
            return end
    return None


def _limits(setup: Setup) -> Iterator[tuple[int, float, End]]:
    """(coordinate, m from the start, end) of the ends of surfaces, for every body whose place on
    its surface is known; a fixed pulley that it is tied to stands there in their place.
    """
    for body in setup.apparatus.bodies.values():
        if body.surface is None or body.starts_at is None:
            continue
        at, start = setup.rigging.of_object[body.name], float(body.starts_at)
        length = setup.apparatus.surfaces[body.surface].length
        ends = {-1: -start} | ({} if length is None else {1: float(length) - start})
        for side in sorted(ends, reverse=True):  # in front, then behind
            ways = [(s.path[::side], s.elements[::side]) for s in setup.rigging.strings.values()]
            held = (Element.FIXED, Element.DRUM)
            beside = [path[1] for path, roles in ways if path[0] == body.name and roles[1] in held]
            place, edge = (beside[0], 0) if beside else (body.surface, side)
            end = End(ending=Ending.REACHES, subject=body.name, at=place, side=edge)
            yield at, ends[side], end


def _events(setup: Setup, state: State, motion: Response) -> Iterator[Event]:
    """What may end a part; of several at the same time the first counts. A string that is slack as
    a whole counts as one; otherwise each slack span by itself.
    """
    run, acceleration = setup.apparatus.run, motion.acceleration

    def arrives(at: int, target: float) -> float:
        return float(reach(acceleration[at], state.speed[at], target - state.position[at]))

    if not state.covered and run.distance is not None:
        at, distance = setup.rigging.of_object[run.object], float(run.distance)
        after = min(arrives(at, way * distance) for way in (1, -1))
        yield Event(after, End(ending=Ending.COVERED, subject=run.object), at)
    for at, position, end in _limits(setup):
        yield Event(arrives(at, position), end)
    parts = setup.stretch @ acceleration, stretching(setup, state), state.slack
    for name, string in setup.rigging.strings.items():
        slack = [[at] for at in string.spans if not motion.mode.taut[at]]
        together = [[*string.spans]] if name in state.loose else []
        for spans in together or (slack if name in state.gripped else []):
            growth, rate, length = (float(values[spans].sum()) for values in parts)
            yield Event(float(reach(growth, rate, length)), End(ending=Ending.TAUT, subject=name))
    if run.until is not None:
        yield Event(max(float(run.until) - state.time, 0.0), End(ending=Ending.TIME))
    for at, static in enumerate(setup.static):
        if static > 0 and state.speed[at] * acceleration[at] < 0:
            after, coordinate = -state.speed[at] / acceleration[at], setup.rigging.coordinates[at]
            ending = Ending.SPIN_STOPS if coordinate.turns else Ending.RESTS
            yield Event(float(after), End(ending=ending, subject=coordinate.name), at)
