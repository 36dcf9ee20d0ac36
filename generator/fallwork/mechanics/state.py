"""Where everything is between two phases, and how it goes on from there.

Takes an apparatus with its layout; gives start speeds and, for a state, the motion that follows.
"""

from dataclasses import dataclass, replace

import numpy as np

from fallwork.mechanics.apparatus import Apparatus
from fallwork.mechanics.assembly import terms_of
from fallwork.mechanics.binding import bind
from fallwork.mechanics.bounded import Array, Flags
from fallwork.mechanics.equations import Motion, Openings, Problem
from fallwork.mechanics.faults import ImpossibleApparatus
from fallwork.mechanics.layout import Layout, layout_of
from fallwork.mechanics.modes import Friction, Stage, find_stages

TIGHT = 1e-9  # a rate of stretching below this share of the speeds is none


@dataclass(frozen=True, kw_only=True)
class Setup:
    """An apparatus with everything about it that doesn't change during the run."""

    apparatus: Apparatus
    layout: Layout
    stretch: Array  # (spans, coordinates)
    mass: Array
    drive: Array
    friction: Friction


@dataclass(frozen=True, kw_only=True)
class State:
    """One moment. Arrays have one entry a coordinate, ``slack`` one a span."""

    time: float  # s after release
    position: Array  # m from the start
    speed: Array  # m/s
    slack: Array  # m
    landed: Flags  # on the catch pad
    loose: frozenset[str] = frozenset()  # strings that have gone slack as a whole
    gripped: frozenset[str] = frozenset()  # strings slack on one side of a turning pulley only


def setup_of(apparatus: Apparatus) -> Setup:
    """The set-up of an apparatus whose numbers are floats."""
    layout = layout_of(apparatus)
    terms = terms_of(apparatus, layout)
    return Setup(
        apparatus=apparatus,
        layout=layout,
        stretch=layout.stretch_matrix(),
        mass=np.array(terms.mass, dtype=float),
        drive=np.array(terms.drive, dtype=float),
        friction=Friction(
            kinetic=np.array(terms.kinetic, dtype=float), static=np.array(terms.static, dtype=float)
        ),
    )


def start_of(setup: Setup) -> State:
    """The moment of release: strings tight, the run's object with its speed."""
    n = len(setup.mass)
    return State(
        time=0.0,
        position=np.zeros(n),
        speed=_start_speeds(setup),
        slack=np.zeros(len(setup.stretch)),
        landed=np.zeros(n, dtype=bool),
    )


def _start_speeds(setup: Setup) -> Array:
    """Speeds with all strings tight and the object at its speed.

    Where that leaves a choice, what a push on the object alone would give: the least kinetic
    energy (Kelvin's theorem).
    """
    speed = float(setup.apparatus.run.speed)
    if speed == 0:
        return np.zeros(len(setup.mass))
    return least_energy_speeds(setup.layout, setup.mass, speed, setup.apparatus.run.object)


def least_energy_speeds(layout: Layout, mass: Array, speed: float, moved: str) -> Array:
    """Speeds of all coordinates when ``moved`` has ``speed`` and every string is tight.

    Of those that the strings allow, the ones of least kinetic energy. Raises ImpossibleApparatus
    where the strings allow none.
    """
    n, at = len(mass), layout.of_object[moved]
    stretch = layout.stretch_matrix()
    row = np.zeros((1, n))
    row[0, at] = 1.0
    rows = np.concatenate([row, stretch])
    k = len(rows)
    heaviest = float(mass.max(initial=0.0)) or 1.0
    matrix = np.zeros((n + k, n + k))
    matrix[:n, :n] = np.diag(mass / heaviest)
    matrix[:n, n:] = rows.T
    matrix[n:, :n] = rows
    right = np.zeros(n + k)
    right[n] = speed
    solution: Array = np.linalg.lstsq(matrix, right, rcond=None)[0][:n]
    if np.abs(rows @ solution - right[n:]).max() > 1e-9 * abs(speed):
        raise ImpossibleApparatus(
            (moved,),
            found="it is given a start speed, but the strings hold it",
            expected="a start at rest, or a set-up in which it can move",
        )
    solution = np.where(np.abs(solution) < 1e-12 * abs(speed), 0.0, solution)
    solution[at] = speed
    order = [*(c for c in range(n) if c != at), at]  # the object's own speed stays as given
    bound = np.empty(n)
    bound[order] = bind(stretch[:, order], solution[order])
    return bound


def stretching(setup: Setup, state: State) -> Array:
    """Rates at which spans would get longer, rounding noise removed, m/s."""
    rates = setup.stretch @ state.speed
    size = np.abs(setup.stretch) @ np.abs(state.speed)
    return np.where(np.abs(rates) <= TIGHT * size, 0.0, rates)


def whole(setup: Setup, string: str, values: Array) -> float:
    """The sum over a string's spans."""
    return float(sum(values[at] for at in setup.layout.strings[string].spans))


def go_on(setup: Setup, state: State) -> tuple[State, tuple[Stage, ...]]:
    """The motion from a state on, and the state with what has just gone slack.

    A string that passes a turning pulley and pulls nothing on one side loses its grip, so that
    it is slack as a whole, unless it would be stretched then.
    """
    while True:
        state = _stop_idle_rims(setup, state)
        stages = _stages(setup, state)
        changed = _loosen(setup, state, stages[-1].motion)
        if changed is None:
            return state, stages
        state = changed


def _stages(setup: Setup, state: State) -> tuple[Stage, ...]:
    problem = Problem(
        stretch=setup.stretch, mass=setup.mass, drive=setup.drive, bound=setup.friction.kinetic
    )
    return find_stages(problem, setup.friction, np.sign(state.speed), _openings(setup, state))


def _openings(setup: Setup, state: State) -> Openings:
    rates = stretching(setup, state)
    loose = np.array([span.string in state.loose for span in setup.layout.spans], dtype=bool)
    return Openings(
        spans=(state.slack == 0) & (rates == 0) & ~loose,
        rest=state.speed == 0,
        landed=state.landed,
    )


def _stop_idle_rims(setup: Setup, state: State) -> State:
    """A massless pulley with bearing torque stops at once when no string turns it."""
    tight = _openings(setup, state).spans
    turned = np.any((setup.stretch != 0) & tight[:, None], axis=0)
    idle = (setup.mass == 0) & (setup.friction.kinetic > 0) & ~turned & (state.speed != 0)
    return replace(state, speed=np.where(idle, 0.0, state.speed)) if idle.any() else state


def _loosen(setup: Setup, state: State, motion: Motion) -> State | None:
    """The state with one more string recognised as slack; None if there is none."""
    for name, string in setup.layout.strings.items():
        if name in state.loose or name in state.gripped:
            continue
        taut = [motion.mode.taut[at] for at in string.spans]
        if all(taut):
            continue
        trial = replace(state, loose=state.loose | {name})
        if not any(taut) or _may_hang_loose(setup, trial, name):
            return trial
        return replace(state, gripped=state.gripped | {name})
    return None


def _may_hang_loose(setup: Setup, trial: State, string: str) -> bool:
    if whole(setup, string, trial.slack) > 0 or whole(setup, string, stretching(setup, trial)) < 0:
        return True
    motion = _stages(setup, trial)[-1].motion
    growth = whole(setup, string, setup.stretch @ np.nan_to_num(motion.acceleration))
    return growth <= TIGHT * motion.scale
