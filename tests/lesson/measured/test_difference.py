"""The account of the difference: planted causes, and what the page says of them."""

import re
from dataclasses import replace

import pytest

from fallwork.measurement.model import Analysis, Estimate, Trial
from fallwork.measurement.summaries import summaries
from lesson.measured import kit
from lesson.measured.kit import (
    QUIET,
    heavy_pulley,
    judged,
    level,
    prose,
    solution,
    step,
    tables,
    trials,
)

FORCES = ("mean_tension", "work_of_tension", "mean_tension_over_time", "force_held")


def test_a_heavy_pulley_shows_away_from_the_cart() -> None:
    """20 g as a disc: 10 g at the rim, of which ½ × 0.010 kg × v² ≈ 0.0089 J are missing."""
    rows = tables(step(solution(level(*QUIET), heavy_pulley()), "discrepancy"))[0]
    judged_so = {row[0]: row[-1] for row in rows}
    elsewhere = "Elsewhere (pulley, string, air)"
    assert numbers(rows, 2)[elsewhere] == pytest.approx(0.0087, abs=0.0025)
    assert (judged_so["At the cart"], judged_so[elsewhere]) == ("no", "yes")


def test_the_pulley_s_share_is_a_difference_of_two_accounts() -> None:
    shown = {s.id: s.value for s in solution(level(*QUIET), heavy_pulley()).symbols}
    whole, cart, rest = (shown[f"measured.missing.{key}"] for key in ("all", "pulled", "rest"))
    assert rest == pytest.approx(whole - cart)  # type: ignore[operator]


def test_each_influence_has_its_size_and_what_speaks_for_and_against() -> None:
    found = step(solution(level(*QUIET), heavy_pulley()), "influences")
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


def test_what_counts_as_easily_overlooked_is_said_and_held_to() -> None:
    """Up to twice the table's amount speaks for an influence, above five times against it."""
    found = step(solution(level(*QUIET), heavy_pulley()), "influences")
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


def test_the_budget_names_the_measurement_to_improve() -> None:
    """With 0.002 for the friction coefficient: 0.002 × 9.80665 × 0.84 = 0.0165 m/s² of 0.0178."""
    found = step(solution(level(), kit.usual()), "budget")
    (rows,) = tables(found)
    name = "Coefficient of friction of the track, 0.008 ± 0.002"
    friction = next(row for row in rows if row[0] == name)
    assert friction[1].startswith("0.016 (8")
    assert rows[0][1] == "Acceleration in m/s²"
    # Halving a share of 85 % or so: √(1 − 3/4 × 0.85) = 0.60 of the uncertainty is left.
    fall = re.search(r"would fall: acceleration from (\S+) m/s² to (\S+) m/s²", prose(found))
    assert fall is not None
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


def test_one_cause_at_a_time_has_the_sign_and_size_of_what_is_missing_in_its_place() -> None:
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


def test_two_accelerations_that_differ_say_by_how_much() -> None:
    found = trials(*QUIET, seed=11)
    off = tuple(
        replace(t, estimates={**t.estimates, "acceleration": Estimate(value=1.2, u=0.001)})
        for t in found.trials
    )
    analysis = replace(found, trials=off, summary=summaries(off))
    rows = tables(step(solution(level(*QUIET), judged(level(*QUIET), analysis)), "discrepancy"))[1]
    apart = numbers(rows, 1)["Acceleration as slope, minus that from final speed and distance"]
    speed, distance = (analysis.summary[q].value for q in ("final_speed", "distance"))
    assert -apart == pytest.approx(speed**2 / (2 * distance) - 1.2, abs=0.002)


def test_each_measurement_s_sum_is_shown_where_nothing_is_known_by_itself() -> None:
    kept = ("acceleration", "final_speed", "distance", "mean_tension", "work_of_tension")
    bare = tuple(
        replace(t, estimates={name: t.estimates[name] for name in kept})
        for t in trials(*QUIET, seed=11).trials
    )
    evidence = judged(level(*QUIET), Analysis(trials=bare, summary=summaries(bare)))
    (rows,) = tables(step(solution(level(*QUIET), evidence), "told-apart"))
    assert [row[0] for row in rows[1:]] == [
        *("The force on the string during the run", "Final speed and distance")
    ]
    # The work of friction over the distance: 0.008 × 0.420 kg × 9.80665 m/s² = 0.0330 N.
    assert numbers(rows, 2)["Final speed and distance"] == pytest.approx(0.0330, abs=0.004)


def test_an_acceleration_worked_out_of_the_final_speed_differs_from_it_by_nothing() -> None:
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
