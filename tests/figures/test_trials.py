"""Figures of what was measured: readable, marked where simulated, and as their words say."""

from dataclasses import replace

import pytest

from fallwork.figures import Figure
from fallwork.figures.scene import CannotDrawError
from fallwork.lesson.measured import Evidence
from fallwork.lesson.measured.words import in_trial
from fallwork.measurement.model import Analysis, Estimate, Measurand, Trial
from fallwork.measurement.summaries import summaries
from figures.inspect_sheet import area_of, collisions, crossed_words, sheet_of, unit_of, words_of
from figures.setups import Setup, drawn, entries, setup
from lesson.measured import kit

USUAL = setup("trials")


def texts(given: Setup, kind: str, subject: str) -> list[str]:
    return [words for words, _ in words_of(sheet_of(given.scene(kind, subject)))]


def usual(kind: str, subject: str) -> Figure:
    return drawn("trials", kind, subject)


def typed(count: int, excluded: str = "") -> Setup:
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
    analysis = Analysis(trials=trials, summary=summaries(counted))
    return replace(USUAL, evidence=Evidence(analysis=analysis))


@pytest.mark.parametrize(("kind", "subject"), [entry[1:3] for entry in entries("trials")])
def test_simulated_data_are_marked_and_the_same_trials_give_the_same_bytes(
    kind: str, subject: str
) -> None:
    figure = usual(kind, subject)
    assert "simulated" in texts(USUAL, kind, subject)
    assert figure.description.endswith("The data are simulated.")
    assert figure.caption.endswith("The data are simulated.")
    assert USUAL.draw(kind, subject) == figure


def test_a_trial_without_a_value_keeps_its_place() -> None:
    """Two of five trials have no value: what stands above 5 is trial 5's."""
    given = typed(5)
    assert given.evidence is not None
    trials = [
        replace(t, estimates={}) if t.name in "24" else t for t in given.evidence.analysis.trials
    ]
    analysis = replace(given.evidence.analysis, trials=tuple(trials))
    sparse = replace(given, evidence=Evidence(analysis=analysis))
    numbers = [
        [x for x in texts(of, "scatter", "acceleration") if x in "12345"] for of in (sparse, given)
    ]
    assert numbers[0] == numbers[1]


def test_a_record_says_and_shades_its_run_and_the_area_of_the_measured_force_is_its_work() -> None:
    trial = kit.usual().analysis.trials[0]
    assert trial.window is not None
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
def test_the_text_of_all_trials_has_the_digits_of_the_table(given: Setup) -> None:
    words = given.draw("scatter", "acceleration").description
    assert given.evidence is not None
    analysis = given.evidence.analysis
    for trial in analysis.trials:
        shown = in_trial(trial, "acceleration", analysis.summary["acceleration"], 3)
        value = shown.partition("±")[0].rstrip()
        assert f"{trial.name}: {value} m/s²" in words


def test_only_the_solution_s_figure_knows_the_prediction() -> None:
    bare = replace(USUAL, evidence=kit.without_judgement(kit.usual()))
    assert bare.draw("scatter", "acceleration") == usual("scatter", "acceleration")
    words, summary = usual("scatter", "acceleration").description, kit.usual().analysis.summary
    assert "redicted" not in words
    assert f"Mean {summary['acceleration'].value:.4f} m/s²" in words
    assert "Predicted 1.503 m/s²" in usual("scatter-prediction", "acceleration").description
    with pytest.raises(CannotDrawError, match="no prediction of 'acceleration'"):
        bare.draw("scatter-prediction", "acceleration")


def test_an_excluded_trial_is_drawn_otherwise_and_said_to_be() -> None:
    given = typed(6, excluded="4")
    figure = given.draw("scatter", "acceleration")
    assert "4: 1.5114 m/s² (doesn't count)" in figure.description
    assert "simulated" not in (*texts(given, "scatter", "acceleration"), figure.description)
    assert "a trial that doesn't count" in texts(given, "scatter", "acceleration")
    assert figure != typed(6).draw("scatter", "acceleration")


@pytest.mark.parametrize("count", [2, 12, 13, 40])
def test_few_and_many_trials_stay_readable(count: int) -> None:
    sheet = sheet_of(typed(count).scene("scatter", "acceleration"))
    assert (collisions(sheet), crossed_words(sheet)) == ([], [])


def test_a_record_without_force_or_position_has_fewer_panels() -> None:
    analysis = kit.usual().analysis
    record = analysis.trials[0].record
    assert record is not None
    bare = replace(analysis.trials[0], record=replace(record, position=None, force=None))
    given = replace(USUAL, evidence=Evidence(analysis=replace(analysis, trials=(bare,))))
    assert given.draw("record", "trial-01").caption.startswith("Trial-01: velocity against time.")
    assert "force (N)" not in texts(given, "record", "trial-01")


def test_what_isn_t_there_can_t_be_drawn() -> None:
    with pytest.raises(CannotDrawError, match="no record of 'trial-99'"):
        usual("record", "trial-99")
    with pytest.raises(CannotDrawError, match="no trials of 'colour'"):
        usual("scatter", "colour")
