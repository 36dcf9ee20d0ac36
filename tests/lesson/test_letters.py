"""One letter, one meaning: no page has a letter or a subscript that stands for two things."""

import re
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import pytest

from fallwork.lesson import Lesson
from fallwork.lesson.lab.symbols import fixed_marks
from fallwork.lesson.measured import report_lesson
from lesson.kit import DEMO, ZOO, lesson_of, scenario_of
from lesson.measured import kit

EVERY = pytest.mark.parametrize(
    "path", sorted([*ZOO.glob("*.yaml"), *DEMO.glob("*.yaml")]), ids=lambda path: path.stem
)
OF_A_QUANTITY = {"u", "s", "k", "L", "p"}  # uncertainty and so on: they have their quantity's unit
ROMAN = {"II", "III", "IV", "V", "VI"}


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
    return dict(kit.context(scenario_of(path), numbers=False).marks)


@EVERY
def test_a_letter_and_a_subscript_mean_one_thing_in_a_lab(path: Path) -> None:
    marks = marks_of(path)
    report = report_lesson(kit.context(scenario_of(path), numbers=False), kit.RUBRIC)
    for lesson in (lesson_of(path, numbers=False), lesson_of(path, numbers=True), report):
        assert list(complaints(lesson, marks)) == []
    assert len(set(marks.values())) == len(marks)
    assert not {*marks.values()} & {*fixed_marks(), *ROMAN}


@pytest.mark.parametrize("name", ["level-track", "two-weights", "train", "heavy-pulley"])
def test_a_letter_means_one_thing_beside_the_trials_too(name: str) -> None:
    path = DEMO / f"{name}.yaml"
    scenario = scenario_of(path)
    evidence = kit.judged(scenario, kit.trials_of(scenario, count=5))
    for lesson in (kit.data(scenario, evidence), kit.solution(scenario, evidence)):
        assert list(complaints(lesson, marks_of(path))) == []


def test_the_check_finds_a_letter_with_two_meanings() -> None:
    lesson = lesson_of(DEMO / "level-track.yaml", numbers=False)
    mass = next(symbol for symbol in lesson.symbols if symbol.id == "mass.cart")
    others = {
        "two meanings": replace(mass, meaning="mass of the string"),
        "two units": replace(mass, subscript="h", unit="m"),
        "a mark of nothing": replace(mass, subscript="q"),
    }
    marks = marks_of(DEMO / "level-track.yaml")
    for case, other in others.items():
        spoilt = replace(lesson, symbols=(mass, other), givens=())
        assert len(list(complaints(spoilt, marks))) == 1, case
