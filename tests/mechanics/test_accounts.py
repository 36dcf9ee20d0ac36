"""Which systems are listed, and which energies they can have."""

import pytest

from fallwork.mechanics import account, accounts, objects, solve
from mechanics.kit import level_track

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
