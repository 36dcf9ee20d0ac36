"""The trials' page: their values, how each was got, and the means, nothing of the model; and trials
against the model on the solution: one verdict rule, in words that can be used.
"""

import re
from dataclasses import replace

import numpy as np
import pytest

from fallwork.lesson.document import Items, Working
from fallwork.lesson.latex import working as latex
from fallwork.lesson.measured import Evidence, Judgement
from fallwork.measurement.model import Measurand
from fallwork.measurement.statistics import Verdict
from fallwork.measurement.typed import analysis_of
from fallwork.scenario import Measured, Quantity
from lesson.kit import DEMO, lesson_from, scenario_of
from lesson.measured import kit
from lesson.measured.kit import (
    against,
    data,
    judged,
    level,
    prose,
    solution,
    step,
    tables,
    trials,
    usual,
)
from lesson.measured.test_said import typed


def test_every_value_stands_in_the_table_with_its_uncertainty() -> None:
    (rows,) = tables(step(data(level(), usual()), "trials"))
    assert rows[0][:3] == ["Trial", "Acceleration in m/s²", "Final speed in m/s"]
    assert len(rows) == 11
    first = usual().analysis.trials[0]
    estimate = first.estimates[Measurand.ACCELERATION]
    value, _, u = rows[1][1].partition(" ± ")
    assert float(value) == pytest.approx(estimate.value, abs=0.6e-4)
    assert float(u) == pytest.approx(estimate.u, rel=0.05)


def test_nothing_that_was_judged_shows_on_the_page() -> None:
    other = kit.judged(level(("weight.mass", "120.0 g")), usual().analysis)
    assert data(level(), usual()) == data(level(), other)
    assert data(level(), usual()) == data(level(), kit.without_judgement(usual()))


def test_what_others_wrote_stays_as_it_is_in_tables_and_lists() -> None:
    """A bar would part a cell in two, and a line that begins with a dash would be an item."""
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


def test_the_moments_of_a_run_differ_by_its_time_to_the_last_figure_shown() -> None:
    found = step(data(level(), usual()), "how-distance")
    (shown,) = [latex(b.equations[1:], 3) for b in found.blocks if isinstance(b, Working)]
    end, release, time = map(float, re.findall(r"underline\{([\d.]+)\}", shown))
    assert end - release == pytest.approx(time, abs=2e-6)


def test_the_points_of_the_line_are_far_apart_and_inside_the_fitted_stretch() -> None:
    lesson = data(level(), usual())
    times = {s.subscript: s.value for s in lesson.symbols if s.id.startswith("measured.time-")}
    run = usual().analysis.trials[0].run
    assert run is not None
    assert run.driven[0] <= times["X"] < times["Y"] <= run.driven[1]  # type: ignore[operator]
    assert times["Y"] - times["X"] > 0.9 * (run.driven[1] - run.driven[0]) - 0.02  # type: ignore[operator]


def test_the_fitted_readings_are_readings() -> None:
    found = usual().analysis.trials[0]
    words = prose(step(data(level(), usual()), "how-acceleration")).replace("\u00a0", " ")
    ends = re.search(r"fits the readings from ([\d.]+) s to ([\d.]+) s", words)
    assert ends is not None
    assert found.record is not None
    assert found.run is not None
    for end, bound in zip(map(float, ends.groups()), found.run.driven, strict=True):
        assert np.min(np.abs(found.record.time - end)) < 1e-9
        assert abs(end - bound) < 0.02


# ---- against the model

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
