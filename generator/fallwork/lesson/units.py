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
    powers = {name: power for name, power in sorted(_powers(tree).items()) if power}
    return "·".join(f"{name}{_raised(power)}" for name, power in powers.items())


def _raised(power: int) -> str:
    return "" if power == 1 else str(power).translate(_TO_RAISED)


def _powers(tree: Expression) -> Counter[str]:
    match tree:
        case Ref(symbol=symbol):
            return _read(symbol.unit)
        case Negative(body=body):
            return _powers(body)
        case Sum(terms=terms):
            return _powers(terms[0])
        case Product(factors=factors):
            return _summed([_powers(factor) for factor in factors])
        case Quotient(top=top, bottom=bottom):
            return _summed([_powers(top), _times(_powers(bottom), -1)])
        case Power(base=base, exponent=exponent):
            return _times(_powers(base), exponent)
    return Counter()


def _read(unit: str) -> Counter[str]:
    """``kg·m²/s`` as powers of base units."""
    total: Counter[str] = Counter()
    over, _, under = unit.partition("/")
    for text, sign in ((over, 1), (under, -1)):
        for name, raised in re.findall(r"([A-Za-z]+)([⁻⁰¹²³⁴⁵⁶⁷⁸⁹]*)", text):
            power = sign * int(raised.translate(_RAISED) or 1)
            total = _summed([total, _times(Counter(_BASE.get(name, {name: 1})), power)])
    return total


def _summed(parts: list[Counter[str]]) -> Counter[str]:
    found: Counter[str] = Counter()
    for part in parts:
        for name, power in part.items():
            found[name] += power
    return found


def _times(powers: Counter[str], factor: int) -> Counter[str]:
    return Counter({name: power * factor for name, power in powers.items()})
