"""Values with a unit and a bound on their error: what rounded digits leave open.

Units come from pint; the arithmetic is done here, in SI base units, because it carries the bound.
"""

import math
import operator
from dataclasses import dataclass
from fractions import Fraction
from functools import cache, lru_cache

import pint

from equations.tree import Add, Call, Literal, Mul, Neg, Node, Num, Pow, Sym, UnreadableError

NOISE = 1e-12  # relative: floating-point arithmetic

NUMBER = pint.util.UnitsContainer()  # the dimensions of a plain one


class WrongUnitsError(Exception):
    """Units that can't be added, compared or put into a function."""


@dataclass(frozen=True)
class Amount:
    """``value`` in SI base units, known to within ``error``."""

    value: float
    error: float
    dimensions: pint.util.UnitsContainer | None  # None: a bare zero, which goes with every unit

    @property
    def largest(self) -> float:
        return abs(self.value) + self.error


def amount(literal: Literal, unit: str, *, exact: bool) -> Amount:
    """What printed digits say: exactly, or to within half of the last digit."""
    scale, dimensions = unit_of(unit)
    value = float(literal.value) * scale
    error = 0.0 if exact else float(literal.half_unit) * scale
    return Amount(value, error + NOISE * abs(value), dimensions)


@cache
def _registry() -> pint.UnitRegistry[float]:
    return pint.UnitRegistry()


@lru_cache(maxsize=10_000)
def unit_of(text: str) -> tuple[float, pint.util.UnitsContainer]:
    """The size of a unit in SI base units, and its dimensions."""
    try:
        base = _registry().Quantity(1.0, text).to_base_units()
    except (pint.PintError, AttributeError, ValueError, TypeError, SyntaxError) as error:
        raise UnreadableError(f"{text!r} is no unit") from error
    return float(base.magnitude), base.dimensionality


def evaluate(tree: Node, known: dict[str, Amount]) -> Amount:
    """The value of a tree; KeyError names a symbol without value."""
    match tree:
        case Sym(name):
            return known[name]
        case Num(literal, unit):
            bare_zero = not unit and not literal.value
            plain = amount(literal, unit, exact=not literal.marked)
            return Amount(0.0, 0.0, None) if bare_zero else plain
        case Neg(body):
            inner = evaluate(body, known)
            return Amount(-inner.value, inner.error, inner.dimensions)
        case Add(terms):
            return _sum([evaluate(term, known) for term in terms])
        case Mul(over, under):
            result = Amount(1.0, 0.0, NUMBER)
            for factor in over:
                result = _times(result, evaluate(factor, known))
            for factor in under:
                result = _times(result, _to_power(evaluate(factor, known), Fraction(-1)))
            return result
        case Pow(base, exponent):
            return _to_power(evaluate(base, known), exponent)
        case Call(name, argument):
            return _function(name, evaluate(argument, known))
    raise UnreadableError(f"{tree} can't be evaluated")


def same_dimensions(amounts: list[Amount]) -> pint.util.UnitsContainer | None:
    """The dimensions that all share; a bare zero goes with any."""
    found = {one.dimensions for one in amounts if one.dimensions is not None}
    if len(found) > 1:
        raise WrongUnitsError("units differ: " + " and ".join(sorted(map(_spelled, found))))
    return next(iter(found), None)


def _spelled(dimensions: pint.util.UnitsContainer) -> str:
    return (
        " ".join(f"{name}^{power:g}" for name, power in sorted(dimensions.items()))
        or "a plain number"
    )


def _sum(terms: list[Amount]) -> Amount:
    error = math.fsum(term.error for term in terms)
    return Amount(math.fsum(term.value for term in terms), error, same_dimensions(terms))


def _times(one: Amount, other: Amount) -> Amount:
    value = one.value * other.value
    error = one.largest * other.largest - abs(value) + NOISE * abs(value)
    if one.dimensions is None or other.dimensions is None:
        return Amount(0.0, 0.0, None)
    return Amount(value, error, _combined(one.dimensions, other.dimensions))


_combined = lru_cache(maxsize=10_000)(operator.mul)


def _to_power(base: Amount, exponent: Fraction) -> Amount:
    size = float(exponent)
    dimensions = base.dimensions and base.dimensions**size
    least = max(0.0, abs(base.value) - base.error)
    if not least and exponent < 0:
        raise UnreadableError("a division by what may be zero")
    if base.value < 0 and exponent.denominator == 2:
        raise UnreadableError("the root of a negative number")
    value = base.value ** int(size) if exponent.denominator == 1 else base.value**size
    ends = (least**size, base.largest**size)
    error = max(abs(abs(value) - end) for end in ends)
    return Amount(value, error + NOISE * abs(value), dimensions)


def _function(name: str, angle: Amount) -> Amount:
    if angle.dimensions:
        raise WrongUnitsError(f"{name} of {_spelled(angle.dimensions)}")
    value = {"sin": math.sin, "cos": math.cos, "tan": math.tan}[name](angle.value)
    steepness = 1 + value**2 if name == "tan" else 1.0
    return Amount(value, 2 * steepness * angle.error + NOISE, NUMBER)
