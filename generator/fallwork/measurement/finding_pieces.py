"""Cuts a record of speeds into straight pieces, and finds the run among them.

Takes times and speeds, rough ones suffice; gives where the object is held, driven and coasting. The
pieces are those whose squared residuals plus a price for each piece are least. Exact edges and
uncertainties are left to ``finding``.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from math import inf

import numpy as np

from fallwork.measurement.model import Array

MOST_BINS = 200
SHORTEST = 3  # bins of a piece
PRICE = 12.0  # of a piece, in variances of the noise
LAGS = (1, 2, 4)  # bins apart, to tell the noise
COARSE = 0.01  # of the top speed: noise is not taken as smaller
OTHER_SLOPE = 0.3  # relative: neighbouring pieces whose slopes differ by less are one
JUMP = 0.2  # of the speed gained, likewise
AT_REST = 0.25  # of the speed reached: a start below this counts as one from rest
HALF = 0.5  # of the speed reached: likewise, where the pieces before lie on its line
ON_LINE = 0.05  # of the speed reached: so near lies what belongs to the driven line
UNEVEN = 0.12  # of the speed gained: a piece with larger residuals is no driven part
ROUNDED = 8  # readings over which a sensor may smooth a sudden stop
RIVAL = 0.6  # of the run's distance: another run at least as long as this is worth a word


@dataclass(frozen=True, kw_only=True)
class StraightPiece:
    """A stretch in which the speed is nearly a straight line of time."""

    begin: float  # s
    end: float  # s
    intercept: float  # m/s at time 0
    slope: float  # m/s²
    scatter: float  # m/s, root mean square of residuals

    def speed(self, time: float) -> float:
        """The line's speed in m/s."""
        return self.intercept + self.slope * time

    @property
    def ends(self) -> tuple[float, float]:
        """The line's speeds at begin and end, m/s."""
        return self.speed(self.begin), self.speed(self.end)

    @property
    def lasts(self) -> float:
        """From begin to end, s."""
        return self.end - self.begin


@dataclass(frozen=True, kw_only=True)
class RoughRun:
    """Where the run lies, to within a few samples; speeds count along it."""

    sense: int  # +1, or −1 where the speeds were turned over
    driven: StraightPiece
    held: StraightPiece | None
    coasting: StraightPiece | None
    rivals: tuple[StraightPiece, ...]  # other pieces that could have been the run


def rough_run(
    time: Array, speed: Array, *, senses: Sequence[int], from_rest: bool
) -> RoughRun | None:
    """The longest even speeding-up; None where there is none.

    ``senses`` are the signs that the run's speed may have in the record.
    """
    bins = _binned(time, speed)
    pieces = _pieces(*bins)
    top = float(np.quantile(np.abs(bins[1]), 0.98))
    found = []
    for sense in senses:
        turned = [_turned(piece, sense) for piece in pieces]
        found += [
            (sum(piece.ends) * piece.lasts, sense, at, turned)  # about twice the distance
            for at, piece in enumerate(turned)
            if _may_be_driven(turned, at, top, from_rest)
        ]
    if not found:
        return None
    longest, sense, at, turned = max(found, key=lambda each: each[0])
    others = [every[which] for length, _, which, every in found if length > RIVAL * longest]
    run = _run(turned, at, sense, time)
    return replace(run, rivals=tuple(piece for piece in others if piece is not run.driven))


def run_within(
    time: Array, speed: Array, window: tuple[float, float], senses: Sequence[int]
) -> RoughRun | None:
    """The run whose driven part fills a window set by hand; None where speed doesn't grow in it."""
    inside = np.flatnonzero((time >= window[0]) & (time <= window[1]))
    if len(inside) < SHORTEST:
        return None
    driven = _piece(int(inside[0]), int(inside[-1]) + 1, time, speed)
    sense = senses[0] if len(senses) == 1 else (-1 if driven.ends[1] < 0 else 1)
    pieces = [_turned(piece, sense) for piece in _pieces(*_binned(time, speed))]
    before = [replace(p, end=min(p.end, window[0])) for p in pieces if p.begin < window[0]]
    after = [replace(p, begin=max(p.begin, window[1])) for p in pieces if p.end > window[1]]
    run = _run([*before, _turned(driven, sense), *after], len(before), sense, time)
    return run if run.driven.slope > 0 else None


def _run(pieces: Sequence[StraightPiece], at: int, sense: int, time: Array) -> RoughRun:
    return RoughRun(
        sense=sense,
        driven=pieces[at],
        held=_held(pieces, at),
        coasting=_coasting(pieces, at, float(np.median(np.diff(time)))),
        rivals=(),
    )


# ---- pieces


def _binned(time: Array, speed: Array) -> tuple[Array, Array]:
    """Medians over at most MOST_BINS bins of neighbouring readings: spikes don't move them."""
    size = max(1, -(-len(time) // MOST_BINS))
    if len(time) < 3 * MOST_BINS:
        calm = np.lib.stride_tricks.sliding_window_view(np.pad(speed, 1, mode="edge"), 3)
        return time[::size], np.median(calm, axis=1)[::size]
    inside = len(time) // size * size
    bins = (each[:inside].reshape(-1, size) for each in (time, speed))
    return next(bins).mean(axis=1), np.median(next(bins), axis=1)


def _pieces(time: Array, speed: Array) -> list[StraightPiece]:
    """The best cut into straight pieces, those of nearly the same slope joined."""
    costs = _costs(time, speed)
    top = float(np.quantile(np.abs(speed), 0.98))
    price = PRICE * max(_noise(speed), COARSE * top, 1e-12) ** 2
    n = len(time)
    least, origin = np.full(n + 1, inf), np.zeros(n + 1, dtype=int)
    least[0] = -price
    for end in range(SHORTEST, n + 1):
        totals = least[: end - SHORTEST + 1] + costs[: end - SHORTEST + 1, end - 1] + price
        origin[end] = int(np.argmin(totals))
        least[end] = totals[origin[end]]
    cuts = [n]
    while cuts[0] > 0:
        cuts.insert(0, int(origin[cuts[0]]))
    at = 1
    while at < len(cuts) - 1:
        left, right = (_piece(cuts[k], cuts[k + 1], time, speed) for k in (at - 1, at))
        if _alike(left, right):
            del cuts[at]
            at = max(at - 1, 1)
        else:
            at += 1
    return [_piece(begin, end, time, speed) for begin, end in pairwise(cuts)]


def _noise(speed: Array) -> float:
    """Standard deviation of the speeds about straight pieces; smoothed ones need a long look."""
    found = [0.0]
    for lag in LAGS:
        bends = speed[: -2 * lag] - 2 * speed[lag:-lag] + speed[2 * lag :]
        if len(bends) > 8 * lag:
            found.append(1.4826 * float(np.median(np.abs(bends))) / float(np.sqrt(6)))
    return max(found)


def _costs(time: Array, speed: Array) -> Array:
    """Squared residuals of the straight line through bins i to j, (n, n); upper triangle."""
    t, v = time - time.mean(), speed - speed.mean()
    sums = [
        np.concatenate([[0.0], np.cumsum(each)])
        for each in (np.ones_like(t), t, v, t * t, t * v, v * v)
    ]
    n, st, sv, stt, stv, svv = (each[None, 1:] - each[:-1, None] for each in sums)
    n = np.maximum(n, 1.0)
    ctt, ctv, cvv = stt - st * st / n, stv - st * sv / n, svv - sv * sv / n
    with np.errstate(divide="ignore", invalid="ignore"):
        rest = cvv - np.where(ctt > 0, ctv * ctv / ctt, 0.0)
    return np.asarray(np.maximum(rest, 0.0))


def _alike(left: StraightPiece, right: StraightPiece) -> bool:
    """Whether two neighbours are one line, as far as a rough look goes."""
    steeper = max(abs(left.slope), abs(right.slope))
    jump = abs(left.ends[1] - right.speed(left.end))
    gained = max(abs(piece.slope) * piece.lasts for piece in (left, right))
    return abs(left.slope - right.slope) <= OTHER_SLOPE * steeper and jump <= JUMP * gained


def _piece(begin: int, end: int, time: Array, speed: Array) -> StraightPiece:
    t, v = time[begin:end], speed[begin:end]
    since = t - t.mean()
    spread = float(since @ since)
    slope = float(since @ v) / spread if spread > 0 else 0.0
    intercept = float(v.mean()) - slope * float(t.mean())
    scatter = float(np.sqrt(np.mean((v - intercept - slope * t) ** 2)))
    return StraightPiece(
        begin=float(t[0]), end=float(t[-1]), intercept=intercept, slope=slope, scatter=scatter
    )


def _turned(piece: StraightPiece, sense: int) -> StraightPiece:
    return replace(piece, intercept=sense * piece.intercept, slope=sense * piece.slope)


# ---- what they are


def _may_be_driven(pieces: Sequence[StraightPiece], at: int, top: float, from_rest: bool) -> bool:
    """Whether a piece has the look of a driven part: from rest it speeds up evenly; after a push
    it is what comes next.
    """
    piece = pieces[at]
    first, last = piece.ends
    gained = last - first
    if not from_rest:
        moves = first + last > 0.2 * top and piece.scatter <= UNEVEN * max(abs(gained), top / 3)
        return moves and (at == 0 or _held(pieces, at) is not None)
    if gained <= 0 or last < 0.1 * top or piece.scatter > UNEVEN * gained:
        return False
    return abs(first) <= AT_REST * last or (first <= HALF * last and _begun_before(pieces, at))


def _begun_before(pieces: Sequence[StraightPiece], at: int) -> bool:
    """Whether noise has cut the begin off a driven part: from rest on its line is followed."""
    driven = pieces[at]
    start, near = -driven.intercept / driven.slope, ON_LINE * driven.ends[1]
    middles = [(piece, (max(piece.begin, start) + piece.end) / 2) for piece in pieces[:at]]
    off = [abs(each.speed(t) - driven.speed(t)) for each, t in middles if t > start]
    return bool(off) and max(off) <= near


def _held(pieces: Sequence[StraightPiece], at: int) -> StraightPiece | None:
    """The stretch at rest just before the driven part; pieces between them are corners."""
    driven = pieces[at]
    slow = 0.1 * max(map(abs, driven.ends))
    earliest = driven.begin - 0.3 * driven.lasts
    near = [piece for piece in pieces[:at] if piece.end >= earliest]
    calm = [piece for piece in near if max(map(abs, piece.ends)) < slow]
    return max(calm, key=lambda piece: piece.lasts, default=None)


def _coasting(pieces: Sequence[StraightPiece], at: int, step: float) -> StraightPiece | None:
    """The stretch of another slope that goes on where the driven part ends.

    Where readings (every ``step`` s) are few, a corner that is rounded off can be a piece of its
    own, so the longest is taken that fits; and a stop that is rounded off is none.
    """
    driven = pieces[at]
    reached = driven.ends[1]
    found = [
        piece
        for piece in pieces[at + 1 :]
        if piece.begin - driven.end <= 0.3 * driven.lasts
        and 0.6 * reached < piece.ends[0] < 1.4 * reached
        and piece.ends[1] > -0.1 * reached
        and abs(piece.slope - driven.slope) > OTHER_SLOPE * abs(driven.slope)
        and not (piece.lasts < ROUNDED * step and piece.ends[1] < reached / 2)
    ]
    return max(found, key=lambda piece: piece.lasts, default=None)
