"""How taut strings tie the motions of a set-up together.

Takes the rigging and which strings are taut; gives how far everything goes for one of a reference
mover, in whole numbers, where the strings settle that.
"""

import math
from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction
from functools import cached_property

from fallwork.mechanics import Rigging
from fallwork.mechanics.binding import bonds


@dataclass(frozen=True, kw_only=True)
class Ties:
    """``movers`` in the order of the file; ``chosen`` is the run's object."""

    rigging: Rigging
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
            for at, factor in self.rigging.spans[span].stretch.items():
                total[at] = total.get(at, 0) + factor
        return {self._named(at): factor for at, factor in total.items() if factor}

    def spans(self, string: str) -> tuple[Mapping[str, int], ...]:
        """The same for each stretch of a string between pulleys that take a torque to turn."""
        return tuple(
            {self._named(at): k for at, k in self.rigging.spans[span].stretch.items()}
            for span in self._taut_spans(string)
        )

    def _taut_spans(self, string: str) -> list[int]:
        return [span for span in self.rigging.strings[string].spans if span in self.taut]

    def _named(self, at: int) -> str:
        coordinate = self.rigging.coordinates[at]
        return rim(coordinate.name) if coordinate.turns else coordinate.name

    @cached_property
    def ratios(self) -> Mapping[str, int]:
        """How far each mover goes, in smallest whole numbers, along its fixed positive sense.

        The rim of a turning pulley counts too, under ``rim(pulley)``. Empty where the strings
        don't tie every mover to every other one.
        """
        coordinates = self.rigging.coordinates
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
        size, chosen = len(self.rigging.coordinates), self.rigging.of_object[self.chosen]
        order = [*(at for at in range(size) if at != chosen), chosen]
        found = bonds(self.rigging.stretch_matrix()[sorted(self.taut)][:, order])
        if [column for column, _ in found] != list(range(size - 1)):
            return []  # something isn't bound to the chosen mover, or that can't move
        motions = {order[column]: factors[-1] for column, factors in found}
        return [motions.get(at, Fraction(1)) for at in range(size)]

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


def rim(pulley: str) -> str:
    """The name under which the rim of a turning pulley stands among the ratios."""
    return f"rim of {pulley}"


@dataclass(frozen=True, kw_only=True)
class Stretch:
    """Part of a string. ``objects`` are those that it meets, both ends included."""

    string: str
    objects: tuple[str, ...]
    tension: float | None  # N; None where the apparatus doesn't determine it
    key: str  # lasting name, e.g. "tension.string" or "tension.string.1"
