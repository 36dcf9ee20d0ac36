"""Every equation of every lesson: its sides agree, as the printer sees; a letter is one thing."""

import re
from collections import Counter
from collections.abc import Iterator
from pathlib import Path

import pytest

from democourse import long_train
from fallwork.lesson import document, measured
from fallwork.lesson.document import Lesson
from fallwork.lesson.expression import Symbol
from fallwork.lesson.lab.symbols import fixed_marks
from fallwork.lesson.latex import latex
from lesson.kit import (
    DEMO,
    by_set_up,
    equations,
    everything,
    lab_of,
    lesson_from,
    lesson_of,
    printed,
    scenario_from,
    scenario_of,
    solved,
)
from lesson.measured import kit
from lesson.measured.kit import prose, with_folds
from mechanics.scenes import random_scene

both = pytest.mark.parametrize("numbers", [True, False], ids=["numbers", "symbols"])
OF_A_QUANTITY = {"u", "s", "k", "L", "p"}  # uncertainty and so on: they have their quantity's unit
ROMAN = {"II", "III", "IV", "V", "VI"}


def symbols_in(part: object) -> list[Symbol]:
    return [found for found in everything(part) if isinstance(found, Symbol)]


def printed_names(lesson: Lesson) -> Counter[str]:
    return Counter(latex(symbol) for symbol in lesson.symbols)


@by_set_up
@both
def test_every_equation_can_be_printed_and_every_symbol_is_listed_once(path, numbers):
    lesson = lesson_of(path, numbers=numbers)
    assert printed(lesson).count("=") >= 2
    assert max(printed_names(lesson).values()) == 1
    page = (lesson.summary, lesson.find, lesson.steps, lesson.safety)
    assert set(symbols_in((page, lesson.givens if numbers else ()))) <= set(lesson.symbols)


@by_set_up
def test_a_lesson_in_symbols_has_the_steps_and_limits_of_the_other_and_no_value(path):
    """Half of the way, in a table of energies, is written with its unit but no number."""
    lesson, worked = (lesson_of(path, numbers=numbers) for numbers in (False, True))
    assert [s for s in symbols_in(lesson) if s.value is not None or s.written] == []
    assert not any(equation.numbers for equation in equations(lesson))
    assert [s for step in lesson.steps for s in step.slips if s.value is not None] == []
    assert [step.id for step in lesson.steps] == [step.id for step in worked.steps]
    cells = [str(part) for table in tables_in(lesson) for part in everything(table)]
    assert [cell for cell in cells if cell.endswith(("\u00a0J", "\u00a0N", "\u00a0m/s"))] == []
    limits = [lab_of(path, numbers=numbers).limits for numbers in (False, True)]
    assert [(limit.id, len(limit.claims)) for limit in limits[0]] == [
        (limit.id, len(limit.claims)) for limit in limits[1]
    ]


@by_set_up
def test_nothing_is_said_twice_and_a_stop_catches_what_runs_on(path):
    # A question is answered once on a page, a step tells one mistake a value where it works it out.
    lesson = lesson_of(path, numbers=True)
    asked = [question.id for step in lesson.steps for question in step.questions]
    assert len(asked) == len(set(asked))
    for step in lesson.steps:
        values = [(slip.of.id, f"{slip.value:.6e}") for slip in step.slips]
        assert len(values) == len(set(values)), step.id
        assert not step.slips or any(each.result for each in step.equations), step.id
    assert not [
        cell for table in tables_in(lesson) for cell in everything(table) if "…" in str(cell)
    ]
    # Where something runs against the end after a landing, a stop catches it.
    step = next((step for step in lesson.steps if step.id == "after-landing"), None)
    last = solved(path)[2].phases[-1]
    if step is not None and last.ends is not None and last.ends.ending.value == "reaches":
        assert "an end stop has to catch" in prose(step)


def tables_in(lesson: Lesson) -> list[document.Table]:
    return [part for part in everything(lesson.steps) if isinstance(part, document.Table)]


@pytest.mark.parametrize("carts", [0, 18])
def test_the_other_systems_are_few_and_telling(carts, tmp_path):
    """In a lab of the demo course, and with twenty objects."""
    file = DEMO / "level-track.yaml"
    if carts:
        file = tmp_path / "train.yaml"
        file.write_text(long_train(carts), "utf-8")
    (found,) = (s for s in lesson_of(file, numbers=True).steps if s.id == "other-systems")
    (table,) = [block for block in with_folds(found) if isinstance(block, document.Table)]
    assert 3 <= len({"".join(map(str, row[0])) for row in table.rows}) == len(table.rows) <= 8
    assert max(len(cell) for row in table.rows for cell in row) <= 24  # pieces of a cell
    assert "further choices" in prose(found)


def test_a_pulley_that_stays_at_rest_is_not_said_to_turn():
    """A drum whose string is slack from the start, beside motions that go on."""
    lesson = lesson_from(scenario_from(random_scene("composite", 147, static=True).apparatus))
    assert "holding-pulley6" in {step.id for step in lesson.steps}
    turning = {s.id for s in lesson.symbols if "angle" in s.id or "spin" in s.id}
    assert turning == {"angle.pulley8", "spin.pulley8"}


# ---- letters
def complaints(lesson: Lesson, marks: dict[str, str]) -> Iterator[str]:
    """Letters with two meanings or units, and subscripts that nothing explains."""
    meanings: dict[tuple[str, str], str] = {}
    units: dict[str, str] = {}
    given = [each.symbol for each in lesson.givens if each.symbol is not None]
    for symbol in dict.fromkeys([*lesson.symbols, *given]):
        name = (symbol.letter, symbol.subscript)
        if meanings.setdefault(name, symbol.meaning) != symbol.meaning:
            yield f"{name}: {meanings[name]}; {symbol.meaning}"
        letter = symbol.letter.removeprefix("Delta ")
        of_another = letter in OF_A_QUANTITY and symbol.id.startswith("measured.")
        unit = "that of its quantity" if of_another else symbol.unit
        if units.setdefault(letter, unit) != unit:
            yield f"{letter} in {units[letter]!r} and {unit!r}: {symbol.meaning}"
        for mark in filter(None, re.split("[,+]", symbol.subscript)):
            known = {*fixed_marks(), *marks.values(), *ROMAN}
            if mark not in known and not re.fullmatch("[0-9]+|sys[0-9]", mark):
                yield f"{mark} in {name} has no meaning: {symbol.meaning}"


def marks_of(path: Path) -> dict[str, str]:
    return dict(lab_of(path, numbers=False).marks)


@by_set_up
def test_a_letter_and_a_subscript_mean_one_thing_in_a_lab(path):
    marks = marks_of(path)
    report = measured.report_lesson(lab_of(path, numbers=False), kit.RUBRIC)
    for lesson in (lesson_of(path, numbers=False), lesson_of(path, numbers=True), report):
        assert list(complaints(lesson, marks)) == []
    assert len(set(marks.values())) == len(marks)
    assert not {*marks.values()} & {*fixed_marks(), *ROMAN}


@pytest.mark.parametrize("name", ["level-track", "two-weights", "train", "heavy-pulley"])
def test_a_letter_means_one_thing_beside_the_trials_too(name):
    path = DEMO / f"{name}.yaml"
    scenario = scenario_of(path)
    evidence = kit.judged(scenario, kit.trials_of(scenario, count=5))
    for lesson in (kit.data(scenario, evidence), kit.solution(scenario, evidence)):
        assert list(complaints(lesson, marks_of(path))) == []
