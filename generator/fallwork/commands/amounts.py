"""Reads an amount that somebody typed: digits, perhaps a sign, perhaps a unit.

Takes text; gives the digits in SI, exactly, and the SI unit.
"""

import re
from dataclasses import dataclass
from decimal import Decimal

from fallwork.errors import FallworkError
from fallwork.scenario.quantity import LARGEST_EXPONENT
from fallwork.scenario.report import listed, meant, shown
from fallwork.scenario.units import kinds, kinds_of_unit


class AmountFormatError(FallworkError):
    """A text that is no number, with or without a unit, or not the one that was wanted."""

    def __init__(self, found: str, remedy: str) -> None:
        super().__init__(found, remedy)
        self.found = found
        self.remedy = remedy

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
