r"""Formulas in LaTeX: a tree's symbols, its numbers with units, and the rows of a worked equation.

Takes trees, relations and equations; gives LaTeX that both the site's converter and plot labels
understand. Rounding is ``rounding``'s, row breaks are ``layout``'s.
"""

from collections.abc import Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass, replace

from fallwork.lesson import letters
from fallwork.lesson.document import Equation, Relation
from fallwork.lesson.expression import (
    SCALE,
    Expression,
    Negative,
    Product,
    Quotient,
    Ref,
    Sum,
    Symbol,
    ValueMissingError,
    evaluate,
    symbols_in,
)
from fallwork.lesson.layout import OPERATOR, Fragment, joined, prefixed, rows, width
from fallwork.lesson.plain import plain as plain  # the third way to write a formula
from fallwork.lesson.printer import Printer, amount, leaf, operand
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
    "→": r"\to",  # of a limiting case: says what happens, not what is
}


class UnequalSidesError(Exception):
    """The sides of one equation have different values: a fault of the program."""


def latex(formula: Expression | Symbol | Relation) -> str:
    """A formula in symbols, on one row."""
    if isinstance(formula, Symbol):
        return letters.letter(formula).latex
    return joined(_formula(formula, Printer(room=float("inf"))))


def numbers(tree: Expression, figures: int) -> str:
    """A formula with every symbol replaced by its number and unit, on one row."""
    return joined(Printer(room=float("inf"), figures=figures).print(tree))


def quantity(symbol: Symbol, figures: int) -> str:
    """The value of a symbol with its unit, as it is put into a formula."""
    return leaf(symbol, figures).latex


def number(symbol: Symbol, figures: int) -> str:
    """The value of a symbol without its unit, for a column of a table."""
    printed, marked = operand(symbol, figures)
    return amount(printed, "", marked=marked).latex


def result(value: float, unit: str, figures: int) -> str:
    """A result (in that unit) with guard digits, then rounded; exact ones are printed once."""
    (side,) = _on_one_row(_result_sides(value, unit, figures), float("inf"))
    return joined(side.fragments)


def equation_rows(equation: Equation, figures: int, column: float = 0.0) -> tuple[str, ...]:
    """The rows of an equation, aligned at the signs; ``figures`` counts for its numbers alone.

    ``column`` (em) is the width of the widest left side in the same block.
    """
    left = Printer(room=float("inf")).print(equation.left)
    narrow = width(left) <= _NARROW
    column = max(column, width(left)) if narrow else column
    room = ROOM - column - OPERATOR
    sides = _sides(equation, figures, room)
    if _is_one_row(equation, column):
        right = " ".join(row for side in sides for row in _broken(side, ROOM))
        lines = [f"{joined(left)} &{right}"]
        sides = []
    elif narrow:
        first, *rest = _broken(sides[0], room)
        lines = [f"{joined(left)} &{first}", *(f"&{row}" for row in rest)]
        sides = sides[1:]
    else:
        left = Printer(room=ROOM).print(equation.left)
        lines = [f"&{row}" for row in _broken(_Side(sign="", fragments=left), ROOM)]
    return (*lines, *(f"&{row}" for side in sides for row in _broken(side, room)))


def working(equations: Sequence[Equation], figures: int) -> str:
    """Equations below one another as one aligned block."""
    column = max((_in_column(equation) for equation in equations), default=0.0)
    lines = [row for equation in equations for row in equation_rows(equation, figures, column)]
    return "\\begin{aligned}\n" + " \\\\\n".join(lines) + "\n\\end{aligned}"


def _in_column(equation: Equation) -> float:
    """The width of a left side that stands before the sign; 0 where it has a row of its own."""
    left = width(Printer(room=float("inf")).print(equation.left))
    return left if left <= _NARROW or _is_one_row(equation, 0.0) else 0.0


def _is_one_row(equation: Equation, column: float) -> bool:
    """Whether an equation in symbols fits one row, its left side in a column of this width."""
    if equation.numbers:
        return False
    printer = Printer(room=float("inf"))
    sides = [printer.print(form) for form in (equation.left, equation.right, *equation.forms)]
    before = max(0.0, column - width(sides[0]))
    return before + sum(width(side) + OPERATOR for side in sides) <= ROOM + OPERATOR


@dataclass(frozen=True, kw_only=True)
class _Side:
    sign: str
    fragments: list[Fragment]


def _sides(equation: Equation, figures: int, room: float) -> list[_Side]:
    """Everything that follows the left side, each with its sign."""
    symbolic = Printer(room=room)
    forms = (equation.right, *equation.forms)
    sides = [_Side(sign="=", fragments=symbolic.print(form)) for form in forms]
    if not equation.numbers:
        return sides
    if equation.right == equation.left:  # a value that no formula on the page gives
        ends = _result_sides(_own_value(equation), equation.unit, figures)
        return _on_one_row(_boxed(ends, equation), room)
    last = forms[-1]
    named = equation.left.symbol if isinstance(equation.left, Ref) else None
    unit = equation.unit or (named.unit if named else "")
    value = _agreed_value(equation) / SCALE.get(unit, 1.0)
    own = (named.figures if named else None) or figures
    ends = _boxed(_result_sides(value, unit, own), equation)
    outcome = _on_one_row(ends, room)
    if not any(symbols_in(last)):
        return [*sides[:-1], *outcome]  # a number as it stands: only its unit is missing
    with_numbers = Printer(room=room, figures=figures).print(last)
    bare = last.body if isinstance(last, Negative) else last
    if isinstance(bare, Ref):  # its number is the result, but for the rounding
        nearly = ends[1:]
        same = _Side(sign="=", fragments=with_numbers)
        return [*sides, *_on_one_row([same, *nearly], room)]
    return [*sides, _Side(sign="=", fragments=with_numbers), *outcome]


def _own_value(equation: Equation) -> float:
    return evaluate(equation.left) / SCALE.get(equation.unit, 1.0)


def _agreed_value(equation: Equation) -> float:
    """The value that all sides of an equation share."""
    forms = (equation.right, *equation.forms)
    values = [evaluate(form) for form in forms]
    with suppress(ValueMissingError):  # what an equation defines may have no value of its own
        values.append(evaluate(equation.left))
    size = max(_size(form) for form in forms)
    if max(values) - min(values) > _AGREE * size:
        raise UnequalSidesError(f"{equation.name or latex(equation.left)}: {values}")
    return values[len(forms) - 1]


def _size(tree: Expression) -> float:
    """The size of a tree's terms, which cancelling doesn't make smaller."""
    match tree:
        case Sum(terms=terms):
            return sum(_size(term) for term in terms)
        case Negative(body=body):
            return _size(body)
        case Product(factors=factors):
            total = 1.0
            for factor in factors:
                total *= _size(factor)
            return total
        case Quotient(top=top, bottom=bottom):
            return _size(top) / abs(evaluate(bottom))
    return abs(evaluate(tree))


def _result_sides(value: float, unit: str, figures: int) -> list[_Side]:
    printed, marked = guarded(value, figures)
    sides = [_Side(sign="=", fragments=[amount(printed, unit, marked=marked)])]
    if marked:
        sides.append(_Side(sign="≈", fragments=[amount(rounded(value, figures), unit)]))
    return sides


def _boxed(sides: list[_Side], equation: Equation) -> list[_Side]:
    """The last of the sides in a box, where the equation is a result of its step."""
    if not equation.boxed:
        return sides
    *before, last = sides
    (end,) = last.fragments
    box = replace(end, latex=rf"\boxed{{{end.latex}}}", width=end.width + _FRAME)
    return [*before, replace(last, fragments=[box])]


def _on_one_row(sides: list[_Side], room: float) -> list[_Side]:
    """The sides as a single one, with the later signs inside, where that fits."""
    head, *tail = sides
    parts = list(head.fragments)
    for side in tail:
        parts += prefixed(side.fragments, SIGNS[side.sign], OPERATOR, 0)
    return [_Side(sign=head.sign, fragments=parts)] if width(parts) <= room else sides


def _broken(side: _Side, room: float) -> list[str]:
    """A side as rows: the first with its sign, the others indented."""
    first, *rest = rows(side.fragments, room)
    sign = f"{SIGNS[side.sign]} " if side.sign else ""
    return [f"{sign}{joined(first)}", *(rf"\quad {{}}{joined(row)}" for row in rest)]


def _formula(formula: Expression | Relation, printer: Printer) -> list[Fragment]:
    if isinstance(formula, Expression):
        return printer.print(formula)
    parts = printer.print(formula.sides[0])
    for sign, side in zip(formula.signs, formula.sides[1:], strict=True):
        parts += prefixed(printer.print(side), SIGNS[sign], OPERATOR, 0)
    return parts
