"""The linear algebra of the solver: who is bound to whom, done exactly, and least squares.

Takes rows of stretching factors, small whole numbers, and gives the ratios that they impose; takes
arrays and gives the minimiser within bounds, by an active-set method in the manner of Lawson and
Hanson (Solving Least Squares Problems, 1974, ch. 23), extended to upper bounds.
"""

from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache
from typing import Any

import numpy as np

Array = np.ndarray[Any, np.dtype[np.float64]]
Flags = np.ndarray[Any, np.dtype[np.bool_]]
Places = np.ndarray[Any, np.dtype[np.intp]]
Bond = tuple[int, tuple[Fraction, ...]]  # a coordinate, and factors of all coordinates

PRECISION = 1e-11  # of a gradient relative to the norms from which it is made


def bonds(rows: Array) -> tuple[Bond, ...]:
    """For each bound coordinate the factors with which it is the sum of others' values. ``rows`` is
    (spans, coordinates). Later coordinates are left free where there is a choice.
    """
    return _bonds(tuple(map(tuple, np.asarray(rows, dtype=int).tolist())))


@lru_cache(maxsize=1024)  # a run asks again and again for the few modes of its strings
def _bonds(rows: tuple[tuple[int, ...], ...]) -> tuple[Bond, ...]:
    reduced = [[Fraction(factor) for factor in row] for row in rows]
    found: list[int] = []
    for column in range(len(rows[0]) if rows else 0):
        top = len(found)
        pivot = next((row for row in reduced[top:] if row[column]), None)
        if pivot is None:
            continue
        reduced.remove(pivot)
        pivot = [factor / pivot[column] for factor in pivot]
        reduced = [
            [a - row[column] * b for a, b in zip(row, pivot, strict=True)] if row[column] else row
            for row in reduced
        ]
        reduced.insert(top, pivot)
        found.append(column)
    return tuple(
        (column, tuple(-factor if at != column else Fraction(0) for at, factor in enumerate(row)))
        for column, row in zip(found, reduced, strict=False)
    )


def bind(rows: Array, values: Array) -> Array:
    """Values, (..., coordinates), whose bound ones follow exactly from the free ones."""
    result = values.copy()
    for column, factors in bonds(rows):
        result[..., column] = values @ np.array(factors, dtype=float)
    return result


@dataclass(frozen=True, kw_only=True)
class Ties:
    """How all coordinates follow from a few free ones. The spans bind the lightest coordinates to
    the heaviest, which are left free: what is light adds little to their effective masses, and no
    small mass is the difference of two large numbers.
    """

    spread: Array  # (coordinates, free ones): how each follows
    products: Array  # (free ones squared, coordinates): how masses make up effective ones
    tied: Places  # the bound coordinates
    pulls: Array | None  # what gives pulls of spans from forces on these; None: it is left open
    adrift: Flags  # massless coordinates that are left free to move
    exact: Array  # (coordinates, coordinates): the same with a fixed choice of free ones


def ties_of(rows: Array, stuck: Flags, mass: Array) -> Ties:
    """The ties by taut spans, (spans, coordinates); what is stuck doesn't move."""
    moving = np.flatnonzero(~stuck)
    order = moving[np.argsort(mass[moving], kind="stable")]
    light = tuple((mass == 0).tolist())
    return _ties(tuple(map(tuple, rows.tolist())), tuple(order.tolist()), light)


@lru_cache(maxsize=1024)
def _ties(
    rows: tuple[tuple[float, ...], ...], order: tuple[int, ...], light: tuple[bool, ...]
) -> Ties:
    taut = np.array(rows).reshape(len(rows), len(light))
    found = bonds(taut[:, order])
    tied = np.array([order[column] for column, _ in found], dtype=int)
    spread = np.zeros((len(light), len(order)))
    spread[order, range(len(order))] = 1.0
    for column, factors in found:
        spread[order[column]] = factors
    spread = np.delete(spread, [column for column, _ in found], axis=1)
    specks = [at for at in order if light[at]]  # adrift unless bound to what has mass, or held
    adrift = np.isin(range(len(light)), specks)
    for column, factors in bonds(taut[:, specks]):
        adrift[specks[column]] = any(factors)
    moving, exact = sorted(order), np.eye(len(light))
    for column, factors in bonds(taut[:, moving]):
        exact[moving[column]] = 0.0
        exact[moving[column], moving] = factors
    open_ = adrift.any() or len(tied) < len(taut)
    products = np.einsum("if,ig->fgi", spread, spread).reshape(-1, len(light))
    pulls = None if open_ else np.linalg.inv(taut[:, tied].T)
    return Ties(
        spread=spread, products=products, tied=tied, pulls=pulls, adrift=adrift, exact=exact
    )


def bounded_least_squares(matrix: Array, target: Array, lower: Array, upper: Array) -> Array:
    """The x within lower ≤ x ≤ upper that makes |matrix x − target| least. ``matrix`` is (m, n),
    ``lower`` finite. Dependent columns are allowed: one of the minimisers is given, always the
    same.
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
        _move(matrix, target, lower, upper, x, free)
        if not free[newcomer] and np.array_equal(before, x):
            refused[newcomer] = True
        else:
            refused[:] = False
    return x


def _move(matrix: Array, target: Array, lower: Array, upper: Array, x: Array, free: Flags) -> None:
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
        met = outside & (share <= first)
        x[free] = np.where(met, bound, np.clip(here + first * step, low, high))
        free[np.flatnonzero(free)[met]] = False
