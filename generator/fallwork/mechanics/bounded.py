"""Least squares within bounds, for a handful of unknowns.

Takes NumPy arrays; gives the minimiser. Active-set method in the manner of Lawson and Hanson
(Solving Least Squares Problems, 1974, ch. 23), extended to upper bounds.
"""

from typing import Any

import numpy as np

Array = np.ndarray[Any, np.dtype[np.float64]]
Flags = np.ndarray[Any, np.dtype[np.bool_]]
Places = np.ndarray[Any, np.dtype[np.intp]]
Values = np.ndarray[Any, np.dtype[Any]]

PRECISION = 1e-11  # of a gradient relative to the norms from which it is made


def bounded_least_squares(matrix: Array, target: Array, lower: Array, upper: Array) -> Array:
    """The x within lower ≤ x ≤ upper that makes |matrix x − target| least.

    ``matrix`` is (m, n), ``lower`` finite. Dependent columns are allowed: one of the minimisers
    is given, always the same.
    """
    x = lower.copy()
    free = np.zeros(len(x), dtype=bool)
    refused = np.zeros(len(x), dtype=bool)
    norms = np.linalg.norm(matrix, axis=0)
    span = upper > lower
    reach = np.linalg.norm(target) + norms @ np.abs(np.where(np.isfinite(lower), lower, 0.0))
    for _ in range(30 * (len(x) + 1)):
        gradient = matrix.T @ (target - matrix @ x)
        pressing = np.where(x >= upper, -gradient, gradient)
        open_ = ~free & ~refused & span & (pressing > PRECISION * norms * reach)
        if not open_.any():
            break
        score = np.where(open_, pressing / np.where(norms > 0, norms, 1.0), -np.inf)
        newcomer = int(np.argmax(score))
        before = x.copy()
        free[newcomer] = True
        _settle(matrix, target, lower, upper, x, free)
        if not free[newcomer] and np.array_equal(before, x):
            refused[newcomer] = True
        else:
            refused[:] = False
    return x


def _settle(
    matrix: Array, target: Array, lower: Array, upper: Array, x: Array, free: Flags
) -> None:
    """Move the free unknowns to their least squares, fixing each that meets a bound (in place)."""
    while free.any():
        rest = target - matrix[:, ~free] @ x[~free]
        wanted = np.linalg.lstsq(matrix[:, free], rest, rcond=None)[0]
        here, low, high = x[free], lower[free], upper[free]
        outside = (wanted < low) | (wanted > high)
        if not outside.any():
            x[free] = wanted
            return
        step = wanted - here
        bound = np.where(wanted < low, low, high)
        with np.errstate(divide="ignore", invalid="ignore"):
            share = np.where(outside & (step != 0), (bound - here) / step, np.inf)
        first = float(np.min(share))
        moved = here + first * step
        met = outside & (share <= first)
        x[free] = np.where(met, bound, np.clip(moved, low, high))
        indices = np.flatnonzero(free)
        free[indices[met]] = False
