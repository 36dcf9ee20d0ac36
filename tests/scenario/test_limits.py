"""Numbers that just go together: the limits themselves are allowed."""

import shutil
from pathlib import Path

import pytest

from democourse import exchange
from fallwork.errors import BadInput
from fallwork.scenario import load_scenario, with_numbers

SOUND = Path(__file__).parent / "sound" / "scenarios"


@pytest.mark.parametrize(
    ("scenario", "numbers"),
    [
        ("incline", {"ramp.static_friction": "0.20", "ramp.friction": "0.20"}),
        ("train", {"front.starts_at": "2.00 m", "run.distance": "0.001 m", "run.start": "-1 m/s"}),
        ("train", {"run.distance": "1.55 m"}),  # 2.00 m less 0.45 m
        ("train", {"run.distance": "3.00 m", "run.start": "0.1 m/s"}),  # nobody says which way
        ("cart", {"cart.starts_at": "0.599 m", "track.length": "1.199 m"}),
    ],
)
def test_what_is_just_possible_is_allowed(scenario: str, numbers: dict[str, str]) -> None:
    with_numbers(load_scenario(SOUND / f"{scenario}.yaml"), numbers)


def test_a_millimetre_more_than_the_track_leaves_is_told() -> None:
    with pytest.raises(
        BadInput, match=r"the distance 1\.551 m, but track leaves front only 1\.55 m"
    ):
        with_numbers(load_scenario(SOUND / "train.yaml"), {"run.distance": "1.551 m"})


def test_a_moving_pulley_may_have_mass_and_inertia(tmp_path: Path) -> None:
    path = Path(shutil.copy(SOUND / "moving-pulley.yaml", tmp_path))
    both = "mass: 20 g, inertia: 3e-6 kg m², radius: 2 cm"
    exchange(path, "mass: 20 g", both)
    assert load_scenario(path).objects["moving"].inertia.value == 3e-6
