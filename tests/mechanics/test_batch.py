"""Many cases at once give what each case gives by itself."""

import math
import random
from dataclasses import fields, is_dataclass, replace
from typing import Any

import numpy as np
import pytest

from fallwork.mechanics import Apparatus, solve, solve_driven
from fallwork.mechanics.apparatus import Body, Pulley, Run, Surface
from mechanics.kit import (
    ending,
    level_track,
    two_weights,
)
from mechanics.scenes import KINDS, random_scene

CASES = 12


def varied(thing: Any, rng: random.Random) -> Any:
    """The apparatus with every number that isn't zero spread over CASES values."""
    if isinstance(thing, dict):
        return {name: varied(value, rng) for name, value in thing.items()}
    if isinstance(thing, Body | Pulley | Surface | Run | Apparatus) and is_dataclass(thing):
        return replace(
            thing, **{f.name: varied(getattr(thing, f.name), rng) for f in fields(thing)}
        )
    if isinstance(thing, float) and thing:
        return thing * np.array([rng.uniform(0.8, 1.25) for _ in range(CASES)])
    return thing


def with_static(apparatus: Apparatus) -> Apparatus:
    """Static friction as a multiple of kinetic friction, so that it is never less."""
    bodies = {
        name: body
        if body.static_friction is None
        else replace(body, static_friction=1.4 * body.friction)
        for name, body in apparatus.bodies.items()
    }
    return replace(apparatus, bodies=bodies)


def case_of(thing: Any, case: int) -> Any:
    if isinstance(thing, dict):
        return {name: case_of(value, case) for name, value in thing.items()}
    if isinstance(thing, Body | Pulley | Surface | Run | Apparatus) and is_dataclass(thing):
        return replace(
            thing, **{f.name: case_of(getattr(thing, f.name), case) for f in fields(thing)}
        )
    return float(thing[case]) if isinstance(thing, np.ndarray) else thing


def at(value: Any, case: int) -> float:
    return float(value[case]) if np.ndim(value) else float(value)


@pytest.mark.parametrize("static", [False, True])
@pytest.mark.parametrize("kind", KINDS)
def test_a_batch_agrees_with_single_cases(kind: str, static: bool, thorough: bool) -> None:
    for seed in range(3 if thorough else 1):
        scene = random_scene(kind, seed, static=static)
        batch_of = with_static(varied(scene.apparatus, random.Random(seed)))
        batch = solve_driven(batch_of)
        for case in range(CASES):
            assert_agrees(batch, case_of(batch_of, case), case)


def assert_agrees(batch: Any, apparatus: Apparatus, case: int) -> None:
    solution = solve(apparatus)
    phase = solution.phases[0]
    for name, acceleration in phase.accelerations.items():
        wanted = at(batch.accelerations[name], case)
        assert acceleration == pytest.approx(wanted, rel=1e-9, abs=1e-12)
    for name, pulls in phase.segment_tensions.items():
        for pull, wanted in zip(pulls, batch.segment_tensions[name], strict=True):
            if pull is None:
                assert math.isnan(at(wanted, case))
            else:
                assert pull == pytest.approx(at(wanted, case), rel=1e-9, abs=1e-11)
    covered = ending(phase) is not None and ending(phase).endswith(("lands", "the distance"))
    if covered:
        assert phase.duration == pytest.approx(at(batch.duration, case), rel=1e-9)
        for name, speed in phase.end_velocities.items():
            wanted = at(batch.end_velocity(name), case)
            assert speed == pytest.approx(wanted, rel=1e-9, abs=1e-12)
    elif ending(phase) is None or "rest" in ending(phase) or "turns" in ending(phase):
        assert math.isnan(at(batch.duration, case))


def test_cases_of_different_modes_stand_side_by_side() -> None:
    """A cart that is pulled away by the heavy weights and held by friction for the light ones."""
    weights = np.array([0.05, 0.11, 0.09, 0.20])
    batch = solve_driven(level_track(0.5, weights, distance=0.8, friction=0.2))
    assert batch.moves.tolist() == [False, True, False, True]
    assert batch.accelerations["cart"][0] == 0.0
    assert batch.segment_tensions["string"][0][2] == pytest.approx(0.09 * 9.80665)
    assert np.isnan(batch.duration).tolist() == [True, False, True, False]


def test_arrays_broadcast_together() -> None:
    masses, weights = np.array([[0.4], [0.5]]), np.array([0.06, 0.08, 0.10])
    batch = solve_driven(level_track(masses, weights, distance=0.6))
    assert batch.accelerations["cart"] == pytest.approx(9.80665 * weights / (masses + weights))


def test_a_single_case_gives_floats() -> None:
    batch = solve_driven(two_weights(0.2, 0.3, distance=0.5))
    assert batch.accelerations["right"] == pytest.approx(9.80665 / 5)
    assert batch.duration == pytest.approx(math.sqrt(2 * 0.5 * 5 / 9.80665))


def test_slopes_that_spread_beyond_upright_count_as_upright() -> None:
    set_up = level_track(0.5, 0.6, distance=0.5, friction=0.3)
    steep = Surface(name="track", slope=np.radians([89.0, 90.0, 91.0]))
    batch = solve_driven(replace(set_up, surfaces={"track": steep}))
    upright = 0.1 * 9.80665 / 1.1
    assert batch.accelerations["cart"][1:] == pytest.approx([upright, upright], rel=1e-12)
    assert batch.accelerations["cart"][0] < upright


def assert_each_agrees(batch_of: Apparatus, cases: int) -> None:
    batch = solve_driven(batch_of)
    for case in range(cases):
        assert_agrees(batch, case_of(batch_of, case), case)


def test_a_push_without_acceleration_moves() -> None:
    batch = solve_driven(two_weights(0.2, 0.2, distance=0.5, speed=np.array([0.5, 0.0])))
    assert batch.moves.tolist() == [True, False]


def test_pushes_either_way_and_none_stand_side_by_side() -> None:
    pushes = np.array([0.4, -0.4, 0.0])
    assert_each_agrees(level_track(0.5, 0.1, distance=0.3, friction=0.05, speed=pushes), 3)


def test_carts_that_start_up_or_down_the_slope_stand_side_by_side() -> None:
    weights = np.array([0.5, 0.05, 0.2, 0.6, 0.01])
    assert_each_agrees(level_track(0.5, weights, distance=0.3, friction=0.1, slope_deg=25), 5)


@pytest.mark.parametrize("inertia", [0.0, 1e-5])
def test_strings_slack_on_one_side_of_a_pulley_and_taut_ones_stand_side_by_side(
    inertia: float,
) -> None:
    """The heavy weights pull the cart down its slope, before the light ones it runs away."""
    weights = np.array([0.01, 2.0, 0.02, 3.0])
    pulley = Pulley(name="pulley", radius=0.03, inertia=inertia, bearing_torque=0.03)
    assert_each_agrees(level_track(0.5, weights, distance=0.3, slope_deg=-30, pulley=pulley), 4)


def test_strings_slack_over_a_heavy_pulley_and_taut_ones_stand_side_by_side() -> None:
    """A smooth upright track: both fall alike, and a pulley at rest has nothing to do."""
    slopes = np.radians([-90.0, -30.0, -90.0])
    pulley = Pulley(name="pulley", radius=0.03, inertia=1e-5)
    set_up = level_track(0.5, 0.1, distance=0.3, pulley=pulley)
    steep = {"track": Surface(name="track", slope=slopes)}
    assert_each_agrees(replace(set_up, surfaces=steep), 3)


def test_cases_with_and_without_friction_stand_side_by_side() -> None:
    """a = (m₂ − μ m₁) g / (m₁ + m₂), also where the first case has no friction at all."""
    friction = np.array([0.0, 0.1, 0.0, 0.05])
    batch = solve_driven(level_track(0.5, 0.1, distance=0.8, friction=friction))
    wanted = (0.1 - friction * 0.5) * 9.80665 / 0.6
    assert batch.accelerations["cart"] == pytest.approx(wanted, rel=1e-12)
