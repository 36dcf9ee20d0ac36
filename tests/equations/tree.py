"""What a formula says: trees of symbols and printed numbers, and their values in SI with a bound on
their error, which rounded digits leave open. Units come from pint.
"""

import math
import operator
from collections.abc import Iterator
from dataclasses import dataclass, replace
from decimal import Decimal
from fractions import Fraction
from functools import cache, lru_cache, reduce

import pint

NOISE = 1e-12  # relative: floating-point arithmetic
NUMBER = pint.util.UnitsContainer()  # the dimensions of a plain one


class UnreadableError(Exception):
    """A formula, unit or value that this reader doesn't understand."""


class WrongUnitsError(Exception):
    """Units that can't be added, compared or put into a function."""


@dataclass(frozen=True)
class Literal:
    """Printed digits, e.g. 1.5032 or 2.25 × 10^-5; ``marked`` ones are underlined: cut short."""

    digits: str  # with an ASCII minus
    exponent: int = 0
    marked: bool = False

    @property
    def value(self) -> Decimal:
        return Decimal(self.digits).scaleb(self.exponent)

    @property
    def half_unit(self) -> Decimal:
        """Half of what the last digit counts: how far a rounded number may be off."""
        decimals = len(self.digits.partition(".")[2])
        return Decimal("0.5").scaleb(self.exponent - decimals)

    def opposite(self) -> "Literal":
        digits = self.digits[1:] if self.digits.startswith("-") else f"-{self.digits}"
        return Literal(digits, self.exponent, self.marked)


class Node:
    """A part of a formula: a dataclass of its parts."""


@dataclass(frozen=True)
class Sym(Node):
    name: str  # as in a page's list: "m_c", "ΔU_w"


@dataclass(frozen=True)
class Num(Node):
    literal: Literal
    unit: str = ""  # for the units library


@dataclass(frozen=True)
class Neg(Node):
    body: Node


@dataclass(frozen=True)
class Add(Node):
    terms: tuple[Node, ...]  # a subtracted one is a Neg


@dataclass(frozen=True)
class Mul(Node):
    """Factors over factors; products and fractions inside products are taken apart."""

    over: tuple[Node, ...]
    under: tuple[Node, ...] = ()


@dataclass(frozen=True)
class Pow(Node):
    base: Node
    exponent: Fraction  # one half is a square root


@dataclass(frozen=True)
class Call(Node):
    name: str  # sin, cos, tan
    argument: Node


@dataclass(frozen=True)
class Relation:
    """Sides joined by signs, e.g. a = b ≈ c; ``text`` is how it reads on the page."""

    sides: tuple[Node, ...]
    signs: tuple[str, ...]
    text: str


def product(left: Node, right: Node, *, divides: bool) -> Node:
    one, other = (each if isinstance(each, Mul) else Mul((each,)) for each in (left, right))
    up, down = (other.under, other.over) if divides else (other.over, other.under)
    over, under = one.over + up, one.under + down
    return over[0] if len(over) == 1 and not under else Mul(over, under)


def negative(body: Node) -> Node:
    """The opposite of a tree; of a number it is a negative number."""
    if isinstance(body, Num):
        return Num(body.literal.opposite(), body.unit)
    return body.body if isinstance(body, Neg) else Neg(body)


def nodes(tree: Node) -> Iterator[Node]:
    """A tree and everything in it, in reading order."""
    yield tree
    for value in vars(tree).values():
        for part in value if isinstance(value, tuple) else (value,):
            yield from nodes(part) if isinstance(part, Node) else ()


def symbols(tree: Node) -> tuple[str, ...]:
    return tuple(node.name for node in nodes(tree) if isinstance(node, Sym))


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
            return replace(inner, value=-inner.value)
        case Add(terms):
            parts = [evaluate(term, known) for term in terms]
            error = math.fsum(part.error for part in parts)
            return Amount(math.fsum(p.value for p in parts), error, same_dimensions(parts))
        case Mul(over, under):
            factors = [evaluate(factor, known) for factor in over]
            factors += [_to_power(evaluate(factor, known), Fraction(-1)) for factor in under]
            return reduce(_times, factors, Amount(1.0, 0.0, NUMBER))
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
    powers = (f"{name}^{power:g}" for name, power in sorted(dimensions.items()))
    return " ".join(powers) or "a plain number"


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
