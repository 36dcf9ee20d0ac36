"""The force in a record: its mean over the distance and over the time, its work, its zero.

Takes a record and the run found in it; gives estimates. The mean over the distance is work divided
by distance, the mean over the time is impulse divided by time: they differ as soon as the force
isn't constant. Means are taken over the inner stretch of the driven part, away from the jerk at
release and the swing at landing; a clear trend is followed to the whole of it. With v the fitted
speed, the mean over the distance is ∫F v dt / ∫v dt.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from fallwork.measurement.finding_edges import MARGIN, Span, cut
from fallwork.measurement.finding_fit import (
    Fit,
    Readings,
    block_weights,
    calm_part,
    fit_stretches,
    residuals,
    without_spikes,
)
from fallwork.measurement.finding_signals import known
from fallwork.measurement.model import Array, Estimate, FoundRun, Measurand, Record
from fallwork.measurement.statistics import combined
from fallwork.measurement.tension_notes import (
    NOTHING,
    SWING,
    Means,
    Tare,
    Zero,
    is_sure,
    notes_on_pull,
)

FEWEST = 5  # readings for a mean


@dataclass(frozen=True, kw_only=True)
class Pull:
    """What the force in a record says."""

    estimates: dict[str, Estimate]  # by Measurand
    sign: int  # by which the readings were multiplied
    offset: float | None  # N, taken off them afterwards; None: nothing set their zero
    offset_u: float  # N, by the readings that set it: the same error in every force of the record
    notes: tuple[str, ...]


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
    means = None if force is None else _means(force, run, tare, slack_after)
    if means is None:
        return None
    turn = sign or _sign(means)
    taken = _offset(means, turn, tare)
    found = {
        Measurand.MEAN_TENSION: _tared(means.over_distance, turn, taken),
        Measurand.TENSION_OVER_TIME: _tared(means.over_time, turn, taken),
        Measurand.FORCE_HELD: _tared(means.held, turn, taken)
        if not _sets(tare, Zero.HELD)
        else None,
        Measurand.FORCE_SLACK: _tared(means.slack, turn, taken)
        if not _sets(tare, Zero.SLACK)
        else None,
    }
    estimates = {name.value: each for name, each in found.items() if each is not None}
    distance = motion.get(Measurand.DISTANCE) or covered
    work = _work(estimates.get(Measurand.MEAN_TENSION), distance)
    if work is not None:
        estimates[Measurand.WORK_OF_TENSION.value] = work
    return Pull(
        estimates=_ordered(estimates),
        sign=turn,
        offset=None if taken is NOTHING else taken.value,
        offset_u=taken.u,
        notes=tuple(notes_on_pull(means, turn, sign, tare, estimates)),
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
        notes.append("a pull counts as negative: turned over")
    mean = Estimate(value=turn * found.value, u=found.u, dof=found.dof)
    return Pull(
        estimates={Measurand.TENSION_OVER_TIME.value: mean},
        sign=turn,
        offset=None,
        offset_u=0.0,
        notes=tuple(notes),
    )


def _means(force: Readings, run: FoundRun, tare: Tare | None, slack_after: bool) -> Means | None:
    driven, left_out = without_spikes(cut(force, run.driven), 1)
    if len(driven.time) < FEWEST:
        return None
    quiet = _quiet(force, run.held)
    fit = fit_stretches([driven], 1, quiet)
    if fit is None:
        return None
    noise = (residuals(driven, 1), *quiet)
    widths = np.gradient(driven.time)
    speed = run.driven_line[0] + run.driven_line[1] * driven.time
    by_distance = _weighted(driven, widths * speed, fit) if (speed > 0).all() else None
    by_time = _weighted(driven, widths, fit)
    span = tare.span if tare is not None and tare.zero is Zero.SPAN else None
    lasted = float(np.ptp(driven.time))
    slope = Estimate(
        value=float(fit.line(0)[0][1]), u=float(np.sqrt(fit.line(0)[1][1, 1])), dof=fit.dof
    )
    if is_sure(slope):
        middle, centre = _centres(run)
        by_time = _carried(by_time, slope, middle - _at(driven, widths))
        if by_distance is not None:
            by_distance = _carried(by_distance, slope, centre - _at(driven, widths * speed))
    return Means(
        over_distance=by_distance,
        over_time=by_time,
        held=_mean(force, run.held, noise, calm=True),
        slack=_mean(force, _after_swing(run.coasting), noise) if slack_after else None,
        known=_mean(force, span, noise),
        trend=Estimate(value=slope.value * lasted, u=slope.u * lasted, dof=slope.dof),
        left_out=left_out,
    )


def _centres(run: FoundRun) -> tuple[float, float]:
    """When half of the driven part's time is over, and the mean time over its distance, s."""
    begin, end = run.release, run.landing
    if begin is None or end is None:
        begin, end = run.driven
    first, last = (run.driven_line[0] + run.driven_line[1] * time for time in (begin, end))
    middle = (begin + end) / 2
    # Of a speed that grows evenly from ``first`` to ``last``: the centroid of a trapezium.
    return middle, middle + (end - begin) / 6 * (last - first) / (last + first)


def _at(stretch: Readings, weights: Array) -> float:
    return float(weights @ stretch.time / weights.sum())


def _carried(mean: Estimate, slope: Estimate, by: float) -> Estimate:
    """A mean carried along a trend that is no accident, from one time to another."""
    u, dof = combined([(mean.u, mean.dof), (slope.u * by, slope.dof)])
    return Estimate(value=mean.value + slope.value * by, u=u, dof=dof)


def _after_swing(coasting: Span | None) -> Span | None:
    if coasting is None:
        return None
    return coasting[0] + SWING * (coasting[1] - coasting[0]), coasting[1]


def _quiet(force: Readings, held: Span | None) -> tuple[Array, ...]:
    if held is None:
        return ()
    calm = calm_part(without_spikes(cut(force, held), 0)[0])
    return (calm.values - calm.values.mean(),) if len(calm.time) else ()


def _weighted(stretch: Readings, weights: Array, fit: Fit) -> Estimate:
    """A weighted mean of readings with the noise of their fit."""
    shares = weights / weights.sum()
    sums, covariance = block_weights(shares, fit)
    variance = fit.variance * float(sums @ covariance @ sums)
    return Estimate(value=float(shares @ stretch.values), u=float(np.sqrt(variance)), dof=fit.dof)


def _mean(
    force: Readings, span: Span | None, noise: Sequence[Array] = (), *, calm: bool = False
) -> Estimate | None:
    """The mean over a span in which the force is constant. ``noise`` is that of other stretches of
    the record: few readings alone can't tell whether neighbours share theirs, and a doubt counts
    as sharing.
    """
    if span is None:
        return None
    stretch, _ = without_spikes(cut(force, span), 0)
    stretch = calm_part(stretch) if calm else stretch
    if len(stretch.time) < FEWEST:
        return None
    fit = fit_stretches([stretch], 0, noise)
    if fit is None:
        return None
    return Estimate(
        value=float(fit.parameters[0][0]),
        u=float(np.sqrt(fit.covariances[0][0, 0])),
        dof=fit.dof,
    )


def _sign(means: Means) -> int:
    """+1 where a pull reads higher than a slack string, or else than nothing."""
    none = 0.0 if means.slack is None else means.slack.value
    return -1 if means.over_time.value < none else 1


def _sets(tare: Tare | None, zero: Zero) -> bool:
    return tare is not None and tare.zero is zero


def _offset(means: Means, turn: int, tare: Tare | None) -> Estimate:
    """What the sensor reads too much, N; certain and zero where nothing sets the zero.

    Its uncertainty is that of the readings. What is uncertain about the known force is the same in
    all trials, and so left to their summary.
    """
    if tare is None:
        return NOTHING
    read = {Zero.HELD: means.held, Zero.SLACK: means.slack, Zero.SPAN: means.known}[tare.zero]
    if read is None:
        return NOTHING
    return Estimate(value=turn * read.value - tare.known.value, u=read.u, dof=read.dof)


def _tared(mean: Estimate | None, turn: int, offset: Estimate) -> Estimate | None:
    if mean is None:
        return None
    u, dof = combined([(mean.u, mean.dof), (offset.u, offset.dof)])
    return Estimate(value=turn * mean.value - offset.value, u=u, dof=dof)


def _work(mean: Estimate | None, distance: Estimate | None) -> Estimate | None:
    """The mean over the distance times the distance, J."""
    if mean is None or distance is None:
        return None
    u, dof = combined(
        [(distance.value * mean.u, mean.dof), (mean.value * distance.u, distance.dof)]
    )
    return Estimate(value=mean.value * distance.value, u=u, dof=dof)


def _ordered(found: Mapping[str, Estimate]) -> dict[str, Estimate]:
    return {name.value: found[name] for name in Measurand if name in found}
