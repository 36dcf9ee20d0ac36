r"""Formulas in LaTeX: a tree's symbols, its numbers with units, and the rows of a worked equation.

Takes trees, relations and equations; gives LaTeX that both the site's converter and plot labels
understand, and plain text. Rounding is ``rounding``'s, row breaks are ``layout``'s.
"""

import math
from collections.abc import Mapping, Sequence
from contextlib import suppress
from dataclasses import replace
from typing import NamedTuple

from fallwork.lesson.document import Equation, Relation
from fallwork.lesson.expression import (
    SCALE,
    Expression,
    Negative,
    Product,
    Quotient,
    Sum,
    Symbol,
    ValueMissingError,
    children,
    evaluate,
    symbols_in,
)
from fallwork.lesson.layout import OPERATOR, Fragment, joined, prefixed, rows, width
from fallwork.lesson.printer import Plain, Printer, amount, operand
from fallwork.lesson.rounding import guarded, rounded

ROOM = 18.0  # em: a phone 320 px wide, less its margins
_NARROW = 5.0  # em; a wider left side stands on a row of its own
_FRAME = 0.6  # em that a box adds
_AGREE = 1e-9  # relative; forms of one equation that differ by more are different equations

SIGNS: Mapping[str, str] = {
    "=": "=",
    "≈": r"\approx",
    "<": r"\lt",
    ">": r"\gt",
    "≤": r"\le",
    "≥": r"\ge",
    "≪": r"\ll",
    "≫": r"\gg",
    "→": r"\to",  # the last of a limiting case
}


class UnequalSidesError(Exception):
    """The sides of one equation have different values: a fault of the program."""


def latex(formula: Expression | Relation) -> str:
    """A formula in symbols, on one row."""
    if isinstance(formula, Relation):
        first, *others = map(latex, formula.sides)
        signs = map(SIGNS.__getitem__, formula.signs)
        return " ".join([first, *(f"{s} {o}" for s, o in zip(signs, others, strict=True))])
    return joined(Printer().print(formula))


def plain(formula: Expression | Relation) -> str:
    """A formula in symbols in plain text, e.g. ``m_w g/(m_c + m_w)``, where there is no LaTeX."""
    if isinstance(formula, Relation):
        first, *others = map(plain, formula.sides)
        return first + "".join(f" {s} {o}" for s, o in zip(formula.signs, others, strict=True))
    return "".join(part.latex for part in Plain(room=0.0).print(formula))


def quantity(symbol: Symbol, figures: int) -> str:
    """The value of a symbol with its unit, as it is put into a formula."""
    return amount(operand(symbol, figures), symbol.unit).latex


def number(symbol: Symbol, figures: int) -> str:
    """The value of a symbol without its unit, for a column of a table."""
    return amount(operand(symbol, figures), "").latex


def result(value: float, unit: str, figures: int) -> str:
    """A value rounded for the reader, with its unit."""
    return amount(rounded(value, figures), unit).latex


def working(equations: Sequence[Equation], figures: int) -> str:
    """Equations below one another as one block, aligned at the signs; ``figures`` of its results.

    In front of the signs there is room for the widest left side that isn't on a row of its own.
    """
    lefts = [width(Printer().print(equation.left)) for equation in equations]
    before = [
        left if left <= _NARROW or _is_one_row(equation, 0.0) else 0.0
        for left, equation in zip(lefts, equations, strict=True)
    ]
    column = max(before, default=0.0)
    lines = [row for equation in equations for row in _rows(equation, figures, column)]
    return "\\begin{aligned}\n" + " \\\\\n".join(lines) + "\n\\end{aligned}"


class _Side(NamedTuple):
    sign: str
    fragments: list[Fragment]


def _rows(equation: Equation, figures: int, column: float) -> list[str]:
    """The rows of an equation; ``column``: the width of the left sides, em."""
    left = Printer().print(equation.left)
    room = ROOM - max(column, width(left) if width(left) <= _NARROW else 0.0) - OPERATOR
    sides = _sides(equation, figures, room)
    if _is_one_row(equation, column):
        lines = [" ".join(row for side in sides for row in _broken(side, ROOM))]
    else:
        lines = [row for side in sides for row in _broken(side, room)]
        if width(left) > _NARROW:
            wide = _Side("", Printer(ROOM).print(equation.left))
            return [f"&{row}" for row in (*_broken(wide, ROOM), *lines)]
    return [f"{joined(left)} &{lines[0]}", *(f"&{row}" for row in lines[1:])]


def _is_one_row(equation: Equation, column: float) -> bool:
    """Whether an equation in symbols fits one row, its left side in a column of this width."""
    forms = (equation.right, *equation.forms)
    left, *sides = (width(Printer().print(form)) for form in (equation.left, *forms))
    return not equation.numbers and max(left, column) + sum(sides) + len(sides) * OPERATOR <= ROOM


def _sides(equation: Equation, figures: int, room: float) -> list[_Side]:
    """Everything that follows the left side, each with its sign."""
    forms = (equation.right, *equation.forms)
    sides = [_Side("=", Printer(room).print(form)) for form in forms]
    if not equation.numbers:
        return sides
    named = equation.left if isinstance(equation.left, Symbol) else None
    unit = equation.unit or (named.unit if named else "")
    value = _agreed_value(equation) / SCALE.get(unit, 1.0)
    ends = _result_sides(value, unit, (named.figures if named else None) or figures)
    if equation.boxed:
        ends[-1] = _boxed(ends[-1])
    last = forms[-1]
    if equation.right == equation.left:  # a value that no formula on the page gives
        return _on_one_row(ends, room)
    if not any(symbols_in(last)):
        return [*sides[:-1], *_on_one_row(ends, room)]  # a number as it stands: it lacks its unit
    with_numbers = _Side("=", Printer(room, figures).print(last))
    if isinstance(last.body if isinstance(last, Negative) else last, Symbol):
        # its number is the result, but for the rounding
        return [*sides, *_on_one_row([with_numbers, *ends[1:]], room)]
    return [*sides, with_numbers, *_on_one_row(ends, room)]


def _agreed_value(equation: Equation) -> float:
    """The value that all sides of an equation share."""
    forms = (equation.right, *equation.forms)
    values = [evaluate(form) for form in forms]
    with suppress(ValueMissingError):  # what an equation defines may have no value of its own
        values.append(evaluate(equation.left))
    if max(values) - min(values) > _AGREE * max(map(_size, forms)):
        raise UnequalSidesError(f"{latex(equation.left)}: {values}")
    return values[len(forms) - 1]


def _size(tree: Expression) -> float:
    """The size of a tree's terms, which cancelling doesn't make smaller."""
    match tree:
        case Sum() | Negative():
            return sum(map(_size, children(tree)))
        case Product():
            return math.prod(map(_size, children(tree)))
        case Quotient(top=top, bottom=bottom):
            return _size(top) / abs(evaluate(bottom))
    return abs(evaluate(tree))


def _result_sides(value: float, unit: str, figures: int) -> list[_Side]:
    """A result with guard digits, then rounded; an exact one is printed once."""
    printed = guarded(value, figures)
    sides = [_Side("=", [amount(printed, unit)])]
    if printed.marked:
        sides.append(_Side("≈", [amount(rounded(value, figures), unit)]))
    return sides


def _boxed(side: _Side) -> _Side:
    """A result of its step in a box."""
    (end,) = side.fragments
    box = replace(end, latex=rf"\boxed{{{end.latex}}}", width=end.width + _FRAME)
    return side._replace(fragments=[box])


def _on_one_row(sides: list[_Side], room: float) -> list[_Side]:
    """The sides as a single one, with the later signs inside, where that fits."""
    head, *tail = sides
    parts = list(head.fragments)
    for side in tail:
        parts += prefixed(side.fragments, f"{SIGNS[side.sign]} ", OPERATOR, 0)
    return [head._replace(fragments=parts)] if width(parts) <= room else sides


def _broken(side: _Side, room: float) -> list[str]:
    """A side as rows: the first with its sign, the others indented."""
    first, *rest = rows(side.fragments, room)
    sign = f"{SIGNS[side.sign]} " if side.sign else ""
    return [f"{sign}{joined(first)}", *(rf"\quad {{}}{joined(row)}" for row in rest)]
