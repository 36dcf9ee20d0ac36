"""Which trials can't be of their lab, and why most likely.

Takes trials and what the lab's numbers allow; gives a ``Misfit`` for each that doesn't fit, by its
own values, by its columns against each other, or by the other trials. The likely reason is found by
undoing mistakes. Reading records anew is left to ``analysis``.
"""

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import replace
from math import hypot, inf, nan

import numpy as np

from fallwork.measurement.finding import NoRunError
from fallwork.measurement.limits import (
    FOLLOWS,
    FORCES,
    OF_FORCE,
    Limits,
    Range,
    Usuals,
    carried,
    compared,
    far_from_usual,
    mean_force,
    says_nothing_more,
    signs_differ,
    usual_of,
)
from fallwork.measurement.mistakes import Change, mistake_in, mistakes_typed
from fallwork.measurement.model import (
    UNITS,
    Analysis,
    Array,
    Measurand,
    Misfit,
    Outcome,
    Record,
    Trial,
)
from fallwork.measurement.saying import noun, number, off, say
from fallwork.scenario.trials import ALL

ZEROED, NOT_ZEROED = 0.02, 0.2  # N, by which a force may be off with its zero set, and without
ROUGHLY = 0.2  # of a tension: likewise, where only a part of the run tells it
COVERED = 0.9  # of the distance: a record that holds less of it is cut off
COLUMNS_APART = (0.1, 0.02)  # relative, and m/s: two columns of one motion differ by less

ASKED: Mapping[str, str] = {  # of a doubtful mean
    Measurand.DISTANCE: "asked-of-distance",
    Measurand.FORCE_HELD: "asked-of-force",
}

Ends = Mapping[str, tuple[float, float]]  # of the values of measurands
Again = Callable[[Change], Trial | None]  # the trial of a changed record; None: no run in it
Off = tuple[str, str]  # of which measurand, "" where it isn't a value; and what doesn't fit


def set_aside(
    trials: Sequence[Trial],
    limits: Limits,
    signs: Mapping[str, int],
    included: Mapping[str, str],
    again: Mapping[str, Again] | None = None,
) -> list[Trial]:
    """The trials, those that aren't of the lab as not counting; ``included`` holds reasons against
    it, by trial or ALL.

    ``again`` reads the record of a trial anew; a trial without a run has its misfit already. Trials
    that agree stand or fall together, and what fits the lab must fit the other trials too.
    """
    judged = [t for t in trials if t.misfit is None and t.excluded is None]
    usual, found = usual_of(judged, limits), dict[str, Misfit]()
    for trial in judged if limits else ():
        if apart := list(_off(trial, limits, usual)):
            likely = _likely(trial, limits, (again or {}).get(trial.name), apart)
            found[trial.name] = _misfit(apart, likely)
    alike = [trial for trial in judged if trial.name not in found]
    usual = usual_of(alike, limits)
    near = {
        name: (each.median - limits[name].varies, each.median + limits[name].varies)
        for name, each in usual.items()
    }
    for trial in alike if limits else ():
        values = list(far_from_usual(trial, limits, usual))
        turned = [("", words) for words in signs_differ(trial, alike, signs)]
        likely = say("other-run" if values else "signs-differ")
        if values and trial.record is None:
            likely = _likely_typed(trial, values, near)
        if values or turned:
            found[trial.name] = _misfit([*values, *turned], likely)
    return [_counting(replace(t, misfit=found.get(t.name, t.misfit)), included) for t in trials]


def _counting(trial: Trial, included: Mapping[str, str]) -> Trial:
    """A misfit doesn't count, unless there is a reason against it."""
    reason = included.get(trial.name) or included.get(ALL)
    if trial.misfit is None:
        return trial
    if reason and trial.estimates:
        return replace(trial, misfit=replace(trial.misfit, despite=reason))
    return replace(trial, excluded=str(trial.misfit))


def _misfit(apart: Sequence[Off], likely: str) -> Misfit:
    of, off = zip(*apart, strict=True)
    return Misfit(off=off, of=of, likely=likely)


# ---- the likely reason


def misfit_without_run(error: NoRunError, record: Record, limits: Limits, again: Again) -> Misfit:
    """Why a record in which no run was found isn't of the lab; ``error`` says for what reason."""
    if record.position is None and record.velocity is None:
        likely = error.expected
    else:
        likely = _mistake(record, limits, again) or say("cut-off") if limits else ""
    return _misfit([("", say("no-run", error=str(error)))], likely)


def _mistake(record: Record, limits: Limits, again: Again) -> str | None:
    def mends(change: Change) -> bool:
        mended = again(change)
        return mended is not None and not any(_off(mended, limits, {}))

    return mistake_in(record, mends)


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


def _likely_typed(trial: Trial, apart: Sequence[Off], allowed: Ends) -> str:
    """Of each value by itself."""

    def fits(name: str, value: float) -> bool:
        low, high = allowed.get(name, (inf, -inf))
        return low <= value <= high

    found = {}
    for name, _ in apart:
        value, digits = trial.estimates[name].value, trial.written.get(name, "")
        found[name] = next(mistakes_typed(name, value, digits, fits))
    if len(found) == 1:
        return next(iter(found.values()))
    return "; ".join(f"{noun(name)}: {words}" for name, words in found.items())


# ---- means that count


def doubtful(analysis: Analysis, limits: Limits) -> list[str]:
    """What is said of means that the lab's numbers allow but don't lead one to expect.

    That is a result and no reason to leave anything out, but authors should know of it. It tells
    what the model predicts, so it isn't for students.
    """
    summary, found = analysis.summary, []
    zeroed = all(_zero(trial, Measurand.MEAN_TENSION) == ZEROED for trial in analysis.counted)
    for name, lab in limits.items():
        unknown = name not in summary or FOLLOWS.get(name) in summary
        if unknown or (name in OF_FORCE and not zeroed):
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


# ---- a trial by itself


def _off(trial: Trial, limits: Limits, usual: Usuals) -> Iterator[Off]:
    """Everything that doesn't fit; a value near the ``usual`` one is judged by that."""
    for name, each in limits.items():
        pull = _held_pull(trial, each) if name == Measurand.FORCE_HELD else None
        found = pull or trial.estimates.get(name)
        if found is None or says_nothing_more(trial, name):
            continue
        near, value, more = usual.get(name), found.value, (found.limit or 0.0)
        if near and not pull and compared(trial, name, limits) and near.holds(found, chance=False):
            value, more = near.median, near.own
        if _outside(value, name, each, more + _zero(trial, name)):
            lab = {"lab": each.value} if name == Measurand.DISTANCE else {}
            yield name, off("given" if lab else "value", name, found.value, **lab)
    yield from _unused_force(trial, limits)
    yield from _columns_apart(trial)
    share = _share_covered(trial, limits)
    if share < COVERED:
        yield "", say("covered", percent=100 * max(share, 0.0))


def _outside(value: float, name: str, limits: Range, more: float) -> bool:
    if name == Measurand.FORCE_HELD and carried(value, limits):
        return value < -more
    return not limits.low - more <= value <= limits.high + more


def _held_pull(trial: Trial, limits: Range) -> Outcome | None:
    """The pull before release against the slack string's, which needs no zero; None where the
    record doesn't hold both.
    """
    held, slack = map(trial.estimates.get, (Measurand.FORCE_HELD, Measurand.FORCE_SLACK))
    if slack is None or slack.u is None or trial.run is None:
        return None
    if held is None:  # the zero was set by it
        return replace(slack, value=limits.value - slack.value)
    u = None if held.u is None else hypot(held.u, slack.u)
    return Outcome(value=held.value - slack.value, u=u, dof=min(held.dof, slack.dof))


def _zero(trial: Trial, name: str) -> float:
    """What the zero of the force sensor may add."""
    if name not in OF_FORCE:
        return 0.0
    by_slack = name == Measurand.FORCE_HELD and Measurand.FORCE_SLACK in trial.estimates
    zeroed = trial.run is not None and trial.run.force_offset is not None
    return ZEROED if trial.record is None or zeroed or by_slack else NOT_ZEROED


def _unused_force(trial: Trial, limits: Limits) -> Iterator[Off]:
    """A force from which no tension was found, as in a run that turns round."""
    lab, mean, name = limits.get(FORCES[0]), mean_force(trial), Measurand.TENSION_OVER_TIME
    if lab is None or mean is None or not {*FORCES}.isdisjoint(trial.estimates):
        return
    if _outside(abs(mean), name, lab, NOT_ZEROED + ROUGHLY * lab.high):
        yield name, off("value", name, abs(mean))


def _columns_apart(trial: Trial) -> Iterator[Off]:
    """Positions and velocities that don't tell of the same motion as the fitted line."""
    run, record = trial.run, trial.record
    if run is None or record is None or record.position is None or record.velocity is None:
        return
    fitted = run.driven_line[0] + run.driven_line[1] * sum(run.driven) / 2
    for channel, power in (("position", 2), ("velocity", 1)):
        read = _mean_speed(record, channel, run.driven, power) * run.signs.get(channel, 1)
        if abs(read - fitted) > COLUMNS_APART[0] * abs(fitted) + COLUMNS_APART[1]:
            other_way = abs(read + fitted) < abs(read - fitted) / 10
            speeds = [number(each, Measurand.FINAL_SPEED) for each in (read, fitted)]
            key = "other-way" if other_way else "column"
            yield "", say(key, channel=channel, read=speeds[0], fitted=speeds[1])


def _mean_speed(record: Record, channel: str, span: tuple[float, float], degree: int) -> float:
    """What a column says of the mean speed over a span, m/s; nan where it has too few readings."""
    values: Array = getattr(record, channel)
    inside = (record.time >= span[0]) & (record.time <= span[1]) & np.isfinite(values)
    if inside.sum() < degree + 2:
        return nan
    return float(np.polyfit(record.time[inside] - sum(span) / 2, values[inside], degree)[1])


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
