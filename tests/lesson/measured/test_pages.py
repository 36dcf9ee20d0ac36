"""The trials' page knows nothing of the model; the solution judges trials by one rule."""

import re
from dataclasses import replace

import numpy as np
import pytest

from equations.checker import check_page
from fallwork.lesson.document import FigureSlot, Items
from fallwork.lesson.measured import Evidence
from fallwork.scenario import load_scenario
from lesson.kit import DEMO, lesson_from, scenario_of
from lesson.measured import kit
from measurement.kit import analysis_of


def test_words_in_tables_and_lists_stay_as_others_wrote_them():
    # A bar would part a cell in two, and a line that begins with a dash would be an item.
    analysis = kit.typed(1.49, 1.50, 1.51, excluded="3").analysis
    names = ("a | b", "{{ m }}", "c")
    trials = tuple(
        replace(trial, name=name, excluded=trial.excluded and "wet\n- no\n\nfloor")
        for trial, name in zip(analysis.trials, names, strict=True)
    )
    lesson = kit.data(kit.level(), Evidence(analysis=replace(analysis, trials=trials)))
    (rows,) = kit.tables(kit.step(lesson, "trials"))
    assert [row[0] for row in rows[1:]] == list(names)
    assert {len(row) for row in rows} == {3}
    (listed,) = [b for b in kit.step(lesson, "exclusions").blocks if isinstance(b, Items)]
    assert [kit.words(item) for item in listed.items] == ["C: wet\n- no\n\nfloor."]


def test_moments_points_and_fitted_readings_lie_inside_the_run():
    lesson = kit.usual_data()
    times = {s.subscript: s.value for s in lesson.symbols if s.id.startswith("measured.time-")}
    run = kit.usual().analysis.trials[0].run
    assert run.driven[0] <= times["X"] < times["Y"] <= run.driven[1]
    assert times["Y"] - times["X"] > 0.9 * (run.driven[1] - run.driven[0]) - 0.02
    found = kit.usual().analysis.trials[0]
    words = kit.prose(kit.step(kit.usual_data(), "how-acceleration")).replace("\u00a0", " ")
    ends = re.search(r"fits the readings from ([\d.]+) s to ([\d.]+) s", words)
    for end, bound in zip(map(float, ends.groups()), found.run.driven, strict=True):
        assert np.min(np.abs(found.record.time - end)) < 1e-9
        assert abs(end - bound) < 0.02


def test_the_trial_that_is_worked_through_has_what_the_steps_show():
    """A record that ends before its run has no work: another is taken, or none is drawn."""
    work, every = "work_of_tension", {each.name for each in kit.trials().trials}
    for out, name in (({"trial-01"}, "trial-02"), (every, "trial-01")):
        evidence = kit.trials_with(
            lambda t, q, value, out=out: None if q == work and t.name in out else value
        )
        blocks = kit.step(kit.data(kit.level(), evidence), "how-tension").blocks
        drawn = [each.subject for each in blocks if isinstance(each, FigureSlot)]
        assert (evidence.worked.name, drawn) == (name, [name] * (out != every))


# ---- against the model
def test_the_worked_steps_stay_as_they_were_and_a_percentage_decides_nothing():
    lesson = kit.usual_solution()
    alone = lesson_from(kit.level())
    assert lesson.steps[: len(alone.steps)] == alone.steps
    text = "\n".join(kit.prose(found) for found in kit.usual_solution().steps)
    assert not re.search(r"(under|below|less than|within) \d+ ?%", text)


def test_where_nothing_acts_from_outside_an_energy_balance_compares_with_zero():
    frictionless = scenario_of(DEMO / "level-track-frictionless.yaml")
    evidence = kit.judged(frictionless, kit.trials_of(frictionless, seed=3))
    found = kit.step(kit.solution(frictionless, evidence), "all-moving-measured")
    assert "There is no external work in this energy balance" in kit.prose(found)
    assert "External work" not in kit.tables(found)[1][0]


def test_an_acceleration_worked_out_of_the_final_speed_differs_from_it_by_nothing():
    """What floating-point numbers leave of such differences is neither a value nor a scatter."""
    speeds = {a: (2 * a * 0.6) ** 0.5 for a in (1.24, 1.26, 1.23)}
    every = {f"{a} m/s²": {"acceleration": a, "final_speed": v} for a, v in speeds.items()}
    scenario = kit.without_uncertainty(kit.level())
    evidence = kit.judged(scenario, analysis_of(every))
    rows = kit.tables(kit.step(kit.solution(scenario, evidence), "discrepancy"))[1]
    assert rows[1][:2] == ["Acceleration as given, minus that from final speed and distance", "0"]


# ---- every equation is true, by a reader that shares no code with the program


@pytest.mark.parametrize("name", ["incline", "two-hanging", "train", "moving-pulley", "push-back"])
def test_equations_of_report_trials_and_comparison_set_ups_are_true(name):
    scenario = load_scenario(kit.CASES / f"{name}.yaml")
    evidence = kit.judged(scenario, kit.trials_of(scenario, count=3, seed=5))
    for lesson in (kit.report(scenario), kit.data(scenario, evidence)):
        assert check_page(kit.page(lesson)) == []
    alone = set(check_page(kit.page(lesson_from(scenario))))
    assert set(check_page(kit.page(kit.solution(scenario, evidence)))) <= alone
