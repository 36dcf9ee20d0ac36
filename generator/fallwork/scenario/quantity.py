"""Reads ``420.0 g ± 0.1 g`` and gives it back: exact SI digits, or the text as it was written.

A standard uncertainty follows ``±`` (or ``+/-``); with the word ``limits`` after it, the value
is anywhere between the limits with equal probability and u = a/√3 (JCGM 100:2008, 4.3.7).
The unit stands after each number, or once after the last. Numbers have a decimal point.
Units, their spellings and their exact SI factors are in ``units.yaml``, by kind of quantity.
"""

import math
import re
from collections.abc import Mapping
from dataclasses import dataclass, replace
from decimal import Decimal
from functools import cache
from importlib.resources import files

import yaml

from fallwork.scenario.report import UnreadableError, closest, listed, shown

NUMBER = r"[+\-−]?[0-9]+(?:\.[0-9]+)?(?:[eE][+\-−]?[0-9]+)?"
SIGN = r"±|\+/-"
_SPACES = re.compile(r"[\s\u00a0\u2007\u2009\u202f]+")
_NUMBERLIKE = re.compile(r"([+\-−]?[0-9.,'’_ ]*(?:[eE][+\-−]?[0-9]+)?)\s*(.*)")
_NO_UNIT = re.compile(r"/|[a-z]\d\d|[xob]\d")  # what stands after 1/2, 12h30, 0x50
_PRODUCT = re.compile("(?<=[Ng]) (?=c?m)")  # of units, between their names
_MOST_DIGITS = 20
LARGEST_EXPONENT = 30


@dataclass(frozen=True, kw_only=True)
class Kind:
    """A kind of quantity and the units in which it may be given."""

    name: str
    say: str  # with its article: "a mass"
    example: str  # "420.0 g"
    factors: Mapping[str, Decimal | None]  # SI units in one unit; None for the degree
    also: Mapping[str, str]  # other word -> spelling in ``factors``

    @property
    def si_unit(self) -> str:
        """The SI unit, e.g. "kg"; "" for a plain number."""
        return next(iter(self.factors))

    @property
    def plain(self) -> bool:
        """Whether it is given as a number without a unit."""
        return self.si_unit == ""

    def spelling(self, unit: str) -> str | None:
        """The table's spelling of a unit as written; None if this kind has no such unit."""
        unit = " ".join(unit.replace("·", " ").replace("\u03bc", "\u00b5").split())
        unit = re.sub(r"\^?2$", "²", self.also.get(unit, unit))
        return unit if unit in self.factors else None

    def pattern(self) -> str:
        """A regular expression for every spelling of its units; "" for a plain number."""
        words = "|".join(word for word in (*self.factors, *self.also) if word)
        return words.replace(" ", "[ ·]").replace("²", r"(?:²|\^?2)").replace("µ", "[µ\u03bc]")


@cache
def kinds() -> Mapping[str, Kind]:
    """All kinds of quantity by name, in the order of the table."""
    text = files("fallwork.scenario").joinpath("units.yaml").read_text("utf-8")
    rows = yaml.load(text, Loader=yaml.BaseLoader)
    return {name: _kind(name, row) for name, row in rows.items()}


def _kind(name: str, row: Mapping[str, dict[str, str]]) -> Kind:
    return Kind(
        name=name,
        say=str(row["say"]),
        example=str(row["example"]),
        factors={
            unit: None if factor == "degree" else Decimal(factor)
            for unit, factor in row["units"].items()
        },
        also=row.get("also", {}),
    )


def kinds_of_unit(unit: str) -> tuple[Kind, ...]:
    """The kinds of quantity that are given in this unit."""
    return tuple(kind for kind in kinds().values() if kind.spelling(unit) is not None)


@dataclass(frozen=True, kw_only=True)
class Quantity:
    """A value with its unit and standard uncertainty, and how its author wrote it."""

    kind: str  # a kind of the unit table: mass, length, angle, coefficient, ...
    value: float  # in the SI unit of its kind
    u: float = 0.0  # standard uncertainty, same unit (JCGM 100:2008, 4.3.7 for limits)
    number: str  # the digits as written, e.g. "420.0"
    unit: str  # the unit as written, e.g. "g"; "" for a plain number
    uncertainty: str = ""  # as written after the sign, e.g. "0.1 g" or "1 mm limits"


Given = Quantity | None  # where it may be left out
_Part = tuple[str, str]  # a number and its unit, as written; "" for none


def parse_quantity(text: str, kind_name: str) -> Quantity:
    """The quantity that a text gives; raises UnreadableError."""
    kind = kinds()[kind_name]
    text = _SPACES.sub(" ", text).strip()
    if not text:
        raise UnreadableError("no-quantity", what=kind.say, example=kind.example)
    first, *rest = (part.strip() for part in re.split(SIGN, text))
    if len(rest) > 1:
        raise UnreadableError("uncertainties", text=shown(text))
    if "" in (first, *rest) or rest == ["limits"]:
        raise UnreadableError("half-uncertainty", text=shown(text))
    if not rest:  # what belongs to an uncertainty can't be there
        if re.search(r"\blimits?$", text):
            raise UnreadableError("bare-limits", text=shown(text))
        if re.search(r"\d.*(\+-|\+−|-/\+)", text):
            raise UnreadableError("other-sign", text=shown(text))
        return _value(_part(text, kind), kind)
    spread, _, last = rest[0].rpartition(" ")
    limits = last == "limits"
    if not limits and closest(last, ["limits"]):
        raise UnreadableError("limits-misspelt", word=shown(last))
    (number, unit), uncertainty = _part(first, kind), _part(spread if limits else rest[0], kind)
    if not kind.plain and not uncertainty[1]:
        number, unit = uncertainty[0], unit or kind.si_unit
        names = {"shown": shown(number), "number": number, "unit": unit}
        raise UnreadableError("no-unit-of-uncertainty", **names)
    u, written = _uncertainty(uncertainty, kind, limits)
    return replace(_value((number, unit or uncertainty[1]), kind), u=u, uncertainty=written)


def last_place(quantity: Quantity) -> float:
    """One unit of the last digit as written, in SI units: 0.01 m for 12 cm."""
    exponent = Decimal(quantity.number.replace("−", "-")).as_tuple().exponent
    return _si_value(f"1e{exponent}", quantity.unit, kinds()[quantity.kind])


def keeping_uncertainty(quantity: Quantity, former: Quantity | None) -> Quantity:
    """A number without a ± of its own takes over the one of the number that it replaces."""
    if quantity.uncertainty or former is None:
        return quantity
    return replace(quantity, u=former.u, uncertainty=former.uncertainty)


def as_written(quantity: Quantity) -> str:
    """The quantity as its author wrote it, e.g. ``0.600 m ± 1 mm limits``."""
    value = f"{quantity.number} {quantity.unit}".strip().replace("-", "−")
    return f"{value} ± {quantity.uncertainty}" if quantity.uncertainty else value


def in_print(text: str) -> str:
    """A quantity or unit with the signs of print: ``24.0°``, ``0.0008 N·m``."""
    return _PRODUCT.sub("·", text).replace(" deg", "°")


def in_si(quantity: Quantity) -> tuple[str, str]:
    """Digits and unit in SI, by exact decimal arithmetic: 420.0 g is ("0.4200", "kg").

    Degrees stay degrees, because no decimal number of radians is exact.
    """
    kind = kinds()[quantity.kind]
    factor = kind.factors[quantity.unit]
    if factor is None:
        return f"{Decimal(quantity.number):f}", quantity.unit
    return f"{Decimal(quantity.number) * factor:f}", kind.si_unit


def _part(text: str, kind: Kind) -> _Part:
    match = _NUMBERLIKE.fullmatch(text)
    number = match[1].strip() if match else ""
    if match is None or not re.search("[0-9]", number) or _NO_UNIT.match(match[2]):
        names = {"text": shown(text), "what": kind.say, "example": kind.example}
        raise UnreadableError("not-a-quantity", **names)
    _check_number(number)
    return number.replace("−", "-").removeprefix("+"), match[2].strip()


def _check_number(number: str) -> None:
    """Raises UnreadableError for every way of writing a number but one."""
    says = shown(number)
    digits, _, exponent = number.lower().partition("e")
    power = exponent.lstrip("+-−0")
    if len(digits) > _MOST_DIGITS or len(power) > 2 or int(power or 0) > LARGEST_EXPONENT:
        most = {"digits": _MOST_DIGITS, "exponent": LARGEST_EXPONENT}
        raise UnreadableError("long-number", number=says, **most)
    joined = re.sub("," if "," in number else "['’_ ]", "", number)
    with_point = number.replace(",", ".")
    if re.fullmatch(r"[+\-−]?[1-9][0-9]{0,2},[0-9]{3}", number):
        expected = f"write {with_point} or {joined}"
    elif "," in number and re.fullmatch(NUMBER, with_point):
        expected = f"the decimal sign is a point: {with_point}"
    else:
        expected = f"write it without separators: {joined}"
        if joined != number:
            _refuse_several(number, joined)
    if "," in number:
        raise UnreadableError("comma", number=says, expected=expected)
    if joined != number:
        raise UnreadableError("gap", number=says, joined=joined)
    if re.fullmatch(r"[+\-−]?\.[0-9].*", number):
        raise UnreadableError("point-first", number=says, right=number.replace(".", "0.", 1))
    if re.fullmatch(r"[+\-−]?[0-9]+\.", number):
        raise UnreadableError("point-last", number=says, one=number[:-1], other=f"{number}0")
    if not re.fullmatch(NUMBER, number):
        raise UnreadableError("not-a-number", number=says)


def _refuse_several(text: str, joined: str) -> None:
    """Several numbers, where taking out what is between them doesn't make one of them."""
    if re.fullmatch(NUMBER, joined) and re.fullmatch(r"[+\-−]?\d{1,3}(?:\D\d{3})+\b.*", text):
        return
    parts = re.findall(r"[+\-−]?\d+(?:[.,]\d+)?", text) if " " in text else text.split(",")
    several = ", ".join(f"{part} …" for part in parts)
    raise UnreadableError("several-numbers", count=len(parts), text=shown(text), several=several)


def _value(part: _Part, kind: Kind) -> Quantity:
    number, unit = part[0], _unit(part, kind)
    value = _si_value(number, unit, kind)
    return Quantity(kind=kind.name, value=value, number=number, unit=unit)


def _uncertainty(part: _Part, kind: Kind, limits: bool) -> tuple[float, str]:
    """The standard uncertainty in SI, and the words that give it."""
    number, unit = part[0], _unit(part, kind)
    if number.startswith("-"):
        raise UnreadableError("negative-uncertainty", number=shown(number))
    half_width, written = _si_value(number, unit, kind), f"{number} {unit}".strip()
    return (half_width / math.sqrt(3), f"{written} limits") if limits else (half_width, written)


def _si_value(number: str, unit: str, kind: Kind) -> float:
    factor = kind.factors[unit]
    return math.radians(float(number)) if factor is None else float(Decimal(number) * factor)


def _unit(part: _Part, kind: Kind) -> str:
    """The table's spelling of the unit."""
    number, unit = part
    spelling = kind.spelling(unit)
    if spelling is not None:
        return spelling
    units, say, example = listed(kind.factors, "or"), kind.say, kind.example
    if not unit:
        names = {"number": shown(number), "units": units, "what": say, "example": example}
        raise UnreadableError("no-unit", **names)
    if re.search(r"[,;\s][+\-−]?\d", unit):
        _refuse_several(f"{number} {unit}", "")
    plain = f"{say} is a plain number, e.g. {example}"
    wanted = plain if kind.plain else f"{say} is given in {units}"
    if others := kinds_of_unit(unit):
        text = shown(f"{number} {unit}")
        raise UnreadableError("other-quantity", text=text, other=others[0].say, wanted=wanted)
    near = closest(unit, [unit for unit in kind.factors if unit])
    expected = f"did you mean {near}? {wanted}" if near else wanted
    raise UnreadableError("unknown", what="unit", name=shown(unit), expected=expected)
