"""What the solver takes: an apparatus in SI units, without text, files or uncertainties; and the
errors that tell why it can't be though each of its parts can.

A value is a float, or for the batch solver an array; all arrays of one apparatus broadcast
together. Positive senses: forward on a surface, downward for what hangs, and for a pulley the
turn that goes with its string running from first to last of its path. ``of`` takes it from a
scenario, whose quantities may hold arrays. Names that stand for nothing and numbers that make no
sense are refused by the scenario stage, which has the words of all rules.
"""

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, fields, replace
from enum import StrEnum
from typing import Any, Literal, NamedTuple, Self, TypeVar

import numpy as np

from fallwork.errors import FallworkError
from fallwork.scenario import model
from fallwork.scenario.model import String as String
from fallwork.scenario.nouns import EARTH
from fallwork.scenario.report import refusal

Number = float | np.ndarray[Any, np.dtype[np.float64]]
Kind = TypeVar("Kind")


class Interaction(StrEnum):
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

    @property
    def tangent(self) -> tuple[Number, Number]:
        """(cosine, sine) of the slope; upright gives exactly (0, ±1). What is beyond counts as
        upright: the uncertainty of a slope may reach there.
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
    kind: model.SliderKind | Literal["hanging"]
    mass: Number  # kg, wheels included
    surface: str | None = None
    starts_at: Number | None = None  # m, front end from the back of the surface
    friction: Number = 0.0  # coefficient of kinetic friction
    static_friction: Number | None = None  # None: equal to ``friction``
    wheel_mass: Number = 0.0  # kg, all wheels together, uniform discs that roll
    hangs_from: str | None = None  # a moving pulley that carries it rigidly


@dataclass(frozen=True, kw_only=True)
class Pulley:
    """Fixed to the bench, or moving up and down."""

    name: str
    moving: bool = False
    mass: Number = 0.0  # kg
    inertia: Number = 0.0  # kg m^2 about its axle
    radius: Number | None = None  # m; needed with inertia or bearing torque
    bearing_torque: Number = 0.0  # N m, opposes the turning

    @property
    def takes_torque(self) -> bool:
        """Whether it takes one to turn it."""
        return bool(np.any(self.inertia) or np.any(self.bearing_torque))


@dataclass(frozen=True, kw_only=True)
class Run:
    """One release."""

    object: str
    distance: Number | None = None  # m, from its start, either way: ends the driven part
    speed: Number = 0.0  # m/s, signed, of ``object`` at the start
    until: Number | None = None  # s after release


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
        things, surfaces = given.objects.values(), given.surfaces
        bodies = [t for t in things if isinstance(t, model.Slider | model.Hanging)]
        pulleys = [_as_given(Pulley, t) for t in things if isinstance(t, model.Pulley)]
        return cls(
            bodies={each.name: _body(each, surfaces) for each in bodies},
            pulleys={each.name: each for each in pulleys},
            anchors=tuple(thing.name for thing in things if isinstance(thing, model.Anchor)),
            surfaces={name: _as_given(Surface, surface) for name, surface in surfaces.items()},
            strings=given.strings,
            run=_as_given(Run, given.run),
            gravity=gravity,
        )

    @property
    def members(self) -> tuple[str, ...]:
        """Everything that may be a member of a system, in order."""
        return (*self.bodies, *self.pulleys, *self.strings, *self.surfaces, EARTH)

    def thing(self, name: str) -> Body | Pulley:
        """The body or pulley of that name."""
        return self.bodies.get(name) or self.pulleys[name]

    def applied(self, name: str) -> Iterator[Applied]:
        """The forces on a body or pulley that act whatever moves."""
        thing = self.thing(name)
        if isinstance(thing, Body) or np.any(thing.mass):
            yield Applied(Interaction.GRAVITY, EARTH, 0.0, -(thing.mass * self.gravity))


def _as_given(cls: type[Kind], given: Any, **more: Any) -> Kind:
    """What a thing of a scenario says under the same names, with values in place of quantities; a
    disc of known mass and radius is uniform.
    """
    names = {each.name for each in fields(cls)}  # type: ignore[arg-type]
    said = {name: each for name, each in vars(given).items() if name in names and each is not None}
    said = {name: getattr(each, "value", each) for name, each in said.items()}
    if cls is Pulley and "inertia" not in said and {"mass", "radius"} <= {*said}:
        said["inertia"] = said["mass"] * said["radius"] ** 2 / 2
    return cls(**said, **more)


def _body(given: model.Slider | model.Hanging, surfaces: Mapping[str, model.Surface]) -> Body:
    """With the friction of the object where it has its own, else that of its surface. A surface's
    static coefficient counts beside a kinetic one of the object's own only where it is larger.
    """
    if isinstance(given, model.Hanging):
        return _as_given(Body, given, kind=given.kind)
    surface, wheels, body = surfaces[given.runs_on], given.wheels, _as_given(Body, given)
    kinetic, static = surface.friction.value, body.static_friction
    if given.friction is not None:
        kinetic = given.friction.value
    if static is None and surface.static_friction is not None:
        static = surface.static_friction.value
        static = static if given.friction is None else np.maximum(kinetic, static)
    rolling = wheels.count * wheels.mass.value if wheels else 0.0
    body = replace(body, surface=given.runs_on, wheel_mass=rolling)
    return replace(body, friction=kinetic, static_friction=static)


class ImpossibleApparatus(FallworkError):
    """Objects that can't stand together as described. ``objects`` are the names concerned;
    ``number`` is the path of the number at fault, if any; ``words``: what is wrong, and what would
    be right.
    """

    def __init__(self, reason: str, *objects: str, number: str = "") -> None:
        super().__init__(reason, *objects)
        self.objects, self.number, self.words = objects, number, refusal(reason)

    def __str__(self) -> str:
        return f"{', '.join(self.objects) or self.number}: {'; '.join(self.words)}"


class NoModeFound(ImpossibleApparatus):
    """No mode fulfils its conditions: beyond what the solver can do."""

    def __init__(self) -> None:
        super().__init__("no-motion-found", number="run")
