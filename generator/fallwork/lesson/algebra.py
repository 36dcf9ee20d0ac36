"""Linear systems of trees solved in symbols, and units multiplied, by a computer algebra library.

Takes trees; gives trees and units. Imported when a set-up has several independent motions;
everything else gets by without algebra.
"""

import re
from collections.abc import Mapping, Sequence
from functools import lru_cache
from typing import Any

from fallwork.lesson.expression import (
    Expression,
    Function,
    Number,
    Power,
    Symbol,
    symbols_in,
    worked_out,
)
from fallwork.lesson.rounding import RAISED, raised
from fallwork.lesson.signs import DIGITS
from fallwork.lesson.trees import ONE, product, signed, total

_DERIVED = {"N": "kg·m/s²", "J": "kg·m²/s²", "rad": "", "°": ""}


def linear_solution(
    equations: Sequence[Expression], unknown: Sequence[Symbol]
) -> Mapping[str, Expression]:
    """Of trees that vanish, the tree of each unknown by its id; what stays open is missing."""
    import sympy

    seen = list(dict.fromkeys(s for tree in equations for s in symbols_in(tree)))
    seen += [symbol for symbol in unknown if symbol not in seen]
    order = sorted(seen, key=lambda symbol: symbol.letter != "m")  # m g, as it is usually written
    letters = {s.id: sympy.Symbol(f"s{i:03d}", positive=True) for i, s in enumerate(order)}
    back = {letters[s.id].name: s for s in order}

    def leaf(part: Symbol | Number) -> Any:
        return letters[part.id] if isinstance(part, Symbol) else sympy.Integer(part.value)

    system = tuple(worked_out(tree, leaf, sympy) for tree in equations)
    found = _solved(system, tuple(letters[s.id] for s in unknown))
    pairs = zip(unknown, found, strict=True)
    return {symbol.id: _fraction(value, back) for symbol, value in pairs if value is not None}


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


def _fraction(value: Any, symbols: Mapping[str, Symbol]) -> Expression:
    """A factored result as a tree: one fraction of products of sums."""
    top, bottom = (_product(part, symbols) for part in value.as_numer_denom())
    return top if bottom == ONE else top / bottom


def _product(value: Any, symbols: Mapping[str, Symbol]) -> Expression:
    """Numbers, then symbols, then sums."""
    sign = 1
    factors: list[Expression] = []
    for factor in sorted(value.as_ordered_factors(), key=lambda each: (each.is_Add, str(each))):
        if factor.is_Integer:
            sign = -sign if factor < 0 else sign
            factors.append(Number(value=abs(int(factor))))
        else:
            factors.append(_tree(factor, symbols))
    return signed(sign, product(*factors))


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
