"""Many cases at once give what each case gives by itself."""

import math
import random
from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from fallwork.mechanics import Apparatus, solve, solve_driven
from fallwork.mechanics.solution import Ending
from mechanics import kit
from mechanics.kit import level_track, mapped, two_weights
from mechanics.scenes import KINDS, random_scene

G = 9.80665
CASES = 12
COVERED = (Ending.LANDS, Ending.COVERED)
STOPPED = (Ending.RESTS, Ending.TURNS, Ending.SPIN_STOPS, Ending.SPIN_TURNS)


def varied(apparatus: Apparatus, rng: random.Random) -> Apparatus:
    """Every number that isn't zero spread over CASES values; static friction stays the larger."""

    def spread(value: Any) -> Any:
        if not isinstance(value, float) or not value:
            return value
        return value * np.array([rng.uniform(0.8, 1.25) for _ in range(CASES)])

    found = mapped(apparatus, spread)
    for name, body in found.bodies.items():
        if body.static_friction is not None:
            found.bodies[name] = replace(body, static_friction=1.4 * body.friction)
    return found


def at(value: Any, case: int) -> Any:
    return float(value[case]) if isinstance(value, np.ndarray) and value.ndim else value


def assert_each_agrees(batch_of: Apparatus, cases: int) -> None:
    batch = solve_driven(batch_of)
    for case in range(cases):
        phase = solve(mapped(batch_of, lambda value, case=case: at(value, case))).phases[0]
        for name, acceleration in phase.accelerations.items():
            wanted = at(batch.accelerations[name], case)
            assert acceleration == pytest.approx(wanted, rel=1e-9, abs=1e-12)
        pushed = phase.start_velocities[batch.object] != 0
        moves = pushed or phase.accelerations.get(batch.object, math.nan) != 0
        assert at(batch.moves, case) == moves
        for name, pulls in phase.segment_tensions.items():
            found = [at(pull, case) for pull in batch.segment_tensions[name]]
            wanted = [math.nan if pull is None else pull for pull in pulls]
            assert found == pytest.approx(wanted, rel=1e-9, abs=1e-11, nan_ok=True)
        if phase.ends is not None and phase.ends.ending in COVERED:
            assert phase.duration == pytest.approx(at(batch.duration, case), rel=1e-9)
            for name, speed in phase.end_velocities.items():
                wanted = at(batch.end_velocity(name), case)
                assert speed == pytest.approx(wanted, rel=1e-9, abs=1e-12)
        elif phase.ends is None or phase.ends.ending in STOPPED:
            assert math.isnan(at(batch.duration, case))


@pytest.mark.parametrize("static", [False, True])
@pytest.mark.parametrize("kind", KINDS)
def test_a_batch_agrees_with_single_cases(kind: str, static: bool, thorough: bool) -> None:
    for seed in range(3 if thorough else 1):
        scene = random_scene(kind, seed, static=static)
        assert_each_agrees(varied(scene.apparatus, random.Random(seed)), CASES)


SIDE_BY_SIDE = """
# held by friction for the light weights; no friction at all in the first case
level_track(0.5, array([0.05, 0.11, 0.09, 0.2]), distance=0.8, friction=0.2)
level_track(0.5, 0.1, distance=0.8, friction=array([0.0, 0.1, 0.0, 0.05]))
# pushed either way and not at all; up and down the slope; without acceleration
level_track(0.5, 0.1, distance=0.3, friction=0.05, speed=array([0.4, -0.4, 0.0]))
level_track(0.5, array([0.5, 0.05, 0.2, 0.6, 0.01]), distance=0.3, friction=0.1, slope=25)
two_weights(0.2, 0.2, distance=0.5, speed=array([0.5, 0.0]))
# the heavy weights pull the cart down its slope, before the light ones it runs away
level_track(0.5, heavy, distance=0.3, slope=-30, pulley=wheel(inertia=0.0, bearing_torque=0.03))
level_track(0.5, heavy, distance=0.3, slope=-30, pulley=wheel(inertia=1e-5, bearing_torque=0.03))
# upright and smooth, both fall alike, and a heavy pulley at rest has nothing to do
level_track(0.5, 0.1, distance=0.3, slope=array([-90.0, -30.0]), pulley=wheel(inertia=1e-5))
# beyond upright counts as upright
level_track(0.5, 0.6, distance=0.5, friction=0.3, slope=array([89.0, 90.0, 91.0]))
"""
ROWS = [row for row in SIDE_BY_SIDE.strip().splitlines() if not row.startswith("#")]


@pytest.mark.parametrize("row", ROWS)
def test_cases_of_different_modes_stand_side_by_side(row: str) -> None:
    heavy = np.array([0.01, 2.0, 0.02, 3.0])
    batch_of = eval(row, {**vars(kit), "array": np.array, "heavy": heavy})
    assert_each_agrees(batch_of, solve_driven(batch_of).duration.size)


def test_arrays_broadcast_together_and_floats_stay_floats() -> None:
    masses, weights = np.array([[0.4], [0.5]]), np.array([0.06, 0.08, 0.10])
    batch = solve_driven(level_track(masses, weights, distance=0.6))
    assert batch.accelerations["cart"] == pytest.approx(G * weights / (masses + weights))
    assert batch.moves.tolist() == [[True] * 3] * 2
    single = solve_driven(two_weights(0.2, 0.3, distance=0.5))
    assert single.accelerations["right"] == pytest.approx(G / 5)
    assert float(single.duration) == pytest.approx(math.sqrt(2 * 0.5 * 5 / G))
