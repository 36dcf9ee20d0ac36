"""Cuts a record of speeds into straight pieces, and finds the run among them.

Takes speeds, rough ones suffice; gives where the object is held, driven and coasting, and between
which times each is fitted. The pieces are those whose squared residuals plus a price for each piece
are least. Exact times and uncertainties are left to ``finding``.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from math import inf

import numpy as np

from fallwork.measurement.finding_fit import Noise
from fallwork.measurement.finding_signals import Readings
from fallwork.measurement.model import Array, Span

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
MARGIN = 0.06  # of the driven part, left out at either end of a stretch
WIDEST_MARGIN = 0.2  # of the driven part
LEAST_COASTING = 0.15  # of the coasting part: a short one gets a smaller margin
MISPLACED = 0.3  # of the driven part: lines that meet farther from its end don't tell its end


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

    def turned(self, sense: int) -> "StraightPiece":
        """With its speeds multiplied by ±1."""
        return replace(self, intercept=sense * self.intercept, slope=sense * self.slope)


@dataclass(frozen=True, kw_only=True)
class RoughRun:
    """Where the run lies, to within a few samples; speeds count along it."""

    sense: int  # +1, or −1 where the speeds were turned over
    driven: StraightPiece
    held: StraightPiece | None
    coasting: StraightPiece | None
    rivals: tuple[StraightPiece, ...] = ()  # other pieces that could have been the run

    def times(self, *, from_rest: bool) -> Span:
        """Release and landing, where the lines meet."""
        driven, other = self.driven, self.coasting
        release = -driven.intercept / driven.slope if from_rest else driven.begin
        if other is None:
            return release, driven.end
        meets = (other.intercept - driven.intercept) / (driven.slope - other.slope)
        return release, meets if self.may_end(meets) else driven.end

    def may_end(self, landing: float) -> bool:
        """Whether a time is near the one at which the driven part seemed to end."""
        return abs(landing - self.driven.end) <= MISPLACED * self.driven.lasts

    def stretches(self, speed: Readings, times: Span, noise: Noise | None) -> dict[str, Span]:
        """Between which times the ``driven``, ``held`` and ``coasting`` part are fitted, for a run
        from release to landing (``times``); those of few readings are none. The distance from
        release and landing covers what sensors round off, a hand's jerk and a spike.
        """
        release, landing = times
        step, lasted = speed.step, landing - release
        reach = 0.0 if noise is None else (noise.reach / 2 + 1) * step
        margin = min(max(MARGIN * lasted, 2 * step, reach), WIDEST_MARGIN * lasted)
        begins, ends = float(speed.time[0]), float(speed.time[-1])
        found = {}
        if piece := self.held:
            first = begins if piece.begin <= begins + 2 * step else piece.begin + margin
            found["held"] = (first, release - margin)
        if piece := self.coasting:
            own = min(margin, max(LEAST_COASTING * (piece.end - landing), 2 * step))
            found["coasting"] = (landing + own, ends if piece.end >= ends - 2 * step else piece.end)
        long = {part: span for part, span in found.items() if span[1] - span[0] > 3 * step}
        return {"driven": (max(release + margin, begins), min(landing - margin, ends))} | long


def rough_run(
    speed: Readings, senses: Sequence[int], *, from_rest: bool, window: Span | None = None
) -> RoughRun | None:
    """The longest even speeding-up, or what fills a window set by hand; None where there is none.
    ``senses`` are the signs that the run's speed may have in the record.
    """
    found = list[tuple[float, int, int, list[StraightPiece]]]()
    if window is None:
        pieces, top = _pieces(speed), float(np.quantile(np.abs(speed.values), 0.98))
        for sense in senses:
            turned = [piece.turned(sense) for piece in pieces]
            found += [
                (sum(piece.ends) * piece.lasts, sense, at, turned)  # about twice the distance
                for at, piece in enumerate(turned)
                if _may_be_driven(turned, at, top, from_rest)
            ]
    elif len((inside := speed.within(window)).time) >= SHORTEST:
        driven = _piece(inside)
        sense = senses[0] if len(senses) == 1 else (-1 if driven.ends[1] < 0 else 1)
        before, after = speed.time < window[0], speed.time > window[1]
        first, last = (_pieces(speed.part(which)) for which in (before, after))
        turned = [piece.turned(sense) for piece in (*first, driven, *last)]
        found += [(0.0, sense, len(first), turned)] if sense * driven.slope > 0 else []
    if not found:
        return None
    longest, sense, at, turned = max(found, key=lambda each: each[0])
    others = [every[which] for length, _, which, every in found if length > RIVAL * longest]
    driven, held, coasting = turned[at], _held(turned, at), _coasting(turned, at, speed.step)
    rivals = tuple(piece for piece in others if piece is not driven)
    return RoughRun(sense=sense, driven=driven, held=held, coasting=coasting, rivals=rivals)


def _binned(speed: Readings) -> Readings:
    """Medians over at most MOST_BINS bins of neighbouring readings: spikes don't move them."""
    n = len(speed.time)
    size = max(1, -(-n // MOST_BINS))
    if n < 3 * MOST_BINS:
        near = np.lib.stride_tricks.sliding_window_view(np.pad(speed.values, 1, mode="edge"), 3)
        return Readings(time=speed.time[::size], values=np.median(near, axis=1)[::size])
    bins = (each[: n // size * size].reshape(-1, size) for each in (speed.time, speed.values))
    return Readings(time=next(bins).mean(axis=1), values=np.median(next(bins), axis=1))


def _pieces(speed: Readings) -> list[StraightPiece]:
    """The best cut into straight pieces, those of nearly the same slope joined."""
    if not len(speed.time):
        return []
    speed = _binned(speed)
    n, v = len(speed.time), speed.values
    costs = _costs(speed.time - speed.time.mean(), v - v.mean())
    top = float(np.quantile(np.abs(v), 0.98))
    noise = [0.0]  # standard deviation about straight pieces; smoothed speeds need a long look
    for lag in LAGS:
        bends = v[: -2 * lag] - 2 * v[lag:-lag] + v[2 * lag :]
        if len(bends) > 8 * lag:
            noise.append(1.4826 * float(np.median(np.abs(bends))) / float(np.sqrt(6)))
    price = PRICE * max(*noise, COARSE * top, 1e-12) ** 2
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
        left, right = (_piece(speed.part(slice(*cuts[k : k + 2]))) for k in (at - 1, at))
        slopes, jump = (left.slope, right.slope), abs(left.ends[1] - right.speed(left.end))
        gained = max(abs(piece.slope) * piece.lasts for piece in (left, right))
        other = abs(left.slope - right.slope) > OTHER_SLOPE * max(map(abs, slopes))
        if not other and jump <= JUMP * gained:
            del cuts[at]
            at = max(at - 1, 1)
        else:
            at += 1
    return [_piece(speed.part(slice(*span))) for span in pairwise(cuts)]


def _costs(t: Array, v: Array) -> Array:
    """Squared residuals of the straight line through bins i to j, (n, n); upper triangle."""
    terms = np.array([np.ones_like(t), t, v, t * t, t * v, v * v])
    sums = np.cumsum(np.pad(terms, ((0, 0), (1, 0))), axis=1)
    n, st, sv, stt, stv, svv = sums[:, None, 1:] - sums[:, :-1, None]
    n = np.maximum(n, 1.0)
    ctt, ctv, cvv = stt - st * st / n, stv - st * sv / n, svv - sv * sv / n
    with np.errstate(divide="ignore", invalid="ignore"):
        rest = cvv - np.where(ctt > 0, ctv * ctv / ctt, 0.0)
    return np.asarray(np.maximum(rest, 0.0))


def _piece(part: Readings) -> StraightPiece:
    t, v = part.time, part.values
    since = t - t.mean()
    spread = float(since @ since)
    slope = float(since @ v) / spread if spread > 0 else 0.0
    rest = v - v.mean() - slope * since
    ends = {"begin": float(t[0]), "end": float(t[-1])}
    at_zero, scatter = float(v.mean()) - slope * float(t.mean()), float(np.sqrt(np.mean(rest**2)))
    return StraightPiece(**ends, intercept=at_zero, slope=slope, scatter=scatter)


def _may_be_driven(pieces: Sequence[StraightPiece], at: int, top: float, from_rest: bool) -> bool:
    """Whether a piece may be driven: evenly speeding up from rest, or next after a push."""
    piece = pieces[at]
    first, last = piece.ends
    gained = last - first
    if not from_rest:
        moves = first + last > 0.2 * top and piece.scatter <= UNEVEN * max(abs(gained), top / 3)
        return moves and (at == 0 or _held(pieces, at) is not None)
    if gained <= 0 or last < 0.1 * top or piece.scatter > UNEVEN * gained:
        return False
    start = -piece.intercept / piece.slope
    middles = [(each, (max(each.begin, start) + each.end) / 2) for each in pieces[:at]]
    off = [abs(each.speed(t) - piece.speed(t)) for each, t in middles if t > start]
    begun_before = bool(off) and max(off) <= ON_LINE * last
    return abs(first) <= AT_REST * last or (first <= HALF * last and begun_before)


def _held(pieces: Sequence[StraightPiece], at: int) -> StraightPiece | None:
    """The stretch at rest just before the driven part; pieces between them are corners."""
    driven = pieces[at]
    slow = 0.1 * max(map(abs, driven.ends))
    near = [p for p in pieces[:at] if p.end >= driven.begin - 0.3 * driven.lasts]
    calm = [piece for piece in near if max(map(abs, piece.ends)) < slow]
    return max(calm, key=lambda piece: piece.lasts, default=None)


def _coasting(pieces: Sequence[StraightPiece], at: int, step: float) -> StraightPiece | None:
    """The stretch of another slope that goes on where the driven part ends. Where readings (every
    ``step`` s) are few, a corner that is rounded off can be a piece of its own, so the longest is
    taken that fits; and a stop that is rounded off is none.
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
