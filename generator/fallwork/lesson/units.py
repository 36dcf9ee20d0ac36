"""The unit of a formula in SI base units, from those of its symbols.

Takes a tree; gives its unit as text. For symbols that a lesson makes up on the way, such as a
common denominator.
"""

import re
from collections import Counter

from fallwork.lesson.expression import (
    Expression,
    Negative,
    Power,
    Product,
    Quotient,
    Ref,
    Sum,
)

_BASE = {"N": {"kg": 1, "m": 1, "s": -2}, "J": {"kg": 1, "m": 2, "s": -2}, "rad": {}}
_RAISED = str.maketrans("⁻⁰¹²³⁴⁵⁶⁷⁸⁹", "-0123456789")
_TO_RAISED = str.maketrans("-0123456789", "⁻⁰¹²³⁴⁵⁶⁷⁸⁹")


def unit_of(tree: Expression) -> str:
    """E.g. ``kg²``; the terms of a sum are taken to agree."""
    powers = sorted((name, power) for name, power in _powers(tree).items() if power)
    return "·".join(name if p == 1 else name + str(p).translate(_TO_RAISED) for name, p in powers)


def _powers(tree: Expression) -> Counter[str]:
    found: Counter[str] = Counter()
    match tree:
        case Ref(symbol=symbol):
            return _read(symbol.unit)
        case Negative(body=part) | Sum(terms=(part, *_)):
            return _powers(part)
        case Product(factors=factors):
            for factor in factors:
                found.update(_powers(factor))
        case Quotient(top=top, bottom=bottom):
            found.update(_powers(top))
            found.subtract(_powers(bottom))
        case Power(base=base, exponent=exponent):
            return Counter({name: power * exponent for name, power in _powers(base).items()})
    return found


def _read(unit: str) -> Counter[str]:
    """``kg·m²/s`` as powers of base units."""
    found: Counter[str] = Counter()
    over, _, under = unit.partition("/")
    for text, count in ((over, found.update), (under, found.subtract)):
        for name, raised in re.findall(r"([A-Za-z]+)([⁻⁰¹²³⁴⁵⁶⁷⁸⁹]*)", text):
            times = int(raised.translate(_RAISED) or 1)
            count({base: power * times for base, power in _BASE.get(name, {name: 1}).items()})
    return found
