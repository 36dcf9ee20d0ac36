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

from fallwork.mechanics.assembly import Setup
from fallwork.mechanics.bounded import Array, Flags, bounded_least_squares
from fallwork.mechanics.equations import conditions_hold, solve_mode
from fallwork.mechanics.faults import NoModeFound
from fallwork.mechanics.problem import Mode, Openings, Problem, Response

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
        problem = setup.problem(static)
        response = _find(problem, ways, openings)
        stages.append(Stage(static=static, response=response))
        broken = (response.mode.sliding != 0) & (problem.bound > setup.kinetic)
        if not broken.any():
            return tuple(stages)
        static = static & ~broken


@dataclass(frozen=True, kw_only=True)
class _Element:
    """One force that the search may choose: its row, its bounds, and where it belongs."""

    kind: str  # "span", "friction" or "pad"
    at: int
    row: Array
    lower: float
    upper: float


def _find(problem: Problem, ways: Array, openings: Openings) -> Response:
    elements = _elements(problem, openings)
    base = _base_mode(problem, ways, openings)
    for mode in _candidates(problem, base, elements):
        response = solve_mode(problem, mode)
        if conditions_hold(problem, response, openings):
            return response
    raise NoModeFound(problem, openings)


def _base_mode(problem: Problem, ways: Array, openings: Openings) -> Mode:
    """What is settled beforehand: what moves slides that way, what is loose pulls nothing."""
    friction = [
        None if bound == 0 else 0 if rest else int(way)
        for bound, rest, way in zip(problem.bound, openings.rest, ways, strict=True)
    ]
    return Mode(
        friction=tuple(friction),
        taut=tuple(False for _ in openings.spans),
        held=tuple(False for _ in openings.landed),
    )


def _elements(problem: Problem, openings: Openings) -> list[_Element]:
    unit = np.eye(len(problem.mass))
    elements = [
        _Element(kind="span", at=int(at), row=problem.stretch[at], lower=0.0, upper=np.inf)
        for at in np.flatnonzero(openings.spans)
    ]
    for at in np.flatnonzero(openings.rest & (problem.bound > 0)):
        size = float(problem.bound[at])
        elements.append(
            _Element(kind="friction", at=int(at), row=unit[at], lower=-size, upper=size)
        )
    for at in np.flatnonzero(openings.landed):
        elements.append(_Element(kind="pad", at=int(at), row=unit[at], lower=0.0, upper=np.inf))
    return elements


def _candidates(problem: Problem, base: Mode, elements: list[_Element]) -> Iterator[Mode]:
    """Modes near the least constraint, those with the most rest and pull first."""
    choices = _choices(problem, base, elements)
    for chosen in product(*choices):
        friction, taut, held = list(base.friction), list(base.taut), list(base.held)
        for element, value in zip(elements, chosen, strict=True):
            if element.kind == "span":
                taut[element.at] = bool(value)
            elif element.kind == "pad":
                held[element.at] = bool(value)
            else:
                friction[element.at] = value
        yield Mode(friction=tuple(friction), taut=tuple(taut), held=tuple(held))


def _choices(problem: Problem, base: Mode, elements: list[_Element]) -> list[tuple[int, ...]]:
    """For each element its possible states, in order of preference."""
    if not elements:
        return []
    heaviest = problem.mass.max(initial=0.0)
    massless = problem.massless
    mass = np.where(massless, LIGHT * heaviest, problem.mass)
    force = (
        problem.drive - base.sliding * problem.bound + np.where(massless, mass * problem.fall, 0.0)
    )
    rows = np.array([element.row for element in elements])
    weight = 1 / np.sqrt(mass)
    values = bounded_least_squares(
        (rows * weight).T,
        weight * force,
        np.array([element.lower for element in elements]),
        np.array([element.upper for element in elements]),
    )
    rates = rows @ ((force - rows.T @ values) / mass)
    strength = np.abs(force).max(initial=0.0) + problem.bound.max(initial=0.0)
    return [
        _options(element, value, rate, EDGE * strength, EDGE * float(problem.scale))
        for element, value, rate in zip(elements, values, rates, strict=True)
    ]


def _options(
    element: _Element, value: float, rate: float, small_force: float, small_rate: float
) -> tuple[int, ...]:
    if element.kind == "friction":
        if abs(rate) > small_rate:
            return (1,) if rate > 0 else (-1,)
        inside = element.upper - abs(value) > small_force
        return (0,) if inside else (0, 1, -1)
    if rate < -small_rate:
        return (0,)
    return (1,) if value > small_force else (1, 0)
