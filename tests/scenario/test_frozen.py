"""The program's own record of what was published: written, read again, and never lost."""

from datetime import datetime, timedelta, timezone
from pathlib import Path

import pytest

from fallwork.scenario import (
    Correction,
    Frozen,
    fields_of,
    frozen_path,
    frozen_text,
    load_course,
    numbers_of,
    with_numbers,
)
from scenario import kit

COURSE = load_course(kit.SOUND)
RECORD = Frozen(
    scenario="cart",
    variant={"cart.mass": "512.0 g ± 0.1 g", "run.start": "rest", "track.slope": "−2 deg"},
    example={"cart.mass": "no"},
    results={"driven, duration": "0.935 s", "a: b # c": "1e-05 m"},
    example_results={},
    measured={"2027-spring/cart/trial-01.csv": "00ff"},
    corrections=(
        Correction(
            at=datetime(2027, 2, 3, 8, 30, tzinfo=timezone(timedelta(hours=1))),
            field="cart.mass",
            was="507.3 g",
            because="weighed with its hook: 5 g more",
        ),
    ),
)


def write(root: Path, text: str, lab: str = "cart", term: str = "2027-spring") -> None:
    path = frozen_path(root, term, lab)
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text(text, "utf-8")


def test_a_record_reads_as_it_was_written(course: Path) -> None:
    write(course, frozen_text(RECORD))
    assert load_course(course).published == {("2027-spring", "cart"): RECORD}
    assert frozen_text(RECORD).startswith("# Written by `fallwork publish`: what has been")
    assert COURSE.published == {}


@pytest.mark.parametrize(("term", "lab"), [("2027-spring", "ramp"), ("2026-autumn", "cart")])
def test_what_was_published_cannot_be_taken_out(term: str, lab: str, course: Path) -> None:
    write(course, frozen_text(RECORD), lab, term)
    assert kit.message(load_course, course) == (
        f"published/{term}/{lab}.yaml:1:1: {lab} has been published, but terms/{term}.yaml has no "
        "such lab any more; put it back; to take its pages down, give it withdrawn: "
        "{at: 2027-03-01, because: …}"
    )


SPOILED = {  # what is taken out, what stands there then, and what is said of it
    ("example_results: {}\n", ""): "3:1: a record without example_results",
    ("example_results: {}", "example_results: []"): (
        "13:18: a list where the example_results should stand"
    ),
    ("T08:30+01:00", ""): '17:7: "2027-02-03" is not a moment with its time zone',
}


@pytest.mark.parametrize("change", SPOILED)
def test_a_record_that_was_spoiled_is_refused(course: Path, change: tuple[str, str]) -> None:
    write(course, frozen_text(RECORD).replace(*change))
    assert kit.message(load_course, course) == (
        f"published/2027-spring/cart.yaml:{SPOILED[change]}; the program writes this file: "
        "restore it from version control"
    )


FIELDS = """
cart.kind: cart; cart.mass: 420.0 g ± 0.1 g; cart.runs_on: track; cart.starts_at: 0.25 m
weight.kind: hanging; weight.mass: 80.0 g; pulley.kind: pulley; track.slope: 0 deg
track.friction: 0.008 ± 0.002; track.length: 1.20 m; string.path: cart, pulley, weight
run.object: weight; run.distance: 0.600 m ± 1 mm limits; run.start: rest; systems.cart-alone: cart
"""


def test_the_fields_of_a_scenario_are_all_there() -> None:
    rows = FIELDS.strip().replace("\n", "; ").split("; ")
    assert [f"{path}: {text}" for path, text in fields_of(COURSE.scenarios["cart"]).items()] == rows


@pytest.mark.parametrize("name", COURSE.scenarios)
def test_every_number_can_be_put_back_as_it_was_written(name: str) -> None:
    scenario = COURSE.scenarios[name]
    assert numbers_of(with_numbers(scenario, numbers_of(scenario))) == numbers_of(scenario)
