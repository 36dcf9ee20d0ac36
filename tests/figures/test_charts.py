"""Charts show the numbers of the solution, and those of trials what was measured."""

from collections import Counter
from dataclasses import replace
from itertools import pairwise

import pytest

from fallwork import figures, mechanics
from fallwork.figures import charts, placing
from fallwork.figures.energies import PARTS, energies_of, hatching
from fallwork.figures.motion import parts_of
from fallwork.lesson.measured import Evidence
from fallwork.lesson.measured.words import in_trial
from fallwork.measurement.model import Measurand
from fallwork.scenario import load_scenario, with_numbers
from figures.inspect_sheet import (
    area_of,
    collisions,
    crossed_words,
    sheet_of,
    strokes_of,
    unit_of,
    words_of,
)
from figures.setups import CHARTS, NAMES, Setup, drawn, sample, set_up, setup
from lesson.kit import DEMO, ZOO
from lesson.measured import kit

MOVING = pytest.mark.parametrize("case", [case for case in NAMES if case != "held"])
USUAL = setup("trials")


@MOVING
def test_energies_change_as_the_account_of_the_system_says_and_phases_join(case):
    given = setup(case)
    columns = energies_of(given.scene("energy-bars"))
    totals = [columns.total(part) for part in PARTS.values()]
    assert totals == pytest.approx([totals[0]] * 3, rel=1e-9)  # a closed account
    for name in given.apparatus.bodies:
        for members in ((name,), (name, "Earth")):
            energies = energies_of(given.scene("energy-bars", ", ".join(members)))
            whole = mechanics.account(given.apparatus, given.solution.phases[0], members)
            brought = sum(line.end for line in energies.came_in)
            gained = energies.total(1.0) - energies.total(0.0)
            assert gained == pytest.approx(brought, rel=1e-9, abs=1e-12)
            left = sum(line.end for line in energies.lines if "lost to" in line.words)
            assert brought - left == pytest.approx(whole.external_work, rel=1e-9, abs=1e-12)
    parts = parts_of(setup(case).scene("motion"), next(iter(setup(case).apparatus.bodies)))
    for before, after in pairwise(parts):
        assert before.last[::2] == (after.times[0], after.positions[0])


def test_the_shaded_area_is_the_work_and_the_line_of_the_total_at_the_total():
    given = setup("incline")
    sheet = sheet_of(given.scene("tension-work"))
    width, height = area_of(sheet)
    drawn = width / unit_of(sheet, upright=False) * height / unit_of(sheet, upright=True)
    work = {force.name: force.work for force in given.solution.phases[0].forces}
    assert drawn == pytest.approx(work["tension of string on block"], rel=1e-3)  # 0.01 pt
    strokes = strokes_of(sheet_of(setup("incline").scene("energy-bars")))
    (dashed,) = (lines for path, lines in strokes if "dasharray" in path.get("style", ""))
    (level,) = {y for _, y in dashed[0]}
    tops = [
        min(y for _, y in line) for path, (line, *_) in strokes if "tint" in path.get("style", "")
    ]
    assert sum(abs(top - level) < 0.011 for top in tops) == 3  # the three columns end there too


@pytest.mark.parametrize("speed", ["-0.30 m/s", "-0.50 m/s", "-0.55 m/s"])
def test_the_letter_of_an_early_end_stands_clear_of_the_title(speed):
    given = set_up(with_numbers(load_scenario(DEMO / "push-away.yaml"), {"run.start": speed}))
    words = dict(words_of(sheet_of(given.scene("motion"))))
    assert "0 m/s" in words  # where it turns, and no rounding left of nothing
    title, letter = words["velocity (m/s)"], words["A"]
    assert letter.left > title.right + 3.0 or letter.top < title.bottom


def test_what_can_t_be_drawn_is_told():
    for kind in CHARTS:
        with pytest.raises(figures.CannotDrawError):
            setup("held").draw(kind)
    behind = set_up(load_scenario(ZOO / "held-behind.yaml"))  # the block stays at rest
    with pytest.raises(figures.CannotDrawError, match="'block' doesn't move"):
        behind.draw("motion", "block")
    with pytest.raises(figures.CannotDrawError, match="'pie'; there are sketch, diagram, motion"):
        sample("pie")


# ---- axes and bars
TICKS = {
    (0.0, 0.85): "0.0 0.2 0.4 0.6 0.8",
    (-1.1, 1.0): "−1.0 −0.5 0.0 0.5 1.0",
    (0.0, 47.0): "0 10 20 30 40",
    (0.0, 0.012): "0.000 0.005 0.010",
}


def test_ticks_are_round_and_few_and_a_range_starts_at_zero_and_has_room_above():
    assert {ends: " ".join(charts.tick_labels(charts.ticks(*ends))) for ends in TICKS} == TICKS
    assert charts.with_room([2.0, 4.0], 0.25) == (0.0, 5.0)
    assert charts.with_room([-4.0], 0.25) == (-5.0, 0.0)


@pytest.mark.parametrize("rise", [0.0, 0.7, -0.7, 2.2])
def test_hatching_stays_inside_its_bar(rise):
    lines = list(hatching(placing.Box(left=10.0, bottom=5.0, right=40.0, top=25.0), rise, 6.0))
    assert len(lines) >= 3
    near = 1e-9
    assert all(10 - near <= end.real <= 40 + near for line in lines for end in line)
    assert all(5 - near <= end.imag <= 25 + near for line in lines for end in line)


@pytest.mark.parametrize("case", ["hung-pulley", "demo/heavy-pulley", "demo/pulley-on-a-string"])
def test_each_energy_s_line_is_told_by_the_piece_at_its_name_and_no_name_is_above_the_axes(case):
    sheet = sheet_of(setup(case).scene("energy-position"))
    styles = [path.get("style", "") for path, _ in strokes_of(sheet)]
    drawn = Counter(style for style in styles if "stroke-width: 1.7" in style)
    assert len(drawn) >= 6
    assert set(drawn.values()) == {2}  # the line, and its piece
    _, ([(_, top), _, (right, _)], *_) = strokes_of(sheet)[0]
    assert min(box.bottom for _, box in words_of(sheet) if box.left > right) > top - 0.5


# ---- figures of what was measured: readable, marked where simulated, and as their words say
def texts(given: Setup, kind: str, subject: str) -> list[str]:
    return [words for words, _ in words_of(sheet_of(given.scene(kind, subject)))]


def usual(kind: str, subject: str) -> figures.Figure:
    return drawn("trials", kind, subject)


def typed(count: int, excluded: str = "") -> Setup:
    """Accelerations that were typed in, spread over 0.02 m/s²."""
    values = (1.5 + 0.02 * (number % 7) / 7 for number in range(1, count + 1))
    return replace(USUAL, evidence=kit.typed(*values, excluded=excluded))


def test_a_trial_without_a_value_keeps_its_place():
    """Two of five trials have no value: what stands above 5 is trial 5's."""
    given = typed(5)
    trials = [
        replace(t, estimates={}) if t.name in "24" else t for t in given.evidence.analysis.trials
    ]
    analysis = replace(given.evidence.analysis, trials=tuple(trials))
    sparse = replace(given, evidence=Evidence(analysis=analysis))
    numbers = [
        [x for x in texts(of, "scatter", "acceleration") if x in "12345"] for of in (sparse, given)
    ]
    assert numbers[0] == numbers[1]


def test_a_record_says_and_shades_its_run_and_the_area_of_the_measured_force_is_its_work():
    trial = kit.usual().analysis.trials[0]
    begin, end = trial.window
    acceleration = trial.estimates[Measurand.ACCELERATION].value
    words = usual("record", "trial-01").description
    assert words.startswith(f"Trial-01: the run lies between {begin:.3f} s and {end:.3f} s.")
    assert f"with a slope of {acceleration:.3g} m/s²" in words
    sheet = sheet_of(USUAL.scene("record", "trial-01"))
    seconds = area_of(sheet)[0] / unit_of(sheet, upright=False)
    assert seconds == pytest.approx(end - begin, rel=1e-3)  # a hundredth of a point
    sheet = sheet_of(USUAL.scene("record-work", "trial-01"))
    width, height = area_of(sheet)
    drawn = width / unit_of(sheet, upright=False) * height / unit_of(sheet, upright=True)
    assert drawn == pytest.approx(trial.estimates[Measurand.WORK_OF_TENSION].value, rel=1e-3)


@pytest.mark.parametrize("given", [USUAL, typed(40)], ids=["10 runs", "40 values"])
def test_the_text_of_all_trials_has_the_digits_of_the_table(given):
    words = given.draw("scatter", "acceleration").description
    analysis = given.evidence.analysis
    for trial in analysis.trials:
        shown = in_trial(trial, "acceleration", analysis.summary["acceleration"], 3)
        value = shown.partition("±")[0].rstrip()
        assert f"{trial.name}: {value} m/s²" in words


def test_only_the_solution_knows_the_prediction_and_an_excluded_trial_is_told():
    bare = replace(USUAL, evidence=kit.without_judgement(kit.usual()))
    assert bare.draw("scatter", "acceleration") == usual("scatter", "acceleration")
    words, summary = usual("scatter", "acceleration").description, kit.usual().analysis.summary
    assert "redicted" not in words
    assert f"Mean {summary['acceleration'].value:.4f} m/s²" in words
    assert "Predicted 1.503 m/s²" in usual("scatter-prediction", "acceleration").description
    with pytest.raises(figures.CannotDrawError, match="no prediction of 'acceleration'"):
        bare.draw("scatter-prediction", "acceleration")
    given = typed(6, excluded="4")
    figure = given.draw("scatter", "acceleration")
    assert "4: 1.5114 m/s² (doesn't count)" in figure.description
    assert "simulated" not in (*texts(given, "scatter", "acceleration"), figure.description)
    assert "a trial that doesn't count" in texts(given, "scatter", "acceleration")
    assert figure != typed(6).draw("scatter", "acceleration")


@pytest.mark.parametrize("count", [2, 12, 13, 40])
def test_few_and_many_trials_stay_readable(count):
    sheet = sheet_of(typed(count).scene("scatter", "acceleration"))
    assert (collisions(sheet), crossed_words(sheet)) == ([], [])


def test_few_and_bare_records_have_fewer_panels_or_none():
    analysis = kit.usual().analysis
    record = analysis.trials[0].record
    bare = replace(analysis.trials[0], record=replace(record, position=None, force=None))
    given = replace(USUAL, evidence=Evidence(analysis=replace(analysis, trials=(bare,))))
    assert given.draw("record", "trial-01").caption.startswith("Trial-01: velocity against time.")
    assert "force (N)" not in texts(given, "record", "trial-01")
    with pytest.raises(figures.CannotDrawError, match="no record of 'trial-99'"):
        usual("record", "trial-99")
    with pytest.raises(figures.CannotDrawError, match="no trials of 'colour'"):
        usual("scatter", "colour")
