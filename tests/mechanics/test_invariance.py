"""The same physics told otherwise: many cases at once, and classes of systems."""

import math
import random
from collections.abc import Sequence
from dataclasses import replace
from importlib import import_module
from typing import Any

import numpy as np
import pytest

from cases import cases
from fallwork.mechanics import (
    Apparatus,
    Phase,
    SystemAccount,
    account,
    objects,
    solve,
    solve_driven,
    systems,
)
from fallwork.mechanics.solution import Ending
from mechanics import kit
from mechanics.kit import rewritten
from mechanics.scenes import KINDS, random_scene

G = 9.80665
CASES = 12
COVERED = (Ending.LANDS, Ending.COVERED)
STOPPED = (Ending.RESTS, Ending.TURNS, Ending.SPIN_STOPS, Ending.SPIN_TURNS)


# ---- many cases at once give what each case gives by itself
def varied(apparatus: Apparatus, rng: random.Random) -> Apparatus:
    """Every number that isn't zero spread over CASES values; static friction stays the larger."""

    def spread(value: Any) -> Any:
        if not isinstance(value, float) or not value:
            return None
        return value * np.array([rng.uniform(0.8, 1.25) for _ in range(CASES)])

    found = rewritten(apparatus, spread)
    for name, body in found.bodies.items():
        if body.static_friction is not None:
            found.bodies[name] = replace(body, static_friction=1.4 * body.friction)
    return found


def case_of(value: Any, case: int) -> Any:
    """One case of a batch of them; None for what all have."""
    return float(value[case]) if isinstance(value, np.ndarray) and value.ndim else None


def at(value: Any, case: int) -> Any:
    found = case_of(value, case)
    return value if found is None else found


def assert_each_agrees(batch_of: Apparatus, cases: int) -> None:
    batch = solve_driven(batch_of)
    for case in range(cases):
        phase = solve(rewritten(batch_of, lambda each, case=case: case_of(each, case))).phases[0]
        for name, acceleration in phase.accelerations.items():
            wanted = at(batch.accelerations[name], case)
            assert acceleration == pytest.approx(wanted, rel=1e-9, abs=1e-12)
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
def test_a_batch_agrees_with_single_cases(kind, static, thorough):
    for seed in range(3 if thorough else 1):
        scene = random_scene(kind, seed, static=static)
        assert_each_agrees(varied(scene.apparatus, random.Random(seed)), CASES)


@pytest.mark.parametrize("row", cases(__file__, "side-by-side"))
def test_cases_of_different_modes_stand_side_by_side(row):
    heavy = np.array([0.01, 2.0, 0.02, 3.0])
    batch_of = eval(row, {**vars(kit), "array": np.array, "heavy": heavy})
    assert_each_agrees(batch_of, solve_driven(batch_of).duration.size)


# ---- which systems are listed, every choice or classes of them
def working(found: SystemAccount) -> dict[str, float | None]:
    return {force.name: force.work for force in found.external if force.reason is None}


def differs(one: float | None, other: float | None, size: float) -> bool:
    if one is None or other is None:
        return one is not other
    return not math.isclose(one, other, rel_tol=0, abs_tol=1e-12 * size)


def complaints(
    apparatus: Apparatus, phase: Phase, listed: Sequence[SystemAccount], rng: random.Random
) -> list[str]:
    """Choices that have other works or energies than the class to which they should belong."""
    found, size = [], sum(abs(force.work or 0.0) for force in phase.forces) or 1.0
    for each in listed:
        added = [name for name in each.at_will if rng.random() < 0.5]
        if not (each.members or added):
            continue
        real = account(apparatus, phase, (*each.members, *added))
        changes = real.energy_changes, each.energy_changes
        pairs = [[change.get(kind, 0.0) for change in changes] for kind in changes[0]]
        if working(real) != working(each) or any(differs(*pair, size) for pair in pairs):
            found.append(f"{phase.name} {each.members} with {added}")
    return found


@pytest.mark.parametrize("kind", KINDS)
def test_classes_leave_to_choice_what_makes_no_difference_and_make_up_any_choice(
    kind, thorough, monkeypatch
):
    """Works by force, kinetic and rotational energy by object, potential and thermal by pair."""
    monkeypatch.setattr(import_module("fallwork.mechanics.accounts"), "EVERY_CHOICE", 0)
    for seed in range(12 if thorough else 4):
        rng = random.Random(seed)
        apparatus = random_scene(kind, seed, static=seed % 3 == 0).apparatus
        for phase in solve(apparatus).phases:
            found = systems(apparatus, phase)
            assert complaints(apparatus, phase, found, rng) == [], f"seed {seed}"
            listed = {each.members: each for each in found}
            chosen = [name for name in objects(apparatus) if rng.random() < 0.5] or ["Earth"]
            works, energies = composed(listed, chosen)
            real = account(apparatus, phase, chosen)
            size = sum(abs(force.work or 0.0) for force in phase.forces) or 1.0
            assert works == working(real), f"seed {seed} {phase.name} {chosen}"
            assert not differs(energies, real.energy_change, 10 * size) or None in works.values()


def composed(
    listed: dict[tuple[str, ...], SystemAccount], chosen: list[str]
) -> tuple[dict[str, float | None], float | None]:
    """External works and energy change of a choice, from what is listed for one and two members."""
    alone = [listed[(name,)] for name in chosen if (name,) in listed]
    works = {
        force.name: force.work
        for each in alone
        for force in each.external
        if force.partner not in chosen and force.reason is None
    }
    pairs = [m for m in listed if len(m) == 2 and set(m) <= set(chosen)]
    both = (listed[pair].energy_changes for pair in pairs)
    shared = [each[kind] for each in both for kind in ("potential", "thermal") if kind in each]
    changes = [*(each.energy_change for each in alone), *shared]
    return works, None if None in changes else sum(changes)
