"""Where everything is between two phases, and how it goes on from there: the mode of each contact
and string, found all at once.

Takes an apparatus with its equations; gives start speeds and, for a state, the motion whose
conditions all hold. Finding it rests on Gauss's principle of least constraint: among all loads
within their bounds (a string only pulls, friction has a largest size, a pad only pushes) the real
ones make the sum of (net force)²/mass least. That is one bounded least squares problem; what it
leaves on an edge is tried out exactly.
"""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from itertools import product
from typing import NamedTuple

import numpy as np

from fallwork.mechanics import equations
from fallwork.mechanics.algebra import Array, Flags, bind, bounded_least_squares, ties_of
from fallwork.mechanics.apparatus import ImpossibleApparatus, NoModeFound, Number
from fallwork.mechanics.assembly import Setup
from fallwork.mechanics.equations import Mode, Openings, Response, Unknowns

TIGHT = 1e-9  # a rate of stretching below this share of the speeds is none
EDGE = 1e-5  # relative distance from a bound below which both sides are tried
LIGHT = 1e-6  # what stands for no mass in the search, relative to the largest mass


@dataclass(frozen=True, kw_only=True)
class State:
    """One moment. Arrays have one entry a coordinate, ``slack`` one a span."""

    time: float  # s after release
    position: Array  # m from the start
    speed: Array  # m/s
    slack: Array  # m
    landed: Flags  # on the catch pad
    covered: bool = False  # the run's distance
    loose: frozenset[str] = frozenset()  # strings that have gone slack as a whole
    gripped: frozenset[str] = frozenset()  # strings slack on one side of a turning pulley only


class Stage(NamedTuple):
    """A response, and which coordinates could hold with their static friction when it was found."""

    static: Flags
    response: Response


def start_of(setup: Setup, speed: Array) -> State:
    """The moment of release of a single case: strings tight, each coordinate with its speed."""
    none, landed = np.zeros(len(speed)), np.zeros(len(speed), dtype=bool)
    slack = np.zeros(len(setup.stretch))
    return State(time=0.0, position=none, speed=speed, slack=slack, landed=landed)


def start_speeds(setup: Setup, speed: Number) -> Array:
    """Speeds of all coordinates, m/s, when the run's object has ``speed`` and strings are tight. Of
    those that the strings allow, the ones of least kinetic energy: what a push on that object alone
    gives (Kelvin's theorem). Raises ImpossibleApparatus where the strings allow none.
    """
    moved, n = setup.apparatus.run.object, len(setup.rigging.coordinates)
    given, at = np.asarray(speed, dtype=float)[..., None], setup.rigging.of_object[moved]
    if not given.any():
        return np.zeros(np.broadcast_shapes(setup.mass.shape, given.shape))
    ties = ties_of(setup.stretch, np.zeros(n, dtype=bool), setup.order)
    if not ties.spread[at].any():
        raise ImpossibleApparatus("held-start", moved, number="run.start")
    push = np.eye(n)[at]
    light = push * setup.massless * 1e-12 * np.maximum(setup.order.max(), 1.0)
    found = equations.accelerations(setup.mass + light, push, ties)
    found = found * (given / found[..., at : at + 1])
    found = np.where(np.abs(found) < 1e-12 * np.abs(given), 0.0, found)
    found[..., at] = given[..., 0]
    order = [*(c for c in range(n) if c != at), at]  # the object's own speed stays as given
    speeds = np.empty_like(found)
    speeds[..., order] = bind(setup.stretch[:, order], found[..., order])
    return speeds


def stretching(setup: Setup, state: State) -> Array:
    """Rates at which spans would get longer, rounding noise removed, m/s."""
    rates = setup.stretch @ state.speed
    size = np.abs(setup.stretch) @ np.abs(state.speed)
    return np.where(np.abs(rates) <= TIGHT * size, 0.0, rates)


def reach(acceleration: Number, speed: Number, target: Number) -> Array:
    """The first time after now, s, at which ½ a t² + v t = target (all in SI); inf if never."""
    a, v = np.asarray(acceleration, dtype=float), np.asarray(speed, dtype=float)
    with np.errstate(divide="ignore", invalid="ignore"):
        root = np.sqrt(v * v + 2 * a * target)  # nan: never
        q = v + np.copysign(root, v)
        ways = [2 * target / q, np.where(a == 0, np.nan, -q / a)]
        return np.asarray(np.fmin(*(np.where(t > 0, t, np.inf) for t in ways)))


def whole(setup: Setup, string: str, values: Array) -> float:
    """The sum over a string's spans."""
    return float(values[list(setup.rigging.strings[string].spans)].sum())


def go_on(setup: Setup, state: State) -> tuple[State, tuple[Stage, ...]]:
    """The motion from a state on, and the state with what has just gone slack. A string that passes
    a turning pulley and pulls nothing on one side loses its grip, so that it is slack as a whole,
    unless it would be stretched then. A massless pulley with bearing torque stops at once when no
    string turns it.
    """
    while True:
        state, stages = _found(setup, state)
        response = stages[-1].response
        changed = _loosen(setup, state, response)
        idle = response.mode.idle_rims(setup) & (state.speed != 0)
        if changed is None and not idle.any():
            return state, stages
        state = changed or replace(state, speed=np.where(idle, 0.0, state.speed))


def _found(setup: Setup, state: State) -> tuple[State, tuple[Stage, ...]]:
    """The motion of a state; massless parts that nothing carries on are stopped first."""
    try:
        return state, _stages(setup, state)
    except NoModeFound:
        stopped = _stop_massless(setup, state)
        if stopped is None:
            raise
    return stopped, _stages(setup, stopped)


def openings_of(setup: Setup, state: State) -> Openings:
    """What the past of a state leaves open."""
    loose = np.array([span.string in state.loose for span in setup.rigging.spans], dtype=bool)
    tight = (state.slack == 0) & (stretching(setup, state) == 0) & ~loose
    return Openings(spans=tight, rest=state.speed == 0, landed=state.landed)


def _stop_massless(setup: Setup, state: State) -> State | None:
    """Massless things that a bearing torque brakes, and nothing with mass drives, stop at once.
    Those go on that would stretch a string if they stopped. None where nothing changes.
    """
    tight = setup.stretch[openings_of(setup, state).spans]
    stopped = setup.massless & (state.speed != 0)
    while True:
        speed = np.where(stopped, 0.0, state.speed)
        stretched = tight[tight @ speed > TIGHT * (np.abs(tight) @ np.abs(state.speed))]
        kept = stopped & np.any(stretched != 0, axis=0)
        if not kept.any():
            return replace(state, speed=speed) if stopped.any() else None
        stopped = stopped & ~kept


def _loosen(setup: Setup, state: State, response: Response) -> State | None:
    """The state with one more string recognised as slack; None if there is none."""
    for name, string in setup.rigging.strings.items():
        taut = response.mode.taut[list(string.spans)]
        if name in state.loose or name in state.gripped or taut.all():
            continue
        trial = replace(state, loose=state.loose | {name})
        slack = not taut.any() or whole(setup, name, trial.slack) > 0
        if slack or whole(setup, name, stretching(setup, trial)) < 0:
            return trial
        after = _found(setup, trial)[1][-1].response
        growth = whole(setup, name, setup.stretch @ setup.filled(after.acceleration))
        gripped = replace(state, gripped=state.gripped | {name})
        return trial if growth <= TIGHT * setup.scale[0] else gripped
    return None


def _stages(setup: Setup, state: State) -> tuple[Stage, ...]:
    """The motion of a single case, last of the stages that lead to it. First, everything at rest
    may hold with its static friction; what breaks loose then goes on with kinetic friction, and so
    on until nothing more breaks loose. So whatever can stay at rest stays at rest.
    """
    ways, openings, stages = np.sign(state.speed), openings_of(setup, state), list[Stage]()
    static = openings.rest
    while True:
        holding = setup.holding(static)
        for mode in _candidates(holding, ways, openings):
            response = equations.solve_mode(holding, mode)
            if equations.conditions_hold(holding, response, openings):
                break
        else:
            raise NoModeFound
        stages.append(Stage(static, response))
        broken = (response.mode.sliding != 0) & (holding.bound > setup.kinetic)
        if not broken.any():
            return tuple(stages)
        static = static & ~broken


def _candidates(setup: Setup, ways: Array, openings: Openings) -> Iterator[Mode]:
    """Modes near the least constraint, those with the most rest and pull first."""
    rubbing = openings.rest & (setup.bound > 0)
    sliding = np.where(openings.rest | (setup.bound == 0), 0.0, ways)
    open_ = equations.unknowns(setup, openings.spans, rubbing, openings.landed)
    for chosen in product(*_choices(setup, sliding, open_)):
        found = open_.apart(setup, chosen, sliding)
        slides, taut, held = found["resistance"], found["tension"] == 1, found["support"] == 1
        yield Mode(sliding=slides, sticking=rubbing & (slides == 0), taut=taut, held=held)


def _choices(setup: Setup, sliding: Array, open_: Unknowns) -> list[tuple[int, ...]]:
    """For each unknown its possible states, in order of preference: a pull or a support is there
    (1) or not (0), friction sticks (0) or slides either way."""
    massless, matrix, edges = setup.massless, open_.matrix, (open_.lower, open_.upper)
    mass = np.where(massless, LIGHT * setup.mass.max(initial=0.0), setup.mass)
    force = setup.drive - sliding * setup.bound + np.where(massless, mass * setup.fall, 0.0)
    weight = 1 / np.sqrt(mass)
    values = bounded_least_squares(matrix * weight[:, None], weight * force, *edges)
    rates = matrix.T @ ((force - matrix @ values) / mass)
    strength = np.abs(force).max(initial=0.0) + setup.bound.max(initial=0.0)
    small, slow = EDGE * strength, EDGE * float(setup.scale[0])
    choices: list[tuple[int, ...]] = []
    for (kind, _), value, rate, most in zip(open_.places, values, rates, open_.upper, strict=True):
        if kind == "resistance":
            still = (0,) if most - abs(value) > small else (0, 1, -1)
            choices.append(still if abs(rate) <= slow else (1,) if rate > 0 else (-1,))
        else:
            choices.append((0,) if rate < -slow else (1,) if value > small else (1, 0))
    return choices
