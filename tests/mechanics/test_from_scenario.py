"""From a scenario file to the apparatus that is solved."""

from pathlib import Path

import numpy as np
import pytest

from fallwork.measurement.prediction import with_values
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


def read(folder: Path, **given: str) -> Scenario:
    file = folder / "test.yaml"
    file.write_text(SET_UP.format(**{**dict.fromkeys(PARTS, ""), **given}), "utf-8")
    return load_scenario(file)


def test_a_whole_scenario(tmp_path: Path) -> None:
    more = "hook: {kind: anchor}\n  lower: {kind: moving pulley}\n"
    more += "  load: {kind: hanging, mass: 0.2 kg, hangs_from: lower}"
    line, wheels = ", line: [weight, lower, hook]", ", wheels: {count: 4, mass: 6 g}"
    cart = {"name": "cart", "kind": "cart", "mass": 0.42, "surface": "track", "starts_at": 0.25}
    load = Body(name="load", kind="hanging", mass=0.2, hangs_from="lower")
    found = Apparatus.of(read(tmp_path, more=more, strings=line, cart=wheels), 9.81)
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


STATIC, SLIPPERY = ", static_friction: 0.1", ", friction: 0.2, static_friction: 0.3"


@pytest.mark.parametrize(
    ("cart", "track", "pulley", "expected"),  # friction, static friction; inertia of the pulley
    [
        ("", "", "", (0.008, None, 0.0)),
        ("", STATIC, "", (0.008, 0.1, 0.0)),
        # that of the object before that of the surface
        (", static_friction: 0.3", STATIC, "", (0.008, 0.3, 0.0)),
        (", friction: 0.05", "", "", (0.05, None, 0.0)),
        (", friction: 0.05", STATIC, "", (0.05, 0.1, 0.0)),
        (SLIPPERY, STATIC, "", (0.2, 0.3, 0.0)),
        # a uniform disc
        ("", "", ", mass: 0.05 kg, radius: 0.03 m", (0.008, None, 0.05 * 0.03**2 / 2)),
        ("", "", ", radius: 0.03 m, inertia: 1e-5 kg m²", (0.008, None, 1e-5)),
    ],
)
def test_friction_and_inertia(
    cart: str, track: str, pulley: str, expected: tuple[float | None, ...], tmp_path: Path
) -> None:
    found = Apparatus.of(read(tmp_path, cart=cart, track=track, pulley=pulley), 9.81)
    body, wheel = found.bodies["cart"], found.pulleys["pulley"]
    assert (body.friction, body.static_friction, wheel.inertia) == expected


def test_values_may_be_arrays_of_many_cases(tmp_path: Path) -> None:
    given = {"cart": ", friction: 0.1", "track": ", static_friction: 0.15"}
    scenario = read(tmp_path, pulley=", radius: 2 cm, bearing_torque: 1 mN m", **given)
    many = np.array([0.1, 0.2])
    values = {"cart.friction": many, "pulley.bearing_torque": many / 100}
    found = Apparatus.of(with_values(scenario, values), 9.81)
    assert list(found.pulleys["pulley"].bearing_torque) == [0.001, 0.002]
    assert list(found.bodies["cart"].static_friction) == [0.15, 0.2]
