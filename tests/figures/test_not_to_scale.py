"""Where answers are held back, sketch and diagram show nothing that was computed."""

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

import pytest

from fallwork.figures import draw
from fallwork.lesson.document import FigureSlot
from fallwork.mechanics import Force, Phase, Solution, solve
from figures.catalogue import setup
from figures.samples import drawn, level_track
from figures.setups import Setup, names

NUMBERS = (
    {"cart": 0.600},
    {"weight": 0.150},
    {"friction": 0.030},
    {"distance": 0.350},
    {"cart": 0.251, "weight": 0.043, "friction": 0.0123, "distance": 0.777},
)
HELD_BACK = [("sketch", ""), ("diagram", "cart"), ("diagram", "weight"), ("diagram", "pulley")]


@pytest.mark.parametrize(("kind", "subject"), HELD_BACK)
@pytest.mark.parametrize("numbers", NUMBERS, ids=str)
def test_other_masses_friction_and_distance_give_the_same_bytes(
    kind: str, subject: str, numbers: dict[str, float]
) -> None:
    other = drawn(kind, subject, to_scale=False, apparatus=level_track(**numbers))
    assert other == drawn(kind, subject, to_scale=False)


def test_the_same_change_shows_where_arrows_are_to_scale() -> None:
    heavier = drawn("diagram", "weight", apparatus=level_track(weight=0.150))
    assert heavier.svg != drawn("diagram", "weight").svg


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


def figure(given: Setup, solution: Solution, kind: str, subject: str) -> Any:
    return draw(
        FigureSlot(kind=kind, subject=subject),
        scenario=given.scenario,
        apparatus=given.apparatus,
        solution=solution,
        lesson=given.lesson,
        to_scale=False,
    )


@pytest.mark.parametrize("case", names())
def test_results_times_a_factor_give_the_same_bytes(case: str) -> None:
    given = setup(case)
    other = solution_times(given.solution, 1.37)
    movers = (*given.apparatus.bodies, *given.apparatus.pulleys)
    for kind, subject in (("sketch", ""), *(("diagram", name) for name in movers)):
        before = figure(given, given.solution, kind, subject)
        assert figure(given, other, kind, subject) == before


def test_a_pulley_with_inertia_doesn_t_show_which_tension_is_larger() -> None:
    given = setup("push-back")
    heavy = replace(given.apparatus.pulleys["pulley"], inertia=1e-3)
    apparatus = replace(given.apparatus, pulleys={"pulley": heavy})
    one = figure(given, given.solution, "diagram", "pulley")
    other = figure(replace(given, apparatus=apparatus), solve(apparatus), "diagram", "pulley")
    assert other == one
