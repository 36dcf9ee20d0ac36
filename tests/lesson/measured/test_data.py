"""The trials' page: their values, how each was got, and the means; nothing of the model."""

import re
from dataclasses import replace
from math import sqrt

import numpy as np
import pytest

from fallwork.lesson.document import Items, Working
from fallwork.lesson.latex import working as latex
from fallwork.lesson.measured import Evidence
from fallwork.measurement.model import Analysis, Effect, Estimate, Measurand, Summary, Trial
from fallwork.measurement.summaries import summaries, summarise, summary_given
from fallwork.scenario import load_scenario
from lesson.measured import kit
from lesson.measured.kit import data, level, prose, step, tables, usual


def typed(*values: float | None, excluded: str = "") -> Analysis:
    """Accelerations without records, one a trial; ``excluded`` is the name of one."""
    trials = tuple(
        Trial(
            name=str(number),
            estimates={} if value is None else {"acceleration": Estimate(value=value, u=0.0)},
            excluded="the cable dragged" if str(number) == excluded else None,
        )
        for number, value in enumerate(values, start=1)
    )
    counted = [trial for trial in trials if trial.excluded is None]
    return Analysis(
        trials=trials,
        summary=summaries(counted),
        summary_with_excluded=summaries(trials) if excluded else {},
    )


def of(analysis: Analysis, whose: str = "") -> Evidence:
    return Evidence(analysis=analysis, whose=whose)


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


def test_an_excluded_trial_stays_in_the_table_with_its_reason_and_effect() -> None:
    """Without 2.00: mean 1.50; with it (1.49 + 1.50 + 1.51 + 2.00)/4 = 1.625."""
    lesson = data(level(), of(typed(1.49, 1.50, 1.51, 2.00, excluded="4")))
    (rows,) = tables(step(lesson, "trials"))
    assert [row[-1] for row in rows] == ["Counts", "yes", "yes", "yes", "no"]
    assert "4: the cable dragged." in prose(step(lesson, "exclusions"))
    ((head, row),) = tables(step(lesson, "exclusions"))
    assert head[1:] == ["Without them", "With all trials"]
    assert row[1].startswith("1.5000 m/s²")
    assert row[2].startswith("1.62 m/s²")


def test_what_others_wrote_stays_as_it_is_in_tables_and_lists() -> None:
    """A bar would part a cell in two, and a line that begins with a dash would be an item."""
    analysis = typed(1.49, 1.50, 1.51, excluded="3")
    names = ("a | b", "{{ m }}", "c")
    trials = tuple(
        replace(trial, name=name, excluded=trial.excluded and "wet\n- no\n\nfloor")
        for trial, name in zip(analysis.trials, names, strict=True)
    )
    lesson = data(level(), of(replace(analysis, trials=trials)))
    (rows,) = tables(step(lesson, "trials"))
    assert [row[0] for row in rows[1:]] == list(names)
    assert {len(row) for row in rows} == {3}
    (listed,) = [b for b in step(lesson, "exclusions").blocks if isinstance(b, Items)]
    assert [kit.words(item) for item in listed.items] == ["C: wet\n- no\n\nfloor."]


def test_mean_deviation_and_uncertainty_are_the_table_s() -> None:
    """1.49, 1.50, 1.51: mean 1.5, s = 0.01, u = 0.01/√3, k = 4.303 (t for 2)."""
    (rows,) = tables(step(data(level(), of(typed(1.49, 1.50, 1.51))), "summary"))
    u = 0.01 / sqrt(3)
    assert rows[1][:5] == ["Acceleration", "3", "1.5000 m/s²", "0.010 m/s²", "0.0058 m/s²"]
    low, high = rows[1][5].removesuffix(" m/s²").split(" to ")
    assert float(low) == pytest.approx(1.5 - 4.303 * u, abs=6e-5)
    assert float(high) == pytest.approx(1.5 + 4.303 * u, abs=6e-5)


def test_typed_values_keep_the_digits_of_their_scatter() -> None:
    lesson = data(level(), of(typed(1.023, None, 1.029, 1.036)))
    (rows,) = tables(step(lesson, "trials"))
    assert [row[1] for row in rows[1:]] == ["1.0230", "", "1.0290", "1.0360"]
    assert "These values were typed in" in prose(step(lesson, "trials"))


def test_means_without_trials_are_told_as_such() -> None:
    mean = summary_given("acceleration", Estimate(value=1.497, u=0.006), 10)
    lesson = data(level(), of(Analysis(trials=(), summary={"acceleration": mean})))
    ((_, row),) = tables(step(lesson, "trials"))
    assert row == ["Acceleration", "1.497 m/s² ± 0.006 m/s²", "10"]
    assert [found.id for found in lesson.steps] == ["trials", "summary"]


def test_an_outlier_is_flagged_and_counts_all_the_same() -> None:
    values = (1.500, 1.501, 1.499, 1.502, 1.498, 1.500, 1.501, 1.499, 1.600)
    lesson = data(level(), of(typed(*values)))
    assert "these stand far off: 9 (acceleration). They count all the same." in prose(
        step(lesson, "outliers")
    )
    assert tables(step(lesson, "summary"))[0][1][1] == "9"
    assert "outliers" not in [each.id for each in data(level(), of(typed(1.4, 1.5, 1.6))).steps]


def test_the_line_from_the_start_of_the_record_is_that_of_its_readings() -> None:
    """By numpy, and not that through the whole record, which goes on after the landing."""
    said = prose(step(data(level(), usual()), "how-acceleration"))
    (wrong,) = re.findall(
        r"from the start of the record to the end of the run, .* give (\S+) ", said
    )
    trial = usual().analysis.trials[0]
    record, run = trial.record, trial.run
    assert record is not None
    assert record.velocity is not None
    assert run is not None
    assert run.landing is not None
    kept = np.isfinite(record.velocity) & (record.time <= run.landing)
    slopes = [
        float(np.polyfit(record.time[which], record.velocity[which], 1)[0])
        for which in (kept, np.isfinite(record.velocity))
    ]
    assert float(wrong) == pytest.approx(slopes[0], abs=6e-4)
    assert slopes[1] != pytest.approx(slopes[0], rel=0.1)


def test_the_moments_of_a_run_differ_by_its_time_to_the_last_figure_shown() -> None:
    found = step(data(level(), usual()), "how-distance")
    (shown,) = [latex(b.equations, 3) for b in found.blocks[:4] if isinstance(b, Working)]
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
    ends = re.search(r"fitted to the readings from ([\d.]+) s to ([\d.]+) s", words)
    assert ends is not None
    assert found.record is not None
    assert found.run is not None
    for end, bound in zip(map(float, ends.groups()), found.run.driven, strict=True):
        assert np.min(np.abs(found.record.time - end)) < 1e-9
        assert abs(end - bound) < 0.02


def test_shared_effects_are_added_by_squares() -> None:
    """u = √(0.006² + 0.008²) = 0.010, of which more trials lessen 0.006 only."""
    trials = typed(1.49, 1.50, 1.51)
    estimates = {t.name: t.estimates["acceleration"] for t in trials.trials}
    shared = (Effect(name="scale of positions", u=0.008),)
    summary: Summary = summarise("acceleration", estimates, shared)
    lesson = data(level(), of(replace(trials, summary={"acceleration": summary})))
    said = prose(step(lesson, "summary"))
    assert "scale of positions 0.0080 m/s²" in said
    shown = {symbol.id: symbol.value for symbol in lesson.symbols}
    scatter, together = (shown[f"measured.{k}.acceleration"] for k in ("u-scatter", "u-meas"))
    assert scatter == pytest.approx(0.01 / sqrt(3))
    assert together == pytest.approx(sqrt(0.01**2 / 3 + 0.008**2))


@pytest.mark.parametrize("name", ["two-hanging", "train", "moving-pulley", "incline", "push-back"])
def test_other_set_ups_have_such_a_page_too(name: str) -> None:
    scenario = load_scenario(kit.CASES / f"{name}.yaml")
    evidence = kit.Evidence(analysis=kit.trials_of(scenario, count=3, seed=5))
    ids = [found.id for found in data(scenario, evidence).steps]
    assert ids[0] == "trials"
    assert "summary" in ids
