r"""Formulas in LaTeX: a tree's symbols, its numbers with units, and the rows of a worked equation.

Takes trees, relations and equations; gives LaTeX, and plain text. Rounding is ``rounding``'s. A
displayed formula says where its rows may break; the page breaks them for the width that it has.
"""

import math
from collections.abc import Mapping, Sequence
from contextlib import suppress

from fallwork.lesson.document import Equation, Marked, Relation, Text
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
from fallwork.lesson.printer import MARK, UNMARKED, Marks, Plain, Printer, amount, operand, unbroken
from fallwork.lesson.rounding import as_written, guarded, rounded

STACKED = 30  # signs above or below a bar or under a root; more go on a row that can break
_AGREE = 1e-9  # relative; forms of one equation that differ by more are different equations

_LATEX = r"= \approx \lt \gt \le \ge \ll \gg \to"  # the last of a limiting case
SIGNS: Mapping[str, str] = dict(zip("=≈<>≤≥≪≫→", _LATEX.split(), strict=True))


class UnequalSidesError(Exception):
    """The sides of one equation have different values: a fault of the program."""


def latex(formula: Expression | Relation) -> str:
    """A formula in symbols, on one row."""
    return unbroken(_joined(formula, Printer(), SIGNS))


def plain(formula: Expression | Relation) -> str:
    """A formula in symbols in plain text, e.g. ``m_w g/(m_c + m_w)``, where there is no LaTeX."""
    return _joined(formula, Plain(), {sign: sign for sign in SIGNS})


def plainly(text: Text) -> str:
    """A sentence in plain text, with its formulas."""
    words = (part.words if isinstance(part, Marked) else part for part in text)
    return "".join(part if isinstance(part, str) else plain(part) for part in words)


def _joined(formula: Expression | Relation, printer: Printer, signs: Mapping[str, str]) -> str:
    if not isinstance(formula, Relation):
        return printer.print(formula)
    first, *others = map(printer.print, formula.sides)
    pairs = zip(formula.signs, others, strict=True)
    return first + "".join(f" {signs[sign]} {other}" for sign, other in pairs)


def number(symbol: Symbol, figures: int, marks: Marks = UNMARKED) -> str:
    """The value of a symbol without its unit, for a column of a table."""
    return amount(operand(symbol, figures), "", marks.get(symbol.id, ""))


def result(value: float, unit: str, figures: int, mark: str = "") -> str:
    """A value rounded for the reader, with its unit."""
    return amount(rounded(value, figures), unit, mark)


def working(equations: Sequence[Equation], figures: int, marks: Marks = UNMARKED) -> str:
    """Equations below one another, aligned at their signs; a long left side on its own row."""
    lines = []
    for equation in equations:
        left = Printer(STACKED).print(equation.left)
        first, *others = (f" {MARK}".join(sides) for sides in _sides(equation, figures, marks))
        lines.append(f"&{left} {MARK}{first}" if MARK in left else f"{left} &{first}")
        lines += [f"&{row}" for row in others]
    return "\\begin{aligned}\n" + " \\\\\n".join(lines) + "\n\\end{aligned}"


def _sides(equation: Equation, figures: int, marks: Marks) -> list[list[str]]:
    """Everything that follows the left side, each with its sign, row by row."""
    forms = (equation.right, *equation.forms)
    sides = [f"= {Printer(STACKED).print(form)}" for form in forms]
    if not equation.numbers:
        return [[*sides[:-1], _boxed(sides[-1])] if equation.boxed else sides]
    named = equation.left if isinstance(equation.left, Symbol) else None
    unit, last = equation.in_unit, equation.last
    value = _agreed_value(equation) / SCALE.get(unit, 1.0)
    to = (named.figures if named else None) or figures
    of_givens = named and isinstance(last, Sum) and named.written
    printed = as_written(of_givens) if of_givens else guarded(value, to)
    exact, short = (marks.get((equation.left, last, rounds), "") for rounds in (False, True))
    ends = [f"= {amount(printed, unit, exact)}"]
    if printed.marked:  # with guard digits, then rounded; an exact one is printed once
        ends.append(rf"\approx {result(value, unit, to, short)}")
    if equation.boxed:
        ends[-1] = _boxed(ends[-1])
    if equation.right == equation.left:  # a value that no formula on the page gives
        return [ends]
    before = [[side] for side in sides]
    if not any(symbols_in(last)):
        return [*before[:-1], ends]  # a number as it stands: it lacks its unit
    with_numbers = f"= {Printer(STACKED, figures, marks if exact else UNMARKED).print(last)}"
    if isinstance(last.body if isinstance(last, Negative) else last, Symbol):
        # its number is the result, but for the rounding
        return [*before, [with_numbers, *ends[1:]]]
    return [*before, [with_numbers], ends]


def _agreed_value(equation: Equation) -> float:
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


def _boxed(side: str) -> str:
    sign, _, body = side.partition(" ")
    return rf"{sign} \boxed{{{body}}}"
