"""What the equations of a mode leave open: loads that may be shared, massless things adrift.

Takes a single case; gives possible loads and the range of each one that isn't determined.
"""

import numpy as np

from fallwork.mechanics.assembly import Setup
from fallwork.mechanics.bounded import Array, bounded_least_squares
from fallwork.mechanics.problem import TOLERANCE, Loads, Mode, Range, Unknowns, unknowns


def possible_loads(
    setup: Setup, mode: Mode, net: Array
) -> tuple[bool, Loads, tuple[Loads, ...], tuple[Range, ...]]:
    """Loads within their bounds that together make up ``net``, N, one a coordinate.

    Whether there are any, one such set, the outermost others, and how far they differ.
    """
    open_ = unknowns(setup, mode.taut, mode.sticking, mode.held)
    values = bounded_least_squares(open_.matrix, net, open_.lower, open_.upper)
    missed = np.abs(open_.matrix @ values - net)
    made_of = np.abs(setup.drive) + setup.bound + np.abs(open_.matrix) @ np.abs(values)
    if np.any(missed > TOLERANCE * (made_of + 1e-3 * made_of.max(initial=0.0))):
        return False, _as_loads(setup, mode, open_, values), (), ()
    others, ranges = _explored(open_, values)
    found, *more = (_as_loads(setup, mode, open_, each) for each in (values, *others))
    return True, found, tuple(more), ranges


def _as_loads(setup: Setup, mode: Mode, open_: Unknowns, values: Array) -> Loads:
    parts = {
        "tension": np.zeros(len(setup.stretch)),
        "resistance": mode.sliding * setup.bound,
        "support": np.zeros(len(setup.mass)),
    }
    for (kind, at), value in zip(open_.places, setup.quiet(values), strict=True):
        parts[kind][at] = value
    return Loads(**parts)


def _explored(open_: Unknowns, values: Array) -> tuple[list[Array], tuple[Range, ...]]:
    """The outermost solutions and the ranges, around one solution ``values``."""
    others: list[Array] = []
    ranges = []
    size = float(np.abs(values).max(initial=0.0)) or 1.0
    for place, (kind, at) in enumerate(open_.places):
        ends = [_outermost(open_, place, sign, values, size) for sign in (1.0, -1.0)]
        low, high = (
            end if found is None else float(found[place])
            for found, end in zip(ends, (-np.inf, np.inf), strict=True)
        )
        if high - low > 1e-7 * size:
            ranges.append(Range(kind=kind, at=at, low=low, high=high))
            found = [x for x in ends if x is not None]
            others.extend(x for x in found if not any(np.allclose(x, y) for y in others))
    return others, tuple(ranges)


def _outermost(
    open_: Unknowns, place: int, sign: float, values: Array, size: float
) -> Array | None:
    """The solution with the least ``sign`` × unknown; None if there is no limit."""
    from scipy.optimize import linprog  # only an undetermined apparatus pays for it

    cost = np.zeros(len(values))
    cost[place] = sign
    limits = np.stack([open_.lower, open_.upper], axis=1) / size
    exact = open_.matrix @ values / size  # what the bounded solution really meets
    found = linprog(cost, A_eq=open_.matrix, b_eq=exact, bounds=limits)
    return np.asarray(found.x * size) if found.status == 0 else None
