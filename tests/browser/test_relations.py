"""Relations between a student's numbers: right ones fit, in every set-up; mistakes don't."""

import random
from collections.abc import Mapping

from playwright.sync_api import Page

from browser.reading import script
from fallwork.lesson import answers, expression, rounding, trees
from fallwork.lesson.document import Lesson, symbols_of
from fallwork.lesson.reworking import relations
from lesson.kit import SET_UPS, lesson_of

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


def test_right_numbers_fit_however_they_are_rounded(scripts: Page, thorough: bool) -> None:
    chance, held = random.Random(4), 0
    for path in SET_UPS if thorough else SET_UPS[::5]:
        for _ in range(20):
            right = numbers_of(lesson_of(path, numbers=True), chance, 2, 3, 4)
            (verdicts,) = judged(scripts, lesson_of(path, numbers=False), right)
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
