"""Every equation about measuring is true, by a reader that shares no code with the program."""

import pytest

from equations.checker import Check, check_page
from equations.page import mutants
from fallwork.lesson.document import Lesson
from fallwork.measurement.model import Analysis, Estimate, Trial
from fallwork.measurement.summaries import summaries
from fallwork.scenario import load_scenario
from lesson.kit import lesson_from
from lesson.measured import kit
from lesson.measured.kit import data, judged, level, page, report, solution, usual


def measured_part(lesson: Lesson) -> set[str]:
    """What the checker finds wrong, without what it finds in the worked steps alone."""
    return set(check_page(page(lesson))) - set(check_page(page(lesson_from(level()))))


def test_the_report_s_equations_have_units_that_fit() -> None:
    assert check_page(page(report(level()))) == []


def test_the_trials_equations_are_true() -> None:
    html = page(data(level(), usual()))
    assert check_page(html) == []
    assert Check(html).compared > 15


def test_the_comparison_s_equations_are_true() -> None:
    html = page(solution(level(), usual()))
    alone = page(lesson_from(level()))
    assert measured_part(solution(level(), usual())) == set()
    assert Check(html).compared > Check(alone).compared + 20


@pytest.mark.parametrize("step", [1, 5])
def test_a_changed_digit_of_the_trials_is_found(step: int, thorough: bool) -> None:
    """In an everyday run every fifth, other ones for each step."""
    html = page(data(level(), usual()))
    spoilt = list(mutants(html, step=step))[0 if thorough else step // 2 :: 1 if thorough else 5]
    assert len(spoilt) > 50
    assert [what for what, html in spoilt if not check_page(html)] == []


@pytest.mark.parametrize("name", ["incline", "two-hanging", "train", "moving-pulley", "push-back"])
def test_equations_of_other_set_ups_are_true(name: str) -> None:
    scenario = load_scenario(kit.CASES / f"{name}.yaml")
    evidence = judged(scenario, kit.trials_of(scenario, count=3, seed=5))
    assert check_page(page(data(scenario, evidence))) == []
    alone = set(check_page(page(lesson_from(scenario))))
    assert set(check_page(page(solution(scenario, evidence)))) <= alone


@pytest.mark.parametrize(
    "values", [{"acceleration": 1.52, "mean_tension": 0.66}, {"acceleration": 1.52}]
)
def test_equations_without_a_measured_speed_are_true(values: dict[str, float]) -> None:
    """Typed values alone: the accounts rest on the acceleration then."""
    estimates = {name: Estimate(value=value, u=0.01) for name, value in values.items()}
    trials = tuple(Trial(name=name, estimates=estimates) for name in ("one", "two", "three"))
    evidence = judged(level(), Analysis(trials=trials, summary=summaries(trials)))
    lesson = solution(level(), evidence)
    assert measured_part(lesson) == set()
    assert "measured acceleration over the distance" in str(lesson.steps)
