"""What an audit is told: what is held back, and which numbers a page has of its own."""

from dataclasses import replace
from pathlib import Path

import pytest

from fallwork.pages import HeldBack, held_back, open_numbers
from fallwork.scenario import load_course
from fallwork.scenario.model import GivenMean, Measured
from fallwork.scenario.quantity import parse_quantity
from pages.history import DAY, course, lab, start, term

TRIALS = Measured(
    values={
        "acceleration": GivenMean(
            value=parse_quantity("1.41 m/s² ± 0.01 m/s²", "acceleration"), n=9
        )
    },
    digests={"2027-spring/level/trial-01.csv": "00"},
)
LAB = lab("level", start(2), data_opens=start(2) + 5 * DAY, measured=TRIALS)
DATA = course(term("2027-spring", LAB), term("2027-autumn", lab("level", start(9), "533.0 g")))


def held(what: str, now: object) -> HeldBack:
    (found,) = (each for each in held_back(DATA, now) if each.what == what)  # type: ignore[arg-type]
    return found


def names(now: object) -> list[str]:
    found = held_back(DATA, now)  # type: ignore[arg-type]
    return [each.what for each in found if each.lab == "2027-spring/level"]


@pytest.mark.parametrize(
    ("now", "expected"),
    [
        (start(1), ["prelab", "worked example", "report", "trials", "solution"]),
        (start(2), ["trials", "solution"]),
        (start(2) + 5 * DAY, ["solution"]),
        (start(2) + 14 * DAY, []),
    ],
)
def test_what_is_held_back_grows_less_with_time(now: object, expected: list[str]) -> None:
    assert names(now) == [f"{what} of level in 2027-spring" for what in expected]


def test_the_answers_of_a_solution_are_the_closed_form_s() -> None:
    # a = (m_h - mu m_c) g / (m_c + m_h), by hand, with 512 g, 90 g and mu = 0.008
    a = (0.090 - 0.008 * 0.512) * 9.80665 / 0.602
    answers = held("solution of level in 2027-spring", start(2)).answers
    (found,) = (each for each in answers if each.quantity == "driven, acceleration of cart")
    assert (found.value, found.unit) == (pytest.approx(a), "m/s²")


def test_what_is_given_is_no_answer() -> None:
    # Once the string is slack the counterweight falls freely, with the g that every page names.
    demo = load_course(Path(__file__).parents[2] / "site-data")
    scenario = demo.scenarios["pulley-on-a-string"]
    one = replace(LAB, scenario=scenario, variant=scenario, example=scenario, measured=None)
    free = course(term("2027-spring", one))
    (solution,) = (each for each in held_back(free, start(2)) if "solution" in each.what)
    values = {each.quantity: abs(each.value) for each in solution.answers}
    assert "driven, acceleration of counterweight" in values
    assert "coasting, acceleration of counterweight" not in values
    assert 9.80665 not in values.values()


def test_a_solution_is_held_back_with_its_page_its_drawings_and_its_heading() -> None:
    solution = held("solution of level in 2027-spring", start(2))
    assert solution.paths == (
        "2027-spring/level/solution",
        "2027-spring/level/figures/solution-",
    )
    assert solution.headings[0] == f"Solution: {LAB.title}"


def test_a_heading_that_another_term_shows_is_no_secret() -> None:
    assert (
        f"Solution: {LAB.title}" not in held("solution of level in 2027-autumn", start(9)).headings
    )


def test_steps_that_nobody_has_seen_are_held_back_by_their_ids() -> None:
    assert "tension" in held("prelab of level in 2027-spring", start(1)).ids
    solution = held("solution of level in 2027-spring", start(2))
    assert "tension" not in solution.ids  # the prelab has it too
    assert "comparison-acceleration" in solution.ids


def test_trials_are_held_back_with_their_files_and_values() -> None:
    trials = held("trials of level in 2027-spring", start(2))
    assert trials.paths[2:] == ("trials/2027-spring/level/trial-01.csv",)
    assert trials.digests == ("00",)
    assert [(each.value, each.unit) for each in trials.answers] == [(1.41, "m/s²")]


def test_a_page_s_own_numbers_are_those_of_its_lesson() -> None:
    numbers = open_numbers(DATA, start(2))
    assert "512.0" in numbers["2027-spring/level/index.html"]
    assert "120.0" in numbers["2027-spring/level/example.html"]
    assert "512.0" not in numbers["2027-spring/level/example.html"]
    assert "2027-spring/level/solution.html" not in numbers


def test_an_answer_is_no_page_s_own_number_before_it_is_open() -> None:
    # Another cart would make the same example show other numbers nowhere.
    other = replace(LAB, variant=lab("level", start(2), "700.0 g").variant)
    changed = course(term("2027-spring", other), DATA.terms[1])
    mine = "2027-spring/level/example.html"
    assert open_numbers(changed, start(2))[mine] == open_numbers(DATA, start(2))[mine]
