"""Every system balances and Newton's laws hold, on random set-ups; and faults are noticed."""

from collections.abc import Iterable
from dataclasses import replace
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fallwork.mechanics import Apparatus, Phase, Solution, SystemAccount, account, solve
from mechanics import promises
from mechanics.kit import level_track, rig, wheel
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
SAMPLE = level_track(0.42, 0.08, distance=0.6, friction=0.008, length=1.20, starts_at=0.25)
BRAKED = level_track(0.42, 0.08, distance=0.6, pulley=wheel(inertia=2e-5, bearing_torque=0.001))
ROLLING = level_track(0.42, 0.08, distance=0.6, wheel_mass=0.024)


@given(level_tracks)
def test_level_tracks_balance_and_obey_newton(set_up):
    assert every_complaint(set_up, solve(set_up)) == []


@pytest.mark.parametrize("kind", KINDS)
def test_all_kinds_balance_and_obey_newton(kind, thorough):
    """5,200 set-ups over 13 kinds, a third of them with static friction of its own."""
    for seed in range(400 if thorough else 20):
        set_up = random_scene(kind, seed, static=seed % 3 == 0).apparatus
        assert every_complaint(set_up, solve(set_up), seed) == [], f"seed {seed}"


@pytest.mark.parametrize("kind", ["composite", "several freedoms", "moving pulley", "drum"])
def test_massless_pulleys_with_brakes_balance_and_obey_newton(kind, thorough):
    for seed in range(150 if thorough else 10):
        set_up = without_inertia(random_scene(kind, seed).apparatus, seed)
        assert every_complaint(set_up, solve(set_up), seed) == [], f"seed {seed}"


@pytest.mark.parametrize("heavy", [0.05, 50.0, 1000.0])
def test_a_speck_between_heavy_carts_costs_no_digit(heavy, monkeypatch):
    """1 mg tied between carts of 50 g to 1 t: their pulls differ by the small force on it."""
    monkeypatch.setattr(promises, "GIVE", 1e-14)
    set_up = rig(
        *(f"cart rear {heavy}", "cart speck 1e-6", f"cart front {heavy}"),
        *("hanging weight 0.02", "fixed pulley", "track track"),
        coupling="rear speck",
        other="speck front",
        string="front pulley weight",
        run="weight distance=0.5",
    )
    solution = solve(set_up)
    assert every_complaint(set_up, solution) == []
    pull = 0.02 * 9.80665 / (2 * heavy + 1e-6 + 0.02)  # m/s² of all, by hand
    tensions = solution.phases[0].tensions
    assert tensions["coupling"]["rear"] == pytest.approx(heavy * pull, rel=1e-14)
    assert tensions["other"]["front"] == pytest.approx((heavy + 1e-6) * pull, rel=1e-14)


# ---- planted faults are noticed

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


def changed(solution: Solution, name: str, field: str, factor: float | None) -> Solution:
    """With one force of the first phase changed; without a factor its work is that of a particle:
    force times the displacement of the centre, which its point doesn't share.
    """
    first, *others = solution.phases
    (force,) = (each for each in first.forces if each.name == name)
    old: Any = getattr(force, field)
    new = tuple(factor * x for x in old) if isinstance(old, tuple) else (factor or 0.0) * old
    if factor is None:
        new = force.vector[0] * first.displacements[force.on]
    assert new != old
    spoilt = replace(force, reason=None if new else force.reason, **{field: new})
    forces = tuple(spoilt if each is force else each for each in first.forces)
    return replace(solution, phases=(replace(first, forces=forces), *others))


@pytest.mark.parametrize(
    ("set_up", "name", "field", "factor", "noticed"),  # by energies, by Newton's laws
    [
        *(
            (SAMPLE, force.name, "work", 1.001, (True, False))
            for force in solve(SAMPLE).phases[0].forces
            if force.work
        ),
        (SAMPLE, "normal of track on cart", "vector", 1.001, (False, True)),
        (TWO_TO_ONE, "tension of hook on string", "vector", -1.0, (False, True)),
        (BRAKED, "contact of pulley on string", "work", 0.0, (True, False)),
        (BRAKED, "bearing torque of bench on pulley", "torque", 1.01, (False, True)),
        (ROLLING, "rolling of track on cart", "work", None, (True, False)),
    ],
)
def test_a_wrong_force_torque_or_work_is_noticed(set_up, name, field, factor, noticed):
    solution = solve(set_up)
    fault = changed(solution, name, field, factor)
    assert unbalanced(set_up, solution) == off_newton(set_up, solution) == []
    assert (unbalanced(set_up, fault) != [], off_newton(set_up, fault) != []) == noticed


def test_a_force_without_its_reaction_is_noticed():
    """Cart and string each get their pull changed by the same, so that single ones still agree."""
    fault = changed(solve(SAMPLE), "tension of cart on string", "vector", 2.0)
    phase, name = fault.phases[0], "contact of pulley on string"
    (contact,) = (force for force in phase.forces if force.name == name)
    x, y = contact.vector
    other = replace(contact, vector=(x + phase.tensions["string"]["cart"], y))
    forces = tuple(other if force is contact else force for force in phase.forces)
    fault = replace(fault, phases=(replace(phase, forces=forces), *fault.phases[1:]))
    pairs = {what.split(": ")[0] for what in off_newton(SAMPLE, fault)}
    assert pairs == {"driven cart and string", "driven pulley and string"}


def test_heat_given_to_one_surface_alone_is_noticed():
    def partial(set_up: Apparatus, phase: Phase, members: Iterable[str]) -> SystemAccount:
        sound = account(set_up, phase, members)
        heat = 0.0197702064 if "track" in sound.members and "cart" not in sound.members else 0.0
        return replace(sound, energy_change=(sound.energy_change or 0.0) + heat)

    assert unbalanced(SAMPLE, solve(SAMPLE), accountant=partial) != []
