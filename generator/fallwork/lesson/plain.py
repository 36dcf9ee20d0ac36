"""Formulas and values in plain text, for text alternatives and tables that hold no LaTeX.

Takes trees, symbols and values; gives Unicode such as ``m_c g − T = m_c a``.
"""

from collections.abc import Callable, Mapping
from typing import Any

from fallwork.lesson import letters
from fallwork.lesson.document import Relation
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
)
from fallwork.lesson.rounding import MINUS


def plain(formula: Expression | Symbol | Relation) -> str:
    """A formula in symbols, e.g. ``m_w g/(m_c + m_w)``."""
    if isinstance(formula, Symbol):
        return letters.plain_letter(formula)
    if isinstance(formula, Relation):
        first, *rest = (plain(side) for side in formula.sides)
        pairs = zip(formula.signs, rest, strict=True)
        return first + "".join(f" {sign} {side}" for sign, side in pairs)
    return _PLAIN[type(formula)](formula)


def _number(tree: Number) -> str:
    return str(tree.value).replace("-", MINUS)


def _sum(tree: Sum) -> str:
    text = ""
    for term in tree.terms:
        minus = isinstance(term, Negative)
        body = term.body if isinstance(term, Negative) else term
        signed = isinstance(body, Sum | Negative) or (_signed(body) and (minus or bool(text)))
        printed = f"({plain(body)})" if signed else plain(body)
        if text:
            text += f" {MINUS if minus else '+'} {printed}"
        else:
            text = (MINUS if minus else "") + printed
    return text


def _negative(tree: Negative) -> str:
    return _sum(Sum(terms=(tree,)))


def _product(tree: Product) -> str:
    return " ".join(_factor(factor) for factor in tree.factors)


def _factor(factor: Expression) -> str:
    if factor == Quotient(top=Number(value=1), bottom=Number(value=2)):
        return "½"
    loose = isinstance(factor, Sum | Negative | Quotient | Function) or _signed(factor)
    return f"({plain(factor)})" if loose else plain(factor)


def _quotient(tree: Quotient) -> str:
    last = tree.top.factors[-1] if isinstance(tree.top, Product) else tree.top
    loose = isinstance(tree.top, Sum | Negative) or isinstance(last, Function)
    top = f"({plain(tree.top)})" if loose else plain(tree.top)
    return f"{top}/{_tight(tree.bottom)}"


def _power(tree: Power) -> str:
    return _tight(tree.base) + letters.superscript(tree.exponent)


def _root(tree: Root) -> str:
    return f"√{_tight(tree.body)}"


def _function(tree: Function) -> str:
    return f"{tree.name} {_tight(tree.argument)}"


def _tight(tree: Expression) -> str:
    """In brackets unless it is a single sign."""
    single = (isinstance(tree, Ref) and not letters.is_compound(tree.symbol)) or (
        isinstance(tree, Number) and tree.value >= 0
    )
    return plain(tree) if single else f"({plain(tree)})"


def _signed(tree: Expression) -> bool:
    return isinstance(tree, Number) and tree.value < 0


_PLAIN: Mapping[type[Expression], Callable[[Any], str]] = {
    Ref: lambda tree: letters.plain_letter(tree.symbol),
    Number: _number,
    Sum: _sum,
    Negative: _negative,
    Product: _product,
    Quotient: _quotient,
    Power: _power,
    Root: _root,
    Function: _function,
}
