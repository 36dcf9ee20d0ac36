"""Following a run from release to where it ends.

Takes an apparatus; gives its stretches, one after the other, and notes. Turning a stretch into
forces and works is left to ``forces``.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from fallwork.mechanics.apparatus import Apparatus
from fallwork.mechanics.bounded import Array
from fallwork.mechanics.events import ENDS_THE_RUN, Event, Kind, blocked, next_event
from fallwork.mechanics.problem import Motion
from fallwork.mechanics.state import Setup, State, go_on, setup_of, start_of, stretching, whole
from fallwork.mechanics.statement import Statement

NOISE = 1e-12  # what rounding can leave of a difference, relative to its terms
LIMIT = 60  # stretches after which a run is no longer followed
AT_REST = "at rest"
LANDING = "landing"
_JERK = "{} and {} is pulled with a jerk"
_GRIP = (
    "{} goes slack on one side of a turning pulley; the pulley is taken to hold the other side "
    "without slipping."
)


@dataclass(frozen=True, kw_only=True)
class Stretch:
    """A phase before its forces are worked out. Arrays have one entry a coordinate."""

    name: str
    ends: Statement | None
    duration: float | None  # s
    motion: Motion | None  # None for the landing
    start_speed: Array
    end_speed: Array | None  # m/s, nan where undetermined
    displacement: Array | None  # m, likewise


@dataclass(frozen=True, kw_only=True)
class Course:
    """The whole run."""

    setup: Setup
    moves: bool
    stretches: tuple[Stretch, ...]
    notes: tuple[Statement, ...]


def follow(apparatus: Apparatus) -> Course:
    """The run of an apparatus whose numbers are floats."""
    setup = setup_of(apparatus)
    state, motion = _go_on(setup, start_of(setup))
    if _rests(setup, state, motion):
        still = np.zeros(len(setup.mass))
        rest = Stretch(
            name=AT_REST,
            ends=None,
            duration=None,
            motion=motion,
            start_speed=still,
            end_speed=still,
            displacement=still,
        )
        return Course(setup=setup, moves=False, stretches=(rest,), notes=())
    stretches, notes = _moving(setup, state, motion)
    return Course(setup=setup, moves=True, stretches=stretches, notes=notes)


def _moving(
    setup: Setup, state: State, motion: Motion
) -> tuple[tuple[Stretch, ...], tuple[Statement, ...]]:
    """Stretch after stretch until the run ends."""
    stretches: list[Stretch] = []
    notes: list[Statement] = []
    while len(stretches) < LIMIT:
        words = blocked(setup, state, motion)
        if words is not None:
            notes.append(_followed_until(words))
            break
        event = next_event(setup, state, motion)
        name = _name(state, stretches)
        if event is None:
            stretches.append(_stretch(name, state, motion))
            notes.append(Statement(f"Nothing that is modelled ends the phase “{name}”."))
            break
        after = _advance(setup, state, motion, event)
        following, next_motion = _go_on(setup, after) if _continues(event) else (after, motion)
        words = _words(setup, event, after, next_motion)
        stretches.append(_stretch(name, state, motion, event.after, words, after))
        if event.kind in ENDS_THE_RUN:
            notes.append(_followed_until(words))
            break
        if event.kind is Kind.DISTANCE:
            following = replace(after, covered=True)
            if _lands(setup, after):
                following, landing = _land(setup, after)
                stretches.append(landing)
                jerked = _jerked(setup, following)
                if jerked:
                    notes.append(_followed_until(Statement(_JERK, words, jerked)))
                    break
            following, next_motion = _go_on(setup, following)
        state, motion = following, next_motion
        if _rests(setup, state, motion):
            break
    notes.extend(_grip_notes(setup, state))
    return tuple(stretches), tuple(notes)


def _continues(event: Event) -> bool:
    return event.kind is Kind.STOP


def _go_on(setup: Setup, state: State) -> tuple[State, Motion]:
    following, stages = go_on(setup, state)
    return following, stages[-1].motion


def _rests(setup: Setup, state: State, motion: Motion) -> bool:
    """Nothing moves along or down; a pulley that goes on turning by itself doesn't count."""
    along = [at for at, coordinate in enumerate(setup.layout.coordinates) if not coordinate.turns]
    moving = state.speed[along], np.nan_to_num(motion.acceleration[along], nan=1.0)
    return not any(values.any() for values in moving)


# ---- from one stretch to the next


def _advance(setup: Setup, state: State, motion: Motion, event: Event) -> State:
    t, acceleration = event.after, motion.acceleration
    moved = state.speed * t + acceleration * t**2 / 2
    if event.kind is Kind.DISTANCE:
        moved = moved * _exact(setup, state, moved, event.coordinate)
    size = np.abs(state.speed) * t + np.abs(acceleration) * t**2 / 2
    back = np.abs(moved) <= NOISE * size  # it is back where the stretch began
    moved = np.where(back, 0.0, moved)
    speed = np.where(back & (size > 0), -state.speed, state.speed + acceleration * t)
    noise = NOISE * np.maximum(np.abs(state.speed), np.abs(acceleration) * t)
    speed = np.where(np.abs(speed) <= noise, 0.0, speed)
    if event.kind is Kind.STOP:
        speed[event.coordinate] = 0.0
    loose = [
        span.string in state.loose or (span.string in state.gripped and not motion.mode.taut[at])
        for at, span in enumerate(setup.layout.spans)
    ]
    slack = np.where(loose, state.slack - setup.stretch @ moved, 0.0)
    return replace(
        state, time=state.time + t, position=state.position + moved, speed=speed, slack=slack
    )


def _exact(setup: Setup, state: State, moved: Array, at: int) -> float:
    """The factor that takes rounding out of the distance."""
    distance = float(setup.apparatus.run.distance or 0.0)
    goal = math.copysign(distance, state.position[at] + moved[at])
    return float((goal - state.position[at]) / moved[at])


def _lands(setup: Setup, after: State) -> bool:
    """Whether the run's object hangs and comes down on the pad."""
    at = setup.layout.of_object[setup.apparatus.run.object]
    hangs = setup.layout.coordinates[at].surface is None
    return bool(hangs and after.speed[at] > 0)


def _land(setup: Setup, before: State) -> tuple[State, Stretch]:
    """The pad stops the object at once; everything else keeps its speed."""
    name = setup.apparatus.run.object
    at = setup.layout.of_object[name]
    speed, landed = before.speed.copy(), before.landed.copy()
    speed[at], landed[at] = 0.0, True
    landing = Stretch(
        name=LANDING,
        ends=Statement("{} is at rest on the pad", name),
        duration=0.0,
        motion=None,
        start_speed=before.speed,
        end_speed=speed,
        displacement=np.zeros(len(speed)),
    )
    return replace(before, speed=speed, landed=landed, covered=True), landing


def _jerked(setup: Setup, state: State) -> str | None:
    """A string that something pulls on with a speed that its other end doesn't have."""
    rates = stretching(setup, state)
    strings = setup.layout.strings
    return next((name for name in strings if whole(setup, name, rates) > 0), None)


# ---- words


def _name(state: State, stretches: Sequence[Stretch]) -> str:
    """What a stretch is called; further ones of the same kind are numbered."""
    role = "driven" if not state.covered else "coasting" if state.landed.any() else "running on"
    count = sum(stretch.name.split(",")[0] == role for stretch in stretches)
    return role if count == 0 else f"{role}, part {count + 1}"


def _words(setup: Setup, event: Event, after: State, motion: Motion) -> Statement:
    """What ends a stretch, in words; ``motion`` is what follows."""
    if event.kind is Kind.DISTANCE:
        name = setup.apparatus.run.object
        return Statement(
            "{} lands" if _lands(setup, after) else "{} has covered the distance", name
        )
    if event.words is not None:
        return event.words
    coordinate = setup.layout.coordinates[event.coordinate]
    still = motion.acceleration[event.coordinate] == 0
    if coordinate.turns:
        return Statement("{} stops turning" if still else "{} turns back", coordinate.name)
    return Statement("{} comes to rest" if still else "{} turns round", coordinate.name)


def _followed_until(words: Statement) -> Statement:
    return Statement("The run is followed until {}; what comes after is not modelled.", words)


def _grip_notes(setup: Setup, state: State) -> list[Statement]:
    return [Statement(_GRIP, name) for name in setup.layout.strings if name in state.gripped]


def _stretch(
    name: str,
    state: State,
    motion: Motion,
    duration: float | None = None,
    ends: Statement | None = None,
    after: State | None = None,
) -> Stretch:
    return Stretch(
        name=name,
        ends=ends,
        duration=duration,
        motion=motion,
        start_speed=state.speed,
        end_speed=None if after is None else after.speed,
        displacement=None if after is None else after.position - state.position,
    )
