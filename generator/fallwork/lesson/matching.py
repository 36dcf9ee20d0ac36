"""What somebody's number may be: right, of a slip, or what comes of two things.

Takes the numbers that come up and digits as typed; gives those that it may be, the likeliest first.
What works a lesson out isn't imported here.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal
from math import floor, log10
from typing import Any

from fallwork.lesson.document import Slip, Step
from fallwork.lesson.expression import Symbol

_ENOUGH = 3  # digits that say something about a number by chance among many, or with another point
_FAR = 0.06  # relative; more than half a unit of the last digit of any two digits
_FEW = 3  # numbers that come of two things, of all that have the same digits


def tolerance(figures: int) -> float:
    """How far off a result is accepted, relatively: it allows for rounding on the way.

    One unit in the last figure but one of a number that starts with 1; common practice.
    """
    return float(10 ** (1 - figures))


@dataclass(frozen=True, kw_only=True)
class Found:
    """A number that comes up: right, of a slip, or of either with an ``earlier`` slip's value."""

    of: Symbol  # the quantity
    value: float  # in its unit
    step: Step
    slip: Slip | None = None  # None: it is right, or follows rightly from the earlier one
    earlier: "Found | None" = None
    formula: Any = None  # from which it follows, where somebody's value is followed
    numbers: tuple[str, ...] = ()  # whose it is, in words, where it is of other numbers

    @property
    def what(self) -> tuple[str, str]:
        """The quantity and the slip, by their ids."""
        return self.of.id, self.slip.id if self.slip else ""

    @property
    def depth(self) -> int:
        """The less, the likelier: right, a slip, what follows from one, a slip on top of one; other
        numbers count as a slip.
        """
        return 2 * (self.earlier is not None) + (self.slip is not None) + bool(self.numbers)

    def figures(self, otherwise: int) -> int:
        """Significant figures to which a result is known: those of a course's results at most."""
        own = self.of.figures if self.slip is None else None
        return otherwise if own is None else min(own, otherwise)

    def tolerance(self, figures: int) -> float:
        """How far off it is accepted, relatively: as ``tolerance``, and by its own last figure."""
        if self.slip is not None or not self.value:
            return tolerance(figures)
        last = 10.0 ** (floor(log10(abs(self.value))) + 1 - self.figures(figures))
        return max(tolerance(figures), max(last, self.of.place) / abs(self.value))


@dataclass(frozen=True)
class Match:
    """A number that somebody brings, recognised."""

    found: Found
    exact: bool  # it reads as the recognised one to all of its digits
    close: bool  # it is at most one unit of its last digit away from it
    filled: bool  # so if the zeros at its end only hold the place of digits
    off: float  # relative difference in size
    other_sign: bool  # it has the sign that the recognised one hasn't
    power: int  # it is so many powers of ten too large: a unit that was taken for another

    @property
    def rank(self) -> tuple[float, ...]:
        """The less, the likelier; what has the same digits stays in the order of the lesson."""
        depth, off = self.found.depth, 0.0 if self.exact else self.off
        doubts = (self.other_sign, not self.exact, not self.close)
        return depth > 1, *doubts, depth, self.filled, off


def matches(known: Iterable[Found], number: str, figures: int, zeros: int = 0) -> tuple[Match, ...]:
    """What a number may be of those that are ``known``, the likeliest first; ``number`` is digits
    in the SI unit, perhaps with a power of ten; so many ``zeros`` at the end may only hold a place.

    A result counts as met within its tolerance, a slip within half of that; but what reads as the
    number to all of its digits comes first, then what is a unit of the last one away at most. Where
    nothing is met, so is what has these digits with the point elsewhere. Last, unless it is a
    right one and from three digits on, come a few that come of two things; what follows from a slip
    may be a unit away. Other numbers are told with three digits where the lab's own aren't right.
    """
    ours = tuple(known)
    for powers in ((0,), (-3, -2, 2, 3)):
        tried = (_met(found, number, zeros, power, figures) for found in ours for power in powers)
        if met := sorted(filter(None, tried), key=lambda match: match.rank):
            own = {m.found.what for m in met if m.exact and not m.found.numbers}
            told = (own.isdisjoint({m.found.what, (m.found.of.id, "")}) for m in met)
            met = [m for m, other in zip(met, told, strict=True) if other or not m.found.numbers]
            few = 0 if met[0].found.depth == 0 and met[0].exact and not met[0].power else _FEW
            likely = sum(match.found.depth < 2 for match in met)
            return tuple(met[: likely + few])
    return ()


def _met(found: Found, number: str, zeros: int, power: int, figures: int) -> Match | None:
    expected = found.value * 10.0**power
    if not expected:
        return None
    off = abs(abs(float(number)) - abs(expected)) / abs(expected)
    near = off <= found.tolerance(figures) / (1 if found.slip is None else 2)
    if off > _FAR and not near:
        return None
    two = found.depth > 1 or bool(found.numbers)
    digits, least = Decimal(number), _ENOUGH if power or two else 2
    known = len(digits.as_tuple().digits)
    unit = 10 ** Decimal(int(digits.as_tuple().exponent))  # of the last written digit
    away = abs(abs(Decimal(repr(expected))) - abs(digits))
    exact, close = (known >= least and away <= Decimal(units) * unit for units in (0.5, 1.0))
    places = 10 ** max(0, min(zeros, known - least))
    filled = not exact and known >= least and away <= places * unit / 2
    other = (float(number) < 0) != (expected < 0)
    if power or other:
        kept = (exact or filled) and not two
    else:
        follows = close and found.slip is None and not found.numbers
        kept = exact or filled or (follows if two else near)
    if not kept:
        return None
    return Match(found, exact or filled, close or filled, filled, off, other, power)
