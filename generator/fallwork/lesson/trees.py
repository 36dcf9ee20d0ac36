"""Small helpers to build trees: signed sums, products without the factor 1, other values put in."""

from collections.abc import Iterable, Mapping
from dataclasses import replace

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
)


def total(terms: Iterable[Operand]) -> Expression:
    """The sum of the terms, the positive ones first; 0 where there are none."""
    trees = [as_expression(term) for term in terms]
    ordered = [t for t in trees if not isinstance(t, Negative)]
    ordered += [t for t in trees if isinstance(t, Negative)]
    if not ordered:
        return Number(value=0)
    return ordered[0] if len(ordered) == 1 else Sum(terms=tuple(ordered))


def product(*factors: Operand) -> Expression:
    """The factors as one product; a single one stays as it is and a 1 is left out."""
    trees = [as_expression(factor) for factor in factors]
    kept = [tree for tree in trees if tree != Number(value=1)]
    if not kept:
        return Number(value=1)
    return kept[0] if len(kept) == 1 else Product(factors=tuple(kept))


def signed(sign: int, tree: Operand) -> Expression:
    """The tree, or its negative where ``sign`` is below zero."""
    return -as_expression(tree) if sign < 0 else as_expression(tree)


def half(*factors: Operand) -> Expression:
    """One half of a product, written as ½ times it."""
    return Product(
        factors=(
            Quotient(top=Number(value=1), bottom=Number(value=2)),
            *(as_expression(factor) for factor in factors),
        )
    )


def with_values(tree: Expression, values: Mapping[str, float]) -> Expression:
    """The same tree with other values for the symbols whose ids are given."""
    match tree:
        case Ref(symbol=symbol):
            if symbol.id in values:
                return Ref(symbol=replace(symbol, value=values[symbol.id], written=""))
            return tree
        case Sum(terms=parts):
            return Sum(terms=tuple(with_values(part, values) for part in parts))
        case Product(factors=parts):
            return Product(factors=tuple(with_values(part, values) for part in parts))
        case Negative(body=body):
            return Negative(body=with_values(body, values))
        case Root(body=body):
            return Root(body=with_values(body, values))
        case Quotient(top=top, bottom=bottom):
            return Quotient(top=with_values(top, values), bottom=with_values(bottom, values))
        case Power(base=base, exponent=exponent):
            return Power(base=with_values(base, values), exponent=exponent)
        case Function(name=name, argument=argument):
            return Function(name=name, argument=with_values(argument, values))
    return tree
