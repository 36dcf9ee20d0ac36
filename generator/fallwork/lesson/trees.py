"""Small helpers to build trees: signed sums, products without the factor 1, other values put in."""

import math
from collections.abc import Iterable, Mapping
from dataclasses import replace
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
    Ref,
    Root,
    Sum,
    as_expression,
    symbols_in,
)

ZERO = Number(value=0)


def total(terms: Iterable[Operand]) -> Expression:
    """The sum of the terms, the positive ones first; 0 where there are none."""
    trees = [tree for term in terms if (tree := as_expression(term)) != ZERO]
    ordered = [t for t in trees if not isinstance(t, Negative)]
    ordered += [t for t in trees if isinstance(t, Negative)]
    if not ordered:
        return ZERO
    return ordered[0] if len(ordered) == 1 else Sum(terms=tuple(ordered))


def product(*factors: Operand) -> Expression:
    """The factors as one product: numbers first and multiplied out, sines and cosines last.

    A factor 1 is left out; with a factor 0 the whole is 0.
    """
    trees = [as_expression(factor) for factor in factors]
    parts = [p for t in trees for p in (t.factors if isinstance(t, Product) else (t,))]
    count = math.prod(part.value for part in parts if isinstance(part, Number))
    if not count:
        return ZERO
    others = [part for part in parts if not isinstance(part, Number)]
    kept = [part for part in others if not isinstance(part, Function)]
    kept += [part for part in others if isinstance(part, Function)]
    if count != 1 or not kept:
        kept.insert(0, Number(value=count))
    inverse = next((part for part in kept if isinstance(part, Quotient) and _inverts(part)), None)
    if inverse is not None and len(kept) > 1:
        return product(*(part for part in kept if part is not inverse)) / inverse.bottom
    return kept[0] if len(kept) == 1 else Product(factors=tuple(kept))


def _inverts(tree: Quotient) -> bool:
    """Whether a fraction is one over something, other than a number as in one half."""
    return tree.top == Number(value=1) and not isinstance(tree.bottom, Number)


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
    share = Fraction(ratio) * _count(whole)
    multiple = product(share.numerator, *_uncounted(whole))
    return multiple if share.denominator == 1 else multiple / share.denominator


def _count(tree: Expression) -> int:
    """The number in front of a product; 1 where there is none."""
    first = tree.factors[0] if isinstance(tree, Product) else tree
    return first.value if isinstance(first, Number) else 1


def _uncounted(tree: Expression) -> tuple[Expression, ...]:
    """The factors behind the number in front."""
    factors = tree.factors if isinstance(tree, Product) else (tree,)
    return factors[1:] if isinstance(factors[0], Number) else factors


def half(*factors: Operand) -> Expression:
    """One half of a product, written as ½ times it."""
    return Product(
        factors=(
            Quotient(top=Number(value=1), bottom=Number(value=2)),
            *(as_expression(factor) for factor in factors),
        )
    )


def half_of(mass: Expression, square: Expression) -> Expression:
    """One half of a mass times a square; a whole multiple of a mass is halved itself."""
    parts = mass.factors if isinstance(mass, Product) else (mass,)
    count = parts[0]
    if not isinstance(count, Number):
        return half(mass, square)
    share = Fraction(count.value, 2)
    if share.denominator == 1:
        return product(share.numerator, *parts[1:], square)
    return Product(factors=(Number(value=count.value) / 2, *parts[1:], square))


def with_values(tree: Expression, values: Mapping[str, float]) -> Expression:
    """The same tree with other values for the symbols whose ids are given."""
    others: dict[str, Expression] = {}
    for part in symbols_in(tree):
        if part.id in values:
            others[part.id] = Ref(symbol=replace(part, value=values[part.id], written=""))
    return rebuilt(tree, others)


def rebuilt(
    tree: Expression,
    symbols: Mapping[str, Expression],
    nodes: Mapping[Expression, Expression] = MappingProxyType({}),
) -> Expression:
    """A tree with others put in for symbols (by id) and whole nodes; 0 and 1 are cleared away."""
    if tree in nodes:
        return nodes[tree]
    match tree:
        case Ref(symbol=symbol):
            return symbols.get(symbol.id, tree)
        case Sum(terms=parts):
            kept = [rebuilt(part, symbols, nodes) for part in parts]
            return total(part for part in kept if part != ZERO)
        case Product(factors=parts):
            return product(*(rebuilt(part, symbols, nodes) for part in parts))
        case Negative(body=body):
            inner = rebuilt(body, symbols, nodes)
            return ZERO if inner == ZERO else -inner
        case Root(body=body):
            return Root(body=rebuilt(body, symbols, nodes))
        case Quotient(top=top, bottom=bottom):
            upper = rebuilt(top, symbols, nodes)
            lower = rebuilt(bottom, symbols, nodes)
            return upper if upper == ZERO else _reduced(upper, lower)
        case Power(base=base, exponent=exponent):
            return Power(base=rebuilt(base, symbols, nodes), exponent=exponent)
        case Function(name=name, argument=argument):
            return Function(name=name, argument=rebuilt(argument, symbols, nodes))
    return tree


def _reduced(top: Expression, bottom: Expression) -> Expression:
    """A fraction, without a factor that is the whole of its lower side."""
    if bottom == Number(value=1):
        return top
    if isinstance(top, Product) and bottom in top.factors:
        rest = list(top.factors)
        rest.remove(bottom)
        return product(*rest)
    return top / bottom
