"""The force in a record: its mean over the distance and over the time, its work, its zero.

Takes a record and the run found in it; gives estimates, and sentences on them. A straight line of
time is fitted to the inner stretch of the driven part, away from the jerk at release and the swing
at landing. Its value when half of the time is over is the mean over the time, impulse divided by
time; that at the mean time over the distance, ∫ t v dt / ∫ v dt, is the mean over the distance,
work divided by distance. They differ as soon as the force isn't constant.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum

import numpy as np

from fallwork.measurement.finding_fit import (
    Readings,
    Span,
    at_rest,
    fit_stretches,
    residuals,
    without_spikes,
)
from fallwork.measurement.finding_notes import is_sure, percent, some
from fallwork.measurement.finding_pieces import MARGIN
from fallwork.measurement.finding_signals import known
from fallwork.measurement.model import Array, Estimate, FoundRun, Measurand, Record
from fallwork.measurement.statistics import combined

FEWEST = 5  # readings for a mean
TREND = 0.03  # of the mean: a smaller change over the driven part is not worth a word
SWING = 0.3  # of the stretch after landing, in which the force may still swing
NOTHING = Estimate(value=0.0, u=0.0)  # N
TURNED = "a pull counts as negative: {}turned over"


class Zero(StrEnum):
    """A stretch in which the force is known."""

    HELD = "held"  # at rest before release
    SLACK = "slack"  # after landing, while the string pulls nothing
    SPAN = "span"  # between two times


WHERE = {
    Zero.HELD: "the stretch before release",
    Zero.SLACK: "the stretch after landing",
    Zero.SPAN: "a stretch set by hand",
}


SHOWN: Mapping[Measurand, Measurand | Zero] = {  # measurand → the mean that it is
    Measurand.MEAN_TENSION: Measurand.MEAN_TENSION,
    Measurand.TENSION_OVER_TIME: Measurand.TENSION_OVER_TIME,
    Measurand.FORCE_HELD: Zero.HELD,
    Measurand.FORCE_SLACK: Zero.SLACK,
}


@dataclass(frozen=True, kw_only=True)
class Tare:
    """From which stretch the zero of the force sensor is set, and what the force is there."""

    zero: Zero
    known: Estimate = NOTHING  # N
    span: Span | None = None  # s, for Zero.SPAN


@dataclass(frozen=True, kw_only=True)
class Pull:
    """What the force in a record says."""

    estimates: dict[str, Estimate]  # by Measurand
    sign: int  # by which the readings were multiplied
    offset: float | None = None  # N, taken off them afterwards; None: nothing set their zero
    offset_u: float = 0.0  # N, by the readings that set it: the same error in all the forces
    notes: tuple[str, ...]


@dataclass(frozen=True, kw_only=True)
class _Read:
    """What the sensor shows, N, in its own sign."""

    means: dict[Measurand | Zero, Estimate]  # over distance and time, and in the known stretches
    change: Estimate  # over the driven stretch
    far: tuple[float, ...]  # s, readings that stand alone far off


def pull_in(
    record: Record,
    run: FoundRun,
    motion: Mapping[str, Estimate],
    *,
    sign: int | None = None,
    tare: Tare | None = None,
    slack_after: bool = True,
    covered: Estimate | None = None,
) -> Pull | None:
    """The pull in a run; None where the record has no force in it.

    ``sign`` is the one by which readings are multiplied so that a pull is positive; found out
    where not given. ``slack_after`` says whether the string is slack after the driven part, and
    ``covered`` the distance that ends it where nothing else does.
    """
    force = known(record, "force")
    read = None if force is None else _read(force, run, tare, slack_after)
    if read is None:
        return None
    over_time, slack = read.means[Measurand.TENSION_OVER_TIME], read.means.get(Zero.SLACK)
    turn = sign or (-1 if over_time.value < (slack.value if slack else 0.0) else 1)
    zero = None
    if tare is not None and (at := read.means.get(tare.zero)):
        zero = Estimate(value=turn * at.value - tare.known.value, u=at.u, dof=at.dof)
    estimates = {
        quantity.value: _tared(read.means[name], turn, zero or NOTHING)
        for quantity, name in SHOWN.items()
        if name in read.means and (tare is None or name is not tare.zero)
    }
    distance = motion.get(Measurand.DISTANCE) or covered
    if (mean := estimates.get(Measurand.MEAN_TENSION)) and distance:
        parts = (distance.value * mean.u, mean.dof), (mean.value * distance.u, distance.dof)
        u, dof = combined(parts)
        work = Estimate(value=mean.value * distance.value, u=u, dof=dof)
        estimates[Measurand.WORK_OF_TENSION.value] = work
    return Pull(
        estimates=estimates,
        sign=turn,
        offset=zero.value if zero else None,
        offset_u=zero.u if zero else 0.0,
        notes=tuple(_notes(read, turn, sign, tare, estimates[Measurand.TENSION_OVER_TIME].value)),
    )


def pull_between(record: Record, window: Span, *, sign: int | None = None) -> Pull | None:
    """The mean over the time between two times set by hand, where a record has a force alone."""
    force = known(record, "force")
    margin = MARGIN * (window[1] - window[0])
    found = force and _mean(force, (window[0] + margin, window[1] - margin))
    if not found:
        return None
    turn = sign or (-1 if found.value < 0 else 1)
    notes = ["no motion in the record: only the mean of the force over the time"]
    if turn < 0 and sign is None:
        notes.append(TURNED.format(""))
    mean = _tared(found, turn, NOTHING)
    estimates = {Measurand.TENSION_OVER_TIME.value: mean}
    return Pull(estimates=estimates, sign=turn, notes=tuple(notes))


def _read(force: Readings, run: FoundRun, tare: Tare | None, slack_after: bool) -> _Read | None:
    """Means over the stretches of a run; None where the driven one has too few readings."""
    driven, far = without_spikes(force.within(run.driven), 1)
    quiet = at_rest(force, run.held, 0)
    half, later = _centres(run)
    line = fit_stretches([driven], 1, quiet, origin=half) if len(driven.time) >= FEWEST else None
    if line is None:
        return None
    spans = {Zero.HELD: run.held, Zero.SPAN: tare and tare.span}
    if slack_after and run.coasting:
        begin, end = run.coasting
        spans[Zero.SLACK] = (begin + SWING * (end - begin), end)
    noise = (residuals(driven, 1), *quiet)
    means = {
        Measurand.MEAN_TENSION: None if later is None else line.told(1.0, later),
        Measurand.TENSION_OVER_TIME: line.told(1.0, 0.0),
    } | {zero: span and _mean(force, span, noise) for zero, span in spans.items()}
    return _Read(
        means={name: mean for name, mean in means.items() if mean},
        change=line.told(0.0, float(np.ptp(driven.time))),
        far=far,
    )


def _centres(run: FoundRun) -> tuple[float, float | None]:
    """When half of the driven part's time is over, and how much later is the mean time over its
    distance, s; None where it doesn't go forward all the time.
    """
    begin, end = run.release, run.landing
    if begin is None or end is None:
        begin, end = run.driven
    speed, acceleration = run.driven_line
    first, last, *inner = (speed + acceleration * time for time in (begin, end, *run.driven))
    # Of a speed that grows evenly: the centroid of a trapezium.
    later = (end - begin) / 6 * (last - first) / (last + first) if min(inner) > 0 else None
    return (begin + end) / 2, later


def _mean(force: Readings, span: Span, noise: Sequence[Array] = ()) -> Estimate | None:
    """The mean over a span in which the force is constant. ``noise`` is that of other stretches of
    the record: few readings alone can't tell whether neighbours share theirs, and a doubt counts
    as sharing.
    """
    stretch, _ = without_spikes(force.within(span), 0)
    fit = fit_stretches([stretch], 0, noise) if len(stretch.time) >= FEWEST else None
    return None if fit is None else fit.told(1.0)


def _tared(mean: Estimate, turn: int, zero: Estimate) -> Estimate:
    """What the sensor reads, counted as a pull, less what it reads too much.

    Its uncertainty is that of the readings. What is uncertain about the known force is the same in
    all trials, and so left to their summary.
    """
    u, dof = combined([(mean.u, mean.dof), (zero.u, zero.dof)])
    return Estimate(value=turn * mean.value - zero.value, u=u, dof=dof)


# ---- what has to be said


def _notes(
    read: _Read, turn: int, sign: int | None, tare: Tare | None, mean: float
) -> Iterator[str]:
    """On sign, zero, changes and readings that were left out; the ``mean`` over the time in N. How
    the force is zeroed stands in ``notes_on_zeros``, for all trials.
    """
    if turn < 0 and sign is None:
        yield TURNED.format("force ")
    slack = read.means.get(Zero.SLACK)
    if tare is not None and tare.zero not in read.means:
        yield f"{WHERE[tare.zero]} has too few readings or none: force not zeroed"
    elif tare is None and slack and is_sure(slack):
        reading = f"{turn * slack.value:.3f}".replace("-", "−")
        yield f"force reads {reading} N with the string slack, and is not zeroed"
    if mean < 0:
        yield "the force is negative in the run: its sign or its zero is wrong"
    if is_sure(read.change) and abs(read.change.value) > TREND * abs(mean):
        yield (
            f"the force changes by {percent(turn * read.change.value / mean)} within the driven "
            "part: its means over the distance and over the time differ"
        )
    if read.far:
        yield f"{len(read.far)} readings of force far off left out: at {some(read.far)}"


def notes_on_zeros(offsets: Sequence[float], tare: Tare) -> list[str]:
    """By how much the forces of trials were shifted, and what is uncertain about it; ``offsets``
    in N were taken off them.
    """
    taken = (round(-each, 4) + 0.0 for each in (max(offsets), min(offsets)))  # no −0.0000
    ends = dict.fromkeys(f"{each:+.4f} N".replace("-", "−") for each in taken)
    zeroed = f"force zeroed by {' to '.join(ends)} from {WHERE[tare.zero]}"
    if tare.zero is Zero.SLACK:
        zeroed += f" without its first {100 * SWING:.0f} %, in which the force may still swing"
    if len(offsets) > 1:
        zeroed += (
            ", each trial by a zero of its own: its noise is part of the trial's uncertainty and "
            "shows in the scatter of the trials; one common zero, the mean of these, would give "
            "the same mean"
        )
    known_force = f"the force there is taken as {tare.known.value:.4f} N"
    if tare.known.u:
        known_force += (
            f" ± {tare.known.u:.4f} N, as masses and g have it: an error in it shifts all trials "
            "alike, so more trials don't lessen it"
        )
    return [zeroed, *([known_force] if tare.known.value else [])]
