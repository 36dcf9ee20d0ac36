"""The uncertain numbers of a scenario, and predictions with their uncertainty, against closed
formulas and an independent library.
"""

from collections.abc import Callable
from dataclasses import replace
from math import inf, sqrt

import pytest
from uncertainties import ufloat

from fallwork.measurement.model import Estimate
from fallwork.measurement.prediction import Case, predict, quantities_of, with_values
from fallwork.measurement.propagation import Input, linear
from fallwork.scenario import Scenario
from measurement.kit import EXACT, STANDARD

Level = Callable[..., Scenario]
GRAVITY = Estimate(value=9.80665, u=0.0005)
UNSURE = {
    "cart": "420.0 g ± 2 g",
    "weight": "80.0 g ± 0.5 g",
    "friction": "0.008 ± 0.001",
    "distance": "0.600 m ± 2 mm",
}


def test_every_number_with_an_uncertainty_is_an_input(level: Level) -> None:
    """Limits are rectangular: 1 mm is 1/√3 mm. What can't be negative has 0 as its lowest."""
    scenario = level(slope="0 deg ± 0.05 deg", friction="0.008 ± 0.002")
    found = Case(scenario=scenario, gravity=Estimate(value=9.8, u=0.001)).inputs
    names = ["cart.mass", "weight.mass", "track.slope", "track.friction", "run.distance", "gravity"]
    assert [each.name for each in found] == names
    assert [each.name for each in found if each.rectangular] == ["run.distance"]
    assert [each.lowest for each in found] == [0.0, 0.0, -inf, 0.0, 0.0, 0.0]
    assert found[4].u == pytest.approx(0.001 / sqrt(3))


def test_other_values_go_where_they_belong_by_the_paths_of_the_file_and_nowhere_else(
    level: Level,
) -> None:
    scenario = level(cart="420.0 g ± 0.1 g, wheels: {count: 4, mass: 6 g ± 1 g}")
    assert {"cart.wheels.mass", "run.distance"} <= {path for path, _ in quantities_of(scenario)}
    changed = dict(quantities_of(with_values(scenario, {"cart.mass": 0.5, "gravity": 9.7})))
    before = dict(quantities_of(scenario))
    assert changed.pop("cart.mass").value == 0.5
    before.pop("cart.mass")
    assert changed == before


def test_what_drops_out_of_a_result_has_no_share_in_its_uncertainty() -> None:
    """x y / y rounds differently from y to y; its uncertainty is that of x alone."""
    inputs = [Input(name="x", value=0.3485, u=0.001), Input(name="y", value=0.72, u=0.0006)]
    for y in (0.734, 0.740, 0.755):
        given = [inputs[0], replace(inputs[1], value=y)]
        (one, two) = linear(lambda v: {"x": v["x"] * v["y"] / v["y"]}, given).budget("x")
        assert (one.input, two.u, two.share) == ("x", 0.0, 0.0)


def test_values_and_linear_uncertainties_agree_with_an_independent_library(level: Level) -> None:
    m, w, mu = ufloat(0.420, 0.002), ufloat(0.080, 0.0005), ufloat(0.008, 0.001)
    d, g = ufloat(0.600, 0.002), ufloat(9.80665, 0.0005)
    a = (w - mu * m) * g / (m + w)
    tension = w * (g - a)
    found = predict(level(**UNSURE), GRAVITY, seed=1).quantities
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


def test_the_budget_says_which_measurement_to_improve(level: Level) -> None:
    """By hand: ∂a/∂µ = −m g/M = −8.2376 m/s², times 0.001; ∂a/∂w = (g − a)/M, times 0.0005."""
    acceleration = predict(level(**UNSURE), GRAVITY, seed=1).quantities["acceleration"]
    first, second = acceleration.budget[:2]
    assert (first.input, second.input) == ("weight.mass", "track.friction")
    assert second.sensitivity == pytest.approx(-0.420 * 9.80665 / 0.5, rel=1e-6)
    assert first.u == pytest.approx(0.0005 * (9.80665 - 1.503163312) / 0.5, rel=1e-6)
    assert sum(entry.share for entry in acceleration.budget) == pytest.approx(1.0)


def test_a_flat_distribution_is_shown_from_monte_carlo(level: Level) -> None:
    """95 % of 0.600 m ± 1 mm limits: ± 0.95 mm, where the linear interval would have 1.13 mm."""
    distance = predict(level(), GRAVITY, seed=1).quantities["distance"]
    assert distance.drawn
    assert distance.estimate.interval_95 == pytest.approx((0.59905, 0.60095), abs=1e-5)
    assert distance.linear.interval_95[1] == pytest.approx(0.6 + 1.96 * 0.001 / sqrt(3), abs=1e-6)


def test_friction_that_may_be_none_bends_the_model(level: Level) -> None:
    """µ = 0.0005 ± 0.002: what would be less than no friction counts as none, so that the
    acceleration can't exceed that without friction; the linear interval reaches beyond it.
    """
    found = predict(level(**EXACT, friction="0.0005 ± 0.002"), STANDARD, seed=1)
    acceleration, highest = found.quantities["acceleration"], 0.080 * 9.80665 / 0.5
    assert acceleration.linear.interval_95[1] > highest
    assert acceleration.drawn.ends[1] == pytest.approx(highest)


def test_draws_that_do_not_move_are_counted_and_none_is_made_of_exact_givens(level: Level) -> None:
    """µ m = 0.1788 × 0.42 kg = 0.0751 kg against 0.0800 kg: 0.19048 just holds it. With u 0.01 the
    share beyond is that of 1.168 standard deviations, 0.1214.
    """
    found = predict(level(**EXACT, friction="0.1788 ± 0.01"), STANDARD, seed=1)
    drawn = found.quantities["travel_time"].drawn
    assert drawn
    assert drawn.undefined == pytest.approx(0.1214, abs=0.003)
    found = predict(level(**EXACT), STANDARD, seed=1)  # nothing uncertain, nothing drawn
    acceleration = found.quantities["acceleration"]
    assert (found.draws, acceleration.estimate.u, acceleration.budget) == (0, 0.0, ())


def test_what_stays_at_rest_has_a_tension_and_no_run(level: Level) -> None:
    found = predict(level(friction="0.3", weight="80.0 g ± 0.1 g"), GRAVITY, seed=1).quantities
    assert set(found) == {"acceleration", "mean_tension"}
    assert found["mean_tension"].linear.value == pytest.approx(0.080 * 9.80665)
    assert found["mean_tension"].linear.u == pytest.approx(0.0001 * 9.80665, rel=1e-3)


def test_the_same_seed_gives_the_same_numbers(level: Level) -> None:
    """A pulley with inertia has its share, by hand: I/r² = 0.010 kg ± 10 % in M = 0.510 kg changes
    a by a 0.001/0.51.
    """
    pulley = "{kind: pulley, inertia: 6.25e-6 kg m² ± 6.25e-7 kg m², radius: 25 mm}"
    one, same, other = (predict(level(pulley=pulley), GRAVITY, seed=seed) for seed in (5, 5, 6))
    found = one.quantities["acceleration"]
    assert one == same
    assert found.simulated != other.quantities["acceleration"].simulated
    (entry,) = [each for each in found.budget if each.input == "pulley.inertia"]
    assert entry.u == pytest.approx(found.linear.value * 0.001 / 0.51, rel=1e-4)
    assert found.simulated is not None
    assert found.simulated.agrees_with(found.linear)
