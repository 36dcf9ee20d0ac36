"""One sentence says what happens in a run, whatever the set-up; notes say where runs part ways.

Numbers by hand, g = 9.80665 m/s²: a cart of mass m pulled by M has a = (M − μm) g/(M + m) and
T = M (g − a); on a slope sin θ + μ cos θ stands for μ; a push that friction turns round has
(M + μm) g/(M + m) before.
"""

from pathlib import Path

import pytest

from fallwork.lesson.happening import Happening, otherwise, short_of_its_distance
from fallwork.scenario import load_scenario, with_numbers

ZOO = Path(__file__).parent / "zoo"
GRAVITY = 9.80665


def run(name: str, **numbers: str) -> Happening:
    scenario = load_scenario(ZOO / f"{name}.yaml")
    changed = {path.replace("_", ".", 1): value for path, value in numbers.items()}
    return Happening(with_numbers(scenario, changed), GRAVITY, 3)


SENTENCES = {
    "level": "the cart goes 0.800 m forward in 1.54 s until the hanging mass lands; a = 0.672 "
    "m/s², "
    "T = 0.365 N",
    "mirrored": "the cart goes 0.600 m back in 1.08 s until the hanging mass lands; a = 1.03 m/s², "
    "T = 0.439 N",
    "incline-up": "the cart goes 0.600 m up the track in 0.848 s until the hanging mass lands; "
    "a = 1.67 m/s², T = 0.977 N",
    "incline-down": "the cart goes 0.600 m down the track in 1.35 s until the distance is covered; "
    "a = 0.658 m/s², T = 0.209 N",
    "incline-held": "nothing moves; T = 1.18 N",
    "still": "nothing moves",
    "two-weights": "the right hanging mass goes 0.900 m down in 1.96 s until it lands; a = "
    "0.467 m/s², "
    "T = 2.05 N",
    "train": "the front cart goes 0.700 m forward in 1.17 s until the hanging mass lands; "
    "a = 1.02 m/s², T = 0.286 N (the coupling), 0.615 N (the line)",
    "stiff-pulley": "the cart goes 0.600 m forward in 0.879 s until the hanging mass lands; "
    "a = 1.55 m/s², T = 0.745 N at the cart and 0.825 N at the hanging mass",
    "moving-pulley": "the cart goes 0.800 m forward and the load 0.400 m down in 0.961 s until "
    "the load lands; a = 1.73 m/s² (the cart) and 0.866 m/s² (the load), T = 0.724 N",
    "push-away": "the cart starts at 0.600 m/s and goes 0.184 m back in 0.612 s until it turns "
    "round, then 0.484 m forward in 1.10 s until the distance is covered; a = 0.981 m/s² (slowing "
    "down), then 0.802 m/s², T = 0.441 N, then 0.450 N",
    "push-away-frictionless": "the cart starts back at 0.400 m/s, turns round and ends 0.300 m "
    "forward from its start after 1.61 s, when the distance is covered; a = 0.726 m/s², "
    "T = 0.182 N",
    "push-to-rest": "the block starts at 0.800 m/s and goes 0.200 m forward in 0.501 s until it "
    "comes to rest; a = 1.60 m/s² (slowing down), T = 0.342 N",
    "equal-weights-pushed": "the right hanging mass starts at 0.300 m/s and goes 0.900 m down "
    "in 3.00 s "
    "until it lands; a = 0 (constant speed), T = 1.96 N",
    "open-ended": "the cart goes forward, and nothing ends the run; a = 0.672 m/s², T = 0.365 N",
    "to-the-end": "the cart goes 0.650 m forward in 1.39 s until it reaches the pulley; "
    "a = 0.672 m/s², T = 0.365 N",
    "slack-coupling": "the rear cart goes 0.300 m down the slope and the front cart 0.393 m down "
    "the slope in 0.803 s until the distance is covered; a = 0.930 m/s² (the rear cart) and "
    "1.22 m/s² (the front cart); the coupling is slack",
    "shared-friction": "nothing moves; T = 0.785 N; the tension of the coupling is not determined",
    "lone-cart": "the cart goes 0.800 m down the incline in 1.13 s until the distance is covered; "
    "a = 1.25 m/s²",
}


@pytest.mark.parametrize("name", SENTENCES)
def test_what_happens_is_one_sentence(name: str) -> None:
    assert run(name).sentence() == SENTENCES[name]


@pytest.mark.parametrize("path", sorted(ZOO.glob("*.yaml")), ids=lambda path: path.stem)
def test_there_is_one_for_every_set_up(path: Path) -> None:
    said = Happening(load_scenario(path), GRAVITY, 3).sentence()
    assert said.startswith(("the ", "cart 1 ", "nothing moves"))
    assert not any(sign in said for sign in ("{", "None", "nan", "  "))


# ---- where it isn't what was meant


def notes(other: str, **numbers: str) -> list[str]:
    return list(otherwise(run(other, **numbers), run(other), "scenario"))


def test_the_same_course_with_other_numbers_needs_no_word() -> None:
    assert notes("level", cart_mass="700 g") == []


def test_that_nothing_moves_is_told() -> None:
    assert notes("level", track_friction="0.2") == [
        f"Nothing moves here, unlike in the scenario: there {SENTENCES['level']}."
    ]
    assert list(otherwise(run("level"), run("level", track_friction="0.2"), "example")) == [
        "In the example nothing moves, but here something does."
    ]


def test_that_it_runs_backwards_is_told() -> None:
    assert notes("incline-up", track_slope="30 deg") == [
        f"The cart goes the other way than in the scenario: there {SENTENCES['incline-up']}."
    ]


def test_that_it_no_longer_turns_round_is_told() -> None:
    assert notes("push-away", run_start="0.3 m/s") == [
        f"The cart goes the other way than in the scenario: there {SENTENCES['push-away']}."
    ]


def test_that_it_reaches_the_pulley_first_is_told() -> None:
    short = run("incline-up", cart_starts_at="1.20 m")
    assert list(short_of_its_distance(short)) == [
        "The cart reaches the pulley before the hanging mass has covered 0.600 m: shorten the "
        "distance, "
        "or start elsewhere."
    ]
    assert list(otherwise(short, run("incline-up"), "scenario")) == [
        f"The run takes another course than in the scenario: there {SENTENCES['incline-up']}."
    ]


def test_that_it_comes_to_rest_first_is_told() -> None:
    assert list(short_of_its_distance(run("push-to-rest"))) == [
        "The block comes to rest before it has covered 0.600 m: shorten the distance, or take it "
        "out."
    ]


def test_that_a_string_goes_slack_is_told() -> None:
    taut = run("slack-coupling", front_friction="0.10", rear_friction="0.02")
    assert taut.slack == ()
    assert list(otherwise(run("slack-coupling"), taut, "example"))[-1] == (
        "The coupling is slack here, but not in the example."
    )
