"""Where answers are held back, sketch and diagram show nothing that was computed."""

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

import pytest

from fallwork.mechanics import Force, Phase, Solution, solve
from figures.setups import NAMES, level, sample, setup

NUMBERS = (
    {"cart_mass": "600 g"},
    {"weight_mass": "150 g"},
    {"track_friction": "0.030"},
    {"run_distance": "0.350 m"},
    {
        "cart_mass": "251 g",
        "weight_mass": "43 g",
        "track_friction": "0.0123",
        "run_distance": "0.777 m",
    },
)
HELD_BACK = [("sketch", ""), ("diagram", "cart"), ("diagram", "weight"), ("diagram", "pulley")]


@pytest.mark.parametrize("numbers", NUMBERS, ids=str)
def test_other_masses_friction_and_distance_give_the_same_bytes(numbers: dict[str, str]) -> None:
    given = level(**numbers)
    for kind, subject in HELD_BACK:
        other = given.draw(kind, subject, to_scale=False)
        assert other == sample(kind, subject, to_scale=False), kind


def test_the_same_change_shows_where_arrows_are_to_scale() -> None:
    heavier = level(weight_mass="150 g").draw("diagram", "weight")
    assert heavier.svg != sample("diagram", "weight").svg


def scaled(value: Any, factor: float) -> Any:
    """Every number inside times a factor; names and signs of the motion stay."""
    if isinstance(value, float):
        return value * factor
    if isinstance(value, tuple):
        return tuple(scaled(part, factor) for part in value)
    if isinstance(value, Mapping):
        return {name: scaled(part, factor) for name, part in value.items()}
    if isinstance(value, Force):
        return replace(
            value,
            vector=scaled(value.vector, factor),
            torque=scaled(value.torque, factor),
            work=scaled(value.work, factor),
        )
    return value


def solution_times(solution: Solution, factor: float) -> Solution:
    """Every result multiplied: accelerations, speeds, tensions, forces, works, durations."""
    fields = [name for name in Phase.__dataclass_fields__ if name != "sliding"]
    phases = [
        replace(phase, **{name: scaled(getattr(phase, name), factor) for name in fields})
        for phase in solution.phases
    ]
    return replace(solution, phases=tuple(phases))


@pytest.mark.parametrize("case", NAMES)
def test_results_times_a_factor_give_the_same_bytes(case: str) -> None:
    given = setup(case)
    other = solution_times(given.solution, 1.37)
    movers = (*given.apparatus.bodies, *given.apparatus.pulleys)
    for kind, subject in (("sketch", ""), *(("diagram", name) for name in movers)):
        before = given.draw(kind, subject, to_scale=False)
        assert given.draw(kind, subject, to_scale=False, solution=other) == before


def test_a_pulley_with_inertia_doesn_t_show_which_tension_is_larger() -> None:
    given = setup("push-back")
    heavy = replace(given.apparatus.pulleys["pulley"], inertia=1e-3)
    apparatus = replace(given.apparatus, pulleys={"pulley": heavy})
    one = given.draw("diagram", "pulley", to_scale=False)
    other = replace(given, apparatus=apparatus, solution=solve(apparatus))
    assert other.draw("diagram", "pulley", to_scale=False) == one
