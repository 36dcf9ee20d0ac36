"""One moment's equations of motion as data: what is given, what is open, what comes out.

Takes and gives plain numbers, one a coordinate or a span of the layout. Solving is left to
``equations``, finding the mode to ``modes``.
"""

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from fallwork.mechanics.bounded import Array, Flags

RANK = 1e-11  # singular values below this share of the largest count as zero
TOLERANCE = 1e-9  # by which a condition may be missed, relative to what it is made of


@dataclass(frozen=True, kw_only=True)
class Mode:
    """Which contacts slide or stick and which spans pull, one entry a coordinate or span."""

    friction: tuple[int | None, ...]  # +1, −1 sliding that way; 0 sticking; None no friction
    taut: tuple[bool, ...]
    held: tuple[bool, ...]  # coordinates that rest on the catch pad

    @property
    def sliding(self) -> Array:
        """+1 or −1 where something slides, else 0."""
        return np.array([way or 0 for way in self.friction], dtype=float)

    @property
    def sticking(self) -> Flags:
        """Where friction holds."""
        return np.array([way == 0 for way in self.friction], dtype=bool)

    @property
    def pulling(self) -> Flags:
        """``taut`` as an array."""
        return np.array(self.taut, dtype=bool)


@dataclass(frozen=True, kw_only=True)
class Problem:
    """Everything but the mode. ``stretch`` is (spans, coordinates); the rest one a coordinate."""

    stretch: Array
    mass: Array  # kg
    drive: Array  # N
    fall: Array  # m/s², what gravity alone would do; decides where there is no mass
    bound: Array  # N, of friction: kinetic where it slides, the largest possible where it sticks

    @cached_property
    def scale(self) -> float:
        """The largest acceleration that any coordinate's own forces could give it, m/s²."""
        heavy = self.mass > 0
        own = np.abs(self.drive[heavy]) + self.bound[heavy]
        falling = np.max(np.abs(self.fall[~heavy]), initial=0.0)
        return float(np.max(own / self.mass[heavy], initial=falling))

    def quiet(self, forces: Array) -> Array:
        """Forces without the noise that rounding leaves of those that cancel."""
        size = self.scale * self.mass.max(initial=0.0)
        return np.where(np.abs(forces) <= 1e-14 * size, 0.0, forces)

    def idle_rims(self, mode: Mode) -> Flags:
        """Massless pulleys with bearing torque that no taut span turns."""
        attached = np.any(self.stretch[mode.pulling] != 0, axis=0)
        return np.asarray((self.mass == 0) & ~attached & (self.bound > 0))

    def stuck(self, mode: Mode) -> Flags:
        """Coordinates that can't move: sticking, held, or an idle rim."""
        held = np.array(mode.held, dtype=bool)
        return np.asarray(mode.sticking | held | self.idle_rims(mode))

    def filled(self, acceleration: Array) -> Array:
        """Accelerations with free fall, as of something very light, where undetermined."""
        return np.where(np.isnan(acceleration), self.fall, acceleration)


@dataclass(frozen=True, kw_only=True)
class Loads:
    """Forces that belong to a motion; several are possible where the equations leave it open."""

    tension: Array  # N, one a span
    resistance: Array  # N, friction along −q, one a coordinate
    support: Array  # N, of the catch pad along −q


@dataclass(frozen=True, kw_only=True)
class Range:
    """What values one of the loads may have."""

    kind: str  # a field of Loads
    at: int
    low: float  # N; ±inf without limit
    high: float


@dataclass(frozen=True, kw_only=True)
class Motion:
    """The solution for one mode."""

    mode: Mode
    acceleration: Array  # m/s², one a coordinate; nan where undetermined
    loads: Loads
    others: tuple[Loads, ...] = ()  # further allowed loads, if the loads are undetermined
    ranges: tuple[Range, ...] = ()  # of what is undetermined
    feasible: bool = True  # whether any loads within their bounds go with the accelerations


@dataclass(frozen=True, kw_only=True)
class Openings:
    """Where a problem leaves the mode to be found; everything else is given by the past."""

    spans: Flags  # spans that are just tight, so that they may pull
    rest: Flags  # coordinates without speed, which may stick or slide either way
    landed: Flags  # coordinates on the catch pad
