"""How the parts of an apparatus lie, as far as drawings ask: kinds, slopes, directions of strings.

Takes an apparatus; gives unit vectors (x forward along the level, y up). How strings run is the
solver's rigging.
"""

import math
from dataclasses import dataclass
from itertools import pairwise
from typing import Literal

from fallwork.figures.placing import Point
from fallwork.mechanics.apparatus import Apparatus
from fallwork.mechanics.assembly import direction_of
from fallwork.mechanics.rigging import Element, rigging_of
from fallwork.mechanics.vectors import scaled

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

    def rim(self, turn: int) -> Point:
        """Where it leaves the rim of a pulley, in radii from its middle; ``turn`` as above."""
        x, y = self.direction
        return (0.0 - turn * y, turn * x + 0.0)

    def pull_on(self, name: str) -> Point:
        """The direction in which it pulls one of its two ends."""
        return scaled(self.direction, 1.0 if name == self.start else -1.0)


def straights(apparatus: Apparatus, string: str) -> tuple[Straight, ...]:
    """The straight parts of a string in the order of its path, as the solver has them."""
    line = rigging_of(apparatus).strings[string]
    return tuple(
        Straight(start=start, end=end, direction=direction_of(apparatus, segment))
        for (start, end), segment in zip(pairwise(line.path), line.segments, strict=True)
    )


def unit_of(vector: Point) -> Point:
    """The vector at length 1, free of rounding; NOWHERE for one that is 0."""
    length = math.hypot(*vector)
    if length < 1e-9:
        return NOWHERE
    return (round(vector[0] / length, 12) + 0.0, round(vector[1] / length, 12) + 0.0)


def angle_of(vector: Point) -> float:
    """Its angle in rad from the x axis."""
    return math.atan2(vector[1], vector[0])
