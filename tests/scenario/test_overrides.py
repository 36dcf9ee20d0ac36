"""Other numbers in a scenario: which paths there are, what keeps its ±, what is checked again."""

from pathlib import Path

import pytest

from fallwork.errors import BadInput
from fallwork.scenario import (
    Scenario,
    as_written,
    load_scenario,
    overrides_from_words,
    with_numbers,
)
from fallwork.scenario.model import Quantity, Slider

FOLDER = Path(__file__).parent / "sound" / "scenarios"


@pytest.fixture
def cart() -> Scenario:
    return load_scenario(FOLDER / "cart.yaml")


def mass_of(scenario: Scenario, name: str) -> Quantity:
    thing = scenario.objects[name]
    assert isinstance(thing, Slider)
    return thing.mass


def message(scenario: Scenario, **numbers: str) -> str:
    overrides = {path.replace("__", "."): text for path, text in numbers.items()}
    with pytest.raises(BadInput) as caught:
        with_numbers(scenario, overrides)
    return str(caught.value)


def test_a_number_keeps_the_uncertainty_of_the_scenario_as_written_there(cart: Scenario) -> None:
    changed = with_numbers(cart, {"cart.mass": "512.0 g"})
    assert as_written(mass_of(changed, "cart")) == "512.0 g ± 0.1 g"
    assert mass_of(changed, "cart").u == 0.0001


def test_limits_are_kept_as_limits(cart: Scenario) -> None:
    changed = with_numbers(cart, {"run.distance": "55.0 cm"})
    assert changed.run.distance is not None
    assert as_written(changed.run.distance) == "55.0 cm ± 1 mm limits"


def test_a_number_with_an_uncertainty_of_its_own_keeps_that(cart: Scenario) -> None:
    changed = with_numbers(cart, {"cart.mass": "512 g ± 2 g"})
    assert as_written(mass_of(changed, "cart")) == "512 g ± 2 g"


def test_the_scenario_itself_stays_as_it_was(cart: Scenario) -> None:
    with_numbers(cart, {"cart.mass": "512.0 g"})
    assert cart == load_scenario(FOLDER / "cart.yaml")


def test_no_numbers_change_nothing(cart: Scenario) -> None:
    assert with_numbers(cart, {}) == cart


def test_surfaces_have_numbers_too(cart: Scenario) -> None:
    changed = with_numbers(cart, {"track.friction": "0", "track.slope": "1.5 deg"})
    assert as_written(changed.surfaces["track"].friction) == "0 ± 0.002"
    assert as_written(changed.surfaces["track"].slope) == "1.5 deg"


def test_a_run_can_start_with_a_speed_or_from_rest(cart: Scenario) -> None:
    pushed = with_numbers(cart, {"run.start": "-0.30 m/s"})
    assert pushed.run.speed is not None
    assert pushed.run.speed.value == -0.3
    assert with_numbers(pushed, {"run.start": "rest"}).run == cart.run


def test_numbers_that_the_scenario_left_out_can_be_added(cart: Scenario) -> None:
    changed = with_numbers(cart, {"pulley.mass": "30 g", "pulley.radius": "2.5 cm"})
    assert repr(changed.objects["pulley"]).count("Quantity") == 2


def test_wheels_have_numbers_of_their_own() -> None:
    scenario = load_scenario(FOLDER / "heavy-pulley.yaml")
    changed = with_numbers(scenario, {"cart.wheels.mass": "8 g", "cart.wheels.count": "3"})
    cart = changed.objects["cart"]
    assert isinstance(cart, Slider)
    assert cart.wheels is not None
    assert (cart.wheels.count, cart.wheels.mass.value) == (3, 0.008)


def test_words_of_the_command_line_are_taken_apart(cart: Scenario) -> None:
    overrides = overrides_from_words(["cart.mass=507.3g", "weight.mass = 85 g"])
    assert as_written(mass_of(with_numbers(cart, overrides), "cart")) == "507.3 g ± 0.1 g"


def test_a_word_without_its_equals_sign_is_refused() -> None:
    with pytest.raises(BadInput) as caught:
        overrides_from_words(["cart.mass", "cart.mass=1 kg", "cart.mass=2 kg"])
    assert str(caught.value).splitlines() == [
        '--set cart.mass:1:1: no = in "cart.mass"; write e.g. cart.mass=507.3g',
        "--set cart.mass=2 kg:1:1: cart.mass a second time; give each number once",
    ]


def test_a_bad_number_is_told_with_the_word_that_holds_it(cart: Scenario) -> None:
    assert message(cart, cart__mass="507.3 N") == (
        '--set cart.mass=507.3 N:1:11: "507.3 N" is a force; a mass is given in kg, g or mg'
    )


def test_a_number_out_of_bounds_is_told(cart: Scenario) -> None:
    assert message(cart, weight__mass="-5 g") == (
        '--set weight.mass=-5 g:1:13: the mass "-5 g"; a mass must be more than zero'
    )


def test_a_misspelt_path_is_told(cart: Scenario) -> None:
    assert message(cart, wieght__mass="5 g", cart__mas="5 g").splitlines() == [
        '--set wieght.mass=5 g:1:1: unknown name "wieght"; did you mean "weight"?',
        '--set cart.mas=5 g:1:1: unknown number "cart.mas"; did you mean "cart.mass"?',
    ]


def test_what_is_no_number_cannot_be_set(cart: Scenario) -> None:
    assert message(cart, cart__runs_on="table") == (
        '--set cart.runs_on=table:1:1: unknown number "cart.runs_on"; the numbers are cart.mass, '
        "cart.starts_at, cart.friction, cart.static_friction, cart.wheels.count and "
        "cart.wheels.mass"
    )


def test_every_check_runs_again(cart: Scenario) -> None:
    assert message(cart, cart__starts_at="0.70 m") == (
        "--set cart.starts_at=0.70 m:1:16: the distance 0.600 m ± 1 mm limits, but track leaves "
        "cart only 0.5 m forward; shorten the distance, or start elsewhere"
    )


def test_a_clash_of_numbers_names_the_one_that_was_set(cart: Scenario) -> None:
    assert message(cart, weight__mass="90 g", track__static_friction="0.004") == (
        "--set track.static_friction=0.004:1:23: static friction 0.004 below kinetic "
        "0.008 ± 0.002; the static coefficient is at least the kinetic one"
    )
