"""The equations of one mode with a number or an array in every place.

Takes terms, layout and mode; gives accelerations, tensions and friction for a whole batch at
once. The same equations as in ``equations``, but eliminated by hand, so that plain zeros and ones
cost nothing and no matrix is built for each case.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from fallwork.mechanics.apparatus import Number
from fallwork.mechanics.arrays import is_plain, plus, times
from fallwork.mechanics.assembly import Terms
from fallwork.mechanics.binding import bonds
from fallwork.mechanics.bounded import Flags
from fallwork.mechanics.equations import Mode
from fallwork.mechanics.layout import Layout


class NotRegular(Exception):
    """The equations of this mode don't determine everything."""


@dataclass(frozen=True, kw_only=True)
class BatchMotion:
    """What ``equations.Motion`` is for one case; entries for coordinates and spans."""

    acceleration: tuple[Number, ...]
    tension: tuple[Number, ...]
    resistance: tuple[Number, ...]


def solve_batch(
    layout: Layout, terms: Terms, bound: Sequence[Number], mode: Mode, stuck: Flags
) -> BatchMotion:
    """The motion of ``mode`` in every case. Raises NotRegular."""
    count = len(layout.coordinates)
    taut = [at for at, pulls in enumerate(mode.taut) if pulls]
    force = [
        plus(terms.drive[at], -float(mode.friction[at] or 0), bound[at]) for at in range(count)
    ]
    heavy = [at for at in range(count) if not stuck[at] and not is_plain(terms.mass[at], 0.0)]
    light = [at for at in range(count) if not stuck[at] and is_plain(terms.mass[at], 0.0)]
    inverse = {at: 1.0 / terms.mass[at] for at in heavy}
    pulls, rest = _unknowns(layout, taut, heavy, light, force, inverse)
    tension: list[Number] = [0.0] * len(layout.spans)
    for at, pull in zip(taut, pulls, strict=True):
        tension[at] = pull
    acceleration: list[Number] = [0.0] * count
    for at, value in zip(light, rest, strict=True):
        acceleration[at] = value
    net = _Net(layout, force, tension)
    bound_ones = _bonds(layout, taut, stuck)
    for at in heavy:
        if at not in bound_ones:
            acceleration[at] = times(net.of(at), inverse[at])
    for at, factors in bound_ones.items():
        total: Number = 0.0
        for other, factor in factors.items():
            total = plus(total, factor, acceleration[other])
        acceleration[at] = total
    resistance = tuple(
        net.of(at) if way == 0 else times(float(way or 0), bound[at])
        for at, way in enumerate(mode.friction)
    )
    return BatchMotion(
        acceleration=tuple(acceleration), tension=tuple(tension), resistance=resistance
    )


class _Net:
    """Force on a coordinate less what the spans take."""

    def __init__(self, layout: Layout, force: Sequence[Number], tension: Sequence[Number]) -> None:
        self.layout, self.force, self.tension = layout, force, tension

    def of(self, at: int) -> Number:
        net = self.force[at]
        for span, pull in zip(self.layout.spans, self.tension, strict=True):
            net = plus(net, -float(span.stretch.get(at, 0)), pull)
        return net


def _bonds(layout: Layout, taut: Sequence[int], stuck: Flags) -> dict[int, dict[int, float]]:
    """Coordinates that follow from others, with their factors; what is stuck counts as zero."""
    moving = np.flatnonzero(~stuck)
    rows = layout.stretch_matrix()[taut][:, moving]
    return {
        int(moving[column]): {
            int(moving[other]): float(factors[other]) for other in np.flatnonzero(factors)
        }
        for column, factors in bonds(rows)
    }


def _unknowns(
    layout: Layout,
    taut: Sequence[int],
    heavy: Sequence[int],
    light: Sequence[int],
    force: Sequence[Number],
    inverse: dict[int, Number],
) -> tuple[list[Number], list[Number]]:
    """Pulls of taut spans and accelerations of massless coordinates.

    No taut span stretches:    Σ c_i (F_i − Σ_s c_si T_s)/m_i + Σ c_j a_j = 0  (i heavy, j light)
    On nothing acts no force:  Σ_s c_sj T_s = F_j
    """
    spans = [layout.spans[at].stretch for at in taut]
    size = len(spans) + len(light)
    matrix: list[list[Number]] = [[0.0] * size for _ in range(size)]
    right: list[Number] = [0.0] * size
    for row, span in enumerate(spans):
        for at in heavy:
            factor = float(span.get(at, 0))
            if factor == 0:
                continue
            right[row] = plus(right[row], factor, times(force[at], inverse[at]))
            for column, other in enumerate(spans):
                share = factor * other.get(at, 0)
                matrix[row][column] = plus(matrix[row][column], share, inverse[at])
        for column, at in enumerate(light, len(spans)):
            matrix[row][column] = -float(span.get(at, 0))
            matrix[column][row] = float(span.get(at, 0))
            right[column] = force[at]
    solution = eliminate(matrix, right)
    return solution[: len(spans)], solution[len(spans) :]


def eliminate(matrix: list[list[Number]], right: list[Number]) -> list[Number]:
    """The solution of a small linear system whose entries are floats or arrays.

    Plain numbers are preferred as pivots. Raises NotRegular where none is left.
    """
    size = len(right)
    rows, columns = list(range(size)), list(range(size))
    done: list[tuple[int, int, tuple[int, ...]]] = []  # row, column, columns still to come
    while columns:
        row, column = _pivot(matrix, rows, columns)
        rows.remove(row)
        columns.remove(column)
        done.append((row, column, tuple(columns)))
        for other in rows:
            if is_plain(matrix[other][column], 0.0):
                continue
            share = matrix[other][column] / matrix[row][column]
            for at in columns:
                matrix[other][at] = plus(matrix[other][at], -1, times(share, matrix[row][at]))
            right[other] = plus(right[other], -1, times(share, right[row]))
    solution: list[Number] = [0.0] * size
    for row, column, following in reversed(done):
        value = right[row]
        for at in following:
            value = plus(value, -1, times(matrix[row][at], solution[at]))
        solution[column] = value / matrix[row][column]
    return solution


def _pivot(
    matrix: Sequence[Sequence[Number]], rows: Sequence[int], columns: Sequence[int]
) -> tuple[int, int]:
    """A place that isn't zero anywhere: a plain number if there is one, else on the diagonal."""
    places = [(row, column) for row in rows for column in columns]
    filled = [place for place in places if not is_plain(matrix[place[0]][place[1]], 0.0)]
    plain = [place for place in filled if np.ndim(matrix[place[0]][place[1]]) == 0]
    diagonal = [place for place in filled if place[0] == place[1]]
    for candidates in (plain, diagonal, filled):
        if candidates:
            return candidates[0]
    raise NotRegular
