"""Numbers in text: where one stands, in which unit, and whether it is the writing of a value.

Takes text, with formulas in LaTeX and emphasis in Markdown or without; gives what was read. Knows
no files and no pages.
"""

import re
import unicodedata
from bisect import bisect_left
from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from functools import cache
from itertools import product
from math import isfinite
from pathlib import Path
from typing import NamedTuple

import yaml

from fallwork.errors import VALUES
from fallwork.pages.heldback import Answer

_UNITS, _WRITING = (
    yaml.load(Path(__file__).with_name(f"audit_{name}.yaml").read_text("utf-8"), Loader=VALUES)
    for name in ("units", "writing")
)
_BESIDE = 12  # letters before a number by which rows of a table are known
_FEWEST = 2  # figures; fewer say nothing, even with the unit
_IN_G_FIGURES = 3  # "0.10 g" is more often a mass
_MANY_FIGURES = 4  # from here on a number without a unit may be in a smaller one than SI's
_SMALLER = (1.0, 1e-2, 1e-3)
_GRAVITY = 9.80665  # m/s²: one "g"
_SUPERSCRIPTS = str.maketrans("⁰¹²³⁴⁵⁶⁷⁸⁹⁻⁺", "0123456789-+")
_ESCAPE = re.compile(r"\\u([0-9a-fA-F]{4})")
_RAISED = re.compile("[⁻⁺]?[⁰¹²³⁴⁵⁶⁷⁸⁹]+")
_NUMBER = re.compile(
    r"(?:(?<![\d.,])|(?<=\d,)(?=\d+\.))"
    r"(?P<digits>\d*\.\d+(?!\.?\d)|\d*,\d+(?![.,]?\d)|\d+(?![.,]?\d))"
    r"(?:\s*(?:×|x|\*|·)\s*10\s*\^\s*(?P<power>[-+]?\d)(?!\d)|[eE](?P<e>[-+]?\d{1,2})(?!\w))?"
)
# What parts thousands may also begin the decimals, or part two numbers: each is read.
_THOUSANDS = re.compile(r"(?<![\d.,])(?P<digits>[1-9]\d{0,2}(?:[, ]\d{3})+(?:\.\d+)?)(?![.,]?\d)")
_BLANK = r"[ \t]*\n?[ \t]*"
# A range, or one of several values: the unit behind the last is that of all.
_ANOTHER = re.sub(r"\?P<\w+>", "?:", _NUMBER.pattern)
_ONWARDS = re.compile(
    rf"(?:(?:[ \t]*-[ \t]*|{_BLANK}\b(?:to|and|or)\b{_BLANK}-?){_ANOTHER}){{1,3}}"
)
_BEFORE = re.compile(rf"\)?(?:{_BLANK}|[-_])[\[(]?")
_FACTOR = re.compile(
    r"(?:(?P<word>square|cubic)\s+)?(?P<name>[A-Za-zµ]+|[°%])"
    r"(?:\^?(?P<power>[-+]?\d)(?!\d)|\s+(?P<after>squared|cubed)\b)?\)?"
)
_BETWEEN = re.compile(
    rf"{_BLANK}(?:(?P<under>/|\bper\b){_BLANK}(?P<group>\()?|[·*]|\.(?=\S))?{_BLANK}\(?"
)
_POWERS = {"square": 2, "squared": 2, "cubic": 3, "cubed": 3}

Dimension = tuple[tuple[str, int], ...]  # powers of SI units, by name


class Reading(NamedTuple):
    """A number as it stands in a text."""

    text: str  # with its unit
    line: int  # of the text, from 0
    digits: str  # as written, without sign and power, with a decimal point
    value: float  # in the unit that is written, without sign
    half: float  # half a unit of the last digit; like the value, infinite beyond every float
    figures: int
    ways: tuple[tuple[Dimension, float], ...]  # what its unit means; empty: no unit stands there
    before: str  # the end of what stands between it and the number before, blanks as one


def _rewritten(text: str, kind: str) -> str:
    for pattern, written in _WRITING[kind]:
        text = re.sub(pattern, written, text)
    return text


def readings(text: str) -> Iterator[Reading]:
    """Every number of a text with at least two figures."""
    plain = _rewritten(_ESCAPE.sub(lambda found: chr(int(found[1], 16)), text), "signs")
    plain = _RAISED.sub(lambda found: f"^{found[0].translate(_SUPERSCRIPTS)}", plain)
    plain = _rewritten(unicodedata.normalize("NFKC", plain).replace("μ", "µ"), "writing")
    for pattern in (_NUMBER, _THOUSANDS):
        line = start = end = 0
        for match in pattern.finditer(plain):
            line += plain.count("\n", start, match.start())
            before = plain[max(end, match.start() - 2 * _BESIDE) : match.start()]
            yield from _reading(plain, match, line, before)
            start, end = match.span()


def _reading(plain: str, match: re.Match[str], line: int, before: str) -> Iterator[Reading]:
    """What a number means, if it tells anything."""
    parts = match.groupdict()
    mark = "" if match.re is _THOUSANDS else "."
    digits = match["digits"].replace(",", mark).replace(" ", "")
    filled = "." not in digits and len(digits) - len(digits.rstrip("0"))
    filled = filled if filled > 1 else 0  # zeros that only fill up: 66400
    figures = len(digits.replace(".", "").lstrip("0")) - filled
    end, ways = _unit(plain, match.end())
    onwards = None if ways else _ONWARDS.match(plain, match.end())
    if onwards is not None:
        end, ways = _unit(plain, onwards.end())
    if figures < _FEWEST or not (ways or ("." in digits and figures > _FEWEST)):
        return
    scale = 10.0 ** int(parts.get("power") or parts.get("e") or 0)
    yield Reading(
        line=line,
        before=" ".join(before.split())[-_BESIDE:],
        text=" ".join(plain[match.start() : end if ways else match.end()].split()),
        digits=digits,
        value=float(digits) * scale,
        half=float(f"0.5e{filled - len(digits.partition('.')[2])}") * scale,
        figures=figures,
        ways=ways,
    )


def _unit(plain: str, start: int) -> tuple[int, tuple[tuple[Dimension, float], ...]]:
    """Where the unit ends that stands behind a number, and what it means."""
    before = _BEFORE.match(plain, start)
    at, end, factor, powers = before.end() if before else start, start, 1.0, Counter[str]()
    under = group = False
    names = []
    while (found := _FACTOR.match(plain, at)) and (known := _named(found["name"])):
        power = int(found["power"] or _POWERS.get(found["word"] or found["after"] or "", 1))
        power = -power if under or group else power
        factor *= known[0] ** power
        for unit, each in known[1]:
            powers[unit] += power * each
        names.append((found["name"], power))
        end = found.end()
        group = group and not found[0].endswith(")")
        between = _BETWEEN.match(plain, end)
        assert between is not None  # it matches nothing at all too
        if between.end() == end:
            break
        at, under, group = between.end(), bool(between["under"]), group or bool(between["group"])
    if names == [("g", 1)]:
        return end, ((_dimension("kg"), 0.001), (_dimension("m s-2"), _GRAVITY))
    dimension = tuple(sorted((unit, power) for unit, power in powers.items() if power))
    return end, ((dimension, factor),) if names else ()


@cache
def _named(name: str) -> tuple[float, Dimension] | None:
    """The factor and the dimension of one unit, its name with or without a prefix."""
    name = name if name in _UNITS["units"] else _UNITS["words"].get(name.lower().rstrip("s"), name)
    if name in _UNITS["units"]:
        factor, dimension = _UNITS["units"][name]
        return float(factor), _dimension(dimension)
    for prefix, factor in _UNITS["prefixes"].items():
        rest = name[len(prefix) :]
        rest = _UNITS["words"].get(rest.rstrip("s"), rest) if len(prefix) > 1 else rest
        if name.startswith(prefix) and rest in _UNITS["prefixed"]:
            own, dimension = _UNITS["units"][rest]
            return factor * float(own), _dimension(dimension)
    return None


def _dimension(powers: str) -> Dimension:
    parts = (re.fullmatch(r"([a-z]+)(-?\d)?", part) for part in powers.split())
    return tuple(sorted((part[1], int(part[2] or 1)) for part in parts if part))


class Table:
    """Answers, ordered so that those which a number may mean are found fast."""

    def __init__(self, values: Sequence[Answer]) -> None:
        self._values = values
        self._rows: dict[Dimension, list[tuple[float, int]]] = {}
        for index, value in enumerate(self._values):
            ways = _unit(value.unit.translate(_SUPERSCRIPTS), 0)[1]
            dimension = ways[0][0] if ways else ()
            self._rows.setdefault(dimension, []).append((abs(value.value), index))
        for rows in self._rows.values():
            rows.sort()

    def meant(self, reading: Reading) -> Sequence[int]:
        """The places, among the values given, of those that the number may be a writing of."""
        figures = reading.figures - (not reading.ways)  # without a unit it takes one more
        found = set[int]()
        for dimension, factor in self._ways(reading):
            value, rows = reading.value * factor, self._rows.get(dimension, [])
            reach = max(reading.half * factor, 1e-9 * value) * (1 + 1e-9)
            if isfinite(value + reach):
                start = bisect_left(rows, (value - reach, -1))
                end = bisect_left(rows, (value + reach, len(self._values)))
                found.update(at for _, at in rows[start:end] if figures >= self._values[at].figures)
        return sorted(found)

    def _ways(self, reading: Reading) -> Iterable[tuple[Dimension, float]]:
        if reading.ways:
            return reading.ways[: None if reading.figures >= _IN_G_FIGURES else 1]
        factors = _SMALLER if reading.figures >= _MANY_FIGURES else _SMALLER[:1]
        return product(self._rows, factors)
