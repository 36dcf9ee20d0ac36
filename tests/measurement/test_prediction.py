"""Uncertain numbers, predictions with their uncertainty, and values that were typed in."""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from itertools import combinations
from math import sqrt
from pathlib import Path
from statistics import mean, stdev
from typing import Any

import pytest
from uncertainties import ufloat

from cases import cases
from fallwork.measurement import discrepancy, model
from fallwork.measurement.comparison import SystemComparison, compare_all
from fallwork.measurement.prediction import Case, predict, quantities_of, with_values
from fallwork.measurement.propagation import Input, linear
from fallwork.measurement.statistics import Verdict
from fallwork.measurement.typed import analysis_of, way_of
from fallwork.mechanics import Apparatus, solve
from fallwork.scenario import Excluded, GivenMean, Measured, Scenario, load_scenario
from fallwork.scenario.quantity import parse_quantity
from measurement.kit import EXACT, STANDARD, level_track

GRAVITY = model.Estimate(value=9.80665, u=0.0005)
UNSURE = {
    "cart": "420.0 g ± 2 g",
    "weight": "80.0 g ± 0.5 g",
    "friction": "0.008 ± 0.001",
    "distance": "0.600 m ± 2 mm",
}
KINDS = {"acceleration": "acceleration", "tension": "force", "final_speed": "speed"}
SPEEDS = (1.31, 1.33, 1.30, 1.32, 1.34, 1.32)  # m/s
DEMO = Path(__file__).parents[2] / "site-data/scenarios"
CASES = cases(__file__, "typed")
UNKNOWN = [each for count in range(4) for each in combinations(KINDS, count)]


def test_numbers_of_wheels_count_too_and_others_go_where_they_belong(level):
    scenario = level(cart="420.0 g ± 0.1 g, wheels: {count: 4, mass: 6 g ± 1 g}")
    assert {"cart.wheels.mass", "run.distance"} <= {path for path, _ in quantities_of(scenario)}
    changed = dict(quantities_of(with_values(scenario, {"cart.mass": 0.5, "gravity": 9.7})))
    before = dict(quantities_of(scenario))
    assert changed.pop("cart.mass").value == 0.5
    before.pop("cart.mass")
    assert changed == before


def test_what_drops_out_of_a_result_has_no_share_in_its_uncertainty():
    """x y / y rounds differently from y to y; its uncertainty is that of x alone."""
    inputs = [Input(name="x", value=0.3485, u=0.001), Input(name="y", value=0.72, u=0.0006)]
    for y in (0.734, 0.740, 0.755):
        given = [inputs[0], replace(inputs[1], value=y)]
        (one, two) = linear(lambda v: {"x": v["x"] * v["y"] / v["y"]}, given).budget("x")
        assert (one.input, two.u, two.share) == ("x", 0.0, 0.0)


def test_values_and_linear_uncertainties_agree_with_an_independent_library(level):
    m, w, mu = ufloat(0.420, 0.002), ufloat(0.080, 0.0005), ufloat(0.008, 0.001)
    d, g = ufloat(0.600, 0.002), ufloat(9.80665, 0.0005)
    a = (w - mu * m) * g / (m + w)
    tension = w * (g - a)
    found = predict(level(**UNSURE), GRAVITY, seed=1).quantities
    # By hand: ∂a/∂µ = −m g/M = −8.2376 m/s², times 0.001; ∂a/∂w = (g − a)/M, times 0.0005.
    budget = found["acceleration"].budget
    assert [each.input for each in budget[:2]] == ["weight.mass", "track.friction"]
    assert budget[1].u == pytest.approx(0.001 * 0.420 * 9.80665 / 0.5, rel=1e-6)
    assert budget[0].u == pytest.approx(0.0005 * (9.80665 - 1.503163312) / 0.5, rel=1e-6)
    assert sum(entry.share for entry in budget) == pytest.approx(1.0)
    for name, value in {
        "acceleration": a,
        "mean_tension": tension,
        "final_speed": (2 * a * d) ** 0.5,
        "travel_time": (2 * d / a) ** 0.5,
        "work_of_tension": tension * d,
        "coasting_acceleration": -mu * g,
    }.items():
        assert found[name].linear.value == pytest.approx(value.nominal_value, rel=1e-9)
        assert found[name].linear.u == pytest.approx(value.std_dev, rel=1e-5)
        assert not found[name].drawn  # the model is nearly linear
    # What each given does to them has its sign too: a heavier cart makes a smaller, T larger.
    changes = Case(scenario=level(**UNSURE), gravity=GRAVITY).propagated(driven)
    for name, value in {"acceleration": a, "tension": tension}.items():
        signed = [value.derivatives.get(each, 0.0) * each.std_dev for each in (m, w, mu, d, g)]
        assert changes.changes(name) == pytest.approx(signed, rel=1e-5)


def driven(apparatus: Apparatus) -> dict[str, float]:
    phase = solve(apparatus).phases[0]
    (tension, *_) = phase.segment_tensions["string"]
    return {"acceleration": phase.accelerations["cart"], "tension": tension or 0.0}


def test_a_flat_distribution_is_shown_from_monte_carlo(level):
    """95 % of 0.600 m ± 1 mm limits: ± 0.95 mm, where the linear interval would have 1.13 mm."""
    distance = predict(level(), GRAVITY, seed=1).quantities["distance"]
    assert distance.drawn
    assert distance.estimate.interval_95 == pytest.approx((0.59905, 0.60095), abs=1e-5)
    assert distance.linear.interval_95[1] == pytest.approx(0.6 + 1.96 * 0.001 / sqrt(3), abs=1e-6)


def test_friction_that_may_be_none_or_may_hold_bends_the_model(level):
    # µ = 0.0005 ± 0.002: what would be less than no friction counts as none, so that the
    # acceleration can't exceed that without friction; the linear interval reaches beyond it.
    found = predict(level(**EXACT, friction="0.0005 ± 0.002"), STANDARD, seed=1)
    acceleration, highest = found.quantities["acceleration"], 0.080 * 9.80665 / 0.5
    assert acceleration.linear.interval_95[1] > highest
    assert acceleration.drawn.ends[1] == pytest.approx(highest)
    # µ m = 0.1788 × 0.42 kg = 0.0751 kg against 0.0800 kg: 0.19048 just holds it. With u 0.01 the
    # share beyond is that of 1.168 standard deviations, 0.1214.
    found = predict(level(**EXACT, friction="0.1788 ± 0.01"), STANDARD, seed=1)
    drawn = found.quantities["travel_time"].drawn
    assert drawn
    assert drawn.undefined == pytest.approx(0.1214, abs=0.003)
    found = predict(level(**EXACT), STANDARD, seed=1)  # nothing uncertain, nothing drawn
    acceleration = found.quantities["acceleration"]
    assert (found.draws, acceleration.estimate.u, acceleration.budget) == (0, 0.0, ())


def test_what_stays_at_rest_has_no_run_and_the_same_seed_gives_the_same_numbers(level):
    found = predict(level(friction="0.3", weight="80.0 g ± 0.1 g"), GRAVITY, seed=1).quantities
    assert set(found) == {"acceleration", "mean_tension"}
    assert found["mean_tension"].linear.value == pytest.approx(0.080 * 9.80665)
    assert found["mean_tension"].linear.u == pytest.approx(0.0001 * 9.80665, rel=1e-3)
    pulley = "{kind: pulley, inertia: 6.25e-6 kg m² ± 6.25e-7 kg m², radius: 25 mm}"
    one, same, other = (predict(level(pulley=pulley), GRAVITY, seed=seed) for seed in (5, 5, 6))
    found = one.quantities["acceleration"]
    assert one == same
    assert found.simulated != other.quantities["acceleration"].simulated


# ---- typed in
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
def tolerant(tmp_path_factory) -> Scenario:
    """The usual set-up with a distance of 0.600 m ± 3 mm."""
    return level_track(tmp_path_factory.mktemp("typed"), distance="0.600 m ± 3 mm")


@pytest.fixture(scope="module")
def predicted(tolerant) -> dict[str, model.Estimate]:
    return predict(tolerant, STANDARD, seed=1).estimates


def found(measured: Measured, scenario: Scenario) -> model.Analysis:
    return analysis_of(measured, scenario, STANDARD)


def compared_systems(measured: Measured, scenario: Scenario) -> Mapping[str, SystemComparison]:
    case = Case(scenario=scenario, gravity=STANDARD)
    return compare_all(found(measured, scenario), {}, case).systems


@pytest.mark.parametrize("name", CASES)
def test_what_is_made_of_typed_values(tolerant, name):
    case = CASES[name]
    analysis = found(typed(**{key: case[key] for key in KINDS.keys() & case.keys()}), tolerant)
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


def test_final_speeds_give_an_acceleration_of_their_own_whatever_a_spreadsheet_dropped(tolerant):
    # v²/2d, scatter and u(d) put together by hand and by the package ``uncertainties``.
    measured = typed(acceleration={"value": "1.47 m/s²", "n": 6}, final_speed=speeds(*SPEEDS))
    summary = found(measured, tolerant).summary["acceleration_from_speed"]
    squares = [speed**2 for speed in SPEEDS]
    square = ufloat(mean(squares), stdev(squares) / sqrt(len(squares)))
    expected = square / (2 * ufloat(0.600, 0.003))
    assert summary.value == pytest.approx(expected.nominal_value)
    assert summary.u == pytest.approx(expected.std_dev, rel=1e-9)
    assert list(summary.effects) == ["distance of the run"]
    # 1.3 among values with two places is 1.30: the last place is that of the others.
    every = [["1.31 m/s", zero, "1.33 m/s", "1.35 m/s"] for zero in ("1.3 m/s", "1.30 m/s")]
    dropped, written = (found(typed(final_speed=each), tolerant).summary for each in every)
    assert dropped == written


def test_means_are_excluded_and_included_by_the_names_of_their_keys(tolerant):
    """A message dictates these names; 0.10 N can't be: 0.420 kg needs about 0.6 N at 1.5 m/s²."""
    values = {"acceleration": "1.47 m/s²", "tension": "0.10 N"}
    why = Excluded(trial="acceleration", because="another bench")
    excluded = found(typed(**values, excluded=[why]), tolerant)
    assert (excluded.left_out, list(excluded.summary)) == ({"mean acceleration": why.because}, [])
    named = Excluded(trial="tension", because="the sensor sat behind a lever")
    analysis = found(typed(**values, included=[named]), tolerant)
    assert (list(analysis.summary), analysis.set_aside) == (["acceleration", "mean_tension"], {})
    (said,) = analysis.exceptions
    assert said.startswith("mean tension counts, though: a tension of 0.100 N can't be")
    assert said.endswith("Reason: the sensor sat behind a lever")


def test_of_final_speeds_the_speed_at_the_start_and_excluded_trials_count(tolerant):
    # push-towards: the cart has 0.40 m/s ± 0.01 m/s, and goes 0.700 m: (v² − 0.16)/1.4.
    scenario, given = load_scenario(DEMO / "push-towards.yaml"), (1.10, 1.12, 1.11)
    summary = found(typed(final_speed=speeds(*given)), scenario).summary["acceleration_from_speed"]
    assert summary.value == pytest.approx(mean((v**2 - 0.16) / 1.4 for v in given))
    assert summary.effects["speed at the start"] == pytest.approx(0.40 * 0.01 / 0.700)
    why = Excluded(trial="3", because="the cable dragged")
    analysis = found(typed(final_speed=speeds(1.31, 1.33, 0.90), excluded=[why]), tolerant)
    both = analysis.summary["acceleration_from_speed"], analysis.summary_with_excluded
    assert (both[0].n, both[1]["acceleration_from_speed"].n) == (2, 3)
    # The mean of the squares is the square of the mean and the variance with n below.
    known = {"value": f"{mean(SPEEDS)} m/s ± {stdev(SPEEDS) / sqrt(6)} m/s", "n": 6}
    summary = found(typed(final_speed=known), tolerant).summary["acceleration_from_speed"]
    assert summary.value == pytest.approx(mean(v**2 for v in SPEEDS) / 1.2)
    assert summary.dof > 5


@pytest.mark.parametrize("name", ["incline-held", "push-away", "two-motions"])
def test_no_single_stretch_of_given_length_no_acceleration_from_speeds(name):
    """A distance that goes with the masses is a result; one that strings settle is used."""
    folder = Path(__file__).parent if name == "two-motions" else DEMO
    assert way_of(load_scenario(folder / f"{name}.yaml"), STANDARD) is None
    way = way_of(load_scenario(DEMO / "moving-pulley.yaml"), STANDARD)
    assert (way.distance.value, way.distance.u) == pytest.approx((0.8, 2 * 0.001 / sqrt(3)))


def test_the_work_of_a_known_mean_is_uncertain_by_its_part(tolerant):
    """u of the difference: 0.6 m × 0.002 N, the scatter of ½mv², and what distance and mass add."""
    known = {"value": "0.650 N ± 0.002 N", "n": 10}
    system = compared_systems(typed(tension=known, final_speed=speeds(*SPEEDS)), tolerant)
    energies = [0.5 * 0.420 * v**2 for v in SPEEDS]
    pull = 0.650 - 0.008 * 0.420 * 9.80665
    mass = (0.5 * mean(v**2 for v in SPEEDS) + 0.008 * 9.80665 * 0.6) * 0.0001
    parts = (0.6 * 0.002, stdev(energies) / sqrt(6), pull * 0.003, mass)
    u = system["cart-alone"].overall.u
    assert u == pytest.approx(sqrt(sum(part**2 for part in parts)), rel=1e-3)


@pytest.mark.parametrize("unknown", UNKNOWN, ids=lambda each: "-".join(each) or "none")
def test_no_verdict_rests_on_an_unknown_uncertainty(tolerant, predicted, unknown):
    """For every mixture: what changes with an unknown mean has no uncertainty, the rest has one."""
    values = {"acceleration": "1.470 m/s²", "tension": "0.650 N", "final_speed": "1.330 m/s"}
    sizes = {"acceleration": "0.006 m/s²", "tension": "0.002 N", "final_speed": "0.004 m/s"}
    words = {k: v if k in unknown else f"{v} ± {sizes[k]}" for k, v in values.items()}
    case = Case(scenario=tolerant, gravity=STANDARD)
    analysis = found(typed(**{k: {"value": w, "n": 10} for k, w in words.items()}), tolerant)
    result = compare_all(analysis, predicted, case)
    for key in KINDS:
        name, value = "mean_tension" if key == "tension" else key, float(values[key].split()[0])
        overall = result.quantities[name].overall
        assert overall.value == pytest.approx(value - predicted[name].value)
        assert (overall.verdict is Verdict.OPEN, overall.limit is None) == (key in unknown,) * 2
    # A final speed of unknown uncertainty gives way to a judged acceleration over the distance.
    motion = {"acceleration", "final_speed"} <= set(unknown)
    verdicts = {name: each.overall.verdict is Verdict.OPEN for name, each in result.systems.items()}
    assert verdicts == {"cart-alone": motion or "tension" in unknown, "all-moving": motion}
    account = discrepancy.account_of_discrepancy(analysis, predicted, case)
    assert (account.balance.bare["everything"].u is None) == motion
    assert (account.balance.bare["pulled"].u is None) == (motion or "tension" in unknown)
    assert (account.separation is None) == motion
