"""The equations of motion of one mode, solved for one case or many; whether the mode holds.

Finding the right mode is left to ``modes``, what the equations leave open to ``undetermined``.
"""

import numpy as np

from fallwork.mechanics.assembly import Setup
from fallwork.mechanics.binding import Ties, ties_of
from fallwork.mechanics.bounded import Array, Flags
from fallwork.mechanics.problem import RANK, TOLERANCE, Loads, Mode, Openings, Response
from fallwork.mechanics.undetermined import possible_loads


def solve_mode(setup: Setup, mode: Mode) -> Response:
    """Accelerations and loads of a mode, whether or not its conditions hold.

    Only a single case may be one in which something is undetermined.
    """
    stuck = mode.sticking | mode.held | mode.idle_rims(setup)
    ties = ties_of(setup.stretch[mode.taut], stuck, setup.order)
    force = setup.drive - mode.sliding * setup.bound
    acceleration = accelerations(setup.mass, force, ties)
    net = force - setup.mass * acceleration
    if ties.pulls is not None:
        pulls = net[..., ties.tied] @ ties.pulls.T
        acceleration = _snapped(setup, mode, force, acceleration, pulls)
        loads = _loads(setup, mode, force, pulls)
        return Response(mode=mode, acceleration=acceleration, loads=loads)
    feasible, loads, others, ranges = possible_loads(setup, mode, net)
    snapped = _snapped(setup, mode, force, acceleration, loads.tension[mode.taut])
    return Response(
        mode=mode,
        acceleration=np.where(ties.adrift, np.nan, snapped),
        loads=loads,
        others=others,
        ranges=ranges,
        feasible=feasible,
    )


def accelerations(mass: Array, force: Array, ties: Ties) -> Array:
    """What forces give, m/s²: each free coordinate moves all that is bound to it.

    Effective masses are scaled to a diagonal of ones; where they leave it open, the least solution.
    """
    right, size = force @ ties.spread, ties.spread.shape[1]
    effective = (mass @ ties.products.T).reshape(*mass.shape[:-1], size, size)
    if size == 1 and not ties.adrift.any():
        return np.asarray((right / effective[..., 0]) @ ties.spread.T)
    root = np.sqrt(np.diagonal(effective, axis1=-2, axis2=-1))
    root = np.where(root > 0, root, 1.0)
    scaled, sides = effective / (root[..., :, None] * root[..., None, :]), (right / root)[..., None]
    if ties.adrift.any():
        solution = np.linalg.pinv(scaled, rcond=RANK, hermitian=True) @ sides
    else:
        solution = np.linalg.solve(scaled, sides)
    free = (solution[..., 0] / root) @ ties.spread.T
    return np.asarray(free if size == 1 else free @ ties.exact.T)


def _snapped(setup: Setup, mode: Mode, force: Array, acceleration: Array, pulls: Array) -> Array:
    """Rounding noise around zero becomes zero; what no force acts on has no acceleration."""
    size, light = np.abs(acceleration), setup.massless
    zero = size <= np.where(light, 1e-13, 1e-15) * setup.scale
    parts = np.abs(force) + np.abs(setup.quiet(pulls)) @ np.abs(setup.stretch[mode.taut])
    zero |= ~light & ((size * setup.mass <= 1e-13 * parts) | (parts == 0))
    return np.where(zero, 0.0, acceleration)


def _loads(setup: Setup, mode: Mode, force: Array, pulls: Array) -> Loads:
    """What sticking and a pad must hold is drive less tension."""
    tension = np.zeros((*force.shape[:-1], len(mode.taut)))
    tension[..., mode.taut] = setup.quiet(pulls)
    left = setup.quiet(force - pulls @ setup.stretch[mode.taut])
    return Loads(
        tension=tension,
        resistance=np.where(mode.sticking, left, mode.sliding * setup.bound),
        support=np.where(mode.held, left, 0.0),
    )


def conditions_hold(setup: Setup, response: Response, openings: Openings) -> Flags:
    """Whether everything that the mode assumes comes true in each case, within TOLERANCE.

    A taut span pulls; a slack one doesn't stretch, nor by what stops at once. Friction that sticks
    is within its bound, sliding starts that way, and a pad only pushes.
    """
    mode, loads, give = response.mode, response.loads, TOLERANCE * setup.scale
    acceleration = setup.filled(response.acceleration)
    shares = np.where(setup.stretch != 0, 1.0, 1e-6)
    heaviest = (setup.order * shares).max(axis=1, initial=0.0)  # of what a span moves
    pulls = loads.tension >= -give * heaviest
    sudden = -setup.stretch @ (mode.sliding * (mode.idle_rims(setup) & ~openings.rest))
    rates = acceleration @ setup.stretch.T
    slack = ~openings.spans | np.where(sudden != 0, sudden < 0, rates <= give)
    spare = TOLERANCE * (setup.bound + np.abs(setup.drive))
    sticks = ~mode.sticking | (np.abs(loads.resistance) <= setup.bound + spare)
    starts = (mode.sliding == 0) | ~openings.rest | (mode.sliding * acceleration >= -give)
    rests = np.where(mode.held, loads.support >= -spare, ~openings.landed | (acceleration <= give))
    good = np.where(mode.taut, pulls, slack).all(axis=-1) & (sticks & starts & rests).all(axis=-1)
    return np.asarray(good & response.feasible)
