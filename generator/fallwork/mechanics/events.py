"""What can end a part of the run, and when.

Takes the equations, a state and the motion that follows from it; gives the first event. What the
run does then is left to ``run``.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from enum import Enum, auto

import numpy as np

from fallwork.mechanics.assembly import Setup
from fallwork.mechanics.equations import Response
from fallwork.mechanics.rigging import Element
from fallwork.mechanics.solution import End, Ending
from fallwork.mechanics.state import State, reach, stretching, whole


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
    """The end of a part of the run."""

    after: float  # s from the beginning of the part
    kind: Kind
    end: End | None = None  # what happens, where that is clear from the kind
    coordinate: int = -1  # that it is about, if any


def next_event(setup: Setup, state: State, motion: Response) -> Event | None:
    """The first event after now; None if nothing happens any more or can't be told."""
    events = _events(setup, state, motion)
    soon = [event for event in events if event.after < FOREVER]
    first = min(soon, key=lambda event: event.after, default=None)
    adrift = bool(np.any(np.isnan(motion.acceleration)))  # where it goes, nothing says
    return None if first and adrift and first.kind not in ENDS_THE_RUN else first


def blocked(setup: Setup, state: State, motion: Response) -> End | None:
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
        for side in sorted(ends, reverse=True):
            pulley = _pulley_at(setup, body.name, side)
            end = End(
                ending=Ending.REACHES,
                subject=body.name,
                at=pulley or body.surface,
                side=0 if pulley else side,
            )
            yield at, ends[side], end


def _pulley_at(setup: Setup, body: str, side: int) -> str | None:
    """The fixed pulley next to a body on its strings, in front (1) or behind (−1)."""
    for string in setup.rigging.strings.values():
        path, elements = string.path[::side], string.elements[::side]
        if path[0] == body and elements[1] in (Element.FIXED, Element.DRUM):
            return path[1]
    return None


def _events(setup: Setup, state: State, motion: Response) -> Iterator[Event]:
    run, acceleration = setup.apparatus.run, motion.acceleration

    def arrives(at: int, target: float) -> float:
        return float(reach(acceleration[at], state.speed[at], target - state.position[at]))

    if not state.covered and run.distance is not None:
        at, distance = setup.rigging.of_object[run.object], float(run.distance)
        after = min(arrives(at, way * distance) for way in (1, -1))
        yield Event(after=after, kind=Kind.DISTANCE, coordinate=at)
    for at, position, end in _limits(setup):
        yield Event(after=arrives(at, position), kind=Kind.END, end=end, coordinate=at)
    yield from _taut_events(setup, state, motion)
    if run.until is not None:
        left = max(float(run.until) - state.time, 0.0)
        yield Event(after=left, kind=Kind.UNTIL, end=End(ending=Ending.TIME))
    for at, static in enumerate(setup.static):
        if static > 0 and state.speed[at] * acceleration[at] < 0:
            after = -float(state.speed[at]) / float(acceleration[at])
            yield Event(after=after, kind=Kind.STOP, coordinate=at)


def _taut_events(setup: Setup, state: State, motion: Response) -> Iterator[Event]:
    """A string that is slack as a whole counts as one; otherwise each slack span by itself."""
    parts = (setup.stretch @ motion.acceleration, stretching(setup, state), state.slack)
    for name, string in setup.rigging.strings.items():
        sums = []
        if name in state.loose:
            sums = [[whole(setup, name, values) for values in parts]]
        elif name in state.gripped:
            slack = [at for at in string.spans if not motion.mode.taut[at]]
            sums = [[float(values[at]) for values in parts] for at in slack]
        for growth, rate, length in sums:
            end = End(ending=Ending.TAUT, subject=name)
            yield Event(after=float(reach(growth, rate, length)), kind=Kind.TAUT, end=end)
