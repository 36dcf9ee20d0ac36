"""Formulas and values in plain text, for text alternatives and tables that hold no LaTeX.

Takes trees, symbols and values; gives Unicode such as ``m_c g − T = m_c a``.
"""

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
    if isinstance(formula, Relation):
        first, *rest = (plain(side) for side in formula.sides)
        pairs = zip(formula.signs, rest, strict=True)
        return first + "".join(f" {sign} {side}" for sign, side in pairs)
    match formula:
        case Symbol() | Ref():
            return letters.plain_letter(formula.symbol if isinstance(formula, Ref) else formula)
        case Number(value=value):
            return str(value).replace("-", MINUS)
        case Sum(terms=terms):
            return _sum(terms)
        case Negative():
            return _sum((formula,))
        case Product(factors=factors):
            return " ".join(map(_factor, factors))
        case Quotient(top=top, bottom=bottom):
            last = top.factors[-1] if isinstance(top, Product) else top
            loose = isinstance(top, Sum | Negative) or isinstance(last, Function)
            return f"{_bracketed(top, loose)}/{_tight(bottom)}"
        case Power(base=base, exponent=exponent):
            return _tight(base) + letters.superscript(exponent)
        case Root(body=body):
            return f"√{_tight(body)}"
        case Function(name=name, argument=argument):
            return f"{name} {_tight(argument)}"
    raise TypeError(formula)


def _sum(terms: tuple[Expression, ...]) -> str:
    text = ""
    for term in terms:
        minus = isinstance(term, Negative)
        body = term.body if isinstance(term, Negative) else term
        signed = isinstance(body, Sum | Negative) or (_signed(body) and (minus or bool(text)))
        sign = MINUS if minus else "+" if text else ""
        text += f" {sign} " if text else sign
        text += _bracketed(body, signed)
    return text


def _factor(factor: Expression) -> str:
    if factor == Quotient(top=Number(value=1), bottom=Number(value=2)):
        return "½"
    loose = isinstance(factor, Sum | Negative | Quotient | Function) or _signed(factor)
    return _bracketed(factor, loose)


def _tight(tree: Expression) -> str:
    """In brackets unless it is a single sign."""
    single = (isinstance(tree, Ref) and not letters.is_compound(tree.symbol)) or (
        isinstance(tree, Number) and tree.value >= 0
    )
    return _bracketed(tree, not single)


def _bracketed(tree: Expression, loose: bool) -> str:
    return f"({plain(tree)})" if loose else plain(tree)


def _signed(tree: Expression) -> bool:
    return isinstance(tree, Number) and tree.value < 0
