"""What pages tell at a moment: ``told.yaml``; numbers on pages of a lab with means alone."""

import csv
import re
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from functools import cache
from io import StringIO
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

import pytest
from scipy.stats import t

from cases import cases
from fallwork.lesson.measured.words import on_means
from fallwork.measurement.model import Estimate
from fallwork.measurement.simulate import Behaviour, csv_of, simulate
from fallwork.mechanics import apparatus_of, solve
from fallwork.pages.worked import evidence_of
from fallwork.scenario import (
    Correction,
    Excluded,
    FormerStep,
    Lab,
    Measured,
    Recording,
    Section,
    Withdrawal,
    load_scenario,
    with_numbers,
)
from fallwork.scenario.course import CourseData, Safety
from fallwork.scenario.quantity import parse_quantity
from pages.history import BASE, DAY, course, in_spring, lab, mean, pages, start, taken, term
from pages.test_variants import DATA as VARIANTS

CASES = cases(__file__, "told")
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
TAKEN = Withdrawal(at=start(2) + 5 * DAY, because="The track was bent.")
FORMER = (FormerStep(id="rope", now="tension"), FormerStep(id="hook", because="It stands there."))
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
KEPT = TemporaryDirectory()  # as long as the tests run
DEMO = Path(__file__).parents[2] / "site-data/scenarios"
FOLDER = "2027-spring/level/"
ADDRESS = "https://lab.example.org/mechanics"
GRAVITY = Estimate(value=9.80665, u=0.0)
MASS, DISTANCE = 0.512, 0.550  # kg, m: the cart of these tests' lab, and its run


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
    measured = Measured(pattern="*.csv", files=files, whose="simulation", **more)
    return lab("level", start(2), data_opens=start(2) + 5 * DAY, measured=measured)


RECORDED = recorded(Path(KEPT.name))
HELD = recorded(Path(KEPT.name), zero="held")


def spring(**more: object) -> CourseData:
    return in_spring(lab("level", start(2), **more))


SLOW_DRAGGED = replace(
    measured("1.40 m/s²", "0.760 N"), excluded=(Excluded(trial="4", because="the cable dragged"),)
)
AS_PREDICTED = taken("speed", *(f"{END * by:.3f} m/s" for by in (0.98, 0.99, 1, 1.01, 1.02)))
FOUR = taken("acceleration", "1.38 m/s²", "1.40 m/s²", "1.41 m/s²", "1.39 m/s²")
TIMED = replace(BASE.course, recording_times={"media.example.org": "?start={seconds}"})
AGAIN = lab("make-up", start(3), title="Make-up of the first lab")
COURSES = {
    "own": BASE,
    "two terms": course(term("2027-spring", LEVEL, lab("make-up", start(3), "498.0 g")), AUTUMN),
    "two labs": in_spring(LEVEL, lab("march", start(3), "498.0 g")),
    "late": course(term("2027-spring", lab("level", start(2), solution_opens=start(10))), AUTUMN),
    "a make-up with a title": in_spring(LEVEL, AGAIN),
    "gone": spring(withdrawn=TAKEN),
    "renamed": in_spring(LEVEL, scenario=replace(BASE.scenarios["level"], former_steps=FORMER)),
    "known address": replace(in_spring(LEVEL), course=replace(BASE.course, url=ADDRESS)),
    "sections": spring(sections={"monday": MONDAY}),
    "corrected": spring(corrections=(ONCE,)),
    "corrected twice": spring(corrections=TWICE),
    "trials": with_trials(FOUR),
    "no trials": with_trials(None),
    "means": with_trials(MEAN),
    "digits": with_trials(taken("acceleration", "1.4 m/s²", "1.380 m/s²")),
    "means without": of_means(measured("1.40 m/s²", "0.760 N")),
    "means of eight": of_means(measured("1.40 m/s²", "0.760 N", n=8)),
    "means judged": of_means(measured("1.40 m/s² ± 0.01 m/s²", "0.760 N ± 0.002 N")),
    "one mean": of_means(Measured(acceleration=ALONE)),
    "two means": of_means(Measured(acceleration=ALONE, final_speed=mean("speed", "1.20 m/s"))),
    "means with a dragged cable": of_means(SLOW_DRAGGED),
    "speeds as predicted": of_means(Measured(acceleration=ALONE, final_speed=AS_PREDICTED)),
    "simulated": in_spring(RECORDED),
    "zeroed while held": in_spring(HELD),
    "filmed": replace(spring(recordings=FILMED), course=TIMED),
    "heavy": replace(BASE, course=replace(BASE.course, safety=Safety(heavy_mass=HALF_A_KILO))),
    "variants": VARIANTS,
    "staff": spring(extended_to=start(2) + 12 * DAY),
    "staff with a light weight": in_spring(LIGHT),
    "staff with trials": spring(data_opens=start(2) + 9 * DAY, measured=DRAGGED),
    "staff with variants": VARIANTS,
}


@pytest.mark.parametrize("case", CASES, ids=lambda c: " ".join(map(str, list(c.values())[:4])))
def test_it_is_told_then_and_there(case):
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


# ---- numbers of means
WITHOUT = measured("1.40 m/s²", "0.760 N")
JUDGED = measured("1.40 m/s² ± 0.01 m/s²", "0.760 N ± 0.002 N")


def built(given: Measured, **more: object) -> dict[str, str]:
    one, folder = lab("level", start(2), data_opens=start(2), measured=given, **more), FOLDER
    made = pages(in_spring(one), start(12), "staff")
    return {path.removeprefix(folder): text for path, text in made.items() if folder in path}


@cache
def page(name: str, judged: bool = False) -> str:
    return built(JUDGED if judged else WITHOUT)[name]


def step(page: str, name: str) -> str:
    return re.split(r"(?m)^### ", page.split(f"{{#{name} ")[1])[0]


def rows(text: str) -> list[list[str]]:
    lines = [line for line in text.splitlines() if line.startswith("| ")]
    return [[cell.strip() for cell in line.strip("|").split("|")] for line in lines]


@pytest.mark.parametrize("judged", [False, True])
@pytest.mark.parametrize("system", ["cart-alone", "all-moving"])
def test_the_sides_shown_make_the_difference_shown(judged, system):
    *_, found = step(page("solution.md", judged), f"{system}-measured").split("trial by trial")
    for row in rows(found)[2:]:
        work, change, difference = (
            float(re.sub("[^-.0-9]", "", c.replace("−", "-"))) for c in row[1:4]
        )
        places = len(row[3].partition(".")[2].split("\u00a0")[0])
        assert abs(work - change - difference) <= 0.61 * 10**-places


@pytest.mark.parametrize("judged", [False, True])
def test_each_trial_has_its_own_balance_and_a_factor_the_degrees_of_freedom_that_are_named(judged):
    head, _, *trials = rows(step(page("solution.md", judged), "cart-alone-measured"))[-12:]
    assert head[1] == "External work, with the mean tension of all trials"
    assert ("Expanded uncertainty" in head) == judged
    work = 0.760 * DISTANCE - 0.008 * MASS * 9.80665 * DISTANCE
    for row, speed in zip(trials, SPEEDS, strict=True):
        shown = [float(cell.split()[0].replace("−", "-")) for cell in row[1:4]]
        energy = 0.5 * MASS * speed**2
        assert shown == pytest.approx([work, energy, work - energy], abs=6e-4)
    # Student's t at 97.5 % by SciPy; with what all trials share they are no whole number.
    words = r"reaches (\d\.\d+) times that to either side, for ([\d.]+)[\w ]* degrees of freedom"
    said = re.findall(words, page("data.md", judged))
    assert said
    for factor, dof in said:
        assert float(factor) == pytest.approx(t.ppf(0.975, float(dof)), abs=0.006)


def test_nothing_stands_for_an_unknown_uncertainty():
    table = {row[0]: row[1:] for row in rows(step(page("data.md"), "summary"))}
    assert table["Acceleration"] == ["10", "1.40\u00a0m/s²", *["not known"] * 3]
    where = {row[0]: row[1:] for row in rows(step(page("solution.md"), "discrepancy"))}
    assert where["At the cart"][-1] == "not judged"
    assert ["±" in where[each][0] for each in ("Altogether", "At the cart")] == [True, False]
    file = next(csv.DictReader(StringIO(page("data/trials.csv"))))
    assert file["u of final speed (m/s)"] == ""
    bare = mean("speed", "1.20 m/s")
    two = built(Measured(acceleration=WITHOUT.acceleration, final_speed=bare))["solution.md"]
    symbols = two.split("{#symbols}")[1].split("##")[0]
    assert [row for row in rows(symbols) if row[-1] == "" and "meas" in row[0]] == []


def test_a_difference_is_accepted_as_it_comes_out_of_rounded_values():
    """1.40 m/s² − 1.3994 m/s² is 0.0006 m/s²; whoever rounds first gets 0.001 or nothing."""
    marking = rows(page("marking.md", judged=True))
    cell = next(row for row in marking if r", $\Delta a$" in row[0])[2].replace("−", "-")
    number = r"(-?\d+(?:\.\d+)?)(?: \\times 10\^\{(-\d+)\})?"
    found = re.findall(number, re.sub(r"\\mathrm\{[^}]*\}", "", cell))
    low, high = (float(digits) * 10 ** int(power or 0) for digits, power in found)
    assert low <= 0.0 < 0.001 <= high


def two_means(name: str, *, factor: float = 1.0) -> dict[str, str]:
    """Pages of a demo set-up of which two means are known, by so much more than predicted."""
    demo = load_scenario(DEMO / f"{name}.yaml")
    driven = solve(apparatus_of(demo, 9.80665)).phases[0]
    first = next(iter(demo.objects))
    a, pull = abs(driven.accelerations[first]), driven.tensions["string"][first]
    given = Measured(
        acceleration=mean("acceleration", f"{factor * a:.3f} m/s²"),
        tension=mean("force", f"{factor * pull:.3f} N"),
    )
    return built(given, scenario=demo, variant=demo, example=demo)


@pytest.mark.in_full
def test_means_of_every_kind_of_run_make_pages(thorough):
    """Formulas hold, since printing checks both sides, and every figure can be drawn."""
    others = ("heavy-pulley", "incline-held", "push-away") if thorough else ()
    for name in ("moving-pulley", *others):
        found = two_means(name)["data.md"]
        assert "not known" in found, name
        assert "What doesn't count" not in found, name


def test_means_that_can_not_be_of_the_lab_and_unknown_scatter_have_their_remedies():
    found = two_means("push-away", factor=3.0)["data.md"]
    assert found.count("\n- Mean acceleration: an acceleration of") == 1
    assert found.count("\n- Mean tension: a tension of") == 1
    assert found.lower().count("mean acceleration: ") == 1
    assert "none of them is used" in found
    assert "no reason to leave a trial out" in found
    assert rows(found) == []
    assert "What was assumed" not in found
    alike = taken("speed", *["1.24 m/s"] * 3)
    given = Measured(acceleration=mean("acceleration", "1.40 m/s²", 1), final_speed=alike)
    first, second = on_means(evidence_of(lab("level", start(2), measured=given), GRAVITY).analysis)
    assert "acceleration: a single trial has no scatter" in first
    assert "final speed: all trials read alike" in second
