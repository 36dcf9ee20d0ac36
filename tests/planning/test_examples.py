"""Worked examples that are chosen: other numbers, and no result that the lab has too."""

from dataclasses import replace
from pathlib import Path

import pytest

from fallwork.planning.examples import NoExampleError, example_of
from fallwork.planning.results import results_of
from fallwork.scenario import Hanging, Lab, Scenario, Slider, as_written, load_course

COURSE = load_course(Path(__file__).parents[1] / "scenario" / "sound")
LAB = COURSE.terms[0].labs[0]
DEMO = Path(__file__).parents[2] / "site-data" / "scenarios"
GRAVITY = 9.81


def automatic(scenario: Scenario) -> Lab:
    return replace(LAB, id=scenario.id, scenario=scenario, variant=scenario, example=None)


def chosen(scenario: Scenario, figures: int = 3) -> Scenario:
    return example_of(automatic(scenario), gravity=GRAVITY, figures=figures)


def digits(scenario: Scenario, figures: int) -> set[str]:
    """What the results look like, without sign and unit; zeros and g left out."""
    values = [abs(result.value) for result in results_of(scenario, GRAVITY).values()]
    return {
        f"{value:.{figures - 1}e}"
        for value in values
        if value > 1e-9 and abs(value - GRAVITY) > 1e-9
    }


def masses(scenario: Scenario) -> list[float]:
    things = scenario.objects.values()
    return [thing.mass.value for thing in things if isinstance(thing, Slider | Hanging)]


def test_a_given_example_is_taken_as_it_is() -> None:
    assert example_of(LAB, gravity=GRAVITY, figures=3) is LAB.example


@pytest.mark.parametrize("scenario", COURSE.scenarios.values(), ids=COURSE.scenarios)
@pytest.mark.parametrize("figures", [2, 3, 4])
def test_a_chosen_example_shares_no_result_with_the_lab(scenario: Scenario, figures: int) -> None:
    try:
        example = chosen(scenario, figures)
    except NoExampleError:
        assert figures == 2  # a hundred values at two figures leave too little room
        return
    assert digits(example, figures) & digits(scenario, figures) == set()


@pytest.mark.parametrize("scenario", COURSE.scenarios.values(), ids=COURSE.scenarios)
def test_every_mass_of_a_chosen_example_is_another(scenario: Scenario) -> None:
    example = chosen(scenario)
    pairs = zip(masses(scenario), masses(example), strict=True)
    assert all(abs(theirs / ours - 1) > 0.05 for ours, theirs in pairs)
    assert len(results_of(example, GRAVITY)) == len(results_of(scenario, GRAVITY))


def test_the_same_lab_gets_the_same_example() -> None:
    cart = COURSE.scenarios["cart"]
    first, second = chosen(cart), chosen(cart)
    assert first == second
    assert first.objects["cart"] != cart.objects["cart"]


def test_a_chosen_number_has_the_decimals_of_the_labs() -> None:
    weight = chosen(COURSE.scenarios["cart"]).objects["weight"]
    assert isinstance(weight, Hanging)
    assert as_written(weight.mass).partition(".")[2] in {"0 g"}


def test_where_nothing_can_be_changed_the_term_has_to_say() -> None:
    # To one figure two sets of results always meet somewhere.
    with pytest.raises(NoExampleError) as caught:
        chosen(COURSE.scenarios["cart"], figures=1)
    assert str(caught.value) == (
        f"{COURSE.root}/terms/2027-spring.yaml:5:14: no worked example for cart was found whose "
        "results differ from the lab's; give its numbers instead of auto, e.g. "
        "{weight.mass: 120.0 g}"
    )


def test_results_are_those_of_the_closed_form() -> None:
    # a = (m_h - mu m_c) g / (m_c + m_h), derived by hand for the level track
    found = results_of(COURSE.scenarios["cart"], GRAVITY)
    a = (0.080 - 0.008 * 0.420) * GRAVITY / 0.500
    assert found["driven, acceleration of cart"].value == pytest.approx(a, rel=1e-12)
    assert found["driven, tension of string on cart"].value == pytest.approx(
        0.080 * (GRAVITY - a), rel=1e-12
    )
