"""The trials' page knows nothing of the model; the solution judges trials by one rule."""

import re
from dataclasses import replace

import numpy as np
import pytest

from equations.checker import Check, check_page
from equations.page import mutants
from fallwork.lesson.document import Items, Lesson, Working
from fallwork.lesson.latex import working as latex
from fallwork.lesson.measured import Evidence
from fallwork.measurement.model import Analysis, Estimate, Measurand, Trial
from fallwork.measurement.statistics import Verdict
from fallwork.measurement.summaries import summaries
from fallwork.measurement.typed import analysis_of
from fallwork.scenario import Measured, Quantity, load_scenario
from lesson.kit import DEMO, lesson_from, scenario_of
from lesson.measured import kit
from lesson.measured.kit import (
    QUIET,
    against,
    data,
    heavy_pulley,
    heavy_solution,
    judged,
    level,
    page,
    prose,
    report,
    solution,
    step,
    tables,
    trials,
    trials_with,
    typed,
    usual,
    usual_data,
    usual_solution,
)

WORKS = ("tension of string", "friction of track")
HEAVIER = (("weight.mass", "84.0 g ± 0.1 g"),)


def test_values_in_tables_and_lists_stay_as_others_wrote_them_with_uncertainty():
    (rows,) = tables(step(usual_data(), "trials"))
    assert rows[0][:3] == ["Trial", "Acceleration in m/s²", "Final speed in m/s"]
    assert len(rows) == 11
    first = usual().analysis.trials[0]
    estimate = first.estimates[Measurand.ACCELERATION]
    value, _, u = rows[1][1].partition(" ± ")
    assert float(value) == pytest.approx(estimate.value, abs=0.6e-4)
    assert float(u) == pytest.approx(estimate.u, rel=0.05)
    other = kit.judged(level(("weight.mass", "120.0 g")), usual().analysis)
    assert usual_data() == data(level(), other)
    assert usual_data() == data(level(), kit.without_judgement(usual()))
    # A bar would part a cell in two, and a line that begins with a dash would be an item.
    analysis = typed(1.49, 1.50, 1.51, excluded="3").analysis
    names = ("a | b", "{{ m }}", "c")
    trials = tuple(
        replace(trial, name=name, excluded=trial.excluded and "wet\n- no\n\nfloor")
        for trial, name in zip(analysis.trials, names, strict=True)
    )
    lesson = data(level(), Evidence(analysis=replace(analysis, trials=trials)))
    (rows,) = tables(step(lesson, "trials"))
    assert [row[0] for row in rows[1:]] == list(names)
    assert {len(row) for row in rows} == {3}
    (listed,) = [b for b in step(lesson, "exclusions").blocks if isinstance(b, Items)]
    assert [kit.words(item) for item in listed.items] == ["C: wet\n- no\n\nfloor."]


def test_moments_points_and_fitted_readings_lie_inside_the_run():
    found = step(usual_data(), "how-distance")
    (shown,) = [latex(b.equations[1:], 3) for b in found.blocks if isinstance(b, Working)]
    end, release, time = map(float, re.findall(r"underline\{([\d.]+)\}", shown))
    assert end - release == pytest.approx(time, abs=2e-6)
    lesson = usual_data()
    times = {s.subscript: s.value for s in lesson.symbols if s.id.startswith("measured.time-")}
    run = usual().analysis.trials[0].run
    assert run.driven[0] <= times["X"] < times["Y"] <= run.driven[1]
    assert times["Y"] - times["X"] > 0.9 * (run.driven[1] - run.driven[0]) - 0.02
    found = usual().analysis.trials[0]
    words = prose(step(usual_data(), "how-acceleration")).replace("\u00a0", " ")
    ends = re.search(r"fits the readings from ([\d.]+) s to ([\d.]+) s", words)
    for end, bound in zip(map(float, ends.groups()), found.run.driven, strict=True):
        assert np.min(np.abs(found.record.time - end)) < 1e-9
        assert abs(end - bound) < 0.02


# ---- against the model
def test_the_worked_steps_stay_as_they_were_and_a_percentage_decides_nothing():
    lesson = usual_solution()
    alone = lesson_from(level())
    assert lesson.steps[: len(alone.steps)] == alone.steps
    text = "\n".join(prose(found) for found in usual_solution().steps)
    assert not re.search(r"(under|below|less than|within) \d+ ?%", text)


def test_a_table_sets_trial_by_trial_against_the_prediction():
    """Each column ends at one place of decimals."""
    evidence = usual()
    rows = tables(step(solution(level(), evidence), "verdict"))[1]
    assert len(rows) == 12
    assert rows[-1][0] == "Expanded uncertainty"
    found = evidence.judgement.comparison.quantities["acceleration"]
    shown = [float(row[1].replace("−", "-")) for row in rows[1:-1]]
    assert shown == pytest.approx([c.value for c in found.trials.values()], abs=6e-4)
    for column in list(zip(*rows[1:-1], strict=True))[1:]:
        assert len({len(cell.partition(".")[2]) for cell in column}) == 1


def test_a_trial_that_reads_as_predicted_lies_on_no_side():
    """Five below and one that its last place can't tell from the prediction."""
    numbers = ("1.20", "1.21", "1.19", "1.22", "1.18")
    predicted = usual().judgement.comparison.quantities["acceleration"].overall.expected.value
    just_below = next(
        n for places in range(2, 9) if float(n := f"{predicted:.{places}f}") < predicted
    )
    typed = [
        Quantity(kind="acceleration", value=float(number), number=number, unit="m/s²")
        for number in (*numbers, just_below)
    ]
    analysis = analysis_of(Measured(acceleration=tuple(typed)), level(), kit.GRAVITY)
    text = prose(step(solution(level(), against(analysis)), "verdict"))
    assert "one side of the prediction in the acceleration" not in text


def test_the_two_sides_of_an_account_make_its_difference_or_compare_with_zero():
    # The mean of the differences is the difference of the means; ½ m v² of one trial by hand.
    lesson = usual_solution()
    shown = {symbol.id: symbol.value for symbol in lesson.symbols}
    work, lost = (shown[f"measured.force.{name} on cart"] for name in WORKS)
    kinetic = shown["measured.cart-alone.kinetic"]
    assert shown["measured.cart-alone.balance"] == pytest.approx(work + lost - kinetic)
    speed = usual().analysis.trials[0].estimates["final_speed"].value
    assert shown["measured.cart-alone.kinetic.trial"] == pytest.approx(0.420 * speed**2 / 2)
    frictionless = scenario_of(DEMO / "level-track-frictionless.yaml")
    evidence = judged(frictionless, kit.trials_of(frictionless, seed=3))
    found = step(solution(frictionless, evidence), "all-moving-measured")
    assert "There is no external work in this energy balance" in prose(found)
    assert "External work" not in tables(found)[1][0]


def test_numbers_agree_with_the_judgement_they_come_from():
    evidence = judged(level(), trials(*HEAVIER))
    overall = evidence.judgement.comparison.quantities["acceleration"].overall
    assert overall.verdict is Verdict.AGREE or overall.value > 0
    lesson = solution(level(), evidence)
    shown = {s.id: s.value for s in lesson.symbols}
    assert shown["measured.difference.acceleration"] == overall.value
    (cell,) = [r[4] for r in tables(step(lesson, "verdict"))[0] if r[0].startswith("Acceleration")]
    assert float(cell) == pytest.approx(overall.limit, rel=0.06)


# ---- the account of the difference: planted causes, and what the page says of them
def test_a_heavy_pulley_shows_away_from_the_cart_by_a_difference_of_two_accounts():
    # 20 g as a disc: 10 g at the rim, of which ½ × 0.010 kg × v² ≈ 0.0089 J are missing.
    rows = tables(step(heavy_solution(), "discrepancy"))[0]
    judged_so = {row[0]: row[-1] for row in rows}
    elsewhere = "Elsewhere (pulley, string, air)"
    assert numbers(rows, 2)[elsewhere] == pytest.approx(0.0087, abs=0.0025)
    assert (judged_so["At the cart"], judged_so[elsewhere]) == ("no", "yes")
    shown = {s.id: s.value for s in heavy_solution().symbols}
    whole, cart, rest = (shown[f"measured.missing.{key}"] for key in ("all", "pulled", "rest"))
    assert rest == pytest.approx(whole - cart)


def test_each_influence_has_its_size_and_what_speaks_for_and_against():
    found = step(heavy_solution(), "influences")
    (rows,) = tables(found)
    assert rows[0][1:] == [
        "Easily overlooked",
        *("Change of the acceleration in m/s²", "Change of the tension in N"),
        *("Needed to explain the difference", "For it", "Against it"),
    ]
    pulley, friction = (
        next(row for row in rows if row[0].startswith(name))
        for name in ("Inertia of the pulley", "Friction at the cart")
    )
    assert pulley[1] == "5.0 g"
    assert "energy is missing there" in pulley[-2]
    assert "no energy is missing there" in friction[-1]


def test_what_counts_as_easily_overlooked_is_said_and_held_to():
    """Up to twice the table's amount speaks for an influence, above five times against it."""
    found = step(heavy_solution(), "influences")
    assert "Up to twice the amount still counts as easily overlooked" in prose(found)
    assert "more than five times as much would have been noticed" in prose(found)
    sizes = set()
    for row in tables(found)[0][1:]:
        amounts = [re.search(r"[\d.]+(?= (?:g|N|m/s²)|°|$)", cell) for cell in (row[1], row[4])]
        if None in amounts:
            continue  # none can
        given, needed = (float(each[0]) for each in amounts if each)
        size = "overlooked" if needed <= 2 * given else "noticed" if needed > 5 * given else ""
        assert ("easily overlooked" in row[-2]) == (size == "overlooked")
        assert ("been noticed" in row[-1]) == (size == "noticed")
        sizes.add(size)
    assert sizes == {"overlooked", "noticed", ""}


def test_the_budget_names_the_measurement_to_improve():
    """With 0.002 for the friction coefficient: 0.002 × 9.80665 × 0.84 = 0.0165 m/s² of 0.0178."""
    found = step(usual_solution(), "budget")
    (rows,) = tables(found)
    name = "Coefficient of rolling friction on the track, 0.008 ± 0.002"
    friction = next(row for row in rows if row[0] == name)
    assert friction[1].startswith("0.016 (8")
    assert rows[0][1] == "Acceleration in m/s²"
    # Halving a share of 85 % or so: √(1 − 3/4 × 0.85) = 0.60 of the uncertainty is left.
    fall = re.search(r"would fall: acceleration from (\S+) m/s² to (\S+) m/s²", prose(found))
    assert float(fall[2]) / float(fall[1]) == pytest.approx(0.60, abs=0.04)
    assert prose(found).count("With half the uncertainty of") == 1
    assert "Better known given values would sharpen the comparison of these" in prose(found)


def numbers(rows: list[list[str]], column: int) -> dict[str, float]:
    """The values in a column of a table by the heads of its rows."""
    return {
        row[0]: float(row[column].split(" ")[0].replace("−", "-"))
        for row in rows[1:]
        if row[column]
    }


def test_one_cause_at_a_time_has_the_sign_and_size_of_what_is_missing_in_its_place():
    """By hand: what is missing over d as a force, over d a as a mass, over m g d as µ."""
    evidence = heavy_pulley()
    missing, _, causes = tables(step(solution(level(*QUIET), evidence), "discrepancy"))
    at, alone = numbers(missing, 1), numbers(causes, 1)
    means = {name: each.value for name, each in evidence.analysis.summary.items()}
    d, a = means["distance"], means["final_speed"] ** 2 / means["distance"] / 2
    rest = at["Elsewhere (pulley, string, air)"]
    bearing = "Friction in the bearing of the pulley, as a force at its rim"
    assert alone[bearing] == pytest.approx(rest / d, rel=0.02)
    rim = alone["Inertia of the pulley, as a mass at its rim"]
    assert rim == pytest.approx(1000 * rest / (d * a), rel=0.02)
    zero = alone["Zero of the force sensor, nothing lost elsewhere"]
    assert zero == pytest.approx(-rest / d, rel=0.02)
    friction = "Friction at the cart, as its coefficient (in the model 0.008 ± 0.0002)"
    assert alone[friction] == pytest.approx(at["At the cart"] / (0.420 * 9.80665 * d), rel=0.02)


def test_differences_and_sums_are_shown_where_nothing_is_known_by_itself():
    other = Estimate(value=1.2, u=0.001)
    evidence = trials_with(lambda _, name, each: other if name == "acceleration" else each)
    rows = tables(step(solution(level(*QUIET), evidence), "discrepancy"))[1]
    apart = numbers(rows, 1)["Acceleration as slope, minus that from final speed and distance"]
    speed, distance = (evidence.analysis.summary[q].value for q in ("final_speed", "distance"))
    assert -apart == pytest.approx(speed**2 / (2 * distance) - 1.2, abs=0.002)
    kept = ("acceleration", "final_speed", "distance", "mean_tension", "work_of_tension")
    evidence = trials_with(lambda _, name, each: each if name in kept else None)
    (rows,) = tables(step(solution(level(*QUIET), evidence), "told-apart"))
    assert [row[0] for row in rows[1:]] == [
        *("The force on the string during the run", "Final speed and distance")
    ]
    # The work of friction over the distance: 0.008 × 0.420 kg × 9.80665 m/s² = 0.0330 N.
    assert numbers(rows, 2)["Final speed and distance"] == pytest.approx(0.0330, abs=0.004)


def test_an_acceleration_worked_out_of_the_final_speed_differs_from_it_by_nothing():
    """What floating-point numbers leave of such differences is neither a value nor a scatter."""
    same = tuple(
        Trial(
            name=f"{a} m/s²",
            estimates={
                "acceleration": Estimate(value=a, u=0.0),
                "final_speed": Estimate(value=(2 * a * 0.6) ** 0.5, u=0.0),
            },
        )
        for a in (1.24, 1.26, 1.23)
    )
    scenario = kit.without_uncertainty(level())
    evidence = judged(scenario, Analysis(trials=same, summary=summaries(same)))
    rows = tables(step(solution(scenario, evidence), "discrepancy"))[1]
    assert rows[1][:2] == ["Acceleration as given, minus that from final speed and distance", "0"]


# ---- every equation is true, by a reader that shares no code with the program
def measured_part(lesson: Lesson) -> set[str]:
    """What the checker finds wrong, without what it finds in the worked steps alone."""
    return set(check_page(page(lesson))) - set(check_page(page(lesson_from(level()))))


def test_equations_of_report_trials_and_comparison_are_true():
    assert check_page(page(report(level()))) == []
    html = page(usual_data())
    assert check_page(html) == []
    assert Check(html).compared > 15
    html = page(usual_solution())
    alone = page(lesson_from(level()))
    assert measured_part(usual_solution()) == set()
    assert Check(html).compared > Check(alone).compared + 20


@pytest.mark.parametrize("by", [1, 5])
def test_a_changed_digit_of_the_trials_is_found(by, thorough):
    """In an everyday run every fifth, other ones for each step."""
    html = page(usual_data())
    spoilt = list(mutants(html, step=by))[0 if thorough else by // 2 :: 1 if thorough else 5]
    assert len(spoilt) > 50
    assert [what for what, html in spoilt if not check_page(html)] == []


@pytest.mark.parametrize("name", ["incline", "two-hanging", "train", "moving-pulley", "push-back"])
def test_equations_of_other_set_ups_are_true(name):
    scenario = load_scenario(kit.CASES / f"{name}.yaml")
    evidence = judged(scenario, kit.trials_of(scenario, count=3, seed=5))
    assert check_page(page(data(scenario, evidence))) == []
    alone = set(check_page(page(lesson_from(scenario))))
    assert set(check_page(page(solution(scenario, evidence)))) <= alone


@pytest.mark.parametrize(
    "values", [{"acceleration": 1.52, "mean_tension": 0.66}, {"acceleration": 1.52}]
)
def test_equations_without_a_measured_speed_are_true(values):
    """Typed values alone: the accounts rest on the acceleration then."""
    estimates = {name: Estimate(value=value, u=0.01) for name, value in values.items()}
    trials = tuple(Trial(name=name, estimates=estimates) for name in ("one", "two", "three"))
    evidence = judged(level(), Analysis(trials=trials, summary=summaries(trials)))
    lesson = solution(level(), evidence)
    assert measured_part(lesson) == set()
    assert "measured acceleration over the distance" in str(lesson.steps)
