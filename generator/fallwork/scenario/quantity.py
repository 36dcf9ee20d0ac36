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
from typing import Any

from fallwork.errors import table
from fallwork.scenario.report import Refusal, closest, listed, shown

NUMBER = r"[+\-−]?[0-9]+(?:\.[0-9]+)?(?:[eE][+\-−]?[0-9]+)?"
SIGN = r"±|\+/-"
_SPACES = re.compile(r"[\s\u00a0\u2007\u2009\u202f]+")
_NUMBERLIKE = re.compile(r"([+\-−]?[0-9.,'’_ ]*(?:[eE][+\-−]?[0-9]+)?)\s*(.*)")
_NO_UNIT = re.compile(r"/|[a-z]\d\d|[xob]\d")  # what stands after 1/2, 12h30, 0x50
_PRODUCT = re.compile("(?<=[Ng]) (?=c?m)")  # of units, between their names
_BETWEEN = re.compile("[,'’_ ]")  # what may stand between digits that belong together
_THOUSANDS = re.compile(r"[+\-−]?[1-9]\d{0,2}(?:[,'’_ ]\d{3})+(?!\d).*")
_SEVERAL = re.compile(r"[+\-−]?\d+(?:[.,]\d+)?")
_MOST_DIGITS = 20
_SIZES = {"least": 1e-6, "most": 1e4}  # in SI: what is further apart is lost in sums
LARGEST_EXPONENT = 30
_NEITHER = {  # texts in which no value stands beside its uncertainty
    "uncertainties": f"(?:{SIGN}).*(?:{SIGN})",
    "half-uncertainty": f"^(?:{SIGN})|(?:{SIGN})(?: ?limits)?$",
    "bare-limits": rf"^(?!.*(?:{SIGN})).*\blimits?$",
    "other-sign": rf"^(?!.*(?:{SIGN})).*\d.*(?:\+-|\+−|-/\+)",
}


@dataclass(frozen=True, kw_only=True)
class Kind:
    """A kind of quantity and the units in which it may be given."""

    say: str  # with its article: "a mass"
    example: str  # "420.0 g"
    factors: Mapping[str, Decimal | None]  # SI units in one unit, exactly; None for the degree
    also: Mapping[str, str]  # other word for a unit -> its spelling in ``factors``
    least: float  # in the SI unit: the smallest size in a lab but nothing at all
    most: float

    @property
    def si_unit(self) -> str:
        """The SI unit, e.g. "kg"; "" for a plain number, which is given without a unit."""
        return next(iter(self.factors))

    def spelling(self, unit: str) -> str | None:
        """The table's spelling of a unit as written; None if this kind has no such unit."""
        unit = " ".join(unit.replace("·", " ").replace("\u03bc", "\u00b5").split())
        unit = re.sub(r"\^?2$", "²", self.also.get(unit, unit))
        return unit if unit in self.factors else None

    def pattern(self) -> str:
        """A regular expression for every spelling of its units; "" for a plain number."""
        words = "|".join(word for word in (*self.factors, *self.also) if word)
        return words.replace(" ", "[ ·]").replace("²", r"(?:²|\^?2)").replace("µ", "[µ\u03bc]")

    def in_si(self, number: str, unit: str) -> float:
        """The value of a number with a unit, both as the table spells them."""
        factor = self.factors[unit]
        return math.radians(float(number)) if factor is None else float(Decimal(number) * factor)


@cache
def kinds() -> Mapping[str, Kind]:
    """All kinds of quantity by name, in the order of the table."""
    found = {}
    for name, row in table("scenario", "units").items():
        factors = {u: None if f == "degree" else Decimal(f) for u, f in row["units"].items()}
        told: dict[str, Any] = {key: row[key] for key in ("say", "example")}
        told |= {"also": row.get("also", {}), **_SIZES}
        told |= {end: float(row[end]) for end in _SIZES if end in row}
        found[name] = Kind(factors=factors, **told)
    return found


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


def parse_quantity(text: str, kind_name: str) -> Quantity:
    """The quantity that a text gives; raises Refusal."""
    kind = kinds()[kind_name]
    text = _SPACES.sub(" ", text).strip()
    if not text:
        raise Refusal("no-quantity", what=kind.say, example=kind.example)
    for reason, pattern in _NEITHER.items():
        if re.search(pattern, text):
            raise Refusal(reason, text=shown(text))
    first, *rest = (part.strip() for part in re.split(SIGN, text))
    number, unit = _part(first, kind)
    uncertainty, u = "", 0.0
    if rest:
        spread, _, last = rest[0].rpartition(" ")
        limits = last == "limits"
        if not limits and closest(last, ["limits"]):
            raise Refusal("limits-misspelt", word=shown(last))
        width, of_width = _part(spread if limits else rest[0], kind)
        if kind.si_unit and not of_width:
            names = {"shown": shown(width), "number": width, "unit": unit or kind.si_unit}
            raise Refusal("no-unit-of-uncertainty", **names)
        if width.startswith("-"):
            raise Refusal("negative-uncertainty", number=shown(width))
        of_width = _unit(width, of_width, kind)
        u = kind.in_si(width, of_width) / (math.sqrt(3) if limits else 1)
        unit, uncertainty = unit or of_width, f"{width} {of_width}".strip() + " limits" * limits
    unit = _unit(number, unit, kind)
    said = {"number": number, "unit": unit, "uncertainty": uncertainty}
    return Quantity(kind=kind_name, value=kind.in_si(number, unit), u=u, **said)


def last_place(quantity: Quantity) -> float:
    """One unit of the last digit as written, in SI units: 0.01 m for 12 cm."""
    exponent = Decimal(quantity.number.replace("−", "-")).as_tuple().exponent
    return kinds()[quantity.kind].in_si(f"1e{exponent}", quantity.unit)


def keeping_uncertainty(quantity: Quantity, former: Quantity | None) -> Quantity:
    """A number without a ± of its own takes over the one of the number that it replaces."""
    if quantity.uncertainty or former is None:
        return quantity
    return replace(quantity, u=former.u, uncertainty=former.uncertainty)


def as_written(quantity: Quantity) -> str:
    """The quantity as its author wrote it, e.g. ``0.600 m ± 1 mm limits``."""
    value = f"{quantity.number} {quantity.unit}".strip().replace("-", "−")
    return f"{value} ± {quantity.uncertainty}" if quantity.uncertainty else value


def written_like(quantity: Quantity, other: Quantity) -> str:
    """Without uncertainty, in the unit of another of its kind and with no fewer decimals."""
    factors = kinds()[other.kind].factors
    ours, theirs = factors[quantity.unit], factors[other.unit]
    if quantity.unit == other.unit or ours is None or theirs is None:
        number, unit = Decimal(quantity.number), quantity.unit
    else:
        number, unit = (Decimal(quantity.number) * ours / theirs).normalize(), other.unit
    places = (-int(each.as_tuple().exponent) for each in (number, Decimal(other.number)))
    return f"{number:.{max(0, *places)}f} {unit}"


def in_print(text: str) -> str:
    """A quantity or unit with the signs of print: ``24.0°``, ``0.0008 N·m``."""
    return _PRODUCT.sub("·", text).replace(" deg", "°")


def in_si(quantity: Quantity) -> tuple[str, str]:
    """Digits and unit in SI, by exact decimal arithmetic: 420.0 g is ("0.4200", "kg"). Degrees stay
    degrees, because no decimal number of radians is exact.
    """
    kind = kinds()[quantity.kind]
    factor = kind.factors[quantity.unit]
    if factor is None:
        return f"{Decimal(quantity.number):f}", quantity.unit
    return f"{Decimal(quantity.number) * factor:f}", kind.si_unit


def _part(text: str, kind: Kind) -> tuple[str, str]:
    """A number, in one way of writing, and its unit as written; raises Refusal."""
    match = _NUMBERLIKE.fullmatch(text)
    number = match[1].strip() if match else ""
    if match is None or not re.search("[0-9]", number) or _NO_UNIT.match(match[2]):
        names = {"text": shown(text), "what": kind.say, "example": kind.example}
        raise Refusal("not-a-quantity", **names)
    digits, _, exponent = number.lower().partition("e")
    power = exponent.lstrip("+-−0")
    if len(digits) > _MOST_DIGITS or len(power) > 2 or int(power or 0) > LARGEST_EXPONENT:
        most = {"digits": _MOST_DIGITS, "exponent": LARGEST_EXPONENT}
        raise Refusal("long-number", number=shown(number), **most)
    if not re.fullmatch(NUMBER, number):
        ways = (  # a decimal point, thousands without separators, a digit more may be meant
            number.replace(",", "."),
            _BETWEEN.sub("", number) if _THOUSANDS.fullmatch(number) else "",
            re.sub(r"^([+\-−]?)(?=\.)", r"\g<1>0", number),
            number.removesuffix("."),
        )
        right = [way for way in dict.fromkeys(ways) if re.fullmatch(NUMBER, way)]
        if not right and len(_SEVERAL.findall(number)) > 1 and _BETWEEN.search(number):
            raise _several(number)
        words = " or ".join(right) or "e.g. 0.600 or 1.5e-3"
        raise Refusal("not-a-number", number=shown(number), right=words)
    return number.replace("−", "-").removeprefix("+"), match[2].strip()


def _several(text: str) -> Refusal:
    parts = _SEVERAL.findall(text) if " " in text else text.split(",")
    several = ", ".join(f"{part} …" for part in parts)
    return Refusal("several-numbers", count=len(parts), text=shown(text), several=several)


def _unit(number: str, unit: str, kind: Kind) -> str:
    """The table's spelling of the unit of a number; raises Refusal."""
    spelling = kind.spelling(unit)
    if spelling is not None:
        return spelling
    units, say, example = listed(kind.factors, "or"), kind.say, kind.example
    if not unit:
        names = {"number": shown(number), "units": units, "what": say, "example": example}
        raise Refusal("no-unit", **names)
    if re.search(r"[,;\s][+\-−]?\d", unit):
        raise _several(f"{number} {unit}")
    plain = f"{say} is a plain number, e.g. {example}"
    wanted = plain if not kind.si_unit else f"{say} is given in {units}"
    if others := kinds_of_unit(unit):
        text = shown(f"{number} {unit}")
        raise Refusal("other-quantity", text=text, other=others[0].say, wanted=wanted)
    near = closest(unit, [unit for unit in kind.factors if unit])
    expected = f"did you mean {near}? {wanted}" if near else wanted
    raise Refusal("unknown", what="unit", name=shown(unit), expected=expected)
