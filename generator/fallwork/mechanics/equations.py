"""One moment: what is open, in which mode everything is, the equations of that mode solved for one
case or many, and whether all that it assumes comes true.

Arrays have shape (..., coordinates) or (..., spans), where several cases are solved together. What
the equations of a single case leave open, loads that may be shared and massless things adrift, has
its range. Finding the right mode is left to ``state``.
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

import numpy as np

from fallwork.mechanics.algebra import Array, Flags, Ties, bounded_least_squares, ties_of
from fallwork.mechanics.assembly import Setup

RANK = 1e-11  # singular values below this share of the largest count as zero
TOLERANCE = 1e-9  # by which a condition may be missed, relative to what it is made of


@dataclass(frozen=True, kw_only=True)
class Openings:
    """Where the mode is to be found; everything else is given by the past."""

    spans: Flags  # spans that are just tight, so that they may pull
    rest: Flags  # coordinates without speed, which may stick or slide either way
    landed: Flags  # coordinates on the catch pad


@dataclass(frozen=True, kw_only=True)
class Mode:
    """Which contacts slide or stick and which spans pull, the same in all cases."""

    sliding: Array  # +1 or −1 where something slides that way against friction, else 0
    sticking: Flags  # where friction holds
    taut: Flags  # spans that pull
    held: Flags  # coordinates that rest on the catch pad

    def idle_rims(self, setup: Setup) -> Flags:
        """Massless pulleys with bearing torque that no taut span turns."""
        attached = np.any(setup.stretch[self.taut] != 0, axis=0)
        brakes = setup.bound.reshape(-1, len(attached))[0] > 0
        return np.asarray(setup.massless & ~attached & brakes)


@dataclass(frozen=True, kw_only=True)
class Loads:
    """Forces that belong to a motion; several are possible where the equations leave it open."""

    tension: Array  # N, of spans
    resistance: Array  # N, friction along −q
    support: Array  # N, of the catch pad along −q


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
    acceleration: Array  # m/s²; nan where undetermined
    loads: Loads
    others: tuple[Loads, ...] = ()  # further allowed loads, if the loads are undetermined
    ranges: tuple[Range, ...] = ()  # of what is undetermined
    feasible: bool = True  # whether any loads within their bounds go with the accelerations


def solve_mode(setup: Setup, mode: Mode) -> Response:
    """Accelerations and loads of a mode, whether or not its conditions hold. Only a single case may
    be one in which something is undetermined.
    """
    stuck = mode.sticking | mode.held | mode.idle_rims(setup)
    ties = ties_of(setup.stretch[mode.taut], stuck, setup.order)
    force = setup.drive - mode.sliding * setup.bound
    acceleration = accelerations(setup.mass, force, ties)
    net = force - setup.mass * acceleration
    if ties.pulls is None:
        return _left_open(setup, mode, force, acceleration, net, ties.adrift)
    pulls = net[..., ties.tied] @ ties.pulls.T
    tension = np.zeros((*force.shape[:-1], len(mode.taut)), order="F")
    tension[..., mode.taut] = quiet = setup.quiet(pulls)
    resistance, support = mode.sliding * setup.bound, np.zeros(len(mode.held))
    if (mode.sticking | mode.held).any():  # what these must hold is drive less tension
        left = setup.quiet(force - pulls @ setup.stretch[mode.taut])
        resistance = np.where(mode.sticking, left, resistance)
        support = np.where(mode.held, left, 0.0)
    loads = Loads(tension=tension, resistance=resistance, support=support)
    acceleration = _snapped(setup, mode, force, acceleration, quiet)
    return Response(mode=mode, acceleration=acceleration, loads=loads)


def accelerations(mass: Array, force: Array, ties: Ties) -> Array:
    """What forces give, m/s²: each free coordinate moves all that is bound to it. Effective masses
    are scaled to a diagonal of ones; where they leave it open, the least solution.
    """
    right, size = force @ ties.spread, ties.spread.shape[1]
    effective = (mass @ ties.products.T).reshape(*mass.shape[:-1], size, size)
    if size == 1 and not ties.adrift.any():
        return np.asarray((right / effective[..., 0]) @ ties.spread.T)
    root = np.sqrt(np.diagonal(effective, axis1=-2, axis2=-1))
    root = np.where(root > 0, root, 1.0)
    scaled, sides = effective / (root[..., :, None] * root[..., None, :]), (right / root)[..., None]
    if ties.adrift.any():
        solution = np.linalg.pinv(scaled, rcond=RANK, hermitian=True) @ sides
    else:
        solution = np.linalg.solve(scaled, sides)
    free = (solution[..., 0] / root) @ ties.spread.T
    return np.asarray(free if size == 1 else free @ ties.exact.T)


def _snapped(setup: Setup, mode: Mode, force: Array, acceleration: Array, pulls: Array) -> Array:
    """Rounding noise around zero becomes zero; what no force acts on has no acceleration."""
    size, light = np.abs(acceleration), setup.massless
    zero = size <= np.where(light, 1e-13, 1e-15) * setup.scale
    parts = np.abs(force) + np.abs(pulls) @ np.abs(setup.stretch[mode.taut])
    zero |= ~light & ((size * setup.mass <= 1e-13 * parts) | (parts == 0))
    return np.where(zero, 0.0, acceleration)


def conditions_hold(setup: Setup, response: Response, openings: Openings) -> Flags:
    """Whether everything that the mode assumes comes true in each case, within TOLERANCE."""
    good = np.asarray(response.feasible)
    for spare in _spare(setup, response, openings):
        good = good & (spare >= 0)
    return good


def _spare(setup: Setup, response: Response, openings: Openings) -> Iterator[Array]:
    """What is left, in each case, until a condition fails. A taut span pulls; a slack one doesn't
    stretch, nor by what stops at once. Friction that sticks is within its bound, sliding starts
    that way, and a pad only pushes.
    """
    mode, loads, give = response.mode, response.loads, TOLERANCE * setup.scale[..., 0]
    acceleration = setup.filled(response.acceleration)
    shares = np.where(setup.stretch != 0, 1.0, 1e-6)
    heaviest = (setup.order * shares).max(axis=1, initial=0.0)  # of what a span moves
    for at in np.flatnonzero(mode.taut):
        yield loads.tension[..., at] + give * heaviest[at]
    sudden = -setup.stretch @ (mode.sliding * (mode.idle_rims(setup) & ~openings.rest))
    for at in np.flatnonzero(openings.spans & ~mode.taut):
        yield give - acceleration @ setup.stretch[at] if sudden[at] == 0 else -sudden[at]
    for at in np.flatnonzero(mode.sticking):
        bound, drive = setup.bound[..., at], np.abs(setup.drive[..., at])
        yield bound + TOLERANCE * (bound + drive) - np.abs(loads.resistance[..., at])
    for at in np.flatnonzero(openings.rest & (mode.sliding != 0)):
        yield mode.sliding[at] * acceleration[..., at] + give
    for at in np.flatnonzero(mode.held):
        made_of = setup.bound[..., at] + np.abs(setup.drive[..., at])
        yield loads.support[..., at] + TOLERANCE * made_of
    for at in np.flatnonzero(openings.landed & ~mode.held):
        yield give - acceleration[..., at]


@dataclass(frozen=True, kw_only=True)
class Unknowns:
    """The loads of a single case as one vector: pulls of spans, friction that holds, supports."""

    matrix: Array  # (coordinates, loads): what they take off the drive
    lower: Array  # N
    upper: Array
    places: tuple[tuple[str, int], ...]  # field of Loads, and place in it

    def apart(self, setup: Setup, values: Iterable[float], rubbing: Array) -> dict[str, Array]:
        """Values of the unknowns by fields of Loads, zero elsewhere; ``rubbing`` elsewhere too."""
        parts = {"tension": np.zeros(len(setup.stretch)), "resistance": rubbing.copy()}
        parts["support"] = np.zeros(len(rubbing))
        for (kind, at), value in zip(self.places, values, strict=True):
            parts[kind][at] = value
        return parts


def unknowns(setup: Setup, spans: Flags, rubbing: Flags, pads: Flags) -> Unknowns:
    """Those of these spans and coordinates; friction within its bound."""
    unit, bound = np.eye(len(setup.mass)), setup.bound[rubbing]
    rows = (setup.stretch[spans], unit[rubbing], unit[pads])
    none, endless = ([np.full(len(r), x) for r in rows] for x in (0.0, np.inf))
    kinds = zip(("tension", "resistance", "support"), (spans, rubbing, pads), strict=True)
    return Unknowns(
        matrix=np.concatenate(rows).T,
        lower=np.concatenate([none[0], -bound, none[2]]),
        upper=np.concatenate([endless[0], bound, endless[2]]),
        places=tuple((kind, int(at)) for kind, flags in kinds for at in np.flatnonzero(flags)),
    )


def _left_open(
    setup: Setup, mode: Mode, force: Array, acceleration: Array, net: Array, adrift: Flags
) -> Response:
    """The response with loads within their bounds that together make up ``net``, N, one a
    coordinate: one such set, the outermost others, and how far they differ.
    """
    open_ = unknowns(setup, mode.taut, mode.sticking, mode.held)
    values = bounded_least_squares(open_.matrix, net, open_.lower, open_.upper)
    missed = np.abs(open_.matrix @ values - net)
    made_of = np.abs(setup.drive) + setup.bound + np.abs(open_.matrix) @ np.abs(values)
    feasible = bool((missed <= TOLERANCE * (made_of + 1e-3 * made_of.max(initial=0.0))).all())
    others, ranges = _explored(open_, values) if feasible else ([], ())
    rubs = mode.sliding * setup.bound
    sets = (open_.apart(setup, setup.quiet(each), rubs) for each in (values, *others))
    found, *more = (Loads(**each) for each in sets)
    snapped = _snapped(setup, mode, force, acceleration, found.tension[mode.taut])
    rates = np.where(adrift, np.nan, snapped)
    return Response(
        mode=mode,
        acceleration=rates,
        loads=found,
        others=tuple(more),
        ranges=ranges,
        feasible=feasible,
    )


def _explored(open_: Unknowns, values: Array) -> tuple[list[Array], tuple[Range, ...]]:
    """The outermost solutions and the ranges, around one solution ``values``."""
    others, ranges = list[Array](), list[Range]()
    size = float(np.abs(values).max(initial=0.0)) or 1.0
    limits = np.stack([open_.lower, open_.upper], axis=1) / size
    exact = open_.matrix @ values / size  # what the bounded solution really meets
    for place, (kind, at) in enumerate(open_.places):
        from scipy.optimize import linprog  # only an undetermined apparatus pays for it

        cost = np.eye(len(values))[place]
        ways = [linprog(way * cost, None, None, open_.matrix, exact, limits) for way in (1, -1)]
        ends = [np.asarray(way.x * size) if way.status == 0 else None for way in ways]
        sides = zip(ends, (-np.inf, np.inf), strict=True)
        low, high = (edge if end is None else float(end[place]) for end, edge in sides)
        if high - low > 1e-7 * size:
            ranges.append(Range(kind=kind, at=at, low=low, high=high))
            found = [x for x in ends if x is not None]
            others.extend(x for x in found if not any(np.allclose(x, y) for y in others))
    return others, tuple(ranges)
