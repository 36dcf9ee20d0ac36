"""The force in a record: its mean over the distance and over the time, its work, its zero; and out
of another file than the motion.

Takes records; says by their names (``motion-03``, ``force-3``, or trial 3 of both) which force
belongs to which motion, and puts the two on one clock. Takes a record and the run found in it;
gives estimates, and sentences on them. A straight line of time is fitted to the inner stretch of
the driven part, away from the jerk at release and the swing at landing. Its value when half of the
time is over is impulse divided by time; that at the mean time over the distance, ∫ t v dt / ∫ v dt,
is work divided by distance. They differ as soon as the force isn't constant.
"""

import re
from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import Any, NamedTuple

import numpy as np

from fallwork.errors import BadInput, Place, Problem
from fallwork.measurement.finding_fit import fit_stretches
from fallwork.measurement.finding_pieces import MARGIN
from fallwork.measurement.finding_signals import Readings, known
from fallwork.measurement.finding_told import is_sure, percent, some
from fallwork.measurement.model import Array, Estimate, Estimates, FoundRun, Measurand, Record, Span
from fallwork.measurement.records_columns import known_words
from fallwork.measurement.saying import say
from fallwork.measurement.settings import Settings, Tare, Zero
from fallwork.measurement.statistics import combined
from fallwork.scenario.report import refusal

FEWEST = 5  # readings for a mean, and on either side of a change
TREND = 0.03  # of the mean: a smaller change over the driven part is not worth a word
SWING = 0.3  # of the stretch after landing, in which the force may still swing
CLEAR = 0.5  # share of the readings' scatter that the changes explain: less shows nothing
ALIKE = 0.05  # s; clocks that differ by less are one clock: sensors are late by about as much
STEPS = 3  # intervals of the force sensor, likewise
FINEST = 4000  # shifts that are tried at most
_WORD = re.compile(r"[a-z]+|[0-9]+")
_CHANNELS = {*(word for word in known_words() if len(word) > 1), "motion", "sensor"}
OVER_DISTANCE, OVER_TIME = Measurand.MEAN_TENSION, Measurand.TENSION_OVER_TIME
CHANGE = "change"  # of the force over the driven stretch
AT_REST: Mapping[str, str] = {Zero.HELD: Measurand.FORCE_HELD, Zero.SLACK: Measurand.FORCE_SLACK}
SHOWN: Mapping[str, str] = {**AT_REST, **{each: each for each in (OVER_DISTANCE, OVER_TIME)}}


@dataclass(frozen=True, kw_only=True)
class Pull:
    """What the force in a record says."""

    estimates: dict[str, Estimate]  # by Measurand
    sign: int  # by which the readings were multiplied
    zero: Estimate | None = None
    # ^ N, taken off them afterwards, with the same error in all the forces; None: nothing set it
    notes: tuple[str, ...]


def pull_in(record: Record, run: FoundRun, motion: Estimates, settings: Settings) -> Pull | None:
    """The pull in a run; None where the record has no force in it. ``motion``: its estimates."""
    force, tare = known(record, "force"), settings.tare
    means = {} if force is None else _means(force, run, settings)
    if force is None or not means:
        return None
    sign, slack = settings.signs.get("force"), means.get(Zero.SLACK)
    turn = sign or (-1 if means[OVER_TIME].value < (slack.value if slack else 0.0) else 1)
    zero = None
    if tare is not None and (at := means.get(tare.zero)):
        zero = Estimate(value=turn * at.value - tare.known.value, u=at.u, dof=at.dof)

    def tared(mean: Estimate) -> Estimate:
        """What the sensor reads, counted as a pull, less what it reads too much. What is uncertain
        about the known force is the same in all trials, and so left to their summary.
        """
        if zero is None:
            return mean.times(turn)
        u, dof = combined([(mean.u, mean.dof), (zero.u, zero.dof)])
        return Estimate(value=turn * mean.value - zero.value, u=u, dof=dof)

    told = [name for name in means if name in SHOWN and not (tare and name is tare.zero)]
    estimates = {str(SHOWN[name]): tared(means[name]) for name in told}
    distance = motion.get(Measurand.DISTANCE) or settings.covered
    if (mean := estimates.get(OVER_DISTANCE)) and distance:
        parts = (distance.value * mean.u, mean.dof), (mean.value * distance.u, distance.dof)
        u, dof = combined(parts)
        work = Estimate(value=mean.value * distance.value, u=u, dof=dof)
        estimates[Measurand.WORK_OF_TENSION.value] = work
    _, far = force.within(run.driven).without_spikes(1)
    said = [*_notes(means, turn, sign, tare, estimates[OVER_TIME].value)]
    if far:
        said.append(say("force-left-out", count=len(far), times=some(far)))
    return Pull(estimates=estimates, sign=turn, zero=zero, notes=tuple(said))


def pull_between(record: Record, window: Span, *, sign: int | None = None) -> Pull | None:
    """The mean over the time between two times set by hand, where a record has a force alone."""
    force = known(record, "force")
    margin = MARGIN * (window[1] - window[0])
    found = force and _mean(force, (window[0] + margin, window[1] - margin))
    if not found:
        return None
    turn = sign or (-1 if found.value < 0 else 1)
    notes = [say("only-force")]
    if turn < 0 and sign is None:
        notes.append(say("negative-pull", what=""))
    return Pull(estimates={OVER_TIME.value: found.times(turn)}, sign=turn, notes=tuple(notes))


def _means(force: Readings, run: FoundRun, settings: Settings) -> dict[str, Estimate]:
    """What the sensor shows, N, in its own sign: over distance and time, and in the stretches where
    the force is known; its CHANGE. Empty where the driven stretch has too few readings.
    """
    driven, _ = force.within(run.driven).without_spikes(1)
    quiet = force.at_rest(run.held, 0)
    begin, end = run.driven
    if run.release is not None and run.landing is not None:
        begin, end = run.release, run.landing
    half = (begin + end) / 2
    speed, acceleration = run.driven_line
    first, last, *inner = (speed + acceleration * time for time in (begin, end, *run.driven))
    # The mean time over the distance is so much later, of a speed that grows evenly: the centroid
    # of a trapezium; None where it doesn't go forward all the time.
    later = (end - begin) / 6 * (last - first) / (last + first) if min(inner) > 0 else None
    line = fit_stretches([driven], 1, quiet, origin=half) if len(driven.time) >= FEWEST else None
    if line is None:
        return {}
    spans = {Zero.HELD: run.held}
    if settings.slack_after and run.coasting:
        begin, end = run.coasting
        spans[Zero.SLACK] = (begin + SWING * (end - begin), end)
    noise = (driven.residuals(1), *quiet)
    means: dict[str, Estimate | None] = {
        OVER_DISTANCE: None if later is None else line.told(1.0, later),
        OVER_TIME: line.told(1.0, 0.0),
        CHANGE: line.told(0.0, float(np.ptp(driven.time))),
        **{zero: _mean(force, span, noise) for zero, span in spans.items() if span},
    }
    return {name: mean for name, mean in means.items() if mean}


def _mean(force: Readings, span: Span, noise: Sequence[Array] = ()) -> Estimate | None:
    """The mean over a span in which the force is constant. ``noise`` is that of other stretches of
    the record: few readings alone can't tell whether neighbours share theirs, and a doubt counts
    as sharing.
    """
    stretch, _ = force.within(span).without_spikes(0)
    fit = fit_stretches([stretch], 0, noise) if len(stretch.time) >= FEWEST else None
    return None if fit is None else fit.told(1.0)


def _notes(
    means: Mapping[str, Estimate], turn: int, sign: int | None, tare: Tare | None, mean: float
) -> Iterator[str]:
    """On sign, zero and changes; ``mean``: over the time, N. For the zero ``notes_on_zeros``."""
    if turn < 0 and sign is None:
        yield say("negative-pull", what="force ")
    slack, change = means.get(Zero.SLACK), means[CHANGE]
    if tare is not None and tare.zero not in means:
        yield say("not-zeroed", where=say(f"where-{tare.zero}"))
    elif tare is None and slack and is_sure(slack):
        yield say("slack-reads", reading=f"{turn * slack.value:.3f}".replace("-", "−"))
    if mean < 0:
        yield say("force-negative")
    if is_sure(change) and abs(change.value) > TREND * abs(mean):
        yield say("force-changes", change=percent(turn * change.value / mean))


def notes_on_zeros(offsets: Sequence[float], tare: Tare) -> list[str]:
    """By how much forces were shifted, by ``offsets`` in N, and what is uncertain about it."""
    taken = (round(-each, 4) + 0.0 for each in (max(offsets), min(offsets)))  # no −0.0000
    ends = dict.fromkeys(f"{each:+.4f} N".replace("-", "−") for each in taken)
    zeroed = say("zeroed", ends=" to ".join(ends), where=say(f"where-{tare.zero}"))
    if tare.zero is Zero.SLACK:
        zeroed += say("zeroed-slack", percent=100 * SWING)
    zeroed += say("zeroed-each") if len(offsets) > 1 else ""
    known_force = say("known-force", known=tare.known.value)
    known_force += say("known-force-u", u=tare.known.u) if tare.known.u else ""
    return [zeroed, *([known_force] if tare.known.value else [])]


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
    notes = tuple(dict.fromkeys((*motion.notes, *force.notes, note)))
    source = f"{motion.source} and {force.source}"
    return replace(motion, time=every, **columns, notes=notes, source=source)


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
