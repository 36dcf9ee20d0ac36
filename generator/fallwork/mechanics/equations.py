"""The equations of motion of one mode, solved exactly; and whether the mode's conditions hold.

Takes numbers per coordinate and a mode; gives accelerations, tensions, friction and support, and
what the equations leave open. Finding the right mode is left to ``modes``.
"""

from dataclasses import dataclass, field

import numpy as np

from fallwork.mechanics.binding import bind
from fallwork.mechanics.bounded import Array, Flags, bounded_least_squares

RANK = 1e-11  # singular values below this share of the largest count as zero
TOLERANCE = 1e-9  # by which a condition may be missed, relative to what it is made of


@dataclass(frozen=True, kw_only=True)
class Mode:
    """Which contacts slide or stick and which spans pull, one entry a coordinate or span."""

    friction: tuple[int | None, ...]  # +1, −1 sliding that way; 0 sticking; None no friction
    taut: tuple[bool, ...]
    held: tuple[bool, ...]  # coordinates that rest on the catch pad


@dataclass(frozen=True, kw_only=True)
class Problem:
    """Everything but the mode. ``stretch`` is (spans, coordinates); the rest one a coordinate."""

    stretch: Array
    mass: Array  # kg
    drive: Array  # N
    fall: Array  # m/s², what gravity alone would do; decides where there is no mass
    bound: Array  # N, of friction: kinetic where it slides, the largest possible where it sticks


@dataclass(frozen=True, kw_only=True)
class Loads:
    """Forces that belong to a motion; several are possible where the equations leave it open."""

    tension: Array  # N, one a span
    resistance: Array  # N, friction along −q, one a coordinate
    support: Array  # N, of the catch pad along −q


@dataclass(frozen=True, kw_only=True)
class Motion:
    """The solution for one mode."""

    mode: Mode
    acceleration: Array  # m/s², one a coordinate; nan where undetermined
    loads: Loads
    others: tuple[Loads, ...] = ()  # further allowed loads, if the loads are undetermined
    ranges: tuple[tuple[str, int, float, float], ...] = ()  # (field of Loads, index, from, to)
    feasible: bool = True
    scale: float = field(default=0.0)  # m/s², the size of accelerations in this problem


def acceleration_scale(problem: Problem) -> float:
    """The largest acceleration that any coordinate's own forces could give it, in m/s²."""
    heavy = problem.mass > 0
    own = np.abs(problem.drive[heavy]) + problem.bound[heavy]
    return float(np.max(own / problem.mass[heavy], initial=0.0))


def solve_mode(problem: Problem, mode: Mode) -> Motion:
    """Accelerations and loads of a mode, whether or not its conditions hold."""
    sliding = np.array([0 if way is None else way for way in mode.friction], dtype=float)
    force = problem.drive - sliding * problem.bound
    taut = np.array(mode.taut, dtype=bool)
    rows = problem.stretch[taut]
    stuck = stuck_coordinates(problem, mode)
    acceleration, pull, regular = _solve(problem.mass, force, rows, stuck)
    if regular:
        balance = force - rows.T @ pull
        tension = np.zeros(len(taut))
        tension[taut] = pull
        loads = _loads(problem, mode, tension, balance, sliding)
        return Motion(
            mode=mode,
            acceleration=_snap(problem, acceleration, rows, pull, force),
            loads=loads,
            scale=acceleration_scale(problem),
        )
    return _open_motion(problem, mode, acceleration, rows, force, stuck, sliding)


@dataclass(frozen=True, kw_only=True)
class Openings:
    """Where a problem leaves the mode to be found; everything else is given by the past."""

    spans: Flags  # spans that are just tight, so that they may pull
    rest: Flags  # coordinates without speed, which may stick or slide either way
    landed: Flags  # coordinates on the catch pad


def conditions_hold(problem: Problem, motion: Motion, openings: Openings) -> bool:
    """Whether everything that the mode assumes comes true, within TOLERANCE."""
    if not motion.feasible:
        return False
    loads, mode, scale = motion.loads, motion.mode, motion.scale
    acceleration = filled(motion.acceleration, problem.fall)
    give = TOLERANCE * scale
    taut = np.array(mode.taut, dtype=bool)
    if np.any(loads.tension[taut] < -give * _span_mass(problem)[taut]):
        return False
    slack = openings.spans & ~taut
    stopping = idle_rims(problem, mode) & ~openings.rest  # at once, whatever else happens
    ways = np.array([way or 0 for way in mode.friction]) * stopping
    sudden = problem.stretch @ -ways
    growth = np.where(sudden > 0, np.inf, problem.stretch @ acceleration)
    growth = np.where(sudden < 0, -np.inf, growth)
    if np.any(growth[slack] > give):
        return False
    for at, way in enumerate(mode.friction):
        made_of = problem.bound[at] + abs(problem.drive[at])
        if way == 0 and abs(loads.resistance[at]) > problem.bound[at] + TOLERANCE * made_of:
            return False
        if way and openings.rest[at] and way * acceleration[at] < -give:
            return False
        if openings.landed[at] and not mode.held[at] and acceleration[at] > give:
            return False
        if mode.held[at] and loads.support[at] < -TOLERANCE * made_of:
            return False
    return True


def filled(acceleration: Array, fall: Array) -> Array:
    """Accelerations with free fall, as of something very light, where they are undetermined."""
    return np.where(np.isnan(acceleration), fall, acceleration)


def _span_mass(problem: Problem) -> Array:
    """For each span the heaviest mass that it moves: a yardstick for its tension, kg."""
    touched = np.where(problem.stretch != 0, problem.mass, 0.0)
    least = 1e-6 * problem.mass.max(initial=0.0)
    return np.asarray(np.maximum(touched.max(axis=1, initial=0.0), least))


def stuck_coordinates(problem: Problem, mode: Mode) -> Flags:
    """Coordinates that can't move: sticking, held, or a massless rim that nothing turns."""
    sticking = np.array([way == 0 for way in mode.friction], dtype=bool)
    held = np.array(mode.held, dtype=bool)
    return np.asarray(sticking | held | idle_rims(problem, mode))


def idle_rims(problem: Problem, mode: Mode) -> Flags:
    """Massless pulleys with bearing torque that no taut span turns."""
    rows = problem.stretch[np.array(mode.taut, dtype=bool)]
    attached = np.any(rows != 0, axis=0)
    return np.asarray((problem.mass == 0) & ~attached & (problem.bound > 0))


def _solve(mass: Array, force: Array, rows: Array, stuck: Flags) -> tuple[Array, Array, bool]:
    """Accelerations and pulls of taut spans, and whether they are the only ones.

    Coordinates are scaled by the root of their mass and spans by their row, so that a light
    weight is told from none at all.
    """
    moving = np.flatnonzero(~stuck)
    n, k = len(moving), len(rows)
    reference = mass.max(initial=0.0) or 1.0
    root = np.where(mass > 0, np.sqrt(mass), np.sqrt(reference))[moving]
    scaled = rows[:, moving] / root
    norms = np.linalg.norm(scaled, axis=1)
    norms = np.where(norms > 0, norms, 1.0)
    scaled = scaled / norms[:, None]
    matrix = np.zeros((n + k, n + k))
    matrix[:n, :n] = np.diag((mass[moving] > 0).astype(float))
    matrix[:n, n:] = scaled.T
    matrix[n:, :n] = scaled
    right = np.concatenate([force[moving] / root, np.zeros(k)])
    left_vectors, sizes, right_vectors = np.linalg.svd(matrix)
    keep = sizes > RANK * sizes.max(initial=0.0)
    if keep.all():
        solution = np.linalg.solve(matrix, right)
    else:
        inverse = np.where(keep, 1 / np.where(keep, sizes, 1.0), 0.0)
        solution = right_vectors.T @ (inverse * (left_vectors.T @ right))
    acceleration = np.zeros(len(mass))
    acceleration[moving] = bind(rows[:, moving], solution[:n] / root)
    return acceleration, solution[n:] / norms, bool(keep.all())


def _snap(problem: Problem, acceleration: Array, rows: Array, pull: Array, force: Array) -> Array:
    """Rounding noise around zero becomes zero; what no force acts on has no acceleration."""
    parts = np.abs(force) + np.abs(rows.T) @ np.abs(_quiet(problem, pull))
    cancels = (np.abs(acceleration) * problem.mass <= 1e-13 * parts) | (parts == 0)
    share = np.where(problem.mass > 0, 1e-15, 1e-13)
    tiny = np.abs(acceleration) <= share * acceleration_scale(problem)
    return np.where(cancels & (problem.mass > 0) | tiny, 0.0, acceleration)


def _loads(problem: Problem, mode: Mode, tension: Array, balance: Array, sliding: Array) -> Loads:
    """``balance`` is drive less sliding friction less tension: what sticking must hold."""
    sticking = np.array([way == 0 for way in mode.friction], dtype=bool)
    held = np.array(mode.held, dtype=bool)
    return Loads(
        tension=_quiet(problem, tension),
        resistance=np.where(sticking, _quiet(problem, balance), sliding * problem.bound),
        support=np.where(held, _quiet(problem, balance), 0.0),
    )


def _quiet(problem: Problem, forces: Array) -> Array:
    """Forces without the noise that rounding leaves of those that cancel."""
    size = acceleration_scale(problem) * problem.mass.max(initial=0.0)
    return np.where(np.abs(forces) <= 1e-14 * size, 0.0, forces)


def _open_motion(
    problem: Problem,
    mode: Mode,
    acceleration: Array,
    rows: Array,
    force: Array,
    stuck: Flags,
    sliding: Array,
) -> Motion:
    """A motion whose equations leave something open: accelerations, loads or both."""
    floating = _floating(problem.mass, rows, stuck)
    net = force - problem.mass * acceleration
    unknowns = _Unknowns(problem, mode, rows)
    lowest, highest = unknowns.lower, unknowns.upper
    values = bounded_least_squares(unknowns.matrix, net, lowest, highest)
    missed = np.abs(unknowns.matrix @ values - net)
    made_of = np.abs(force) + np.abs(unknowns.matrix) @ np.abs(values)
    feasible = bool(np.all(missed <= TOLERANCE * (made_of + 1e-3 * made_of.max(initial=0.0))))
    snapped = _snap(problem, acceleration, rows, values[: len(rows)], force)
    others, ranges = unknowns.explore(net, values) if feasible else ([], [])
    return Motion(
        mode=mode,
        acceleration=np.where(floating, np.nan, snapped),
        loads=unknowns.loads(values, sliding),
        others=tuple(unknowns.loads(other, sliding) for other in others),
        ranges=tuple(ranges),
        feasible=feasible,
        scale=acceleration_scale(problem),
    )


def _floating(mass: Array, rows: Array, stuck: Flags) -> Flags:
    """Massless coordinates that taut spans leave free to move."""
    light = np.flatnonzero((mass == 0) & ~stuck)
    floating = np.zeros(len(mass), dtype=bool)
    if not len(light):
        return floating
    block = rows[:, light]
    if not len(rows):
        floating[light] = True
        return floating
    _, sizes, vectors = np.linalg.svd(block)
    rank = int(np.sum(sizes > RANK * sizes.max(initial=0.0)))
    floating[light] = np.any(np.abs(vectors[rank:]) > 1e-9, axis=0)
    return floating


class _Unknowns:
    """The forces of a mode as one vector: pulls of taut spans, sticking friction, supports."""

    def __init__(self, problem: Problem, mode: Mode, rows: Array) -> None:
        self.problem = problem
        self.spans = np.flatnonzero(np.array(mode.taut, dtype=bool))
        self.sticking = [at for at, way in enumerate(mode.friction) if way == 0]
        self.held = [at for at, value in enumerate(mode.held) if value]
        n = len(problem.mass)
        unit = np.eye(n)
        self.matrix = np.concatenate([rows.T, unit[:, self.sticking], unit[:, self.held]], axis=1)
        self.count = self.matrix.shape[1]
        bound = problem.bound[self.sticking]
        zeros = np.zeros
        self.lower = np.concatenate([zeros(len(rows)), -bound, zeros(len(self.held))])
        infinite = np.full(len(rows), np.inf), np.full(len(self.held), np.inf)
        self.upper = np.concatenate([infinite[0], bound, infinite[1]])
        self.fields = (
            [("tension", int(at)) for at in self.spans]
            + [("resistance", at) for at in self.sticking]
            + [("support", at) for at in self.held]
        )

    def loads(self, values: Array, sliding: Array) -> Loads:
        """The vector as loads."""
        parts = {
            "tension": np.zeros(len(self.problem.stretch)),
            "resistance": sliding * self.problem.bound,
            "support": np.zeros(len(self.problem.mass)),
        }
        for (kind, at), value in zip(self.fields, _quiet(self.problem, values), strict=True):
            parts[kind][at] = value
        return Loads(**parts)

    def explore(
        self, net: Array, values: Array
    ) -> tuple[list[Array], list[tuple[str, int, float, float]]]:
        """The outermost solutions and the range of each force that has one, around ``values``."""
        from scipy.optimize import linprog  # only an undetermined apparatus pays for it

        exact = self.matrix @ values  # what the bounded solution really meets
        size = float(np.abs(net).max(initial=0.0)) or 1.0
        upper = [None if np.isinf(high) else high / size for high in self.upper]
        limits = list(zip(self.lower / size, upper, strict=True))
        others: list[Array] = []
        ranges: list[tuple[str, int, float, float]] = []
        for at, (kind, index) in enumerate(self.fields):
            ends, solutions = [], []
            for sign in (1.0, -1.0):
                cost = np.zeros(self.count)
                cost[at] = sign
                found = linprog(cost, A_eq=self.matrix, b_eq=exact / size, bounds=limits)
                if found.status == 0:
                    solutions.append(found.x * size)
                ends.append(float(found.x[at] * size) if found.status == 0 else -sign * np.inf)
            if ends[1] - ends[0] > 1e-7 * size:
                ranges.append((kind, index, ends[0], ends[1]))
                others.extend(x for x in solutions if not any(np.allclose(x, y) for y in others))
        return others, ranges
