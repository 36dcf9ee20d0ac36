"""Which systems are listed, which energies they can have, and what holds over the whole run."""

from dataclasses import replace

import pytest

from fallwork.mechanics import (
    Apparatus,
    Force,
    Solution,
    ZeroWork,
    account,
    account_of_run,
    accounts,
    objects,
    solve,
)
from mechanics.answers import ending
from mechanics.kit import fixed, level_track, rig

SAMPLE = level_track(0.42, 0.08, distance=0.6, friction=0.008, length=1.20, starts_at=0.25)
DRIVEN = solve(SAMPLE).phases[0]


def test_every_choice_is_listed_by_size_and_then_by_members() -> None:
    listed = [each.members for each in accounts(SAMPLE, DRIVEN)]
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


def over_the_run(set_up: Apparatus, solution: Solution, name: str) -> Force:
    """A force on its object alone over the whole run."""
    run = account_of_run(set_up, solution, [name.rpartition(" on ")[2]])
    (found,) = (force for force in run.external if force.name == name)
    return found


def test_of_several_reasons_the_one_that_says_most_counts() -> None:
    """Driven, the pulley is ideal; afterwards the string is slack."""
    set_up = level_track(0.5, 0.1, distance=0.5, friction=0.05)
    solution = solve(set_up)
    backward = replace(solution, phases=solution.phases[::-1])
    for each in (solution, backward):
        contact = over_the_run(set_up, each, "contact of pulley on string")
        assert contact.reason is ZeroWork.IDEAL_PULLEY
        assert contact.vector is None  # no single one over the whole run


def test_works_that_cancel_over_the_run() -> None:
    """Thrown up a slope, a cart comes back to where it started."""
    things = ("cart cart 0.5 starts_at=0.0 friction=0.1", "track track slope=20 length=2.0")
    set_up = rig(*things, run="cart speed=1.0")
    solution = solve(set_up)
    gravity = over_the_run(set_up, solution, "gravity of Earth on cart")
    assert ending(solution.phases[-1]) == "cart reaches the back end of track"
    assert (gravity.work, gravity.reason) == (0.0, ZeroWork.CANCELS)


def test_a_couple_that_changes_has_no_single_torque_over_the_run() -> None:
    """The bearing brakes until the pulley stands still."""
    pulley = fixed("pulley", radius=0.03, inertia=1e-4, bearing_torque=0.003)
    set_up = level_track(0.5, 0.2, distance=0.5, friction=0.05, pulley=pulley)
    braking = over_the_run(set_up, solve(set_up), "bearing torque of bench on pulley")
    assert braking.torque is None
