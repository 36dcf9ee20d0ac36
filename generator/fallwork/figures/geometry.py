"""Which way strings run and forces point, from how the apparatus is put together.

Takes an apparatus (names, paths, slopes) and, where a direction depends on the motion, its sign;
gives unit vectors (x forward along the level, y up). No size of any force or mass is used.
"""

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from itertools import pairwise
from typing import Literal

from fallwork.figures.canvas import Point
from fallwork.mechanics.apparatus import Apparatus
from fallwork.mechanics.assembly import direction_of, tangent
from fallwork.mechanics.rigging import Element, rigging_of
from fallwork.mechanics.solution import Force, Interaction, Phase

UP: Point = (0.0, 1.0)
DOWN: Point = (0.0, -1.0)
NOWHERE: Point = (0.0, 0.0)

Kind = Literal["slider", "hanging", "fixed", "moving", "anchor"]


def kind_of(apparatus: Apparatus, name: str) -> Kind:
    """What a name in a string's path stands for."""
    if name in apparatus.bodies:
        return "hanging" if apparatus.bodies[name].surface is None else "slider"
    if name in apparatus.pulleys:
        return "moving" if apparatus.pulleys[name].moving else "fixed"
    return "anchor"


def slope_of(apparatus: Apparatus, name: str) -> float:
    """The slope in rad under a slider, or of a surface itself."""
    body = apparatus.bodies.get(name)
    surface = name if body is None else body.surface or ""
    return float(apparatus.surfaces[surface].slope) if surface in apparatus.surfaces else 0.0


def forward(apparatus: Apparatus, name: str) -> Point:
    """The positive direction of an object: forward along its surface, down for what hangs."""
    if kind_of(apparatus, name) == "slider":
        cosine, sine = tangent(slope_of(apparatus, name))
        return (float(cosine), float(sine))
    return DOWN


def is_hung(apparatus: Apparatus, name: str) -> bool:
    """Whether a moving pulley hangs from the end of a string (not in its bight)."""
    return any(
        (line.path[0] == name and line.segments[0].upright > 0)
        or (line.path[-1] == name and line.segments[-1].upright < 0)
        for line in rigging_of(apparatus).strings.values()
    )


def turn_of(apparatus: Apparatus, name: str) -> int:
    """How a string passes a pulley: +1 over its top, -1 under it."""
    for line in rigging_of(apparatus).strings.values():
        for at, element in enumerate(line.elements):
            if line.path[at] == name and element is Element.MOVING:
                return -line.bight(at)
    return 1


@dataclass(frozen=True, kw_only=True)
class Straight:
    """The straight part of a string between two neighbours of its path, from back to front."""

    start: str
    end: str
    direction: Point  # unit vector from ``start`` to ``end``


def touch(apparatus: Apparatus, name: str, straight: Straight) -> Point:
    """Where a straight part of a string leaves the rim of a pulley, in radii from its middle."""
    x, y = straight.direction
    turn = turn_of(apparatus, name)
    return (0.0 - turn * y, turn * x + 0.0)


def straights(apparatus: Apparatus, string: str) -> tuple[Straight, ...]:
    """The straight parts of a string in the order of its path, as the solver has them."""
    line = rigging_of(apparatus).strings[string]
    return tuple(
        Straight(start=start, end=end, direction=direction_of(apparatus, segment))
        for (start, end), segment in zip(pairwise(line.path), line.segments, strict=True)
    )


def pulls(apparatus: Apparatus, string: str, name: str) -> tuple[Point, ...]:
    """The directions in which a taut string pulls an object that it passes or ends on."""
    found: list[Point] = []
    for straight in straights(apparatus, string):
        if straight.start == name:
            found.append(straight.direction)
        if straight.end == name:
            found.append(minus(straight.direction))
    return tuple(found)


def pull(apparatus: Apparatus, string: str, name: str) -> Point:
    """The direction of a string's whole pull, as if it pulled equally everywhere."""
    parts = pulls(apparatus, string, name)
    return unit_of((sum(x for x, _ in parts), sum(y for _, y in parts)))


def direction(force: Force, apparatus: Apparatus, phase: Phase) -> Point:
    """The direction of a force on a body or pulley, from the set-up.

    NOWHERE for a couple, and where the direction can't be told.
    """
    if force.vector is None:
        return NOWHERE
    return unit_of(_RULES[force.interaction](force, apparatus, phase))


def _normal(force: Force, apparatus: Apparatus, phase: Phase) -> Point:
    x, y = forward(apparatus, force.on)
    return (-y, x)


def _along_surface(force: Force, apparatus: Apparatus, phase: Phase) -> Point:
    """Against the sliding; where nothing slides, the sense that the solution found."""
    x, y = forward(apparatus, force.on)
    slides = force.interaction is Interaction.FRICTION
    way = -phase.sliding.get(force.on, 0) if slides else 0
    if not way and force.vector is not None:
        component = force.vector[0] * x + force.vector[1] * y
        way = (component > 0) - (component < 0)
    return (way * x, way * y)


def _string_pull(force: Force, apparatus: Apparatus, phase: Phase) -> Point:
    return pull(apparatus, force.partner, force.on)


def _axle(force: Force, apparatus: Apparatus, phase: Phase) -> Point:
    """A bearing holds a fixed pulley against its strings; what hangs rigidly is held up."""
    if force.on in apparatus.bodies:
        return UP
    if apparatus.pulleys[force.on].moving:
        return DOWN
    parts = [pull(apparatus, name, force.on) for name in apparatus.strings]
    return (-sum(x for x, _ in parts), -sum(y for _, y in parts))


_RULES: Mapping[Interaction, Callable[[Force, Apparatus, Phase], Point]] = {
    Interaction.GRAVITY: lambda force, apparatus, phase: DOWN,
    Interaction.NORMAL: _normal,
    Interaction.FRICTION: _along_surface,
    Interaction.ROLLING: _along_surface,
    Interaction.TENSION: _string_pull,
    Interaction.CONTACT: _string_pull,
    Interaction.AXLE: _axle,
    Interaction.BEARING_TORQUE: lambda force, apparatus, phase: NOWHERE,
    Interaction.LANDING: lambda force, apparatus, phase: UP,
}


def minus(vector: Point) -> Point:
    """The opposite vector, without negative zeros."""
    return (0.0 - vector[0], 0.0 - vector[1])


def unit_of(vector: Point) -> Point:
    """The vector at length 1; NOWHERE for one that is 0."""
    length = math.hypot(*vector)
    return NOWHERE if length < 1e-9 else (vector[0] / length, vector[1] / length)


def angle_of(vector: Point) -> float:
    """Its angle in rad from the x axis."""
    return math.atan2(vector[1], vector[0])
