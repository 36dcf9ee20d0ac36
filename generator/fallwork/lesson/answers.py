"""Which numbers come out of a lesson: right results, slips, what somebody's number may be, and what
follows from one, right or wrong, for marking what comes after.

Takes a lesson with numbers; gives results and slips, each with the step that works it out.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from decimal import Decimal
from math import floor, log10

from fallwork.lesson.document import Equation, Lesson, Slip, Step
from fallwork.lesson.expression import SCALE, Expression, Symbol, evaluate, symbols_in

_ENOUGH = 3  # digits with which a number is recognised although its point stands elsewhere


@dataclass(frozen=True, kw_only=True)
class Found:
    """A number that comes up: a right result, or what a slip gives."""

    of: Symbol  # the quantity
    value: float  # in its unit
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


def tolerance(figures: int) -> float:
    """How far off a result is accepted, relatively: it allows for rounding on the way.

    One unit in the last figure but one of a number that starts with 1; common practice.
    """
    return float(10 ** (1 - figures))


def _equations(lesson: Lesson) -> Iterator[tuple[Step, Symbol, Equation]]:
    """Every equation that gives a value, with its step and what it gives, as the page has them."""
    for step in lesson.steps:
        for each in step.equations:
            if each.result and each.result.value is not None:
                yield step, each.result, each


def results(lesson: Lesson) -> tuple[Found, ...]:
    """Every quantity that an equation of the lesson works out, at the first step that does."""
    found: dict[str, Found] = {}
    for step, symbol, _ in _equations(lesson):
        if not (symbol.given or symbol.aside):
            found.setdefault(symbol.id, Found(of=symbol, value=symbol.value or 0.0, step=step))
    return tuple(found.values())


def slips(lesson: Lesson) -> tuple[Found, ...]:
    """Every slip that gives a number, in the order of the steps."""
    every = ((step, slip) for step in lesson.steps for slip in step.slips)
    return tuple(
        Found(of=slip.of, value=slip.value, step=step, slip=slip)
        for step, slip in every
        if slip.value is not None
    )


@dataclass(frozen=True, kw_only=True)
class Match:
    """A number that somebody brings, recognised."""

    found: Found
    exact: bool  # it reads as the recognised one to all of its digits
    close: bool  # it is at most one unit of its last digit away from it
    off: float  # relative difference in size
    other_sign: bool  # it has the sign that the recognised one hasn't
    power: int  # it is so many powers of ten too large: a unit that was taken for another

    @property
    def rank(self) -> tuple[float, ...]:
        """The less, the likelier."""
        slipped = self.found.slip is not None
        return self.other_sign, not self.exact, not self.close, slipped, self.off


def matches(lesson: Lesson, number: str, figures: int) -> tuple[Match, ...]:
    """What a number may be, the likeliest first; ``number`` is plain digits in the SI unit.

    A result counts as met within its tolerance, a slip within half of that; but what reads as the
    number to all of its digits comes first, then what is a unit of the last one away at most. Where
    nothing is met, so is what has these digits with the point elsewhere.
    """
    ours = [*results(lesson), *slips(lesson)]
    for powers in ((0,), (-3, -2, 2, 3)):
        tried = (_met(found, number, power, figures) for found in ours for power in powers)
        if met := [match for match in tried if match is not None]:
            return tuple(sorted(met, key=lambda match: match.rank))
    return ()


def _met(found: Found, number: str, power: int, figures: int) -> Match | None:
    expected = found.value * 10.0**power
    if not expected:
        return None
    digits = Decimal(number)
    known = len(digits.as_tuple().digits)
    unit = 10 ** Decimal(int(digits.as_tuple().exponent))  # of the last written digit
    away = abs(abs(Decimal(repr(expected))) - abs(digits))
    exact, close = (known >= 2 and away <= Decimal(units) * unit for units in (0.5, 1.0))
    off = abs(abs(float(number)) - abs(expected)) / abs(expected)
    near = off <= found.tolerance(figures) / (1 if found.slip is None else 2)
    other = (float(number) < 0) != (expected < 0)
    if (not exact and (power or other or not near)) or (power and known < _ENOUGH):
        return None
    return Match(found=found, exact=exact, close=close, off=off, other_sign=other, power=power)


@dataclass(frozen=True, kw_only=True)
class Following:
    """An equation that gives something else from values that somebody has found."""

    of: Symbol
    value: float  # in the symbol's unit
    instead_of: float
    formula: Expression
    step: Step


def following(lesson: Lesson, given: Mapping[str, float]) -> Iterator[Following]:
    """Every equation that changes, in the order of the steps; ``given`` in the symbols' units.

    A quantity is carried on with what the first equation gives for it, a given one with its given
    value; where another equation gives something else, both are told. An equation that has no
    solution with these values (the root of a negative number) gives nothing to carry on.
    """
    values = dict(given)
    settled = set(given)  # what is carried on as it is
    for step, left, equation in _equations(lesson):
        last = equation.last
        if left.id not in given and any(symbol.id in values for symbol in symbols_in(last)):
            try:
                value = evaluate(last, values) / SCALE.get(left.unit, 1.0)
            except (ValueError, ZeroDivisionError, OverflowError):
                continue
            before = left.value or 0.0
            yield Following(of=left, value=value, instead_of=before, formula=last, step=step)
            if left.id not in settled and not left.given:
                values[left.id] = value
        settled.add(left.id)
