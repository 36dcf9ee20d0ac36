"""Points of a drawing, and how the parts of an apparatus lie, as far as drawings ask.

A point or a vector is a complex number: real forward along the level, imaginary up, in pt or of
length 1. How strings run is the solver's rigging.
"""

import cmath
import math
from itertools import pairwise
from typing import Literal, NamedTuple

from fallwork.mechanics.apparatus import Apparatus
from fallwork.mechanics.rigging import Element, direction_of, rigging_of

Point = complex
DOWN: Point = -1j
NOWHERE: Point = 0j

Kind = Literal["slider", "hanging", "fixed", "moving", "anchor"]


def between(start: Point, end: Point, part: float) -> Point:
    """The point after a part of the way from one point to another."""
    return start + part * (end - start)


def scaled(vector: Point, factor: float) -> Point:
    """factor × vector, without negative zeros."""
    return complex(vector.real * factor + 0.0, vector.imag * factor + 0.0)


def dot(one: Point, other: Point) -> float:
    """Scalar product."""
    return one.real * other.real + one.imag * other.imag


def unit_of(vector: Point) -> Point:
    """The vector at length 1, free of rounding; NOWHERE for one that is 0."""
    if abs(vector) < 1e-9:
        return NOWHERE
    x, y = (round(part / abs(vector), 12) + 0.0 for part in (vector.real, vector.imag))
    return complex(x, y)


def arc(centre: Point, radius: float, start: float, end: float) -> tuple[Point, ...]:
    """Points on a circle between two angles in rad, close enough to look round."""
    steps = max(2, math.ceil(abs(end - start) / math.radians(12)))
    angles = (start + (end - start) * step / steps for step in range(steps + 1))
    return tuple(centre + cmath.rect(radius, angle) for angle in angles)


# An apparatus.


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


class Straight(NamedTuple):
    """The straight part of a string between two neighbours of its path, from back to front."""

    start: str
    end: str
    direction: Point  # unit vector from ``start`` to ``end``
    ties: tuple[str, str]  # at which the string ends

    def rim(self, turn: int) -> Point:
        """Where it leaves the rim of a pulley, in radii from its middle; ``turn`` as above."""
        return scaled(1j * self.direction, turn)

    def pull_on(self, name: str) -> Point:
        """The direction in which it pulls one of its two ends."""
        return scaled(self.direction, 1.0 if name == self.start else -1.0)


def straights(apparatus: Apparatus, string: str) -> tuple[Straight, ...]:
    """The straight parts of a string in the order of its path, as the solver has them."""
    line = rigging_of(apparatus).strings[string]
    ways = (complex(*direction_of(apparatus, segment)) for segment in line.segments)
    pairs, ties = pairwise(line.path), (line.path[0], line.path[-1])
    return tuple(Straight(*ends, way, ties) for ends, way in zip(pairs, ways, strict=True))


class Track(NamedTuple):
    """The top line of a surface, or the part of it on which something stands."""

    back: Point
    front: Point

    @property
    def angle(self) -> float:
        """Its slope in rad."""
        return cmath.phase(self.front - self.back)

    @property
    def length(self) -> float:
        """From back to front."""
        return abs(self.front - self.back)

    def at(self, length: float, height: float = 0.0) -> Point:
        """A point so far from the back, and so high above the surface."""
        return self.back + complex(length, height) * cmath.rect(1.0, self.angle)

    def block(self, x: float, width: float, low: float, high: float) -> tuple[Point, ...]:
        """The corners of a rectangle on it, ``x`` from the back."""
        corners = ((x, low), (x + width, low), (x + width, high), (x, high))
        return tuple(self.at(*corner) for corner in corners)


class Wheel(NamedTuple):
    """A pulley."""

    centre: Point
    radius: float
    turn: int  # +1: the string passes over it, -1: under it
