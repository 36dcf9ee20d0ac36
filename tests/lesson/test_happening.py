"""One sentence says what happens in a run, whatever the set-up; notes say where runs part ways."""

from pathlib import Path

import pytest
import yaml

from fallwork.lesson.reviewing import Happening, happening, otherwise, short_of_its_distance
from fallwork.scenario import with_numbers
from lesson.kit import GRAVITY, ZOO, scenario_of

SENTENCES: dict[str, str] = yaml.safe_load(
    Path(__file__).with_name("happens.yaml").read_text("utf-8")
)


def run(name: str, **numbers: str) -> Happening:
    changed = {path.replace("_", ".", 1): value for path, value in numbers.items()}
    return happening(with_numbers(scenario_of(ZOO / f"{name}.yaml"), changed), GRAVITY, 3)


@pytest.mark.parametrize("name", SENTENCES)
def test_what_happens_is_one_sentence(name: str) -> None:
    assert run(name).sentence() == SENTENCES[name]


@pytest.mark.parametrize("path", sorted(ZOO.glob("*.yaml")), ids=lambda path: path.stem)
def test_there_is_one_for_every_set_up(path: Path) -> None:
    said = run(path.stem).sentence()
    assert said.startswith(("the ", "cart 1 ", "nothing moves"))
    assert not any(sign in said for sign in ("{", "None", "nan", "  ", "¶"))


OTHERWISE = "The run takes another course than in the scenario: there {there}."
TURNED = "The cart goes the other way than in the scenario: there {there}."


@pytest.mark.parametrize(
    ("name", "numbers", "note"),
    [
        ("level", {"cart_mass": "700 g"}, ""),
        (
            "level",
            {"track_friction": "0.2"},
            "Nothing moves here, unlike in the scenario: there {there}.",
        ),
        ("incline-up", {"track_slope": "30 deg"}, TURNED),
        ("push-away", {"run_start": "0.3 m/s"}, TURNED),  # it no longer turns round
        ("incline-up", {"cart_starts_at": "1.20 m"}, OTHERWISE),  # it reaches the pulley first
    ],
)
def test_where_a_run_parts_ways_with_another_is_told(
    name: str, numbers: dict[str, str], note: str
) -> None:
    found = otherwise(run(name, **numbers), run(name), "scenario")
    assert "".join(found) == note.format(there=SENTENCES[name])


def test_what_does_not_happen_elsewhere_is_told() -> None:
    assert otherwise(run("level"), run("level", track_friction="0.2"), "example") == (
        "In the example nothing moves, but here something does.",
    )
    taut = run("slack-coupling", front_friction="0.10", rear_friction="0.02")
    assert not taut.slack
    assert otherwise(run("slack-coupling"), taut, "example")[-1] == (
        "The coupling is slack here, but not in the example."
    )


@pytest.mark.parametrize(
    ("name", "numbers", "note"),
    [
        (
            "incline-up",
            {"cart_starts_at": "1.20 m"},
            "The cart reaches the pulley before the hanging mass has covered 0.600 m: shorten the "
            "distance, or start elsewhere.",
        ),
        (
            "push-to-rest",
            {},
            "The block comes to rest before it has covered 0.600 m: shorten the distance, or take "
            "it out.",
        ),
    ],
)
def test_a_run_that_ends_short_of_its_distance_is_told(
    name: str, numbers: dict[str, str], note: str
) -> None:
    assert short_of_its_distance(run(name, **numbers)) == (note,)
