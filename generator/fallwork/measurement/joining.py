"""Motion and force of one trial that lie in two files.

Takes records; says which force belongs to which motion, by their names: ``motion-03`` and
``force-3``, or trial 3 of two files. Puts the two on one clock: they have one already if the force
changes when the motion is released and when it ends, else the force is shifted until it does.
"""

import re
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import replace
from itertools import pairwise
from typing import Any, NamedTuple

import numpy as np

from fallwork.errors import BadInput, Place, Problem
from fallwork.measurement.finding_signals import Readings, known
from fallwork.measurement.model import FoundRun, Record
from fallwork.measurement.records_columns import known_words
from fallwork.measurement.saying import say
from fallwork.scenario.report import refusal

FEWEST = 5  # readings on either side of a change
CLEAR = 0.5  # share of the readings' scatter that the changes explain: less shows nothing
ALIKE = 0.05  # s; clocks that differ by less are one clock: sensors are late by about as much
STEPS = 3  # intervals of the force sensor, likewise
FINEST = 4000  # shifts that are tried at most
_WORD = re.compile(r"[a-z]+|[0-9]+")
_CHANNELS = {*(word for word in known_words() if len(word) > 1), "motion", "sensor"}


class Pair(NamedTuple):
    """A record, and the force of the same trial where another file holds it."""

    record: Record
    force: Record | None = None


class OtherClockError(Exception):
    """Motion and force that can't be put on one clock; the text says why."""


def paired(records: Sequence[Record]) -> tuple[Pair, ...]:
    """Every record once, motions with their forces; raises BadInput where a name fits several."""
    motions, forces = defaultdict(list), defaultdict(list)
    for record in records:
        trial = tuple(int(word) if word.isdigit() else word for word in _trial_words(record))
        if record.force is None:
            motions[trial].append(record)
        elif record.position is None and record.velocity is None:
            forces[trial].append(record)
    both = [(motions[trial], forces[trial]) for trial in forces if trial in motions]
    problems = []
    for ours, theirs in both:
        names = [record.name for record in (*ours, *theirs)]
        place, words = theirs[0].place or Place(file=theirs[0].source), None
        if len(names) > 2:
            words = refusal("one-trial-of-many", names=", ".join(names))
        elif ours[0].simulated != theirs[0].simulated:
            words = refusal("one-trial-half-simulated", names=" and ".join(names))
        problems += [Problem(place, *words)] if words else []
    if problems:
        raise BadInput(tuple(problems))
    force_of = {motion.name: force for (motion,), (force,) in both}
    taken = {force.name for force in force_of.values()}
    pairs = []
    for record in records:
        if force := force_of.get(record.name):
            named = " ".join(_trial_words(record)) or record.name
            record = replace(record, name=f"trial {named}" if named.isdigit() else named)
        if record.name not in taken:
            pairs.append(Pair(record, force))
    return tuple(pairs)


def _trial_words(record: Record) -> list[str]:
    """What a name says besides what was recorded."""
    return [word for word in _WORD.findall(record.name.lower()) if word not in _CHANNELS]


def joined(motion: Record, force: Record, run: FoundRun, *, slack_after: bool) -> Record:
    """The record of both on the clock of the motion; raises OtherClockError. ``slack_after`` says
    whether the pull ends with the run.
    """
    pull, (begin, end) = known(force, "force"), run.driven
    covers = pull is not None and pull.time[0] < begin and pull.time[-1] > end
    found = None
    if pull and run.release is not None and run.landing is not None and slack_after:
        found = _best(pull, (run.release, run.landing))
    if found is None and not covers:
        first, last = force.time[0], force.time[-1]
        raise OtherClockError(say("no-clock", first=first, last=last, begin=begin, end=end))
    if pull and covers and abs(found or 0.0) <= max(ALIKE, STEPS * pull.step):
        shift, note = 0.0, say("one-clock-assumed" if found is None else "one-clock")
    else:
        shift = found or 0.0
        note = say("two-clocks", by=abs(shift), where="ahead" if shift < 0 else "behind")
    every = np.union1d(motion.time, force.time + shift)
    columns: dict[str, Any] = {}
    for name in ("position", "velocity", "force"):
        record, later = (force, shift) if name == "force" else (motion, 0.0)
        if (values := getattr(record, name)) is not None:
            columns[name] = np.full(len(every), np.nan)
            columns[name][np.searchsorted(every, record.time + later)] = values
    return replace(
        motion,
        time=every,
        **columns,
        notes=tuple(dict.fromkeys((*motion.notes, *force.notes, note))),
        source=f"{motion.source} and {force.source}",
    )


def _best(pull: Readings, changes: tuple[float, float]) -> float | None:
    """The shift at which the force changes most clearly at both times, s; None if nowhere."""
    if len(pull.time) < 3 * FEWEST:
        return None
    first, last = changes[0] - pull.time[-1], changes[1] - pull.time[0]
    count = min(int((last - first) / pull.step) + 2, FINEST)
    # Shifts that leave the clocks alone come first: of equals, the first counts.
    shifts = sorted([0.0, *np.linspace(first, last, count)], key=abs)
    told = [_explained(pull, [time - shift for time in changes]) for shift in shifts]
    at = int(np.argmax(told))
    return float(shifts[at]) if told[at] >= CLEAR else None


def _explained(pull: Readings, changes: Sequence[float]) -> float:
    """The share of the scatter around each change that two levels explain; the smaller one."""
    beside = (changes[1] - changes[0]) / 2
    at = np.searchsorted(pull.time, [changes[0] - beside, *changes, changes[1] + beside])
    parts = [pull.values[a:b] for a, b in pairwise(at)]
    if min(map(len, parts)) < FEWEST:
        return 0.0
    shares = []
    for two in pairwise(parts):
        total, *within = (float(np.var(each)) * len(each) for each in (np.concatenate(two), *two))
        shares.append(1 - sum(within) / total if total > 0 else 0.0)
    return min(shares)
