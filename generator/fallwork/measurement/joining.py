"""Motion and force of one trial that lie in two files.

Takes records; says which force belongs to which motion, by their names: ``motion-03`` and
``force-3``, or trial 3 of two files. Puts the two on one clock: they have one already if the force
changes when the motion is released and when it ends, else the force is shifted until it does.
"""

import re
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np

from fallwork.errors import BadInput, Problem
from fallwork.measurement.finding_fit import Stretch
from fallwork.measurement.model import Array, FoundRun, Record
from fallwork.measurement.records_headings import known_words

FEWEST = 5  # readings on either side of a change
CLEAR = 0.5  # share of the readings' scatter that the changes explain: less shows nothing
ALIKE = 0.05  # s; clocks that differ by less are one clock: sensors are late by about as much
STEPS = 3  # intervals of the force sensor, likewise
FINEST = 4000  # shifts that are tried at most
_WORD = re.compile(r"[a-z]+|[0-9]+")
_CHANNELS = frozenset({*known_words(), "motion", "sensor"})


@dataclass(frozen=True, kw_only=True)
class Pair:
    """A record, and the force of the same trial where another file holds it."""

    record: Record
    force: Record | None = None


class OtherClockError(Exception):
    """Motion and force that can't be put on one clock; the text says why."""


def paired(records: Sequence[Record]) -> tuple[Pair, ...]:
    """Every record once, motions with their forces; raises BadInput where a name fits several."""
    motions, forces = defaultdict(list), defaultdict(list)
    for record in records:
        if record.force is None:
            motions[_trial_of(record)].append(record)
        elif record.position is None and record.velocity is None:
            forces[_trial_of(record)].append(record)
    both = [trial for trial in forces if trial in motions]
    problems = [each for trial in both for each in _problems(motions[trial], forces[trial])]
    if problems:
        raise BadInput(tuple(problems))
    found = {motions[trial][0].name: forces[trial][0] for trial in both}
    taken = {force.name for force in found.values()}
    return tuple(
        _pair(record, found.get(record.name)) for record in records if record.name not in taken
    )


def _pair(record: Record, force: Record | None) -> Pair:
    if force is None:
        return Pair(record=record)
    named = " ".join(_trial_words(record)) or record.name
    name = f"trial {named}" if named.isdigit() else named
    return Pair(record=replace(record, name=name), force=force)


def _trial_words(record: Record) -> list[str]:
    """What a name says besides what was recorded."""
    words = _WORD.findall(record.name.lower())
    return [word for word in words if word not in _CHANNELS]


def _trial_of(record: Record) -> tuple[str | int, ...]:
    return tuple(int(word) if word.isdigit() else word for word in _trial_words(record))


def _problems(motions: Sequence[Record], forces: Sequence[Record]) -> list[Problem]:
    names = [record.name for record in (*motions, *forces)]
    if len(names) > 2:
        found = f"{', '.join(names)} are named as one trial"
        expected = "two files of one trial are one motion and one force: name the trials apart"
    elif motions[0].simulated != forces[0].simulated:
        found = f"of {names[0]} and {names[1]}, which are named as one trial, one is simulated"
        expected = "simulated and measured data never make one trial: name them apart"
    else:
        return []
    place = forces[0].place
    assert place is not None  # it was read from a file
    return [Problem(place=place, found=found, expected=expected)]


def joined(motion: Record, force: Record, run: FoundRun, *, slack_after: bool) -> Record:
    """The record of both on the clock of the motion; raises OtherClockError.

    ``slack_after`` says whether the pull ends with the run.
    """
    shift, note = _shift(force, run, slack_after)
    time = force.time + shift
    every = np.union1d(motion.time, time)
    return replace(
        motion,
        time=every,
        position=_on(every, motion.time, motion.position),
        velocity=_on(every, motion.time, motion.velocity),
        force=_on(every, time, force.force),
        notes=tuple(dict.fromkeys((*motion.notes, *force.notes, note))),
        source=f"{motion.source} and {force.source}",
    )


def _on(every: Array, time: Array, values: Array | None) -> Array | None:
    if values is None:
        return None
    found = np.full(len(every), np.nan)
    found[np.searchsorted(every, time)] = values
    return found


def _shift(force: Record, run: FoundRun, slack_after: bool) -> tuple[float, str]:
    """What is added to the times of the force, s, and a sentence about it."""
    assert force.force is not None  # a record of a force
    there = np.isfinite(force.force)
    pull = Stretch(time=force.time[there], values=force.force[there])
    begin, end = run.driven
    ends = None if run.release is None or run.landing is None else (run.release, run.landing)
    found = _best(pull, ends) if ends and slack_after else None
    covers = bool(len(pull.time)) and pull.time[0] < begin and pull.time[-1] > end
    if found is None:
        if covers:
            return 0.0, f"{TWO_FILES}, taken to have one clock"
        raise OtherClockError(
            f"the force has readings from {force.time[0]:.2f} s to {force.time[-1]:.2f} s, the run "
            f"lies from {begin:.2f} s to {end:.2f} s, and the force doesn't show when it was"
        )
    step = float(np.median(np.diff(pull.time)))
    if abs(found) <= max(ALIKE, STEPS * step) and covers:
        return 0.0, f"{TWO_FILES} with one clock: the force changes when the run begins and ends"
    ahead = "ahead" if found < 0 else "behind"
    return found, (
        f"{TWO_FILES} with a clock each: that of the force is {abs(found):.2f} s {ahead}; its "
        "times were shifted until the force changes when the run begins and ends"
    )


TWO_FILES = "motion and force from two files"


def _best(pull: Stretch, changes: Sequence[float]) -> float | None:
    """The shift at which the force changes most clearly at both times, s; None if nowhere."""
    if len(pull.time) < 3 * FEWEST:
        return None
    step = float(np.median(np.diff(pull.time)))
    first, last = changes[0] - pull.time[-1], changes[1] - pull.time[0]
    count = min(int((last - first) / step) + 2, FINEST)
    # Shifts that leave the clocks alone come first: of equals, the first counts.
    shifts = sorted([0.0, *np.linspace(first, last, count)], key=abs)
    told = [_explained(pull, [time - shift for time in changes]) for shift in shifts]
    at = int(np.argmax(told))
    return float(shifts[at]) if told[at] >= CLEAR else None


def _explained(pull: Stretch, changes: Sequence[float]) -> float:
    """The share of the scatter around each change that two levels explain; the smaller one."""
    beside = (changes[1] - changes[0]) / 2
    at = np.searchsorted(pull.time, [changes[0] - beside, *changes, changes[1] + beside])
    parts = [pull.values[a:b] for a, b in pairwise(at)]
    if min(len(part) for part in parts) < FEWEST:
        return 0.0
    return min(_levels(before, after) for before, after in pairwise(parts))


def _levels(before: Array, after: Array) -> float:
    total = float(np.var(whole := np.concatenate([before, after]))) * len(whole)
    within = float(np.var(before)) * len(before) + float(np.var(after)) * len(after)
    return 1 - within / total if total > 0 else 0.0
