"""The numbers of the equations of motion, coordinate by coordinate.

Takes an apparatus and its layout; gives masses, driving forces and friction bounds as floats or
arrays. Every coordinate q obeys  mass × q″ = drive − friction − Σ stretch × tension − support.
"""

from dataclasses import dataclass

import numpy as np

from fallwork.mechanics.apparatus import Apparatus, Number
from fallwork.mechanics.layout import Coordinate, Layout


@dataclass(frozen=True, kw_only=True)
class Terms:
    """One number for each coordinate of a layout, in its order."""

    mass: tuple[Number, ...]  # kg, with what rolling and turning adds
    drive: tuple[Number, ...]  # N, gravity along the coordinate's positive sense
    kinetic: tuple[Number, ...]  # N, size of sliding friction, or bearing torque over radius
    static: tuple[Number, ...]  # N, largest size of static friction


def terms_of(apparatus: Apparatus, layout: Layout) -> Terms:
    """The terms of every coordinate."""
    rows = [_row(apparatus, coordinate) for coordinate in layout.coordinates]
    mass, drive, kinetic, static = zip(*rows, strict=True)
    return Terms(mass=mass, drive=drive, kinetic=kinetic, static=static)


def tangent(slope: Number) -> tuple[Number, Number]:
    """(cosine, sine) of a slope; upright gives exactly (0, ±1)."""
    angle = np.asarray(slope)
    upright = np.abs(angle) >= np.pi / 2
    cosine = np.where(upright, 0.0, np.cos(angle))
    sine = np.sin(angle)
    if angle.ndim == 0:
        return float(cosine), float(sine)
    return cosine, sine


def _row(apparatus: Apparatus, coordinate: Coordinate) -> tuple[Number, Number, Number, Number]:
    if coordinate.turns:
        return _turning(apparatus, coordinate.name)
    if coordinate.surface is not None:
        return _on_surface(apparatus, coordinate.name, coordinate.surface)
    mass: Number = 0.0
    for member in coordinate.members:
        thing = apparatus.bodies.get(member) or apparatus.pulleys[member]
        mass = mass + thing.mass
    return mass, mass * apparatus.gravity, 0.0, 0.0


def _turning(apparatus: Apparatus, name: str) -> tuple[Number, Number, Number, Number]:
    pulley = apparatus.pulleys[name]
    if pulley.radius is None:  # only wound on: neither inertia nor bearing torque
        return 0.0, 0.0, 0.0, 0.0
    braking = pulley.bearing_torque / pulley.radius
    return pulley.inertia / pulley.radius**2, 0.0, braking, braking


def _on_surface(
    apparatus: Apparatus, name: str, surface: str
) -> tuple[Number, Number, Number, Number]:
    body = apparatus.bodies[name]
    cosine, sine = tangent(apparatus.surfaces[surface].slope)
    weight = body.mass * apparatus.gravity
    normal = weight * cosine
    kinetic = body.friction * normal
    static = kinetic if body.static_friction is None else body.static_friction * normal
    # A rolling disc of mass m adds m/2: its rim force is (m r²/2)(a/r)/r.
    return body.mass + body.wheel_mass / 2, -weight * sine, kinetic, static
