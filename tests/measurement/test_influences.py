"""What neglected influences do, against closed formulas and a reference computation."""

from collections.abc import Callable
from dataclasses import replace
from math import radians, sin

import pytest

from fallwork.measurement.influences import (
    Influence,
    InfluenceKind,
    Place,
    influences_of,
    with_string,
)
from fallwork.measurement.prediction import View, view_of
from fallwork.mechanics import apparatus_of, solve
from fallwork.scenario import Scenario
from mechanics.kit import level_track, rig

Level = Callable[..., Scenario]
Kind = InfluenceKind
G, M, W, MU = 9.80665, 0.420, 0.080, 0.008
TILTED = M * G * sin(radians(0.1))  # N
CHANGED = {  # acceleration of the level track; a tilt changes µN by 1 − cos 0.1° only
    Kind.FRICTION: (W - (MU + 0.002) * M) * G / (M + W),
    Kind.TILT: ((W - MU * M) * G - TILTED) / (M + W),
    Kind.WHEELS: (W - MU * M) * G / (M + W + 4 * 0.006 / 2),
    Kind.UNWEIGHED: (W - MU * (M + 0.010)) * G / (M + W + 0.010),
    Kind.PULLEY_INERTIA: (W - MU * M) * G / (M + W + 0.005 / 2),
    Kind.PULLEY_BEARING: ((W - MU * M) * G - 0.002) / (M + W),
    Kind.GRAVITY: (W - MU * M) * (G + 0.01) / (M + W),
}


def effects(scenario: Scenario) -> dict[Kind, Influence]:
    found = influences_of(apparatus_of(scenario, G), view_of(scenario))
    return {each.kind: each for each in found}


def test_what_each_does_to_acceleration_and_tension_and_while_coasting(level: Level) -> None:
    """A slower cart with the same friction means T = w (g − a) larger; what a pulley takes makes
    the pull on the cart, m a + µ m g, smaller. Only what rubs or tilts shows while coasting.
    """
    found = effects(level())
    plain = (W - MU * M) * G / (M + W)
    for kind, changed in CHANGED.items():
        assert found[kind].effects["acceleration"] == pytest.approx(changed - plain, rel=1e-4), kind
    for kind, mass in ((Kind.FRICTION, -W), (Kind.PULLEY_INERTIA, M)):
        each = found[kind].effects
        assert each["mean_tension"] == pytest.approx(mass * each["acceleration"])
    shown = {Kind.FRICTION: -0.002 * G, Kind.TILT: -TILTED / M}
    for kind in found.keys() - {Kind.GRAVITY, Kind.WHEELS}:
        told = found[kind].effects["coasting_acceleration"]
        assert told == pytest.approx(shown.get(kind, 0.0), rel=1e-4, abs=1e-12)
    places = [found[kind].place for kind in (Kind.TILT, Kind.GRAVITY)]
    assert places == [Place.PULLED, Place.ELSEWHERE]
    assert [found[kind].least for kind in (Kind.FRICTION, Kind.WHEELS)] == [-MU, 0.0]


def test_string_mass_against_the_exact_motion() -> None:
    """Cart 0.5 kg, weight 0.1 kg, string 0.02 kg and 2 m long of which 0.2 m hang at the start,
    1 m of fall: v = 1.83980324158 m/s (closed form with cosh, confirmed by integration).
    On average 0.7 m of string hang: 0.007 kg pull, and 0.013 kg are sped up with them.
    """
    plain = level_track(0.5, 0.1, distance=1.0)
    pulley = replace(plain.pulleys["pulley"], radius=0.02)
    heavy, turning = with_string(plain.bodies["weight"], pulley, 0.02, pulls=0.007, whole=0.020)
    bodies = {**plain.bodies, "weight": heavy}
    loaded = replace(plain, bodies=bodies, pulleys={"pulley": turning})
    speed = solve(loaded).phases[0].end_velocities["cart"]
    assert speed == pytest.approx(1.83980324158, rel=1e-11)


@pytest.mark.parametrize("slope", ["0 deg", "4 deg"])
def test_the_sensor_does_not_see_what_the_string_needs(level: Level, slope: str) -> None:
    """The sensor sits between cart and string, so it reads what the cart needs with the new a."""
    string = effects(level(slope=slope))[Kind.STRING].effects
    assert string["mean_tension"] == pytest.approx(M * string["acceleration"], rel=1e-9)


def test_what_the_scenario_has_already_is_no_neglected_influence(level: Level) -> None:
    wheels = "420.0 g ± 0.1 g, wheels: {count: 4, mass: 6 g}"
    scenario = level(cart=wheels, pulley="{kind: pulley, mass: 20 g, radius: 25 mm}")
    assert not {Kind.WHEELS, Kind.PULLEY_INERTIA} & effects(scenario).keys()


def test_a_tilt_counts_against_the_motion_whichever_way_it_goes() -> None:
    """Pulled backwards, a cart is slowed down by a back that is higher."""
    backwards = rig(
        *(f"cart cart {M} friction={MU}", f"hanging weight {W}", "fixed pulley", "track track"),
        string="weight pulley cart",
        run="weight distance=0.6",
    )
    found = influences_of(backwards, View(moving="cart", string="string", pulled="cart"))
    (tilt,) = [each for each in found if each.kind is Kind.TILT]
    assert tilt.effects["acceleration"] == pytest.approx(-TILTED / 0.5, rel=1e-4)
