"""Which object the motion sensor watches and which pull the force sensor reads, and what a
solution says of both.

Takes a scenario or a solution; gives names and numbers. Measured motion counts in the direction in
which the watched object goes in the driven part.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from math import nan

import numpy as np

from fallwork.measurement.model import Measurand
from fallwork.mechanics import Apparatus, Phase, Solution, solve
from fallwork.mechanics.solution import Role
from fallwork.scenario import Pulley, Scenario, Slider

GRIP = 1e6  # coefficient of static friction of an object that a hand holds


@dataclass(frozen=True, kw_only=True)
class View:
    """What the sensors look at."""

    moving: str  # the object whose motion is measured
    string: str | None = None  # the string whose pull is measured; None: no force sensor possible
    pulled: str | None = None  # the object on which it is measured


def view_of(scenario: Scenario) -> View:
    """The usual place of sensors: both at the object of the run if it slides, else at a cart or
    block that a string over a pulley pulls, else at the object of the run. Where a slider has
    several strings, the one that runs over a pulley is measured.
    """
    things, moving = scenario.objects, scenario.run.object
    ends = {name: (line.path[0], line.path[-1]) for name, line in scenario.strings.items()}
    over = [
        name
        for name, line in scenario.strings.items()
        if any(isinstance(things[passed], Pulley) for passed in line.path[1:-1])
    ]
    if not isinstance(things[moving], Slider):
        tied = {end for name in over for end in ends[name]}
        sliders = (name for name, thing in things.items() if isinstance(thing, Slider))
        moving = next((name for name in sliders if name in tied), moving)
    string = next((name for name in (*over, *ends) if moving in ends[name]), None)
    return View(moving=moving, string=string, pulled=string and moving)


def driven_phases(solution: Solution) -> tuple[Phase, ...]:
    """The phases from release until the distance is covered; the one phase of a set-up at rest."""
    found = tuple(phase for phase in solution.phases if phase.role is Role.DRIVEN)
    return found or solution.phases[:1]


def coasting_phase(solution: Solution, view: View) -> Phase | None:
    """The first phase after landing in which the measured string pulls nothing."""
    for phase in solution.phases:
        if phase.role is Role.COASTING and phase.start_velocities.get(view.moving, 0.0) != 0:
            return phase if view.string is None or pull(phase, view) == 0 else None
    return None


def pull(phase: Phase, view: View) -> float | None:
    """The measured pull in N; None where there is none to measure or it can't be told."""
    if view.string is None or view.pulled is None:
        return None
    return phase.tensions[view.string].get(view.pulled)


def direction(phases: tuple[Phase, ...], view: View) -> int:
    """+1 or −1: the sense of the watched object's fixed positive one in which it goes."""
    moved = sum(phase.displacements.get(view.moving) or 0.0 for phase in phases)
    return -1 if moved < 0 else 1


def turns_round(phases: Sequence[Phase], view: View) -> bool:
    """Whether the watched object starts against the way that it goes in the end."""
    start = phases[0].start_velocities.get(view.moving, 0.0)
    return direction(tuple(phases), view) * start < 0 and len(phases) > 1


def measurands_of(solution: Solution, view: View) -> dict[str, float]:
    """What a perfect measurement would find, by Measurand; what doesn't exist is left out.

    The acceleration and the tension of a run that turns round are those after the turn: friction
    changes its side there.
    """
    phases = driven_phases(solution)
    way, turned = direction(phases, view), turns_round(phases, view)
    straight, last, none = phases[-1 if turned else 0], phases[-1], {view.moving: nan}
    each = ((p.duration, {**none, **p.displacements}[view.moving], pull(p, view)) for p in phases)
    durations, moved, pulls = np.array([*each], dtype=float).T  # nan for None
    found = {Measurand.ACCELERATION: way * straight.accelerations.get(view.moving, 0.0)}
    if solution.moves and np.isfinite(durations).all():
        time, distance, end = sum(durations), sum(moved), last.end_velocities.get(view.moving)
        work, impulse = sum(pulls * moved), sum(pulls * durations)
        found |= {
            Measurand.FINAL_SPEED: nan if end is None else way * end,
            Measurand.TRAVEL_TIME: time,
            Measurand.DISTANCE: way * distance,
        }
        if distance and time:
            found |= {
                Measurand.MEAN_TENSION: pulls[-1] if turned else work / distance,
                Measurand.WORK_OF_TENSION: way * work,
                Measurand.TENSION_OVER_TIME: impulse / time,
            }
    else:
        found[Measurand.MEAN_TENSION] = pulls[0]
    coasting = coasting_phase(solution, view)
    if coasting is not None:
        found[Measurand.COASTING_ACCELERATION] = way * coasting.accelerations[view.moving]
    return {str(name): float(value) for name, value in found.items() if np.isfinite(value)}


def known_sum(values: Sequence[float | None]) -> float | None:
    """The sum; None where a part of it is unknown."""
    known = [value for value in values if value is not None]
    return sum(known) if len(known) == len(values) else None


def held_pull(apparatus: Apparatus, view: View) -> float:
    """The pull while a hand holds the object: a cart by any force, a weight not at all."""
    if view.string is None or view.pulled is None:
        return 0.0
    bodies = {
        name: body if body.surface is None else replace(body, static_friction=GRIP)
        for name, body in apparatus.bodies.items()
    }
    free = {name: replace(pulley, bearing_torque=0.0) for name, pulley in apparatus.pulleys.items()}
    at_rest = replace(apparatus, bodies=bodies, pulleys=free, run=replace(apparatus.run, speed=0.0))
    if apparatus.bodies[view.pulled].surface is None:
        return float(apparatus.bodies[view.pulled].mass * apparatus.gravity)
    return pull(solve(at_rest).phases[0], view) or 0.0
