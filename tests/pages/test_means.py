"""Pages of a lab of which a mean acceleration, a mean tension and the final speeds are known."""

import csv
import re
from collections.abc import Callable
from dataclasses import replace
from functools import cache
from io import StringIO
from pathlib import Path

import pytest
from scipy.stats import t

from fallwork.lesson.measured.evidence import on_means
from fallwork.measurement.model import Estimate
from fallwork.mechanics import apparatus_of, solve
from fallwork.pages.trials import evidence_of
from fallwork.scenario import Excluded, GivenMean, Measured, load_scenario
from fallwork.scenario.quantity import parse_quantity
from pages.history import course, lab, pages, start, term

DEMO = Path(__file__).parents[2] / "site-data/scenarios"
NOW = start(12)
SPEEDS = (1.31, 1.33, 1.30, 1.32, 1.34, 1.32, 1.31, 1.35, 1.33, 1.32)  # m/s
MASS, DISTANCE = 0.512, 0.550  # kg, m: the cart of these tests' lab, and its run


def measured(acceleration: str, tension: str, n: int | None = 10) -> Measured:
    return Measured(
        acceleration=GivenMean(value=parse_quantity(acceleration, "acceleration"), n=n),
        tension=GivenMean(value=parse_quantity(tension, "force"), n=n),
        final_speed=tuple(parse_quantity(f"{v:.2f} m/s", "speed") for v in SPEEDS),
    )


def built(given: Measured, **more: object) -> dict[str, str]:
    one = lab("level", start(2), data_opens=start(2), measured=given, **more)
    folder = "2027-spring/level/"
    made = pages(course(term("2027-spring", one)), NOW, "staff")
    return {path.removeprefix(folder): text for path, text in made.items() if folder in path}


@cache
def without() -> dict[str, str]:
    return built(measured("1.40 m/s²", "0.760 N"))


@cache
def judged() -> dict[str, str]:
    """The same course with ±."""
    return built(measured("1.40 m/s² ± 0.01 m/s²", "0.760 N ± 0.002 N"))


def step(page: str, name: str) -> str:
    return re.split(r"(?m)^### ", page.split(f"{{#{name} ")[1])[0]


def rows(text: str) -> list[list[str]]:
    lines = [line for line in text.splitlines() if line.startswith("| ")]
    return [[cell.strip() for cell in line.strip("|").split("|")] for line in lines]


@pytest.mark.parametrize("name", ["acceleration", "tension"])
def test_a_mean_without_scatter_has_a_difference_and_no_verdict(name: str) -> None:
    found = step(without()["solution.md"], f"comparison-{name}")
    assert "Without scatter there is no verdict" in found
    assert r"\%" in found
    assert "u_" not in found
    assert "L_" not in found
    other = step(judged()["solution.md"], f"comparison-{name}")
    assert "Without scatter" not in other
    assert "L_" in other


def test_a_difference_ends_where_percent_and_parts_bear_it_out() -> None:
    """By hand 1.3994 m/s² and 0.7567 N: 0.0006 m/s² is less than half of a last digit of 1.40."""
    small, large = (
        step(without()["solution.md"], f"comparison-{name}") for name in ("acceleration", "tension")
    )
    assert r"\approx 6 \times 10^{-4}" in small
    assert r"\approx 0.0033" in large
    lost = "rounding the typed values alone can make it"
    assert (lost in small, lost in large) == (True, False)


@pytest.mark.parametrize("made", [without, judged])
@pytest.mark.parametrize("system", ["cart-alone", "all-moving"])
def test_the_sides_shown_make_the_difference_shown(
    made: Callable[[], dict[str, str]], system: str
) -> None:
    *_, found = step(made()["solution.md"], f"{system}-measured").split("trial by trial")
    for row in rows(found)[2:]:
        work, change, difference = (
            float(re.sub("[^-.0-9]", "", c.replace("−", "-"))) for c in row[1:4]
        )
        places = len(row[3].partition(".")[2].split("\u00a0")[0])
        assert abs(work - change - difference) <= 0.61 * 10**-places


def test_what_to_record_next_time_is_said_once() -> None:
    words = "Next time write down the value of every trial"
    assert without()["solution.md"].count(words) == 1
    assert words not in judged()["solution.md"]


def test_the_acceleration_from_the_speeds_is_judged_and_worked_for_one_trial() -> None:
    assert "L_" in step(without()["solution.md"], "comparison-acceleration-from-speed")
    assert r"\frac{(1.31\,\mathrm{m/s})^2}" in step(without()["data.md"], "from-speed")
    assert "from-speed" not in judged()["data.md"]


@pytest.mark.parametrize(("made", "limit"), [(without, False), (judged, True)])
def test_each_trial_has_its_own_balance_of_the_cart_with_the_mean_s_work(
    made: Callable[[], dict[str, str]], limit: bool
) -> None:
    head, _, *trials = rows(step(made()["solution.md"], "cart-alone-measured"))[-12:]
    assert head[1] == "External work, with the mean tension of all trials"
    assert ("Limit" in head) == limit
    work = 0.760 * DISTANCE - 0.008 * MASS * 9.80665 * DISTANCE
    for row, speed in zip(trials, SPEEDS, strict=True):
        shown = [float(cell.split()[0].replace("−", "-")) for cell in row[1:4]]
        energy = 0.5 * MASS * speed**2
        assert shown == pytest.approx([work, energy, work - energy], abs=6e-4)


def test_nothing_stands_for_an_unknown_uncertainty() -> None:
    table = {row[0]: row[1:] for row in rows(step(without()["data.md"], "summary"))}
    assert table["Acceleration"] == ["10", "1.40\u00a0m/s²", *["not known"] * 3]
    where = {row[0]: row[1:] for row in rows(step(without()["solution.md"], "discrepancy"))}
    assert where["At the cart"][-1] == "not judged"
    assert "±" in where["Altogether"][0]
    assert "±" not in where["At the cart"][0]
    file = next(csv.DictReader(StringIO(without()["data/trials.csv"])))
    assert file["u of final speed (m/s)"] == ""


def test_words_about_what_there_is_not_are_left_out() -> None:
    """No ± where nothing is judged; and a mean of a mean is nothing that a page speaks of."""
    alone = GivenMean(value=parse_quantity("1.40 m/s²", "acceleration"))
    said = step(built(Measured(acceleration=alone))["solution.md"], "discrepancy")
    assert "not judged" in said
    assert "After ± stands" not in said
    assert "After ± stands" in step(without()["solution.md"], "discrepancy")
    assert "mean mean" not in judged()["solution.md"]


def test_what_does_not_count_is_named_beside_the_verdicts_too() -> None:
    left_out = (Excluded(trial="4", because="the cable dragged"),)
    made = built(replace(measured("1.40 m/s²", "0.760 N"), excluded=left_out))
    for page in ("data.md", "solution.md"):
        assert "the cable dragged" in step(made[page], "exclusions")


def test_staff_read_what_cannot_be_judged() -> None:
    assert "No verdict on the acceleration and the mean tension" in without()["notes.md"]
    assert "No verdict" not in judged()["notes.md"]


def test_a_difference_is_accepted_to_the_last_place_of_the_mean() -> None:
    """From 1.40 m/s² nobody can work out a difference to better than 0.01 m/s²."""
    found = [row for row in rows(without()["notes.md"]) if r", $\Delta a$" in row[0]]
    low, high = (float(each) for each in re.findall(r"-?\d+\.\d+", found[0][2]))
    assert high - low == pytest.approx(0.02, abs=0.0015)
    share = next(
        row for row in rows(without()["notes.md"]) if "percent error of the accel" in row[0]
    )
    low, high = (float(each.replace("−", "-")) for each in re.findall(r"[-−]?\d+\.\d+", share[2]))
    assert high - low == pytest.approx(2 * 100 * 0.01 / 1.3994, abs=0.1)  # percent, likewise


def test_a_mean_over_other_trials_is_said_to_be_one() -> None:
    page = built(measured("1.40 m/s²", "0.760 N", n=8))["data.md"]
    assert "is a mean over 8 trials, but 10 trials of the table count" in page


def two_means(name: str, *, factor: float = 1.0) -> dict[str, str]:
    """Pages of a demo set-up of which two means are known, by so much more than predicted."""
    scenario = load_scenario(DEMO / f"{name}.yaml")
    driven = solve(apparatus_of(scenario, 9.80665)).phases[0]
    first = next(iter(scenario.objects))
    a = factor * abs(driven.accelerations[first])
    pull = factor * driven.tensions["string"][first]
    given = Measured(
        acceleration=GivenMean(value=parse_quantity(f"{a:.3f} m/s²", "acceleration")),
        tension=GivenMean(value=parse_quantity(f"{pull:.3f} N", "force")),
    )
    return built(given, scenario=scenario, variant=scenario, example=scenario)


@pytest.mark.parametrize("made", [without, judged])
def test_the_factor_is_that_of_the_degrees_of_freedom_which_are_named(
    made: Callable[[], dict[str, str]],
) -> None:
    """Student's t at 97.5 % by SciPy; with what all trials share they are no whole number."""
    said = re.findall(r"95 % and ([\d.]+)[\w ]* degrees of freedom is (\d\.\d+)", made()["data.md"])
    assert said
    for dof, factor in said:
        assert float(factor) == pytest.approx(t.ppf(0.975, float(dof)), abs=0.006)


def test_what_agrees_is_named_where_only_the_speeds_can_be_judged() -> None:
    end = solve(apparatus_of(lab("level", start(2)).variant, 9.80665)).phases[0].end_velocities
    speeds = [end["cart"] * (1 + part) for part in (-0.02, -0.01, 0.0, 0.01, 0.02)]
    given = Measured(
        acceleration=GivenMean(value=parse_quantity("1.40 m/s²", "acceleration")),
        final_speed=tuple(parse_quantity(f"{v:.3f} m/s", "speed") for v in speeds),
    )
    said = step(built(given)["solution.md"], "influences")
    assert re.search(r"The measured acceleration from [\w ]+ agrees with the predicted one", said)


@pytest.mark.in_full
def test_means_of_every_kind_of_run_make_pages(thorough: bool) -> None:
    """Formulas hold, since printing checks both sides, and every figure can be drawn."""
    others = ("heavy-pulley", "incline-held", "push-away") if thorough else ()
    for name in ("moving-pulley", *others):
        page = two_means(name)["data.md"]
        assert "not known" in page, name
        assert "What doesn't count" not in page, name


def test_means_that_can_not_be_of_the_lab_are_set_aside_under_their_names() -> None:
    page = two_means("push-away", factor=3.0)["data.md"]
    assert page.count("\n- Mean acceleration: an acceleration of") == 1
    assert page.count("\n- Mean tension: a tension of") == 1
    assert page.lower().count("mean acceleration: ") == 1
    assert "none of them is used" in page
    assert "A result alone is no reason to leave a trial out" in page
    assert rows(page) == []
    assert "What was assumed" not in page


@pytest.mark.parametrize("n", [9, 10])
def test_a_mean_over_another_number_of_trials_is_told(n: int) -> None:
    nine = replace(measured("1.40 m/s²", "0.760 N"))
    speeds = nine.values["final_speed"]
    assert isinstance(speeds, tuple)
    given = replace(nine, final_speed=speeds[:n])
    evidence = evidence_of(lab("level", start(2), measured=given), Estimate(value=9.80665, u=0.0))
    said = " ".join(on_means(evidence))
    assert ("is a mean over 10 trials, but 9 trials with single values count" in said) == (n == 9)


def test_where_nothing_tells_the_scatter_the_remedy_fits_what_was_given() -> None:
    one = GivenMean(value=parse_quantity("1.40 m/s²", "acceleration"), n=1)
    alike = (parse_quantity("1.24 m/s", "speed"),) * 3
    given = Measured(acceleration=one, final_speed=alike)
    evidence = evidence_of(lab("level", start(2), measured=given), Estimate(value=9.80665, u=0.0))
    first, second = on_means(evidence)
    assert "acceleration: a single trial has no scatter" in first
    assert "final speed: all trials read alike" in second


def test_bare_means_leave_nothing_to_judge_and_no_symbol_without_a_value() -> None:
    """A rule in symbols that have no value here, or an empty list of symbols, would say nothing."""
    bare = Measured(
        acceleration=GivenMean(value=parse_quantity("1.40 m/s²", "acceleration")),
        final_speed=GivenMean(value=parse_quantity("1.20 m/s", "speed")),
    )
    made = built(bare)
    rule = step(made["solution.md"], "verdict")
    assert "Next time write down the value of every trial" in rule
    assert r"u_" not in rule
    assert "#symbols" not in made["data.md"]
    symbols = made["solution.md"].split("{#symbols}")[1].split("##")[0]
    assert [row for row in rows(symbols) if row[-1] == "" and "meas" in row[0]] == []
