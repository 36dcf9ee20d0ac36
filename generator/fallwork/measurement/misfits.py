"""Which trials can't be of their lab, and why most likely.

Takes trials and what the lab's numbers allow; gives a ``Misfit`` for each that doesn't fit, by its
own values, by its columns against each other, or by the other trials. The likely reason is found by
undoing mistakes in writing it down: what fits afterwards was the mistake. Reading records anew is
left to ``analysis``.
"""

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import replace
from functools import partial
from math import hypot, inf
from typing import Any

import numpy as np

from fallwork.measurement import limits as bounds
from fallwork.measurement.finding import NoRunError
from fallwork.measurement.limits import Columns, Ends, Limits, Range, Usuals
from fallwork.measurement.model import UNITS, Analysis, Measurand, Misfit, Outcome, Record, Trial
from fallwork.measurement.saying import noun, number, off, say
from fallwork.scenario.trials import ALL

ZEROED, NOT_ZEROED = 0.02, 0.2  # N, by which a force may be off with its zero set, and without
ROUGHLY = 0.2  # of a tension: likewise, where only a part of the run tells it
COVERED = 0.9  # of the distance: a record that holds less of it is cut off
COLUMNS_APART = (0.1, 0.02)  # relative, and m/s: two columns of one motion differ by less
ASKED = {  # of a doubtful mean
    Measurand.DISTANCE.value: "asked-of-distance",
    Measurand.FORCE_HELD.value: "asked-of-force",
}

Change = Callable[[Record], Record]
Again = Callable[[Change], Trial | None]  # the trial of a changed record; None: no run in it
Off = tuple[str, str]  # of which measurand, "" where it isn't a value; and what doesn't fit


def set_aside(
    trials: Sequence[Trial],
    limits: Limits,
    signs: Mapping[str, int],
    included: Mapping[str, str],
    again: Mapping[str, Again] | None = None,
) -> list[Trial]:
    """The trials, those that aren't of the lab as not counting; ``included``: why they are, by
    trial or ALL. ``again`` reads a trial's record anew; one without a run has its misfit already.
    Trials that agree stand or fall together, and what fits the lab must fit the other trials too.
    """
    judged = [t for t in trials if t.misfit is None and t.excluded is None] if limits else []
    usual, found = bounds.usual_of(judged, limits), {t.name: t.misfit for t in trials if t.misfit}
    for trial in judged:
        if apart := tuple(_off(trial, limits, usual)):
            likely = _likely(trial, limits, (again or {}).get(trial.name), apart)
            found[trial.name] = Misfit(off=apart, likely=likely)
    alike = [trial for trial in judged if trial.name not in found]
    usual = bounds.usual_of(alike, limits)
    varies = {name: (each.median, limits[name].varies) for name, each in usual.items()}
    near = {name: (middle - more, middle + more) for name, (middle, more) in varies.items()}
    for trial in alike:
        compared = partial(bounds.compared, trial, limits=limits)
        far = {n: f for n in usual if (f := compared(n)) and not usual[n].holds(f)}
        values = [(n, off("others", n, f.value, usual=usual[n].median)) for n, f in far.items()]
        turned = [("", words) for words in _signs_differ(trial, alike, signs)]
        likely = say("other-run" if values else "signs-differ")
        if values and trial.record is None:
            likely = _likely_typed(trial, values, near)
        if values or turned:
            found[trial.name] = Misfit(off=(*values, *turned), likely=likely)
    told = []
    for trial in trials:
        misfit, reason = found.get(trial.name), included.get(trial.name) or included.get(ALL)
        if misfit and reason and trial.estimates:
            trial = replace(trial, misfit=replace(misfit, despite=reason))
        elif misfit:
            trial = replace(trial, misfit=misfit, excluded=str(misfit))
        told.append(trial)
    return told


def misfit_without_run(error: NoRunError, record: Record, limits: Limits, again: Again) -> Misfit:
    """Why a record in which no run was found isn't of the lab; ``error`` says for what reason."""
    likely = error.expected
    if record.position is not None or record.velocity is not None:
        likely = _mistake(record, limits, again) or say("cut-off") if limits else ""
    return Misfit(off=(("", say("no-run", error=str(error))),), likely=likely)


def doubtful(analysis: Analysis, limits: Limits) -> list[str]:
    """What is said of means that the lab's numbers allow but don't lead one to expect. That is a
    result and no reason to leave anything out, but authors should know of it. It tells what the
    model predicts, so it isn't for students.
    """
    summary, found = analysis.summary, []
    zeroed = all(_zero(trial, Measurand.MEAN_TENSION) == ZEROED for trial in analysis.counted)
    for name, lab in limits.items():
        unknown = name not in summary or bounds.FOLLOWS.get(name) in summary
        if unknown or (name in bounds.OF_FORCE and not zeroed):
            continue
        mean = summary[name].value
        if abs(mean - lab.value) > lab.doubtful + (summary[name].limit or 0.0):
            told = say(
                "doubtful",
                mean=Measurand(name).as_mean,
                found=number(mean, name),
                percent=abs(100 * (mean - lab.value) / lab.value) if lab.value else inf,
                side="above" if mean > lab.value else "below",
                lab=number(lab.value, name),
                limit=lab.doubtful,
                unit=UNITS[name],
            )
            found.append(f"{told} {say(ASKED.get(name, 'asked-first'))}")
    return found


def _off(trial: Trial, limits: Limits, usual: Usuals) -> Iterator[Off]:
    """Everything that doesn't fit; a value near the ``usual`` one is judged by that."""
    for name, each in limits.items():
        pull = _held_pull(trial, each) if name == Measurand.FORCE_HELD else None
        found = pull or trial.estimates.get(name)
        if found is None or bounds.says_nothing_more(trial, name):
            continue
        near, value, more = usual.get(name), found.value, (found.limit or 0.0)
        like = bounds.compared(trial, name, limits) and near and near.holds(found, chance=False)
        if like and near and not pull:
            value, more = near.median, near.own
        if each.excludes(value, name, more + _zero(trial, name)):
            lab = {"lab": each.value} if name == Measurand.DISTANCE else {}
            yield name, off("given" if lab else "value", name, found.value, **lab)
    # A force from which no tension was found, as in a run that turns round.
    lab_force, mean, tension = limits.get(bounds.FORCES[0]), _mean_force(trial), bounds.FORCES[1]
    if lab_force and mean is not None and {*bounds.FORCES}.isdisjoint(trial.estimates):
        roughly = NOT_ZEROED + ROUGHLY * lab_force.high
        if lab_force.excludes(abs(mean), tension, roughly):
            yield tension, off("value", tension, abs(mean))
    yield from _columns_apart(trial)
    share = _share_covered(trial, limits)
    if share < COVERED:
        yield "", say("covered", percent=100 * max(share, 0.0))


def _held_pull(trial: Trial, limits: Range) -> Outcome | None:
    """Against the slack string's, which needs no zero; None where the record lacks either."""
    held, slack = map(trial.estimates.get, (Measurand.FORCE_HELD, Measurand.FORCE_SLACK))
    if slack is None or slack.u is None or trial.run is None:
        return None
    if held is None:  # the zero was set by it
        return replace(slack, value=limits.value - slack.value)
    u = None if held.u is None else hypot(held.u, slack.u)
    return Outcome(value=held.value - slack.value, u=u, dof=min(held.dof, slack.dof))


def _zero(trial: Trial, name: str) -> float:
    """What the zero of the force sensor may add."""
    if name not in bounds.OF_FORCE:
        return 0.0
    by_slack = name == Measurand.FORCE_HELD and Measurand.FORCE_SLACK in trial.estimates
    zeroed = trial.run is not None and trial.run.force_offset is not None
    return ZEROED if trial.record is None or zeroed or by_slack else NOT_ZEROED


def _mean_force(trial: Trial) -> float | None:
    """As read, over the part of the run that is known, N."""
    span = trial.window if trial.run is None else trial.run.driven
    record = trial.record
    if record is None or record.force is None or span is None:
        return None
    inside = (record.time >= span[0]) & (record.time <= span[1]) & np.isfinite(record.force)
    return float(record.force[inside].mean()) if inside.any() else None


def _signs_differ(trial: Trial, trials: Sequence[Trial], given: Mapping[str, int]) -> Iterator[str]:
    """Columns that count against the run in this trial alone, or in it not; a force by its mean."""
    every = []
    for each in (trial, *(other for other in trials if other is not trial)):
        signs = dict(each.run.signs) if each.run else {}
        if "force" not in signs and (mean := _mean_force(each)) is not None:
            signs["force"] = -1 if mean < 0 else 1
        every.append(signs)
    for channel in ("position", "velocity", "force"):
        own, *others = [signs.get(channel) for signs in every]
        same = [sign for sign in others if sign is not None]
        known = own is not None and channel not in given and len(same) >= bounds.FEWEST - 1
        if known and same.count(-(own or 0)) > 0.75 * len(same):
            yield say("other-sign", channel=channel)


def _columns_apart(trial: Trial) -> Iterator[Off]:
    """Positions and velocities that don't tell of the same mean speed as the fitted line."""
    run, record = trial.run, trial.record
    if run is None or record is None or record.position is None or record.velocity is None:
        return
    (begin, end), time, middle = run.driven, record.time, sum(run.driven) / 2
    fitted = run.driven_line[0] + run.driven_line[1] * middle
    columns = ("position", record.position, 2), ("velocity", record.velocity, 1)
    for channel, values, degree in columns:
        inside = (time >= begin) & (time <= end) & np.isfinite(values)
        if inside.sum() < degree + 2:
            continue
        slope = float(np.polyfit(time[inside] - middle, values[inside], degree)[1])
        read = slope * run.signs.get(channel, 1)
        if abs(read - fitted) > COLUMNS_APART[0] * abs(fitted) + COLUMNS_APART[1]:
            other_way = abs(read + fitted) < abs(read - fitted) / 10
            speeds = [number(each, Measurand.FINAL_SPEED) for each in (read, fitted)]
            key = "other-way" if other_way else "column"
            yield "", say(key, channel=channel, read=speeds[0], fitted=speeds[1])


def _share_covered(trial: Trial, limits: Limits) -> float:
    """How much of the lab's distance the fitted line covers within the record."""
    run, record, lab = trial.run, trial.record, limits.get(Measurand.DISTANCE)
    if run is None or record is None or lab is None or trial.window_by_hand:
        return 1.0
    motion = [each for each in (record.position, record.velocity) if each is not None]
    times = record.time[np.isfinite(motion).any(axis=0)]
    begin = run.driven[0] if run.release is None else run.release
    begin, end = max(begin, times[0]), min(run.landing or inf, times[-1])
    if end < times[-1] and begin > times[0] and run.release is not None:
        return 1.0  # all of it is there, however long
    middle = run.driven_line[0] + run.driven_line[1] * (begin + end) / 2
    return float(middle * (end - begin) / lab.low)


def _likely(trial: Trial, limits: Limits, again: Again | None, apart: Sequence[Off]) -> str:
    if trial.record is None or again is None:
        ends = {name: (each.low, each.high) for name, each in limits.items()}
        return _likely_typed(trial, apart, ends)
    if mistake := _mistake(trial.record, limits, again):
        return mistake
    values = {name for name, _ in apart} - {""}
    reasons = (  # the first that holds
        ("window", trial.window_by_hand),
        ("cut-off", _share_covered(trial, limits) < COVERED),
        ("two-columns", not values),
        ("hanging", values == {Measurand.FORCE_HELD}),
        ("masses", Measurand.DISTANCE not in values),
        ("distance", Measurand.ACCELERATION not in values),
        ("other-run", True),
    )
    return say(next(reason for reason, holds in reasons if holds))


def _mistake(record: Record, limits: Limits, again: Again) -> str | None:
    """The mistake that makes the record one of the lab if it is undone, the likeliest first."""

    def mended(columns: Columns, record: Record) -> Record:
        changed: dict[str, Any] = {
            channel: None if (values := getattr(record, holder)) is None else factor * values
            for channel, (holder, factor) in columns.items()
        }
        return replace(record, **changed)

    for words, columns in bounds.mistakes():
        there = all(getattr(record, channel) is not None for channel in columns)
        trial = again(partial(mended, columns)) if there else None
        if trial is not None and not any(_off(trial, limits, {})):
            return words
    return None


def _likely_typed(trial: Trial, apart: Sequence[Off], allowed: Ends) -> str:
    found = {}
    for name, _ in apart:
        value, digits = trial.estimates[name].value, trial.written.get(name, "")
        found[name] = next(bounds.mistakes_typed(name, value, digits, allowed))
    if len(found) == 1:
        return next(iter(found.values()))
    return "; ".join(f"{noun(name)}: {words}" for name, words in found.items())
