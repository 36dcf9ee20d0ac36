"""Trials against the model on the solution: one verdict rule, in words that can be used."""

import re

import pytest

from fallwork.lesson.answers import results
from fallwork.lesson.document import Working
from fallwork.lesson.measured import Evidence
from fallwork.measurement.comparison import Verdict
from fallwork.measurement.typed import analysis_of
from fallwork.scenario import Measured, Quantity
from lesson.measured import kit
from lesson.measured.kit import (
    against,
    judged,
    level,
    measured,
    prose,
    solution,
    step,
    tables,
    trials,
    usual,
)

WORKS = ("tension of string", "friction of track")
HEAVIER = (("weight.mass", "84.0 g ± 0.1 g"),)


def idea(evidence: Evidence, name: str) -> str:
    return kit.words(step(solution(level(), evidence), name).idea)


def test_each_quantity_and_each_system_has_its_step() -> None:
    ids = [found.id for found in solution(level(), usual()).steps]
    assert ids[ids.index("verdict") :] == [
        *("verdict", "prediction"),
        *("comparison-acceleration", "comparison-tension", "comparison-final-speed"),
        *("by-trial", "cart-alone-measured", "all-moving-measured", "rounding"),
        *("discrepancy", "influences", "told-apart", "budget"),
    ]


def test_the_worked_steps_stay_as_they_were() -> None:
    lesson = solution(level(), usual())
    alone = kit.worked_alone(level())
    assert lesson.steps[: len(alone.steps)] == alone.steps


def test_agreement_is_no_proof_and_percent_has_sign_and_denominator() -> None:
    """(1.20 − 1.5032)/1.5032 = −20.2 %."""
    assert "Agreement doesn't prove the model" in prose(step(solution(level(), usual()), "verdict"))
    lesson = solution(level(), against(measured(acceleration=1.20)))
    said = prose(step(lesson, "comparison-acceleration"))
    assert "the percent error, in percent of the predicted value" in said
    (percent,) = [s for s in lesson.symbols if s.id == "measured.percent.acceleration"]
    assert percent.value == pytest.approx(-20.2, abs=0.05)


def test_a_percentage_decides_nothing_anywhere() -> None:
    text = "\n".join(prose(found) for found in solution(level(), usual()).steps)
    assert not re.search(r"(under|below|less than|within) \d+ ?%", text)


def test_a_table_sets_trial_by_trial_against_the_prediction() -> None:
    evidence = usual()
    (rows,) = tables(step(solution(level(), evidence), "by-trial"))
    assert len(rows) == 12
    assert rows[-1][0] == "Limit"
    judgement = evidence.judgement
    assert judgement is not None
    found = judgement.comparison.quantities["acceleration"]
    shown = [float(row[1].replace("−", "-")) for row in rows[1:-1]]
    assert shown == pytest.approx([c.difference.value for c in found.trials.values()], abs=6e-4)


def test_a_trial_that_reads_as_predicted_lies_on_no_side() -> None:
    """Five below and one that its last place can't tell from the prediction."""
    numbers = ("1.20", "1.21", "1.19", "1.22", "1.18")
    expected = usual().judgement
    assert expected is not None
    predicted = expected.comparison.quantities["acceleration"].overall.expected.value
    just_below = next(
        n for places in range(2, 9) if float(n := f"{predicted:.{places}f}") < predicted
    )
    typed = [
        Quantity(kind="acceleration", value=float(number), number=number, unit="m/s²")
        for number in (*numbers, just_below)
    ]
    analysis = analysis_of(Measured(acceleration=tuple(typed)), level(), kit.GRAVITY)
    text = prose(step(solution(level(), against(analysis)), "by-trial"))
    assert "one side of the prediction in the acceleration" not in text


def test_trials_that_read_alike_are_not_judged_one_by_one() -> None:
    """Without any scatter no single trial has a limit, so there is nothing to compare it with."""
    alike = Quantity(kind="acceleration", value=1.5, number="1.50", unit="m/s²")
    analysis = analysis_of(Measured(acceleration=(alike,) * 4), level(), kit.GRAVITY)
    ids = [found.id for found in solution(level(), against(analysis)).steps]
    assert "comparison-acceleration" in ids
    assert "by-trial" not in ids


def test_a_column_of_differences_ends_at_one_place() -> None:
    (rows,) = tables(step(solution(level(), usual()), "by-trial"))
    for column in (1, 2, 3):
        places = {len(row[column].partition(".")[2]) for row in rows[1:-1]}
        assert len(places) == 1


def test_the_parts_of_an_account_say_what_they_rest_on() -> None:
    parts, by_trial = tables(step(solution(level(), usual()), "cart-alone-measured"))
    assert [(row[0].partition(",")[0], row[2]) for row in parts[1:]] == [
        ("Work of the pull of the string on the cart", "the measured force and position"),
        (
            "Work of the friction force of the track on the cart",
            "the friction of the model, and the measured distance",
        ),
        ("Change of the kinetic energy", "masses as given, and the measured speed"),
    ]
    assert len(by_trial) == 11


def test_the_two_sides_of_an_account_make_its_difference() -> None:
    """The mean of the differences is the difference of the means; ½ m v² of one trial by hand."""
    lesson = solution(level(), usual())
    shown = {symbol.id: symbol.value for symbol in lesson.symbols}
    work, lost = (shown[f"measured.force.{name} on cart"] for name in WORKS)
    kinetic = shown["measured.cart-alone.kinetic"]
    assert shown["measured.cart-alone.balance"] == pytest.approx(work + lost - kinetic)  # type: ignore[operator]
    speed = usual().analysis.trials[0].estimates["final_speed"].value
    assert shown["measured.cart-alone.kinetic.trial"] == pytest.approx(0.420 * speed**2 / 2)


def test_an_account_without_external_work_compares_with_zero() -> None:
    frictionless = kit.load_scenario(kit.DEMO / "level-track-frictionless.yaml")
    evidence = judged(frictionless, kit.trials_of(frictionless, seed=3))
    found = step(solution(frictionless, evidence), "all-moving-measured")
    assert "There is no external work in this energy balance" in prose(found)
    assert "External work" not in tables(found)[1][0]


def test_the_prediction_says_how_it_was_got() -> None:
    found = step(solution(level(), usual()), "prediction")
    (rows,) = tables(found)
    assert rows[1][0] == "Acceleration"
    assert rows[1][1].startswith("1.503 m/s² ± ")
    ways = {row[0]: row[3] for row in rows[1:]}
    assert ways["Distance"] == "by Monte Carlo simulation"  # known to lie between two limits
    assert "the plain rule of propagation doesn't give the right interval" in prose(found)


def test_rounding_on_the_way_shifts_the_tension() -> None:
    """m g − m a with a = 2 instead of 1.503: 0.080 × (9.80665 − 2) = 0.6245 N, not 0.6643 N."""
    lesson = solution(level(), usual())
    shown = {symbol.id: symbol.value for symbol in lesson.symbols}
    assert shown["tension.early"] == pytest.approx(0.6245, abs=5e-5)
    (slip,) = [s for s in step(lesson, "rounding").slips if s.id == "S11"]
    assert slip.value == shown["tension.early"]
    assert "tension.early" not in {found.of.id for found in results(lesson)}


def test_numbers_agree_with_the_judgement_they_come_from() -> None:
    evidence = judged(level(), trials(*HEAVIER))
    judgement = evidence.judgement
    assert judgement is not None
    overall = judgement.comparison.quantities["acceleration"].overall
    assert overall.verdict is Verdict.AGREE or overall.difference.value > 0
    shown = {s.id: s.value for s in solution(level(), evidence).symbols}
    assert shown["measured.difference.acceleration"] == overall.difference.value
    assert shown["measured.limit.acceleration"] == overall.limit


def test_one_work_has_one_symbol_in_every_account_that_holds_it() -> None:
    """Friction works on the cart in both systems; in the second one it is not worked out again."""
    lesson = solution(level(), usual())
    frictions = [s for s in lesson.symbols if s.id == "measured.force.friction of track on cart"]
    assert [symbol.subscript for symbol in frictions] == ["f,meas"]
    worked = {
        name: [
            equation.left
            for block in step(lesson, name).blocks
            if isinstance(block, Working)
            for equation in block.equations
        ]
        for name in ("cart-alone-measured", "all-moving-measured")
    }
    trial = [kit.words((left,)) for left in worked["all-moving-measured"]]
    assert not [left for left in trial if left.startswith("W")]
    assert next(kit.words((left,)) for left in worked["cart-alone-measured"]).startswith("W")
