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
class Piece:
    """A stretch in which the speed is nearly a straight line of time."""

    begin: float  # s
    end: float  # s
    intercept: float  # m/s at time 0
    slope: float  # m/s²
    scatter: float  # m/s, root mean square of residuals

    def speed(self, time: float) -> float:
        """The line's speed in m/s."""
        return self.intercept + self.slope * time


@dataclass(frozen=True, kw_only=True)
class RoughRun:
    """Where the run lies, to within a few samples; speeds count along it."""

    sense: int  # +1, or −1 where the speeds were turned over
    driven: Piece
    held: Piece | None
    coasting: Piece | None
    rivals: tuple[Piece, ...]  # other pieces that could have been the run


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
        for at, piece in enumerate(turned):
            if _may_be_driven(turned, at, top, from_rest):
                found.append((_length(piece), sense, at, turned))
    if not found:
        return None
    best, sense, at, turned = max(found, key=lambda each: each[0])
    rivals = [each[3][each[2]] for each in found if each[0] > RIVAL * best]
    return RoughRun(
        sense=sense,
        driven=turned[at],
        held=_held(turned, at),
        coasting=_coasting(turned, at, float(np.median(np.diff(time)))),
        rivals=tuple(piece for piece in rivals if piece is not turned[at]),
    )


def run_within(
    time: Array, speed: Array, window: tuple[float, float], senses: Sequence[int]
) -> RoughRun | None:
    """The run whose driven part fills a window set by hand; None where speed doesn't grow in it."""
    inside = np.flatnonzero((time >= window[0]) & (time <= window[1]))
    if len(inside) < SHORTEST:
        return None
    driven = _piece(int(inside[0]), int(inside[-1]) + 1, time, speed)
    sense = senses[0] if len(senses) == 1 else (-1 if driven.speed(driven.end) < 0 else 1)
    pieces = [_turned(piece, sense) for piece in _pieces(*_binned(time, speed))]
    before = [
        replace(piece, end=min(piece.end, window[0])) for piece in pieces if piece.begin < window[0]
    ]
    after = [
        replace(piece, begin=max(piece.begin, window[1]))
        for piece in pieces
        if piece.end > window[1]
    ]
    whole = [*before, _turned(driven, sense), *after]
    at = len(before)
    if whole[at].slope <= 0:
        return None
    step = float(np.median(np.diff(time)))
    held, coasting = _held(whole, at), _coasting(whole, at, step)
    return RoughRun(sense=sense, driven=whole[at], held=held, coasting=coasting, rivals=())


def _binned(time: Array, speed: Array) -> tuple[Array, Array]:
    """Medians over at most MOST_BINS bins of neighbouring readings: spikes don't move them."""
    size = max(3, -(-len(time) // MOST_BINS))
    if len(time) < 3 * MOST_BINS:
        padded = np.concatenate([speed[:1], speed, speed[-1:]])
        calm = np.median(np.stack([padded[:-2], padded[1:-1], padded[2:]]), axis=0)
        step = max(1, -(-len(time) // MOST_BINS))
        return time[::step], calm[::step]
    number = len(time) // size
    shape = (number, size)
    inside = number * size
    return time[:inside].reshape(shape).mean(axis=1), np.median(
        speed[:inside].reshape(shape), axis=1
    )


def _pieces(time: Array, speed: Array) -> list[Piece]:
    """The best cut into straight pieces, those of nearly the same slope joined."""
    costs = _costs(time, speed)
    top = float(np.quantile(np.abs(speed), 0.98))
    price = PRICE * max(_noise(speed), COARSE * top, 1e-12) ** 2
    n = len(time)
    least, origin = np.full(n + 1, inf), np.zeros(n + 1, dtype=int)
    least[0] = -price
    for end in range(1, n + 1):
        if end < SHORTEST:
            continue
        totals = least[: end - SHORTEST + 1] + costs[: end - SHORTEST + 1, end - 1] + price
        origin[end] = int(np.argmin(totals))
        least[end] = totals[origin[end]]
    edges = [n]
    while edges[-1] > 0:
        edges.append(int(origin[edges[-1]]))
    edges.reverse()
    return _joined(edges, time, speed)


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


def _joined(edges: Sequence[int], time: Array, speed: Array) -> list[Piece]:
    cuts = list(edges)
    at = 1
    while at < len(cuts) - 1:
        left = _piece(cuts[at - 1], cuts[at], time, speed)
        right = _piece(cuts[at], cuts[at + 1], time, speed)
        if _alike(left, right):
            del cuts[at]
            at = max(at - 1, 1)
        else:
            at += 1
    return [_piece(begin, end, time, speed) for begin, end in pairwise(cuts)]


def _alike(left: Piece, right: Piece) -> bool:
    """Whether two neighbours are one line, as far as a rough look goes."""
    steeper = max(abs(left.slope), abs(right.slope))
    jump = abs(left.speed(left.end) - right.speed(left.end))
    gained = max(abs(piece.slope) * (piece.end - piece.begin) for piece in (left, right))
    return abs(left.slope - right.slope) <= OTHER_SLOPE * steeper and jump <= JUMP * gained


def _piece(begin: int, end: int, time: Array, speed: Array) -> Piece:
    t, v = time[begin:end], speed[begin:end]
    centre = float(t.mean())
    spread = float(((t - centre) ** 2).sum())
    slope = float((t - centre) @ v) / spread if spread > 0 else 0.0
    intercept = float(v.mean()) - slope * centre
    scatter = float(np.sqrt(np.mean((v - intercept - slope * t) ** 2)))
    return Piece(
        begin=float(t[0]), end=float(t[-1]), intercept=intercept, slope=slope, scatter=scatter
    )


def _turned(piece: Piece, sense: int) -> Piece:
    return replace(piece, intercept=sense * piece.intercept, slope=sense * piece.slope)


def _may_be_driven(pieces: Sequence[Piece], at: int, top: float, from_rest: bool) -> bool:
    """Whether a piece has the look of a driven part: from rest it speeds up evenly; after a push
    it is what comes next.
    """
    piece = pieces[at]
    first, last = piece.speed(piece.begin), piece.speed(piece.end)
    gained = last - first
    if not from_rest:
        moves = first + last > 0.2 * top and piece.scatter <= UNEVEN * max(abs(gained), top / 3)
        return moves and (at == 0 or _held(pieces, at) is not None)
    if gained <= 0 or last < 0.1 * top or piece.scatter > UNEVEN * gained:
        return False
    return abs(first) <= AT_REST * last or (first <= HALF * last and _begun_before(pieces, at))


def _begun_before(pieces: Sequence[Piece], at: int) -> bool:
    """Whether noise has cut the begin off a driven part: from rest on its line is followed."""
    driven = pieces[at]
    start, near = -driven.intercept / driven.slope, ON_LINE * driven.speed(driven.end)
    middles = [(piece, (max(piece.begin, start) + piece.end) / 2) for piece in pieces[:at]]
    since = [(piece, middle) for piece, middle in middles if middle > start]
    return bool(since) and all(
        abs(piece.speed(middle) - driven.speed(middle)) <= near for piece, middle in since
    )


def _length(piece: Piece) -> float:
    """About twice the distance covered, m."""
    return (piece.speed(piece.begin) + piece.speed(piece.end)) * (piece.end - piece.begin)


def _held(pieces: Sequence[Piece], at: int) -> Piece | None:
    """The stretch at rest just before the driven part; pieces between them are corners."""
    driven = pieces[at]
    reached = max(abs(driven.speed(driven.begin)), abs(driven.speed(driven.end)))
    earliest = driven.begin - 0.3 * (driven.end - driven.begin)
    calm = [
        piece
        for piece in pieces[:at]
        if max(abs(piece.speed(piece.begin)), abs(piece.speed(piece.end))) < 0.1 * reached
        and piece.end >= earliest
    ]
    return max(calm, key=lambda piece: piece.end - piece.begin, default=None)


def _bends(driven: Piece, after: Piece) -> bool:
    return abs(after.slope - driven.slope) > OTHER_SLOPE * abs(driven.slope)


def _coasting(pieces: Sequence[Piece], at: int, step: float) -> Piece | None:
    """The stretch of another slope that goes on where the driven part ends.

    Where readings (every ``step`` s) are few, a corner that is rounded off can be a piece of its
    own, so the longest is taken that fits; and a stop that is rounded off is none.
    """
    driven = pieces[at]
    reached, lasted = driven.speed(driven.end), driven.end - driven.begin
    near = [piece for piece in pieces[at + 1 :] if piece.begin - driven.end <= 0.3 * lasted]
    found = [
        piece
        for piece in near
        if 0.6 * reached < piece.speed(piece.begin) < 1.4 * reached
        and piece.speed(piece.end) > -0.1 * reached
        and _bends(driven, piece)
        and not (piece.end - piece.begin < ROUNDED * step and piece.speed(piece.end) < reached / 2)
    ]
    return max(found, key=lambda piece: piece.end - piece.begin, default=None)
