"""The numbers of the equations of motion, coordinate by coordinate.

Takes an apparatus and its layout; gives masses, driving forces and friction bounds as floats or
arrays. Every coordinate q obeys  mass × q″ = drive − friction − Σ stretch × tension − support.
"""

import math
from dataclasses import dataclass

import numpy as np

from fallwork.mechanics.apparatus import Apparatus, Number
from fallwork.mechanics.arrays import plus, times
from fallwork.mechanics.layout import Coordinate, Layout


@dataclass(frozen=True, kw_only=True)
class Terms:
    """One number for each coordinate of a layout, in its order."""

    mass: tuple[Number, ...]  # kg, with what rolling and turning adds
    drive: tuple[Number, ...]  # N, gravity along the coordinate's positive sense
    fall: tuple[Number, ...]  # m/s², what gravity alone would do to it
    kinetic: tuple[Number, ...]  # N, size of sliding friction, or bearing torque over radius
    static: tuple[Number, ...]  # N, largest size of static friction


def terms_of(apparatus: Apparatus, layout: Layout) -> Terms:
    """The terms of every coordinate."""
    rows = [_row(apparatus, coordinate) for coordinate in layout.coordinates]
    mass, drive, fall, kinetic, static = zip(*rows, strict=True)
    return Terms(mass=mass, drive=drive, fall=fall, kinetic=kinetic, static=static)


def tangent(slope: Number) -> tuple[Number, Number]:
    """(cosine, sine) of a slope; upright gives exactly (0, ±1)."""
    upright = np.abs(slope) >= np.pi / 2
    if np.ndim(slope) == 0:
        return (0.0 if upright else math.cos(slope)), math.sin(slope)
    return np.where(upright, 0.0, np.cos(slope)), np.sin(slope)


Row = tuple[Number, Number, Number, Number, Number]


def _row(apparatus: Apparatus, coordinate: Coordinate) -> Row:
    if coordinate.turns:
        return _turning(apparatus, coordinate.name)
    if coordinate.surface is not None:
        return _on_surface(apparatus, coordinate.name, coordinate.surface)
    mass: Number = 0.0
    for member in coordinate.members:
        thing = apparatus.bodies.get(member) or apparatus.pulleys[member]
        mass = plus(mass, 1, thing.mass)
    return mass, times(mass, apparatus.gravity), apparatus.gravity, 0.0, 0.0


def _turning(apparatus: Apparatus, name: str) -> Row:
    pulley = apparatus.pulleys[name]
    if pulley.radius is None:  # only wound on: neither inertia nor bearing torque
        return 0.0, 0.0, 0.0, 0.0, 0.0
    braking = pulley.bearing_torque / pulley.radius
    return pulley.inertia / pulley.radius**2, 0.0, 0.0, braking, braking


def _on_surface(apparatus: Apparatus, name: str, surface: str) -> Row:
    body = apparatus.bodies[name]
    cosine, sine = tangent(apparatus.surfaces[surface].slope)
    weight = times(body.mass, apparatus.gravity)
    normal = times(weight, cosine)
    kinetic = times(body.friction, normal)
    static = kinetic if body.static_friction is None else times(body.static_friction, normal)
    # A rolling disc of mass m adds m/2: its rim force is (m r²/2)(a/r)/r.
    mass = plus(body.mass, 0.5, body.wheel_mass)
    drive, fall = (plus(0.0, -1, times(x, sine)) for x in (weight, apparatus.gravity))
    return mass, drive, fall, kinetic, static
