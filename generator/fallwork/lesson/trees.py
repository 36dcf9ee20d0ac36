"""Small helpers to build trees: signed sums, products without the factor 1, others put in."""

import math
from collections.abc import Callable, Iterable, Mapping
from fractions import Fraction
from types import MappingProxyType

from fallwork.lesson.expression import (
    Expression,
    Function,
    Negative,
    Number,
    Operand,
    Power,
    Product,
    Quotient,
    Root,
    Sum,
    Symbol,
    as_expression,
    children,
)

ZERO, ONE = Number(value=0), Number(value=1)


def total(terms: Iterable[Operand]) -> Expression:
    """The sum of the terms, the positive ones first; 0 where there are none."""
    trees = [tree for term in terms if (tree := as_expression(term)) != ZERO]
    trees.sort(key=lambda tree: isinstance(tree, Negative))
    if not trees:
        return ZERO
    return trees[0] if len(trees) == 1 else Sum(terms=tuple(trees))


def product(*factors: Operand) -> Expression:
    """The factors as one product: numbers first and multiplied out, sines and cosines last.

    A factor 1 is left out; with a factor 0 the whole is 0.
    """
    parts = [part for factor in factors for part in _factors(as_expression(factor))]
    count = math.prod(part.value for part in parts if isinstance(part, Number))
    if not count:
        return ZERO
    kept = [part for part in parts if not isinstance(part, Number)]
    kept.sort(key=lambda part: isinstance(part, Function))
    if count != 1 or not kept:
        kept.insert(0, Number(value=count))
    inverse = next((part for part in kept if isinstance(part, Quotient) and _inverts(part)), None)
    if inverse is not None and len(kept) > 1:
        return product(*(part for part in kept if part is not inverse)) / inverse.bottom
    return kept[0] if len(kept) == 1 else Product(factors=tuple(kept))


def _inverts(tree: Quotient) -> bool:
    """Whether a fraction is one over something, other than a number as in one half."""
    return tree.top == ONE and not isinstance(tree.bottom, Number)


def _factors(tree: Expression) -> tuple[Expression, ...]:
    return tree.factors if isinstance(tree, Product) else (tree,)


def _counted(tree: Expression) -> tuple[int, tuple[Expression, ...]]:
    """The number in front of a product, 1 where there is none, and the factors behind it."""
    first, *rest = _factors(tree)
    return (first.value, tuple(rest)) if isinstance(first, Number) else (1, (first, *rest))


def signed(sign: int, tree: Operand) -> Expression:
    """The tree, or its negative where ``sign`` is below zero."""
    whole = as_expression(tree)
    return -whole if sign < 0 and whole != ZERO else whole


def turned(tree: Expression) -> Expression | None:
    """The opposite of a tree whose terms are all negative; None of any other."""
    terms = tree.terms if isinstance(tree, Sum) else (tree,)
    bodies = [term.body for term in terms if isinstance(term, Negative)]
    return total(bodies) if len(bodies) == len(terms) else None


def opposite(tree: Expression) -> Expression:
    """The tree with the opposite sign, that of each term where it is a sum."""
    return total(-term for term in tree.terms) if isinstance(tree, Sum) else signed(-1, tree)


def scaled(ratio: Fraction | int, tree: Operand) -> Expression:
    """A whole or fractional multiple of a tree; the sign stays in front."""
    whole = as_expression(tree)
    if isinstance(whole, Negative):
        return -scaled(ratio, whole.body)
    if ratio < 0:
        return -scaled(-ratio, whole)
    count, rest = _counted(whole)
    share = Fraction(ratio) * count
    multiple = product(share.numerator, *rest)
    return multiple if share.denominator == 1 else multiple / share.denominator


def half(*factors: Operand) -> Expression:
    """One half of a product, written as ½ times it."""
    return Product(factors=(ONE / 2, *map(as_expression, factors)))


def half_of(mass: Expression, square: Expression) -> Expression:
    """One half of a mass times a square; a whole multiple of a mass is halved itself."""
    count, rest = _counted(mass)
    if count == 1:
        return half(mass, square)
    if count % 2:
        return Product(factors=(Number(value=count) / 2, *rest, square))
    return product(count // 2, *rest, square)


def rebuilt(
    tree: Expression,
    symbols: Mapping[str, Expression],
    nodes: Mapping[Expression, Expression] = MappingProxyType({}),
) -> Expression:
    """A tree with others put in for symbols (by id) and whole nodes; 0 and 1 are cleared away."""
    if tree in nodes:
        return nodes[tree]
    if isinstance(tree, Symbol):
        return symbols.get(tree.id, tree)
    parts = [rebuilt(part, symbols, nodes) for part in children(tree)]
    return _REBUILT[type(tree)](tree, *parts) if parts else tree


def _multiplied(_: Expression, *factors: Expression) -> Expression:
    """A product with its sign in front."""
    minus = sum(isinstance(factor, Negative) for factor in factors)
    bare = (factor.body if isinstance(factor, Negative) else factor for factor in factors)
    return signed((-1) ** minus, product(*bare))


def _reduced(_: Expression, top: Expression, bottom: Expression) -> Expression:
    """A fraction, without a factor that is the whole of its lower side."""
    if top == ZERO or bottom == ONE:
        return top
    if isinstance(top, Product) and bottom in top.factors:
        rest = list(top.factors)
        rest.remove(bottom)
        return product(*rest)
    return top / bottom


_REBUILT: Mapping[type[Expression], Callable[..., Expression]] = {  # of a node, from new parts
    Sum: lambda _, *terms: total(terms),
    Product: _multiplied,
    Negative: lambda _, body: signed(-1, body),
    Root: lambda _, body: Root(body=body),
    Quotient: _reduced,
    Power: lambda power, base: Power(base=base, exponent=power.exponent),
    Function: lambda function, angle: Function(name=function.name, argument=angle),
}
