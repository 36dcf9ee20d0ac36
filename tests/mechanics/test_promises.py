"""Every system balances and Newton's laws hold, on random set-ups; and faults are noticed."""

import math
from collections.abc import Iterable
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fallwork.mechanics import (
    Apparatus,
    Force,
    Phase,
    Solution,
    SystemAccount,
    account,
    solve,
)
from fallwork.mechanics.apparatus import Run
from mechanics import promises
from mechanics.kit import apparatus, cart, fixed, hanging, level_track, moving, track
from mechanics.promises import every_complaint, off_newton, unbalanced
from mechanics.scenes import KINDS, random_scene, without_inertia

positive = st.floats(min_value=1e-3, max_value=1e3)
level_tracks = st.builds(
    level_track,
    positive,
    positive,
    distance=st.floats(min_value=1e-2, max_value=10.0),
    friction=st.just(0.0) | st.floats(min_value=1e-6, max_value=1.5),
    speed=st.just(0.0) | st.floats(min_value=1e-3, max_value=3.0) | st.floats(-3.0, -1e-3),
    gravity=st.floats(min_value=1.6, max_value=25.0),
    length=st.none() | st.floats(min_value=0.5, max_value=5.0),
    starts_at=st.none() | st.floats(min_value=0.1, max_value=0.4),
)


@given(level_tracks)
def test_level_tracks_balance_and_obey_newton(set_up: Apparatus) -> None:
    assert every_complaint(set_up, solve(set_up)) == []


@pytest.mark.parametrize("kind", KINDS)
def test_all_kinds_balance_and_obey_newton(kind: str, thorough: bool) -> None:
    """5,200 set-ups over 13 kinds, a third of them with static friction of its own."""
    for seed in range(400 if thorough else 50):
        set_up = random_scene(kind, seed, static=seed % 3 == 0).apparatus
        complaints = every_complaint(set_up, solve(set_up), seed)
        assert complaints == [], f"seed {seed}"


@pytest.mark.parametrize("kind", ["composite", "several freedoms", "moving pulley", "drum"])
def test_massless_pulleys_with_brakes_balance_and_obey_newton(kind: str, thorough: bool) -> None:
    for seed in range(150 if thorough else 25):
        set_up = without_inertia(random_scene(kind, seed).apparatus, seed)
        assert every_complaint(set_up, solve(set_up), seed) == [], f"seed {seed}"


def test_a_speck_between_heavy_carts_costs_no_digit(monkeypatch: pytest.MonkeyPatch) -> None:
    """1 mg tied between carts of 50 g to 1 t: their pulls differ by the small force on it."""
    monkeypatch.setattr(promises, "GIVE", 1e-14)
    for heavy in (0.05, 50.0, 1000.0):
        masses = {"rear": heavy, "speck": 1e-6, "front": heavy}
        pull = 0.02 * 9.80665 / (sum(masses.values()) + 0.02)  # m/s² of all, by hand
        set_up = apparatus(
            *(cart(name, mass) for name, mass in masses.items()),
            hanging("weight", 0.02),
            fixed("pulley"),
            track(),
            strings={
                "coupling": ["rear", "speck"],
                "other": ["speck", "front"],
                "string": ["front", "pulley", "weight"],
            },
            run=Run(object="weight", distance=0.5),
        )
        driven = (solution := solve(set_up)).phases[0]
        assert every_complaint(set_up, solution) == []
        assert driven.tensions["coupling"]["rear"] == pytest.approx(heavy * pull, rel=1e-14)
        assert driven.tensions["other"]["front"] == pytest.approx((heavy + 1e-6) * pull, rel=1e-14)


# ---- planted faults

SAMPLE = level_track(0.42, 0.08, distance=0.6, friction=0.008, length=1.20, starts_at=0.25)


def changed(solution: Solution, name: str, **values: object) -> Solution:
    """The solution with one force of its first phase altered."""
    first = solution.phases[0]
    forces = tuple(
        replace(force, **values) if force.name == name else force for force in first.forces
    )
    assert forces != first.forces
    return replace(solution, phases=(replace(first, forces=forces), *solution.phases[1:]))


def force_named(solution: Solution, name: str) -> Force:
    (found,) = (force for force in solution.phases[0].forces if force.name == name)
    return found


def test_a_work_off_by_a_thousandth_is_noticed() -> None:
    solution = solve(SAMPLE)
    working = [force for force in solution.phases[0].forces if force.work]
    assert len(working) == 6
    for force in working:
        fault = changed(solution, force.name, work=force.work * 1.001)
        assert unbalanced(SAMPLE, fault) != [], force.name


def test_a_wrong_normal_force_is_noticed() -> None:
    solution = solve(SAMPLE)
    x, y = force_named(solution, "normal of track on cart").vector
    fault = changed(solution, "normal of track on cart", vector=(x, y * 1.001))
    assert unbalanced(SAMPLE, fault) == []  # energy can't see it
    assert off_newton(SAMPLE, fault) != []


def test_particle_work_on_a_wheel_is_noticed() -> None:
    """Force times the displacement of the centre, for a force whose point is at rest."""
    set_up = level_track(0.42, 0.08, distance=0.6, wheel_mass=0.024)
    solution = solve(set_up)
    rolling = force_named(solution, "rolling of track on cart")
    fault = changed(solution, rolling.name, work=rolling.vector[0] * 0.6, reason=None)
    assert unbalanced(set_up, solution) == []
    assert unbalanced(set_up, fault) != []


def two_to_one() -> Apparatus:
    return apparatus(
        cart("cart", 0.5),
        fixed("fixed"),
        moving("lower", mass=0.02),
        hanging("load", 0.3, hangs_from="lower"),
        track(),
        anchors=["hook"],
        strings={"string": ["cart", "fixed", "lower", "hook"]},
        run=Run(object="load", distance=0.4),
    )


def test_a_wrong_sign_at_an_anchor_is_noticed() -> None:
    set_up, name = two_to_one(), "tension of bench on string"
    solution = solve(set_up)
    x, y = force_named(solution, name).vector
    assert off_newton(set_up, solution) == []
    assert off_newton(set_up, changed(solution, name, vector=(-x, -y))) != []


def test_heat_given_to_one_surface_alone_is_noticed() -> None:
    def partial(set_up: Apparatus, phase: Phase, members: Iterable[str]) -> SystemAccount:
        chosen = tuple(members)
        sound = account(set_up, phase, chosen)
        if "track" not in chosen or "cart" in chosen:
            return sound
        return replace(sound, energy_change=(sound.energy_change or 0.0) + 0.0197702064)

    assert unbalanced(SAMPLE, solve(SAMPLE), accountant=partial) != []


def test_no_work_of_a_pulley_with_inertia_is_noticed() -> None:
    pulley = fixed("pulley", inertia=2e-5, radius=0.03)
    set_up = level_track(0.42, 0.08, distance=0.6, pulley=pulley)
    solution = solve(set_up)
    contact = force_named(solution, "contact of pulley on string")
    tension = solution.phases[0].tensions["string"]
    assert contact.work == pytest.approx(-(tension["weight"] - tension["cart"]) * 0.6)
    assert unbalanced(set_up, changed(solution, contact.name, work=0.0)) != []


def test_a_wrong_bearing_torque_is_noticed() -> None:
    pulley = fixed("pulley", inertia=2e-5, radius=0.03, bearing_torque=0.001)
    set_up = level_track(0.42, 0.08, distance=0.6, pulley=pulley)
    solution = solve(set_up)
    name = "bearing torque of bench on pulley"
    assert force_named(solution, name).torque == pytest.approx(-0.001)
    assert off_newton(set_up, solution) == []
    assert off_newton(set_up, changed(solution, name, torque=-0.00101)) != []
    assert math.isclose(force_named(solution, name).work, -0.001 * 0.6 / 0.03)
