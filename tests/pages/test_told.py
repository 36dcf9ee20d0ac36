"""What pages tell at a moment, case by case in ``told.yaml``."""

import re
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

import pytest
import yaml

from fallwork.measurement.model import Estimate
from fallwork.measurement.simulate import Behaviour, csv_of, simulate
from fallwork.scenario import Correction, Excluded, Lab, Measured, Recording, Section, with_numbers
from fallwork.scenario.course import CourseData, Safety
from fallwork.scenario.quantity import parse_quantity
from pages.history import BASE, DAY, course, in_spring, lab, mean, pages, start, taken, term

CASES: list[dict[str, Any]] = yaml.safe_load(
    Path(__file__).with_name("told.yaml").read_text("utf-8")
)
AUTUMN = term("2027-autumn", lab("level", start(9), "533.0 g"))
LEVEL = lab("level", start(2))
MONDAY = Section(
    id="monday", title="monday", opens=start(2) - 2 * DAY, data_opens=None, due=start(2) + 9 * DAY
)
TWICE = tuple(
    Correction(at=start(2) + n * DAY, field="cart.mass", was=was, because="read again")
    for n, was in ((1, "507.3 g"), (2, "510.0 g"))
)
ONCE = Correction(
    at=start(2) + DAY, field="cart.mass", was="507.3 g", because="it was weighed without a hook"
)
LIGHT = replace(LEVEL, variant=with_numbers(LEVEL.variant, {"weight.mass": "12.0 g"}))
SPEEDS = (1.31, 1.33, 1.30, 1.32, 1.34, 1.32, 1.31, 1.35, 1.33, 1.32)  # m/s
END = 1.2407  # m/s, √(2 a d) with a = 1.3994 m/s² by hand
ALONE = mean("acceleration", "1.40 m/s²")
FILMED = tuple(
    Recording(title=title, address=there, at=start(2) + days * DAY, marks={"tension": second})
    for title, there, days, second in (
        ("The trials", "https://media.example.org/a?b=c&d=e", 7, 190),
        ("The landing", "https://later.example.org/b", 10, 3605),
    )
)
HALF_A_KILO = parse_quantity("500 g", "mass")
DRAGGED = Measured(
    acceleration=taken("acceleration", "1.39 m/s²", "1.41 m/s²", "1.90 m/s²"),
    excluded=(Excluded(trial="3", because="the cable dragged"),),
    whose="class",
)
MEAN = mean("acceleration", "1.39 m/s² ± 0.01 m/s²", 9)


def measured(acceleration: str, tension: str, n: int | None = 10) -> Measured:
    """Two means, and the final speeds."""
    return Measured(
        acceleration=mean("acceleration", acceleration, n),
        tension=mean("force", tension, n),
        final_speed=taken("speed", *(f"{v:.2f} m/s" for v in SPEEDS)),
    )


def of_means(given: Measured) -> CourseData:
    return in_spring(lab("level", start(2), data_opens=start(2), measured=given))


def with_trials(values: Any) -> CourseData:
    measured = None if values is None else Measured(acceleration=values, whose="bench")
    return in_spring(lab("level", start(2), data_opens=start(2) + 5 * DAY, measured=measured))


def recorded(folder: Path, **more: object) -> Lab:
    """A lab with the records of three simulated trials, in a file of its own each."""
    gravity, behaviour = Estimate(value=9.80665, u=0.0), Behaviour(position_rate=50, force_rate=50)
    trials = simulate(LEVEL.variant, gravity, trials=3, seed=2, behaviour=behaviour)
    files = tuple(folder / f"{trial.record.name}.csv" for trial in trials)
    for file, trial in zip(files, trials, strict=True):
        file.write_text(csv_of([trial], seed=2), encoding="utf-8")
    measured = Measured(pattern="*.csv", files=files, whose="simulation", **more)  # type: ignore[arg-type]
    return lab("level", start(2), data_opens=start(2) + 5 * DAY, measured=measured)


KEPT = TemporaryDirectory()  # as long as the tests run
RECORDED = recorded(Path(KEPT.name))
HELD = recorded(Path(KEPT.name), zero="held")

COURSES = {
    "own": BASE,
    "two terms": course(term("2027-spring", LEVEL, lab("make-up", start(3), "498.0 g")), AUTUMN),
    "two labs": in_spring(LEVEL, lab("march", start(3), "498.0 g")),
    "late": course(term("2027-spring", lab("level", start(2), solution_opens=start(10))), AUTUMN),
    "a make-up with a title": in_spring(
        LEVEL, lab("make-up", start(3), title="Make-up of the first lab")
    ),
    "known address": replace(
        in_spring(LEVEL), course=replace(BASE.course, url="https://lab.example.org/mechanics")
    ),
    "sections": in_spring(lab("level", start(2), sections={"monday": MONDAY})),
    "corrected": in_spring(lab("level", start(2), corrections=(ONCE,))),
    "corrected twice": in_spring(lab("level", start(2), corrections=TWICE)),
    "trials": with_trials(
        taken("acceleration", "1.38 m/s²", "1.40 m/s²", "1.41 m/s²", "1.39 m/s²")
    ),
    "no trials": with_trials(None),
    "means": with_trials(MEAN),
    "digits": with_trials(taken("acceleration", "1.4 m/s²", "1.380 m/s²")),
    "means without": of_means(measured("1.40 m/s²", "0.760 N")),
    "means of eight": of_means(measured("1.40 m/s²", "0.760 N", n=8)),
    "means judged": of_means(measured("1.40 m/s² ± 0.01 m/s²", "0.760 N ± 0.002 N")),
    "one mean": of_means(Measured(acceleration=ALONE)),
    "two means": of_means(Measured(acceleration=ALONE, final_speed=mean("speed", "1.20 m/s"))),
    "means with a dragged cable": of_means(
        replace(
            measured("1.40 m/s²", "0.760 N"),
            excluded=(Excluded(trial="4", because="the cable dragged"),),
        )
    ),
    "speeds as predicted": of_means(
        Measured(
            acceleration=ALONE,
            final_speed=taken(
                "speed", *(f"{END * (1 + part / 100):.3f} m/s" for part in (-2, -1, 0, 1, 2))
            ),
        )
    ),
    "simulated": in_spring(RECORDED),
    "zeroed while held": in_spring(HELD),
    "filmed": replace(
        in_spring(lab("level", start(2), recordings=FILMED)),
        course=replace(BASE.course, recording_times={"media.example.org": "?start={seconds}"}),
    ),
    "heavy": replace(BASE, course=replace(BASE.course, safety=Safety(heavy_mass=HALF_A_KILO))),
    "staff": in_spring(lab("level", start(2), extended_to=start(2) + 12 * DAY)),
    "staff with a light weight": in_spring(LIGHT),
    "staff with trials": in_spring(
        lab("level", start(2), data_opens=start(2) + 9 * DAY, measured=DRAGGED)
    ),
}


@pytest.mark.parametrize("case", CASES, ids=lambda c: " ".join(map(str, list(c.values())[:4])))
def test_it_is_told_then_and_there(case: dict[str, Any]) -> None:
    day: date = case["at"]
    now = datetime(day.year, day.month, day.day, tzinfo=UTC) + timedelta(hours=1)
    data = COURSES[case["course"]]
    for_staff = case["course"].startswith("staff") or case.get("edition") == "staff"
    edition = "staff" if for_staff else "student"
    name = case["page"]
    path = name[1:] if name.startswith("/") else f"2027-spring/level/{name}"
    told, at = pages(data, now, edition)[f"{path}.md"].replace("\u00a0", " "), 0
    if "step" in case:
        told = re.split(r"(?m)^### ", told.split(f"{{#{case['step']} ")[1])[0]
    for phrase in case.get("says", ()):
        assert phrase in told[at:]
        at = told.index(phrase, at) + len(phrase)
    assert [phrase for phrase in case.get("never", ()) if phrase in told] == []
