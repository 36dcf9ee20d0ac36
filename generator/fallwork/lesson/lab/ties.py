"""How far everything goes for one of a chosen mover, where taut strings settle that.

Takes the rigging and which of its spans are taut; gives whole numbers.
"""

import math
from collections.abc import Mapping, Set
from dataclasses import dataclass
from fractions import Fraction

from fallwork.mechanics import Rigging
from fallwork.mechanics.binding import bonds


@dataclass(frozen=True, kw_only=True)
class Stretch:
    """Part of a string. ``objects`` are those that it meets, both ends included."""

    string: str
    objects: tuple[str, ...]
    tension: float | None  # N; None where the apparatus doesn't determine it
    key: str  # lasting name, e.g. "tension.string" or "tension.string.1"


def rim(pulley: str) -> str:
    """The name under which the rim of a turning pulley stands among the ratios."""
    return f"rim of {pulley}"


def named(rigging: Rigging, at: int) -> str:
    """What moves along a coordinate; of a turning pulley its rim."""
    coordinate = rigging.coordinates[at]
    return rim(coordinate.name) if coordinate.turns else coordinate.name


def ratios_of(rigging: Rigging, taut: Set[int], chosen: str) -> Mapping[str, int]:
    """How far each mover goes, in smallest whole numbers, along its fixed positive sense.

    The rim of a turning pulley counts too, under ``rim(pulley)``. Empty where the strings don't tie
    every mover to every other one.
    """
    found = _solved(rigging, taut, rigging.of_object[chosen])
    if not found or 0 in found:
        return {}
    scale = math.lcm(*(value.denominator for value in found))
    common = math.gcd(*(int(value * scale) for value in found))
    names: dict[str, int] = {}
    for coordinate, value in zip(rigging.coordinates, found, strict=True):
        own = (rim(coordinate.name),) if coordinate.turns else coordinate.members
        names |= dict.fromkeys(own, int(value * scale) // common)
    return names


def _solved(rigging: Rigging, taut: Set[int], chosen: int) -> list[Fraction]:
    """The motion of each coordinate when that of the chosen one is 1; [] where it is open."""
    size = len(rigging.coordinates)
    order = [*(at for at in range(size) if at != chosen), chosen]
    found = bonds(rigging.stretch_matrix()[sorted(taut)][:, order])
    if [column for column, _ in found] != list(range(size - 1)):
        return []  # something isn't bound to the chosen mover, or that can't move
    motions = {order[column]: factors[-1] for column, factors in found}
    return [motions.get(at, Fraction(1)) for at in range(size)]
