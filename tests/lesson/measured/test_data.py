"""The trials' page: their values, how each was got, and the means; nothing of the model."""

import re
from dataclasses import replace

import numpy as np
import pytest

from fallwork.lesson.document import Items, Working
from fallwork.lesson.latex import working as latex
from fallwork.lesson.measured import Evidence
from fallwork.measurement.model import Measurand
from lesson.measured import kit
from lesson.measured.kit import data, level, prose, step, tables, usual
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
