"""The equations of motion of one mode, solved for one case or many; whether the mode holds.

Takes a problem and a mode; gives the response. Finding the right mode is left to ``modes``, what
the equations leave open to ``undetermined``.
"""

from collections.abc import Sequence
from typing import Any

import numpy as np

from fallwork.mechanics.apparatus import Number
from fallwork.mechanics.arrays import as_rows, combined, first_of, plus, times
from fallwork.mechanics.binding import Ties, ties_of
from fallwork.mechanics.bounded import Array, Flags
from fallwork.mechanics.problem import (
    RANK,
    TOLERANCE,
    Loads,
    Mode,
    Openings,
    Problem,
    Response,
)
from fallwork.mechanics.undetermined import possible_loads


def solve_mode(problem: Problem, mode: Mode) -> Response:
    """Accelerations and loads of a mode, whether or not its conditions hold.

    Only a single case may be one in which something is undetermined.
    """
    rows, stuck = problem.stretch[mode.pulling], problem.stuck(mode)
    ties = ties_of(rows, stuck, first_of(problem.mass))
    acceleration = _accelerations(problem, mode, ties)
    if ties.pulls is not None:
        net = [_net(problem, mode, acceleration, at) for at in ties.tied]
        pulls = [combined(factors, net) for factors in ties.pulls]
        return Response(
            mode=mode,
            acceleration=as_rows(_snapped(problem, mode, acceleration, pulls)),
            loads=_loads(problem, mode, pulls),
        )
    every = range(len(acceleration))
    net = [_net(problem, mode, acceleration, at) for at in every]
    found = possible_loads(problem, mode, np.array(net, dtype=float))
    snapped = _snapped(problem, mode, acceleration, list(found.loads.tension[mode.pulling]))
    return Response(
        mode=mode,
        acceleration=np.where(ties.adrift, np.nan, np.array(snapped, dtype=float)),
        loads=found.loads,
        others=found.others,
        ranges=found.ranges,
        feasible=found.feasible,
    )


def _force(problem: Problem, mode: Mode, at: int) -> Number:
    """Drive less sliding friction, N."""
    return plus(problem.drive[at], -float(mode.sliding[at]), problem.bound[at])


def _net(problem: Problem, mode: Mode, acceleration: Sequence[Number], at: int) -> Number:
    """What loads have to make up, N."""
    return plus(_force(problem, mode, at), -1, times(problem.mass[at], acceleration[at]))


def _accelerations(problem: Problem, mode: Mode, ties: Ties) -> list[Number]:
    """Of all coordinates; bound ones follow exactly from free ones."""
    free = _free(problem, mode, ties)
    found = [combined(factors, free) for factors in ties.spread]
    if len(free) > 1:
        exact = {at: combined(factors, found) for at, factors in ties.exact}
        found = [exact.get(at, value) for at, value in enumerate(found)]
    return found


def _free(problem: Problem, mode: Mode, ties: Ties) -> list[Number]:
    """Accelerations of what is free, each of which moves all that is bound to it.

    Effective masses are scaled to a diagonal of ones; where they leave it open, the least solution.
    """
    forces = (*problem.drive, *problem.bound)
    right = [combined((*each, *(-each * mode.sliding)), forces) for each in ties.spread.T]
    size, open_ = len(right), bool(ties.adrift.any())
    effective = [combined(factors, problem.mass) for factors in ties.products]
    if size == 1 and not open_:
        return [right[0] / effective[0]]
    if size == 0:
        return []
    numbers = np.array(np.broadcast_arrays(*effective, *right), dtype=float)
    cases = numbers.shape[1:]
    stacked = np.moveaxis(numbers[: size**2].reshape(size, size, -1), -1, 0)
    root = np.sqrt(np.diagonal(stacked, axis1=1, axis2=2))
    root = np.where(root > 0, root, 1.0)
    scaled = stacked / (root[:, :, None] * root[:, None, :])
    sides = (numbers[size**2 :].reshape(size, -1).T / root)[..., None]
    if open_:
        solution = np.linalg.lstsq(scaled[0], sides[0], rcond=RANK)[0][None]
    else:
        solution = np.linalg.solve(scaled, sides)
    return list((solution[..., 0] / root).T.reshape(size, *cases))


def _snapped(
    problem: Problem, mode: Mode, acceleration: list[Number], pulls: Sequence[Number]
) -> list[Number]:
    """Rounding noise around zero becomes zero; what no force acts on has no acceleration."""
    if not problem.single:
        return acceleration
    rows = np.abs(problem.stretch[mode.pulling])
    sizes = [np.abs(problem.quiet(pull)) for pull in pulls]
    found: list[Number] = []
    for at, value in enumerate(acceleration):
        light = problem.massless[at]
        zero = np.abs(value) <= (1e-13 if light else 1e-15) * problem.scale
        if not light:
            parts = plus(np.abs(_force(problem, mode, at)), 1, combined(rows[:, at], sizes))
            zero = zero | (np.abs(value) * problem.mass[at] <= 1e-13 * parts) | (parts == 0)
        found.append(np.where(zero, 0.0, value))
    return found


def _loads(problem: Problem, mode: Mode, pulls: Sequence[Number]) -> Loads:
    """What sticking and a pad must hold is drive less tension."""
    tension: list[Number] = [0.0] * len(mode.taut)
    for span, pull in zip(np.flatnonzero(mode.pulling), pulls, strict=True):
        tension[span] = problem.quiet(pull)
    pairs = zip(mode.sliding, problem.bound, strict=True)
    resistance = [times(float(way), bound) for way, bound in pairs]
    support: list[Number] = [0.0] * len(resistance)
    for at, holds in enumerate(mode.sticking | mode.resting):
        if not holds:
            continue
        factors = problem.stretch[mode.pulling][:, at]
        held = problem.quiet(plus(_force(problem, mode, at), -1, combined(factors, pulls)))
        if mode.sticking[at]:
            resistance[at] = held
        if mode.resting[at]:
            support[at] = held
    return Loads(tension=as_rows(tension), resistance=as_rows(resistance), support=as_rows(support))


def conditions_hold(problem: Problem, response: Response, openings: Openings) -> Flags:
    """Whether everything that the mode assumes comes true in a case, within TOLERANCE."""
    good: Flags = np.asarray(response.feasible)
    for at in range(len(problem.stretch)):
        good = good & _span_agrees(problem, response, openings, at)
    for at in range(len(problem.mass)):
        good = good & _coordinate_agrees(problem, response, openings, at)
    return np.asarray(good)


def _span_agrees(problem: Problem, response: Response, openings: Openings, at: int) -> Any:
    """A taut span pulls, a slack one doesn't stretch, nor by what stops at once."""
    mode, row = response.mode, problem.stretch[at]
    if mode.taut[at]:
        pull = response.loads.tension[at]
        if np.min(pull) >= 0:
            return True
        return pull >= -TOLERANCE * problem.scale * _span_mass(problem, row)
    if not openings.spans[at]:
        return True
    stopping = mode.sliding * (problem.idle_rims(mode) & ~openings.rest)
    sudden = -float(row @ stopping)
    if sudden != 0:
        return sudden < 0
    return combined(row, problem.filled(response.acceleration)) <= TOLERANCE * problem.scale


def _span_mass(problem: Problem, row: Array) -> Number:
    """The heaviest mass that a span moves: a yardstick for its tension, kg."""
    heaviest: Number = 0.0
    for factor, mass in zip(row, problem.mass, strict=True):
        heaviest = np.maximum(heaviest, mass if factor else 1e-6 * mass)
    return heaviest


def _coordinate_agrees(problem: Problem, response: Response, openings: Openings, at: int) -> Any:
    """Friction that sticks is within its bound, sliding starts that way, a pad only pushes."""
    mode, give = response.mode, TOLERANCE
    way, bound = mode.friction[at], problem.bound[at]
    good: Any = True
    if way == 0:
        spare = give * (bound + np.abs(problem.drive[at]))
        good = np.abs(response.loads.resistance[at]) <= bound + spare
    if way and openings.rest[at]:
        forward = times(float(way), problem.filled(response.acceleration)[at])
        good = np.min(forward) >= 0 or forward >= -give * problem.scale
    if mode.held[at]:
        spare = give * (bound + np.abs(problem.drive[at]))
        return good & (response.loads.support[at] >= -spare)
    if openings.landed[at]:
        return good & (problem.filled(response.acceleration)[at] <= give * problem.scale)
    return good
