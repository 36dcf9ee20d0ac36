"""From a validated scenario to the apparatus that is solved."""

from dataclasses import replace

import numpy as np
import pytest

from fallwork.mechanics import apparatus_of
from fallwork.mechanics.apparatus import Body, Pulley, Run, String, Surface
from fallwork.scenario import Quantity, model


def quantity(value: float) -> Quantity:
    return Quantity(kind="any", value=value, number=str(value), unit="")


CART = model.Slider(
    name="cart", kind="cart", mass=quantity(0.42), runs_on="track", starts_at=quantity(0.25)
)
TRACK = model.Surface(name="track", slope=quantity(0.1), friction=quantity(0.008))
OTHERS = (CART, model.Hanging(name="weight", mass=quantity(0.08)), model.Pulley(name="pulley"))


def scenario(
    *objects: model.Object,
    track: model.Surface = TRACK,
    path: tuple[str, ...] = ("cart", "pulley", "weight"),
) -> model.Scenario:
    return model.Scenario(
        id="test",
        title="Test",
        objects={thing.name: thing for thing in (*OTHERS, *objects)},
        surfaces={"track": track},
        strings={"string": model.String(name="string", path=path)},
        run=model.Run(object="weight", distance=quantity(0.6), speed=quantity(-0.3)),
        systems=(),
    )


def test_a_whole_scenario() -> None:
    found = apparatus_of(
        scenario(
            CART,
            model.Hanging(name="weight", mass=quantity(0.08)),
            model.Pulley(name="pulley"),
            model.Anchor(name="hook"),
        ),
        9.81,
    )
    assert found.gravity == 9.81
    assert found.bodies == {
        "cart": Body(
            name="cart", kind="cart", mass=0.42, surface="track", starts_at=0.25, friction=0.008
        ),
        "weight": Body(name="weight", kind="hanging", mass=0.08),
    }
    assert found.pulleys == {"pulley": Pulley(name="pulley")}
    assert found.anchors == ("hook",)
    assert found.surfaces == {"track": Surface(name="track", slope=0.1)}
    assert found.strings == {"string": String(name="string", path=("cart", "pulley", "weight"))}
    assert found.run == Run(object="weight", distance=0.6, speed=-0.3)


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
    thing = replace(
        CART,
        friction=None if own is None else quantity(own),
        static_friction=None if own_static is None else quantity(own_static),
    )
    static = None if surface_static is None else quantity(surface_static)
    found = apparatus_of(scenario(thing, track=replace(TRACK, static_friction=static)), 9.81)
    body = found.bodies["cart"]
    assert (body.friction, body.static_friction) == expected


def test_wheels_count_together() -> None:
    thing = replace(CART, wheels=model.Wheels(count=4, mass=quantity(0.006)))
    assert apparatus_of(scenario(thing), 9.81).bodies["cart"].wheel_mass == pytest.approx(0.024)


@pytest.mark.parametrize(
    ("mass", "radius", "inertia", "expected"),
    [
        (None, None, None, 0.0),
        (0.05, None, None, 0.0),
        (0.05, 0.03, None, 0.05 * 0.03**2 / 2),
        (0.05, 0.03, 1e-5, 1e-5),
        (None, 0.03, 1e-5, 1e-5),
    ],
)
def test_a_disc_of_known_mass_and_radius_has_an_inertia(
    mass: float | None, radius: float | None, inertia: float | None, expected: float
) -> None:
    thing = model.Pulley(
        name="pulley",
        mass=None if mass is None else quantity(mass),
        radius=None if radius is None else quantity(radius),
        inertia=None if inertia is None else quantity(inertia),
    )
    found = apparatus_of(scenario(CART, thing), 9.81).pulleys["pulley"]
    assert (found.mass, found.radius, found.inertia) == (mass or 0.0, radius, expected)


def test_a_load_hangs_from_a_moving_pulley() -> None:
    lower = model.Pulley(name="lower", moving=True)
    load = model.Hanging(name="load", mass=quantity(0.2), hangs_from="lower")
    found = apparatus_of(scenario(lower, load, path=("weight", "pulley", "lower")), 9.81)
    assert found.pulleys["lower"].moving
    assert found.bodies["load"].hangs_from == "lower"


def test_values_may_be_arrays_of_many_cases() -> None:
    many = np.array([0.001, 0.002])
    rough = model.Surface(
        name="track", slope=quantity(0.0), friction=quantity(0.1), static_friction=quantity(0.15)
    )
    block = replace(CART, kind="block", friction=replace(quantity(0.0), value=many * 100))
    pulley = model.Pulley(
        name="pulley", radius=quantity(0.02), bearing_torque=replace(quantity(0.0), value=many)
    )
    weight = model.Hanging(name="weight", mass=quantity(0.08))
    found = apparatus_of(scenario(block, weight, pulley, track=rough), 9.8)
    assert list(found.pulleys["pulley"].bearing_torque) == [0.001, 0.002]
    assert list(found.bodies["cart"].static_friction) == [0.15, 0.2]
