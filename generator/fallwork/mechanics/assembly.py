"""The equations of motion as numbers, for one case or for many.

Takes an apparatus and its rigging. Every coordinate q obeys
mass × q″ = drive − friction − Σ stretch × tension − support. Arrays have shape
(..., coordinates): a single case has one axis, of many cases the first axes count them.
"""

from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import cached_property
from itertools import chain
from typing import Any, Self

import numpy as np

from fallwork.mechanics.algebra import Array, Flags
from fallwork.mechanics.apparatus import Apparatus, Number
from fallwork.mechanics.rigging import Coordinate, Rigging, rigging_of


@dataclass(frozen=True, kw_only=True)
class Setup:
    """An apparatus with its equations; in all cases the same numbers are zero."""

    apparatus: Apparatus
    rigging: Rigging
    stretch: Array  # (spans, coordinates)
    mass: Array  # kg, with what rolling and turning adds
    drive: Array  # N, what acts whatever moves, along the coordinate's positive sense
    fall: Array  # m/s², what gravity alone would do; decides where there is no mass
    kinetic: Array  # N, sliding friction
    static: Array  # N, the largest static friction
    bound: Array  # N, of friction: kinetic where it slides, the largest possible where it sticks

    def holding(self, static: Flags) -> Self:
        """The same with static friction where ``static`` says so, (coordinates,)."""
        return replace(self, bound=np.where(static, self.static, self.kinetic))

    def changed(self, change: Callable[[Array], Array]) -> Self:
        """The same with every array of cases changed."""
        names = ("mass", "drive", "fall", "kinetic", "static", "bound")
        arrays: dict[str, Any] = {name: change(getattr(self, name)) for name in names}
        return replace(self, **arrays)

    @cached_property
    def order(self) -> Array:
        """The masses of the first case, by which the lightest are known."""
        return np.asarray(self.mass.reshape(-1, self.mass.shape[-1])[0])

    @cached_property
    def massless(self) -> Flags:
        """Coordinates without mass."""
        return np.asarray(self.order == 0)

    @cached_property
    def scale(self) -> Array:
        """The largest acceleration that any coordinate's own forces could give, m/s², (..., 1)."""
        own = (np.abs(self.drive) + self.bound) / np.where(self.massless, 1.0, self.mass)
        least = np.where(self.massless, np.abs(self.fall), own)
        return np.asarray(least.max(axis=-1, keepdims=True, initial=0.0))

    @cached_property
    def strength(self) -> Array:
        """What any force could be at most, but for what cancels, N, (..., 1)."""
        return np.asarray(self.scale * self.mass.max(axis=-1, keepdims=True, initial=0.0))

    def quiet(self, forces: Array) -> Array:
        """Forces without the noise that rounding leaves of those that cancel."""
        return np.where(np.abs(forces) <= 1e-14 * self.strength, 0.0, forces)

    def filled(self, acceleration: Array) -> Array:
        """Accelerations with free fall, as of something very light, where undetermined."""
        return np.where(np.isnan(acceleration), self.fall, acceleration)


def setup_of(apparatus: Apparatus) -> Setup:
    """The equations of an apparatus. Raises ImpossibleApparatus."""
    rigging = rigging_of(apparatus)
    rows = [number for each in rigging.coordinates for number in _numbers(apparatus, each)]
    numbers = np.stack(np.broadcast_arrays(*rows), dtype=float)
    names, stretch = ("mass", "drive", "fall", "kinetic", "static"), rigging.stretch_matrix()
    # each coordinate's cases side by side in memory
    arrays: Any = {name: np.moveaxis(numbers[at::5], 0, -1) for at, name in enumerate(names)}
    arrays["bound"] = arrays["kinetic"]
    return Setup(apparatus=apparatus, rigging=rigging, stretch=stretch, **arrays)


def _numbers(apparatus: Apparatus, coordinate: Coordinate) -> tuple[Number, ...]:
    """Mass, drive, fall, kinetic and static friction."""
    if coordinate.turns:
        pulley = apparatus.pulleys[coordinate.name]
        if pulley.radius is None:  # only wound on: neither inertia nor bearing torque
            return (0.0,) * 5
        braking = pulley.bearing_torque / pulley.radius
        return pulley.inertia / pulley.radius**2, 0.0, 0.0, braking, braking
    along: tuple[Number, Number] = (0.0, -1.0)
    if coordinate.surface is not None:
        along = apparatus.surfaces[coordinate.surface].tangent
    drive: Number = 0.0  # what acts on the members whatever moves, along that unit vector, N
    for force in chain.from_iterable(map(apparatus.applied, coordinate.members)):
        drive = drive + force.forward * along[0] + force.up * along[1]
    if coordinate.surface is None:
        mass = sum((apparatus.thing(member).mass for member in coordinate.members), 0.0)
        return mass, drive, apparatus.gravity, 0.0, 0.0
    body = apparatus.bodies[coordinate.name]
    pressing = body.mass * apparatus.gravity * along[0]
    static = body.friction if body.static_friction is None else body.static_friction
    return (
        body.mass + body.wheel_mass / 2,  # a disc's rim force is (m r²/2)(a/r)/r = m a/2
        drive,
        -(apparatus.gravity * along[1]) + 0.0,
        body.friction * pressing,
        np.maximum(static, body.friction) * pressing,  # a spread of both may overlap
    )
