"""From a scenario file to the apparatus that is solved."""

from pathlib import Path

import numpy as np
import pytest

from fallwork.measurement.inputs import with_values
from fallwork.mechanics.apparatus import Apparatus, Body, Pulley, Run, String, Surface
from fallwork.scenario import Scenario, load_scenario

SET_UP = """\
title: Test
objects:
  cart: {{kind: cart, mass: 0.42 kg, runs_on: track, starts_at: 0.25 m{cart}}}
  weight: {{kind: hanging, mass: 0.08 kg}}
  pulley: {{kind: pulley{pulley}}}
  {more}
surfaces: {{track: {{slope: 0.1 rad, friction: 0.008{track}}}}}
strings: {{string: [cart, pulley, weight]{strings}}}
run: {{start: -0.3 m/s, object: weight, distance: 0.6 m}}
"""
PARTS = ("cart", "pulley", "more", "track", "strings")


@pytest.fixture
def file(tmp_path: Path) -> Path:
    return tmp_path / "test.yaml"


def read(file: Path, **given: str) -> Scenario:
    file.write_text(SET_UP.format(**{**dict.fromkeys(PARTS, ""), **given}), "utf-8")
    return load_scenario(file)


def test_a_whole_scenario(file: Path) -> None:
    more = "hook: {kind: anchor}\n  lower: {kind: moving pulley}\n"
    more += "  load: {kind: hanging, mass: 0.2 kg, hangs_from: lower}"
    line = ", line: [weight, lower, hook]"
    cart = {"name": "cart", "kind": "cart", "mass": 0.42, "surface": "track", "starts_at": 0.25}
    load = Body(name="load", kind="hanging", mass=0.2, hangs_from="lower")
    wheels = ", wheels: {count: 4, mass: 6 g}"
    found = Apparatus.of(read(file, more=more, strings=line, cart=wheels), 9.81)
    assert vars(found) == {
        "bodies": {
            "cart": Body(**cart, friction=0.008, wheel_mass=pytest.approx(0.024)),
            "weight": Body(name="weight", kind="hanging", mass=0.08),
            "load": load,
        },
        "pulleys": {"pulley": Pulley(name="pulley"), "lower": Pulley(name="lower", moving=True)},
        "anchors": ("hook",),
        "surfaces": {"track": Surface(name="track", slope=0.1)},
        "strings": {
            "string": String(name="string", path=("cart", "pulley", "weight")),
            "line": String(name="line", path=("weight", "lower", "hook")),
        },
        "run": Run(object="weight", distance=0.6, speed=-0.3),
        "gravity": 9.81,
    }


@pytest.mark.parametrize(
    ("cart", "track", "expected"),
    [
        ("", "", (0.008, None)),
        ("", ", static_friction: 0.1", (0.008, 0.1)),
        (", static_friction: 0.3", ", static_friction: 0.1", (0.008, 0.3)),
        (", friction: 0.05", "", (0.05, None)),
        (", friction: 0.05", ", static_friction: 0.1", (0.05, 0.1)),
        (", friction: 0.2, static_friction: 0.3", ", static_friction: 0.1", (0.2, 0.3)),
    ],
)
def test_friction_of_the_object_before_that_of_the_surface(
    file: Path, cart: str, track: str, expected: tuple[float, float | None]
) -> None:
    body = Apparatus.of(read(file, cart=cart, track=track), 9.81).bodies["cart"]
    assert (body.friction, body.static_friction) == expected


@pytest.mark.parametrize(
    ("given", "expected"),
    [
        (", mass: 0.05 kg, radius: 0.03 m", (0.05, 0.03, 0.05 * 0.03**2 / 2)),  # a uniform disc
        (", radius: 0.03 m, inertia: 1e-5 kg m²", (0.0, 0.03, 1e-5)),
    ],
)
def test_a_disc_of_known_mass_and_radius_has_an_inertia(
    file: Path, given: str, expected: tuple[float, float, float]
) -> None:
    found = Apparatus.of(read(file, pulley=given), 9.81).pulleys["pulley"]
    assert (found.mass, found.radius, found.inertia) == expected


def test_values_may_be_arrays_of_many_cases(file: Path) -> None:
    given = {"cart": ", friction: 0.1", "track": ", static_friction: 0.15"}
    scenario = read(file, pulley=", radius: 2 cm, bearing_torque: 1 mN m", **given)
    many = np.array([0.1, 0.2])
    values = {"cart.friction": many, "pulley.bearing_torque": many / 100}
    found = Apparatus.of(with_values(scenario, values), 9.81)
    assert list(found.pulleys["pulley"].bearing_torque) == [0.001, 0.002]
    assert list(found.bodies["cart"].static_friction) == [0.15, 0.2]
