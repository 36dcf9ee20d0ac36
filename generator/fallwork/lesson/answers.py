"""Which numbers come out of a lesson: right results, slips, and what somebody's number may be.

Takes a lesson with numbers; gives results and slips, each with the step that works it out, and
finds a number that somebody brings among them.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal
from math import floor, log10

from fallwork.lesson.document import Equation, Lesson, Slip, Step, Working
from fallwork.lesson.expression import Ref, Symbol


@dataclass(frozen=True, kw_only=True)
class Found:
    """A number that comes up: a right result, or what a slip gives."""

    of: Symbol  # the quantity
    value: float  # in the unit below
    unit: str
    step: Step
    slip: Slip | None = None  # None: it is right

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


def results(lesson: Lesson) -> tuple[Found, ...]:
    """Every quantity that an equation of the lesson works out, at the first step that does."""
    found: dict[str, Found] = {}
    for step, equation in equations(lesson):
        left = equation.left
        symbol = left.symbol if isinstance(left, Ref) else None
        if symbol and symbol.value is not None and not (symbol.given or symbol.aside):
            one = Found(of=symbol, value=symbol.value, unit=symbol.unit, step=step)
            found.setdefault(symbol.id, one)
    return tuple(found.values())


def equations(lesson: Lesson) -> Iterator[tuple[Step, Equation]]:
    """Every equation with numbers, with its step, in the order of the page."""
    for step in lesson.steps:
        for content in (*step.blocks, *step.check):
            if isinstance(content, Working):
                yield from ((step, each) for each in content.equations if each.numbers)


def slips(lesson: Lesson) -> tuple[Found, ...]:
    """Every slip that gives a number, in the order of the steps."""
    return tuple(
        Found(of=slip.of, value=slip.value, unit=slip.unit, step=step, slip=slip)
        for step in lesson.steps
        for slip in step.slips
        if slip.value is not None
    )


def tolerance(figures: int) -> float:
    """How far off a result is accepted, relatively: it allows for rounding on the way.

    One unit in the last figure but one of a number that starts with 1; common practice.
    """
    return float(10 ** (1 - figures))


@dataclass(frozen=True, kw_only=True)
class Match:
    """A number that somebody brings, recognised."""

    found: Found
    exact: bool  # it reads as the recognised one to all of its digits
    close: bool  # it is at most one unit of its last digit away from it
    off: float  # relative difference in size
    other_sign: bool  # it has the sign that the recognised one hasn't
    power: int  # it is so many powers of ten too large: a unit that was taken for another


def matches(lesson: Lesson, number: str, figures: int) -> tuple[Match, ...]:
    """What a number may be, the likeliest first; ``number`` is plain digits in the SI unit.

    A result counts as met within its tolerance, a slip within half of that; but what reads as the
    number to all of its digits comes first, then what is a unit of the last one away at most. Where
    nothing is met, so is what has these digits with the point elsewhere.
    """
    value = float(number)
    ours = [*results(lesson), *slips(lesson)]
    met = [match for found in ours if (match := _met(found, number, value, 0, figures))]
    shifted = [
        match
        for found in ours
        for power in (-3, -2, 2, 3)
        if (match := _met(found, number, value, power, figures))
    ]
    return (*sorted(met, key=_rank), *(sorted(shifted, key=_rank) if not met else ()))


def _rank(match: Match) -> tuple[bool, bool, bool, bool, float]:
    slipped = match.found.slip is not None
    return match.other_sign, not match.exact, not match.close, slipped, match.off


def _met(found: Found, number: str, value: float, power: int, figures: int) -> Match | None:
    expected = found.value * 10.0**power
    if not expected:
        return None
    off = abs(abs(value) - abs(expected)) / abs(expected)
    near = off <= found.tolerance(figures) / (1 if found.slip is None else 2)
    exact, close = (_reads_as(expected, number, units) for units in (0.5, 1.0))
    other = (value < 0) != (expected < 0)
    if not exact and (power or other or not near):
        return None
    if power and len(Decimal(number).as_tuple().digits) < _ENOUGH:
        return None
    return Match(found=found, exact=exact, close=close, off=off, other_sign=other, power=power)


_ENOUGH = 3  # digits with which a number is recognised although its point stands elsewhere


def _reads_as(expected: float, number: str, units: float) -> bool:
    """Whether a value is so many units of the last written digit away at most, of two or more."""
    digits = Decimal(number)
    if len(digits.as_tuple().digits) < 2:
        return False
    unit = Decimal(1).scaleb(int(digits.as_tuple().exponent))
    off = abs(abs(Decimal(repr(expected))) - abs(digits))
    return off <= Decimal(units) * unit
