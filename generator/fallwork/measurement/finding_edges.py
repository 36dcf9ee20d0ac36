"""Between which times the pieces of a run are fitted.

Takes a rough run and fitted lines; gives stretches at a distance from release and landing. The
distance covers what sensors round off, a hand's jerk and a spike.
"""

from dataclasses import dataclass

import numpy as np

from fallwork.measurement.finding_fit import Readings
from fallwork.measurement.finding_noise import Noise
from fallwork.measurement.finding_pieces import RoughRun
from fallwork.measurement.model import Array

MARGIN = 0.06  # of the driven part, left out at either end of a stretch
WIDEST_MARGIN = 0.2  # of the driven part
LEAST_COASTING = 0.15  # of the coasting part: a short one gets a smaller margin
FAR_OFF = 5.0  # standard deviations: readings beyond don't belong to the driven line
SUDDEN = 2.0  # such limits within a few readings: a stop, not a bend
AT_ONCE = 0.15  # of its steepest step: the smallest step that still belongs to a jump
GOES_ON = 0.5  # of its steepest step: after a jump steps are smaller
JUMP = 10  # readings within which a stop or a start is over, however smoothed
MISPLACED = 0.3  # of the driven part: lines that meet farther from its end don't tell its end

Span = tuple[float, float]  # s


@dataclass(frozen=True, kw_only=True)
class Edges:
    """Times between which stretches are fitted, s."""

    driven: Span
    held: Span | None = None
    coasting: Span | None = None

    @property
    def moving(self) -> tuple[Span, ...]:
        """The driven stretch and, where it is there, the coasting one."""
        return (self.driven, self.coasting) if self.coasting else (self.driven,)

    def close_to(self, other: "Edges", step: float) -> bool:
        """Whether both cut out nearly the same readings."""
        mine, theirs = (
            np.array([each or (np.nan, np.nan) for each in (e.driven, e.held, e.coasting)])
            for e in (self, other)
        )
        return np.allclose(mine, theirs, rtol=0, atol=step, equal_nan=True)


def cut(stretch: Readings, span: Span) -> Readings:
    """The readings within a span, its ends included."""
    first = np.searchsorted(stretch.time, span[0])
    last = np.searchsorted(stretch.time, span[1], side="right")
    return stretch.part(slice(first, last))


def edges_for(rough: RoughRun, signal: Readings, times: Span, noise: Noise | None) -> Edges:
    """Stretches for a run from release to landing (``times``); those of few readings are none."""
    release, landing = times
    step, lasted = signal.step, landing - release
    reach = 0.0 if noise is None else (noise.reach / 2 + 1) * step
    margin = min(max(MARGIN * lasted, 2 * step, reach), WIDEST_MARGIN * lasted)
    begins, ends = float(signal.time[0]), float(signal.time[-1])
    held = coasting = None
    if piece := rough.held:
        first = begins if piece.begin <= begins + 2 * step else piece.begin + margin
        held = (first, release - margin)
    if piece := rough.coasting:
        own = min(margin, max(LEAST_COASTING * (piece.end - landing), 2 * step))
        coasting = (landing + own, ends if piece.end >= ends - 2 * step else piece.end)
    return Edges(
        driven=(max(release + margin, begins), min(landing - margin, ends)),
        held=held if held and held[1] - held[0] > 3 * step else None,
        coasting=coasting if coasting and coasting[1] - coasting[0] > 3 * step else None,
    )


def rough_times(rough: RoughRun, from_rest: bool) -> Span:
    """Release and landing as the rough pieces have them."""
    driven = rough.driven
    release = -driven.intercept / driven.slope if from_rest else driven.begin
    landing = driven.end
    if rough.coasting is not None:
        other = rough.coasting
        meets = (other.intercept - driven.intercept) / (driven.slope - other.slope)
        if well_placed(meets, rough):
            landing = meets
    return release, landing


def well_placed(landing: float, rough: RoughRun) -> bool:
    """Whether lines meet where the driven part seemed to end."""
    return abs(landing - rough.driven.end) <= MISPLACED * rough.driven.lasts


def departure(
    speed: Readings, line: Array, driven: Span, *, corner: float = 0.0, backward: bool = False
) -> tuple[float, float] | None:
    """When speeds leave the driven line for good, with its standard uncertainty (rectangular).

    ``backward`` looks for the begin in place of the end. A sudden stop or start lies where half
    the jump is done, however a sensor smooths it. A mere bend shows only when it has grown out of
    the noise, so it may lie nearer by as much; and where speeds are slopes that round a ``corner``
    off (s), it may lie as far on as these look ahead. None where speeds follow the line to the end.
    """
    if backward:
        turned = Readings(time=-speed.time[::-1], values=speed.values[::-1])
        found = departure(turned, line * [1.0, -1.0], (-driven[1], -driven[0]), corner=corner)
        return found and (-found[0], found[1])
    time = speed.time
    rest = speed.values - line[0] - line[1] * time
    inside = (time >= driven[0]) & (time <= driven[1])
    scatter = 1.4826 * float(np.median(np.abs(rest[inside]))) if inside.any() else 0.0
    limit = max(FAR_OFF * scatter, 1e-3 * float(np.abs(speed.values).max()))
    far = np.abs(rest) > limit
    after = (time > (driven[0] + driven[1]) / 2)[:-1]
    left = np.flatnonzero(after & far[:-1] & far[1:])
    if not len(left):
        return None
    first = int(left[0])
    jump = _half_done(speed, rest, first, limit)
    if jump is not None:
        return jump
    latest = float(time[first]) + corner / 2
    earliest = float(time[first - 1]) - limit / max(abs(float(line[1])), 1e-9)
    return (earliest + latest) / 2, (latest - earliest) / 12**0.5


def _half_done(
    speed: Readings, rest: Array, first: int, limit: float
) -> tuple[float, float] | None:
    """When half of a jump is done that begins at ``first``, with its standard uncertainty.

    None for a mere bend. The more readings a jump spans, the better it is placed among them.
    """
    near = rest[first : first + JUMP]
    steepest = int(np.argmax(np.abs(np.diff(near)))) if len(near) > 2 else 0
    way = np.abs(np.diff(near[: steepest + 2]))
    if len(way) and way.min() < AT_ONCE * way.max():
        return None  # first a bend, then something sudden: the end is where it bends
    settled = slice(first + 2 * steepest + 2, first + 2 * steepest + 5)
    if not len(rest[settled]) or abs(float(np.median(rest[settled]))) < SUDDEN * limit:
        return None
    onward = np.abs(np.diff(rest[settled]))
    if len(onward) and float(np.median(onward)) > GOES_ON * float(way.max()):
        return None  # it goes on as steeply: a bend, however few readings show it
    line = speed.values - rest
    left = speed.values - (line + float(np.median(speed.values[settled]))) / 2
    over = np.flatnonzero(left[first - 1 : -1] * left[first:] <= 0)
    if not len(over):
        return None
    at = first - 1 + int(over[0])
    share = float(left[at] / (left[at] - left[at + 1])) if left[at] != left[at + 1] else 0.0
    time = float(speed.time[at] + share * (speed.time[at + 1] - speed.time[at]))
    return time, speed.step / 12**0.5 / (1 + steepest)
