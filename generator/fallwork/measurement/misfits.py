"""Which trials can't be of their lab, and why most likely.

Takes trials and what the lab's numbers allow; gives a ``Misfit`` for each that doesn't fit, by its
own values, by its columns against each other, or by the other trials. The likely reason is found by
undoing mistakes. Reading records anew is left to ``analysis``.
"""

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import replace
from math import hypot, inf, nan

import numpy as np

from fallwork.measurement.among import (
    FOLLOWS,
    Usuals,
    carried,
    far_from_usual,
    mean_force,
    own_limit,
    says_nothing_more,
    signs_differ,
    usual_of,
)
from fallwork.measurement.finding import NoRunError
from fallwork.measurement.limits import FORCES, Limits, Range
from fallwork.measurement.misfit_notes import (
    CUT_OFF,
    DISTANCE,
    HANGING,
    MASSES,
    OTHER_RUN,
    SIGNS_DIFFER,
    TWO_COLUMNS,
    WINDOW,
    noun,
    off_columns,
    off_covered,
    off_expected,
    off_value,
)
from fallwork.measurement.mistakes import Change, mistake_in, mistake_typed
from fallwork.measurement.model import Analysis, Array, Measurand, Misfit, Outcome, Record, Trial
from fallwork.scenario.trials import ALL

ZEROED, NOT_ZEROED = 0.02, 0.2  # N, by which a force may be off with its zero set, and without
ROUGHLY = 0.2  # of a tension: likewise, where only a part of the run tells it
COVERED = 0.9  # of the distance: a record that holds less of it is cut off
COLUMNS_APART = (0.1, 0.02)  # relative, and m/s: two columns of one motion differ by less

Allowed = Callable[[str], tuple[float, float] | None]  # the ends of a measurand's values
Again = Callable[[Change], Trial | None]  # the trial of a changed record; None: no run in it


Off = tuple[str, str]  # of which measurand, "" where it isn't a value; and what doesn't fit


def misfit_of(
    trial: Trial, limits: Limits, again: Again | None = None, usual: Usuals | None = None
) -> Misfit | None:
    """Why a trial can't be of the lab, by itself; None where it can.

    Trials that agree stand or fall together: a value near the ``usual`` one is judged by that.
    """
    off = tuple(_off(trial, limits, usual or {})) if limits else ()
    return _misfit(off, _likely(trial, limits, again, off)) if off else None


def misfit_without_run(error: NoRunError, record: Record, limits: Limits, again: Again) -> Misfit:
    """The same of a record in which no run was found; ``error`` says for what reason."""
    if record.position is None and record.velocity is None:
        likely: str | None = error.expected
    else:
        likely = _mistake(record, limits, again) if limits else ""
    return _misfit([("", f"no run found: {error}")], CUT_OFF if likely is None else likely)


def _misfit(off: Sequence[Off], likely: str) -> Misfit:
    return Misfit(
        off=tuple(words for _, words in off), of=tuple(name for name, _ in off), likely=likely
    )


def _mistake(record: Record, limits: Limits, again: Again) -> str | None:
    def mends(change: Change) -> bool:
        mended = again(change)
        return mended is not None and not any(_off(mended, limits, {}))

    return mistake_in(record, mends)


def _likely(trial: Trial, limits: Limits, again: Again | None, off: Sequence[Off]) -> str:
    if trial.record is None or again is None:
        return _likely_typed(trial, off, lambda name: _ends(limits.get(name)))
    mistake = _mistake(trial.record, limits, again)
    if mistake is not None:
        return mistake
    if trial.window_by_hand:
        return WINDOW
    if _share_covered(trial, limits) < COVERED:
        return CUT_OFF
    values = {name for name, _ in off} - {""}
    if not values:
        return TWO_COLUMNS
    if Measurand.DISTANCE not in values:
        return HANGING if values == {Measurand.FORCE_HELD} else MASSES
    return DISTANCE if Measurand.ACCELERATION not in values else OTHER_RUN


def _ends(limits: Range | None) -> tuple[float, float] | None:
    return None if limits is None else (limits.low, limits.high)


def _likely_typed(trial: Trial, off: Sequence[Off], allowed: Allowed) -> str:
    """Of each value by itself."""

    def fits(name: str, value: float) -> bool:
        ends = allowed(name)
        return ends is not None and ends[0] <= value <= ends[1]

    found = {
        name: mistake_typed(name, trial.estimates[name].value, trial.written.get(name, ""), fits)
        for name, _ in off
    }
    if len(found) == 1:
        return next(iter(found.values()))
    return "; ".join(f"{noun(name)}: {words}" for name, words in found.items())


def set_aside(
    trials: Sequence[Trial],
    limits: Limits,
    signs: Mapping[str, int],
    included: Mapping[str, str],
    again: Mapping[str, Again] | None = None,
) -> list[Trial]:
    """The trials, those that aren't of the lab as not counting; ``included`` holds reasons against
    it, by trial or ALL.

    ``again`` reads the record of a trial anew; a trial without a run has its misfit already.
    """
    judged = [t for t in trials if t.misfit is None and t.excluded is None]
    usual = usual_of(judged, limits)
    alone = {t.name: misfit_of(t, limits, (again or {}).get(t.name), usual) for t in judged}
    alike = [trial for trial in judged if alone[trial.name] is None]
    found = alone | misfits_among(alike, limits, signs)
    return [_counting(replace(t, misfit=found.get(t.name, t.misfit)), included) for t in trials]


def _counting(trial: Trial, included: Mapping[str, str]) -> Trial:
    if trial.misfit is None:
        return trial
    reason = included.get(trial.name) or included.get(ALL)
    if reason and trial.estimates:
        return replace(trial, misfit=replace(trial.misfit, despite=reason))
    return replace(trial, excluded=str(trial.misfit))


def misfits_among(
    trials: Sequence[Trial], limits: Limits, given: Mapping[str, int]
) -> dict[str, Misfit]:
    """Trials that fit the lab but not the other trials, by name; ``given`` are signs as told."""
    usual = usual_of(trials, limits)

    def near(name: str) -> tuple[float, float] | None:
        each = usual.get(name)
        more = limits[name].varies if each else 0.0
        return None if each is None else (each.median - more, each.median + more)

    found = {}
    for trial in trials:
        off = list(far_from_usual(trial, limits, usual))
        turned = [("", words) for words in signs_differ(trial, trials, given)]
        if off:
            likely = OTHER_RUN if trial.record else _likely_typed(trial, off, near)
            found[trial.name] = _misfit((*off, *turned), likely)
        elif turned and limits:
            found[trial.name] = _misfit(turned, SIGNS_DIFFER)
    return found


def doubtful(analysis: Analysis, limits: Limits) -> list[str]:
    """What is said of means that the lab's numbers allow but don't lead one to expect.

    That is a result and no reason to leave anything out, but authors should know of it. It tells
    what the model predicts, so it isn't for students.
    """
    summary = analysis.summary
    zeroed = all(_zero(trial, Measurand.MEAN_TENSION) == ZEROED for trial in analysis.counted)
    names = [
        name
        for name in summary
        if name in limits and (zeroed or name not in (*FORCES, Measurand.FORCE_HELD))
    ]
    return [
        off_expected(name, summary[name].mean, limits[name])
        for name in names
        if FOLLOWS.get(name) not in summary
        and abs(summary[name].mean - limits[name].value)
        > limits[name].doubtful + own_limit(summary[name].outcome)
    ]


# ---- a trial by itself


def _off(trial: Trial, limits: Limits, usual: Usuals) -> Iterator[Off]:
    """Everything that doesn't fit."""
    for name, each in limits.items():
        pull = _held_pull(trial, each) if name == Measurand.FORCE_HELD else None
        found = pull or trial.estimates.get(name)
        if found is None or says_nothing_more(trial, name):
            continue
        more = own_limit(found) + _zero(trial, name)
        near = None if pull else usual.get(name)
        if near is not None and near.holds(trial, name, limits, chance=False):
            apart = _outside(near.median, name, each, near.own + _zero(trial, name))
        else:
            apart = _outside(found.value, name, each, more)
        if apart:
            given = limits[name] if name == Measurand.DISTANCE else None
            yield name, off_value(name, found.value, given)
    yield from _unused_force(trial, limits)
    yield from _columns_apart(trial)
    share = _share_covered(trial, limits)
    if share < COVERED:
        yield "", off_covered(share)


def _outside(value: float, name: str, limits: Range, more: float) -> bool:
    if name == Measurand.FORCE_HELD and carried(value, limits):
        return value < -more
    return not limits.low - more <= value <= limits.high + more


def _held_pull(trial: Trial, limits: Range) -> Outcome | None:
    """The pull before release against the slack string's, which needs no zero; None where the
    record doesn't hold both.
    """
    held, slack = (
        trial.estimates.get(name) for name in (Measurand.FORCE_HELD, Measurand.FORCE_SLACK)
    )
    if slack is None or slack.u is None or trial.run is None:
        return None
    if held is None:  # the zero was set by it
        return replace(slack, value=limits.value - slack.value)
    u = None if held.u is None else hypot(held.u, slack.u)
    return Outcome(value=held.value - slack.value, u=u, dof=min(held.dof, slack.dof))


def _zero(trial: Trial, name: str) -> float:
    """What the zero of the force sensor may add."""
    if name not in (*FORCES, Measurand.FORCE_HELD):
        return 0.0
    by_slack = name == Measurand.FORCE_HELD and Measurand.FORCE_SLACK in trial.estimates
    zeroed = trial.run is not None and trial.run.force_offset is not None
    return ZEROED if trial.record is None or zeroed or by_slack else NOT_ZEROED


def _unused_force(trial: Trial, limits: Limits) -> Iterator[Off]:
    """A force from which no tension was found, as in a run that turns round."""
    lab, mean = limits.get(Measurand.MEAN_TENSION), mean_force(trial)
    if lab is None or mean is None or not {*FORCES}.isdisjoint(trial.estimates):
        return
    more = NOT_ZEROED + ROUGHLY * lab.high
    if not lab.low - more <= abs(mean) <= lab.high + more:
        name = Measurand.TENSION_OVER_TIME
        yield name, off_value(name, abs(mean), None)


def _columns_apart(trial: Trial) -> Iterator[Off]:
    """Positions and velocities that don't tell of the same motion as the fitted line."""
    run, record = trial.run, trial.record
    if run is None or record is None or record.position is None or record.velocity is None:
        return
    speed = run.driven_line[0] + run.driven_line[1] * sum(run.driven) / 2
    for channel, power in (("position", 2), ("velocity", 1)):
        read = _mean_speed(record, channel, run.driven, power) * run.signs.get(channel, 1)
        if abs(read - speed) > COLUMNS_APART[0] * abs(speed) + COLUMNS_APART[1]:
            yield "", off_columns(channel, read, speed)


def _mean_speed(record: Record, channel: str, span: tuple[float, float], degree: int) -> float:
    """What a column says of the mean speed over a span, m/s; nan where it has too few readings."""
    values: Array = getattr(record, channel)
    inside = (record.time >= span[0]) & (record.time <= span[1]) & np.isfinite(values)
    if inside.sum() < degree + 2:
        return nan
    middle = sum(span) / 2
    fitted = np.polyfit(record.time[inside] - middle, values[inside], degree)
    return float(fitted[1])


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
    first, last = (run.driven_line[0] + run.driven_line[1] * time for time in (begin, end))
    return float((first + last) / 2 * (end - begin) / lab.low)
