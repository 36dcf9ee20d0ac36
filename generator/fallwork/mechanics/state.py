"""Where everything is between two phases, and how it goes on from there.

Takes an apparatus with its rigging; gives start speeds and, for a state, the motion that follows.
"""

from dataclasses import dataclass, replace

import numpy as np

from fallwork.mechanics.apparatus import Apparatus
from fallwork.mechanics.arrays import given
from fallwork.mechanics.assembly import Setup
from fallwork.mechanics.binding import bind
from fallwork.mechanics.bounded import Array, Flags
from fallwork.mechanics.faults import ImpossibleApparatus, NoModeFound, Reason
from fallwork.mechanics.modes import Stage, find_stages
from fallwork.mechanics.problem import Openings, Response
from fallwork.mechanics.rigging import Rigging, rigging_of

TIGHT = 1e-9  # a rate of stretching below this share of the speeds is none


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


def check_possible(apparatus: Apparatus) -> None:
    """Raises ImpossibleApparatus for what can't be, before any run is followed.

    Numbers may be arrays: whether strings allow a start speed depends on no mass.
    """
    rigging = rigging_of(apparatus)
    if given(apparatus.run.speed):
        alike = np.ones(len(rigging.coordinates))
        least_energy_speeds(rigging, alike, 1.0, apparatus.run.object)


def state_at_rest(setup: Setup) -> State:
    """The start of a run from rest."""
    n = len(setup.mass)
    return State(
        time=0.0,
        position=np.zeros(n),
        speed=np.zeros(n),
        slack=np.zeros(len(setup.stretch)),
        landed=np.zeros(n, dtype=bool),
    )


def start_of(setup: Setup) -> State:
    """The moment of release: strings tight, the run's object with its speed."""
    rest, speed = state_at_rest(setup), float(setup.apparatus.run.speed)
    if speed == 0:
        return rest
    moved = setup.apparatus.run.object
    return replace(rest, speed=least_energy_speeds(setup.rigging, setup.mass, speed, moved))


def least_energy_speeds(rigging: Rigging, mass: Array, speed: float, moved: str) -> Array:
    """Speeds of all coordinates, m/s, when ``moved`` has ``speed`` and every string is tight.

    Of those that the strings allow, the ones of least kinetic energy: what a push on ``moved``
    alone would give (Kelvin's theorem). Raises ImpossibleApparatus where the strings allow none.
    """
    n, at = len(mass), rigging.of_object[moved]
    stretch = rigging.stretch_matrix()
    rows = np.concatenate([np.eye(n)[[at]], stretch])
    k = len(rows)
    heaviest = float(mass.max(initial=0.0)) or 1.0
    matrix = np.zeros((n + k, n + k))
    matrix[:n, :n] = np.diag(mass / heaviest)
    matrix[:n, n:] = rows.T
    matrix[n:, :n] = rows
    right = np.zeros(n + k)
    right[n] = speed
    found = np.array(np.linalg.lstsq(matrix, right, rcond=None)[0][:n], dtype=np.float64)
    if np.abs(rows @ found - right[n:]).max() > 1e-9 * abs(speed):
        raise ImpossibleApparatus(Reason.HELD_START, moved, number="run.start")
    found[np.abs(found) < 1e-12 * abs(speed)] = 0.0
    found[at] = speed
    order = [*(c for c in range(n) if c != at), at]  # the object's own speed stays as given
    speeds = np.empty(n)
    speeds[order] = bind(stretch[:, order], found[order])
    return speeds


def stretching(setup: Setup, state: State) -> Array:
    """Rates at which spans would get longer, rounding noise removed, m/s."""
    rates = setup.stretch @ state.speed
    size = np.abs(setup.stretch) @ np.abs(state.speed)
    return np.where(np.abs(rates) <= TIGHT * size, 0.0, rates)


def whole(setup: Setup, string: str, values: Array) -> float:
    """The sum over a string's spans."""
    return float(sum(values[at] for at in setup.rigging.strings[string].spans))


def go_on(setup: Setup, state: State) -> tuple[State, tuple[Stage, ...]]:
    """The motion from a state on, and the state with what has just gone slack.

    A string that passes a turning pulley and pulls nothing on one side loses its grip, so that
    it is slack as a whole, unless it would be stretched then.
    """
    while True:
        state, stages = _found(setup, state)
        response = stages[-1].response
        changed = _loosen(setup, state, response) or _stop_idle_rims(setup, state, response)
        if changed is None:
            return state, stages
        state = changed


def _found(setup: Setup, state: State) -> tuple[State, tuple[Stage, ...]]:
    """The motion of a state; massless parts that nothing carries on are stopped first."""
    try:
        return state, _stages(setup, state)
    except NoModeFound:
        stopped = _stop_massless(setup, state)
        if stopped is None:
            raise
        return stopped, _stages(setup, stopped)


def _stages(setup: Setup, state: State) -> tuple[Stage, ...]:
    return find_stages(setup, np.sign(state.speed), openings_of(setup, state))


def openings_of(setup: Setup, state: State) -> Openings:
    """What the past of a state leaves open."""
    rates = stretching(setup, state)
    loose = np.array([span.string in state.loose for span in setup.rigging.spans], dtype=bool)
    return Openings(
        spans=(state.slack == 0) & (rates == 0) & ~loose,
        rest=state.speed == 0,
        landed=state.landed,
    )


def _stop_massless(setup: Setup, state: State) -> State | None:
    """Massless things that a bearing torque brakes, and nothing with mass drives, stop at once.

    Those go on that would stretch a string if they stopped. None where nothing changes.
    """
    tight = setup.stretch[openings_of(setup, state).spans]
    stopped = (setup.mass == 0) & (state.speed != 0)
    while True:
        speed = np.where(stopped, 0.0, state.speed)
        stretched = tight[tight @ speed > TIGHT * (np.abs(tight) @ np.abs(state.speed))]
        kept = stopped & np.any(stretched != 0, axis=0)
        if not kept.any():
            return replace(state, speed=speed) if stopped.any() else None
        stopped = stopped & ~kept


def _stop_idle_rims(setup: Setup, state: State, response: Response) -> State | None:
    """A massless pulley with bearing torque stops at once when no string turns it."""
    problem = setup.problem()
    idle = problem.idle_rims(response.mode) & (state.speed != 0)
    return replace(state, speed=np.where(idle, 0.0, state.speed)) if idle.any() else None


def _loosen(setup: Setup, state: State, response: Response) -> State | None:
    """The state with one more string recognised as slack; None if there is none."""
    for name, string in setup.rigging.strings.items():
        if name in state.loose or name in state.gripped:
            continue
        taut = [response.mode.taut[at] for at in string.spans]
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
    problem = setup.problem()
    response = _found(setup, trial)[1][-1].response
    growth = whole(setup, string, setup.stretch @ problem.filled(response.acceleration))
    return bool(growth <= TIGHT * problem.scale)
