"""The equations of motion of one mode, solved exactly; and whether the mode's conditions hold.

Takes a problem and a mode; gives the motion. Finding the right mode is left to ``modes``, what
the equations leave open to ``undetermined``.
"""

import numpy as np

from fallwork.mechanics.binding import bind, bonds
from fallwork.mechanics.bounded import Array, Flags
from fallwork.mechanics.problem import RANK, TOLERANCE, Loads, Mode, Motion, Openings, Problem
from fallwork.mechanics.undetermined import floating, possible_loads


def solve_mode(problem: Problem, mode: Mode) -> Motion:
    """Accelerations and loads of a mode, whether or not its conditions hold."""
    force = problem.drive - mode.sliding * problem.bound
    rows = problem.stretch[mode.pulling]
    stuck = problem.stuck(mode)
    acceleration, pull, regular = _solve(problem.mass, force, rows, stuck)
    if regular:
        return Motion(
            mode=mode,
            acceleration=_snap(problem, acceleration, rows, pull, force),
            loads=_loads(problem, mode, pull, force - rows.T @ pull),
        )
    found = possible_loads(problem, mode, force - problem.mass * acceleration)
    snapped = _snap(problem, acceleration, rows, found.loads.tension[mode.pulling], force)
    return Motion(
        mode=mode,
        acceleration=np.where(floating(problem.mass, rows, stuck), np.nan, snapped),
        loads=found.loads,
        others=found.others,
        ranges=found.ranges,
        feasible=found.feasible,
    )


def conditions_hold(problem: Problem, motion: Motion, openings: Openings) -> bool:
    """Whether everything that the mode assumes comes true, within TOLERANCE."""
    return (
        motion.feasible
        and _spans_agree(problem, motion, openings)
        and all(
            _coordinate_agrees(problem, motion, openings, at) for at in range(len(problem.mass))
        )
    )


def _spans_agree(problem: Problem, motion: Motion, openings: Openings) -> bool:
    """Taut spans pull, slack ones don't stretch."""
    mode, give = motion.mode, TOLERANCE * problem.scale
    taut = mode.pulling
    if np.any(motion.loads.tension[taut] < -give * _span_mass(problem)[taut]):
        return False
    stopping = mode.sliding * (problem.idle_rims(mode) & ~openings.rest)  # at once
    sudden = -(problem.stretch @ stopping)
    growth = problem.stretch @ problem.filled(motion.acceleration)
    stretched = np.where(sudden == 0, growth > give, sudden > 0)
    return not np.any(stretched & openings.spans & ~taut)


def _coordinate_agrees(problem: Problem, motion: Motion, openings: Openings, at: int) -> bool:
    """Friction that sticks is within its bound, sliding starts that way, a pad only pushes."""
    way, held = motion.mode.friction[at], motion.mode.held[at]
    bound, give = problem.bound[at], TOLERANCE * problem.scale
    spare = TOLERANCE * (bound + abs(problem.drive[at]))
    acceleration = problem.filled(motion.acceleration)[at]
    if way == 0 and abs(motion.loads.resistance[at]) > bound + spare:
        return False
    if way and openings.rest[at] and way * acceleration < -give:
        return False
    if held:
        return bool(motion.loads.support[at] >= -spare)
    return not (openings.landed[at] and acceleration > give)


def _span_mass(problem: Problem) -> Array:
    """For each span the heaviest mass that it moves: a yardstick for its tension, kg."""
    touched = np.where(problem.stretch != 0, problem.mass, 0.0)
    least = 1e-6 * problem.mass.max(initial=0.0)
    return np.asarray(np.maximum(touched.max(axis=1, initial=0.0), least))


def _solve(mass: Array, force: Array, rows: Array, stuck: Flags) -> tuple[Array, Array, bool]:
    """Accelerations and pulls of taut spans, and whether they are the only ones.

    The spans bind the lightest coordinates to the heaviest, which are left free: what is light adds
    little to their effective masses, and no small mass is the difference of two large numbers.
    Pulls follow from the equations of what is bound.
    """
    moving = np.flatnonzero(~stuck)
    order = moving[np.argsort(mass[moving], kind="stable")]
    found = bonds(rows[:, order])
    bound = [column for column, _ in found]
    free = np.setdiff1d(np.arange(len(order)), bound)
    spread = np.eye(len(order))[:, free]
    for column, factors in found:
        spread[column] = factors[free]
    adrift = bool(floating(mass, rows, stuck).any())
    effective = spread.T @ (mass[order, None] * spread)
    acceleration: Array = np.zeros(len(mass))
    acceleration[order] = spread @ _scaled(effective, spread.T @ force[order], adrift=adrift)
    acceleration[moving] = bind(rows[:, moving], acceleration[moving])
    if adrift or len(bound) < len(rows):
        return acceleration, np.zeros(len(rows)), False
    balance = force - mass * acceleration
    pull = np.asarray(np.linalg.solve(rows[:, order[bound]].T, balance[order[bound]]))
    return acceleration, pull, True


def _scaled(matrix: Array, right: Array, *, adrift: bool) -> Array:
    """The solution of a symmetric system whose diagonal is made one; the least where it is open."""
    root = np.sqrt(np.diag(matrix))
    root = np.where(root > 0, root, 1.0)
    matrix, right = matrix / np.outer(root, root), right / root
    if adrift:
        return np.asarray(np.linalg.lstsq(matrix, right, rcond=RANK)[0] / root)
    return np.asarray(np.linalg.solve(matrix, right) / root)


def _snap(problem: Problem, acceleration: Array, rows: Array, pull: Array, force: Array) -> Array:
    """Rounding noise around zero becomes zero; what no force acts on has no acceleration."""
    parts = np.abs(force) + np.abs(rows.T) @ np.abs(problem.quiet(pull))
    cancels = (np.abs(acceleration) * problem.mass <= 1e-13 * parts) | (parts == 0)
    share = np.where(problem.mass > 0, 1e-15, 1e-13)
    tiny = np.abs(acceleration) <= share * problem.scale
    return np.where(cancels & (problem.mass > 0) | tiny, 0.0, acceleration)


def _loads(problem: Problem, mode: Mode, pull: Array, balance: Array) -> Loads:
    """``balance`` is drive less sliding friction less tension: what sticking must hold."""
    tension = np.zeros(len(mode.taut))
    tension[mode.pulling] = pull
    held = np.array(mode.held, dtype=bool)
    quiet = problem.quiet(balance)
    return Loads(
        tension=problem.quiet(tension),
        resistance=np.where(mode.sticking, quiet, mode.sliding * problem.bound),
        support=np.where(held, quiet, 0.0),
    )
