"""What pages tell at a moment, case by case in ``told.yaml``."""

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
import yaml

from fallwork.scenario import (
    Correction,
    CourseData,
    GivenMean,
    Lab,
    Measured,
    Section,
    with_numbers,
)
from fallwork.scenario.quantity import parse_quantity
from pages.history import BASE, DAY, course, lab, pages, start, term

CASES: list[dict[str, Any]] = yaml.safe_load(
    Path(__file__).with_name("told.yaml").read_text("utf-8")
)
AUTUMN = term("2027-autumn", lab("level", start(9), "533.0 g"))
LEVEL = lab("level", start(2))
MONDAY = Section(
    id="monday",
    title="monday",
    opens=start(2) - 2 * DAY,
    data_opens=None,
    due=start(2) + 9 * DAY,
)
TWICE = tuple(
    Correction(at=start(2) + n * DAY, field="cart.mass", was=was, because="read again")
    for n, was in ((1, "507.3 g"), (2, "510.0 g"))
)
LIGHT = replace(LEVEL, variant=with_numbers(LEVEL.variant, {"weight.mass": "12.0 g"}))
MEAN = GivenMean(value=parse_quantity("1.39 m/s² ± 0.01 m/s²", "acceleration"), n=9)


def accelerations(*texts: str) -> tuple[Any, ...]:
    return tuple(parse_quantity(f"{text} m/s²", "acceleration") for text in texts)


def in_spring(*labs: Lab) -> CourseData:
    return course(term("2027-spring", *labs))


def with_trials(values: Any) -> CourseData:
    measured = None if values is None else Measured(acceleration=values, whose="bench")
    return in_spring(lab("level", start(2), data_opens=start(2) + 5 * DAY, measured=measured))


COURSES = {
    "own": BASE,
    "two terms": course(
        term("2027-spring", LEVEL, lab("make-up", start(3), "498.0 g")),
        AUTUMN,
    ),
    "late": course(term("2027-spring", lab("level", start(2), solution_opens=start(10))), AUTUMN),
    "a make-up with a title": in_spring(
        LEVEL, lab("make-up", start(3), title="Make-up of the first lab")
    ),
    "sections": in_spring(lab("level", start(2), sections={"monday": MONDAY})),
    "corrected twice": in_spring(lab("level", start(2), corrections=TWICE)),
    "trials": with_trials(accelerations("1.38", "1.40", "1.41", "1.39")),
    "no trials": with_trials(None),
    "means": with_trials(MEAN),
    "digits": with_trials(accelerations("1.4", "1.380")),
    "staff": in_spring(lab("level", start(2), extended_to=start(2) + 12 * DAY)),
    "staff with a light weight": in_spring(LIGHT),
}


@pytest.mark.parametrize("case", CASES, ids=lambda c: f"{c['course']} {c['at']} {c['page']}")
def test_it_is_told_then_and_there(case: dict[str, Any]) -> None:
    day: date = case["at"]
    now = datetime(day.year, day.month, day.day, tzinfo=UTC) + timedelta(hours=1)
    data = COURSES[case["course"]]
    edition = "staff" if case["course"].startswith("staff") else "student"
    name = case["page"]
    path = name[1:] if name.startswith("/") else f"2027-spring/level/{name}"
    told, at = pages(data, now, edition)[f"{path}.md"].replace("\u00a0", " "), 0
    for phrase in case.get("says", ()):
        assert phrase in told[at:]
        at = told.index(phrase, at) + len(phrase)
    assert [phrase for phrase in case.get("never", ()) if phrase in told] == []
