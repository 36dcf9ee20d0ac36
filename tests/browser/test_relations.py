"""Relations between a student's numbers: right ones fit, whatever the variant; mistakes don't."""

import random
from collections.abc import Iterator, Mapping
from typing import Any

from playwright.sync_api import Page

from browser.reading import script
from fallwork import errors, mechanics
from fallwork.lesson import answers, expression, rounding, trees
from fallwork.lesson.build import build_lesson
from fallwork.lesson.document import Lesson, symbols_of
from fallwork.lesson.reworking import relations
from fallwork.scenario.numbers import overrides_from_words, quantities_of, with_numbers
from lesson.kit import GRAVITY, SET_UPS, lesson_of, scenario_of

JUDGED = script("judged")
Typed = Mapping[str, tuple[str, str]]


def typed(symbol: expression.Symbol, value: float, figures: int) -> tuple[str, str]:
    """As somebody writes it down."""
    return rounding.rounded(value, figures).text, symbol.unit


def numbers_of(lesson: Lesson, chance: random.Random, *figures: int) -> Typed:
    valued = (symbol for symbol in symbols_of(lesson) if symbol.value is not None)
    return {s.id: typed(s, s.value or 0.0, chance.choice(figures)) for s in valued}


def judged(scripts: Page, lesson: Lesson, *sets: Typed) -> list[list[bool | None]]:
    pairs = [[trees.as_data(side) for side in each.sides] for _, each in relations(lesson)]
    found: list[list[bool | None]] = scripts.evaluate(JUDGED, [pairs, list(sets)])
    return found


def variants(chance: random.Random, count: int) -> Iterator[tuple[Lesson, Lesson]]:
    """Set-ups with other numbers that the program takes, in symbols and with numbers."""
    while count:
        scenario = scenario_of(chance.choice(SET_UPS))
        new = []
        for path, q in quantities_of(scenario):
            number = float(q.number.replace(rounding.MINUS, "-")) * chance.uniform(0.75, 1.3)
            new.append(f"{path}={number:.6f} {q.unit}")
        try:
            other = with_numbers(scenario, overrides_from_words(new))
            apparatus = mechanics.apparatus_of(other, GRAVITY)
            made: Any = (other, apparatus, mechanics.solve(apparatus))
        except errors.FallworkError:
            continue
        count -= 1
        yield (
            build_lesson(*made, figures=3, numbers=False),
            build_lesson(*made, figures=3, numbers=True),
        )


def test_right_numbers_fit_however_they_are_rounded(scripts: Page, thorough: bool) -> None:
    chance, held = random.Random(4), 0
    for lesson, numbers in variants(chance, 1000 if thorough else 10):
        right = numbers_of(numbers, chance, 2, 3, 4)
        (verdicts,) = judged(scripts, lesson, right)
        assert False not in verdicts, right
        held += verdicts.count(True)
    assert held > 10 * 8


def test_mistakes_are_found_by_a_relation_that_they_break(scripts: Page, thorough: bool) -> None:
    """Alone among right numbers, and with what follows from them."""
    found: list[bool] = []
    for path in SET_UPS if thorough else SET_UPS[::8]:
        numbers, sets = lesson_of(path, numbers=True), []
        right = numbers_of(numbers, random.Random(), 3)
        for slip in answers.slips(numbers):
            carried = answers.following(numbers, {slip.of.id: slip.value})
            after = {one.of.id: typed(one.of, one.value, 3) for one in carried}
            wrong = {slip.of.id: typed(slip.of, slip.value, 3)}
            sets += [right | wrong, right | after | wrong]
        verdicts = judged(scripts, lesson_of(path, numbers=False), *sets)
        found += [False in each for each in verdicts]
    assert len(found) > (1000 if thorough else 100)
    assert sum(found) >= 0.95 * len(found), (sum(found), len(found))
