"""The results and the slips of a lesson as tables for those who answer and mark.

Takes a lesson with numbers; gives Markdown.
"""

from dataclasses import dataclass

from markupsafe import Markup

from fallwork.lesson.answers import Following, Found, following, results, slips
from fallwork.lesson.document import Lesson
from fallwork.lesson.expression import Symbol
from fallwork.lesson.latex import latex, result
from fallwork.lesson.rounding import rounded
from fallwork.pages.blocks import formula, text
from fallwork.pages.escape import plain
from fallwork.pages.lists import table

_SEVERAL = 2
_SAME = 1e-9  # relative; a value that differs by less is the same


def answer_table(lesson: Lesson, digits: int) -> Markup:
    """Each result with the range that is accepted for it, and the step that works it out."""
    rows = [
        [_named(one.of), _amount(one, digits), _range(one, digits), _step_link(one)]
        for one in results(lesson)
    ]
    return table("Answers", ("Quantity", "Value", "Accepted", "Step"), rows)


def lookup_table(lesson: Lesson, digits: int) -> Markup:
    """Every number that somebody may bring, right ones and slips, the smallest size first."""
    known = sorted((*results(lesson), *slips(lesson)), key=lambda one: abs(one.value))
    rows = [[_amount(one, digits), _named(one.of), _done(one), _step_link(one)] for one in known]
    return table("Numbers that come up", ("Number", "Of", "What was done", "Step"), rows)


def slip_table(lesson: Lesson, digits: int) -> Markup:
    """What slips give, in the order of the steps."""
    rows = [
        [_named(one.of), _amount(one, digits), _done(one), _step_link(one)] for one in slips(lesson)
    ]
    return table("Slips", ("Quantity", "Gives", "What was done", "Step"), rows)


@dataclass(frozen=True, kw_only=True)
class Carried:
    """What follows from the wrong values of one quantity."""

    of: Markup
    table: Markup
    symbols: tuple[Markup, ...]  # what stands in the heads


def carried_on(lesson: Lesson, digits: int) -> Carried | None:
    """For the slips in the acceleration, or else in the first quantity from which several other
    results are worked out; None where there is no such quantity.
    """
    groups: dict[str, list[Found]] = {}
    for slip in slips(lesson):
        groups.setdefault(slip.of.id, []).append(slip)
    order = sorted(groups.values(), key=lambda group: group[0].of.unit != "m/s²")
    tables = (_consequences(lesson, group) for group in order)
    first = next((table for table in tables if len(table.columns) >= _SEVERAL), None)
    if first is None:
        return None
    symbols = (first.of, *first.columns.values())
    rows = {
        wrong: [wrong, *(_carried(each, values, digits) for each in first.columns)]
        for slip, values in first.rows
        if (wrong := _amount(slip, digits))
    }
    caption = f"What follows from a wrong {first.of.meaning}"
    head = [formula(latex(symbol)) for symbol in symbols]
    return Carried(
        of=_named(first.of),
        table=table(caption, head, rows.values()),
        symbols=tuple(_named(symbol) for symbol in symbols[1:]),
    )


@dataclass(frozen=True, kw_only=True)
class _Consequences:
    of: Symbol
    columns: dict[str, Symbol]  # what changes, in the order of the steps
    rows: list[tuple[Found, dict[str, Following]]]


def _consequences(lesson: Lesson, group: list[Found]) -> _Consequences:
    columns: dict[str, Symbol] = {}
    rows: list[tuple[Found, dict[str, Following]]] = []
    for slip in group:
        first: dict[str, Following] = {}
        for one in following(lesson, {slip.of.id: slip.value}):
            first.setdefault(one.of.id, one)
        changed = {key: one for key, one in first.items() if _differs(one)}
        columns |= {key: one.of for key, one in changed.items()}
        rows.append((slip, changed))
    order = [found.of.id for found in results(lesson) if found.of.id in columns]
    return _Consequences(of=group[0].of, columns={key: columns[key] for key in order}, rows=rows)


def _differs(one: Following) -> bool:
    return abs(one.value - one.instead_of) > _SAME * max(abs(one.value), abs(one.instead_of))


def _carried(key: str, values: dict[str, Following], digits: int) -> Markup:
    """Empty where the slip changes nothing."""
    one = values.get(key)
    if one is None:
        return Markup("")
    return formula(result(one.value, one.of.unit, digits))


def _named(symbol: Symbol) -> Markup:
    return Markup(f"{plain(symbol.meaning)}, {formula(latex(symbol))}")


def _done(one: Found) -> Markup:
    return Markup("This is right.") if one.slip is None else text(one.slip.done)


def _amount(one: Found, digits: int) -> Markup:
    return formula(result(one.value, one.unit, one.figures(digits)))


def _range(one: Found, digits: int) -> Markup:
    share, figures = one.tolerance(digits), one.figures(digits)
    low, high = sorted(one.value * (1 + sign * share) for sign in (-1, 1))
    last = result(high, one.unit, figures)
    return Markup(f"{formula(rounded(low, figures).latex)} to {formula(last)}")


def _step_link(one: Found) -> Markup:
    return Markup(f"[{plain(one.step.title)}](solution.md#{one.step.id})")
