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
class Term:
    """The numbers of one coordinate.

    Forces are ``load`` times an acceleration, so that what falls or rubs by its own weight needs
    no division by its mass.
    """

    mass: Number  # kg, with what rolling and turning adds
    load: Number  # kg, what gravity pulls on; 1 kg for a turning pulley
    fall: Number  # m/s², gravity along the coordinate's positive sense
    kinetic: Number  # m/s², sliding friction over load
    static: Number  # m/s², the largest static friction over load

    @property
    def drive(self) -> Number:
        """Gravity along the coordinate, N."""
        return times(self.load, self.fall)

    def friction(self, *, static: bool) -> Number:
        """The size of sliding friction, or the largest of static friction, N."""
        return times(self.load, self.static if static else self.kinetic)

    def force(self, way: int | None, *, static: bool) -> Number:
        """Drive less friction against a motion that way, N."""
        return plus(self.drive, -float(way or 0), self.friction(static=static))

    def own(self, way: int | None, *, static: bool) -> tuple[tuple[float, Number], ...]:
        """What ``force`` would do by itself, m/s², as factors and parts. Needs a mass."""
        rubbing = self.static if static else self.kinetic
        parts = ((1.0, self.fall), (-float(way or 0), rubbing))
        if self.load is self.mass:
            return parts
        share = self.load / self.mass
        return tuple((factor, times(part, share)) for factor, part in parts)


Terms = tuple[Term, ...]  # one a coordinate of a layout, in its order


def terms_of(apparatus: Apparatus, layout: Layout) -> Terms:
    """The terms of every coordinate."""
    return tuple(_term(apparatus, coordinate) for coordinate in layout.coordinates)


def tangent(slope: Number) -> tuple[Number, Number]:
    """(cosine, sine) of a slope; upright gives exactly (0, ±1).

    What is beyond counts as upright: the uncertainty of a slope may reach there.
    """
    upright = np.abs(slope) >= np.pi / 2
    if np.ndim(slope) == 0:
        return (0.0, math.copysign(1.0, slope)) if upright else (math.cos(slope), math.sin(slope))
    return np.where(upright, 0.0, np.cos(slope)), np.where(upright, np.sign(slope), np.sin(slope))


def _term(apparatus: Apparatus, coordinate: Coordinate) -> Term:
    if coordinate.turns:
        return _turning(apparatus, coordinate.name)
    if coordinate.surface is not None:
        return _on_surface(apparatus, coordinate.name, coordinate.surface)
    mass: Number = 0.0
    for member in coordinate.members:
        thing = apparatus.bodies.get(member) or apparatus.pulleys[member]
        mass = plus(mass, 1, thing.mass)
    return Term(mass=mass, load=mass, fall=apparatus.gravity, kinetic=0.0, static=0.0)


def _turning(apparatus: Apparatus, name: str) -> Term:
    pulley = apparatus.pulleys[name]
    if pulley.radius is None:  # only wound on: neither inertia nor bearing torque
        return Term(mass=0.0, load=1.0, fall=0.0, kinetic=0.0, static=0.0)
    braking = pulley.bearing_torque / pulley.radius
    mass = pulley.inertia / pulley.radius**2
    return Term(mass=mass, load=1.0, fall=0.0, kinetic=braking, static=braking)


def _on_surface(apparatus: Apparatus, name: str, surface: str) -> Term:
    body = apparatus.bodies[name]
    cosine, sine = tangent(apparatus.surfaces[surface].slope)
    pressing = times(apparatus.gravity, cosine)
    kinetic = times(body.friction, pressing)
    return Term(
        # A rolling disc of mass m adds m/2: its rim force is (m r²/2)(a/r)/r.
        mass=plus(body.mass, 0.5, body.wheel_mass),
        load=body.mass,
        fall=plus(0.0, -1, times(apparatus.gravity, sine)),
        kinetic=kinetic,
        static=kinetic if body.static_friction is None else times(body.static_friction, pressing),
    )
