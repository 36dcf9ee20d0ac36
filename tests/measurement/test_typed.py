"""Means and single values that were typed in: what is known of them, and what rests on them."""

from collections.abc import Sequence
from itertools import combinations
from math import sqrt
from pathlib import Path
from statistics import mean, stdev
from typing import Any

import numpy as np
import pytest
import yaml
from uncertainties import ufloat

from fallwork.measurement.comparison import SystemComparison, compare_all
from fallwork.measurement.discrepancy import account_of_discrepancy
from fallwork.measurement.model import Analysis, Estimate, Outcome
from fallwork.measurement.prediction import Case, predict
from fallwork.measurement.statistics import Verdict
from fallwork.measurement.summaries import Sensors, summarise
from fallwork.measurement.typed import Way, analysis_of, way_of
from fallwork.scenario import Excluded, GivenMean, Measured, Scenario, load_scenario
from fallwork.scenario.quantity import parse_quantity
from measurement.kit import LEVEL, STANDARD, USUAL

KINDS = {"acceleration": "acceleration", "tension": "force", "final_speed": "speed"}
SPEEDS = (1.31, 1.33, 1.30, 1.32, 1.34, 1.32)  # m/s
DEMO = Path(__file__).parents[2] / "site-data/scenarios"
CASES: dict[str, dict[str, Any]] = yaml.safe_load(
    Path(__file__).with_name("typed.yaml").read_text(encoding="utf-8")
)


def typed(
    *, excluded: Sequence[Excluded] = (), included: Sequence[Excluded] = (), **values: Any
) -> Measured:
    """A text is a bare mean, a mapping a mean with n and more, a list one value a trial."""
    given: dict[str, Any] = {}
    for key, value in values.items():
        if isinstance(value, list):
            given[key] = tuple(parse_quantity(each, KINDS[key]) for each in value)
        else:
            known = value if isinstance(value, dict) else {"value": value}
            words = {k: parse_quantity(w, KINDS[key]) for k, w in known.items() if k != "n"}
            given[key] = GivenMean(**words, n=known.get("n"))
    return Measured(**given, excluded=tuple(excluded), included=tuple(included))


def speeds(*values: float) -> list[str]:
    return [f"{value} m/s" for value in values]


@pytest.fixture(scope="module")
def level(tmp_path_factory: pytest.TempPathFactory) -> Scenario:
    """The usual set-up with a distance of 0.600 m ± 3 mm."""
    file = tmp_path_factory.mktemp("typed") / "level.yaml"
    file.write_text(LEVEL.format(**{**USUAL, "distance": "0.600 m ± 3 mm"}), encoding="utf-8")
    return load_scenario(file)


@pytest.fixture(scope="module")
def predicted(level: Scenario) -> dict[str, Estimate]:
    """What the model predicts for it."""
    return predict(level, STANDARD, seed=1).estimates


def found(measured: Measured, scenario: Scenario) -> Analysis:
    return analysis_of(measured, scenario, STANDARD)


@pytest.mark.parametrize("name", CASES)
def test_what_is_made_of_typed_values(level: Scenario, name: str) -> None:
    case = CASES[name]
    analysis = found(typed(**{key: case[key] for key in KINDS.keys() & case.keys()}), level)
    if "summary" in case:
        summary = {key: [s.n, s.u, s.dof] for key, s in analysis.summary.items()}
        assert summary.keys() == case["summary"].keys()
        for key, expected in case["summary"].items():
            near = [None if each is None else pytest.approx(each, rel=1e-3) for each in expected]
            assert summary[key] == near, key
        assert all(each.interval_95 is None for each in analysis.summary.values() if each.u is None)
    if "aside" in case:
        assert {call: each.likely for call, each in analysis.set_aside.items()} == case["aside"]
    for said, words in zip(analysis.doubts, case.get("doubts", ()), strict="doubts" in case):
        assert words in said


def test_final_speeds_give_an_acceleration_of_their_own(level: Scenario) -> None:
    """v²/2d, scatter and u(d) put together by hand and by the package ``uncertainties``."""
    measured = typed(acceleration={"value": "1.47 m/s²", "n": 6}, final_speed=speeds(*SPEEDS))
    summary = found(measured, level).summary["acceleration_from_speed"]
    squares = [speed**2 for speed in SPEEDS]
    square = ufloat(mean(squares), stdev(squares) / sqrt(len(squares)))
    expected = square / (2 * ufloat(0.600, 0.003))
    assert summary.value == pytest.approx(expected.nominal_value)
    assert summary.u == pytest.approx(expected.std_dev, rel=1e-9)
    assert list(summary.effects) == ["distance of the run"]


def test_means_are_excluded_and_included_by_the_names_of_their_keys(level: Scenario) -> None:
    """A message dictates these names; 0.10 N can't be: 0.420 kg needs about 0.6 N at 1.5 m/s²."""
    values = {"acceleration": "1.47 m/s²", "tension": "0.10 N"}
    why = Excluded(trial="acceleration", because="another bench")
    excluded = found(typed(**values, excluded=[why]), level)
    assert (excluded.left_out, list(excluded.summary)) == ({"mean acceleration": why.because}, [])
    named = Excluded(trial="tension", because="the sensor sat behind a lever")
    analysis = found(typed(**values, included=[named]), level)
    assert (list(analysis.summary), analysis.set_aside) == (["acceleration", "mean_tension"], {})
    (said,) = analysis.exceptions
    assert said.startswith("mean tension counts, though: a tension of 0.100 N can't be")
    assert said.endswith("Reason: the sensor sat behind a lever")


def test_a_zero_that_a_spreadsheet_dropped_makes_no_value_coarser(level: Scenario) -> None:
    """1.3 among values with two places is 1.30: the last place is that of the others."""
    every = [["1.31 m/s", zero, "1.33 m/s", "1.35 m/s"] for zero in ("1.3 m/s", "1.30 m/s")]
    dropped, written = (found(typed(final_speed=each), level).summary for each in every)
    assert dropped == written


def test_the_speed_at_the_start_counts() -> None:
    """push-towards: the cart has 0.40 m/s ± 0.01 m/s, and goes 0.700 m: (v² − 0.16)/1.4."""
    scenario, given = load_scenario(DEMO / "push-towards.yaml"), (1.10, 1.12, 1.11)
    summary = found(typed(final_speed=speeds(*given)), scenario).summary["acceleration_from_speed"]
    assert summary.value == pytest.approx(mean((v**2 - 0.16) / 1.4 for v in given))
    assert summary.effects["speed at the start"] == pytest.approx(0.40 * 0.01 / 0.700)


@pytest.mark.parametrize("name", ["incline-held", "push-away", "two-motions"])
def test_no_single_stretch_of_given_length_no_acceleration_from_speeds(name: str) -> None:
    """A distance that goes with the masses is a result and not used; one that the strings alone
    settle is: a cart at a moving pulley goes twice as far.
    """
    folder = Path(__file__).parent if name == "two-motions" else DEMO
    assert way_of(load_scenario(folder / f"{name}.yaml"), STANDARD) is None
    way = way_of(load_scenario(DEMO / "moving-pulley.yaml"), STANDARD)
    assert way is not None
    assert (way.distance.value, way.distance.u) == pytest.approx((0.8, 2 * 0.001 / sqrt(3)))


def test_a_mean_speed_with_uncertainty_gives_one_too(level: Scenario) -> None:
    """The mean of the squares is the square of the mean and the variance with n below."""
    known = {"value": f"{mean(SPEEDS)} m/s ± {stdev(SPEEDS) / sqrt(6)} m/s", "n": 6}
    summary = found(typed(final_speed=known), level).summary["acceleration_from_speed"]
    assert summary.value == pytest.approx(mean(v**2 for v in SPEEDS) / 1.2)
    assert summary.dof > 5


def test_an_excluded_trial_gives_no_acceleration_to_the_mean(level: Scenario) -> None:
    why = Excluded(trial="3", because="the cable dragged")
    analysis = found(typed(final_speed=speeds(1.31, 1.33, 0.90), excluded=[why]), level)
    both = analysis.summary["acceleration_from_speed"], analysis.summary_with_excluded
    assert (both[0].n, both[1]["acceleration_from_speed"].n) == (2, 3)


def test_the_interval_from_the_speeds_holds_the_truth_in_19_of_20(thorough: bool) -> None:
    """v = √(2ad) with a scatter of 0.5 %, and a distance off by its own uncertainty of 0.5 %."""
    count, truth = 2000 if thorough else 500, 1.5
    generator, inside = np.random.default_rng(7), 0
    for _ in range(count):
        distance = 0.600 * (1 + 0.005 * generator.standard_normal())
        start = Estimate(value=0.0, u=0.0)
        way = Way(distance=Estimate(value=distance, u=0.003), start=start)
        runs = sqrt(2 * truth * 0.600) * (1 + 0.005 * generator.standard_normal(10))
        each = {str(at): way.outcome(Outcome(value=v, u=None)) for at, v in enumerate(runs)}
        shared = way.shared(truth, Sensors())
        ends = summarise("acceleration_from_speed", each, shared).interval_95
        assert ends is not None
        inside += ends[0] <= truth <= ends[1]
    assert abs(inside / count - 0.95) < (0.015 if thorough else 0.03)


def test_the_mean_s_work_stands_against_each_trial_s_kinetic_energy(level: Scenario) -> None:
    """0.650 N × 0.600 m less friction, against ½ × 0.420 kg × v²."""
    measured = typed(tension={"value": "0.650 N", "n": 10}, final_speed=speeds(*SPEEDS))
    system = compared_systems(measured, level)["cart-alone"]
    assert system.means == ("mean_tension",)
    friction = 0.008 * 0.420 * 9.80665 * 0.600
    for trial, speed in zip(system.trials.values(), SPEEDS, strict=True):
        assert trial.measured.value == pytest.approx(0.650 * 0.600 - friction)
        assert trial.expected.value == pytest.approx(0.5 * 0.420 * speed**2)
        assert trial.verdict is Verdict.OPEN
    whole = compared_systems(measured, level)["all-moving"]
    assert (whole.means, whole.overall.verdict) != ((), Verdict.OPEN)
    assert all(trial.limit is not None for trial in whole.trials.values())


def compared_systems(measured: Measured, scenario: Scenario) -> dict[str, SystemComparison]:
    case = Case(scenario=scenario, gravity=STANDARD)
    result = compare_all(found(measured, scenario), {}, case)
    return dict(result.systems)


def test_the_work_of_a_known_mean_is_uncertain_by_its_part(level: Scenario) -> None:
    """u of the difference: 0.6 m × 0.002 N, the scatter of ½mv², and what distance and mass add."""
    known = {"value": "0.650 N ± 0.002 N", "n": 10}
    system = compared_systems(typed(tension=known, final_speed=speeds(*SPEEDS)), level)
    energies = [0.5 * 0.420 * v**2 for v in SPEEDS]
    pull = 0.650 - 0.008 * 0.420 * 9.80665
    mass = (0.5 * mean(v**2 for v in SPEEDS) + 0.008 * 9.80665 * 0.6) * 0.0001
    parts = (0.6 * 0.002, stdev(energies) / sqrt(6), pull * 0.003, mass)
    u = system["cart-alone"].overall.difference.u
    assert u == pytest.approx(sqrt(sum(part**2 for part in parts)), rel=1e-3)


UNKNOWN = [each for count in range(4) for each in combinations(KINDS, count)]


@pytest.mark.parametrize("unknown", UNKNOWN, ids=lambda each: "-".join(each) or "none")
def test_no_verdict_rests_on_an_unknown_uncertainty(
    level: Scenario, predicted: dict[str, Estimate], unknown: tuple[str, ...]
) -> None:
    """For every mixture: what changes with an unknown mean has no uncertainty, the rest has one."""
    values = {"acceleration": "1.470 m/s²", "tension": "0.650 N", "final_speed": "1.330 m/s"}
    sizes = {"acceleration": "0.006 m/s²", "tension": "0.002 N", "final_speed": "0.004 m/s"}
    words = {k: v if k in unknown else f"{v} ± {sizes[k]}" for k, v in values.items()}
    case = Case(scenario=level, gravity=STANDARD)
    analysis = found(typed(**{k: {"value": w, "n": 10} for k, w in words.items()}), level)
    result = compare_all(analysis, predicted, case)
    for key in KINDS:
        name, value = "mean_tension" if key == "tension" else key, float(values[key].split()[0])
        overall = result.quantities[name].overall
        assert overall.difference.value == pytest.approx(value - predicted[name].value)
        assert (overall.verdict is Verdict.OPEN, overall.limit is None) == (key in unknown,) * 2
    # A final speed of unknown uncertainty gives way to a judged acceleration over the distance.
    motion = {"acceleration", "final_speed"} <= set(unknown)
    verdicts = {name: each.overall.verdict is Verdict.OPEN for name, each in result.systems.items()}
    assert verdicts == {"cart-alone": motion or "tension" in unknown, "all-moving": motion}
    account = account_of_discrepancy(analysis, predicted, case)
    assert account.balance is not None
    assert (account.balance.bare["everything"].u is None) == motion
    assert (account.balance.bare["pulled"].u is None) == (motion or "tension" in unknown)
    assert (account.separation is None) == motion
