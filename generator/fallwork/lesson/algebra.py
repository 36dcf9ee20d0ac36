"""A linear system of trees solved in symbols, by a computer algebra library.

Takes trees that vanish and the symbols to solve for; gives a tree for each. Imported when a
set-up has several independent motions; everything else gets by without algebra.
"""

from collections.abc import Mapping, Sequence
from functools import lru_cache
from typing import Any

from fallwork.lesson.expression import (
    Expression,
    Function,
    Negative,
    Number,
    Power,
    Product,
    Quotient,
    Ref,
    Root,
    Sum,
    Symbol,
    symbols_in,
)
from fallwork.lesson.trees import product, total


def linear_solution(
    equations: Sequence[Expression], unknown: Sequence[Symbol]
) -> Mapping[str, Expression]:
    """The tree of each unknown by its id; those that the equations leave open are missing."""
    import sympy

    seen = list(dict.fromkeys(s for tree in equations for s in symbols_in(tree)))
    seen += [symbol for symbol in unknown if symbol not in seen]
    order = sorted(seen, key=lambda symbol: symbol.letter != "m")  # m g, as it is usually written
    letters = {s.id: sympy.Symbol(f"s{i:03d}", positive=True) for i, s in enumerate(order)}
    back = {letters[s.id].name: s for s in order}
    system = tuple(_to_algebra(tree, letters) for tree in equations)
    found = _solved(system, tuple(letters[s.id] for s in unknown))
    return {
        symbol.id: _from_algebra(value, back)
        for symbol, value in zip(unknown, found, strict=True)
        if value is not None
    }


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


def _to_algebra(tree: Expression, letters: Mapping[str, Any]) -> Any:
    import sympy

    match tree:
        case Ref(symbol=symbol):
            return letters[symbol.id]
        case Number(value=value):
            return sympy.Integer(value)
        case Sum(terms=parts):
            return sympy.Add(*(_to_algebra(part, letters) for part in parts))
        case Product(factors=parts):
            return sympy.Mul(*(_to_algebra(part, letters) for part in parts))
        case Negative(body=body):
            return -_to_algebra(body, letters)
        case Quotient(top=top, bottom=bottom):
            return _to_algebra(top, letters) / _to_algebra(bottom, letters)
        case Power(base=base, exponent=exponent):
            return _to_algebra(base, letters) ** exponent
        case Root(body=body):
            return sympy.sqrt(_to_algebra(body, letters))
        case Function(name=name, argument=argument):
            return getattr(sympy, name)(_to_algebra(argument, letters))
    raise TypeError(tree)


def _from_algebra(value: Any, symbols: Mapping[str, Symbol]) -> Expression:
    """A factored result as a tree: one fraction of products of sums."""
    top, bottom = value.as_numer_denom()
    upper, lower = _product_of(top, symbols), _product_of(bottom, symbols)
    if lower == Number(value=1):
        return upper
    if isinstance(upper, Negative):
        return -(upper.body / lower)
    return upper / lower


def _product_of(value: Any, symbols: Mapping[str, Symbol]) -> Expression:
    sign = 1
    factors: list[Expression] = []
    sums: list[Expression] = []
    for factor in sorted(value.as_ordered_factors(), key=_rank):
        if factor.is_Integer:
            sign = -1 if factor < 0 else sign
            if abs(factor) != 1:
                factors.append(Number(value=abs(int(factor))))
        elif factor.is_Add:
            sums.append(_sum_of(factor, symbols))
        else:
            factors.append(_atom(factor, symbols))
    tree = product(*factors, *sums) if factors or sums else Number(value=1)
    return -tree if sign < 0 else tree


def _rank(factor: Any) -> tuple[int, str]:
    return (0 if factor.is_Integer else 1, str(factor))


def _sum_of(value: Any, symbols: Mapping[str, Symbol]) -> Expression:
    terms = sorted(value.as_ordered_terms(), key=lambda term: str(term).lstrip("-"))
    return total(_product_of(term, symbols) for term in terms)


def _atom(value: Any, symbols: Mapping[str, Symbol]) -> Expression:
    if value.is_Symbol:
        return Ref(symbol=symbols[value.name])
    if value.is_Pow:
        base = _atom(value.base, symbols) if not value.base.is_Add else _sum_of(value.base, symbols)
        return Power(base=base, exponent=int(value.exp))
    (argument,) = value.args
    return Function(name=value.func.__name__, argument=_atom(argument, symbols))
