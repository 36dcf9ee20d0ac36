"""What the solver takes: an apparatus in SI units, without text, files or uncertainties.

A value is a float, or for the batch solver an array; all arrays of one apparatus broadcast
together. Positive senses: forward on a surface, downward for what hangs, and for a pulley the
turn that goes with its string running from first to last of its path. ``of`` takes each thing
from a scenario, whose quantities may hold arrays.
"""

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from enum import Enum
from typing import Any, Literal, NamedTuple, Self

import numpy as np

from fallwork.scenario import Quantity, model
from fallwork.scenario import String as String
from fallwork.scenario.nouns import EARTH

Number = float | np.ndarray[Any, np.dtype[np.float64]]


class Interaction(Enum):
    """The kinds of interaction; the value is the word used in force names."""

    GRAVITY = "gravity"
    NORMAL = "normal"
    FRICTION = "friction"
    ROLLING = "rolling"
    TENSION = "tension"
    CONTACT = "contact"
    AXLE = "axle"
    BEARING_TORQUE = "bearing torque"
    LANDING = "landing"

    @property
    def key(self) -> str:
        """The word under which texts and figures have it."""
        return self.name.lower().replace("_", "-")


class Applied(NamedTuple):
    """A force that acts whatever moves, by its parts forward along the level and up, N."""

    interaction: Interaction
    by: str
    forward: Number
    up: Number


@dataclass(frozen=True, kw_only=True)
class Surface:
    """A track or table top, at rest."""

    name: str
    slope: Number = 0.0  # rad, positive where the front is higher; beyond upright is upright
    length: Number | None = None  # m

    @classmethod
    def of(cls, given: model.Surface) -> Self:
        """As a scenario has it."""
        return cls(name=given.name, slope=given.slope.value, length=_value(given.length))

    @property
    def tangent(self) -> tuple[Number, Number]:
        """(cosine, sine) of the slope; upright gives exactly (0, ±1).

        What is beyond counts as upright: the uncertainty of a slope may reach there.
        """
        slope, upright = self.slope, np.abs(self.slope) >= np.pi / 2
        if np.ndim(slope) == 0:
            ends = (0.0, math.copysign(1.0, slope))
            return ends if upright else (math.cos(slope), math.sin(slope))
        sine = np.where(upright, np.sign(slope), np.sin(slope))
        return np.where(upright, 0.0, np.cos(slope)), sine


@dataclass(frozen=True, kw_only=True)
class Body:
    """Whatever translates: a cart or block on a surface, or a hanging weight."""

    name: str
    kind: Literal["cart", "glider", "block", "hanging"]
    mass: Number  # kg, wheels included
    surface: str | None = None
    starts_at: Number | None = None  # m, front end from the back of the surface
    friction: Number = 0.0  # coefficient of kinetic friction
    static_friction: Number | None = None  # None: equal to ``friction``
    wheel_mass: Number = 0.0  # kg, all wheels together, uniform discs that roll
    hangs_from: str | None = None  # a moving pulley that carries it rigidly

    @classmethod
    def of(cls, given: model.Slider | model.Hanging, surfaces: Mapping[str, model.Surface]) -> Self:
        """As a scenario has it."""
        name, mass = given.name, given.mass.value
        if isinstance(given, model.Hanging):
            return cls(name=name, kind="hanging", mass=mass, hangs_from=given.hangs_from)
        kinetic, static = _friction(given, surfaces[given.runs_on])
        return cls(
            name=name,
            kind=given.kind,
            mass=mass,
            surface=given.runs_on,
            starts_at=_value(given.starts_at),
            friction=kinetic,
            static_friction=static,
            wheel_mass=given.wheels.count * given.wheels.mass.value if given.wheels else 0.0,
        )


def _friction(thing: model.Slider, surface: model.Surface) -> tuple[Number, Number | None]:
    """Kinetic and static coefficient: the object's own where it has one, else the surface's.

    A surface's static coefficient counts for an object with a kinetic one of its own only where
    it is the larger of the two.
    """
    kinetic = (thing.friction or surface.friction).value
    if thing.static_friction is not None:
        return kinetic, thing.static_friction.value
    if surface.static_friction is None:
        return kinetic, None
    if thing.friction is None:
        return kinetic, surface.static_friction.value
    return kinetic, np.maximum(kinetic, surface.static_friction.value)


@dataclass(frozen=True, kw_only=True)
class Pulley:
    """Fixed to the bench, or moving up and down."""

    name: str
    moving: bool = False
    mass: Number = 0.0  # kg
    inertia: Number = 0.0  # kg m^2 about its axle
    radius: Number | None = None  # m; needed with inertia or bearing torque
    bearing_torque: Number = 0.0  # N m, opposes the turning

    @classmethod
    def of(cls, given: model.Pulley) -> Self:
        """As a scenario has it; with mass and radius but no inertia it is a uniform disc."""
        mass, radius, inertia = map(_value, (given.mass, given.radius, given.inertia))
        if inertia is None:
            inertia = mass * radius**2 / 2 if mass is not None and radius is not None else 0.0
        return cls(
            name=given.name,
            moving=given.moving,
            mass=0.0 if mass is None else mass,
            inertia=inertia,
            radius=radius,
            bearing_torque=given.bearing_torque.value if given.bearing_torque else 0.0,
        )


@dataclass(frozen=True, kw_only=True)
class Run:
    """One release."""

    object: str
    distance: Number | None = None  # m, from its start, either way: ends the driven part
    speed: Number = 0.0  # m/s, signed, of ``object`` at the start
    until: Number | None = None  # s after release

    @classmethod
    def of(cls, given: model.Run) -> Self:
        """As a scenario has it."""
        speed = given.speed.value if given.speed else 0.0
        distance, until = _value(given.distance), _value(given.until)
        return cls(object=given.object, distance=distance, speed=speed, until=until)


@dataclass(frozen=True, kw_only=True, eq=False)  # one is known by its identity
class Apparatus:
    """Everything that the solver needs to know."""

    bodies: Mapping[str, Body]
    pulleys: Mapping[str, Pulley]
    anchors: tuple[str, ...] = ()
    surfaces: Mapping[str, Surface] = field(default_factory=dict)
    strings: Mapping[str, String]
    run: Run
    gravity: Number  # m/s^2

    @classmethod
    def of(cls, given: model.Scenario, gravity: float) -> Self:
        """As a scenario has it; ``gravity`` in m/s²."""
        objects, surfaces = given.objects.values(), given.surfaces
        translating = [t for t in objects if isinstance(t, model.Slider | model.Hanging)]
        return cls(
            bodies={thing.name: Body.of(thing, surfaces) for thing in translating},
            pulleys={t.name: Pulley.of(t) for t in objects if isinstance(t, model.Pulley)},
            anchors=tuple(t.name for t in objects if isinstance(t, model.Anchor)),
            surfaces={name: Surface.of(surface) for name, surface in surfaces.items()},
            strings=given.strings,
            run=Run.of(given.run),
            gravity=gravity,
        )

    @property
    def members(self) -> tuple[str, ...]:
        """Everything that may be a member of a system, in order."""
        return (*self.bodies, *self.pulleys, *self.strings, *self.surfaces, EARTH)

    def applied(self, name: str) -> Iterator[Applied]:
        """The forces on a body or pulley that act whatever moves."""
        thing = self.bodies.get(name) or self.pulleys[name]
        if isinstance(thing, Body) or np.any(thing.mass):
            yield Applied(Interaction.GRAVITY, EARTH, 0.0, -(thing.mass * self.gravity))


def _value(quantity: Quantity | None) -> float | None:
    return None if quantity is None else quantity.value
