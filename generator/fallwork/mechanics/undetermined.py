"""What the equations of a mode leave open: loads that may be shared, massless things adrift.

Takes a problem, a mode and the net force on each coordinate; gives possible loads and the range
of each one that isn't determined.
"""

from dataclasses import dataclass

import numpy as np

from fallwork.mechanics.bounded import Array, bounded_least_squares
from fallwork.mechanics.problem import TOLERANCE, Loads, Mode, Problem, Range


@dataclass(frozen=True, kw_only=True)
class PossibleLoads:
    """Loads that go with an acceleration, and how far they may differ."""

    feasible: bool  # whether there are any within their bounds
    loads: Loads
    others: tuple[Loads, ...] = ()  # the outermost ones
    ranges: tuple[Range, ...] = ()


def possible_loads(problem: Problem, mode: Mode, net: Array) -> PossibleLoads:
    """Loads within their bounds that together make up ``net``, N, one a coordinate."""
    unknowns = _Unknowns(problem, mode)
    values = bounded_least_squares(unknowns.matrix, net, unknowns.lower, unknowns.upper)
    missed = np.abs(unknowns.matrix @ values - net)
    made_of = np.abs(problem.drive) + problem.bound + np.abs(unknowns.matrix) @ np.abs(values)
    allowed = TOLERANCE * (made_of + 1e-3 * made_of.max(initial=0.0))
    if np.any(missed > allowed):
        return PossibleLoads(feasible=False, loads=unknowns.loads(values))
    others, ranges = unknowns.explore(values)
    return PossibleLoads(
        feasible=True,
        loads=unknowns.loads(values),
        others=tuple(unknowns.loads(other) for other in others),
        ranges=ranges,
    )


class _Unknowns:
    """The loads of a mode as one vector: pulls of taut spans, sticking friction, supports."""

    def __init__(self, problem: Problem, mode: Mode) -> None:
        self.problem, self.mode = problem, mode
        unit, rows = np.eye(len(problem.mass)), problem.stretch[mode.pulling]
        spans = np.flatnonzero(mode.pulling)
        sticking, held = np.flatnonzero(mode.sticking), np.flatnonzero(mode.resting)
        bound = problem.bound[sticking]
        self.matrix = np.concatenate([rows.T, unit[:, sticking], unit[:, held]], axis=1)
        self.lower = np.concatenate([np.zeros(len(spans)), -bound, np.zeros(len(held))])
        endless = np.full(len(spans), np.inf), np.full(len(held), np.inf)
        self.upper = np.concatenate([endless[0], bound, endless[1]])
        self.fields = [
            (kind, int(at))
            for kind, places in (("tension", spans), ("resistance", sticking), ("support", held))
            for at in places
        ]

    def loads(self, values: Array) -> Loads:
        """The vector as loads."""
        parts = {
            "tension": np.zeros(len(self.problem.stretch)),
            "resistance": self.mode.sliding * self.problem.bound,
            "support": np.zeros(len(self.problem.mass)),
        }
        quiet = np.asarray(self.problem.quiet(values))
        for (kind, at), value in zip(self.fields, quiet, strict=True):
            parts[kind][at] = value
        return Loads(**parts)

    def explore(self, values: Array) -> tuple[list[Array], tuple[Range, ...]]:
        """The outermost solutions and the ranges, around one solution ``values``."""
        others: list[Array] = []
        ranges = []
        size = float(np.abs(values).max(initial=0.0)) or 1.0
        for place, (kind, at) in enumerate(self.fields):
            low, high = (self._outermost(place, sign, values, size) for sign in (1.0, -1.0))
            ends = (
                -np.inf if low is None else float(low[place]),
                np.inf if high is None else float(high[place]),
            )
            if ends[1] - ends[0] > 1e-7 * size:
                ranges.append(Range(kind=kind, at=at, low=ends[0], high=ends[1]))
                found = [x for x in (low, high) if x is not None]
                others.extend(x for x in found if not any(np.allclose(x, y) for y in others))
        return others, tuple(ranges)

    def _outermost(self, place: int, sign: float, values: Array, size: float) -> Array | None:
        """The solution with the least ``sign`` × unknown; None if there is no limit."""
        from scipy.optimize import linprog  # only an undetermined apparatus pays for it

        cost = np.zeros(len(values))
        cost[place] = sign
        upper = [None if np.isinf(high) else high / size for high in self.upper]
        limits = list(zip(self.lower / size, upper, strict=True))
        exact = self.matrix @ values / size  # what the bounded solution really meets
        found = linprog(cost, A_eq=self.matrix, b_eq=exact, bounds=limits)
        return np.asarray(found.x * size) if found.status == 0 else None
