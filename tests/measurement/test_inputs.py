"""The uncertain numbers of a scenario and the scenario with others."""

from collections.abc import Callable

import numpy as np
import pytest

from fallwork.measurement.inputs import inputs_of, quantities_of, with_values
from fallwork.measurement.model import Estimate
from fallwork.measurement.propagation import Distribution
from fallwork.scenario import Scenario

Level = Callable[..., Scenario]


def test_every_number_with_an_uncertainty_is_an_input(level: Level) -> None:
    scenario = level(slope="0 deg ± 0.05 deg", friction="0.008 ± 0.002")
    found = inputs_of(scenario, Estimate(value=9.8, u=0.001))
    assert [(each.name, each.distribution.value) for each in found] == [
        ("cart.mass", "normal"),
        ("weight.mass", "normal"),
        ("track.slope", "normal"),
        ("track.friction", "normal"),
        ("run.distance", "rectangular"),
        ("gravity", "normal"),
    ]


def test_limits_are_rectangular_and_keep_their_standard_uncertainty(level: Level) -> None:
    (distance,) = [e for e in inputs_of(level(), Estimate(value=9.8, u=0)) if "run" in e.name]
    assert distance.distribution is Distribution.RECTANGULAR
    assert distance.u == pytest.approx(0.001 / 3**0.5)


def test_what_cannot_be_negative_has_zero_as_its_lowest(level: Level) -> None:
    scenario = level(slope="0 deg ± 0.05 deg", friction="0.001 ± 0.002")
    lowest = {each.name: each.lowest for each in inputs_of(scenario, Estimate(value=9.8, u=0))}
    assert (lowest["track.friction"], lowest["track.slope"]) == (0.0, -np.inf)


def test_numbers_are_known_by_the_paths_of_the_file(level: Level) -> None:
    wheels = "420.0 g ± 0.1 g, wheels: {count: 4, mass: 6 g ± 1 g}"
    paths = [path for path, _ in quantities_of(level(cart=wheels))]
    assert "cart.wheels.mass" in paths
    assert "run.distance" in paths


def test_other_values_go_where_they_belong_and_nowhere_else(level: Level) -> None:
    scenario = level()
    changed = dict(quantities_of(with_values(scenario, {"cart.mass": 0.5, "gravity": 9.7})))
    before = dict(quantities_of(scenario))
    assert changed.pop("cart.mass").value == 0.5
    before.pop("cart.mass")
    assert changed == before
