"""What the solver gives: phases, interactions as forces on objects, and the account of a system.

SI units throughout. Vectors are (x, y) in the lab frame, x forward along the level, y up.
Velocities and accelerations of objects count along each object's fixed positive sense.
``None`` stands for what the apparatus doesn't determine.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import Enum

from fallwork.mechanics.statement import Statement


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


class ZeroWork(Enum):
    """Why a force does no work in a phase."""

    NO_FORCE = "no force"
    PERPENDICULAR = "perpendicular to the motion of the point where it acts"
    POINT_AT_REST = "the point where it acts is at rest"
    IDEAL_PULLEY = "a massless pulley on a frictionless axle takes up no energy"
    NO_MOTION = "nothing moves"
    NO_TURNING = "the pulley does not turn"
    STEADY_PULLEY = "a pulley that turns steadily on a frictionless axle takes up no energy"
    RETURNED = "the point where it acts ends where it started"
    CANCELS = "what it does in one phase is undone in another"


@dataclass(frozen=True, kw_only=True)
class Force:
    """What ``partner`` does to ``on`` in one phase. A couple has ``torque`` instead of a vector.

    For contact of string and pulley, ``vector`` is the sum over the arc and ``work`` is that of
    the distributed force on the moving material (not vector times a displacement).
    """

    interaction: Interaction
    partner: str
    on: str
    vector: tuple[float, float] | None  # N
    torque: float | None = None  # N m, positive in the object's positive turning sense
    displacement: tuple[float, float] | None  # m, of the material point where it acts
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
class Phase:
    """A stretch of the run in which the forces stay the same."""

    name: str  # "driven", "coasting", "landing", "at rest", ...
    ends: Statement | None  # what ends it, e.g. "weight lands"; None: nothing does
    duration: float | None  # s; None: nothing ends it
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
    bounds: Mapping[Statement, tuple[float | None, float | None]] = field(default_factory=dict)
    # ^ what is undetermined -> least and greatest value, None without limit: tensions in N,
    #   friction in N along the object's positive sense, bearing torques in N m
    alternatives: tuple[tuple[Force, ...], ...] = ()
    # ^ where forces are undetermined: further complete sets of them that are possible too


@dataclass(frozen=True, kw_only=True)
class Solution:
    """The whole run."""

    gravity: float  # m/s^2
    moves: bool
    phases: tuple[Phase, ...]
    notes: tuple[Statement, ...] = ()  # what is undetermined, with its bounds; where the run ends


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
