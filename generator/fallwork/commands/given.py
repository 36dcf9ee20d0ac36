"""What follows from values that a student has found, for marking: the option ``--given``.

Takes words such as ``tension=0.78 N`` and a scenario; gives rows for people and for programs.
"""

from collections.abc import Sequence
from typing import Any

from fallwork.commands.typed import AmountFormatError, UnknownQuantityError, named_by, read_amount
from fallwork.lesson import build_lesson
from fallwork.lesson.answers import results
from fallwork.lesson.document import Lesson
from fallwork.lesson.expression import Symbol
from fallwork.lesson.following import Following, following
from fallwork.lesson.plain import plain
from fallwork.lesson.rounding import to_figures
from fallwork.mechanics.apparatus import Apparatus
from fallwork.mechanics.solution import Solution
from fallwork.scenario import Scenario
from fallwork.scenario.report import shown


def what_follows(
    words: Sequence[str],
    scenario: Scenario,
    apparatus: Apparatus,
    solution: Solution,
    figures: int,
) -> tuple[tuple[tuple[Symbol, float], ...], tuple[Following, ...]]:
    """The values given, each with its symbol, and all that follows from them."""
    lesson = build_lesson(scenario, apparatus, solution, figures=figures, numbers=True)
    given = tuple(_given(word, lesson) for word in words)
    return given, following(lesson, {symbol.id: value for symbol, value in given})


def _given(word: str, lesson: Lesson) -> tuple[Symbol, float]:
    name, equals, text = word.partition("=")
    if not equals:
        raise AmountFormatError(f"no = in {shown(word)}", "write for example tension=0.78 N")
    known = [found.of for found in results(lesson)]
    meant = named_by(name, known)
    if len(meant) != 1:
        raise UnknownQuantityError(name.strip(), meant or known, several=bool(meant))
    (symbol,) = meant
    amount = read_amount(text)
    unit = symbol.unit.replace("·", " ")
    if amount.unit not in ("", unit):
        raise AmountFormatError(
            f"{shown(text.strip())} for the {symbol.meaning}", f"give it in {unit}"
        )
    return symbol, amount.value


def table(
    given: Sequence[tuple[Symbol, float]], found: Sequence[Following], figures: int
) -> list[str]:
    """Lines for people."""
    said = ", ".join(
        f"{plain(symbol)} = {value:g} {symbol.unit}".strip() for symbol, value in given
    )
    lines = ["", f"What follows from {said}"]
    for one in found:
        value, right = (to_figures(each, figures) for each in (one.value, one.instead_of))
        lines.append(
            f"  {one.of.meaning}: {value} {one.of.unit}".rstrip()
            + f" (in the key {right}), from {plain(one.formula)}, step {one.step.id}"
        )
    return lines if found else [*lines, "  nothing"]


def data(
    given: Sequence[tuple[Symbol, float]], found: Sequence[Following]
) -> dict[str, list[dict[str, Any]]]:
    """The same for programs, SI and unrounded."""
    return {
        "given": [
            {"quantity": symbol.id, "value": value, "unit": symbol.unit} for symbol, value in given
        ],
        "follows": [
            {
                "quantity": one.of.id,
                "value": one.value,
                "unit": one.of.unit,
                "formula": plain(one.formula),
                "step": one.step.id,
            }
            for one in found
        ],
    }
