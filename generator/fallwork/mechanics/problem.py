"""One moment's equations of motion as data: what is given, what is open, what comes out.

Takes and gives rows of numbers, one a coordinate or a span of the rigging. Solving is left to
``equations``, finding the mode to ``modes``.
"""

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from fallwork.mechanics.apparatus import Number
from fallwork.mechanics.arrays import Rows, first_of
from fallwork.mechanics.bounded import Array, Flags

RANK = 1e-11  # singular values below this share of the largest count as zero
TOLERANCE = 1e-9  # by which a condition may be missed, relative to what it is made of


@dataclass(frozen=True, kw_only=True)
class Mode:
    """Which contacts slide or stick and which spans pull, one entry a coordinate or span.

    All cases of a batch that are solved together are in one mode.
    """

    friction: tuple[int | None, ...]  # +1, −1 sliding that way; 0 sticking; None no friction
    taut: tuple[bool, ...]
    held: tuple[bool, ...]  # coordinates that rest on the catch pad

    @cached_property
    def sliding(self) -> Array:
        """+1 or −1 where something slides, else 0."""
        return np.array([way or 0 for way in self.friction], dtype=float)

    @cached_property
    def sticking(self) -> Flags:
        """Where friction holds."""
        return np.array([way == 0 for way in self.friction], dtype=bool)

    @cached_property
    def pulling(self) -> Flags:
        """``taut`` as an array."""
        return np.array(self.taut, dtype=bool)

    @cached_property
    def resting(self) -> Flags:
        """``held`` as an array."""
        return np.array(self.held, dtype=bool)


@dataclass(frozen=True, kw_only=True)
class Problem:
    """Everything but the mode, for one case or many; the same numbers are zero in all cases."""

    stretch: Array  # (spans, coordinates)
    mass: Rows  # kg
    drive: Rows  # N
    fall: Rows  # m/s², what gravity alone would do; decides where there is no mass
    bound: Rows  # N, of friction: kinetic where it slides, the largest possible where it sticks

    @cached_property
    def massless(self) -> Flags:
        """Coordinates without mass."""
        return np.asarray(first_of(self.mass) == 0)

    @cached_property
    def scale(self) -> Number:
        """The largest acceleration that any coordinate's own forces could give it, m/s²."""
        total: Number = 0.0
        for at, massless in enumerate(self.massless):
            own = np.abs(self.fall[at])
            if not massless:
                own = (np.abs(self.drive[at]) + self.bound[at]) / self.mass[at]
            total = np.maximum(total, own)
        return total

    @cached_property
    def strength(self) -> Number:
        """What any force could be at most, but for what cancels, N."""
        heaviest: Number = 0.0
        for mass in self.mass:
            heaviest = np.maximum(heaviest, mass)
        return self.scale * heaviest

    @cached_property
    def single(self) -> bool:
        """Whether there is but one case; only then is rounding noise taken out."""
        rows = (self.mass, self.drive, self.bound)
        return all(isinstance(each, np.ndarray) for each in rows)

    def quiet(self, forces: Number) -> Number:
        """Forces without the noise that rounding leaves of those that cancel."""
        if not self.single:
            return forces
        return np.where(np.abs(forces) <= 1e-14 * self.strength, 0.0, forces)

    def idle_rims(self, mode: Mode) -> Flags:
        """Massless pulleys with bearing torque that no taut span turns."""
        attached = np.any(self.stretch[mode.pulling] != 0, axis=0)
        return np.asarray(self.massless & ~attached & (first_of(self.bound) > 0))

    def stuck(self, mode: Mode) -> Flags:
        """Coordinates that can't move: sticking, held, or an idle rim."""
        return np.asarray(mode.sticking | mode.resting | self.idle_rims(mode))

    def filled(self, acceleration: Rows) -> Rows:
        """Accelerations with free fall, as of something very light, where undetermined."""
        if not isinstance(acceleration, np.ndarray):
            return acceleration  # only a single case may leave it open
        return np.where(np.isnan(acceleration), first_of(self.fall), acceleration)


@dataclass(frozen=True, kw_only=True)
class Loads:
    """Forces that belong to a motion; several are possible where the equations leave it open."""

    tension: Rows  # N, one a span
    resistance: Rows  # N, friction along −q, one a coordinate
    support: Rows  # N, of the catch pad along −q


@dataclass(frozen=True, kw_only=True)
class Range:
    """What values one of the loads may have."""

    kind: str  # a field of Loads
    at: int
    low: float  # N; ±inf without limit
    high: float


@dataclass(frozen=True, kw_only=True)
class Response:
    """The solution for one mode. What the equations leave open is told for single cases only."""

    mode: Mode
    acceleration: Rows  # m/s², one a coordinate; nan where undetermined
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
