"""Which systems are listed, every choice or classes of them, and which energies they can have."""

import math
import random
from collections.abc import Sequence
from importlib import import_module

import pytest

from fallwork.mechanics import (
    Apparatus,
    Phase,
    SystemAccount,
    account,
    accounts,
    objects,
    solve,
    systems,
)
from mechanics.kit import level_track
from mechanics.scenes import KINDS, random_scene

SAMPLE = level_track(0.42, 0.08, distance=0.6, friction=0.008, length=1.20, starts_at=0.25)
DRIVEN = solve(SAMPLE).phases[0]


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
    kind: str, thorough: bool, monkeypatch: pytest.MonkeyPatch
) -> None:
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


def test_few_objects_have_every_choice_listed_by_size_and_then_by_members() -> None:
    assert systems(SAMPLE, DRIVEN) == accounts(SAMPLE, DRIVEN)
    listed = [each.members for each in accounts(SAMPLE, DRIVEN) if each.at_will is None]
    assert objects(SAMPLE) == ("Earth", "cart", "pulley", "string", "track", "weight")
    assert len({*listed}) == len(listed) == 2**6 - 1
    assert listed == sorted(listed, key=lambda members: (len(members), members))


@pytest.mark.parametrize(
    ("members", "kinds"),
    [
        ("string", ""),
        ("Earth track", ""),
        ("cart", "kinetic"),
        ("cart Earth", "kinetic potential"),
        ("cart track", "kinetic thermal"),
        ("cart track Earth", "kinetic potential thermal"),
    ],
)
def test_kinds_of_energy_are_those_that_the_choice_can_have(members: str, kinds: str) -> None:
    assert list(account(SAMPLE, DRIVEN, members.split()).energy_changes) == kinds.split()


def test_a_choice_of_nothing_or_of_the_bench_is_no_system() -> None:
    with pytest.raises(ValueError, match=r"^an empty system$"):
        account(SAMPLE, DRIVEN, [])
    with pytest.raises(ValueError, match=r"^no system has the members \['bench'\]$"):
        account(SAMPLE, DRIVEN, ["bench", "cart"])
