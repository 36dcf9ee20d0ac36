"""The readings from which motion is found: what is there, how velocities were made, and when they
leave a line.

Takes a record; gives series without missing values, turned into the sense of the run.
"""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from math import factorial
from typing import Any

import numpy as np

from fallwork.measurement.model import Array, Line, Record, Span

SPIKE = 6.0  # standard deviations from the fit
BENT = 2.5  # standard deviations: readings at the end that are off by more are cut away
CALM = 2.5  # usual variances: a part of the held stretch with more is a hand's doing
CALM_PARTS, CALM_SIZE = 8, 10  # most parts to look at; least readings in one
FARTHEST = 16  # samples up to which a clear correlation counts as made by the sensor
SLOPE_TIME = 0.02  # s on either side, over which rough speeds are slopes of positions
WIDEST = 12  # samples on either side over which velocities may be slopes of positions
SAME = 0.6  # correlation of noises from which velocities are slopes of the positions beside them
FAR_OFF = 5.0  # standard deviations: readings beyond don't belong to the driven line
SUDDEN = 2.0  # such limits within a few readings: a stop, not a bend
AT_ONCE = 0.15  # of its steepest step: the smallest step that still belongs to a jump
GOES_ON = 0.5  # of its steepest step: after a jump steps are smaller
JUMP = 10  # readings within which a stop or a start is over, however smoothed


Timed = tuple[float, float]  # s, with its standard uncertainty


@dataclass(frozen=True, kw_only=True)
class Readings:
    """What a sensor read at some times."""

    time: Array  # s
    values: Array

    def part(self, which: Any) -> "Readings":
        """The readings that an index or a mask picks."""
        return Readings(time=self.time[which], values=self.values[which])

    def within(self, span: Span) -> "Readings":
        """The readings between two times, these included."""
        first = np.searchsorted(self.time, span[0])
        return self.part(slice(first, np.searchsorted(self.time, span[1], side="right")))

    @property
    def step(self) -> float:
        """The usual time between readings, s."""
        return float(np.median(np.diff(self.time)))

    def without_spikes(self, degree: int) -> tuple["Readings", tuple[float, ...]]:
        """The stretch without readings that stand alone far off the polynomial, and their times."""
        kept = np.ones(len(self.time), dtype=bool)
        for _ in range(20):
            if kept.sum() < degree + 4:
                break
            rest = self.residuals(degree, kept)
            size = np.abs(rest)
            limit = SPIKE * _robust_scatter(rest[kept], self.values[kept])
            far = kept & (size > max(limit, 0.5 * float(size[kept].max())))
            if not far.any() or 3 * far.sum() >= kept.sum():  # so many don't stand alone
                break
            kept &= ~far
        return self.part(kept), tuple(float(each) for each in self.time[~kept])

    def until_bend(self, degree: int, like: "Readings") -> "Readings":
        """The stretch without its last readings, as far as that makes its squared residuals
        smaller by BENT² variances each: what a sensor smooths lets a stop show early. ``like`` has
        the same noise.
        """
        rest, n = like.residuals(degree), len(self.time)
        scatter = _robust_scatter(rest, like.values)
        price = BENT**2 * max(float(rest @ rest) / len(rest), scatter**2)
        sizes = range(n, max(n - FARTHEST, degree + 2) - 1, -1)
        costs = {k: np.sum(self.part(slice(k)).residuals(degree) ** 2) - price * k for k in sizes}
        return self.part(slice(min(costs, key=costs.__getitem__, default=n)))

    def at_rest(self, held: Span | None, degree: int) -> tuple[Array, ...]:
        """Residuals while the object is held: what the sensor's noise is like. Of the longest part
        without a hand's movement, where the scatter is not above the usual.
        """
        if held is None:
            return ()
        stretch, _ = self.within(held).without_spikes(degree)
        n = len(stretch.time)
        parts = min(n // CALM_SIZE, CALM_PARTS)
        if parts >= 3:
            edges = np.round(np.linspace(0, n, parts + 1)).astype(int)
            pieces = np.split(stretch.values, edges[1:-1])
            levels = np.array([np.median(each) for each in pieces])
            scatters = np.array([np.var(each) for each in pieces])
            limit = CALM * float(np.quantile(scatters, 0.4))
            calm = (scatters <= limit) & ((levels - np.median(levels)) ** 2 <= limit)
            spans = [(a, b) for a in range(parts) for b in range(a, parts + 1) if calm[a:b].all()]
            first, last = max(spans, key=lambda span: span[1] - span[0])
            stretch = stretch.part(slice(edges[first], edges[last]))
        return (stretch.residuals(degree),) if len(stretch.time) >= 8 else ()

    def residuals(self, degree: int, kept: Any = slice(None)) -> Array:
        """What the polynomial through the readings that are ``kept`` leaves of all of them."""
        design = powers(self.time - self.time.mean(), degree)
        solution, *_ = np.linalg.lstsq(design[kept], self.values[kept], rcond=None)
        return np.asarray(self.values - design @ solution)

    def slopes(self, side: int) -> "Readings":
        """Slope of the line through each position and ``side`` on either side of it."""
        t, x, width = self.time, self.values, 2 * side + 1
        if len(t) < width + 1:
            return Readings(time=t, values=np.gradient(x, t))
        times, places = (np.lib.stride_tricks.sliding_window_view(each, width) for each in (t, x))
        since = times - times.mean(axis=1, keepdims=True)
        products, squares = (since * places).sum(axis=1), (since * since).sum(axis=1)
        return Readings(time=t[side:-side], values=np.asarray(products / squares))

    def summed(self) -> "Readings":
        """The running integral of velocities by trapezia: positions from an arbitrary zero."""
        t, v = self.time, self.values
        areas = np.diff(t) * (v[1:] + v[:-1]) / 2
        return Readings(time=t, values=np.concatenate([[0.0], np.cumsum(areas)]))


def _robust_scatter(rest: Array, values: Array) -> float:
    """Standard deviation that single outliers don't move; not below the steps of the readings."""
    steps = np.diff(np.unique(values))
    step = float(steps.min()) if len(steps) else 0.0
    middle = 1.4826 * float(np.median(np.abs(rest - np.median(rest))))
    return max(middle, step / 2, 1e-6 * float(np.ptp(values)), 1e-300)


def powers(time: Array, degree: int) -> Array:
    """Terms 1, t, t²/2, … of each reading, (n, degree + 1)."""
    return np.stack([time**power / factorial(power) for power in range(degree + 1)], axis=1)


@dataclass(frozen=True, kw_only=True)
class Signals:
    """Motion of one trial."""

    channels: Mapping[str, Readings]  # "velocity" and "position", or one of them
    derived: bool  # whether the velocities are slopes of the positions

    def rough_speed(self) -> tuple[Readings, float]:
        """Speeds good enough to see the pieces of the record, and for how long they round a corner
        off, s (0 for velocities as recorded). Velocities that are slopes of the positions give way
        to slopes over fewer of them: corners are rounded off less.
        """
        if "velocity" in self.channels and not self.derived:
            return self.channels["velocity"], 0.0
        position = self.channels["position"]
        side = max(1, round(SLOPE_TIME / position.step))
        return position.slopes(side), 2 * side * position.step

    def aligned(
        self, sense: int, driven: Span, given: Mapping[str, int]
    ) -> tuple["Signals", dict[str, int]]:
        """Both channels counting along the run, and the signs by which they were multiplied. A sign
        that is ``given`` is obeyed; else it is the ``sense`` of the rough speeds, and positions
        have to grow in the ``driven`` part.
        """
        signs = {"velocity": sense, "position": 1}
        if position := self.channels.get("position"):
            there = position.within(driven).values
            third = max(len(there) // 3, 1)
            if len(there) and np.median(there[-third:]) < np.median(there[:third]):
                signs["position"] = -1
        used = {name: given.get(name, signs[name]) for name in self.channels}
        turned = {n: replace(r, values=used[n] * r.values) for n, r in self.channels.items()}
        return replace(self, channels=turned), used


def signals_of(record: Record) -> Signals | None:
    """The motion in a record; None where it has neither velocities nor positions."""
    every = {name: known(record, name) for name in ("velocity", "position")}
    channels = {name: each for name, each in every.items() if each}
    if not channels:
        return None
    return Signals(channels=channels, derived=len(channels) > 1 and _derived(**channels))


def known(record: Record, channel: str) -> Readings | None:
    """The readings of a channel that aren't missing; None where there are less than two."""
    values: Array | None = getattr(record, channel)
    if values is None:
        return None
    found = Readings(time=record.time, values=values).part(np.isfinite(values))
    return found if len(found.time) > 1 else None


def _derived(velocity: Readings, position: Readings) -> bool:
    """Whether velocities have the noise of slopes of the positions, by two-fold differences."""
    common, at_v, at_x = np.intersect1d(velocity.time, position.time, return_indices=True)
    if len(common) < 20:
        return False
    bends, t, x = _bends(velocity.values[at_v]), common, position.values[at_x]
    for side in range(1, min(WIDEST, (len(t) - 10) // 4) + 1):
        # The usual ways to make velocities out of positions some samples off.
        line = Readings(time=t, values=x).slopes(side).values
        two, one = ((x[gap:] - x[:-gap]) / (t[gap:] - t[:-gap]) for gap in (2 * side, side))
        for other in map(_bends, (two, one, line)):
            own = bends[side : side + len(other)]
            size = float(np.sqrt((own @ own) * (other @ other)))
            if size > 0 and float(own @ other) / size > SAME:
                return True
    return False


def _bends(values: Array) -> Array:
    """Two-fold differences, without the few large ones that jumps of the motion make."""
    bends = np.diff(values, 2)
    limit = 5 * float(np.median(np.abs(bends)))
    return np.where(np.abs(bends) > limit, 0.0, bends) if limit > 0 else bends


def departure(
    speed: Readings, line: Line, driven: Span, *, corner: float = 0.0, backward: bool = False
) -> Timed | None:
    """When speeds leave the driven line for good, with its standard uncertainty (rectangular).
    ``backward`` looks for the begin in place of the end. A sudden stop or start lies where half the
    jump is done, however a sensor smooths it. A mere bend shows only when it has grown out of the
    noise, so it may lie nearer by as much; and where speeds are slopes that round a ``corner`` off
    (s), it may lie as far on as these look ahead. None where speeds follow the line to the end.
    """
    if backward:
        turned = Readings(time=-speed.time[::-1], values=speed.values[::-1])
        found = departure(turned, (line[0], -line[1]), (-driven[1], -driven[0]), corner=corner)
        return found and (-found[0], found[1])
    time, on_line = speed.time, line[0] + line[1] * speed.time
    rest = speed.values - on_line
    inside = (time >= driven[0]) & (time <= driven[1])
    scatter = 1.4826 * float(np.median(np.abs(rest[inside]))) if inside.any() else 0.0
    limit = max(FAR_OFF * scatter, 1e-3 * float(np.abs(speed.values).max()))
    far = np.abs(rest) > limit
    left = np.flatnonzero((time > sum(driven) / 2)[:-1] & far[:-1] & far[1:])
    if not len(left):
        return None
    first = int(left[0])
    jump = _half_done(speed, on_line, first, limit)
    if jump is not None:
        return jump
    latest = float(time[first]) + corner / 2
    earliest = float(time[first - 1]) - limit / max(abs(line[1]), 1e-9)
    return (earliest + latest) / 2, (latest - earliest) / 12**0.5


def _half_done(speed: Readings, on_line: Array, first: int, limit: float) -> Timed | None:
    """When half of a jump is done that begins at ``first``, with its standard uncertainty. None for
    a mere bend. The more readings a jump spans, the better it is placed among them.
    """
    rest = speed.values - on_line
    steps = np.abs(np.diff(rest[first : first + JUMP]))
    steepest = int(np.argmax(steps)) if len(steps) > 1 else 0
    way = steps[: steepest + 1]
    settled = slice(first + 2 * steepest + 2, first + 2 * steepest + 5)
    after, onward = rest[settled], np.abs(np.diff(rest[settled]))
    if (
        (len(way) and way.min() < AT_ONCE * way.max())  # first a bend, then something sudden
        or not len(after)
        or abs(float(np.median(after))) < SUDDEN * limit
        or (len(onward) and np.median(onward) > GOES_ON * way.max())  # as steep, so it is a bend
    ):
        return None
    left = speed.values - (on_line + float(np.median(speed.values[settled]))) / 2
    over = np.flatnonzero(left[first - 1 : -1] * left[first:] <= 0)
    if not len(over):
        return None
    at = first - 1 + int(over[0])
    share = float(left[at] / (left[at] - left[at + 1])) if left[at] != left[at + 1] else 0.0
    time = float(speed.time[at] + share * (speed.time[at + 1] - speed.time[at]))
    return time, speed.step / 12**0.5 / (1 + steepest)
