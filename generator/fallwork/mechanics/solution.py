"""What the solver gives: phases, interactions as forces on objects, and the account of a system.

SI units throughout. Vectors are (x, y) in the lab frame, x forward along the level, y up.
Velocities and accelerations of objects count along each object's fixed positive sense.
``None`` stands for what the apparatus doesn't determine.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import Enum, StrEnum

from fallwork.mechanics.apparatus import Interaction as Interaction

Vector = tuple[float, float]
DOWN: Vector = (0.0, -1.0)
NOTHING: Vector = (0.0, 0.0)


def dot(one: Vector, other: Vector) -> float:
    """Scalar product."""
    return one[0] * other[0] + one[1] * other[1]


def scaled(vector: Vector, factor: float) -> Vector:
    """factor × vector, without negative zeros."""
    return (vector[0] * factor + 0.0, vector[1] * factor + 0.0)


class Role(Enum):
    """Which part of the run a phase belongs to; the value is the word used in phases' names."""

    DRIVEN = "driven"  # until the run's distance is covered
    LANDING = "landing"  # the instant in which the catch pad stops the run's object
    COASTING = "coasting"  # after that
    RUNNING_ON = "running on"  # after a distance that no pad ends
    AT_REST = "at rest"  # nothing moves at all


class Ending(StrEnum):
    """How a phase ends."""

    LANDS = "lands"  # the run's object meets the catch pad
    ON_PAD = "on-pad"  # it has come to rest there: the end of the landing
    COVERED = "covered"  # the run's object has moved by the run's distance, and goes on
    TURNS = "turns"  # the motion turns round
    RESTS = "rests"  # what moved stays where it is
    SPIN_TURNS = "spin-turns"  # a pulley turns back
    SPIN_STOPS = "spin-stops"  # a pulley turns no more
    REACHES = "reaches"  # a body comes to a pulley or to an end of its surface
    TAUT = "taut"  # a slack string is tight again
    TIME = "time"  # the time set for the run is up


@dataclass(frozen=True, kw_only=True)
class End:
    """What ends a phase: how, and what it happens to."""

    ending: Ending
    subject: str | None = None  # an object, a turning pulley or a string; None for the time
    at: str | None = None  # what is reached: a pulley, or the surface whose end it is
    side: int = 0  # of the surface: +1 its front end, −1 its back end; 0 for a pulley


class ZeroWork(Enum):
    """Why a force does no work in a phase; the value is the key of texts about it."""

    NO_FORCE = "no-force"
    PERPENDICULAR = "perpendicular"  # to the motion of the point where it acts
    POINT_AT_REST = "at-rest"  # the point where it acts
    IDEAL_PULLEY = "ideal-pulley"  # massless, on a frictionless axle
    NO_MOTION = "no-motion"  # of anything
    NO_TURNING = "no-turning"  # of the pulley
    STEADY_PULLEY = "steady-pulley"  # with inertia, on a frictionless axle
    RETURNED = "returned"  # the point where it acts ends where it started


@dataclass(frozen=True, kw_only=True)
class Force:
    """What ``partner`` does to ``on`` in one phase. A couple has ``torque`` instead of a vector.
    For contact of string and pulley, ``vector`` is the sum over the arc and ``work`` is that of the
    distributed force on the moving material (not vector times a displacement).
    """

    interaction: Interaction
    partner: str
    on: str
    vector: Vector | None  # N
    torque: float | None = None  # N m, positive in the object's positive turning sense
    work: float | None  # J; None where it can't be told
    reason: ZeroWork | None = None  # given exactly where the work is zero

    @property
    def name(self) -> str:
        """The force's name in the answer key, e.g. ``tension of string on cart``."""
        return f"{self.interaction.value} of {self.partner} on {self.on}"

    @property
    def size(self) -> float | None:
        """Magnitude in N, or of the torque in N m."""
        if self.vector is None:
            return None if self.torque is None else abs(self.torque)
        return float((self.vector[0] ** 2 + self.vector[1] ** 2) ** 0.5)


@dataclass(frozen=True, kw_only=True)
class Undetermined:
    """A force that the set-up leaves open, with what it can be. A tension in N counts for the
    string as a whole, or for its part ``between`` two elements of its path; friction in N counts
    along the object's positive sense, a bearing torque in N m.
    """

    interaction: Interaction
    partner: str  # of a tension: the string
    on: str | None = None
    between: tuple[str, str] | None = None
    low: float | None  # the least value; None: no limit
    high: float | None


@dataclass(frozen=True, kw_only=True)
class Phase:
    """A part of the run in which the forces stay the same."""

    role: Role
    part: int = 1  # number of the phase among those of its role
    ends: End | None = None  # None: nothing ends it
    duration: float | None = None  # s; None: nothing ends it
    accelerations: Mapping[str, float]  # m/s^2, bodies and moving pulleys; without those that
    # ^ are undetermined, and empty for the landing
    displacements: Mapping[str, float | None]  # m, over the phase
    start_velocities: Mapping[str, float]  # m/s
    end_velocities: Mapping[str, float | None]  # m/s
    tensions: Mapping[str, Mapping[str, float | None]]  # N, string -> end or moving pulley ->
    # ^ pull on it, of both sides together where the string passes a moving pulley
    angular_accelerations: Mapping[str, float]  # rad/s^2, pulleys with a radius and with inertia,
    # ^ bearing torque or a string wound on them; the turning of others matters to nothing
    forces: tuple[Force, ...]  # every force on every object, reactions included
    sliding: Mapping[str, int]  # body on a surface -> +1 forward, -1 back, 0 at rest on it
    slack: frozenset[str]  # strings that pull nothing
    start_angular_velocities: Mapping[str, float] = field(default_factory=dict)  # rad/s, pulleys
    end_angular_velocities: Mapping[str, float | None] = field(default_factory=dict)  # rad/s
    segment_tensions: Mapping[str, tuple[float | None, ...]] = field(default_factory=dict)
    # ^ N, string -> tension of each straight piece, in order of its path
    undetermined: tuple[Undetermined, ...] = ()
    alternatives: tuple[tuple[Force, ...], ...] = ()
    # ^ where forces are undetermined: further complete sets of them that are possible too

    @property
    def name(self) -> str:
        """The phase's name in the answer key, e.g. ``driven`` or ``driven, part 2``."""
        return self.role.value if self.part == 1 else f"{self.role.value}, part {self.part}"

    @property
    def adrift(self) -> tuple[str, ...]:
        """What has no mass and no string that pulls, so that its motion is undetermined."""
        if self.role is Role.LANDING:
            return ()
        return tuple(name for name in self.displacements if name not in self.accelerations)


@dataclass(frozen=True, kw_only=True)
class Solution:
    """The whole run."""

    moves: bool
    phases: tuple[Phase, ...]
    until: End | None = None  # where the run is followed no further; None: nothing ends it
    jerked: str | None = None  # the string that is pulled with a jerk then
    gripped: tuple[str, ...] = ()  # strings slack on one side of a turning pulley: it is taken to
    # ^ hold the other side without slipping


@dataclass(frozen=True, kw_only=True)
class SystemAccount:
    """One choice of system in one phase: external work equals change of energy."""

    members: tuple[str, ...]  # sorted by plain character order
    external: tuple[Force, ...]  # forces on members by non-members
    internal: tuple[Force, ...]  # forces between members
    external_work: float | None  # J
    energy_changes: Mapping[str, float | None]  # kinetic, rotational, potential, thermal; J
    energy_change: float | None  # J
    at_will: tuple[str, ...] | None = None  # of a class: what can be added in any combination
