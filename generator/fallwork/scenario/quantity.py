"""Reads ``420.0 g ± 0.1 g`` and gives it back: exact SI digits, or the text as it was written.

A standard uncertainty follows ``±`` (or ``+/-``); with the word ``limits`` after it, the value
is anywhere between the limits with equal probability and u = a/√3 (JCGM 100:2008, 4.3.7).
The unit stands after each number, or once after the last. Numbers have a decimal point.
"""

import math
import re
from dataclasses import dataclass, replace
from decimal import Decimal

from fallwork.scenario.report import UnreadableError, closest, listed, shown
from fallwork.scenario.units import Kind, kinds, kinds_of_unit

NUMBER = r"[+\-−]?[0-9]+(?:\.[0-9]+)?(?:[eE][+\-−]?[0-9]+)?"
SIGN = r"±|\+/-"
_SPACES = re.compile(r"[\s\u00a0\u2007\u2009\u202f]+")
_NUMBERLIKE = re.compile(r"([+\-−]?[0-9.,'’_ ]*(?:[eE][+\-−]?[0-9]+)?)\s*(.*)")
_NO_UNIT = re.compile(r"/|[a-z]\d\d|[xob]\d")  # what stands after 1/2, 12h30, 0x50
_PRODUCT = re.compile("(?<=[Ng]) (?=c?m)")  # of units, between their names
_MOST_DIGITS = 20
LARGEST_EXPONENT = 30


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


@dataclass(frozen=True, kw_only=True)
class _Part:
    number: str
    unit: str  # as written; "" for none


def parse_quantity(text: str, kind_name: str) -> Quantity:
    """The quantity that a text gives; raises UnreadableError."""
    kind = kinds()[kind_name]
    text = _SPACES.sub(" ", text).strip()
    if not text:
        raise UnreadableError("no-quantity", what=kind.say, example=kind.example)
    parts = [part.strip() for part in re.split(SIGN, text)]
    if len(parts) > 2:
        raise UnreadableError("uncertainties", text=shown(text))
    if "" in parts or parts[-1] == "limits":
        raise UnreadableError("half-uncertainty", text=shown(text))
    if len(parts) == 1:
        _refuse_stray_words(text)
        return _value(_part(text, kind), kind)
    spread, limits = _without_limits(parts[1])
    value, uncertainty = _part(parts[0], kind), _part(spread, kind)
    value, uncertainty = _with_units(value, uncertainty, kind)
    u, written = _uncertainty(uncertainty, kind, limits)
    return replace(_value(value, kind), u=u, uncertainty=written)


def _refuse_stray_words(text: str) -> None:
    """What belongs to an uncertainty, where there is no ±."""
    if re.search(r"\blimits?$", text):
        raise UnreadableError("bare-limits", text=shown(text))
    if re.search(r"\d.*(\+-|\+−|-/\+)", text):
        raise UnreadableError("other-sign", text=shown(text))


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
        return _plain(Decimal(quantity.number)), quantity.unit
    return _plain(Decimal(quantity.number) * factor), kind.si_unit


def _plain(number: Decimal) -> str:
    return format(number, "f")


def _without_limits(text: str) -> tuple[str, bool]:
    words = text.split(" ")
    if words[-1] == "limits":
        return " ".join(words[:-1]), True
    if closest(words[-1], ["limits"]):
        raise UnreadableError("limits-misspelt", word=shown(words[-1]))
    return text, False


def _part(text: str, kind: Kind) -> _Part:
    match = _NUMBERLIKE.fullmatch(text)
    number = match.group(1).strip() if match else ""
    if match is None or not re.search("[0-9]", number) or _NO_UNIT.match(match.group(2)):
        raise UnreadableError(
            "not-a-quantity", text=shown(text), what=kind.say, example=kind.example
        )
    for wrong in _WRONG_NUMBERS:
        wrong(number)
    number = number.replace("−", "-").removeprefix("+")
    return _Part(number=number, unit=match.group(2).strip())


def _too_long(number: str) -> None:
    digits, _, exponent = number.lower().partition("e")
    power = exponent.lstrip("+-−0")
    if len(digits) > _MOST_DIGITS or len(power) > 2 or int(power or 0) > LARGEST_EXPONENT:
        most = {"digits": _MOST_DIGITS, "exponent": LARGEST_EXPONENT}
        raise UnreadableError("long-number", number=shown(number), **most)


def _comma(number: str) -> None:
    if "," not in number:
        return
    with_point, joined = number.replace(",", "."), number.replace(",", "")
    if re.fullmatch(r"[+\-−]?[1-9][0-9]{0,2},[0-9]{3}", number):
        expected = f"write {with_point} or {joined}"
    elif re.fullmatch(NUMBER, with_point):
        expected = f"the decimal sign is a point: {with_point}"
    else:
        _refuse_several(number, joined)
        expected = f"write it without separators: {joined}"
    raise UnreadableError("comma", number=shown(number), expected=expected)


def _separator(number: str) -> None:
    joined = re.sub("['’_ ]", "", number)
    if joined != number:
        _refuse_several(number, joined)
        raise UnreadableError("gap", number=shown(number), joined=joined)


def _refuse_several(text: str, joined: str) -> None:
    """Several numbers, where taking out what is between them doesn't make one of them."""
    if re.fullmatch(NUMBER, joined) and re.fullmatch(r"[+\-−]?\d{1,3}(?:\D\d{3})+\b.*", text):
        return
    parts = re.findall(r"[+\-−]?\d+(?:[.,]\d+)?", text) if " " in text else text.split(",")
    several = ", ".join(f"{part} …" for part in parts)
    raise UnreadableError("several-numbers", count=len(parts), text=shown(text), several=several)


def _bare_point(number: str) -> None:
    if re.fullmatch(r"[+\-−]?\.[0-9].*", number):
        right = number.replace(".", "0.", 1)
        raise UnreadableError("point-first", number=shown(number), right=right)
    if re.fullmatch(r"[+\-−]?[0-9]+\.", number):
        raise UnreadableError(
            "point-last", number=shown(number), one=number[:-1], other=f"{number}0"
        )


def _no_number(number: str) -> None:
    if not re.fullmatch(NUMBER, number):
        raise UnreadableError("not-a-number", number=shown(number))


_WRONG_NUMBERS = (_too_long, _comma, _separator, _bare_point, _no_number)


def _with_units(value: _Part, uncertainty: _Part, kind: Kind) -> tuple[_Part, _Part]:
    """Both parts with units, where one stands once after the last number."""
    if kind.plain or uncertainty.unit:
        return replace(value, unit=value.unit or uncertainty.unit), uncertainty
    number, unit = uncertainty.number, value.unit or kind.si_unit
    raise UnreadableError("no-unit-of-uncertainty", shown=shown(number), number=number, unit=unit)


def _value(part: _Part, kind: Kind) -> Quantity:
    unit = _unit(part, kind)
    return Quantity(
        kind=kind.name, value=_si_value(part.number, unit, kind), number=part.number, unit=unit
    )


def _uncertainty(part: _Part, kind: Kind, limits: bool) -> tuple[float, str]:
    """The standard uncertainty in SI, and the words that give it."""
    unit = _unit(part, kind)
    if part.number.startswith("-"):
        raise UnreadableError("negative-uncertainty", number=shown(part.number))
    half_width = _si_value(part.number, unit, kind)
    written = f"{part.number} {unit}".strip()
    if limits:
        return half_width / math.sqrt(3), f"{written} limits"
    return half_width, written


def _si_value(number: str, unit: str, kind: Kind) -> float:
    factor = kind.factors[unit]
    return math.radians(float(number)) if factor is None else float(Decimal(number) * factor)


def _unit(part: _Part, kind: Kind) -> str:
    spelling = kind.spelling(part.unit)
    if spelling is not None:
        return spelling
    units = listed(kind.factors, "or")
    if not part.unit:
        number, about = shown(part.number), {"what": kind.say, "example": kind.example}
        raise UnreadableError("no-unit", number=number, units=units, **about)
    if re.search(r"[,;\s][+\-−]?\d", part.unit):
        _refuse_several(f"{part.number} {part.unit}", "")
    plain = f"{kind.say} is a plain number, e.g. {kind.example}"
    wanted = plain if kind.plain else f"{kind.say} is given in {units}"
    others = kinds_of_unit(part.unit)
    if others:
        text = shown(f"{part.number} {part.unit}")
        raise UnreadableError("other-quantity", text=text, other=others[0].say, wanted=wanted)
    near = closest(part.unit, [unit for unit in kind.factors if unit])
    hint = f"did you mean {near}? " if near else ""
    raise UnreadableError("unknown-unit", unit=shown(part.unit), wanted=f"{hint}{wanted}")
