"""What a formula says: trees of symbols and printed numbers, as read from MathML."""

from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction


class UnreadableError(Exception):
    """A formula, unit or value that this reader doesn't understand."""


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

    @property
    def whole(self) -> bool:
        return self.digits.isdigit() and not self.marked and not self.exponent


class Node:
    """A part of a formula: a dataclass of its parts."""

    def parts(self) -> Iterator["Node"]:
        for value in vars(self).values():
            for each in value if isinstance(value, tuple) else (value,):
                if isinstance(each, Node):
                    yield each


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


def product(factors: list[tuple[Node, bool]]) -> Node:
    """A product of (factor, whether it divides)."""
    over: list[Node] = []
    under: list[Node] = []
    for factor, divides in factors:
        inside = factor if isinstance(factor, Mul) else Mul((factor,))
        up, down = (under, over) if divides else (over, under)
        up += inside.over
        down += inside.under
    if len(over) == 1 and not under:
        return over[0]
    return Mul(tuple(over), tuple(under))


def negative(body: Node) -> Node:
    """The opposite of a tree; of a number it is a negative number."""
    if isinstance(body, Num):
        return Num(body.literal.opposite(), body.unit)
    return body.body if isinstance(body, Neg) else Neg(body)


def nodes(tree: Node) -> Iterator[Node]:
    """A tree and everything in it, in reading order."""
    yield tree
    for part in tree.parts():
        yield from nodes(part)


def symbols(tree: Node) -> tuple[str, ...]:
    """The names of the symbols in a tree, in reading order."""
    return tuple(node.name for node in nodes(tree) if isinstance(node, Sym))
