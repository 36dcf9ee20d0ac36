"""The equations of one mode with a number or an array in every place.

Takes terms, layout and mode; gives accelerations, tensions and friction for a whole batch at
once. The same equations as in ``equations``, but eliminated by hand, so that plain zeros and ones
cost nothing and no matrix is built for each case. Arrays can't be put in the order of their sizes:
a body lighter by 10ⁿ than what it is tied to costs n of sixteen digits; ``equations`` loses none.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from fallwork.mechanics.apparatus import Number
from fallwork.mechanics.arrays import is_plain, plus, times
from fallwork.mechanics.assembly import Terms
from fallwork.mechanics.binding import bonds
from fallwork.mechanics.bounded import Flags
from fallwork.mechanics.layout import Layout
from fallwork.mechanics.problem import Mode


class NotRegular(Exception):
    """The equations of this mode don't determine everything."""


@dataclass(frozen=True, kw_only=True)
class BatchMotion:
    """What ``equations.Motion`` is for one case; entries for coordinates and spans."""

    acceleration: tuple[Number, ...]
    tension: tuple[Number, ...]
    resistance: tuple[Number, ...]


def solve_batch(
    layout: Layout, terms: Terms, statics: Flags, mode: Mode, stuck: Flags
) -> BatchMotion:
    """The motion of ``mode`` in every case. Raises NotRegular.

    ``statics`` says where friction counts with its static size, ``stuck`` what can't move.
    """
    equations = _Equations(layout, terms, statics, mode, stuck)
    pulls, rest = equations.unknowns()
    tension: list[Number] = [0.0] * len(layout.spans)
    for at, pull in zip(equations.taut, pulls, strict=True):
        tension[at] = pull
    acceleration: list[Number] = [0.0] * len(terms)
    for at, value in zip(equations.light, rest, strict=True):
        acceleration[at] = value
    equations.accelerate(acceleration, tension)
    resistance = tuple(
        equations.held(at, tension) if way == 0 else equations.rubbing(at)
        for at, way in enumerate(mode.friction)
    )
    return BatchMotion(
        acceleration=tuple(acceleration), tension=tuple(tension), resistance=resistance
    )


class _Equations:
    """The equations of one mode.

    No taut span stretches:    Σ c_i (own_i − Σ_s c_si T_s/m_i) + Σ c_j a_j = 0  (i heavy, j light)
    On nothing acts no force:  Σ_s c_sj T_s = F_j
    """

    def __init__(
        self, layout: Layout, terms: Terms, statics: Flags, mode: Mode, stuck: Flags
    ) -> None:
        self.layout, self.terms, self.mode = layout, terms, mode
        self.statics, self.stuck = statics, stuck
        self.taut = [at for at, pulls in enumerate(mode.taut) if pulls]
        moving = [at for at in range(len(terms)) if not stuck[at]]
        self.light = [at for at in moving if is_plain(terms[at].mass, 0.0)]
        self.heavy = [at for at in moving if at not in self.light]
        self.inverse = {at: 1.0 / terms[at].mass for at in self.heavy}

    def _own(self, total: Number, factor: float, at: int) -> Number:
        """total + factor × what a coordinate's own forces would do to it."""
        parts = self.terms[at].own(self.mode.friction[at], static=bool(self.statics[at]))
        for share, part in parts:
            total = plus(total, factor * share, part)
        return total

    def unknowns(self) -> tuple[list[Number], list[Number]]:
        """Pulls of taut spans and accelerations of massless coordinates."""
        spans = [self.layout.spans[at].stretch for at in self.taut]
        size = len(spans) + len(self.light)
        matrix: list[list[Number]] = [[0.0] * size for _ in range(size)]
        right: list[Number] = [0.0] * size
        for row, span in enumerate(spans):
            for at in self.heavy:
                factor = float(span.get(at, 0))
                if factor == 0:
                    continue
                right[row] = self._own(right[row], factor, at)
                for column, other in enumerate(spans):
                    share = factor * other.get(at, 0)
                    matrix[row][column] = plus(matrix[row][column], share, self.inverse[at])
            for column, at in enumerate(self.light, len(spans)):
                matrix[row][column] = -float(span.get(at, 0))
                matrix[column][row] = float(span.get(at, 0))
        for column, at in enumerate(self.light, len(spans)):
            way, static = self.mode.friction[at], bool(self.statics[at])
            right[column] = self.terms[at].force(way, static=static)
        solution = eliminate(matrix, right)
        return solution[: len(spans)], solution[len(spans) :]

    def accelerate(self, acceleration: list[Number], tension: Sequence[Number]) -> None:
        """Enter the accelerations of what has mass (in place); bound ones follow from others."""
        bound = self._bonds()
        for at in self.heavy:
            if at in bound:
                continue
            pull = self._pulled(0.0, at, tension)
            acceleration[at] = self._own(times(pull, self.inverse[at]), 1.0, at)
        for at, factors in bound.items():
            total: Number = 0.0
            for other, factor in factors.items():
                total = plus(total, factor, acceleration[other])
            acceleration[at] = total

    def _bonds(self) -> dict[int, dict[int, float]]:
        """Coordinates that follow from others, with their factors; what is stuck counts as zero."""
        moving = np.flatnonzero(~self.stuck)
        rows = self.layout.stretch_matrix()[self.taut][:, moving]
        return {
            int(moving[column]): {
                int(moving[other]): float(factors[other]) for other in np.flatnonzero(factors)
            }
            for column, factors in bonds(rows)
        }

    def _pulled(self, total: Number, at: int, tension: Sequence[Number]) -> Number:
        """total + what the spans do to a coordinate."""
        for span, pull in zip(self.layout.spans, tension, strict=True):
            total = plus(total, -float(span.stretch.get(at, 0)), pull)
        return total

    def held(self, at: int, tension: Sequence[Number]) -> Number:
        """What sticking has to hold, N."""
        return self._pulled(self.terms[at].drive, at, tension)

    def rubbing(self, at: int) -> Number:
        """Sliding friction along −q, N."""
        way = float(self.mode.friction[at] or 0)
        if way == 0:
            return 0.0
        return times(way, self.terms[at].friction(static=bool(self.statics[at])))


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
