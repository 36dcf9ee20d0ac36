"""How taut strings tie the motions of a set-up together.

Takes the layout and which strings are taut; gives how far everything goes for one of a reference
mover, in whole numbers, where the strings settle that.
"""

import math
from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction
from functools import cached_property

from fallwork.mechanics import Layout


@dataclass(frozen=True, kw_only=True)
class Ties:
    """``movers`` in the order of the file; ``chosen`` is the run's object."""

    layout: Layout
    movers: tuple[str, ...]
    chosen: str
    taut: frozenset[int]  # indices of spans

    def constraint(self, string: str) -> Mapping[str, int]:
        """By how much a string would lengthen per unit of motion of each mover on it.

        A pulley on which the string is wound counts by the motion of its rim, under
        ``rim(pulley)``. What a moving pulley carries moves with it and isn't named.
        """
        total: dict[int, int] = {}
        for span in self._taut_spans(string):
            for at, factor in self.layout.spans[span].stretch.items():
                total[at] = total.get(at, 0) + factor
        return {self._named(at): factor for at, factor in total.items() if factor}

    def spans(self, string: str) -> tuple[Mapping[str, int], ...]:
        """The same for each stretch of a string between pulleys that take a torque to turn."""
        return tuple(
            {self._named(at): k for at, k in self.layout.spans[span].stretch.items()}
            for span in self._taut_spans(string)
        )

    def _taut_spans(self, string: str) -> list[int]:
        return [span for span in self.layout.strings[string].spans if span in self.taut]

    def _named(self, at: int) -> str:
        coordinate = self.layout.coordinates[at]
        return rim(coordinate.name) if coordinate.turns else coordinate.name

    @cached_property
    def ratios(self) -> Mapping[str, int]:
        """How far each mover goes, in smallest whole numbers, along its fixed positive sense.

        The rim of a turning pulley counts too, under ``rim(pulley)``. Empty where the strings
        don't tie every mover to every other one.
        """
        coordinates = self.layout.coordinates
        found = self._solved()
        if not found or 0 in found:
            return {}
        scale = math.lcm(*(value.denominator for value in found))
        common = math.gcd(*(int(value * scale) for value in found))
        names: dict[str, int] = {}
        for at, coordinate in enumerate(coordinates):
            ratio = int(found[at] * scale) // common
            for name in (rim(coordinate.name),) if coordinate.turns else coordinate.members:
                names[name] = ratio
        return names

    def _solved(self) -> list[Fraction]:
        """The motion of each coordinate when that of the chosen mover is 1; [] where it is open."""
        size = len(self.layout.coordinates)
        rows = [
            [Fraction(span.stretch.get(at, 0)) for at in range(size)] + [Fraction(0)]
            for index, span in enumerate(self.layout.spans)
            if index in self.taut
        ]
        chosen = [Fraction(at == self.layout.of_object[self.chosen]) for at in range(size)]
        return eliminated([*rows, [*chosen, Fraction(1)]], size)

    @cached_property
    def reference(self) -> str:
        """The mover whose acceleration is ``a``: the run's object, or one that goes less far."""
        if not self.ratios:
            return self.chosen
        slowest = min(abs(self.ratios[name]) for name in self.movers)
        if abs(self.ratios[self.chosen]) == slowest:
            return self.chosen
        return next(name for name in self.movers if abs(self.ratios[name]) == slowest)

    def ratio(self, name: str) -> Fraction:
        """How far a mover goes along its own way for one of the reference mover."""
        return Fraction(abs(self.ratios[name]), abs(self.ratios[self.reference]))

    def rim_ratio(self, pulley: str) -> int:
        """How far the string runs over a pulley, relative to its axle, in units of ``ratios``."""
        return self.ratios[rim(pulley)]

    def rim(self, pulley: str) -> Fraction:
        """The same for one of the reference mover, as a size."""
        return Fraction(abs(self.rim_ratio(pulley)), abs(self.ratios[self.reference]))


def eliminated(rows: list[list[Fraction]], size: int) -> list[Fraction]:
    """The one solution of linear equations (right sides last); [] where there isn't just one."""
    rows = [list(row) for row in rows]
    for column in range(size):
        pivot = next((row for row in rows[column:] if row[column]), None)
        if pivot is None:
            return []
        rows.remove(pivot)
        pivot = [value / pivot[column] for value in pivot]
        rows = [[a - row[column] * b for a, b in zip(row, pivot, strict=True)] for row in rows]
        rows.insert(column, pivot)
    return [] if any(row[size] for row in rows[size:]) else [row[size] for row in rows[:size]]


def rim(pulley: str) -> str:
    """The name under which the rim of a turning pulley stands among the ratios."""
    return f"rim of {pulley}"
