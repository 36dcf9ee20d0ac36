"""Figures of what was measured: readable, marked where simulated, and as their words say."""

import re
from dataclasses import replace
from functools import cache
from typing import Any
from xml.etree import ElementTree

import numpy as np
import pytest

from fallwork.figures import Figure, draw, palette
from fallwork.figures.canvas import WIDTH
from fallwork.figures.scene import CannotDrawError, Scene
from fallwork.lesson.document import FigureSlot
from fallwork.lesson.measured import Evidence
from fallwork.measurement import Analysis, Estimate, Measurand, Trial, summaries
from figures.inspect_sheet import collisions, crossed_words, sheet_of, words_of
from lesson.measured import kit

QUANTITIES = ("acceleration", "mean_tension", "final_speed")
ENTRIES = [
    *(("record", "trial-01"), ("record", "trial-07"), ("record-work", "trial-01")),
    *(("scatter", quantity) for quantity in QUANTITIES),
    *(("scatter-prediction", quantity) for quantity in QUANTITIES),
]
EVERY = pytest.mark.parametrize(("kind", "subject"), ENTRIES, ids=map("-".join, ENTRIES))
BYTES = 40_000  # as every other figure


def scene(kind: str, subject: str, evidence: Evidence | None = None) -> Scene:
    setting = kit.context(kit.level(), numbers=True).setting
    return Scene(
        slot=FigureSlot(kind=kind, subject=subject),
        scenario=setting.scenario,
        apparatus=setting.apparatus,
        solution=setting.solution,
        lesson=kit.worked_alone(kit.level()),
        to_scale=True,
        evidence=evidence or kit.usual(),
    )


def drawn(kind: str, subject: str, evidence: Evidence | None = None) -> Figure:
    found = scene(kind, subject, evidence)
    return draw(
        found.slot,
        scenario=found.scenario,
        apparatus=found.apparatus,
        solution=found.solution,
        lesson=found.lesson,
        to_scale=True,
        evidence=found.evidence,
    )


@cache
def usual(kind: str, subject: str) -> Figure:
    return drawn(kind, subject)


def typed(count: int, excluded: str = "") -> Evidence:
    """Accelerations that were typed in, spread over 0.02 m/s²."""
    trials = tuple(
        Trial(
            name=str(number),
            estimates={"acceleration": Estimate(value=1.5 + 0.02 * (number % 7) / 7, u=0.0)},
            excluded="why not" if str(number) == excluded else None,
        )
        for number in range(1, count + 1)
    )
    counted = [trial for trial in trials if trial.excluded is None]
    return Evidence(analysis=Analysis(trials=trials, summary=summaries(counted)))


def texts(sheet: Any) -> list[str]:
    return [words for words, _ in words_of(sheet)]


@EVERY
def test_no_word_lies_on_another_or_on_a_line_or_off_the_sheet(kind: str, subject: str) -> None:
    sheet = sheet_of(scene(kind, subject))
    assert collisions(sheet) == []
    assert crossed_words(sheet) == []
    assert [w for w, box in words_of(sheet) if box.left < 0 or box.right > WIDTH] == []


@EVERY
def test_a_figure_is_small_and_its_colours_are_roles(kind: str, subject: str) -> None:
    svg = usual(kind, subject).svg
    assert len(svg.encode()) < BYTES
    assert set(re.findall(r"var\([^)]*\)", svg)) <= {role.css for role in palette().values()}


@EVERY
def test_every_id_begins_with_the_figure_s(kind: str, subject: str) -> None:
    figure = usual(kind, subject)
    ids = [e.get("id", "") for e in ElementTree.fromstring(figure.svg).iter() if e.get("id")]
    assert len(set(ids)) == len(ids)
    assert all(name == figure.id or name.startswith(f"{figure.id}-") for name in ids)


@EVERY
def test_the_same_trials_give_the_same_bytes(kind: str, subject: str) -> None:
    assert drawn(kind, subject) == usual(kind, subject)


@EVERY
def test_simulated_data_are_marked_in_the_drawing_and_in_its_words(kind: str, subject: str) -> None:
    figure = usual(kind, subject)
    assert "simulated" in texts(sheet_of(scene(kind, subject)))
    assert figure.description.endswith("The data are simulated.")
    assert figure.caption.endswith("The data are simulated.")


def test_measured_data_carry_no_such_mark() -> None:
    evidence = typed(5)
    assert "simulated" not in texts(sheet_of(scene("scatter", "acceleration", evidence)))
    assert "simulated" not in drawn("scatter", "acceleration", evidence).description


def test_the_text_of_a_record_has_the_numbers_of_its_run() -> None:
    trial = kit.usual().analysis.trials[0]
    assert trial.window is not None
    begin, end = trial.window
    acceleration = trial.estimates[Measurand.ACCELERATION].value
    words = usual("record", "trial-01").description
    assert words.startswith(f"Trial-01: the run lies between {begin:.3f} s and {end:.3f} s.")
    assert f"with a slope of {acceleration:.3g} m/s²" in words


def test_the_shaded_stretch_of_a_record_is_the_run() -> None:
    """Ticks give the scale of the time axis: 0 s and 1 s."""
    sheet = sheet_of(scene("record", "trial-01"))
    shade, *others = sheet.axes[0].patches
    (left, _), (right, _) = shade.get_path().get_extents().get_points()
    places = sorted({round(float(x), 6) for x, _ in _time_ticks(others)})
    zero, one = places[:2]
    trial = kit.usual().analysis.trials[0]
    assert trial.window is not None
    shown = [(x - zero) / (one - zero) for x in (left, right)]
    assert shown == pytest.approx(list(trial.window), abs=1e-6)


def _time_ticks(patches: Any) -> Any:
    """The upright short strokes of the lowest axis with numbers."""
    for patch in reversed(patches):
        vertices = patch.get_path().vertices
        if len(vertices) % 2 == 0 and len(vertices) >= 4:
            steps = vertices[1::2] - vertices[::2]
            if np.allclose(steps[:, 0], 0.0) and np.allclose(abs(steps[:, 1]), 3.0):
                return vertices
    raise AssertionError("no ticks")


def test_the_area_of_the_measured_force_is_its_work() -> None:
    sheet = sheet_of(scene("record-work", "trial-01"))
    area, _, upright, level = sheet.axes[0].patches[:4]
    (left, bottom), (right, top) = area.get_path().get_extents().get_points()
    heights = sorted({y for _, y in upright.get_path().vertices})
    places = sorted({x for x, _ in level.get_path().vertices})
    newtons = 0.2 * (top - bottom) / (heights[1] - heights[0])
    metres = 0.2 * (right - left) / (places[1] - places[0])
    work = kit.usual().analysis.trials[0].estimates[Measurand.WORK_OF_TENSION].value
    assert newtons * metres == pytest.approx(work, rel=1e-6)


def test_every_trial_and_the_mean_stand_in_the_text_of_all_trials() -> None:
    words = usual("scatter", "acceleration").description
    analysis = kit.usual().analysis
    for trial in analysis.trials:
        value = trial.estimates[Measurand.ACCELERATION].value
        assert f"{trial.name}: {value:.4f} m/s²" in words
    assert f"Mean {analysis.summary['acceleration'].mean:.4f} m/s²" in words


def test_only_the_solution_s_figure_knows_the_prediction() -> None:
    bare = kit.without_judgement(kit.usual())
    assert drawn("scatter", "acceleration", bare) == usual("scatter", "acceleration")
    assert "redicted" not in usual("scatter", "acceleration").description
    assert "Predicted 1.503 m/s²" in usual("scatter-prediction", "acceleration").description
    with pytest.raises(CannotDrawError, match="no prediction of 'acceleration'"):
        drawn("scatter-prediction", "acceleration", bare)


def test_an_excluded_trial_is_drawn_otherwise_and_said_to_be() -> None:
    evidence = typed(6, excluded="4")
    figure = drawn("scatter", "acceleration", evidence)
    assert "4: 1.5114 m/s² (doesn't count)" in figure.description
    assert "a trial that doesn't count" in texts(
        sheet_of(scene("scatter", "acceleration", evidence))
    )
    assert figure != drawn("scatter", "acceleration", typed(6))


@pytest.mark.parametrize("count", [2, 12, 13, 40])
def test_few_and_many_trials_stay_readable(count: int) -> None:
    sheet = sheet_of(scene("scatter", "acceleration", typed(count)))
    assert collisions(sheet) == []
    assert crossed_words(sheet) == []


def test_a_record_without_force_or_position_has_fewer_panels() -> None:
    analysis = kit.usual().analysis
    first = analysis.trials[0]
    assert first.record is not None
    velocity_only = replace(first, record=replace(first.record, position=None, force=None))
    evidence = Evidence(analysis=replace(analysis, trials=(velocity_only,)))
    figure = drawn("record", "trial-01", evidence)
    assert figure.caption.startswith("Trial-01: velocity against time.")
    assert "force (N)" not in texts(sheet_of(scene("record", "trial-01", evidence)))


@pytest.mark.parametrize(
    ("kind", "subject", "words"),
    [
        ("record", "trial-99", "no record of 'trial-99'"),
        ("scatter", "colour", "no trials of 'colour'"),
    ],
)
def test_what_isn_t_there_can_t_be_drawn(kind: str, subject: str, words: str) -> None:
    with pytest.raises(CannotDrawError, match=words):
        drawn(kind, subject)
