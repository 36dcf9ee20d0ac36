"""The numbers of the equations of motion, coordinate by coordinate.

Takes an apparatus and its rigging; gives masses, driving forces and friction bounds, for one
case or for many. Every coordinate q obeys
mass × q″ = drive − friction − Σ stretch × tension − support.
"""

from dataclasses import dataclass, replace
from typing import Any, NamedTuple

import numpy as np

from fallwork.mechanics.apparatus import Apparatus, Number
from fallwork.mechanics.arrays import Rows, as_rows, plus, some_of, times
from fallwork.mechanics.bounded import Array, Flags
from fallwork.mechanics.problem import Problem
from fallwork.mechanics.rigging import Coordinate, Rigging, Segment, rigging_of
from fallwork.mechanics.vectors import Vector


@dataclass(frozen=True, kw_only=True)
class Setup:
    """An apparatus with its equations of motion: all that doesn't change during the run."""

    apparatus: Apparatus
    rigging: Rigging
    stretch: Array  # (spans, coordinates)
    mass: Rows  # kg, with what rolling and turning adds
    drive: Rows  # N, gravity along the coordinate's positive sense
    fall: Rows  # m/s², the same of what falls by itself
    kinetic: Rows  # N, sliding friction
    static: Rows  # N, the largest static friction

    def problem(self, static: Flags | None = None) -> Problem:
        """The equations with static friction where ``static`` says so, (coordinates,)."""
        bound = self.kinetic
        if static is not None:
            pairs = zip(static, self.static, self.kinetic, strict=True)
            bound = as_rows([most if may else least for may, most, least in pairs])
        return Problem(
            stretch=self.stretch, mass=self.mass, drive=self.drive, fall=self.fall, bound=bound
        )

    def some(self, cases: Any) -> "Setup":
        """Some of the cases, by an index as NumPy takes it."""
        return replace(
            self,
            mass=some_of(self.mass, cases),
            drive=some_of(self.drive, cases),
            fall=some_of(self.fall, cases),
            kinetic=some_of(self.kinetic, cases),
            static=some_of(self.static, cases),
        )


class Numbers(NamedTuple):
    """The numbers of one coordinate, as in ``Setup``."""

    mass: Number
    drive: Number = 0.0
    fall: Number = 0.0
    kinetic: Number = 0.0
    static: Number = 0.0


def setup_of(apparatus: Apparatus, rigging: Rigging | None = None) -> Setup:
    """The set-up of an apparatus; ``rigging`` where it is known. Raises ImpossibleApparatus."""
    rigging = rigging or rigging_of(apparatus)
    numbers = [_numbers(apparatus, coordinate) for coordinate in rigging.coordinates]
    return Setup(
        apparatus=apparatus,
        rigging=rigging,
        stretch=rigging.stretch_matrix(),
        mass=as_rows([each.mass for each in numbers]),
        drive=as_rows([each.drive for each in numbers]),
        fall=as_rows([each.fall for each in numbers]),
        kinetic=as_rows([each.kinetic for each in numbers]),
        static=as_rows([each.static for each in numbers]),
    )


def direction_of(apparatus: Apparatus, segment: Segment) -> Vector:
    """The unit vector of a straight piece of string, in the direction of its path."""
    if segment.along is not None:
        cosine, sine = apparatus.surfaces[segment.along].tangent
        return float(cosine), float(sine)
    return (0.0, float(segment.upright)) if segment.upright else (1.0, 0.0)


def _numbers(apparatus: Apparatus, coordinate: Coordinate) -> Numbers:
    if coordinate.turns:
        return _turning(apparatus, coordinate.name)
    if coordinate.surface is not None:
        return _on_surface(apparatus, coordinate, coordinate.surface)
    things = (apparatus.bodies.get(m) or apparatus.pulleys[m] for m in coordinate.members)
    mass: Number = 0.0
    for thing in things:
        mass = plus(mass, 1, thing.mass)
    drive = _drive(apparatus, coordinate, (0.0, -1.0))
    return Numbers(mass=mass, drive=drive, fall=apparatus.gravity)


def _drive(apparatus: Apparatus, coordinate: Coordinate, along: tuple[Number, Number]) -> Number:
    """What acts on the members whatever moves, along a unit vector, N."""
    total: Number = 0.0
    for member in coordinate.members:
        for force in apparatus.applied(member):
            for part, share in zip((force.forward, force.up), along, strict=True):
                total = plus(total, 1, times(part, share))
    return total


def _turning(apparatus: Apparatus, name: str) -> Numbers:
    pulley = apparatus.pulleys[name]
    if pulley.radius is None:  # only wound on: neither inertia nor bearing torque
        return Numbers(mass=0.0)
    braking = pulley.bearing_torque / pulley.radius
    return Numbers(mass=pulley.inertia / pulley.radius**2, kinetic=braking, static=braking)


def _on_surface(apparatus: Apparatus, coordinate: Coordinate, surface: str) -> Numbers:
    body, along = apparatus.bodies[coordinate.name], apparatus.surfaces[surface].tangent
    cosine, sine = along
    fall = plus(0.0, -1, times(apparatus.gravity, sine))
    pressing = times(apparatus.gravity, cosine)
    kinetic = times(body.mass, times(body.friction, pressing))
    static = body.static_friction
    if static is not None:
        static = np.maximum(static, body.friction)  # a spread of both may overlap
    return Numbers(
        # A rolling disc of mass m adds m/2: its rim force is (m r²/2)(a/r)/r.
        mass=plus(body.mass, 0.5, body.wheel_mass),
        drive=_drive(apparatus, coordinate, along),
        fall=fall,
        kinetic=kinetic,
        static=kinetic if static is None else times(body.mass, times(static, pressing)),
    )
