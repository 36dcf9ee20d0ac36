"""Which object the motion sensor watches and which pull the force sensor reads, and what a
solution says of both.

Takes a scenario or a solution; gives names and numbers. Measured motion counts in the direction in
which the watched object goes in the driven part.
"""

from dataclasses import dataclass

from fallwork.mechanics import Phase, Solution
from fallwork.scenario.model import Pulley, Scenario, Slider

DRIVEN, COASTING = "driven", "coasting"  # first words of the names of phases


@dataclass(frozen=True, kw_only=True)
class View:
    """What the sensors look at."""

    moving: str  # the object whose motion is measured
    string: str | None = None  # the string whose pull is measured; None: no force sensor possible
    pulled: str | None = None  # the object on which it is measured


def view_of(scenario: Scenario) -> View:
    """The usual place of sensors: both at a cart or block that a string pulls, else at the object
    of the run. Where a slider has several strings, the one that runs over a pulley is measured.
    """
    moving = _watched(scenario)
    ends = {name: (line.path[0], line.path[-1]) for name, line in scenario.strings.items()}
    here = [name for name, pair in ends.items() if moving in pair]
    over = [name for name in here if _has_pulley(scenario, scenario.strings[name].path)]
    for name in (*over, *here):
        return View(moving=moving, string=name, pulled=moving)
    return View(moving=moving)


def _watched(scenario: Scenario) -> str:
    ends = [end for line in scenario.strings.values() for end in (line.path[0], line.path[-1])]
    sliders = [name for name, thing in scenario.objects.items() if isinstance(thing, Slider)]
    if scenario.run.object in sliders:
        return scenario.run.object
    return next((name for name in sliders if name in ends), scenario.run.object)


def _has_pulley(scenario: Scenario, path: tuple[str, ...]) -> bool:
    return any(isinstance(scenario.objects[name], Pulley) for name in path[1:-1])


def driven_phases(solution: Solution) -> tuple[Phase, ...]:
    """The phases from release until the distance is covered; the one phase of a set-up at rest."""
    found = tuple(phase for phase in solution.phases if phase.name.startswith(DRIVEN))
    return found or solution.phases[:1]


def coasting_phase(solution: Solution, view: View) -> Phase | None:
    """The first phase after landing in which the measured string pulls nothing."""
    for phase in solution.phases:
        if phase.name.startswith(COASTING) and _moves(phase, view.moving):
            return phase if view.string is None or pull(phase, view) == 0 else None
    return None


def _moves(phase: Phase, name: str) -> bool:
    return phase.start_velocities.get(name, 0.0) != 0


def pull(phase: Phase, view: View) -> float | None:
    """The measured pull in N; None where there is none to measure or it can't be told."""
    if view.string is None or view.pulled is None:
        return None
    return phase.tensions[view.string].get(view.pulled)


def direction(phases: tuple[Phase, ...], view: View) -> int:
    """+1 or −1: the sense of the watched object's fixed positive one in which it goes."""
    moved = sum(phase.displacements.get(view.moving) or 0.0 for phase in phases)
    return -1 if moved < 0 else 1


def ratio(phase: Phase, view: View, name: str) -> float:
    """How far an object moves, in its own positive sense, for each metre of the watched one."""
    watched = phase.accelerations.get(view.moving)
    return phase.accelerations.get(name, 0.0) / watched if watched else 0.0
