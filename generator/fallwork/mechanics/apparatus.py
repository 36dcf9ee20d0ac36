"""What the solver takes: an apparatus in SI units, without text, files or uncertainties.

A value is a float, or for the batch solver an array; all arrays of one apparatus broadcast
together. Positive senses: forward on a surface, downward for what hangs, and for a pulley the
turn that goes with its string running from first to last of its path.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any, Literal

import numpy as np

Number = float | np.ndarray[Any, np.dtype[np.float64]]


@dataclass(frozen=True, kw_only=True)
class Surface:
    """A track or table top, at rest."""

    name: str
    slope: Number = 0.0  # rad, positive where the front is higher; beyond upright is upright
    length: Number | None = None  # m


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


@dataclass(frozen=True, kw_only=True)
class Pulley:
    """Fixed to the bench, or moving up and down."""

    name: str
    moving: bool = False
    mass: Number = 0.0  # kg
    inertia: Number = 0.0  # kg m^2 about its axle
    radius: Number | None = None  # m; needed with inertia or bearing torque
    bearing_torque: Number = 0.0  # N m, opposes the turning


@dataclass(frozen=True, kw_only=True)
class String:
    """Massless and inextensible; it only pulls."""

    name: str
    path: tuple[str, ...]  # from back to front; names of bodies, pulleys and anchors


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
