"""Formulas as trees: one tree prints its symbols, prints its numbers and gives its value.

Takes symbols with or without values; gives trees that other modules print (``latex``) or
evaluate. Trees are built with the ordinary operators: ``m * g / (m + M)``.
"""

import math
from collections.abc import Callable, Collection, Iterator, Mapping
from dataclasses import dataclass, field
from functools import reduce
from operator import mul
from types import MappingProxyType
from typing import Any

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]  # of one quantity, a case each

# Units other than SI ones in which people write a quantity. Trees are evaluated in SI: a symbol
# in degrees counts in radians there.
SCALE = {"°": math.pi / 180, "%": 0.01}

DEGREES = "degrees"

# Of the size of the largest term: what sums of floats leave behind where terms cancel.
NOISE = 1e-12


class Expression:
    """A tree: symbols, and what the ordinary operators make of them."""

    def __add__(self, other: "Operand") -> "Expression":
        return Sum(terms=(*terms_of(self), *terms_of(as_expression(other))))

    def __radd__(self, other: "Operand") -> "Expression":
        return as_expression(other) + self

    def __sub__(self, other: "Operand") -> "Expression":
        return self + -as_expression(other)

    def __rsub__(self, other: "Operand") -> "Expression":
        return as_expression(other) - self

    def __mul__(self, other: "Operand") -> "Expression":
        if isinstance(self, Negative):
            return -(self.body * other)
        return Product(factors=(*factors_of(self), *factors_of(as_expression(other))))

    def __rmul__(self, other: "Operand") -> "Expression":
        return as_expression(other) * self

    def __truediv__(self, other: "Operand") -> "Expression":
        if isinstance(self, Negative):
            return -(self.body / other)
        return Quotient(top=self, bottom=as_expression(other))

    def __rtruediv__(self, other: "Operand") -> "Expression":
        return as_expression(other) / self

    def __neg__(self) -> "Expression":
        return self.body if isinstance(self, Negative) else Negative(body=self)

    def __pow__(self, exponent: int) -> "Expression":
        return Power(base=self, exponent=exponent)


Operand = Expression | int


@dataclass(frozen=True, kw_only=True)
class Symbol(Expression):
    """A named quantity of one lesson."""

    id: str  # lasting name inside the lesson, e.g. "mass.cart", "tension.string"
    letter: str  # "m", "mu", "Delta K": a Latin letter, a Greek name, or Delta and one of them
    subscript: str = ""  # "c", "cart": printed upright
    meaning: str  # in words, e.g. "mass of the cart"
    unit: str  # "kg", "m/s²", "N·m", "" (a number), ...: SI, or a key of SCALE
    value: float | None = None  # in that unit; None where the lesson is in symbols only
    written: str = ""  # a given's digits in that unit, e.g. "0.4200"; "" for what is computed
    given: bool = False
    figures: int | None = None  # significant figures of its value; None: as many as results have
    place: float = 0.0  # one unit of the last place to which it is known, of a difference
    force: str = ""  # the kind of force it stands for, whose colour it has, as its arrow does
    aside: bool = False  # of another case, or of a mistake that is shown: no result of the lab
    source: Any = field(default=None, repr=False, compare=False)  # of a given, in the scenario


@dataclass(frozen=True, kw_only=True)
class Number(Expression):
    """An exact number, as in 2 a d. Measured values are symbols."""

    value: int


@dataclass(frozen=True, kw_only=True)
class Sum(Expression):
    """Terms added up."""

    terms: tuple[Expression, ...]  # a subtracted term is a Negative


@dataclass(frozen=True, kw_only=True)
class Negative(Expression):
    """A tree with the opposite sign."""

    body: Expression


@dataclass(frozen=True, kw_only=True)
class Product(Expression):
    """Factors multiplied."""

    factors: tuple[Expression, ...]


@dataclass(frozen=True, kw_only=True)
class Quotient(Expression):
    """A fraction."""

    top: Expression
    bottom: Expression


@dataclass(frozen=True, kw_only=True)
class Power(Expression):
    """A tree raised to a whole number."""

    base: Expression
    exponent: int


@dataclass(frozen=True, kw_only=True)
class Root(Expression):
    """A square root."""

    body: Expression


@dataclass(frozen=True, kw_only=True)
class Function(Expression):
    """A function of an angle in radians."""

    name: str  # "sin", "cos", "tan"; DEGREES: the number of a given angle in degrees
    argument: Expression


class ValueMissingError(Exception):
    """A tree was evaluated whose symbols have no values: a fault of the program."""


def as_expression(operand: Operand) -> Expression:
    """A tree from a whole number; a tree stays as it is."""
    return Number(value=operand) if isinstance(operand, int) else operand


def worked_out(
    tree: Expression,
    leaf: Callable[[Any], Any],
    functions: Any = math,
    total: Callable[[list[Any]], Any] = sum,
) -> Any:
    """A tree of what ``leaf`` gives for a symbol or number; ``functions``: sqrt, sin, cos, …"""

    def of(part: Expression) -> Any:
        return worked_out(part, leaf, functions, total)

    match tree:
        case Symbol() | Number():
            return leaf(tree)
        case Sum(terms=terms):
            return total([of(term) for term in terms])
        case Negative(body=body):
            return -of(body)
        case Product(factors=factors):
            return reduce(mul, map(of, factors))
        case Quotient(top=top, bottom=bottom):
            return of(top) / of(bottom)
        case Power(base=base, exponent=exponent):
            return of(base) ** exponent
        case Root(body=body):
            return functions.sqrt(of(body))
        case Function(name=name, argument=argument):
            return getattr(functions, name)(of(argument))
    raise TypeError(tree)


def evaluate(tree: Expression, values: Mapping[str, float] = MappingProxyType({})) -> float:
    """The value of a tree in the SI unit that its symbols imply; nothing is rounded.

    ``values`` go before those of the symbols with these ids, in their units. A sum whose terms
    cancel to the noise of floating-point numbers is zero.
    """

    def leaf(part: Symbol | Number) -> float:
        if isinstance(part, Number):
            return float(part.value)
        value = values.get(part.id, part.value)
        if value is None:
            raise ValueMissingError(part.id)
        return value * SCALE.get(part.unit, 1.0)

    def total(terms: list[float]) -> float:
        whole = math.fsum(terms)
        return whole if abs(whole) > NOISE * max(map(abs, terms)) else 0.0

    return float(worked_out(tree, leaf, total=total))


def evaluated(tree: Expression, values: Mapping[str, Array], unit: str = "") -> Array:
    """As ``evaluate``, for several cases at once, in a unit; not finite where there is none."""

    def leaf(part: Any) -> Any:
        if isinstance(part, Number):
            return float(part.value)
        return values.get(part.id, part.value) * SCALE.get(part.unit, 1.0)

    def total(terms: list[Any]) -> Any:
        whole, largest = sum(terms), reduce(np.maximum, map(np.abs, terms))
        return np.where(np.abs(whole) <= NOISE * largest, 0.0, whole)

    with np.errstate(all="ignore"):
        return np.asarray(worked_out(tree, leaf, np, total) / SCALE.get(unit, 1.0))


def children(tree: Expression) -> tuple[Expression, ...]:
    """The parts of a node, in printing order."""
    fields = (value if isinstance(value, tuple) else (value,) for value in vars(tree).values())
    return tuple(part for field in fields for part in field if isinstance(part, Expression))


def symbols_in(part: object) -> Iterator[Symbol]:
    """Every symbol of a tree, or of what holds trees, in the order of printing, also repeated."""
    waiting = [part]
    while waiting:
        part = waiting.pop()
        if isinstance(part, Symbol):
            yield part
        elif isinstance(part, tuple):
            waiting += reversed(part)
        elif hasattr(part, "__dataclass_fields__"):  # quicker than to ask is_dataclass
            waiting += reversed(vars(part).values())


def follows(tree: Expression, values: Collection[str]) -> bool:
    """Whether a tree has nothing but givens and what else has a value."""
    return all(each.given or each.id in values for each in symbols_in(tree))


def terms_of(tree: Expression) -> tuple[Expression, ...]:
    """What a sum adds up; of another tree itself."""
    return tree.terms if isinstance(tree, Sum) else (tree,)


def factors_of(tree: Expression) -> tuple[Expression, ...]:
    """What a product multiplies; of another tree itself."""
    return tree.factors if isinstance(tree, Product) else (tree,)
