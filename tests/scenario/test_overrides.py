"""Other numbers in a scenario: which paths there are, what keeps its ±, what is checked again."""

from pathlib import Path

import pytest

from fallwork.errors import BadInput
from fallwork.scenario import (
    Scenario,
    Slider,
    load_scenario,
    numbers_of,
    overrides_from_words,
    with_numbers,
)

FOLDER = Path(__file__).parent / "sound" / "scenarios"


@pytest.fixture
def cart() -> Scenario:
    return load_scenario(FOLDER / "cart.yaml")


def message(scenario: Scenario, *words: str) -> str:
    with pytest.raises(BadInput) as caught:
        with_numbers(scenario, overrides_from_words(words))
    return str(caught.value)


@pytest.mark.parametrize(
    ("path", "number", "written"),
    [
        ("cart.mass", "512.0 g", "512.0 g ± 0.1 g"),  # the uncertainty as written there
        ("cart.mass", "512 g ± 2 g", "512 g ± 2 g"),
        ("run.distance", "55.0 cm", "55.0 cm ± 1 mm limits"),
        ("track.friction", "0", "0 ± 0.002"),
        ("track.slope", "1.5 deg", "1.5 deg"),
        ("cart.static_friction", "0.05", "0.05"),  # left out there
    ],
)
def test_a_number_keeps_the_uncertainty_of_the_scenario(
    cart: Scenario, path: str, number: str, written: str
) -> None:
    overrides = overrides_from_words([f"{path} = {number}"])
    assert dict(numbers_of(with_numbers(cart, overrides)))[path] == written


def test_the_scenario_itself_stays_as_it_was(cart: Scenario) -> None:
    with_numbers(cart, {"cart.mass": "512.0 g"})
    assert cart == load_scenario(FOLDER / "cart.yaml")


def test_no_numbers_change_nothing(cart: Scenario) -> None:
    assert with_numbers(cart, {}) == cart


def test_a_run_can_start_with_a_speed_or_from_rest(cart: Scenario) -> None:
    pushed = with_numbers(cart, {"run.start": "-0.30 m/s"})
    assert pushed.run.speed is not None
    assert pushed.run.speed.value == -0.3
    assert with_numbers(pushed, {"run.start": "rest"}).run == cart.run


def test_wheels_have_numbers_of_their_own() -> None:
    scenario = load_scenario(FOLDER / "heavy-pulley.yaml")
    changed = with_numbers(scenario, {"cart.wheels.mass": "8 g", "cart.wheels.count": "3"})
    cart = changed.objects["cart"]
    assert isinstance(cart, Slider)
    assert cart.wheels is not None
    assert (cart.wheels.count, cart.wheels.mass.value) == (3, 0.008)


def test_a_word_without_its_equals_sign_is_refused() -> None:
    with pytest.raises(BadInput) as caught:
        overrides_from_words(["cart.mass", "cart.mass=1 kg", "cart.mass=2 kg"])
    assert str(caught.value).splitlines() == [
        '--set cart.mass:1:1: no = in "cart.mass"; write e.g. cart.mass=507.3g',
        "--set cart.mass=2 kg:1:1: cart.mass a second time; give each number once",
    ]


REFUSED = {
    "cart.mass=507.3 N": '1:11: "507.3 N" is a force; a mass is given in kg, g or mg',
    "weight.mass=-5 g": '1:13: the mass "-5 g"; a mass must be more than zero',
    "wieght.mass=5 g": '1:1: unknown name "wieght"; did you mean "weight"?',
    "cart.mas=5 g": '1:1: unknown number "cart.mas"; did you mean "cart.mass"?',
    "cart.runs_on=table": (
        '1:1: unknown number "cart.runs_on"; the numbers are cart.mass, cart.starts_at, '
        "cart.friction, cart.static_friction, cart.wheels.count and cart.wheels.mass"
    ),
    # every check runs again, and names the number that was set
    "cart.starts_at=0.70 m": (
        "1:16: the distance 0.600 m ± 1 mm limits, but track leaves cart only 0.5 m forward; "
        "shorten the distance, or start elsewhere"
    ),
    "track.static_friction=0.004": (
        "1:23: static friction 0.004 below kinetic 0.008 ± 0.002; the static coefficient is at "
        "least the kinetic one"
    ),
}


@pytest.mark.parametrize("word", REFUSED)
def test_what_cannot_be_set_is_told_with_the_word_that_holds_it(cart: Scenario, word: str) -> None:
    assert message(cart, word) == f"--set {word}:{REFUSED[word]}"


def test_everything_is_told_at_once(cart: Scenario) -> None:
    words = ("wieght.mass=5 g", "cart.mas=5 g")
    assert message(cart, *words).splitlines() == [f"--set {w}:{REFUSED[w]}" for w in words]
