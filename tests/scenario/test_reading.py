"""What files become, key by key, and what may change in them; what things are called."""

import random
import subprocess
import sys
from dataclasses import replace
from functools import partial
from pathlib import Path
from textwrap import indent
from typing import Any

import pytest
import yaml
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from fallwork.scenario import (
    Scenario,
    find_course,
    load_course,
    load_scenario,
    numbers_of,
    overrides_from_words,
    with_numbers,
)
from fallwork.scenario.nouns import Nouns, noun
from fallwork.scenario.report import Refusal
from scenario import kit
from scenario.kit import sound

SOUND = sorted((kit.SOUND / "scenarios").glob("*.yaml"))
SAMPLE = kit.DEMO / "scenarios" / "level-track.yaml"
CASES = kit.table("reading")
SCENARIOS, COURSES, TERM = CASES["scenarios"], CASES["courses"], CASES["term"]
LABS = {case["says"]: case["gives"] for case in CASES["labs"]}
AS_TEXT = {path.stem: yaml.load(path.read_text("utf-8"), yaml.BaseLoader) for path in SOUND}
in_one_folder = partial(settings, suppress_health_check=[HealthCheck.function_scoped_fixture])
OVERRIDES = kit.table("overrides")
UNSET = kit.table("refused")["numbers"]  # every check runs again, and names the number
NOUNS, REFUSED = kit.table("nouns"), kit.table("refused")["nouns"]


@pytest.mark.parametrize("path", SCENARIOS)
def test_a_scenario_gives_what_its_file_says(path):
    scenario = load_scenario(kit.HERE.parents[1] / path)
    assert {key: kit.at(scenario, key) for key in SCENARIOS[path]} == SCENARIOS[path]


@pytest.mark.parametrize("more", LABS)
def test_a_lab_gives_what_its_term_says(more, course):
    """With more lines, or with another example."""
    own = TERM.replace("    example: {weight.mass: 120.0 g}\n", "") if "example:" in more else TERM
    Path("terms/2027-spring.yaml").write_text(own + indent(f"{more}\n", "    "), "utf-8")
    lab = load_course(course).terms[0].labs[0]
    assert {key: kit.at(lab, key) for key in LABS[more]} == LABS[more]


def test_a_link_out_of_the_folder_of_trials_is_refused(course):
    Path("elsewhere.csv").write_text("time (s)\n", "utf-8")
    Path("trials/2027-spring/cart/trial-03.csv").symlink_to(Path("elsewhere.csv").absolute())
    text = TERM + "    measured: {files: 2027-spring/cart/*.csv}\n"
    Path("terms/2027-spring.yaml").write_text(text, "utf-8")
    assert kit.message(load_course, course) == (
        "terms/2027-spring.yaml:9:23: trials/2027-spring/cart/trial-03.csv leads out of the folder "
        "trials; put the file itself there"
    )


def test_a_term_may_give_everything_at_once(course):
    text = (kit.HERE / "full_terms" / "2027-summer.yaml").read_text("utf-8")
    Path("terms/2027-summer.yaml").write_text(text, "utf-8")
    labs = load_course(course).terms[1].labs
    assert [(lab.id, lab.scenario.id) for lab in labs] == [("cart", "cart"), ("make-up", "cart")]


@pytest.mark.parametrize("case", COURSES, ids=lambda case: case["new"] or case["old"])
def test_a_course_gives_what_its_files_say(case, tmp_path):
    data = kit.changed(tmp_path, case["file"], case["old"], case["new"])
    assert {key: kit.at(data, key) for key in case["gives"]} == case["gives"]
    assert list(data.scenarios) == sorted(data.scenarios)


def test_a_course_may_have_no_terms_yet_and_is_found_above_its_files(course, tmp_path):
    Path("terms/2027-spring.yaml").unlink()
    Path("terms").rmdir()
    assert load_course(course).terms == ()
    assert find_course(SAMPLE) == kit.DEMO
    assert find_course(tmp_path / "scenario.yaml") is None


# ---- what may change
def test_scalars_are_text_whatever_yaml_makes_of_them(tmp_path):
    text = SAMPLE.read_text("utf-8").replace("cart:", "on:").replace("[cart", "[on")
    path = tmp_path / "off.yaml"
    path.write_text(text.replace("title: The cart alone", "title: no"), "utf-8")
    scenario = load_scenario(path)
    assert (scenario.strings["string"].path[0], scenario.systems[0].title) == ("on", "no")


@pytest.mark.parametrize("way", CASES["same"])
def test_the_way_of_writing_changes_nothing(tmp_path, way):
    (old, new, before, behind), path = CASES["same"][way], tmp_path / SAMPLE.name
    text = before + SAMPLE.read_text("utf-8").replace(old, new) + behind
    assert text != SAMPLE.read_text("utf-8")
    path.write_bytes(text.encode("utf-8"))
    assert load_scenario(path) == load_scenario(SAMPLE)


def shuffled(data: Any, order: random.Random) -> Any:
    """The same data with the keys of every mapping in another order."""
    if not isinstance(data, dict):
        return data
    return {key: shuffled(data[key], order) for key in order.sample([*data], len(data))}


def unordered(scenario: Scenario) -> Scenario:
    return replace(scenario, systems=tuple(sorted(scenario.systems, key=lambda s: s.id)))


@in_one_folder(max_examples=settings.default.max_examples // 2, deadline=None)
@given(name=st.sampled_from(sorted(AS_TEXT)), order=st.randoms(use_true_random=False))
def test_the_order_of_keys_changes_nothing(tmp_path, name, order):
    path = tmp_path / f"{name}.yaml"
    data = shuffled(AS_TEXT[name], order)
    path.write_text(yaml.safe_dump(data, sort_keys=False, allow_unicode=True), "utf-8")
    assert unordered(load_scenario(path)) == unordered(sound(name))


def test_names_keep_their_places_and_reading_needs_no_heavy_library():
    sample = load_scenario(SAMPLE)
    changed = with_numbers(sample, {"cart.mass": "507.3 g"})
    lines = SAMPLE.read_text("utf-8").splitlines()
    for name in (*sample.objects, *sample.surfaces, *sample.strings):
        place = sample.places[name]
        assert lines[place.line - 1][place.column - 1 :].startswith(f"{name}:")
    assert str(changed.places["cart.mass"]) == "--set cart.mass=507.3 g:1:11"
    assert changed.places["cart"] == sample.places["cart"]
    heavy = ("numpy", "scipy", "matplotlib", "mkdocs", "pydantic", "jinja2")
    code = f"import sys, fallwork.scenario; print([m for m in {heavy} if m in sys.modules])"
    ran = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert ran.stdout.strip() == "[]"


# ---- other numbers: which paths there are, what keeps its ±, what is checked again
@pytest.fixture
def cart() -> Scenario:
    return kit.sound("cart")


@pytest.mark.parametrize(("scenario", "path", "number", "written"), OVERRIDES["keeps"])
def test_a_number_keeps_the_uncertainty_of_the_scenario(scenario, path, number, written):
    overrides = overrides_from_words([f"{path} = {number}"])
    assert numbers_of(with_numbers(kit.sound(scenario), overrides))[path] == written


def test_overrides_may_change_the_start_and_need_their_equals_sign(cart):
    with_numbers(cart, {"cart.mass": "512.0 g"})
    assert cart == with_numbers(cart, {}) == kit.sound("cart")
    pushed = with_numbers(cart, {"run.start": "-0.30 m/s"})
    assert kit.at(pushed, "run.speed.value") == "-0.3"
    assert with_numbers(pushed, {"run.start": "rest"}).run == cart.run
    words = ["cart.mass", "cart.mass=1 kg", "cart.mass=2 kg"]
    assert kit.message(overrides_from_words, words).splitlines() == [
        '--set cart.mass:1:1: no = in "cart.mass"; write e.g. cart.mass=507.3g',
        "--set cart.mass=2 kg:1:1: cart.mass a second time; give each number once",
    ]


@pytest.mark.parametrize("words", [*((word,) for word in UNSET), [*UNSET][2:4]])
def test_what_cannot_be_set_is_told_at_once_with_the_word_that_holds_it(cart, words):
    told = kit.message(with_numbers, cart, overrides_from_words(words))
    assert told.splitlines() == [f"--set {word}:{UNSET[word]}" for word in words]


@pytest.mark.parametrize(("scenario", "numbers"), OVERRIDES["possible"])
def test_what_is_just_possible_is_allowed(scenario, numbers):
    with_numbers(kit.sound(scenario), numbers)


def test_a_millimetre_more_than_the_track_leaves_is_told():
    more = {"run.distance": "1.551 m"}
    told = "the distance 1.551 m, but track leaves front only 1.55 m"
    assert told in kit.message(with_numbers, kit.sound("train"), more)


# ---- what things are called: a noun for each name, by its kind or as its author says
def called(**kinds: str) -> dict[str, str]:
    """Names, with _ for -, and their kinds -> nouns with articles."""
    nouns = Nouns({name.replace("_", "-"): (kind, "") for name, kind in kinds.items()})
    return {name: nouns.the(name) for name in nouns.things}


@pytest.mark.parametrize("kind", NOUNS)
def test_a_name_gives_a_noun(kind):
    for name, the in NOUNS[kind].items():
        assert called(**{name.replace("-", "_"): kind}) == {name: the}


def test_no_two_things_have_one_noun_and_an_author_s_comes_first():
    masses = {"weight": "hanging mass 1", "mass": "hanging mass 2"}
    carts = {"cart1": "cart 2", "cart-1": "cart 3"}
    assert called(weight="hanging", mass="hanging", cart1="cart", cart_1="cart") == masses | carts
    nouns = Nouns({"cart": ("cart", "red glider"), "mass": ("hanging", "")})
    assert list(map(nouns.the, ("cart", "Earth", "bench"))) == [
        "the red glider",
        "Earth",
        "the bench",
    ]


@pytest.mark.parametrize("text", REFUSED)
def test_a_noun_that_no_sentence_could_take_is_refused(text):
    with pytest.raises(Refusal) as caught:
        noun(text)
    assert str(caught.value) == REFUSED[text]


@pytest.mark.parametrize("text", ["red cart", "glider", "hanging mass", "cart 2", "gas"])
def test_other_nouns_stand_as_they_are(text):
    assert noun(text) == text
