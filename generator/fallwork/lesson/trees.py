"""Trees built, others put in, and linear systems of them solved by a computer algebra library.

Signed sums and products without the factor 1; of equations that vanish, a tree for each unknown.
The library is imported only when a set-up has several independent motions.
"""

import math
import re
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache
from types import MappingProxyType
from typing import Any

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
    factors_of,
    symbols_in,
    terms_of,
    worked_out,
)
from fallwork.lesson.rounding import DIGITS, RAISED, raised

ZERO, ONE = Number(value=0), Number(value=1)
ON_THE_WAY = ("driving-force", "moving-mass", "denominator")  # letters that only shorten a formula
_DERIVED = {"N": "kg·m/s²", "J": "kg·m²/s²", "rad": "", "°": ""}


@dataclass(frozen=True)
class Absent(Expression):
    """A letter for what a set-up hasn't got; a formula with it is left out."""


def absent(tree: Expression) -> bool:
    """Whether a formula names what the set-up has not got."""
    return isinstance(tree, Absent) or any(map(absent, children(tree)))


def as_data(tree: Expression) -> Any:
    """A tree as nested lists for scripts: a symbol is its id, a number itself, an operation its
    sign with what it is done to, as in ``["/", ["^", "speed", 2], ["*", 2, "distance"]]``.
    """
    match tree:
        case Symbol(id=id_):
            return id_
        case Number(value=value):
            return value
        case Power(base=base, exponent=exponent):
            return ["^", as_data(base), exponent]
    name = tree.name if isinstance(tree, Function) else _AS_DATA[type(tree)]
    return [name, *map(as_data, children(tree))]


_AS_DATA = {Sum: "+", Negative: "-", Product: "*", Quotient: "/", Root: "sqrt"}


def total(terms: Iterable[Operand]) -> Expression:
    """The sum of the terms, the positive ones first; 0 where there are none."""
    trees = [tree for term in terms if (tree := as_expression(term)) != ZERO]
    trees.sort(key=lambda tree: isinstance(tree, Negative))
    return Sum(terms=tuple(trees)) if len(trees) > 1 else trees[0] if trees else ZERO


def product(*factors: Operand) -> Expression:
    """Numbers first and multiplied out, no factor 1, sines and cosines last; with a factor 0, 0."""
    parts = [part for factor in factors for part in factors_of(as_expression(factor))]
    count = math.prod(part.value for part in parts if isinstance(part, Number))
    if not count:
        return ZERO
    kept = [part for part in parts if not isinstance(part, Number)]
    kept.sort(key=lambda part: isinstance(part, Function))
    if count != 1 or not kept:
        kept.insert(0, Number(value=count))
    for at, part in enumerate(kept) if len(kept) > 1 else ():
        match part:  # one over something other than a number goes below the rest
            case Quotient(top=Number(value=1), bottom=bottom) if not isinstance(bottom, Number):
                return product(*kept[:at], *kept[at + 1 :]) / bottom
    return kept[0] if len(kept) == 1 else Product(factors=tuple(kept))


def _counted(tree: Expression) -> tuple[int, tuple[Expression, ...]]:
    """The number in front of a product, 1 where there is none, and the factors behind it."""
    first, *rest = factors_of(tree)
    return (first.value, tuple(rest)) if isinstance(first, Number) else (1, (first, *rest))


def signed(sign: int, tree: Operand) -> Expression:
    """The tree, or its negative where ``sign`` is below zero."""
    whole = as_expression(tree)
    return -whole if sign < 0 and whole != ZERO else whole


def turned(tree: Expression) -> Expression | None:
    """The opposite of a tree whose terms are all negative; None of any other."""
    terms = terms_of(tree)
    bodies = [term.body for term in terms if isinstance(term, Negative)]
    return total(bodies) if len(bodies) == len(terms) else None


def over(tree: Expression, divisor: Operand) -> Expression:
    """A tree over a divisor: one sign in front where all terms are negative, one fraction bar."""
    against = turned(tree)
    if against is not None:
        return -over(against, divisor)
    return (
        tree.top / product(tree.bottom, divisor) if isinstance(tree, Quotient) else tree / divisor
    )


def sized(tree: Expression) -> tuple[int, Expression]:
    """The sign in front of a tree, and the tree without it."""
    return (-1, tree.body) if isinstance(tree, Negative) else (1, tree)


def parted(tree: Expression) -> tuple[Expression, Expression]:
    """The positive terms of a tree, and the negative ones with the opposite sign."""
    terms = terms_of(tree)
    minus = [term.body for term in terms if isinstance(term, Negative)]
    return total(term for term in terms if not isinstance(term, Negative)), total(minus)


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
    signs, sizes = zip(*map(sized, factors), strict=True)
    return signed(math.prod(signs), product(*sizes))


def _reduced(_: Expression, top: Expression, bottom: Expression) -> Expression:
    """A fraction, without a factor that is the whole of its lower side."""
    if top == ZERO or bottom == ONE:
        return top
    if isinstance(top, Product) and bottom in top.factors:
        at = top.factors.index(bottom)
        return product(*top.factors[:at], *top.factors[at + 1 :])
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


# ---- by computer algebra


def linear_solution(
    equations: Sequence[Expression], unknown: Sequence[Symbol]
) -> Mapping[str, Expression]:
    """Of trees that vanish, the tree of each unknown by its id; what stays open is missing."""
    import sympy

    seen = dict.fromkeys([*(s for tree in equations for s in symbols_in(tree)), *unknown])
    order = sorted(seen, key=lambda symbol: symbol.letter != "m")  # m g, as it is usually written
    letters = {s.id: sympy.Symbol(f"s{i:03d}", positive=True) for i, s in enumerate(order)}
    back = {letters[s.id].name: s for s in order}

    def leaf(part: Symbol | Number) -> Any:
        return letters[part.id] if isinstance(part, Symbol) else sympy.Integer(part.value)

    system = tuple(worked_out(tree, leaf, sympy) for tree in equations)
    found = _solved(system, tuple(letters[s.id] for s in unknown))
    fractions = {
        s.id: value.as_numer_denom()
        for s, value in zip(unknown, found, strict=True)
        if value is not None
    }
    parts = {key: [_product(part, back) for part in pair] for key, pair in fractions.items()}
    return {key: top if bottom == ONE else top / bottom for key, (top, bottom) in parts.items()}


@lru_cache(maxsize=64)  # the same equations come again with other numbers
def _solved(system: tuple[Any, ...], wanted: tuple[Any, ...]) -> tuple[Any, ...]:
    """Each unknown in factors; None where it stays open."""
    import sympy

    (found,) = sympy.linsolve(system, wanted) or ((None,) * len(wanted),)
    return tuple(
        None
        if value is None or value.free_symbols.intersection(wanted)
        else sympy.factor(sympy.together(value))
        for value in found
    )


def _product(value: Any, symbols: Mapping[str, Symbol]) -> Expression:
    """Numbers, then symbols, then sums."""
    order = sorted(value.as_ordered_factors(), key=lambda each: (each.is_Add, str(each)))
    minus = sum(bool(factor.is_Integer and factor < 0) for factor in order)
    factors = [Number(value=abs(int(f))) if f.is_Integer else _tree(f, symbols) for f in order]
    return signed((-1) ** minus, product(*factors))


def _tree(value: Any, symbols: Mapping[str, Symbol]) -> Expression:
    if value.is_Symbol:
        return symbols[value.name]
    if value.is_Add:
        terms = sorted(value.as_ordered_terms(), key=lambda term: str(term).lstrip("-"))
        return total(_product(term, symbols) for term in terms)
    if value.is_Pow:
        return Power(base=_tree(value.base, symbols), exponent=int(value.exp))
    (argument,) = value.args
    return Function(name=value.func.__name__, argument=_tree(argument, symbols))


def unit_of(tree: Expression) -> str:
    """The unit of a formula in SI base units, e.g. ``kg²``; terms of a sum are taken to agree."""
    import sympy

    def unit(text: str) -> Any:
        whole, over = sympy.Integer(1), 1
        for sign, name, power in re.findall(rf"([·/]?)([^·/{RAISED}]+)([{RAISED}]*)", text):
            over = -1 if sign == "/" else over
            base = unit(_DERIVED[name]) if name in _DERIVED else sympy.Symbol(name, positive=True)
            whole *= base ** (over * int(power.translate(DIGITS) or 1))
        return whole

    def leaf(part: Symbol | Number) -> Any:
        return unit(part.unit if isinstance(part, Symbol) else "")

    powers = worked_out(tree, leaf, sympy, lambda terms: terms[0]).as_powers_dict()
    units = sorted((str(base), int(power)) for base, power in powers.items() if base.is_Symbol)
    return "·".join(name if p == 1 else name + raised(p) for name, p in units)
