"""Where an object that was pushed away turns round.

Takes a record; gives what it holds from the turning point on. The way back is longer than the way
out, so the last extreme of the position is the end and the other one the turn. Finding the run in
the rest is left to ``finding``.
"""

from dataclasses import replace

import numpy as np

from fallwork.measurement.finding_signals import signals_of, summed
from fallwork.measurement.model import Array, Record

CALM = 5  # readings whose median stands for the middle one, so that a spike is no extreme


def since_the_turn(record: Record) -> Record:
    """The record without what comes before the turn; as it is where there is no motion in it."""
    found = signals_of(record)
    if found is None:
        return record
    place = found.position or summed(found.rough_speed)
    if len(place.time) < CALM:
        return record
    calm = np.median(np.lib.stride_tricks.sliding_window_view(place.values, CALM), axis=1)
    turn = place.time[min(int(calm.argmin()), int(calm.argmax())) + CALM // 2]
    kept = record.time >= turn
    return replace(
        record,
        time=record.time[kept],
        position=_cut(record.position, kept),
        velocity=_cut(record.velocity, kept),
        force=_cut(record.force, kept),
    )


def _cut(column: Array | None, kept: np.ndarray) -> Array | None:
    return None if column is None else column[kept]
