"""Trials against the model on the solution: one verdict rule, in words that can be used."""

import re

import pytest

from fallwork.lesson.measured import Evidence, Judgement
from fallwork.measurement.statistics import Verdict
from fallwork.measurement.typed import analysis_of
from fallwork.scenario import Measured, Quantity
from lesson.kit import DEMO, lesson_from, scenario_of
from lesson.measured import kit
from lesson.measured.kit import against, judged, level, prose, solution, step, tables, trials, usual

WORKS = ("tension of string", "friction of track")
HEAVIER = (("weight.mass", "84.0 g ± 0.1 g"),)


def judgement_of(evidence: Evidence) -> Judgement:
    assert evidence.judgement is not None
    return evidence.judgement


def test_the_worked_steps_stay_as_they_were() -> None:
    lesson = solution(level(), usual())
    alone = lesson_from(level())
    assert lesson.steps[: len(alone.steps)] == alone.steps


def test_a_percentage_decides_nothing_anywhere() -> None:
    text = "\n".join(prose(found) for found in solution(level(), usual()).steps)
    assert not re.search(r"(under|below|less than|within) \d+ ?%", text)


def test_a_table_sets_trial_by_trial_against_the_prediction() -> None:
    """Each column ends at one place of decimals."""
    evidence = usual()
    rows = tables(step(solution(level(), evidence), "verdict"))[1]
    assert len(rows) == 12
    assert rows[-1][0] == "Expanded uncertainty"
    found = judgement_of(evidence).comparison.quantities["acceleration"]
    shown = [float(row[1].replace("−", "-")) for row in rows[1:-1]]
    assert shown == pytest.approx([c.difference.value for c in found.trials.values()], abs=6e-4)
    for column in list(zip(*rows[1:-1], strict=True))[1:]:
        assert len({len(cell.partition(".")[2]) for cell in column}) == 1


def test_a_trial_that_reads_as_predicted_lies_on_no_side() -> None:
    """Five below and one that its last place can't tell from the prediction."""
    numbers = ("1.20", "1.21", "1.19", "1.22", "1.18")
    predicted = judgement_of(usual()).comparison.quantities["acceleration"].overall.expected.value
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
    frictionless = scenario_of(DEMO / "level-track-frictionless.yaml")
    evidence = judged(frictionless, kit.trials_of(frictionless, seed=3))
    found = step(solution(frictionless, evidence), "all-moving-measured")
    assert "There is no external work in this energy balance" in prose(found)
    assert "External work" not in tables(found)[1][0]


def test_numbers_agree_with_the_judgement_they_come_from() -> None:
    evidence = judged(level(), trials(*HEAVIER))
    overall = judgement_of(evidence).comparison.quantities["acceleration"].overall
    assert overall.verdict is Verdict.AGREE or overall.difference.value > 0
    lesson = solution(level(), evidence)
    shown = {s.id: s.value for s in lesson.symbols}
    assert shown["measured.difference.acceleration"] == overall.difference.value
    (cell,) = [r[4] for r in tables(step(lesson, "verdict"))[0] if r[0].startswith("Acceleration")]
    assert float(cell) == pytest.approx(overall.limit, rel=0.06)
