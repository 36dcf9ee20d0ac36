"""Worked examples that are chosen: other numbers, and no result that the lab has too."""

from dataclasses import replace
from pathlib import Path

import pytest

from fallwork.planning.examples import NoExampleError, example_of
from fallwork.planning.results import results_of
from fallwork.scenario import Hanging, Scenario, Slider, as_written, load_course

COURSE = load_course(Path(__file__).parents[1] / "scenario" / "sound")
LAB = COURSE.terms[0].labs[0]
DEMO = Path(__file__).parents[2] / "site-data" / "scenarios"
GRAVITY = 9.81


def chosen(scenario: Scenario, figures: int = 3) -> Scenario:
    lab = replace(LAB, id=scenario.id, scenario=scenario, variant=scenario, example=None)
    return example_of(lab, gravity=GRAVITY, figures=figures)


def digits(scenario: Scenario, figures: int) -> set[str]:
    """What the results look like, without sign and unit; zeros and g left out."""
    values = [abs(result.value) for result in results_of(scenario, GRAVITY).values()]
    return {
        f"{value:.{figures - 1}e}"
        for value in values
        if value > 1e-9 and abs(value - GRAVITY) > 1e-9
    }


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
def test_every_mass_of_a_chosen_example_is_another_and_the_same_each_time(
    scenario: Scenario,
) -> None:
    example = chosen(scenario)
    assert example == chosen(scenario)
    for name, thing in scenario.objects.items():
        if isinstance(thing, Slider | Hanging):
            mass = example.objects[name].mass  # type: ignore[union-attr]
            assert abs(mass.value / thing.mass.value - 1) > 0.05
            decimals = [
                as_written(each).partition(" ")[0].partition(".")[2] for each in (mass, thing.mass)
            ]
            assert len(decimals[0]) == len(decimals[1])
    assert len(results_of(example, GRAVITY)) == len(results_of(scenario, GRAVITY))


def test_where_nothing_can_be_changed_the_term_has_to_say() -> None:
    # To one figure two sets of results always meet somewhere.
    with pytest.raises(NoExampleError) as caught:
        chosen(COURSE.scenarios["cart"], figures=1)
    assert str(caught.value) == (
        f"{COURSE.root}/terms/2027-spring.yaml:5:14: no worked example for cart was found whose "
        "results differ from the lab's; give its numbers instead of auto, e.g. "
        "{weight.mass: 120.0 g}"
    )
