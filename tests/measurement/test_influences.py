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
G, M, W, MU = 9.80665, 0.420, 0.080, 0.008
PLAIN = (W - MU * M) * G / (M + W)


def effects(scenario: Scenario) -> dict[InfluenceKind, Influence]:
    found = influences_of(apparatus_of(scenario, G), view_of(scenario))
    return {each.kind: each for each in found}


@pytest.mark.parametrize(
    ("kind", "changed"),
    [
        (InfluenceKind.FRICTION, (W - (MU + 0.002) * M) * G / (M + W)),
        (InfluenceKind.TILT, PLAIN - M * G * sin(radians(0.1)) / (M + W)),
        (InfluenceKind.WHEELS, (W - MU * M) * G / (M + W + 4 * 0.006 / 2)),
        (InfluenceKind.UNWEIGHED, (W - MU * (M + 0.010)) * G / (M + W + 0.010)),
        (InfluenceKind.PULLEY_INERTIA, (W - MU * M) * G / (M + W + 0.005 / 2)),
        (InfluenceKind.PULLEY_BEARING, PLAIN - 0.002 / (M + W)),
        (InfluenceKind.GRAVITY, (W - MU * M) * (G + 0.01) / (M + W)),
    ],
    ids=lambda value: value.value if isinstance(value, InfluenceKind) else "",
)
def test_effect_on_the_acceleration(level: Level, kind: InfluenceKind, changed: float) -> None:
    """Closed formulas of the level track; a tilt changes µN by 1 − cos 0.1° only."""
    found = effects(level())[kind].effects["acceleration"]
    assert found == pytest.approx(changed - PLAIN, rel=1e-4)


def test_effect_on_the_tension_tells_the_two_ends_apart(level: Level) -> None:
    """A slower cart with the same friction means T = w (g − a) larger; what a pulley takes makes
    the pull on the cart, m a + µ m g, smaller.
    """
    found = effects(level())
    for kind, mass in ((InfluenceKind.FRICTION, -W), (InfluenceKind.PULLEY_INERTIA, M)):
        each = found[kind].effects
        assert each["mean_tension"] == pytest.approx(mass * each["acceleration"])


def test_only_what_rubs_or_tilts_shows_while_coasting(level: Level) -> None:
    found = effects(level())
    shown = {InfluenceKind.FRICTION: -0.002 * G, InfluenceKind.TILT: -G * sin(radians(0.1))}
    for kind in found.keys() - {InfluenceKind.GRAVITY, InfluenceKind.WHEELS}:
        told = found[kind].effects["coasting_acceleration"]
        assert told == pytest.approx(shown.get(kind, 0.0), rel=1e-4, abs=1e-12)


def test_string_mass_against_the_exact_motion() -> None:
    """Cart 0.5 kg, weight 0.1 kg, string 0.02 kg and 2 m long of which 0.2 m hang at the start,
    1 m of fall: v = 1.83980324158 m/s (closed form with cosh, confirmed by integration).
    On average 0.7 m of string hang: 0.007 kg pull, and 0.013 kg are sped up with them.
    """
    plain = level_track(0.5, 0.1, distance=1.0)
    weight, pulley = plain.bodies["weight"], replace(plain.pulleys["pulley"], radius=0.02)
    heavy, turning = with_string(weight, pulley, 0.02, pulls=0.007, whole=0.020)
    bodies = {**plain.bodies, "weight": heavy}
    loaded = replace(plain, bodies=bodies, pulleys={"pulley": turning})
    speed = solve(loaded).phases[0].end_velocities["cart"]
    assert speed == pytest.approx(1.83980324158, rel=1e-11)


@pytest.mark.parametrize("slope", ["0 deg", "4 deg"])
def test_the_sensor_does_not_see_what_the_string_needs(level: Level, slope: str) -> None:
    """The sensor sits between cart and string, so it reads what the cart needs with the new a."""
    string = effects(level(slope=slope))[InfluenceKind.STRING].effects
    assert string["mean_tension"] == pytest.approx(M * string["acceleration"], rel=1e-9)


def test_places_and_least_amounts(level: Level) -> None:
    found = effects(level())
    places = [found[kind].place for kind in (InfluenceKind.TILT, InfluenceKind.GRAVITY)]
    assert places == [Place.PULLED, Place.ELSEWHERE]
    least = [found[kind].least for kind in (InfluenceKind.FRICTION, InfluenceKind.WHEELS)]
    assert least == [-MU, 0.0]


def test_what_the_scenario_has_already_is_no_neglected_influence(level: Level) -> None:
    scenario = level(
        cart="420.0 g ± 0.1 g, wheels: {count: 4, mass: 6 g}",
        pulley="{kind: pulley, mass: 20 g, radius: 25 mm}",
    )
    assert not {InfluenceKind.WHEELS, InfluenceKind.PULLEY_INERTIA} & set(effects(scenario))


def test_a_tilt_counts_against_the_motion_whichever_way_it_goes() -> None:
    """Pulled backwards, a cart is slowed down by a back that is higher."""
    backwards = rig(
        *(f"cart cart {M} friction={MU}", f"hanging weight {W}", "fixed pulley", "track track"),
        string="weight pulley cart",
        run="weight distance=0.6",
    )
    found = influences_of(backwards, View(moving="cart", string="string", pulled="cart"))
    (tilt,) = [each for each in found if each.kind is InfluenceKind.TILT]
    assert tilt.effects["acceleration"] == pytest.approx(-M * G * sin(radians(0.1)) / 0.5, rel=1e-4)
