"""Following a run from release to where it ends.

Takes an apparatus; gives its legs, one after the other, and what ends it. Turning a leg into
forces and works is left to ``forces``.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from fallwork.mechanics.apparatus import Apparatus
from fallwork.mechanics.assembly import Setup, setup_of
from fallwork.mechanics.bounded import Array
from fallwork.mechanics.events import ENDS_THE_RUN, Event, Kind, blocked, next_event
from fallwork.mechanics.problem import Response
from fallwork.mechanics.solution import End, Ending, Role
from fallwork.mechanics.state import State, go_on, start_of, stretching, whole

NOISE = 1e-12  # what rounding can leave of a difference, relative to its terms
LIMIT = 60  # legs after which a run is no longer followed


@dataclass(frozen=True, kw_only=True)
class Leg:
    """A phase before its forces are worked out. Arrays have one entry a coordinate."""

    role: Role
    part: int  # number among those of its role
    ends: End | None
    duration: float | None  # s
    motion: Response | None  # None for the landing
    start_speed: Array
    end_speed: Array | None  # m/s, nan where undetermined
    displacement: Array | None  # m, likewise


@dataclass(frozen=True, kw_only=True)
class Followed:
    """The whole run."""

    setup: Setup
    moves: bool
    legs: tuple[Leg, ...]
    until: End | None = None  # where it is followed no further
    jerked: str | None = None  # a string that is pulled with a jerk then
    gripped: frozenset[str] = frozenset()  # strings that a pulley holds on one side only


def follow(apparatus: Apparatus) -> Followed:
    """The run of an apparatus whose numbers are floats."""
    setup = setup_of(apparatus)
    state, motion = _go_on(setup, start_of(setup))
    if _rests(setup, state, motion):
        still = np.zeros(len(setup.mass))
        rest = Leg(
            role=Role.AT_REST,
            part=1,
            ends=None,
            duration=None,
            motion=motion,
            start_speed=still,
            end_speed=still,
            displacement=still,
        )
        return Followed(setup=setup, moves=False, legs=(rest,))
    return _moving(setup, state, motion)


def _moving(setup: Setup, state: State, motion: Response) -> Followed:
    """Leg after leg until the run ends."""
    legs: list[Leg] = []
    until: End | None = None
    jerked: str | None = None
    while len(legs) < LIMIT:
        until = blocked(setup, state, motion)
        if until is not None:
            break
        event = next_event(setup, state, motion)
        if event is None:
            legs.append(_leg(legs, state, motion))
            break
        after = _advance(setup, state, motion, event)
        following, next_motion = after, motion
        if event.kind is Kind.STOP:
            following, next_motion = _go_on(setup, after)
        end = _end(setup, event, after, next_motion)
        legs.append(_leg(legs, state, motion, event.after, end, after))
        if event.kind in ENDS_THE_RUN:
            until = end
            break
        if event.kind is Kind.DISTANCE:
            following = replace(after, covered=True)
            if _lands(setup, after):
                following, landing = _land(setup, after)
                legs.append(landing)
                jerked = _jerked(setup, following)
                if jerked is not None:
                    until = end
                    break
            following, next_motion = _go_on(setup, following)
        state, motion = following, next_motion
        if _rests(setup, state, motion):
            break
    return Followed(
        setup=setup,
        moves=True,
        legs=tuple(legs),
        until=until,
        jerked=jerked,
        gripped=state.gripped,
    )


def _go_on(setup: Setup, state: State) -> tuple[State, Response]:
    following, stages = go_on(setup, state)
    return following, stages[-1].response


def _rests(setup: Setup, state: State, motion: Response) -> bool:
    """Nothing moves along or down; a pulley that goes on turning by itself doesn't count."""
    along = [at for at, coordinate in enumerate(setup.rigging.coordinates) if not coordinate.turns]
    moving = state.speed[along], np.nan_to_num(motion.acceleration[along], nan=1.0)
    return not any(values.any() for values in moving)


# ---- from one leg to the next


def _advance(setup: Setup, state: State, motion: Response, event: Event) -> State:
    t, acceleration = event.after, motion.acceleration
    moved = state.speed * t + acceleration * t**2 / 2
    if event.kind is Kind.DISTANCE:
        moved = moved * _exact(setup, state, moved, event.coordinate)
    size = np.abs(state.speed) * t + np.abs(acceleration) * t**2 / 2
    back = np.abs(moved) <= NOISE * size  # it is back where the leg began
    moved = np.where(back, 0.0, moved)
    speed = np.where(back & (size > 0), -state.speed, state.speed + acceleration * t)
    noise = NOISE * np.maximum(np.abs(state.speed), np.abs(acceleration) * t)
    speed = np.where(np.abs(speed) <= noise, 0.0, speed)
    if event.kind is Kind.STOP:
        speed[event.coordinate] = 0.0
    loose = [
        span.string in state.loose or (span.string in state.gripped and not motion.mode.taut[at])
        for at, span in enumerate(setup.rigging.spans)
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
    at = setup.rigging.of_object[setup.apparatus.run.object]
    hangs = setup.rigging.coordinates[at].surface is None
    return bool(hangs and after.speed[at] > 0)


def _land(setup: Setup, before: State) -> tuple[State, Leg]:
    """The pad stops the object at once; everything else keeps its speed."""
    name = setup.apparatus.run.object
    at = setup.rigging.of_object[name]
    speed, landed = before.speed.copy(), before.landed.copy()
    speed[at], landed[at] = 0.0, True
    landing = Leg(
        role=Role.LANDING,
        part=1,
        ends=End(ending=Ending.ON_PAD, subject=name),
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
    strings = setup.rigging.strings
    return next((name for name in strings if whole(setup, name, rates) > 0), None)


def _end(setup: Setup, event: Event, after: State, motion: Response) -> End:
    """What ends a leg; ``motion`` is what follows."""
    if event.end is not None:
        return event.end
    if event.kind is Kind.DISTANCE:
        ending = Ending.LANDS if _lands(setup, after) else Ending.COVERED
        return End(ending=ending, subject=setup.apparatus.run.object)
    coordinate = setup.rigging.coordinates[event.coordinate]
    still = motion.acceleration[event.coordinate] == 0
    if coordinate.turns:
        ending = Ending.SPIN_STOPS if still else Ending.SPIN_TURNS
    else:
        ending = Ending.RESTS if still else Ending.TURNS
    return End(ending=ending, subject=coordinate.name)


def _leg(
    before: Sequence[Leg],
    state: State,
    motion: Response,
    duration: float | None = None,
    ends: End | None = None,
    after: State | None = None,
) -> Leg:
    if not state.covered:
        role = Role.DRIVEN
    else:
        role = Role.COASTING if state.landed.any() else Role.RUNNING_ON
    return Leg(
        role=role,
        part=1 + sum(leg.role is role for leg in before),
        ends=ends,
        duration=duration,
        motion=motion,
        start_speed=state.speed,
        end_speed=None if after is None else after.speed,
        displacement=None if after is None else after.position - state.position,
    )
