"""From records to trials and their means, and the same as JSON."""

import json
from dataclasses import replace
from pathlib import Path
from statistics import mean, stdev

import numpy as np
import pytest

from fallwork.errors import BadInput
from fallwork.measurement.analysis import UnknownTrialError, analyse, named_trial, trials_json
from fallwork.measurement.influences import influences_of
from fallwork.measurement.model import Record
from fallwork.measurement.prediction import view_of
from fallwork.measurement.records import read_all
from fallwork.measurement.settings import Settings, expected_settings
from fallwork.measurement.simulate import Behaviour, csv_of, simulate
from fallwork.mechanics import apparatus_of, solve
from fallwork.scenario import load_scenario
from measurement.bench import path, record
from measurement.kit import STANDARD

SET_UPS = sorted((Path(__file__).parent / "set-ups").glob("*.yaml"))
DEMO = Path(__file__).parents[2] / "site-data/scenarios"


def several(count: int = 4) -> tuple[Record, ...]:
    true, random, found = path(), np.random.default_rng(9), list[Record]()
    for at in range(1, count + 1):
        velocity, force = (c + random.normal(0, 0.01, len(c)) for c in (true.velocity, true.force))
        found.append(replace(record(true, velocity=velocity, force=force), name=f"trial-{at:02d}"))
    return tuple(found)


def still(name: str) -> Record:
    true = path()
    return replace(record(true, velocity=0 * true.time), name=name)


def test_the_summary_is_the_mean_of_the_trials_and_a_note_on_all_is_made_once() -> None:
    analysis = analyse(several())
    values = [trial.estimates["acceleration"].value for trial in analysis.trials]
    found = analysis.summary["acceleration"]
    told = found.n, found.value, found.standard_deviation
    assert told == pytest.approx((4, mean(values), stdev(values)))
    assert analysis.notes[0] == "all trials: motion from the velocities"


def test_an_excluded_trial_is_shown_with_and_without() -> None:
    analysis = analyse(several(), Settings(exclude={"3": "the cable dragged"}))
    assert [trial.excluded for trial in analysis.trials] == [None, None, "the cable dragged", None]
    assert analysis.summary["acceleration"].n == 3
    assert analysis.summary_with_excluded["acceleration"].n == 4
    assert analysis.exceptions[0] == "trial-03 doesn't count: the cable dragged"


def test_a_record_without_a_run_is_kept_and_says_so_but_not_alone() -> None:
    analysis = analyse((*several(2), still("trial-03")))
    assert analysis.trials[2].excluded == (
        "no run found: nothing in it starts from rest and speeds up evenly"
    )
    assert analysis.summary["acceleration"].n == 2
    assert analysis.summary_with_excluded == {}
    with pytest.raises(BadInput) as caught:
        analyse((still("a"), still("b")))
    assert len(caught.value.problems) == 2


def test_a_window_belongs_to_its_trial() -> None:
    analysis = analyse(several(2), Settings(windows={"trial-02": (0.9, 1.6)}))
    assert [trial.window_by_hand for trial in analysis.trials] == [False, True]
    assert analysis.trials[1].window == pytest.approx((0.9, 1.6))


def test_trials_go_by_number_or_name_and_one_that_is_not_there_is_an_error() -> None:
    names = ["trial-02", "trial-10"]
    assert [named_trial(word, names) for word in ("2", "trial-10")] == names
    with pytest.raises(UnknownTrialError) as caught:
        analyse(several(2), Settings(exclude={"7": "lost"}))
    assert str(caught.value) == 'no trial "7"; the trials are trial-01, trial-02'


def test_json_has_the_agreed_shape() -> None:
    found = json.loads(json.dumps(trials_json(analyse(several())), allow_nan=False))
    assert list(found) == ["trials", "summary", "notes"]
    first, summary = found["trials"][0], found["summary"]["acceleration"]
    assert first["name"] == "trial-01"
    assert len(first["window"]) == 2
    assert {"value", "u"} <= set(first["work_of_tension"])
    assert {"n", "mean", "standard_deviation", "u", "interval_95"} <= set(summary)
    assert list(first)[2:] == [
        *("acceleration", "final_speed", "travel_time", "distance", "mean_tension"),
        *("work_of_tension", "mean_tension_over_time", "coasting_acceleration"),
        *("force_held", "force_slack"),
    ]


@pytest.mark.parametrize("file", SET_UPS, ids=lambda file: file.stem)
def test_simulated_trials_of_every_set_up_are_found_again(file: Path, tmp_path: Path) -> None:
    """Written as CSV, read and analysed: the mean of each measurand is near its truth."""
    scenario = load_scenario(file)
    none = dict.fromkeys(("position_scale_u", "force_scale_u", "force_zero_u", "start_u"), 0.0)
    steady = Behaviour(draw_givens=False, **none)
    trials = simulate(scenario, STANDARD, trials=12, seed=4, behaviour=steady)
    (tmp_path / "trials.csv").write_text(csv_of(trials), encoding="utf-8")
    records = read_all([tmp_path / "trials.csv"])
    analysis = analyse(records, expected_settings(scenario, STANDARD.value))
    for name, summary in analysis.summary.items():
        true = mean(trial.truth.values[name] for trial in trials)
        typical = mean(trial.estimates[name].u for trial in analysis.trials)
        assert summary.value == pytest.approx(true, abs=1.5 * typical), name
    assert {"acceleration", "final_speed", "travel_time"} <= set(analysis.summary)


def pushed(noise: float, sense: int = 1, *, positions: bool = True) -> Record:
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
    return Record(name="pushed", time=time, **columns)


@pytest.mark.parametrize("sense", [1, -1])
@pytest.mark.parametrize("positions", [True, False])
def test_a_run_that_turns_round_gives_its_acceleration_after_the_turn(
    sense: int, positions: bool
) -> None:
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


def test_the_tension_of_a_run_that_turns_round_is_the_one_after_the_turn_too() -> None:
    """By Newton's second law for what hangs, T = m (g − a), with both of the same stretch."""
    scenario, onward = (load_scenario(DEMO / f"push-{n}.yaml") for n in ("away", "towards"))
    turns = [expected_settings(each, STANDARD.value).turns for each in (scenario, onward)]
    assert turns == [True, False]
    apparatus, view = apparatus_of(scenario, STANDARD.value), view_of(scenario)
    hanging, found = float(apparatus.bodies["weight"].mass), view.measurands(solve(apparatus))
    expected = hanging * (STANDARD.value - found["acceleration"])
    assert found["mean_tension"] == pytest.approx(expected, rel=1e-9)
    friction = influences_of(apparatus, view)[0].effects
    assert friction["mean_tension"] == pytest.approx(-hanging * friction["acceleration"], rel=1e-6)
