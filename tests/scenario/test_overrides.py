"""Other numbers in a scenario: which paths there are, what keeps its ±, what is checked again."""

import pytest

from fallwork.scenario import Scenario, Slider, numbers_of, overrides_from_words, with_numbers
from scenario import kit


@pytest.fixture
def cart() -> Scenario:
    return kit.sound("cart")


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
    assert cart == with_numbers(cart, {}) == kit.sound("cart")


def test_a_run_can_start_with_a_speed_or_from_rest(cart: Scenario) -> None:
    pushed = with_numbers(cart, {"run.start": "-0.30 m/s"})
    assert pushed.run.speed is not None
    assert pushed.run.speed.value == -0.3
    assert with_numbers(pushed, {"run.start": "rest"}).run == cart.run


def test_wheels_have_numbers_of_their_own() -> None:
    scenario = kit.sound("heavy-pulley")
    changed = with_numbers(scenario, {"cart.wheels.mass": "8 g", "cart.wheels.count": "3"})
    cart = changed.objects["cart"]
    assert isinstance(cart, Slider)
    assert cart.wheels is not None
    assert (cart.wheels.count, cart.wheels.mass.value) == (3, 0.008)


def test_a_word_without_its_equals_sign_is_refused() -> None:
    words = ["cart.mass", "cart.mass=1 kg", "cart.mass=2 kg"]
    assert kit.message(overrides_from_words, words).splitlines() == [
        '--set cart.mass:1:1: no = in "cart.mass"; write e.g. cart.mass=507.3g',
        "--set cart.mass=2 kg:1:1: cart.mass a second time; give each number once",
    ]


def said_of(scenario: Scenario, *words: str) -> str:
    return kit.message(with_numbers, scenario, overrides_from_words(words))


REFUSED = kit.REFUSED["numbers"]  # every check runs again, and names the number that was set


@pytest.mark.parametrize("word", REFUSED)
def test_what_cannot_be_set_is_told_with_the_word_that_holds_it(cart: Scenario, word: str) -> None:
    assert said_of(cart, word) == f"--set {word}:{REFUSED[word]}"


def test_everything_is_told_at_once(cart: Scenario) -> None:
    words = ("wieght.mass=5 g", "cart.mas=5 g")
    assert said_of(cart, *words).splitlines() == [f"--set {w}:{REFUSED[w]}" for w in words]


@pytest.mark.parametrize(
    ("scenario", "numbers"),
    [
        ("incline", {"ramp.static_friction": "0.20", "ramp.friction": "0.20"}),
        ("train", {"front.starts_at": "2.00 m", "run.distance": "0.001 m", "run.start": "-1 m/s"}),
        ("train", {"run.distance": "1.55 m"}),  # 2.00 m less 0.45 m
        ("train", {"run.distance": "3.00 m", "run.start": "0.1 m/s"}),  # nobody says which way
        ("cart", {"cart.starts_at": "0.599 m", "track.length": "1.199 m"}),
        ("moving-pulley", {"moving.inertia": "3e-6 kg m²", "moving.radius": "2 cm"}),  # and a mass
        ("incline", {"ramp.slope": "90 deg"}),
        ("incline", {"ramp.slope": "-90 deg ± 0.5 deg"}),
    ],
)
def test_what_is_just_possible_is_allowed(scenario: str, numbers: dict[str, str]) -> None:
    with_numbers(kit.sound(scenario), numbers)


def test_a_millimetre_more_than_the_track_leaves_is_told() -> None:
    assert "the distance 1.551 m, but track leaves front only 1.55 m" in (
        said_of(kit.sound("train"), "run.distance=1.551 m")
    )
