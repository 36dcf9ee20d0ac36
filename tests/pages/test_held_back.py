"""What is held back is not there, and doesn't show through."""

import re

import pytest

from fallwork.commands.keyjson import key_data
from fallwork.lesson.rounding import to_figures
from fallwork.mechanics import apparatus_of, solve
from fallwork.scenario import load_course
from pages.course_moments import COURSE, RUNNING, Build

pytestmark = pytest.mark.drawn

PRELAB = "2027-spring/level/prelab.md"
MASSES = ("cart.mass: 512.0 g, weight.mass: 90.0 g", "cart.mass: 700.0 g, weight.mass: 35.0 g")
DISTANCE = ("run.distance: 0.550 m", "run.distance: 0.400 m")


def numbers_in(data: object) -> list[float]:
    if isinstance(data, dict):
        return [number for value in data.values() for number in numbers_in(value)]
    if isinstance(data, list):
        return [number for value in data for number in numbers_in(value)]
    return [data] if isinstance(data, float) and data else []


def test_the_prelab_holds_none_of_the_solution_s_numbers(build: Build) -> None:
    course = load_course(COURSE)
    variant = course.terms[0].labs[0].variant
    apparatus = apparatus_of(variant, 9.80665)
    key = key_data(variant, apparatus, solve(apparatus))
    answers = [number for number in numbers_in(key["phases"]) if number != 0.550]  # a given
    assert len(answers) > 100
    prelab = build(RUNNING)[PRELAB]
    for answer in answers:
        for figures in (3, 4, 5):
            digits = to_figures(abs(answer), figures)
            assert not re.search(rf"(?<![\d.]){re.escape(digits)}(?!\d)", prelab), digits


def test_other_numbers_change_no_byte_of_the_prelab_and_its_drawings(build: Build) -> None:
    before, after = build(RUNNING), build(RUNNING, MASSES, DISTANCE)
    mine = [path for path in before if "/prelab" in path]
    assert len(mine) > 3
    assert {path: after[path] for path in mine} == {path: before[path] for path in mine}


def test_other_numbers_change_only_the_givens_of_the_overview(build: Build) -> None:
    path = "2027-spring/level/index.md"
    before, after = (
        page[path].replace("\u00a0", " ")
        for page in (build(RUNNING), build(RUNNING, MASSES, DISTANCE))
    )
    for old, new in (
        ("512.0 g ± 0.1 g | 0.5120 kg", "700.0 g ± 0.1 g | 0.7000 kg"),
        ("90.0 g ± 0.1 g | 0.0900 kg", "35.0 g ± 0.1 g | 0.0350 kg"),
        ("0.550 m ± 1 mm limits | 0.550 m", "0.400 m ± 1 mm limits | 0.400 m"),
    ):
        assert before.count(old) == 1
        before = before.replace(old, new)
    assert before == after


def test_other_numbers_do_change_the_example(build: Build) -> None:
    path = "2027-spring/level/example.md"
    assert build(RUNNING)[path] != build(RUNNING, MASSES)[path]
