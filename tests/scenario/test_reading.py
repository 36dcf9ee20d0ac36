"""What files become: scenarios, terms and a course, key by key, and the demo course."""

from pathlib import Path
from textwrap import indent
from typing import Any

import pytest
import yaml

from fallwork.scenario import (
    FormerStep,
    Hanging,
    Lab,
    Quantity,
    Scenario,
    Slider,
    find_course,
    load_course,
    load_scenario,
)
from scenario import kit

SOUND = sorted((kit.SOUND / "scenarios").glob("*.yaml"))
SAMPLE = kit.DEMO / "scenarios" / "level-track.yaml"


def test_the_sample_gives_its_cart() -> None:
    assert load_scenario(SAMPLE).objects["cart"] == Slider(
        name="cart",
        kind="cart",
        mass=Quantity(
            kind="mass", value=0.42, u=0.0001, number="420.0", unit="g", uncertainty="0.1 g"
        ),
        runs_on="track",
        starts_at=Quantity(kind="length", value=0.25, number="0.25", unit="m"),
    )


CASES = yaml.load(Path(__file__).with_name("reading.yaml").read_text("utf-8"), yaml.BaseLoader)
SCENARIOS, COURSES = CASES["scenarios"], CASES["courses"]


@pytest.mark.parametrize("path", SCENARIOS)
def test_a_scenario_gives_what_its_file_says(path: str) -> None:
    scenario = load_scenario(kit.HERE.parents[1] / path)
    assert {key: kit.at(scenario, key) for key in SCENARIOS[path]} == SCENARIOS[path]


@pytest.mark.parametrize("path", SOUND, ids=lambda path: path.stem)
def test_every_kind_of_set_up_is_accepted(path: Path) -> None:
    assert load_scenario(path).id == path.stem


TERM = """\
term: Spring 2027
labs:
  cart:
    example: {weight.mass: 120.0 g}
    opens: 2027-02-01
    data_opens: 2027-02-08
    due: 2027-02-12T17:00
    solution_opens: 2027-02-20
"""
LABS = {case["says"]: case["gives"] for case in CASES["labs"]}


def lab_of(folder: Path, more: str = "", example: str = "{weight.mass: 120.0 g}") -> Lab:
    """The lab of a term file with ``more`` lines."""
    course = kit.copied(folder)
    text = TERM.replace("{weight.mass: 120.0 g}", example) + indent(more, "    ")
    (course / "terms" / "2027-spring.yaml").write_text(text, "utf-8")
    return load_course(course).terms[0].labs[0]


@pytest.mark.parametrize("more", LABS)
def test_a_lab_gives_what_its_term_says(more: str, tmp_path: Path) -> None:
    lab = lab_of(tmp_path, f"{more}\n")
    assert {key: kit.at(lab, key) for key in LABS[more]} == LABS[more]


def test_the_example_may_be_left_to_the_program(tmp_path: Path) -> None:
    assert lab_of(tmp_path, example="auto").example is None


def test_a_link_out_of_the_folder_of_trials_is_refused(tmp_path: Path) -> None:
    (tmp_path / "elsewhere.csv").write_text("time (s)\n", "utf-8")
    course = kit.copied(tmp_path)
    (course / "trials/2027-spring/cart/trial-03.csv").symlink_to(tmp_path / "elsewhere.csv")
    text = TERM + "    measured: {files: 2027-spring/cart/*.csv}\n"
    (course / "terms" / "2027-spring.yaml").write_text(text, "utf-8")
    assert kit.message(load_course, course) == (
        f"{course}/terms/2027-spring.yaml:9:23: "
        f"{course}/trials/2027-spring/cart/trial-03.csv leads out of the folder {course}/trials; "
        "put the file itself there"
    )


def test_a_term_may_give_everything_at_once(course: Path) -> None:
    text = (kit.HERE / "full_terms" / "2027-summer.yaml").read_text("utf-8")
    Path("terms/2027-summer.yaml").write_text(text, "utf-8")
    labs = load_course(course).terms[1].labs
    assert [(lab.id, lab.scenario.id) for lab in labs] == [("cart", "cart"), ("make-up", "cart")]


def test_steps_that_were_renamed_or_taken_out_are_known(tmp_path: Path) -> None:
    steps = "former_steps: {pull: tension, rope: {because: It stands with the pulley.}}\nrun:"
    found = kit.changed(tmp_path, "scenarios/cart.yaml", "run:", steps).scenarios["cart"]
    assert found.former_steps == (
        FormerStep(id="pull", now="tension"),
        FormerStep(id="rope", because="It stands with the pulley."),
    )


@pytest.mark.parametrize("case", COURSES, ids=lambda case: case["new"] or case["old"])
def test_a_course_gives_what_its_files_say(case: dict[str, Any], tmp_path: Path) -> None:
    data = kit.changed(tmp_path, case["file"], case["old"], case["new"])
    assert {key: kit.at(data, key) for key in case["gives"]} == case["gives"]
    assert list(data.scenarios) == sorted(data.scenarios)


def test_a_course_may_have_no_terms_yet(course: Path) -> None:
    Path("terms/2027-spring.yaml").unlink()
    Path("terms").rmdir()
    assert load_course(course).terms == ()


def test_the_course_of_a_file_is_found_above_it(tmp_path: Path) -> None:
    assert find_course(SAMPLE) == kit.DEMO
    assert find_course(tmp_path / "scenario.yaml") is None


def results(scenario: Scenario, gravity: float) -> set[str]:
    """A level track's results to three figures, by the textbook's closed form."""
    cart, weight = scenario.objects["cart"], scenario.objects["weight"]
    assert isinstance(cart, Slider)
    assert isinstance(weight, Hanging)
    assert scenario.run.distance is not None
    m, w, d = cart.mass.value, weight.mass.value, scenario.run.distance.value
    a = (w - scenario.surfaces["track"].friction.value * m) * gravity / (m + w)
    tension, v = w * (gravity - a), (2 * a * d) ** 0.5
    values = (a, tension, v, v / a, tension * d, m * v**2 / 2, (m + w) * v**2 / 2, w * gravity * d)
    return {f"{value:.3g}" for value in values}


@pytest.mark.parametrize("name", ["level-track-frictionless", "level-track"])
def test_the_worked_examples_of_the_demo_give_no_answer_away(name: str) -> None:
    demo = load_course(kit.DEMO)
    (lab,) = (lab for lab in demo.terms[0].labs if lab.id == name)
    assert demo.course.gravity is not None
    assert lab.example is not None
    variant, example = (results(s, demo.course.gravity.value) for s in (lab.variant, lab.example))
    assert variant & example == set()
