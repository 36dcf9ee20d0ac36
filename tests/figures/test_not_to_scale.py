"""Where answers are held back, sketch and diagram show nothing that was computed."""

from dataclasses import replace

import pytest

from fallwork.mechanics import solve
from figures.setups import NAMES, level, sample, setup
from lesson.kit import rewritten

NUMBERS: tuple[dict[str, str], ...] = (
    {"cart_mass": "600 g"},
    {"weight_mass": "150 g"},
    {"track_friction": "0.030"},
    {"run_distance": "0.350 m"},
    {"cart_mass": "251 g", "weight_mass": "43 g", "track_friction": "0.0123"},
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


def larger(part: object) -> object:
    return part * 1.37 if isinstance(part, float) else None


@pytest.mark.parametrize("case", NAMES)
def test_results_times_a_factor_give_the_same_bytes(case: str) -> None:
    given = setup(case)
    other = rewritten(given.solution, larger)
    assert other.phases[0].forces != given.solution.phases[0].forces
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
