"""A course read at once: its labs as complete scenarios, and the demo course."""

import shutil
from pathlib import Path

import pytest

from democourse import exchange
from fallwork.scenario import (
    Contact,
    CourseData,
    Hanging,
    Lab,
    Scenario,
    Slider,
    as_written,
    find_course,
    load_course,
)

HERE = Path(__file__).parent
DEMO = Path(__file__).parents[2] / "site-data"


@pytest.fixture(scope="module")
def course() -> CourseData:
    return load_course(HERE / "sound")


@pytest.fixture(scope="module")
def lab(course: CourseData) -> Lab:
    return course.terms[0].labs[0]


def numbers(scenario: Scenario) -> tuple[str, str, str]:
    cart, weight = scenario.objects["cart"], scenario.objects["weight"]
    distance = scenario.run.distance
    assert isinstance(cart, Slider)
    assert isinstance(weight, Hanging)
    assert distance is not None
    return as_written(cart.mass), as_written(weight.mass), as_written(distance)


def test_the_course_file_is_read(course: CourseData) -> None:
    assert (course.course.title, course.course.time_zone) == ("Mechanics lab", "Europe/Zurich")
    assert course.course.gravity is not None
    assert course.course.gravity.value == 9.81
    assert course.course.contact == Contact(who="the lab office", how="room 114")
    assert [(term.id, term.title) for term in course.terms] == [("2027-spring", "Spring 2027")]
    assert list(course.scenarios) == sorted(course.scenarios)


def test_a_lab_has_the_numbers_of_its_term_and_its_example_others_on_top(
    course: CourseData, lab: Lab
) -> None:
    assert lab.scenario is course.scenarios["cart"]
    assert lab.example is not None
    assert numbers(lab.scenario) == ("420.0 g ± 0.1 g", "80.0 g", "0.600 m ± 1 mm limits")
    assert numbers(lab.variant) == ("512.0 g ± 0.1 g", "80.0 g", "0.550 m ± 1 mm limits")
    assert numbers(lab.example) == ("512.0 g ± 0.1 g", "120.0 g", "0.550 m ± 1 mm limits")
    dates = [moment.isoformat() for moment in (lab.opens, lab.due, lab.solution_opens)]
    assert dates == [f"2027-02-{day}:00+01:00" for day in ("01T00:00", "12T17:00", "15T00:00")]


def changed_course(tmp_path: Path, file: str, old: str, new: str) -> CourseData:
    shutil.copytree(HERE / "sound", tmp_path / "course")
    path = tmp_path / "course" / file
    exchange(path, old, new)
    return load_course(tmp_path / "course")


def test_the_same_scenario_can_be_given_under_another_id(tmp_path: Path) -> None:
    data = changed_course(
        tmp_path, "terms/2027-spring.yaml", "  cart:\n", "  make-up:\n    scenario: cart\n"
    )
    assert data.terms[0].labs[0].id == "make-up"
    assert data.terms[0].labs[0].scenario.id == "cart"


def test_a_lab_may_keep_all_numbers_of_its_scenario(tmp_path: Path) -> None:
    line = "    numbers: {cart.mass: 512.0 g, run.distance: 0.550 m}\n"
    data = changed_course(tmp_path, "terms/2027-spring.yaml", line, "")
    assert data.terms[0].labs[0].variant == data.scenarios["cart"]


def test_gravity_may_come_from_latitude_and_height(tmp_path: Path) -> None:
    data = changed_course(
        tmp_path, "course.yaml", "gravity: 9.81 m/s²", "latitude: -33.5° ± 0.1°\nheight: 12 m"
    )
    assert data.course.gravity is None
    assert data.course.latitude is not None
    assert as_written(data.course.latitude) == "−33.5 deg ± 0.1 deg"


def test_the_address_of_the_site_may_be_given(tmp_path: Path) -> None:
    url = "https://lab.example.org/mechanics/"
    data = changed_course(tmp_path, "course.yaml", "contact:", f"url: {url}\ncontact:")
    assert data.course.url == url


def test_attachments_open_in_the_time_of_the_course(tmp_path: Path) -> None:
    said = "attachments: {photos/*: always, handout.pdf: 2027-02-08}\ngravity"
    data = changed_course(tmp_path, "course.yaml", "gravity", said)
    found = {name: at and at.isoformat() for name, at in data.course.attachments.items()}
    assert found == {"photos/*": None, "handout.pdf": "2027-02-08T00:00:00+01:00"}


def test_three_significant_figures_are_usual(tmp_path: Path) -> None:
    data = changed_course(tmp_path, "course.yaml", "significant_figures: 3\n", "")
    assert data.course.significant_figures == 3


def test_a_course_may_have_no_terms_yet(tmp_path: Path) -> None:
    shutil.copytree(HERE / "sound", tmp_path / "course")
    shutil.rmtree(tmp_path / "course" / "terms")
    assert load_course(tmp_path / "course").terms == ()


def test_the_course_of_a_file_is_found_above_it(tmp_path: Path) -> None:
    assert find_course(DEMO / "scenarios" / "level-track.yaml") == DEMO
    assert find_course(tmp_path / "scenario.yaml") is None


def results(scenario: Scenario, gravity: float) -> dict[str, str]:
    """A level track's results to three figures, by the textbook's closed form."""
    cart, weight = scenario.objects["cart"], scenario.objects["weight"]
    track = scenario.surfaces["track"]
    assert isinstance(cart, Slider)
    assert isinstance(weight, Hanging)
    assert scenario.run.distance is not None
    m, w, d = cart.mass.value, weight.mass.value, scenario.run.distance.value
    a = (w - track.friction.value * m) * gravity / (m + w)
    tension, speed = w * (gravity - a), (2 * a * d) ** 0.5
    values = {"a": a, "T": tension, "v": speed, "t": speed / a, "W": tension * d}
    values |= {"K": m * speed**2 / 2, "K of all": (m + w) * speed**2 / 2, "W of g": w * gravity * d}
    return {name: f"{value:.3g}" for name, value in values.items()}


@pytest.mark.parametrize("name", ["level-track-frictionless", "level-track"])
def test_the_worked_examples_of_the_demo_give_no_answer_away(name: str) -> None:
    demo = load_course(DEMO)
    (lab,) = (lab for lab in demo.terms[0].labs if lab.id == name)
    assert demo.course.gravity is not None
    variant = results(lab.variant, demo.course.gravity.value)
    assert lab.example is not None
    example = results(lab.example, demo.course.gravity.value)
    assert set(variant.values()) & set(example.values()) == set()
