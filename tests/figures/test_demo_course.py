"""The figures of the demo course, one set-up of each kind, with the symbols of their lessons."""

from dataclasses import replace
from functools import cache
from pathlib import Path

import pytest

from fallwork.figures.canvas import WIDTH
from fallwork.lesson import build_lesson
from fallwork.lesson.document import FigureSlot
from fallwork.scenario import load_scenario
from figures.inspect_sheet import collisions, crossed_words, sheet_of, words_of
from figures.setups import Setup, set_up

SCENARIOS = Path(__file__).parents[2] / "site-data" / "scenarios"
EVERY = pytest.mark.parametrize("name", sorted(path.stem for path in SCENARIOS.glob("*.yaml")))


@cache
def given(name: str) -> Setup:
    plain = set_up(load_scenario(SCENARIOS / f"{name}.yaml"))
    lesson = build_lesson(plain.scenario, plain.apparatus, plain.solution, figures=3, numbers=True)
    return replace(plain, lesson=lesson)


@EVERY
def test_every_word_of_every_figure_can_be_read(name: str) -> None:
    blocks = [block for step in given(name).lesson.steps for block in step.blocks]
    for slot in (block for block in blocks if isinstance(block, FigureSlot)):
        sheet = sheet_of(given(name).scene(slot.kind, slot.subject))
        outside = [words for words, box in words_of(sheet) if box.left < 0 or box.right > WIDTH]
        assert (slot, collisions(sheet), crossed_words(sheet), outside) == (slot, [], [], [])


def test_a_long_word_beside_a_line_is_not_cut_in_two() -> None:
    sheet = sheet_of(given("pulley-on-a-string").scene("energy-position", "all-moving"))
    assert "counterweight" in [words for words, _ in words_of(sheet)]


def test_the_distance_in_the_sketch_is_that_of_the_run_also_where_the_motion_turns_round() -> None:
    sheet = sheet_of(given("push-away").scene("sketch"))
    assert r"$d_\mathrm{run}$" in [words for words, _ in words_of(sheet)]


def test_a_figure_calls_a_pull_what_the_table_beside_it_calls_it() -> None:
    # a = (0.162 − 2 × 0.008 × 0.400) g / 1.762 = 0.86601 m/s², so 0.150 (g − a) = 1.3411 N.
    description = given("moving-pulley").draw("diagram", "load").description
    assert "pull of the moving pulley, 1.34 N, straight up" in description


def test_energies_are_told_by_the_distance_of_the_table_also_where_the_cart_goes_farther() -> None:
    """The load falls 0.400 m while the cart runs 0.800 m."""
    columns = sheet_of(given("moving-pulley").scene("energy-bars", "all-moving"))
    assert {"0.200 m", "0.400 m"} <= {words for words, _ in words_of(columns)}
    lines = sheet_of(given("moving-pulley").scene("energy-position", "all-moving"))
    assert "distance moved by the load (m)" in {words for words, _ in words_of(lines)}


def test_what_moves_against_its_positive_direction_still_covers_a_positive_distance() -> None:
    """Its position is negative on the way out, as the chart of the motion shows."""
    pushed = given("push-away")
    assert any(words.startswith("−0.1") for words, _ in words_of(sheet_of(pushed.scene("motion"))))
    for scene in (pushed.scene("tension-work"), pushed.scene("energy-position", "all-moving")):
        words = {words for words, _ in words_of(sheet_of(scene))}
        assert "distance moved by the cart (m)" in words
        assert not any("position" in each for each in words)
