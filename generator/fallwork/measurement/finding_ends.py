"""When the speeds of a record leave the line of its driven part.

Takes speeds and the fitted line; gives the time at which they part for good, where no second line
tells it.
"""

import numpy as np

from fallwork.measurement.finding_fit import Readings, Span
from fallwork.measurement.model import Array

FAR_OFF = 5.0  # standard deviations: readings beyond don't belong to the driven line
SUDDEN = 2.0  # such limits within a few readings: a stop, not a bend
AT_ONCE = 0.15  # of its steepest step: the smallest step that still belongs to a jump
GOES_ON = 0.5  # of its steepest step: after a jump steps are smaller
JUMP = 10  # readings within which a stop or a start is over, however smoothed


def departure(
    speed: Readings,
    line: tuple[float, float],
    driven: Span,
    *,
    corner: float = 0.0,
    backward: bool = False,
) -> tuple[float, float] | None:
    """When speeds leave the driven line for good, with its standard uncertainty (rectangular).

    ``backward`` looks for the begin in place of the end. A sudden stop or start lies where half
    the jump is done, however a sensor smooths it. A mere bend shows only when it has grown out of
    the noise, so it may lie nearer by as much; and where speeds are slopes that round a ``corner``
    off (s), it may lie as far on as these look ahead. None where speeds follow the line to the end.
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


def _half_done(
    speed: Readings, on_line: Array, first: int, limit: float
) -> tuple[float, float] | None:
    """When half of a jump is done that begins at ``first``, with its standard uncertainty.

    None for a mere bend. The more readings a jump spans, the better it is placed among them.
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
