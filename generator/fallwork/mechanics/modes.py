"""Finding the mode: sliding either way, sticking, taut, slack, resting, all at once.

Takes the numbers and what is open; gives the motion whose conditions all hold. Rests on Gauss's
principle of least constraint: among all loads within their bounds (a string only pulls, friction
has a largest size, a pad only pushes) the real ones make the sum of (net force)²/mass least.
That is one bounded least squares problem; what it leaves on an edge is tried out exactly.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import product

import numpy as np

from fallwork.mechanics.algebra import Array, Flags, bounded_least_squares
from fallwork.mechanics.assembly import Setup
from fallwork.mechanics.equations import (
    Mode,
    Openings,
    Response,
    Unknowns,
    conditions_hold,
    solve_mode,
    unknowns,
)
from fallwork.mechanics.faults import NoModeFound

EDGE = 1e-5  # relative distance from a bound below which both sides are tried
LIGHT = 1e-6  # what stands for no mass in the search, relative to the largest mass


@dataclass(frozen=True, kw_only=True)
class Stage:
    """A response, and which coordinates could hold with their static friction when it was found."""

    static: Flags
    response: Response


def find_stages(setup: Setup, ways: Array, openings: Openings) -> tuple[Stage, ...]:
    """The motion of a single case, last of the stages that lead to it.

    First, everything at rest may hold with its static friction; what breaks loose then goes on
    with kinetic friction, and so on until nothing more breaks loose. ``ways`` holds the sign of
    each coordinate's speed. So whatever can stay at rest stays at rest.
    """
    static = openings.rest
    stages: list[Stage] = []
    while True:
        holding = setup.holding(static)
        response = _find(holding, ways, openings)
        stages.append(Stage(static=static, response=response))
        broken = (response.mode.sliding != 0) & (holding.bound > setup.kinetic)
        if not broken.any():
            return tuple(stages)
        static = static & ~broken


def _find(setup: Setup, ways: Array, openings: Openings) -> Response:
    for mode in _candidates(setup, ways, openings):
        response = solve_mode(setup, mode)
        if conditions_hold(setup, response, openings):
            return response
    raise NoModeFound(setup, openings)


def _candidates(setup: Setup, ways: Array, openings: Openings) -> Iterator[Mode]:
    """Modes near the least constraint, those with the most rest and pull first."""
    rubbing = openings.rest & (setup.bound > 0)
    sliding = np.where(openings.rest | (setup.bound == 0), 0.0, ways)
    open_ = unknowns(setup, openings.spans, rubbing, openings.landed)
    for chosen in product(*_choices(setup, sliding, open_)):
        found = {"tension": np.zeros(len(setup.stretch)), "resistance": sliding.copy()}
        found["support"] = np.zeros(len(sliding))
        for (kind, at), value in zip(open_.places, chosen, strict=True):
            found[kind][at] = value
        yield Mode(
            sliding=found["resistance"],
            sticking=rubbing & (found["resistance"] == 0),
            taut=found["tension"] == 1,
            held=found["support"] == 1,
        )


def _choices(setup: Setup, sliding: Array, open_: Unknowns) -> list[tuple[int, ...]]:
    """For each unknown its possible states, in order of preference: a pull or a support is there
    (1) or not (0), friction sticks (0) or slides either way."""
    massless = setup.massless
    mass = np.where(massless, LIGHT * setup.mass.max(initial=0.0), setup.mass)
    force = setup.drive - sliding * setup.bound + np.where(massless, mass * setup.fall, 0.0)
    weight = 1 / np.sqrt(mass)
    matrix = open_.matrix
    values = bounded_least_squares(
        matrix * weight[:, None], weight * force, open_.lower, open_.upper
    )
    rates = matrix.T @ ((force - matrix @ values) / mass)
    strength = np.abs(force).max(initial=0.0) + setup.bound.max(initial=0.0)
    small, slow = EDGE * strength, EDGE * float(setup.scale[0])
    choices: list[tuple[int, ...]] = []
    for (kind, _), value, rate, most in zip(open_.places, values, rates, open_.upper, strict=True):
        if kind == "resistance":
            inside = most - abs(value) > small
            still = (0,) if inside else (0, 1, -1)
            choices.append(still if abs(rate) <= slow else (1,) if rate > 0 else (-1,))
        else:
            choices.append((0,) if rate < -slow else (1,) if value > small else (1, 0))
    return choices
