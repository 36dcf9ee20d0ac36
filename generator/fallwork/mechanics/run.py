"""Following a run from release to where it ends.

Takes an apparatus; gives its stretches, one after the other, and notes. Turning a stretch into
forces and works is left to ``forces``.
"""

import math
from dataclasses import dataclass, replace
from enum import Enum, auto

import numpy as np

from fallwork.mechanics.apparatus import Apparatus
from fallwork.mechanics.bounded import Array
from fallwork.mechanics.equations import Motion
from fallwork.mechanics.layout import Role
from fallwork.mechanics.state import Setup, State, go_on, setup_of, start_of, stretching, whole

NOISE = 1e-12  # what rounding can leave of a difference, relative to its terms
LIMIT = 60  # stretches after which a run is no longer followed


class Kind(Enum):
    """What can end a stretch."""

    DISTANCE = auto()  # the run's object has moved by the run's distance
    END = auto()  # a body reaches an end of its surface or a pulley
    TAUT = auto()  # a slack string is tight again
    UNTIL = auto()  # the time set for the run is up
    STOP = auto()  # something that rubs has no speed any more


@dataclass(frozen=True, kw_only=True)
class Event:
    """The end of a stretch."""

    after: float  # s from the beginning of the stretch
    kind: Kind
    about: str = ""  # an object or string
    words: str = ""
    coordinate: int = -1


@dataclass(frozen=True, kw_only=True)
class Stretch:
    """A phase before its forces are worked out. Arrays have one entry a coordinate."""

    name: str
    ends: str | None
    duration: float | None  # s
    motion: Motion | None  # None for the landing
    start_speed: Array
    end_speed: Array | None
    displacement: Array | None
    loose: frozenset[str] = frozenset()
    landing: int | None = None  # the coordinate that lands


@dataclass(frozen=True, kw_only=True)
class Course:
    """The whole run."""

    setup: Setup
    moves: bool
    stretches: tuple[Stretch, ...]
    notes: tuple[str, ...]


def follow(apparatus: Apparatus) -> Course:
    """The run of an apparatus whose numbers are floats."""
    setup = setup_of(apparatus)
    return _Follower(setup).follow()


class _Follower:
    """Collects stretches; the only object here that changes."""

    def __init__(self, setup: Setup) -> None:
        self.setup = setup
        self.stretches: list[Stretch] = []
        self.notes: list[str] = []
        self.role = "driven"
        self.counts: dict[str, int] = {}
        self.distance_open = setup.apparatus.run.distance is not None

    def follow(self) -> Course:
        state, stages = go_on(self.setup, start_of(self.setup))
        motion = stages[-1].motion
        if self._at_rest(state, motion):
            self._add("at rest", None, None, state, motion, None)
            return self._course(moves=False)
        for _ in range(LIMIT):
            end = self._blocked(state, motion)
            if end is not None:
                self._note_end(end.words)
                break
            event = self._next(state, motion)
            if event is None:
                self._add(self._name(), None, None, state, motion, None)
                break
            after = self._advance(state, motion, event)
            if event.kind in (Kind.END, Kind.TAUT, Kind.UNTIL):
                self._add(self._name(), event.words, event.after, state, motion, after)
                self._note_end(event.words)
                break
            if event.kind is Kind.DISTANCE:
                self._add(
                    self._name(), self._distance_words(after), event.after, state, motion, after
                )
                landed = self._land(after)
                if landed is None:
                    break
                state, stages = go_on(self.setup, landed)
                motion = stages[-1].motion
                if self._at_rest(state, motion):
                    break
                continue
            following, stages = go_on(self.setup, after)
            next_motion = stages[-1].motion
            rests = self._at_rest(following, next_motion)
            words = self._stop_words(event, next_motion, rests)
            self._add(self._name(), words, event.after, state, motion, after)
            state, motion = following, next_motion
            if rests:
                break
        return self._course(moves=True)

    def _course(self, *, moves: bool) -> Course:
        return Course(
            setup=self.setup, moves=moves, stretches=tuple(self.stretches), notes=tuple(self.notes)
        )

    def _at_rest(self, state: State, motion: Motion) -> bool:
        """Nothing moves along or down; a pulley that goes on turning by itself doesn't count."""
        along = [at for at, c in enumerate(self.setup.layout.coordinates) if not c.turns]
        return not np.any(state.speed[along]) and not np.any(
            np.nan_to_num(motion.acceleration[along])
        )

    def _name(self) -> str:
        self.counts[self.role] = self.counts.get(self.role, 0) + 1
        count = self.counts[self.role]
        return self.role if count == 1 else f"{self.role}, part {count}"

    def _note_end(self, words: str) -> None:
        self.notes.append(f"The run is followed until {words}; what comes after is not modelled.")

    # ---- events

    def _next(self, state: State, motion: Motion) -> Event | None:
        """The first event; at equal times the one that comes first in ``Kind``."""
        if np.any(np.isnan(motion.acceleration)):
            return None
        events = [
            *self._distance_events(state, motion),
            *self._end_events(state, motion),
            *self._taut_events(state, motion),
            *self._until_events(state),
            *self._stop_events(state, motion),
        ]
        return min(events, key=lambda event: event.after, default=None)

    def _distance_events(self, state: State, motion: Motion) -> list[Event]:
        run = self.setup.apparatus.run
        if not self.distance_open or run.distance is None:
            return []
        at = self.setup.layout.of_object[run.object]
        times = [
            _reach(motion.acceleration[at], state.speed[at], state.position[at] - target)
            for target in (float(run.distance), -float(run.distance))
        ]
        return [
            Event(after=t, kind=Kind.DISTANCE, about=run.object, coordinate=at)
            for t in times
            if t is not None
        ]

    def _watched(self) -> list[tuple[str, int, float, str]]:
        """(body, coordinate, position, words) of every end that a body can reach."""
        apparatus, watched = self.setup.apparatus, []
        for body in apparatus.bodies.values():
            if body.surface is None or body.starts_at is None:
                continue
            at = self.setup.layout.of_object[body.name]
            length = apparatus.surfaces[body.surface].length
            front, back = self._pulleys_at(body.name)
            start = float(body.starts_at)
            if length is not None:
                goal = front or f"the end of {body.surface}"
                watched.append(
                    (body.name, at, float(length) - start, f"{body.name} reaches {goal}")
                )
            goal = back or f"the back end of {body.surface}"
            watched.append((body.name, at, -start, f"{body.name} reaches {goal}"))
        return watched

    def _pulleys_at(self, body: str) -> tuple[str | None, str | None]:
        """The fixed pulleys next to a body on its strings, in front and behind."""
        front = back = None
        for string in self.setup.layout.strings.values():
            fixed = (Role.FIXED, Role.DRUM)
            if string.path[0] == body and string.roles[1] in fixed:
                front = front or string.path[1]
            if string.path[-1] == body and string.roles[-2] in fixed:
                back = back or string.path[-2]
        return front, back

    def _end_events(self, state: State, motion: Motion) -> list[Event]:
        events = []
        for body, at, position, words in self._watched():
            t = _reach(motion.acceleration[at], state.speed[at], state.position[at] - position)
            if t is not None:
                events.append(Event(after=t, kind=Kind.END, about=body, words=words))
        return events

    def _blocked(self, state: State, motion: Motion) -> Event | None:
        """A body that stands at an end and would go on beyond it."""
        for body, at, position, words in self._watched():
            way = 1 if position > 0 else -1
            outward = way * (state.speed[at] or np.nan_to_num(motion.acceleration[at])) > 0
            gap = position - state.position[at]
            if outward and way * gap <= 1e-12 * max(abs(position), 1e-9):
                return Event(after=0.0, kind=Kind.END, about=body, words=words)
        return None

    def _taut_events(self, state: State, motion: Motion) -> list[Event]:
        events = []
        rates = stretching(self.setup, state)
        growth = self.setup.stretch @ motion.acceleration
        for name, string in self.setup.layout.strings.items():
            words = f"{name} is taut again"
            if name in state.loose:
                parts = [(whole(self.setup, name, x) for x in (growth, rates, state.slack))]
            elif name in state.gripped:
                parts = [
                    (float(x[at]) for x in (growth, rates, state.slack))
                    for at in string.spans
                    if not motion.mode.taut[at]
                ]
            else:
                continue
            for part in parts:
                a, v, slack = part
                t = _reach(a, v, -slack)
                if t is not None:
                    events.append(Event(after=t, kind=Kind.TAUT, about=name, words=words))
        return events

    def _until_events(self, state: State) -> list[Event]:
        until = self.setup.apparatus.run.until
        if until is None:
            return []
        words = "the time set for the run is up"
        return [Event(after=max(float(until) - state.time, 0.0), kind=Kind.UNTIL, words=words)]

    def _stop_events(self, state: State, motion: Motion) -> list[Event]:
        events = []
        for at, way in enumerate(motion.mode.friction):
            speed, acceleration = state.speed[at], motion.acceleration[at]
            if way and speed * acceleration < 0:
                name = self.setup.layout.coordinates[at].name
                events.append(
                    Event(
                        after=float(-speed / acceleration),
                        kind=Kind.STOP,
                        about=name,
                        coordinate=at,
                    )
                )
        return events

    # ---- from one stretch to the next

    def _advance(self, state: State, motion: Motion, event: Event) -> State:
        t, acceleration = event.after, motion.acceleration
        moved = state.speed * t + acceleration * t**2 / 2
        if event.kind is Kind.DISTANCE and moved[event.coordinate] != 0:
            moved = moved * self._exact(state, event, moved)
        size = np.abs(state.speed) * t + np.abs(acceleration) * t**2 / 2
        back = np.abs(moved) <= NOISE * size  # it is back where the stretch began
        moved = np.where(back, 0.0, moved)
        speed = np.where(back & (size > 0), -state.speed, state.speed + acceleration * t)
        noise = NOISE * np.maximum(np.abs(state.speed), np.abs(acceleration) * t)
        speed = np.where(np.abs(speed) <= noise, 0.0, speed)
        loose = [
            span.string in state.loose
            or (span.string in state.gripped and not motion.mode.taut[at])
            for at, span in enumerate(self.setup.layout.spans)
        ]
        slack = np.where(loose, state.slack - self.setup.stretch @ moved, 0.0)
        return replace(
            state, time=state.time + t, position=state.position + moved, speed=speed, slack=slack
        )

    def _exact(self, state: State, event: Event, moved: Array) -> float:
        """The factor that takes rounding out of the distance."""
        distance = float(self.setup.apparatus.run.distance or 0.0)
        at = event.coordinate
        reached = state.position[at] + moved[at]
        return float((math.copysign(distance, reached) - state.position[at]) / moved[at])

    def _distance_words(self, after: State) -> str:
        name = self.setup.apparatus.run.object
        return f"{name} lands" if self._lands(after) else f"{name} has covered the distance"

    def _lands(self, after: State) -> bool:
        at = self.setup.layout.of_object[self.setup.apparatus.run.object]
        hangs = self.setup.layout.coordinates[at].surface is None
        return bool(hangs and after.speed[at] > 0 and after.position[at] > 0)

    def _land(self, after: State) -> State | None:
        """The state after the distance is covered; None where the run ends with a jerk."""
        self.distance_open = False
        if not self._lands(after):
            self.role = "running on"
            return after
        at = self.setup.layout.of_object[self.setup.apparatus.run.object]
        name = self.setup.apparatus.run.object
        stopped, landed = after.speed.copy(), after.landed.copy()
        stopped[at], landed[at] = 0.0, True
        self.stretches.append(
            Stretch(
                name="landing",
                ends=f"{name} is at rest on the pad",
                duration=0.0,
                motion=None,
                start_speed=after.speed,
                end_speed=stopped,
                displacement=np.zeros(len(stopped)),
                landing=at,
            )
        )
        self.role = "coasting"
        state = replace(after, speed=stopped, landed=landed)
        rates = stretching(self.setup, state)
        for string in self.setup.layout.strings:
            if whole(self.setup, string, rates) > 0:
                self._note_end(f"{name} lands and {string} is pulled with a jerk")
                return None
        return state

    def _stop_words(self, event: Event, motion: Motion, rests: bool) -> str:
        coordinate = self.setup.layout.coordinates[event.coordinate]
        still = rests or motion.acceleration[event.coordinate] == 0
        if coordinate.turns:
            return f"{event.about} stops turning" if still else f"{event.about} turns back"
        return f"{event.about} comes to rest" if still else f"{event.about} turns round"

    def _add(
        self,
        name: str,
        ends: str | None,
        duration: float | None,
        state: State,
        motion: Motion,
        after: State | None,
    ) -> None:
        if name == "at rest":
            displacement: Array | None = np.zeros(len(state.speed))
            end_speed: Array | None = np.zeros(len(state.speed))
        else:
            displacement = None if after is None else after.position - state.position
            end_speed = None if after is None else after.speed
        self.stretches.append(
            Stretch(
                name=name,
                ends=ends,
                duration=duration,
                motion=motion,
                start_speed=state.speed,
                end_speed=end_speed,
                displacement=displacement,
                loose=state.loose,
            )
        )


def _reach(acceleration: float, speed: float, gap: float) -> float | None:
    """The first time after now at which ½ a t² + v t + gap = 0; None if never."""
    a, v, gap = float(acceleration), float(speed), float(gap)
    if gap == 0:
        return -2 * v / a if a != 0 and v / a < 0 else None
    if a == 0:
        return -gap / v if v != 0 and gap / v < 0 else None
    discriminant = v * v - 2 * a * gap
    if discriminant < 0:
        return None
    q = -(v + math.copysign(math.sqrt(discriminant), v))
    roots = [root for root in (q / a, 2 * gap / q if q != 0 else math.inf) if 0 < root < math.inf]
    return min(roots, default=None)
