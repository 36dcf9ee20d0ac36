"""Results in symbols hold for other numbers, other names and the other side of the bench."""

import math
import random
from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import Phase, assume, given, settings
from hypothesis import strategies as st

from fallwork.lesson import Lesson, build_lesson
from fallwork.lesson.expression import ValueMissingError, evaluate
from fallwork.mechanics import ImpossibleApparatus, apparatus_of, solve
from fallwork.scenario import Scenario
from lesson.kit import (
    GRAVITY,
    SET_UPS,
    by_set_up,
    equations,
    everything,
    lesson_from,
    scenario_from,
    scenario_of,
)
from lesson.others import regime, renamed, with_other_numbers
from mechanics.scenes import KINDS, random_scene
from mechanics.test_invariance import mirrored

SHARE = 5  # of these files, one in so many gets other names in an everyday run
seeds = st.integers(0, 10**6)
# A seed that fails isn't any better for being smaller.
few = settings(
    max_examples=settings.default.max_examples // 4, phases=(Phase.explicit, Phase.generate)
)


def assert_holds_with(symbols: Lesson, numbers: Lesson) -> int:
    """Every equation of a lesson in symbols, with the values of another; how many there are."""
    values = {s.id: s.value for s in numbers.symbols if s.value is not None}
    known = 0
    for equation in equations(symbols):
        sides = [equation.left, equation.right, *equation.forms]
        try:
            found = [evaluate(side, values) for side in sides]
        except ValueMissingError:
            continue
        scale = max(abs(value) for value in values.values())
        for value in found[1:]:
            assert math.isclose(value, found[0], rel_tol=1e-8, abs_tol=1e-11 * scale), equation
        known += 1
    return known


def alike_but_for_givens(one: Lesson, other: Lesson) -> bool:
    """And but for bounds found from them."""
    return replace(one, givens=other.givens, safety=other.safety) == other


def both_lessons(scenario: Scenario) -> tuple[Lesson, Lesson, object]:
    apparatus = apparatus_of(scenario, GRAVITY)
    solution = solve(apparatus)
    lessons = [
        build_lesson(scenario, apparatus, solution, figures=3, numbers=n) for n in (False, True)
    ]
    return lessons[0], lessons[1], regime(solution)


@by_set_up
def test_equations_in_symbols_hold_for_other_numbers(path: Path, thorough: bool) -> None:
    symbols, _, same = both_lessons(scenario_of(path))
    alike = 0
    wanted = 2 if thorough else 1
    for seed in range(12 if thorough else 4):
        if alike == wanted and not thorough:
            break
        other, numbers, happens = both_lessons(with_other_numbers(scenario_of(path), seed))
        if happens != same:
            continue
        assert alike_but_for_givens(other, symbols)  # nothing depends on how large anything is
        assert assert_holds_with(symbols, numbers) >= 2
        alike += 1
    assert alike >= wanted


@few
@given(kind=st.sampled_from(sorted(KINDS)), seed=seeds, other=seeds, static=st.booleans())
def test_any_set_up_has_equations_that_hold_for_other_numbers(
    kind: str, seed: int, other: int, static: bool
) -> None:
    scenario = scenario_from(random_scene(kind, seed, static=static).apparatus)
    try:
        symbols, _, same = both_lessons(scenario)
        changed, numbers, happens = both_lessons(with_other_numbers(scenario, other))
    except ImpossibleApparatus:
        assume(False)
        return
    assume(happens == same)
    assert alike_but_for_givens(changed, symbols)
    assert assert_holds_with(symbols, numbers) > 0


def values_of(lesson: Lesson) -> list[float]:
    """What the equations give. Order, and what is found twice, may follow a string's direction."""
    found = (evaluate(equation.right) for equation in equations(lesson) if equation.numbers)
    return sorted({float(f"{value:.7e}") if abs(value) > 1e-12 else 0.0 for value in found})


def test_names_change_no_value(thorough: bool) -> None:
    for path in SET_UPS[:: 1 if thorough else SHARE]:
        scenario = scenario_of(path)
        names = [*scenario.objects, *scenario.surfaces, *scenario.strings]
        new = dict(zip(names, _nonsense(len(names)), strict=True))
        lesson, other = lesson_from(scenario), lesson_from(renamed(scenario, new))
        assert values_of(other) == pytest.approx(values_of(lesson)), path
        said = _said(other)
        for choice in scenario.systems:  # its title is the author's own
            for title in (choice.title, choice.title[0].lower() + choice.title[1:]):
                said = said.replace(title, "")
        told = [name for name in names if "-" in name and name.replace("-", " ") in said]
        assert told == [], path


def _nonsense(count: int) -> list[str]:
    chance = random.Random(count)
    return ["".join(chance.sample("bdfgjkmpqvwz", 6)) for _ in range(count)]


def _said(lesson: Lesson) -> str:
    parts = [part for part in everything((lesson.summary, lesson.steps)) if isinstance(part, str)]
    return " ".join(parts)


@few
@given(kind=st.sampled_from(sorted(KINDS)), seed=seeds)
def test_left_and_right_change_no_value(kind: str, seed: int) -> None:
    apparatus = random_scene(kind, seed).apparatus
    try:
        lessons = [lesson_from(scenario_from(a)) for a in (apparatus, mirrored(apparatus))]
    except ImpossibleApparatus:
        assume(False)
        return
    assert values_of(lessons[1]) == pytest.approx(values_of(lessons[0]))
