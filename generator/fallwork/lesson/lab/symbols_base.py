"""What all symbols have in common: values only where the lesson has numbers, subscripts by rule.

Takes a setting; gives symbols to the modules beside this one.
"""

from collections.abc import Callable, Sequence
from dataclasses import replace
from math import degrees

from fallwork.lesson.expression import Symbol
from fallwork.lesson.lab.setup import Setup
from fallwork.lesson.words import listing
from fallwork.scenario.model import Quantity
from fallwork.scenario.quantity import in_si


class SymbolMaker(Setup):
    """Makes symbols of one setting."""

    def subscript(self, name: str) -> str:
        """What stands for an object or surface in subscripts."""
        return self.marks[name]

    def where_several(self, name: str, peers: Sequence[str], mark: str = "") -> str:
        """The mark, and behind it the object's own subscript where there are others like it."""
        own = self.subscript(name) if len(peers) > 1 else ""
        return ",".join(part for part in (mark, own) if part)

    def given(
        self, key: str, letter: str, meaning: str, quantity: Quantity | None, subscript: str = ""
    ) -> Symbol:
        """A value of the scenario file, with the digits of its author in SI units."""
        if quantity is None:
            raise LookupError(key)
        digits, unit = in_si(quantity)
        unit = {"deg": "°"}.get(unit, unit).replace(" ", "·")
        numbers = self.numbers
        value = round(degrees(quantity.value), 9) if unit == "°" else quantity.value
        return Symbol(
            id=key,
            letter=letter,
            subscript=subscript,
            meaning=meaning,
            unit=unit,
            value=value if numbers else None,
            written=digits if numbers else "",
            given=True,
        )

    def computed(
        self,
        key: str,
        letter: str,
        meaning: str,
        unit: str,
        value: Callable[[], float | None],
        subscript: str = "",
    ) -> Symbol:
        """A value of the solution; later parts of a run have symbols with the part's number."""
        part = "" if self.index == 0 else str(self.part)
        mark = self.part_mark if part else ""
        when = f"in part {mark} of the run"
        if self.landed:
            part, mark, when = "after", "after", "after the landing"
        return Symbol(
            id=f"{key}@{part}" if part else key,
            letter=letter,
            subscript=",".join(each for each in (subscript, mark) if each),
            meaning=f"{meaning}, {when}" if part else meaning,
            unit=unit,
            value=value() if self.numbers else None,
        )

    def lasting(
        self,
        key: str,
        letter: str,
        meaning: str,
        unit: str,
        value: Callable[[], float | None],
        subscript: str = "",
    ) -> Symbol:
        """A computed value that is the same in every part of a run."""
        number = value() if self.numbers else None
        return Symbol(
            id=key, letter=letter, subscript=subscript, meaning=meaning, unit=unit, value=number
        )

    def all_of(self, names: Sequence[str]) -> str:
        """``the cart, of the pulley and of the weight``: what follows on "speed of"."""
        first, *others = map(self.the, names)
        return listing([first, *(f"of {other}" for other in others)])


def positive(symbol: Symbol) -> Symbol:
    """The same symbol with the size of its value: its direction is said in words."""
    value = None if symbol.value is None else abs(symbol.value)
    return replace(symbol, value=value, written=symbol.written.lstrip("-"))


def renamed(symbol: Symbol, subscript: str) -> Symbol:
    """The same symbol with another subscript."""
    return replace(symbol, subscript=subscript)
