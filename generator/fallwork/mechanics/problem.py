"""One moment as data: what is open, in which mode everything is, what comes out.

Arrays have shape (..., coordinates) or (..., spans), where several cases are solved together.
"""

from dataclasses import dataclass

import numpy as np

from fallwork.mechanics.assembly import Setup
from fallwork.mechanics.bounded import Array, Flags

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


@dataclass(frozen=True, kw_only=True)
class Unknowns:
    """The loads of a single case as one vector: pulls of spans, friction that holds, supports."""

    matrix: Array  # (coordinates, loads): what they take off the drive
    lower: Array  # N
    upper: Array
    places: tuple[tuple[str, int], ...]  # field of Loads, and place in it


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
