"""Which coordinates taut strings bind to which others.

Takes rows of stretching factors; gives the exact ratios that they impose. The factors are small
whole numbers, so that elimination doesn't round.
"""

import numpy as np

from fallwork.mechanics.bounded import Array


def bonds(rows: Array) -> list[tuple[int, Array]]:
    """(coordinate, factors): the coordinate's value is the sum of factors × others' values.

    ``rows`` is (spans, coordinates). Later coordinates are left free where there is a choice.
    """
    reduced = rows.astype(float)
    pivots: list[tuple[int, int]] = []
    for column in range(rows.shape[1]):
        top = len(pivots)
        candidates = np.flatnonzero(reduced[top:, column])
        if not len(candidates):
            continue
        row = top + int(candidates[0])
        reduced[[top, row]] = reduced[[row, top]]
        reduced[top] /= reduced[top, column]
        others = np.arange(len(reduced)) != top
        reduced[others] -= np.outer(reduced[others, column], reduced[top])
        pivots.append((top, column))
    found = []
    for row, column in pivots:
        factors = -reduced[row]
        factors[column] = 0.0
        found.append((column, factors + 0.0))
    return found


def bind(rows: Array, values: Array) -> Array:
    """Values whose bound ones follow exactly from the free ones."""
    result = values.copy()
    for column, factors in bonds(rows):
        result[column] = factors @ values
    return result
