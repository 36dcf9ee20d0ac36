"""Where everything is between two phases, and how it goes on from there.

Takes an apparatus with its layout; gives start speeds and, for a state, the motion that follows.
"""

from collections.abc import Iterable
from dataclasses import dataclass, replace

import numpy as np

from fallwork.mechanics.apparatus import Apparatus, Number
from fallwork.mechanics.arrays import given
from fallwork.mechanics.assembly import Terms, terms_of
from fallwork.mechanics.binding import bind
from fallwork.mechanics.bounded import Array, Flags
from fallwork.mechanics.faults import ImpossibleApparatus
from fallwork.mechanics.layout import Layout, layout_of
from fallwork.mechanics.modes import Friction, NoModeFound, Stage, find_stages
from fallwork.mechanics.problem import Motion, Openings, Problem

TIGHT = 1e-9  # a rate of stretching below this share of the speeds is none


@dataclass(frozen=True, kw_only=True)
class Machine:
    """The equations of motion of one apparatus. Arrays have one entry a coordinate."""

    layout: Layout
    stretch: Array  # (spans, coordinates)
    mass: Array
    drive: Array
    fall: Array
    friction: Friction

    def problem(self, bound: Array) -> Problem:
        """The equations with certain sizes of friction."""
        return Problem(
            stretch=self.stretch, mass=self.mass, drive=self.drive, fall=self.fall, bound=bound
        )


@dataclass(frozen=True, kw_only=True)
class Setup(Machine):
    """A machine with everything else about it that doesn't change during the run."""

    apparatus: Apparatus


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


def machine_of(layout: Layout, terms: Terms) -> Machine:
    """The machine of terms that are floats."""

    def row(values: Iterable[Number]) -> Array:
        return np.array([float(value) for value in values])

    return Machine(
        layout=layout,
        stretch=layout.stretch_matrix(),
        mass=row(term.mass for term in terms),
        drive=row(term.drive for term in terms),
        fall=row(term.fall for term in terms),
        friction=Friction(
            kinetic=row(term.friction(static=False) for term in terms),
            static=row(term.friction(static=True) for term in terms),
        ),
    )


def setup_of(apparatus: Apparatus) -> Setup:
    """The set-up of an apparatus whose numbers are floats."""
    layout = layout_of(apparatus)
    machine = machine_of(layout, terms_of(apparatus, layout))
    return Setup(apparatus=apparatus, **vars(machine))


def check_possible(apparatus: Apparatus) -> None:
    """Raises ImpossibleApparatus for what can't be, before any run is followed.

    Numbers may be arrays: whether strings allow a start speed depends on no mass.
    """
    layout = layout_of(apparatus)
    if given(apparatus.run.speed):
        alike = np.ones(len(layout.coordinates))
        least_energy_speeds(layout, alike, 1.0, apparatus.run.object)


def state_at_rest(machine: Machine) -> State:
    """The start of a run from rest."""
    n = len(machine.mass)
    return State(
        time=0.0,
        position=np.zeros(n),
        speed=np.zeros(n),
        slack=np.zeros(len(machine.stretch)),
        landed=np.zeros(n, dtype=bool),
    )


def start_of(setup: Setup) -> State:
    """The moment of release: strings tight, the run's object with its speed."""
    rest, speed = state_at_rest(setup), float(setup.apparatus.run.speed)
    if speed == 0:
        return rest
    moved = setup.apparatus.run.object
    return replace(rest, speed=least_energy_speeds(setup.layout, setup.mass, speed, moved))


def least_energy_speeds(layout: Layout, mass: Array, speed: float, moved: str) -> Array:
    """Speeds of all coordinates, m/s, when ``moved`` has ``speed`` and every string is tight.

    Of those that the strings allow, the ones of least kinetic energy: what a push on ``moved``
    alone would give (Kelvin's theorem). Raises ImpossibleApparatus where the strings allow none.
    """
    n, at = len(mass), layout.of_object[moved]
    stretch = layout.stretch_matrix()
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
        raise ImpossibleApparatus(
            (moved,),
            found="it is given a start speed, but the strings hold it",
            expected="let it start at rest, or choose a set-up in which it can move",
            number="run.start",
        )
    found[np.abs(found) < 1e-12 * abs(speed)] = 0.0
    found[at] = speed
    order = [*(c for c in range(n) if c != at), at]  # the object's own speed stays as given
    speeds = np.empty(n)
    speeds[order] = bind(stretch[:, order], found[order])
    return speeds


def stretching(machine: Machine, state: State) -> Array:
    """Rates at which spans would get longer, rounding noise removed, m/s."""
    rates = machine.stretch @ state.speed
    size = np.abs(machine.stretch) @ np.abs(state.speed)
    return np.where(np.abs(rates) <= TIGHT * size, 0.0, rates)


def whole(machine: Machine, string: str, values: Array) -> float:
    """The sum over a string's spans."""
    return float(sum(values[at] for at in machine.layout.strings[string].spans))


def go_on(machine: Machine, state: State) -> tuple[State, tuple[Stage, ...]]:
    """The motion from a state on, and the state with what has just gone slack.

    A string that passes a turning pulley and pulls nothing on one side loses its grip, so that
    it is slack as a whole, unless it would be stretched then.
    """
    while True:
        state, stages = _found(machine, state)
        motion = stages[-1].motion
        changed = _loosen(machine, state, motion) or _stop_idle_rims(machine, state, motion)
        if changed is None:
            return state, stages
        state = changed


def _found(machine: Machine, state: State) -> tuple[State, tuple[Stage, ...]]:
    """The motion of a state; massless parts that nothing carries on are stopped first."""
    try:
        return state, _stages(machine, state)
    except NoModeFound:
        stopped = _stop_massless(machine, state)
        if stopped is None:
            raise
        return stopped, _stages(machine, stopped)


def _stages(machine: Machine, state: State) -> tuple[Stage, ...]:
    problem = machine.problem(machine.friction.kinetic)
    return find_stages(problem, machine.friction, np.sign(state.speed), _openings(machine, state))


def _openings(machine: Machine, state: State) -> Openings:
    rates = stretching(machine, state)
    loose = np.array([span.string in state.loose for span in machine.layout.spans], dtype=bool)
    return Openings(
        spans=(state.slack == 0) & (rates == 0) & ~loose,
        rest=state.speed == 0,
        landed=state.landed,
    )


def _stop_massless(machine: Machine, state: State) -> State | None:
    """Massless things that a bearing torque brakes, and nothing with mass drives, stop at once.

    Those go on that would stretch a string if they stopped. None where nothing changes.
    """
    tight = machine.stretch[_openings(machine, state).spans]
    stopped = (machine.mass == 0) & (state.speed != 0)
    while True:
        speed = np.where(stopped, 0.0, state.speed)
        stretched = tight[tight @ speed > TIGHT * (np.abs(tight) @ np.abs(state.speed))]
        kept = stopped & np.any(stretched != 0, axis=0)
        if not kept.any():
            return replace(state, speed=speed) if stopped.any() else None
        stopped = stopped & ~kept


def _stop_idle_rims(machine: Machine, state: State, motion: Motion) -> State | None:
    """A massless pulley with bearing torque stops at once when no string turns it."""
    problem = machine.problem(machine.friction.kinetic)
    idle = problem.idle_rims(motion.mode) & (state.speed != 0)
    return replace(state, speed=np.where(idle, 0.0, state.speed)) if idle.any() else None


def _loosen(machine: Machine, state: State, motion: Motion) -> State | None:
    """The state with one more string recognised as slack; None if there is none."""
    for name, string in machine.layout.strings.items():
        if name in state.loose or name in state.gripped:
            continue
        taut = [motion.mode.taut[at] for at in string.spans]
        if all(taut):
            continue
        trial = replace(state, loose=state.loose | {name})
        if not any(taut) or _may_hang_loose(machine, trial, name):
            return trial
        return replace(state, gripped=state.gripped | {name})
    return None


def _may_hang_loose(machine: Machine, trial: State, string: str) -> bool:
    if (
        whole(machine, string, trial.slack) > 0
        or whole(machine, string, stretching(machine, trial)) < 0
    ):
        return True
    problem = machine.problem(machine.friction.kinetic)
    motion = _found(machine, trial)[1][-1].motion
    growth = whole(machine, string, machine.stretch @ problem.filled(motion.acceleration))
    return growth <= TIGHT * problem.scale
