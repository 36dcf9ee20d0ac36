"""What somebody typed on the command line: an amount, a moment, the name of a quantity.

Takes text; gives digits in SI, exactly, with their unit; an aware datetime; symbols of a lesson.
"""

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from decimal import Decimal
from zoneinfo import ZoneInfo

from fallwork.errors import FallworkError
from fallwork.lesson.expression import Symbol
from fallwork.lesson.plain import plain
from fallwork.scenario.dates import iso_moment
from fallwork.scenario.quantity import LARGEST_EXPONENT
from fallwork.scenario.report import listed, meant, shown
from fallwork.scenario.units import kinds, kinds_of_unit


@dataclass(eq=False)
class AmountFormatError(FallworkError):
    """A text that is no number, with or without a unit, or not the one that was wanted."""

    found: str
    remedy: str

    def __str__(self) -> str:
        return f"{self.found}; {self.remedy}"


@dataclass(frozen=True, kw_only=True)
class Amount:
    """A number as typed, in SI."""

    number: str  # plain digits, e.g. "-0.890"
    unit: str  # SI, e.g. "m/s²"; "" where none was typed

    @property
    def value(self) -> float:
        """The number as a float."""
        return float(self.number)


_FORM = re.compile(r"\s*([+\-−]?\d+(?:[.,]\d+)?(?:[eE][+\-−]?\d+)?)\s*(.*?)\s*")


def read_amount(text: str) -> Amount:
    """The amount that a text gives; raises AmountFormatError."""
    found = _FORM.fullmatch(text)
    if not found:
        raise AmountFormatError(
            f"{shown(text)} is no value", "write for example 0.89, or with its unit 0.89 N"
        )
    number = Decimal(found[1].replace("−", "-").replace(",", "."))
    if number and abs(number.adjusted()) > LARGEST_EXPONENT:
        raise AmountFormatError(
            f"the number {shown(found[1])}", f"its exponent is at most {LARGEST_EXPONENT}"
        )
    unit = found[2]
    if not unit:
        return Amount(number=format(number, "f"), unit="")
    for kind in kinds_of_unit(unit):
        factor = kind.factors[kind.spelling(unit) or ""]
        if factor is not None:
            return Amount(number=format(number * factor, "f"), unit=kind.si_unit)
    units = [word for kind in kinds().values() for word in kind.factors if word]
    near = meant(unit, units, f"the units are {listed(dict.fromkeys(units))}")
    raise AmountFormatError(f"unknown unit {shown(unit)}", near)


@dataclass(eq=False)
class TimeFormatError(FallworkError):
    """A text that is no date or time."""

    text: str

    def __str__(self) -> str:
        return (
            f'"{self.text}" is no time of a course; write for example 2027-02-15 or '
            "2027-02-15T08:00 (in the course's time zone, unless it says another)"
        )


def read_moment(text: str | None, zone: ZoneInfo) -> datetime:
    """The moment that ``text`` names; a date is its first moment; None is now."""
    if text is None:
        return datetime.now(UTC)
    try:
        return iso_moment(text, zone)
    except ValueError:
        raise TimeFormatError(text) from None


@dataclass(eq=False)
class UnknownQuantityError(FallworkError):
    """A name that stands for no quantity of the lesson, or for several."""

    name: str
    known: Sequence[Symbol]
    several: bool

    def __str__(self) -> str:
        all_ = "; ".join(f"{symbol.id} ({symbol.meaning})" for symbol in self.known)
        if self.several:
            return f"{shown(self.name)} may be several quantities; write one of {all_}"
        words = [each for symbol in self.known for each in (symbol.id, symbol.meaning)]
        hint = meant(self.name, words, f"there is {all_}")
        return f"no quantity is called {shown(self.name)}; {hint}"


def named_by(name: str, symbols: Iterable[Symbol]) -> tuple[Symbol, ...]:
    """The symbols that a name may mean, the closest kind of match alone: id, sign, words."""
    known = tuple(symbols)
    words = " ".join(name.lower().split())
    for fits in (
        lambda symbol: symbol.id.lower() == words,
        lambda symbol: plain(symbol) == name.strip(),
        lambda symbol: symbol.id.lower().partition(".")[0] == words.replace(" ", "-"),
        lambda symbol: symbol.meaning.lower().startswith(words),
        lambda symbol: words in symbol.meaning.lower(),
    ):
        found = tuple(symbol for symbol in known if fits(symbol))
        if found:
            return found
    return ()
