"""The measurement stage on set-ups of every shape, each a file in ``set-ups``."""

from pathlib import Path

import pytest

from fallwork.measurement.comparison import compare_all
from fallwork.measurement.discrepancy import account_of_discrepancy
from fallwork.measurement.model import Estimate
from fallwork.measurement.prediction import Case, View, predict, view_of
from fallwork.measurement.statistics import Verdict
from fallwork.mechanics import apparatus_of, solve
from fallwork.scenario import Scenario, load_scenario
from measurement.kit import STANDARD, trials_of, truth_of

FILES = sorted((Path(__file__).parent / "set-ups").glob("*.yaml"))
WATCHED = {"incline-up": "block", "moving-pulley": "cart", "rolling-start": "cart"}
WATCHED |= {"train": "front", "two-weights": "right"}


@pytest.fixture(params=FILES, ids=lambda file: file.stem)
def scenario(request: pytest.FixtureRequest) -> Scenario:
    return load_scenario(request.param)


def test_sensors_look_at_what_a_lab_would_watch(scenario: Scenario) -> None:
    watched = WATCHED[scenario.id]
    assert view_of(scenario) == View(moving=watched, string="string", pulled=watched)


def test_a_perfect_measurement_closes_every_account_and_a_wrong_speed_opens_it(
    scenario: Scenario,
) -> None:
    """External work equals change of energy with measured values in place of predicted ones."""
    case = Case(scenario=scenario, gravity=STANDARD)
    right, wrong = (
        compare_all(trials_of(scenario, noise=0.0, off={"final_speed": off}), {}, case)
        for off in (0.0, 0.05)
    )
    assert (right.missing, len(right.systems)) == ({}, 2)
    for system in right.systems.values():
        assert system.overall.value == pytest.approx(0.0, abs=1e-12)
        assert system.overall.verdict is Verdict.AGREE
    assert all(each.overall.value < -1e-3 for each in wrong.systems.values())  # more energy


def test_linear_propagation_is_the_solvers_and_the_batch_says_the_same(scenario: Scenario) -> None:
    solved = view_of(scenario).measurands(solve(apparatus_of(scenario, STANDARD.value)))
    found = predict(scenario, STANDARD, seed=1).quantities
    assert {name: each.linear.value for name, each in found.items()} == pytest.approx(solved)
    pairs = [(each.simulated, each.linear) for each in found.values() if each.simulated]
    assert len(pairs) >= 6
    for centre, linear in pairs:
        assert centre.value == pytest.approx(linear.value, abs=0.3 * centre.u)
        assert centre.u == pytest.approx(linear.u, rel=0.05)


def test_the_truth_is_recovered_by_the_account_of_the_discrepancy(scenario: Scenario) -> None:
    """Nothing hidden in the truth: nothing is missing beside the model, and nothing is blamed."""
    truth = truth_of(scenario)
    expected = {name: Estimate(value=value, u=0.0) for name, value in truth.items()}
    case = Case(scenario=scenario, gravity=STANDARD)
    found = account_of_discrepancy(trials_of(scenario, noise=0.0), expected, case)
    assert found.balance is not None
    assert found.balance.beside["everything"].value == pytest.approx(0.0, abs=1e-12)
    assert found.leading == ()
    assert not any(each.verdict is Verdict.DIFFER for each in found.impossible.values())
