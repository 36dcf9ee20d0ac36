"""The lists of a lesson page: givens, symbols, and the slips of a step.

Takes a lesson; gives Markdown tables and lines. Rounding and the signs of units are the lesson's.
"""

import re
from collections.abc import Iterable, Iterator, Sequence

from markupsafe import Markup

from fallwork.lesson.document import Given, Inline, Lesson, Relation, Slip
from fallwork.lesson.expression import Expression, Symbol, symbols_in
from fallwork.lesson.latex import latex, number, quantity, result
from fallwork.lesson.layout import plain_unit
from fallwork.lesson.printer import operand
from fallwork.pages.blocks import formula, pipe_table, text
from fallwork.pages.escape import plain

_SYMBOLS = "Each symbol with its meaning"
_SYMBOL_HEAD = ("Symbol", "Meaning", "Unit")


def givens(lesson: Lesson) -> Markup:
    """What is given, as its author wrote it and in SI units."""
    head = ("Quantity", "Given", "In SI units")
    return table("Given values and their SI form", head, _given_rows(lesson))


def givens_to_fill(lesson: Lesson) -> Markup:
    """The same with a cell for the reader's own value of each."""
    head = ("Quantity", "Given", "In SI units", "Yours")
    rows = [[*row, Markup("")] for row in _given_rows(lesson)]
    return table("Given values, their SI form, and those of your own bench", head, rows)


def _given_rows(lesson: Lesson) -> list[list[Markup]]:
    return [
        [
            _given_name(given),
            plain(_kept_together(given.as_written)),
            plain(given.in_si),
        ]
        for given in lesson.givens
    ]


def _given_name(given: Given) -> Markup:
    if given.symbol is None:
        return plain(given.meaning)
    return Markup(f"{plain(given.meaning)}, {formula(latex(given.symbol))}")


def _kept_together(amount: str) -> str:
    """The same with no line break between a number and its unit."""
    return re.sub(r"(?<=\d) (?=[^\W\d])", "\u00a0", amount)


def symbols(lesson: Lesson, digits: int) -> Markup:
    """Every symbol of a lesson page, with its value where the lesson has numbers."""
    if lesson.kind == "symbols":
        return _symbol_table(lesson.symbols)
    rows = [[*_symbol_row(symbol), _value(symbol, digits)] for symbol in lesson.symbols]
    return table(_SYMBOLS, (*_SYMBOL_HEAD, "Value"), rows)


def overview_symbols(lesson: Lesson) -> Markup:
    """Every symbol that stands on a lab's overview, in the order of the page."""
    texts = (lesson.summary, *lesson.find)
    used = [
        *(symbol for each in texts for part in each for symbol in _symbols_of(part)),
        *(given.symbol for given in lesson.givens if given.symbol is not None),
        *(symbol for each in lesson.safety for part in each for symbol in _symbols_of(part)),
    ]
    return _symbol_table(dict.fromkeys(used))


def _symbols_of(part: Inline) -> Iterator[Symbol]:
    if isinstance(part, Relation):
        for side in part.sides:
            yield from symbols_in(side)
    elif isinstance(part, Expression):
        yield from symbols_in(part)


def _symbol_table(used: Iterable[Symbol]) -> Markup:
    return table(_SYMBOLS, _SYMBOL_HEAD, [_symbol_row(symbol) for symbol in used])


def _symbol_row(symbol: Symbol) -> list[Markup]:
    return [formula(latex(symbol)), plain(symbol.meaning), _unit(symbol.unit)]


def slip_line(slip: Slip, digits: int) -> Markup:
    """A slip with its wrong formula and, in numbers, what comes out.

    No equals sign stands between the symbol and the formula, because they are not equal.
    """
    line = (
        f"{text(slip.done)} This makes {formula(latex(slip.of))} come out as "
        f"{formula(latex(slip.formula))}"
    )
    if slip.value is not None:
        line += f", here {formula(result(slip.value, slip.unit, digits))}"
    return Markup(f"{line}.")


def guard_sample(lesson: Lesson, digits: int) -> Markup:
    """How a number with guard digits looks: the first one of the page; empty where it has none."""
    for symbol in lesson.symbols:
        if symbol.value is not None and operand(symbol, digits).marked:
            return formula(quantity(symbol, digits))
    return Markup("")


def _unit(unit: str) -> Markup:
    return plain(plain_unit(unit).strip() or "none (a number)")


def _value(symbol: Symbol, digits: int) -> Markup:
    """Empty where a symbol has no value of its own, as one for any moment of the run."""
    if symbol.value is None and not symbol.written:
        return Markup("")
    return formula(number(symbol, digits))


def table(caption: str, head: Sequence[str], rows: Iterable[Sequence[str]]) -> Markup:
    """A table of plain words, or of what is finished."""
    lines = (
        [each if isinstance(each, Markup) else plain(each) for each in r] for r in (head, *rows)
    )
    first, *others = lines
    return pipe_table(plain(caption), first, others)
