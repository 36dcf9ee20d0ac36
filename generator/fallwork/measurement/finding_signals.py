"""The readings from which motion is found: what is there, and how velocities were made.

Takes a record; gives series without missing values, turned into the sense of the run.
"""

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np

from fallwork.measurement.finding_fit import Stretch
from fallwork.measurement.model import Array, Record

SLOPE_TIME = 0.02  # s on either side, over which rough speeds are slopes of positions
WIDEST = 12  # samples on either side over which velocities may be slopes of positions
SAME = 0.6  # correlation of noises from which velocities are slopes of the positions beside them


@dataclass(frozen=True, kw_only=True)
class Signals:
    """Motion of one trial; at least one of the two is there."""

    velocity: Stretch | None
    position: Stretch | None
    derived: bool  # whether the velocities are slopes of the positions

    @property
    def rough_speed(self) -> Stretch:
        """Speeds good enough to see the pieces of the record.

        Velocities that are slopes of the positions give way to slopes over fewer of them: corners
        are rounded off less.
        """
        if self.velocity is not None and not self.derived:
            return self.velocity
        assert self.position is not None  # one of the two is always there
        return slopes(self.position, self._side)

    @property
    def corner(self) -> float:
        """For how long slopes of positions round a corner off, s; 0 for velocities as recorded."""
        if self.velocity is not None and not self.derived:
            return 0.0
        assert self.position is not None
        return 2 * self._side * float(np.median(np.diff(self.position.time)))

    @property
    def _side(self) -> int:
        assert self.position is not None
        step = float(np.median(np.diff(self.position.time)))
        return max(1, round(SLOPE_TIME / step))


def aligned(
    signals: Signals, sense: int, given: Mapping[str, int], driven: tuple[float, float]
) -> tuple[Signals, dict[str, int]]:
    """Both channels counting along the run, and the signs by which they were multiplied.

    ``sense`` is the one of the rough speeds; a sign that is given is obeyed. ``driven`` is a span
    in which the object moves: there positions have to grow.
    """
    signs = {}
    if signals.velocity is not None:
        signs["velocity"] = given.get("velocity", sense)
    if signals.position is not None:
        signs["position"] = given.get("position", _sense_of(signals.position, driven))
    turned = replace(
        signals,
        velocity=_times(signals.velocity, signs.get("velocity", 1)),
        position=_times(signals.position, signs.get("position", 1)),
    )
    return turned, signs


def _sense_of(position: Stretch, driven: tuple[float, float]) -> int:
    inside = (position.time >= driven[0]) & (position.time <= driven[1])
    there = position.values[inside]
    third = max(len(there) // 3, 1)
    return -1 if np.median(there[-third:]) < np.median(there[:third]) else 1


def _times(stretch: Stretch | None, sign: int) -> Stretch | None:
    return stretch and Stretch(time=stretch.time, values=sign * stretch.values)


def signals_of(record: Record) -> Signals | None:
    """The motion in a record; None where it has neither velocities nor positions."""
    velocity = _known(record.time, record.velocity)
    position = _known(record.time, record.position)
    if velocity is None and position is None:
        return None
    return Signals(
        velocity=velocity,
        position=position,
        derived=velocity is not None and position is not None and _derived(velocity, position),
    )


def _known(time: Array, values: Array | None) -> Stretch | None:
    if values is None:
        return None
    there = np.isfinite(values)
    return Stretch(time=time[there], values=values[there]) if there.sum() > 1 else None


def slopes(position: Stretch, side: int) -> Stretch:
    """Slope of the line through each position and ``side`` on either side of it."""
    t, x = position.time, position.values
    n, width = len(t), 2 * side + 1
    if n < width + 1:
        return Stretch(time=t, values=np.gradient(x, t))
    inside = n - width + 1
    middle = sum(t[at : at + inside] for at in range(width)) / width
    products, squares = np.zeros(inside), np.zeros(inside)
    for at in range(width):
        off = t[at : at + inside] - middle
        products += off * x[at : at + inside]
        squares += off * off
    return Stretch(time=t[side : n - side], values=products / squares)


def _derived(velocity: Stretch, position: Stretch) -> bool:
    """Whether the noise of the velocities is that of slopes of the positions.

    Compared is what two-fold differences leave of both, which motion hardly changes.
    """
    common, at_v, at_x = np.intersect1d(velocity.time, position.time, return_indices=True)
    if len(common) < 20:
        return False
    bends = _calm(np.diff(velocity.values[at_v], 2))
    x = Stretch(time=common, values=position.values[at_x])
    return any(
        _same_noise(bends[int(np.searchsorted(common, each.time[0])) :], each)
        for side in range(1, WIDEST + 1)
        for each in _slopes_of(x, side)
    )


def _slopes_of(position: Stretch, side: int) -> tuple[Stretch, ...]:
    """The usual ways to make velocities out of positions ``side`` samples off."""
    t, x = position.time, position.values
    if len(t) < 4 * side + 10:
        return ()
    central = Stretch(
        time=t[side:-side],
        values=(x[2 * side :] - x[: -2 * side]) / (t[2 * side :] - t[: -2 * side]),
    )
    backward = Stretch(time=t[side:], values=(x[side:] - x[:-side]) / (t[side:] - t[:-side]))
    return central, slopes(position, side), backward


def _same_noise(bends: Array, slope: Stretch) -> bool:
    """Whether two-fold differences of velocities, from a slope's first time on, are the slope's."""
    other = _calm(np.diff(slope.values, 2))
    own = bends[: len(other)]
    size = float(np.sqrt((own @ own) * (other @ other)))
    return size > 0 and float(own @ other) / size > SAME


def _calm(values: Array) -> Array:
    """Without the few large values that jumps of the motion make."""
    limit = 5 * float(np.median(np.abs(values)))
    return np.where(np.abs(values) > limit, 0.0, values) if limit > 0 else values


def summed(velocity: Stretch) -> Stretch:
    """The running integral of velocities by trapezia: positions from an arbitrary zero."""
    t, v = velocity.time, velocity.values
    areas = np.diff(t) * (v[1:] + v[:-1]) / 2
    return Stretch(time=t, values=np.concatenate([[0.0], np.cumsum(areas)]))


def has_gaps(stretch: Stretch, first: float, last: float) -> bool:
    """Whether readings are missing between two times, so that their sum is no position."""
    inside = (stretch.time >= first) & (stretch.time <= last)
    steps = np.diff(stretch.time[inside])
    return bool(len(steps) and steps.max() > 1.9 * np.median(steps))
