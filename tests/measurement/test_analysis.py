"""From records to trials and their means, on set-ups of every shape too; a trial in two files."""

from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from statistics import mean, stdev

import numpy as np
import pytest

from cases import cases
from fallwork.errors import BadInput
from fallwork.measurement import discrepancy, influences, limits, model, statistics
from fallwork.measurement.analysis import UnknownTrialError, analyse, named_trial
from fallwork.measurement.comparison import compare_all
from fallwork.measurement.prediction import Case, View, predict, view_of
from fallwork.measurement.records import read_all
from fallwork.measurement.settings import Settings, expected_settings
from fallwork.measurement.simulate import Behaviour, csv_of, simulate
from fallwork.mechanics import apparatus_of, solve
from fallwork.scenario import Scenario, load_scenario
from measurement.kit import PULL, STANDARD, noisy, path, record, trials_of, truth_of

FILES = sorted((Path(__file__).parent / "set-ups").glob("*.yaml"))
DEMO = Path(__file__).parents[2] / "site-data/scenarios"
WATCHED = {"incline-up": "block", "moving-pulley": "cart", "rolling-start": "cart"}
TRUE = path(rate=50)
NOISE = 0.002 * np.sin(1000 * TRUE.time**2)
COLUMNS = {"x (m)": TRUE.position, "v (m/s)": TRUE.velocity, "F (N)": TRUE.force}


def several(count: int = 4) -> list[model.Record]:
    made = {f"trial-{n:02d}": noisy(n, velocity=0.01, force=0.01) for n in range(1, count + 1)}
    return [replace(each, name=name) for name, each in made.items()]


def still(name: str) -> model.Record:
    return replace(record(path(), velocity=0 * path().time), name=name)


def test_the_summary_is_the_mean_of_the_trials_that_count():
    """A note on all is made once; an excluded trial is shown with and without."""
    analysis = analyse(several())
    values = [trial.estimates["acceleration"].value for trial in analysis.trials]
    found = analysis.summary["acceleration"]
    told = found.n, found.value, found.standard_deviation
    assert told == pytest.approx((4, mean(values), stdev(values)))
    assert analysis.notes[0] == "all trials: motion from the velocities"
    why = "the cable dragged"
    analysis = analyse(several(), Settings(exclude={"3": why}, windows={"trial-02": (0.9, 1.6)}))
    assert [trial.excluded for trial in analysis.trials] == [None, None, why, None]
    assert analysis.summary["acceleration"].n == 3
    assert analysis.summary_with_excluded["acceleration"].n == 4
    assert analysis.exceptions[0] == f"trial-03 doesn't count: {why}"
    assert [trial.window_by_hand for trial in analysis.trials] == [False, True, False, False]
    assert analysis.trials[1].window == pytest.approx((0.9, 1.6))


def test_a_record_without_a_run_and_a_trial_that_is_not_there_are_told():
    analysis = analyse((*several(2), still("trial-03")))
    assert analysis.trials[2].excluded == (
        "no run found: nothing in it starts from rest and speeds up evenly"
    )
    assert analysis.summary["acceleration"].n == 2
    assert analysis.summary_with_excluded == {}
    with pytest.raises(BadInput) as caught:
        analyse((still("a"), still("b")))
    assert len(caught.value.problems) == 2
    names = ["trial-02", "trial-10"]
    assert [named_trial(word, names) for word in ("2", "trial-10")] == names
    with pytest.raises(UnknownTrialError) as caught:
        analyse(several(2), Settings(exclude={"7": "lost"}))
    assert str(caught.value) == 'no trial "7"; the trials are trial-01, trial-02'


def pushed(noise: float, sense: int = 1, *, positions: bool = True) -> model.Record:
    """By hand: 0.2 s held, then −0.55 m/s; slowed by 0.92 m/s² to the turn, back with 0.74 m/s²."""
    time, random = np.arange(0.0, 2.6, 0.01), np.random.default_rng(21)
    since = np.clip(time - 0.2, 0, None)
    turn = 0.55 / 0.92
    out, back = np.minimum(since, turn), np.clip(since - turn, 0, None)
    position = -0.55 * out + 0.92 * out**2 / 2 + 0.74 * back**2 / 2
    velocity = np.where(since > 0, -0.55 + 0.92 * out + 0.74 * back, 0.0)
    columns = {"velocity": sense * velocity + random.normal(0, 0.01, len(time))}
    if positions:
        columns["position"] = sense * position + random.normal(0, noise, len(time))
    return model.Record(name="pushed", time=time, **columns)


@pytest.mark.parametrize("sense", [1, -1])
@pytest.mark.parametrize("positions", [True, False])
def test_a_run_that_turns_round_gives_its_acceleration_after_the_turn(sense, positions):
    settings = Settings(turns=True, from_rest=False)
    (trial,) = analyse([pushed(0.0003, sense, positions=positions)], settings).trials
    found = trial.estimates["acceleration"]
    assert list(trial.estimates) == ["acceleration"]
    assert found.value == pytest.approx(0.74, abs=4 * found.u)
    assert found.u < 0.01
    assert trial.notes[-1].startswith("the object turns round: only its acceleration after")
    by_hand = replace(settings, windows={"pushed": (1.0, 2.4)})
    (trial,) = analyse([pushed(0.0003, sense, positions=positions)], by_hand).trials
    assert trial.window_by_hand
    assert trial.estimates["acceleration"].value == pytest.approx(0.74, abs=0.01)


def test_the_tension_of_a_run_that_turns_round_is_the_one_after_the_turn_too():
    """By Newton's second law for what hangs, T = m (g − a), with both of the same stretch."""
    scenario, onward = (load_scenario(DEMO / f"push-{n}.yaml") for n in ("away", "towards"))
    turns = [expected_settings(each, STANDARD.value).turns for each in (scenario, onward)]
    assert turns == [True, False]
    apparatus, view = apparatus_of(scenario, STANDARD.value), view_of(scenario)
    hanging, found = float(apparatus.bodies["weight"].mass), view.measurands(solve(apparatus))
    expected = hanging * (STANDARD.value - found["acceleration"])
    assert found["mean_tension"] == pytest.approx(expected, rel=1e-9)
    friction = influences.influences_of(apparatus, view)[0].effects
    assert friction["mean_tension"] == pytest.approx(-hanging * friction["acceleration"], rel=1e-6)


# ---- set-ups of every shape
WATCHED |= {"train": "front", "two-weights": "right"}


@pytest.fixture(params=FILES, ids=lambda file: file.stem)
def scenario(request) -> Scenario:
    return load_scenario(request.param)


def test_simulated_trials_are_found_again(scenario, tmp_path):
    """Written as CSV, read and analysed: the mean of each measurand is near its truth."""
    none = dict.fromkeys(("position_scale_u", "force_scale_u", "force_zero_u", "start_u"), 0.0)
    steady = Behaviour(draw_givens=False, **none)
    trials = simulate(scenario, STANDARD, trials=12, seed=4, behaviour=steady)
    (tmp_path / "trials.csv").write_text(csv_of(trials), encoding="utf-8")
    records = read_all([tmp_path / "trials.csv"])
    analysis = analyse(records, expected_settings(scenario, STANDARD.value))
    for name, summary in analysis.summary.items():
        true = mean(trial.values[name] for trial in trials)
        typical = mean(trial.estimates[name].u for trial in analysis.trials)
        assert summary.value == pytest.approx(true, abs=1.5 * typical), name
    assert {"acceleration", "final_speed", "travel_time"} <= set(analysis.summary)


def test_a_perfect_measurement_closes_every_account_and_a_wrong_speed_opens_it(scenario):
    """External work is the change of energy with measured values; nothing is missing or blamed."""
    watched = WATCHED[scenario.id]
    assert view_of(scenario) == View(moving=watched, string="string", pulled=watched)
    case, perfect = Case(scenario=scenario, gravity=STANDARD), trials_of(scenario, noise=0.0)
    off = trials_of(scenario, noise=0.0, off={"final_speed": 0.05})
    right, wrong = (compare_all(each, {}, case) for each in (perfect, off))
    assert (right.missing, len(right.systems)) == ({}, 2)
    for system in right.systems.values():
        assert system.overall.value == pytest.approx(0.0, abs=1e-12)
        assert system.overall.verdict is statistics.Verdict.AGREE
    assert all(each.overall.value < -1e-3 for each in wrong.systems.values())  # more energy
    expected = {name: model.Estimate(value=v, u=0.0) for name, v in truth_of(scenario).items()}
    found = discrepancy.account_of_discrepancy(perfect, expected, case)
    assert found.balance.beside["everything"].value == pytest.approx(0.0, abs=1e-12)
    assert found.leading == ()
    assert not any(each.verdict is statistics.Verdict.DIFFER for each in found.impossible.values())


def test_linear_propagation_is_the_solvers_and_the_batch_says_the_same(scenario):
    solved = view_of(scenario).measurands(solve(apparatus_of(scenario, STANDARD.value)))
    found = predict(scenario, STANDARD, seed=1).quantities
    assert {name: each.linear.value for name, each in found.items()} == pytest.approx(solved)
    pairs = [(each.simulated, each.linear) for each in found.values() if each.simulated]
    assert len(pairs) >= 6
    for centre, linear in pairs:
        assert centre.value == pytest.approx(linear.value, abs=0.3 * centre.u)
        assert centre.u == pytest.approx(linear.u, rel=0.05)


# ---- two files: what can't be put together is refused with reason
def write(
    name: str, *, heads: Sequence[str] = ("v (m/s)",), late: float = 0.0, **how: bool
) -> Path:
    """A file with some columns of the bench's run, or flat ones, with a little noise."""
    columns = [0 * NOISE + 0.7 if how.get("flat") else COLUMNS[head] for head in heads]
    rows = np.transpose([TRUE.time + late, *(each + NOISE for each in columns)])
    text = [",".join(f"{value:.4f}" for value in row) for row in rows]
    said, file = ["# Simulated data"] * how.get("simulated", False), Path(f"{name}.csv")
    file.parent.mkdir(exist_ok=True)
    file.write_text("\n".join([*said, f"t (s),{','.join(heads)}", *text, ""]), "utf-8")
    return file


@pytest.mark.parametrize(
    "case", cases(__file__, "two-files"), ids=lambda each: "-".join(each["files"])
)
def test_two_files_make_one_trial_or_are_told_why_not(case, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    files = [write(name, **how) for name, how in case["files"].items()]
    settings, trials, refused = Settings(slack_after=case.get("lands", True)), (), None
    try:
        trials = analyse(read_all(files), settings).trials
    except BadInput as error:
        refused = str(error)
    assert refused == case.get("refused")
    assert {trial.name: trial.excluded for trial in trials} == case.get("trials", {})
    for trial in (each for each in trials if each.excluded is None):
        assert trial.estimates["mean_tension"].value == pytest.approx(PULL, abs=0.002)


def test_two_files_of_another_lab_are_named_as_one_would_be(tmp_path, monkeypatch):
    """No exchange of columns makes them fit, nor leaves the second file without a force."""
    monkeypatch.chdir(tmp_path)
    both = write("motion-3", heads=("x (m)", "v (m/s)")), write("force-3", heads=("F (N)",))
    other = limits.Range(value=40.0, low=39.0, high=41.0, doubtful=1.0, varies=1.0)
    (trial,) = analyse(read_all(both), Settings(limits={"acceleration": other})).trials
    assert trial.set_aside
