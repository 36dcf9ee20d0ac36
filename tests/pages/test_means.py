"""Pages of a lab of which a mean acceleration, a mean tension and the final speeds are known: their
numbers. What is said of them stands in ``told.yaml``.
"""

import csv
import re
from functools import cache
from io import StringIO
from pathlib import Path

import pytest
from scipy.stats import t

from fallwork.lesson.measured.words import on_means
from fallwork.measurement.model import Estimate
from fallwork.mechanics import apparatus_of, solve
from fallwork.pages.worked import evidence_of
from fallwork.scenario import Measured, load_scenario
from pages.history import in_spring, lab, mean, pages, start, taken
from pages.test_told import SPEEDS, measured

DEMO = Path(__file__).parents[2] / "site-data/scenarios"
FOLDER = "2027-spring/level/"
GRAVITY = Estimate(value=9.80665, u=0.0)
MASS, DISTANCE = 0.512, 0.550  # kg, m: the cart of these tests' lab, and its run
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
def test_the_sides_shown_make_the_difference_shown(judged: bool, system: str) -> None:
    *_, found = step(page("solution.md", judged), f"{system}-measured").split("trial by trial")
    for row in rows(found)[2:]:
        work, change, difference = (
            float(re.sub("[^-.0-9]", "", c.replace("−", "-"))) for c in row[1:4]
        )
        places = len(row[3].partition(".")[2].split("\u00a0")[0])
        assert abs(work - change - difference) <= 0.61 * 10**-places


@pytest.mark.parametrize("judged", [False, True])
def test_each_trial_has_its_own_balance_of_the_cart_with_the_mean_s_work(judged: bool) -> None:
    head, _, *trials = rows(step(page("solution.md", judged), "cart-alone-measured"))[-12:]
    assert head[1] == "External work, with the mean tension of all trials"
    assert ("Expanded uncertainty" in head) == judged
    work = 0.760 * DISTANCE - 0.008 * MASS * 9.80665 * DISTANCE
    for row, speed in zip(trials, SPEEDS, strict=True):
        shown = [float(cell.split()[0].replace("−", "-")) for cell in row[1:4]]
        energy = 0.5 * MASS * speed**2
        assert shown == pytest.approx([work, energy, work - energy], abs=6e-4)


def test_nothing_stands_for_an_unknown_uncertainty() -> None:
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


def test_a_difference_is_accepted_as_it_comes_out_of_rounded_values() -> None:
    """1.40 m/s² − 1.3994 m/s² is 0.0006 m/s²; whoever rounds first gets 0.001 or nothing."""
    marking = rows(page("marking.md", judged=True))
    cell = next(row for row in marking if r", $\Delta a$" in row[0])[2].replace("−", "-")
    number = r"(-?\d+(?:\.\d+)?)(?: \\times 10\^\{(-\d+)\})?"
    found = re.findall(number, re.sub(r"\\mathrm\{[^}]*\}", "", cell))
    low, high = (float(digits) * 10 ** int(power or 0) for digits, power in found)
    assert low <= 0.0 < 0.001 <= high


@pytest.mark.parametrize("judged", [False, True])
def test_the_factor_is_that_of_the_degrees_of_freedom_which_are_named(judged: bool) -> None:
    """Student's t at 97.5 % by SciPy; with what all trials share they are no whole number."""
    words = r"reaches (\d\.\d+) times that to either side, for ([\d.]+)[\w ]* degrees of freedom"
    said = re.findall(words, page("data.md", judged))
    assert said
    for factor, dof in said:
        assert float(factor) == pytest.approx(t.ppf(0.975, float(dof)), abs=0.006)


def two_means(name: str, *, factor: float = 1.0) -> dict[str, str]:
    """Pages of a demo set-up of which two means are known, by so much more than predicted."""
    scenario = load_scenario(DEMO / f"{name}.yaml")
    driven = solve(apparatus_of(scenario, 9.80665)).phases[0]
    first = next(iter(scenario.objects))
    a, pull = abs(driven.accelerations[first]), driven.tensions["string"][first]
    given = Measured(
        acceleration=mean("acceleration", f"{factor * a:.3f} m/s²"),
        tension=mean("force", f"{factor * pull:.3f} N"),
    )
    return built(given, scenario=scenario, variant=scenario, example=scenario)


@pytest.mark.in_full
def test_means_of_every_kind_of_run_make_pages(thorough: bool) -> None:
    """Formulas hold, since printing checks both sides, and every figure can be drawn."""
    others = ("heavy-pulley", "incline-held", "push-away") if thorough else ()
    for name in ("moving-pulley", *others):
        found = two_means(name)["data.md"]
        assert "not known" in found, name
        assert "What doesn't count" not in found, name


def test_means_that_can_not_be_of_the_lab_are_set_aside_under_their_names() -> None:
    found = two_means("push-away", factor=3.0)["data.md"]
    assert found.count("\n- Mean acceleration: an acceleration of") == 1
    assert found.count("\n- Mean tension: a tension of") == 1
    assert found.lower().count("mean acceleration: ") == 1
    assert "none of them is used" in found
    assert "no reason to leave a trial out" in found
    assert rows(found) == []
    assert "What was assumed" not in found


def test_where_nothing_tells_the_scatter_the_remedy_fits_what_was_given() -> None:
    alike = taken("speed", *["1.24 m/s"] * 3)
    given = Measured(acceleration=mean("acceleration", "1.40 m/s²", 1), final_speed=alike)
    first, second = on_means(evidence_of(lab("level", start(2), measured=given), GRAVITY).analysis)
    assert "acceleration: a single trial has no scatter" in first
    assert "final speed: all trials read alike" in second
