"""From a validated scenario to the apparatus that is solved."""

from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from fallwork.mechanics import apparatus_of
from fallwork.mechanics.apparatus import Apparatus, Body, Pulley, Run, String, Surface
from fallwork.scenario import Quantity, model


def quantity(value: Any) -> Quantity | None:
    """A value, or an array of many cases; None stays."""
    if value is None:
        return None
    return Quantity(kind="any", value=value, number=str(value), unit="")


def given(make: Any, **values: Any) -> Any:
    """Something of a scenario with numbers as quantities."""
    numbers = (float, np.ndarray)
    return make(**{k: quantity(v) if isinstance(v, numbers) else v for k, v in values.items()})


CART = given(model.Slider, name="cart", kind="cart", mass=0.42, runs_on="track", starts_at=0.25)
WEIGHT = given(model.Hanging, name="weight", mass=0.08)
TRACK = given(model.Surface, name="track", slope=0.1, friction=0.008)


def made(
    *objects: model.Object, track: model.Surface = TRACK, first: str = "cart", last: str = "weight"
) -> Apparatus:
    everything = (CART, WEIGHT, model.Pulley(name="pulley"), *objects)
    scenario = model.Scenario(
        id="test",
        title="Test",
        objects={thing.name: thing for thing in everything},
        surfaces={"track": track},
        strings={"string": model.String(name="string", path=(first, "pulley", last))},
        run=given(model.Run, object="weight", distance=0.6, speed=-0.3),
        systems=(),
    )
    return apparatus_of(scenario, 9.81)


def test_a_whole_scenario() -> None:
    found = made(model.Anchor(name="hook"))
    cart = Body(
        name="cart", kind="cart", mass=0.42, surface="track", starts_at=0.25, friction=0.008
    )
    assert vars(found) == {
        "bodies": {"cart": cart, "weight": Body(name="weight", kind="hanging", mass=0.08)},
        "pulleys": {"pulley": Pulley(name="pulley")},
        "anchors": ("hook",),
        "surfaces": {"track": Surface(name="track", slope=0.1)},
        "strings": {"string": String(name="string", path=("cart", "pulley", "weight"))},
        "run": Run(object="weight", distance=0.6, speed=-0.3),
        "gravity": 9.81,
    }


@pytest.mark.parametrize(
    ("own", "own_static", "surface_static", "expected"),
    [
        (None, None, None, (0.008, None)),
        (None, None, 0.1, (0.008, 0.1)),
        (None, 0.3, 0.1, (0.008, 0.3)),
        (0.05, None, None, (0.05, None)),
        (0.05, None, 0.1, (0.05, 0.1)),
        (0.2, None, 0.1, (0.2, 0.2)),
        (0.2, 0.3, 0.1, (0.2, 0.3)),
    ],
)
def test_friction_of_the_object_before_that_of_the_surface(
    own: float | None,
    own_static: float | None,
    surface_static: float | None,
    expected: tuple[float, float | None],
) -> None:
    cart = replace(CART, friction=quantity(own), static_friction=quantity(own_static))
    track = replace(TRACK, static_friction=quantity(surface_static))
    body = made(cart, track=track).bodies["cart"]
    assert (body.friction, body.static_friction) == expected


@pytest.mark.parametrize(
    ("mass", "radius", "inertia", "expected"),
    [
        (0.05, None, None, 0.0),
        (0.05, 0.03, None, 0.05 * 0.03**2 / 2),  # a uniform disc
        (0.05, 0.03, 1e-5, 1e-5),
        (None, 0.03, 1e-5, 1e-5),
    ],
)
def test_a_disc_of_known_mass_and_radius_has_an_inertia(
    mass: float | None, radius: float | None, inertia: float | None, expected: float
) -> None:
    pulley = given(model.Pulley, name="pulley", mass=mass, radius=radius, inertia=inertia)
    found = made(pulley).pulleys["pulley"]
    assert (found.mass, found.radius, found.inertia) == (mass or 0.0, radius, expected)


def test_wheels_count_together_and_a_load_hangs_from_a_moving_pulley() -> None:
    load = given(model.Hanging, name="load", mass=0.2, hangs_from="lower")
    cart = replace(CART, wheels=given(model.Wheels, count=4, mass=0.006))
    found = made(cart, model.Pulley(name="lower", moving=True), load, first="weight", last="lower")
    assert found.bodies["cart"].wheel_mass == pytest.approx(0.024)
    assert found.pulleys["lower"].moving
    assert found.bodies["load"].hangs_from == "lower"


def test_values_may_be_arrays_of_many_cases() -> None:
    many = np.array([0.001, 0.002])
    rough = given(model.Surface, name="track", slope=0.0, friction=0.1, static_friction=0.15)
    block = replace(CART, kind="block", friction=quantity(many * 100))
    found = made(
        block, given(model.Pulley, name="pulley", radius=0.02, bearing_torque=many), track=rough
    )
    assert list(found.pulleys["pulley"].bearing_torque) == [0.001, 0.002]
    assert list(found.bodies["cart"].static_friction) == [0.15, 0.2]
