"""What somebody typed on the command line: an amount, a moment, the name of a quantity.

Takes text; gives digits in SI, exactly, with their unit; an aware datetime; symbols of a lesson.
"""

import re
from collections.abc import Iterable, Sequence
from datetime import UTC, datetime
from decimal import Decimal
from typing import NamedTuple
from zoneinfo import ZoneInfo

from fallwork.errors import FallworkError, said
from fallwork.lesson.expression import Symbol
from fallwork.lesson.latex import plain
from fallwork.scenario.dates import iso_moment
from fallwork.scenario.quantity import LARGEST_EXPONENT, kinds, kinds_of_unit
from fallwork.scenario.report import listed, meant, shown

_AMOUNT = re.compile(r"\s*([+\-−]?\d+(?:[.,]\d+)?(?:[eE][+\-−]?\d+)?)\s*(.*?)\s*")


class CallError(FallworkError):
    """A call that can't be followed, for a reason in ``refused.yaml``."""

    def __init__(self, reason: str, **names: object) -> None:
        super().__init__(said("commands", reason, **names))


class Amount(NamedTuple):
    """A number as typed, in SI."""

    number: str  # plain digits, e.g. "-0.890"
    unit: str  # SI, e.g. "m/s²"; "" where none was typed

    @property
    def value(self) -> float:
        """The number as a float."""
        return float(self.number)


def read_amount(text: str) -> Amount:
    """The amount that a text gives; raises CallError."""
    found = _AMOUNT.fullmatch(text)
    if not found:
        raise CallError("no-value", text=shown(text))
    number = Decimal(found[1].replace("−", "-").replace(",", "."))
    if number and abs(number.adjusted()) > LARGEST_EXPONENT:
        raise CallError("exponent", number=shown(found[1]), largest=LARGEST_EXPONENT)
    unit = found[2]
    if not unit:
        return Amount(format(number, "f"), "")
    for kind in kinds_of_unit(unit):
        factor = kind.factors[kind.spelling(unit) or ""]
        if factor is not None:
            return Amount(format(number * factor, "f"), kind.si_unit)
    units = [word for kind in kinds().values() for word in kind.factors if word]
    hint = meant(unit, units, f"the units are {listed(dict.fromkeys(units))}")
    raise CallError("no-unit", unit=shown(unit), hint=hint)


def read_moment(text: str | None, zone: ZoneInfo) -> datetime:
    """The moment that ``text`` names; a date is its first moment; None is now."""
    if text is None:
        return datetime.now(UTC)
    try:
        return iso_moment(text, zone)
    except ValueError:
        raise CallError("no-moment", text=text) from None


def named_by(name: str, symbols: Iterable[Symbol], *, one: bool = False) -> Sequence[Symbol]:
    """The symbols that a name may mean, the closest kind of match alone: id, sign, words; at least
    ``one``, and then only one. Raises CallError.
    """
    known, words = tuple(symbols), " ".join(name.lower().split())
    for fits in (
        lambda symbol: symbol.id.lower() == words,
        lambda symbol: plain(symbol) == name.strip(),
        lambda symbol: symbol.id.lower().partition(".")[0] == words.replace(" ", "-"),
        lambda symbol: symbol.meaning.lower().startswith(words),
        lambda symbol: words in symbol.meaning.lower(),
    ):
        found = [symbol for symbol in known if fits(symbol)]
        if len(found) > 1 and one:
            raise CallError("several", name=shown(name.strip()), every=_every(found))
        if found:
            return found
    spelt = [each for symbol in known for each in (symbol.id, symbol.meaning)]
    hint = meant(name.strip(), spelt, f"there is {_every(known)}")
    raise CallError("no-quantity", name=shown(name.strip()), hint=hint)


def _every(symbols: Iterable[Symbol]) -> str:
    return "; ".join(f"{symbol.id} ({symbol.meaning})" for symbol in symbols)
