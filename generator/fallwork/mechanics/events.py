"""What can end a leg of the run, and when.

Takes a set-up, a state and the motion that follows from it; gives the first event. What the run
does then is left to ``run``.
"""

import math
from collections.abc import Iterator
from dataclasses import dataclass
from enum import Enum, auto

import numpy as np

from fallwork.mechanics.apparatus import Body
from fallwork.mechanics.assembly import Setup
from fallwork.mechanics.bounded import Array
from fallwork.mechanics.problem import Response
from fallwork.mechanics.rigging import Element
from fallwork.mechanics.solution import End, Ending
from fallwork.mechanics.state import State, stretching, whole


class Kind(Enum):
    """Kinds of events; of several at the same time the first of these counts."""

    DISTANCE = auto()  # the run's object has moved by the run's distance
    END = auto()  # a body reaches an end of its surface or a pulley
    TAUT = auto()  # a slack string is tight again
    UNTIL = auto()  # the time set for the run is up
    STOP = auto()  # something that rubs has no speed any more


FOREVER = 1e9  # s; what would happen after more than thirty years never does
ENDS_THE_RUN = frozenset({Kind.END, Kind.TAUT, Kind.UNTIL})


@dataclass(frozen=True, kw_only=True)
class Event:
    """The end of a leg."""

    after: float  # s from the beginning of the leg
    kind: Kind
    end: End | None = None  # what happens, where that is clear from the kind
    coordinate: int = -1  # that it is about, if any


@dataclass(frozen=True, kw_only=True)
class Limit:
    """A place beyond which a body can't go."""

    coordinate: int
    position: float  # m from the start
    end: End


def next_event(setup: Setup, state: State, motion: Response) -> Event | None:
    """The first event after now; None if nothing happens any more or can't be told."""
    events = [
        *_distance_events(setup, state, motion),
        *_end_events(setup, state, motion),
        *_taut_events(setup, state, motion),
        *_until_events(setup, state),
        *_stop_events(setup, state, motion),
    ]
    soon = [event for event in events if event.after < FOREVER]
    first = min(soon, key=lambda event: event.after, default=None)
    adrift = bool(np.any(np.isnan(motion.acceleration)))  # where it goes, nothing says
    return None if first and adrift and first.kind not in ENDS_THE_RUN else first


def blocked(setup: Setup, state: State, motion: Response) -> End | None:
    """The end of the run where a body at a limit would go on beyond it; None if none would."""
    for limit in limits(setup):
        at, way = limit.coordinate, 1 if limit.position > 0 else -1
        heading = state.speed[at] or np.nan_to_num(motion.acceleration[at])
        gap = limit.position - state.position[at]
        if way * heading > 0 and way * gap <= 1e-12 * max(abs(limit.position), 1e-9):
            return limit.end
    return None


def limits(setup: Setup) -> Iterator[Limit]:
    """The ends of surfaces, for every body whose place on its surface is known."""
    apparatus = setup.apparatus
    for body in apparatus.bodies.values():
        if body.surface is None or body.starts_at is None:
            continue
        at, start = setup.rigging.of_object[body.name], float(body.starts_at)
        length = apparatus.surfaces[body.surface].length
        front, back = _pulleys_at(setup, body.name)
        if length is not None:
            end = _reaches(body, front, side=1)
            yield Limit(coordinate=at, position=float(length) - start, end=end)
        yield Limit(coordinate=at, position=-start, end=_reaches(body, back, side=-1))


def _reaches(body: Body, pulley: str | None, side: int) -> End:
    if pulley is not None:
        return End(ending=Ending.REACHES, subject=body.name, at=pulley)
    return End(ending=Ending.REACHES, subject=body.name, at=body.surface, side=side)


def _pulleys_at(setup: Setup, body: str) -> tuple[str | None, str | None]:
    """The fixed pulleys next to a body on its strings, in front and behind."""
    front = back = None
    for string in setup.rigging.strings.values():
        if string.path[0] == body and string.elements[1] in (Element.FIXED, Element.DRUM):
            front = front or string.path[1]
        if string.path[-1] == body and string.elements[-2] in (Element.FIXED, Element.DRUM):
            back = back or string.path[-2]
    return front, back


def _distance_events(setup: Setup, state: State, motion: Response) -> Iterator[Event]:
    run = setup.apparatus.run
    if state.covered or run.distance is None:
        return
    at = setup.rigging.of_object[run.object]
    for target in (float(run.distance), -float(run.distance)):
        after = reach(motion.acceleration[at], state.speed[at], state.position[at] - target)
        if after is not None:
            yield Event(after=after, kind=Kind.DISTANCE, coordinate=at)


def _end_events(setup: Setup, state: State, motion: Response) -> Iterator[Event]:
    for limit in limits(setup):
        at = limit.coordinate
        gap = state.position[at] - limit.position
        after = reach(motion.acceleration[at], state.speed[at], gap)
        if after is not None:
            yield Event(after=after, kind=Kind.END, end=limit.end, coordinate=at)


def _taut_events(setup: Setup, state: State, motion: Response) -> Iterator[Event]:
    """A string that is slack as a whole counts as one; otherwise each slack span by itself."""
    parts: tuple[Array, ...] = (
        setup.stretch @ motion.acceleration,
        stretching(setup, state),
        state.slack,
    )
    for name, string in setup.rigging.strings.items():
        sums = []
        if name in state.loose:
            sums = [tuple(whole(setup, name, values) for values in parts)]
        elif name in state.gripped:
            slack = [at for at in string.spans if not motion.mode.taut[at]]
            sums = [tuple(float(values[at]) for values in parts) for at in slack]
        for growth, rate, length in sums:
            after = reach(growth, rate, -length)
            if after is not None:
                end = End(ending=Ending.TAUT, subject=name)
                yield Event(after=after, kind=Kind.TAUT, end=end)


def _until_events(setup: Setup, state: State) -> Iterator[Event]:
    until = setup.apparatus.run.until
    if until is not None:
        left = max(float(until) - state.time, 0.0)
        yield Event(after=left, kind=Kind.UNTIL, end=End(ending=Ending.TIME))


def _stop_events(setup: Setup, state: State, motion: Response) -> Iterator[Event]:
    for at, static in enumerate(setup.static):
        speed, acceleration = state.speed[at], motion.acceleration[at]
        if static > 0 and speed * acceleration < 0:
            after = -float(speed) / float(acceleration)
            yield Event(after=after, kind=Kind.STOP, coordinate=at)


def reach(acceleration: float, speed: float, gap: float) -> float | None:
    """The first time after now, s, at which ½ a t² + v t + gap = 0 (all in SI); None if never."""
    a, v, gap = float(acceleration), float(speed), float(gap)
    if a == 0:
        return -gap / v if v != 0 and gap / v < 0 else None
    discriminant = v * v - 2 * a * gap
    if discriminant < 0:
        return None
    q = -(v + math.copysign(math.sqrt(discriminant), v))
    roots = [root for root in (q / a, 2 * gap / q if q != 0 else 0.0) if root > 0]
    return min(roots, default=None)
