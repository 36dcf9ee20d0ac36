"""Other numbers in a scenario: which paths there are, what keeps its ±, what is checked again."""

import pytest

from fallwork.scenario import Scenario, numbers_of, overrides_from_words, with_numbers
from scenario import kit


@pytest.fixture
def cart() -> Scenario:
    return kit.sound("cart")


@pytest.mark.parametrize(
    ("scenario", "path", "number", "written"),
    [
        ("cart", "cart.mass", "512.0 g", "512.0 g ± 0.1 g"),  # the uncertainty as written there
        ("cart", "cart.mass", "512 g ± 2 g", "512 g ± 2 g"),
        ("cart", "run.distance", "55.0 cm", "55.0 cm ± 1 mm limits"),
        ("cart", "track.friction", "0", "0 ± 0.002"),
        ("cart", "track.slope", "1.5 deg", "1.5 deg"),
        ("cart", "cart.static_friction", "0.05", "0.05"),  # left out there
        ("heavy-pulley", "cart.wheels.mass", "8 g", "8 g"),
        ("heavy-pulley", "cart.wheels.count", "3", "3"),
    ],
)
def test_a_number_keeps_the_uncertainty_of_the_scenario(
    scenario: str, path: str, number: str, written: str
) -> None:
    overrides = overrides_from_words([f"{path} = {number}"])
    assert numbers_of(with_numbers(kit.sound(scenario), overrides))[path] == written


def test_the_scenario_itself_stays_as_it_was(cart: Scenario) -> None:
    with_numbers(cart, {"cart.mass": "512.0 g"})
    assert cart == with_numbers(cart, {}) == kit.sound("cart")


def test_a_run_can_start_with_a_speed_or_from_rest(cart: Scenario) -> None:
    pushed = with_numbers(cart, {"run.start": "-0.30 m/s"})
    assert kit.at(pushed, "run.speed.value") == "-0.3"
    assert with_numbers(pushed, {"run.start": "rest"}).run == cart.run


def test_a_word_without_its_equals_sign_is_refused() -> None:
    words = ["cart.mass", "cart.mass=1 kg", "cart.mass=2 kg"]
    assert kit.message(overrides_from_words, words).splitlines() == [
        '--set cart.mass:1:1: no = in "cart.mass"; write e.g. cart.mass=507.3g',
        "--set cart.mass=2 kg:1:1: cart.mass a second time; give each number once",
    ]


REFUSED = kit.table("refused")["numbers"]  # every check runs again, and names the number


@pytest.mark.parametrize("words", [*((word,) for word in REFUSED), [*REFUSED][2:4]])
def test_what_cannot_be_set_is_told_at_once_with_the_word_that_holds_it(
    cart: Scenario, words: tuple[str, ...]
) -> None:
    told = kit.message(with_numbers, cart, overrides_from_words(words))
    assert told.splitlines() == [f"--set {word}:{REFUSED[word]}" for word in words]


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
    more = {"run.distance": "1.551 m"}
    told = "the distance 1.551 m, but track leaves front only 1.55 m"
    assert told in kit.message(with_numbers, kit.sound("train"), more)
