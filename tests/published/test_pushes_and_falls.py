"""Pushes, energies and falls against published numbers; on an upright surface a block falls freely.

Sources, read there: UP1 = OpenStax, University Physics Volume 1 (edition of 2026-06-11); CP2e =
OpenStax, College Physics 2e (edition of 2026-07-09); BMDW = Martin, Neary, Rinaldo, Woodman,
Introductory Physics: Building Models to Describe Our World (2025-05-16). Problems are counted in
document order; g = 9.80 m/s². Each check says what the book prints; the value with more digits
was recomputed from the book's data. "Reference": closed form at 50 digits, g = 9.80665 m/s².
"""

import math

import pytest

from fallwork.mechanics import Apparatus, Phase, account, solve
from fallwork.mechanics.apparatus import Run
from fallwork.mechanics.solution import End, Ending
from mechanics.kit import (
    apparatus,
    fixed,
    hanging,
    slope,
)

G = 9.80


def first(set_up: Apparatus) -> Phase:
    return solve(set_up).phases[0]


def test_package_coasts_to_a_stop() -> None:
    """CP2e example 7.5: 92 J + 3.75 J against 5.00 N; prints 19.2 m (19.15 m)."""
    speed = math.sqrt(2 * 95.75 / 30.0)
    driven = first(slope(30.0, 0.0, friction=5.0 / (30.0 * G), speed=speed, gravity=G))
    assert driven.displacements["block"] == pytest.approx(19.15, rel=1e-9)
    assert driven.ends == End(ending=Ending.RESTS, subject="block")


@pytest.mark.parametrize(("angle", "expected"), [(0.0, 2.6), (5.0, 2.314456693)])
def test_sliding_to_rest(angle: float, expected: float) -> None:
    """CP2e examples 7.9 and 7.10: 65.0 kg at 6.00 m/s against 450 N; prints 2.60 and 2.31 m."""
    mu = 450.0 / (65.0 * G * math.cos(math.radians(angle)))
    driven = first(slope(65.0, angle, friction=mu, speed=6.0, gravity=G))
    assert driven.displacements["block"] == pytest.approx(expected, rel=1e-9)


def test_car_coasting_up_a_hill() -> None:
    """UP1 chapter 8, problem 61: from 110 km/h to rest 22.0 m up at 2.5°: prints 1.88e5 J; its
    373 N was divided from a rounded number (373.57 N)."""
    angle = math.radians(2.5)
    mu = 373.571781 / (750.0 * G * math.cos(angle))
    set_up = slope(750.0, 2.5, friction=mu, speed=110 / 3.6, gravity=G)
    driven = first(set_up)
    heat = account(set_up, driven, ["block", "plane"]).energy_changes["thermal"]
    assert driven.displacements["block"] * math.sin(angle) == pytest.approx(22.0, rel=1e-8)
    assert heat == pytest.approx(188415.7407, rel=1e-8)


def test_car_coasting_up_without_friction() -> None:
    """UP1 chapter 8, problem 61: from 110 km/h it gets up to 47.6 m."""
    sine, speed = math.sin(math.radians(2.5)), 110 / 3.6
    driven = first(slope(750.0, 2.5, speed=speed, until=speed / (G * sine), gravity=G))
    assert driven.displacements["block"] * sine == pytest.approx(47.63479466, rel=1e-9)


def test_skier_over_a_rise() -> None:
    """CP2e section 7.5, problem 50: 2.5 m up at 35°, μ 0.08, from 12.0 m/s; prints 9.46 m/s."""
    way = 2.5 / math.sin(math.radians(35.0))
    driven = first(slope(60.0, 35.0, friction=0.08, speed=12.0, distance=way, gravity=G))
    assert driven.end_velocities["block"] == pytest.approx(9.455245095, rel=1e-9)


@pytest.mark.parametrize(("speed", "expected"), [(0.0, 19.79898987), (5.0, 20.42057786)])
def test_speed_from_height(speed: float, expected: float) -> None:
    """CP2e example 7.7: 20.0 m down; prints 19.8 and 20.4 m/s."""
    driven = first(slope(1.0, -90.0, speed=speed, distance=20.0, gravity=G))
    assert driven.end_velocities["block"] == pytest.approx(expected, rel=1e-9)


def test_gravity_from_a_fall() -> None:
    """CP2e example 2.16: 1.0000 m in 0.45173 s; prints 9.8010 m/s²."""
    driven = first(slope(1.0, -90.0, distance=1.0, gravity=9.801039251))
    assert driven.duration == pytest.approx(0.45173, rel=1e-9)


def test_thrown_down() -> None:
    """UP1 example 3.14: 4.9 m/s downward, 98 m: 4.0 s and 44.1 m/s."""
    driven = first(slope(1.0, -90.0, speed=4.9, distance=98.0, gravity=G))
    assert driven.duration == pytest.approx(4.0, rel=1e-12)
    assert driven.end_velocities["block"] == pytest.approx(44.1, rel=1e-12)


@pytest.mark.parametrize(
    ("t", "y", "v"),
    [
        (0.5, -8.225, -18.9),
        (1.0, -18.9, -23.8),
        (1.5, -32.025, -28.7),
        (2.0, -47.6, -33.6),
        (2.5, -65.625, -38.5),
    ],
)
def test_rock_thrown_down(t: float, y: float, v: float) -> None:
    """UP1 section 3.5, problem 67: up is positive here as on an upright surface."""
    driven = first(slope(1.0, 90.0, speed=-14.0, until=t, gravity=G))
    assert driven.displacements["block"] == pytest.approx(y, rel=1e-12)
    assert driven.end_velocities["block"] == pytest.approx(v, rel=1e-12)


def test_shot_straight_up_without_drag() -> None:
    """UP1 example 6.9, without drag: from 50.0 m/s to 128 m (127.551 m)."""
    rising = first(slope(10.0, 90.0, speed=50.0, until=50.0 / G, gravity=G))
    assert rising.displacements["block"] == pytest.approx(127.5510204, rel=1e-9)
    assert rising.end_velocities["block"] == pytest.approx(0.0, abs=1e-12)


def test_mean_force_of_a_stop() -> None:
    """CP2e example 7.6: 60.0 kg fall 3.00 m and stop in 5.00 mm; prints 3.53e5 N. The string
    runs off a drum that takes up nothing."""
    set_up = apparatus(
        fixed("drum"),
        hanging("person", 60.0),
        strings={"string": ["drum", "person"]},
        run=Run(object="person", distance=3.0),
        gravity=G,
    )
    landing = solve(set_up).phases[1]
    work = account(set_up, landing, ["person"]).external_work
    assert work == pytest.approx(-352800.0 * 0.005, rel=1e-12)
