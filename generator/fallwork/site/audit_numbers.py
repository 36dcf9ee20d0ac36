"""Numbers in text: where one stands, in which unit, and whether it is the writing of a value.

Takes text without markup; gives what was read. Knows no files and no pages.
"""

import re
import unicodedata
from bisect import bisect_left
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path

import yaml

_UNITS = Path(__file__).with_name("audit_units.yaml")
_BARE_FIGURES = 3  # a number without its unit says something from here on
_UNIT_FIGURES = 2  # with its unit, from here on
_IN_G_FIGURES = 3  # "0.10 g" is more often a mass
_MANY_FIGURES = 4  # from here on a bare number may be in any unit
_SUPERSCRIPTS = str.maketrans("⁰¹²³⁴⁵⁶⁷⁸⁹⁻⁺", "0123456789-+")
_RAISED = re.compile("[⁻⁺]?[⁰¹²³⁴⁵⁶⁷⁸⁹]+")
_INVISIBLE = re.compile("[\u00ad\u200b-\u200f\u2060\ufeff]")
_GROUPING = re.compile(r"(?<=\d)(?:[\u2009\u202f\u200a]|\\,)(?=\d)")
_SPACING = re.compile(r"\\(?:mathrm|text|mathsf|operatorname|boxed|underline)\b|\\[,;:! ]|[{}~$]")
_DATE = re.compile(r"\b\d{4}-\d{2}-\d{2}(?:[T ]\d{2}:?\d{2}(?::?\d{2})?)?")
_NUMBER = re.compile(
    r"(?<![\d.,])(?P<digits>\d+[.,]\d+|[.,]\d+|\d+)(?![.,]?\d)"
    r"(?:\s*(?:×|x|\*|·|\\times|\\cdot)\s*10\s*\^\s*(?P<power>[-+]?\d)(?!\d)|[eE](?P<e>[-+]?\d{1,2})(?!\w))?"
)


@dataclass(frozen=True, kw_only=True)
class Reading:
    """A number as it stands in a text."""

    text: str  # with its unit
    digits: str  # as written, without sign and power, with a decimal point
    value: float  # in the unit that is written, without sign
    half: float  # half a unit of the last digit
    figures: int
    units: Mapping[str, float] | None  # SI unit -> factor; None: no unit stands there


@dataclass(frozen=True, kw_only=True)
class Value:
    """What a number may be a writing of; in SI units, without sign."""

    value: float
    unit: str


def readings(text: str) -> Iterator[Reading]:
    """Every number of a text with at least two figures."""
    plain = _plain(text)
    for match in _NUMBER.finditer(plain):
        digits = match["digits"].replace(",", ".")
        figures = len(digits.replace(".", "").lstrip("0"))
        if figures < _UNIT_FIGURES:
            continue
        scale = 10.0 ** int(match["power"] or match["e"] or 0)
        decimals = len(digits.partition(".")[2])
        unit = _unit_pattern().match(plain, match.end())
        units = _units()[_key(unit["unit"])] if unit else None
        if units is None and ("." not in digits or figures < _BARE_FIGURES):
            continue
        yield Reading(
            text=plain[match.start() : (unit or match).end()].strip(),
            digits=digits,
            value=float(digits) * scale,
            half=0.5 * 10.0**-decimals * scale,
            figures=figures,
            units=units,
        )


class Table:
    """Values, ordered so that those which a number may mean are found fast."""

    def __init__(self, values: Iterable[Value]) -> None:
        self._rows: dict[str, list[tuple[float, int]]] = {}
        for index, value in enumerate(values):
            self._rows.setdefault(value.unit, []).append((abs(value.value), index))
        for rows in self._rows.values():
            rows.sort()

    def meant(self, reading: Reading) -> Sequence[int]:
        """The places, among the values given, of those that the number may be a writing of."""
        found: list[int] = []
        for unit, factor in self._ways(reading):
            if unit in self._rows:
                found += self._between(self._rows[unit], reading, factor)
        return sorted(set(found))

    def _ways(self, reading: Reading) -> Iterator[tuple[str, float]]:
        if reading.units is not None:
            in_g = len(reading.units) > 1 and "kg" in reading.units
            for unit, factor in reading.units.items():
                if unit == "kg" or not in_g or reading.figures >= _IN_G_FIGURES:
                    yield unit, factor
            return
        for unit in self._rows:
            factors = _factors().get(unit, (1.0,)) if reading.figures >= _MANY_FIGURES else (1.0,)
            for factor in factors:
                yield unit, factor

    @staticmethod
    def _between(rows: list[tuple[float, int]], reading: Reading, factor: float) -> Iterator[int]:
        value = reading.value * factor
        reach = max(reading.half * factor, 1e-9 * value) * (1 + 1e-9)
        for at in range(bisect_left(rows, (value - reach, -1)), len(rows)):
            if rows[at][0] > value + reach:
                return
            yield rows[at][1]


def _plain(text: str) -> str:
    """One way to write raised digits, spaces, minus signs; nothing invisible; no dates."""
    text = _INVISIBLE.sub("", _GROUPING.sub("", text))
    text = _RAISED.sub(lambda match: "^" + match[0].translate(_SUPERSCRIPTS), text)
    text = unicodedata.normalize("NFKC", _SPACING.sub(" ", text)).replace("μ", "µ")
    text = re.sub("[−–‑]", "-", text).replace("⋅", "·").replace("∙", "·").replace("^ ", "^")
    return _DATE.sub(" ", text)


def _key(unit: str) -> str:
    return re.sub(r"\s+", " ", re.sub(r"\s*([/·^])\s*", r"\1", unit))


@lru_cache(maxsize=1)
def _units() -> Mapping[str, Mapping[str, float]]:
    table: Mapping[str, Mapping[str, float]] = yaml.safe_load(_UNITS.read_text("utf-8"))
    return {name.replace("μ", "µ"): readings for name, readings in table.items()}


@lru_cache(maxsize=1)
def _factors() -> Mapping[str, tuple[float, ...]]:
    """SI unit -> the factors of all units that lead to it, in the order of the file."""
    found: dict[str, list[float]] = {}
    for ways in _units().values():
        for unit, factor in ways.items():
            if factor not in found.setdefault(unit, []):
                found[unit].append(factor)
    return {unit: tuple(factors) for unit, factors in found.items()}


@lru_cache(maxsize=1)
def _unit_pattern() -> re.Pattern[str]:
    """A unit after a number, the longest first, with blanks around its signs or none."""
    names = sorted(_units(), key=lambda name: (-len(name), name))
    written = [
        re.sub(r"\\?([/·^])", r"\\s*\\\1\\s*", re.escape(name)).replace("\\ ", r"\s+")
        for name in names
    ]
    return re.compile(rf"[\s\-_]*(?P<unit>{'|'.join(written)})(?![A-Za-zµ°^]|/[A-Za-z])")
