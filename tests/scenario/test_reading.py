"""What files become: scenarios, terms and a course, key by key, and the demo course."""

from collections.abc import Mapping
from pathlib import Path
from textwrap import indent

import pytest

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


SCENARIOS: Mapping[Path, Mapping[str, str]] = {
    SAMPLE: {
        "id": "level-track",
        "surfaces.track.friction.u": "0.002",
        "strings.string.path": "('cart', 'pulley', 'weight')",
        "run.object": "weight",
        "run.speed": "None",
        "systems.0.title": "The cart alone",
        "systems.0.members": "('cart',)",
    },
    kit.SOUND / "scenarios/heavy-pulley.yaml": {
        "objects.pulley.inertia.value": "1.8e-05",
        "objects.pulley.radius.value": "0.025",
        "objects.pulley.bearing_torque.value": "0.0002",
        "objects.cart.wheels.mass.value": "0.006",
        "objects.cart.wheels.count": "4",
    },
    kit.SOUND / "scenarios/incline.yaml": {"objects.block.static_friction.value": "0.3"},
    kit.SOUND / "scenarios/push.yaml": {
        "run.speed.value": "-0.6",
        "run.speed.u": "0.02",
        "run.until.value": "3.0",
    },
    kit.SOUND / "scenarios/moving-pulley.yaml": {
        "objects.moving.moving": "True",
        "objects.weight.hangs_from": "moving",
    },
}


@pytest.mark.parametrize("path", SCENARIOS, ids=lambda path: path.stem)
def test_a_scenario_gives_what_its_file_says(path: Path) -> None:
    scenario = load_scenario(path)
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
FILES = "measured: {files: 2027-spring/cart/*.csv"
LABS: Mapping[str, Mapping[str, str]] = {  # more lines of a lab, and what they give
    "sections: {thursday: {title: Thursdays, due: 2027-02-14T17:00}}": {
        "sections.thursday.title": "Thursdays",
        "sections.thursday.opens": "2027-02-01T00:00+01:00",  # the lab's
        "sections.thursday.data_opens": "2027-02-08T00:00+01:00",
        "sections.thursday.due": "2027-02-14T17:00+01:00",
    },
    # Pages open with the first section, and the rest with the last.
    "sections: {a: {opens: 2027-01-30, data_opens: 2027-02-11}, b: {due: 2027-02-15}}": {
        "opens_first": "2027-01-30T00:00+01:00",
        "data_opens_last": "2027-02-11T00:00+01:00",
        "due_last": "2027-02-15T00:00+01:00",
    },
    "title: Make-up lab": {
        "title": "Make-up lab",
        "variant.title": "Make-up lab",
        "example.title": "Make-up lab",
        "scenario.title": "Cart and weight",
    },
    f"{FILES}, whose: bench}}": {
        "measured.files.0.name": "trial-01.csv",
        "measured.files.1.name": "trial-02.csv",
        "measured.pattern": "2027-spring/cart/*.csv",
        "measured.whose": "bench",
    },
    "measured: {final_speed: {value: 1.34 m/s ± 0.01 m/s, n: 10}, tension: [0.66 N, none, 7 mN]}": {
        "measured.values.final_speed.value": "1.34 m/s ± 0.01 m/s",
        "measured.values.final_speed.n": "10",
        "measured.values.tension.0": "0.66 N",
        "measured.values.tension.1": "None",
        "measured.values.tension.2": "7 mN",
    },
    f"{FILES}, signs: {{force: -1, velocity: +1}}, sensors: {{force_scale: 0.01}}}}": {
        "measured.signs": "{'force': -1, 'velocity': 1}",
        "measured.sensors.force_scale": "0.01",
        "measured.sensors.force_zero": "None",
    },
    f"{FILES}, windows: [{{trial: 1, from: 0.52 s, to: 1400 ms}}]}}": {
        "measured.windows.0.trial": "1",
        "measured.windows.0.end.value": "1.4",
    },
    f"{FILES}, exclude: [{{trial: trial-02, because: the cable dragged}}]}}": {
        "measured.excluded.0.trial": "trial-02",
        "measured.excluded.0.because": "the cable dragged",
    },
    "corrections: [{at: 2027-02-03, field: cart.mass, was: 507.3 g, because: with its hook}]": {
        "corrections.0.field": "cart.mass",
        "corrections.0.was": "507.3 g",
        "corrections.0.because": "with its hook",
    },
    "withdrawn: {at: 2027-03-01, because: The track was bent.}\nextended_to: 2027-02-19": {
        "withdrawn.at": "2027-03-01T00:00+01:00",
        "withdrawn.because": "The track was bent.",
        "extended_to": "2027-02-19T00:00+01:00",
    },
}


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


COURSES: Mapping[tuple[str, str, str], Mapping[str, str]] = {  # file, old and new text
    ("course.yaml", "", ""): {
        "course.title": "Mechanics lab",
        "course.time_zone": "Europe/Zurich",
        "course.gravity.value": "9.81",
        "course.contact": "Contact(who='the lab office', how='room 114')",
        "terms.0.id": "2027-spring",
        "terms.0.title": "Spring 2027",
        "terms.0.labs.0.opens": "2027-02-01T00:00+01:00",
        "terms.0.labs.0.due": "2027-02-12T17:00+01:00",
        "terms.0.labs.0.solution_opens": "2027-02-15T00:00+01:00",
        "terms.0.labs.0.data_opens_last": "None",
        # The lab has the numbers of its term, and its example others on top.
        "terms.0.labs.0.variant.objects.cart.mass": "512.0 g ± 0.1 g",
        "terms.0.labs.0.variant.objects.weight.mass": "80.0 g",
        "terms.0.labs.0.variant.run.distance": "0.550 m ± 1 mm limits",
        "terms.0.labs.0.example.objects.cart.mass": "512.0 g ± 0.1 g",
        "terms.0.labs.0.example.objects.weight.mass": "120.0 g",
        "terms.0.labs.0.example.run.distance": "0.550 m ± 1 mm limits",
    },
    ("terms/2027-spring.yaml", "  cart:\n", "  make-up:\n    scenario: cart\n"): {
        "terms.0.labs.0.id": "make-up",
        "terms.0.labs.0.scenario.id": "cart",
    },
    ("terms/2027-spring.yaml", "    numbers: {cart.mass: 512.0 g, run.distance: 0.550 m}\n", ""): {
        "terms.0.labs.0.variant.objects.cart.mass": "420.0 g ± 0.1 g"
    },
    ("course.yaml", "gravity: 9.81 m/s²", "latitude: -33.5° ± 0.1°\nheight: 12 m"): {
        "course.gravity": "None",
        "course.latitude": "−33.5 deg ± 0.1 deg",
    },
    ("course.yaml", "contact:", "url: https://lab.example.org/mechanics/\ncontact:"): {
        "course.url": "https://lab.example.org/mechanics/"
    },
    ("course.yaml", "contact:", "attachments: {photos/*: always, a: 2027-02-08}\ncontact:"): {
        "course.attachments.photos/*": "None",
        "course.attachments.a": "2027-02-08T00:00+01:00",
    },
    ("course.yaml", "significant_figures: 3\n", ""): {"course.significant_figures": "3"},
}


@pytest.mark.parametrize("change", COURSES, ids=str)
def test_a_course_gives_what_its_files_say(change: tuple[str, str, str], tmp_path: Path) -> None:
    data = kit.changed(tmp_path, *change)
    assert {key: kit.at(data, key) for key in COURSES[change]} == COURSES[change]
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
