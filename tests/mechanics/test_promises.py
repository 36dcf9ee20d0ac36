"""Every system balances and Newton's laws hold, on random set-ups; and faults are noticed."""

from collections.abc import Iterable
from dataclasses import replace
from typing import Any

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
from mechanics import promises
from mechanics.kit import fixed, level_track, rig
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
    for seed in range(400 if thorough else 20):
        set_up = random_scene(kind, seed, static=seed % 3 == 0).apparatus
        complaints = every_complaint(set_up, solve(set_up), seed)
        assert complaints == [], f"seed {seed}"


@pytest.mark.parametrize("kind", ["composite", "several freedoms", "moving pulley", "drum"])
def test_massless_pulleys_with_brakes_balance_and_obey_newton(kind: str, thorough: bool) -> None:
    for seed in range(150 if thorough else 10):
        set_up = without_inertia(random_scene(kind, seed).apparatus, seed)
        assert every_complaint(set_up, solve(set_up), seed) == [], f"seed {seed}"


def test_a_speck_between_heavy_carts_costs_no_digit(monkeypatch: pytest.MonkeyPatch) -> None:
    """1 mg tied between carts of 50 g to 1 t: their pulls differ by the small force on it."""
    monkeypatch.setattr(promises, "GIVE", 1e-14)
    for heavy in (0.05, 50.0, 1000.0):
        masses = {"rear": heavy, "speck": 1e-6, "front": heavy}
        pull = 0.02 * 9.80665 / (sum(masses.values()) + 0.02)  # m/s² of all, by hand
        set_up = rig(
            *(f"cart {name} {mass}" for name, mass in masses.items()),
            *("hanging weight 0.02", "fixed pulley", "track track"),
            coupling="rear speck",
            other="speck front",
            string="front pulley weight",
            run="weight distance=0.5",
        )
        driven = (solution := solve(set_up)).phases[0]
        assert every_complaint(set_up, solution) == []
        assert driven.tensions["coupling"]["rear"] == pytest.approx(heavy * pull, rel=1e-14)
        assert driven.tensions["other"]["front"] == pytest.approx((heavy + 1e-6) * pull, rel=1e-14)


# ---- planted faults are noticed

SAMPLE = level_track(0.42, 0.08, distance=0.6, friction=0.008, length=1.20, starts_at=0.25)
BRAKED = level_track(
    *(0.42, 0.08),
    distance=0.6,
    pulley=fixed("pulley", inertia=2e-5, radius=0.03, bearing_torque=0.001),
)
TWO_TO_ONE = rig(
    *(
        "cart cart 0.5",
        "fixed fixed",
        "moving lower mass=0.02",
        "hanging load 0.3 hangs_from=lower",
    ),
    *("track track", "anchor hook"),
    string="cart fixed lower hook",
    run="load distance=0.4",
)


def force_named(solution: Solution, name: str) -> Force:
    (found,) = (force for force in solution.phases[0].forces if force.name == name)
    return found


def complaints(set_up: Apparatus, name: str, **factors: float) -> tuple[bool, bool]:
    """Whether energy and Newton's laws notice factors on what one force of the first phase has."""
    solution = solve(set_up)
    assert unbalanced(set_up, solution) == off_newton(set_up, solution) == []
    force = force_named(solution, name)
    values: dict[str, Any] = {}
    for field, factor in factors.items():
        old = getattr(force, field)
        changed = tuple(factor * x for x in old) if isinstance(old, tuple) else factor * old
        assert changed != old
        values[field] = changed
    first = solution.phases[0]
    forces = tuple(replace(f, **values) if f is force else f for f in first.forces)
    fault = replace(solution, phases=(replace(first, forces=forces), *solution.phases[1:]))
    return unbalanced(set_up, fault) != [], off_newton(set_up, fault) != []


def test_a_work_off_by_a_thousandth_is_noticed() -> None:
    working = [force.name for force in solve(SAMPLE).phases[0].forces if force.work]
    assert len(working) == 6
    assert all(complaints(SAMPLE, name, work=1.001)[0] for name in working)


@pytest.mark.parametrize(
    ("set_up", "name", "factors", "noticed"),
    [
        (SAMPLE, "normal of track on cart", {"vector": 1.001}, (False, True)),  # no energy
        (TWO_TO_ONE, "tension of hook on string", {"vector": -1.0}, (False, True)),
        (BRAKED, "contact of pulley on string", {"work": 0.0}, (True, False)),
        (BRAKED, "bearing torque of bench on pulley", {"torque": 1.01}, (False, True)),
    ],
)
def test_a_wrong_force_or_torque_is_noticed(
    set_up: Apparatus, name: str, factors: dict[str, float], noticed: tuple[bool, bool]
) -> None:
    assert complaints(set_up, name, **factors) == noticed


def test_what_a_braked_heavy_pulley_takes_up() -> None:
    solution = solve(BRAKED)
    contact = force_named(solution, "contact of pulley on string")
    tension = solution.phases[0].tensions["string"]
    assert contact.work == pytest.approx(-(tension["weight"] - tension["cart"]) * 0.6)
    bearing = force_named(solution, "bearing torque of bench on pulley")
    assert (bearing.torque, bearing.work) == pytest.approx((-0.001, -0.001 * 0.6 / 0.03))


def test_particle_work_on_a_wheel_is_noticed() -> None:
    """Force times the displacement of the centre, for a force whose point is at rest."""
    set_up = level_track(0.42, 0.08, distance=0.6, wheel_mass=0.024)
    solution = solve(set_up)
    rolling = force_named(solution, "rolling of track on cart")
    wrong = replace(rolling, work=rolling.vector[0] * 0.6, reason=None)
    first = solution.phases[0]
    forces = tuple(wrong if force is rolling else force for force in first.forces)
    fault = replace(solution, phases=(replace(first, forces=forces), *solution.phases[1:]))
    assert unbalanced(set_up, solution) == []
    assert unbalanced(set_up, fault) != []


def test_heat_given_to_one_surface_alone_is_noticed() -> None:
    def partial(set_up: Apparatus, phase: Phase, members: Iterable[str]) -> SystemAccount:
        chosen = tuple(members)
        sound = account(set_up, phase, chosen)
        if "track" not in chosen or "cart" in chosen:
            return sound
        return replace(sound, energy_change=(sound.energy_change or 0.0) + 0.0197702064)

    assert unbalanced(SAMPLE, solve(SAMPLE), accountant=partial) != []
