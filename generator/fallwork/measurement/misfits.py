"""Which trials can't be of their lab, and why most likely: the one place that compares.

Takes trials and what the lab's numbers allow; gives a ``Misfit`` for each that doesn't fit, by its
own values, by its columns against each other, or by the other trials. The likely reason is found by
undoing mistakes: what fits after a unit, a sign or two columns were changed was written down so.
Reading records anew is left to ``analysis``.
"""

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import partial
from math import inf
from statistics import median

import numpy as np

from fallwork.measurement.limits import FORCES, Limits, Range
from fallwork.measurement.misfit_notes import (
    CUT_OFF,
    DISTANCE,
    MASSES,
    OTHER_RUN,
    OTHER_SIGN,
    SCALED,
    SIGN,
    SIGNS_DIFFER,
    SWAPPED,
    TWO_COLUMNS,
    TYPED,
    WINDOW,
    off_columns,
    off_covered,
    off_others,
    off_value,
)
from fallwork.measurement.model import Array, Measurand, Misfit, Outcome, Record, Trial
from fallwork.measurement.statistics import coverage_factor
from fallwork.scenario.trials import ALL

ZEROED, NOT_ZEROED = 0.05, 0.2  # N, by which a force may be off with its zero set, and without
ROUGHLY = 0.2  # of a tension: likewise, where only a part of the run tells it
HELD_BY_THE_CART = 0.5  # of the held pull: with less a hand carries the hanging mass
COVERED = 0.9  # of the distance: a record that holds less of it is cut off
FOLLOWS: Mapping[str, str] = {  # what says nothing more where another measurand is known
    Measurand.FINAL_SPEED: Measurand.ACCELERATION,
    Measurand.TRAVEL_TIME: Measurand.ACCELERATION,
    Measurand.TENSION_OVER_TIME: Measurand.MEAN_TENSION,
}
COLUMNS_APART = (0.1, 0.02)  # relative, and m/s: two columns of one motion differ by less
FEWEST = 4  # trials from which one can be set against the others
AMONG = (  # what is compared among trials
    Measurand.ACCELERATION,
    Measurand.DISTANCE,
    Measurand.MEAN_TENSION,
    Measurand.FORCE_HELD,
)
FAR_OFF = 8.0  # standard deviations of the others
CHANNELS = ("position", "velocity", "force")
GRAM_FORCE = 0.00980665  # N, by the conventional gravity of the 3rd CGPM (1901)
UNITS: Mapping[str, Mapping[str, float]] = {  # SI units in one of them
    "position": {"cm": 0.01, "mm": 0.001},
    "velocity": {"cm/s": 0.01, "mm/s": 0.001},
    "force": {"mN": 0.001, "g": GRAM_FORCE, "kg": 1000 * GRAM_FORCE},
    "time": {"ms": 0.001},
}

Change = Callable[[Record], Record]
Again = Callable[[Change], Trial | None]  # the trial of a changed record; None: no run in it


@dataclass(frozen=True, kw_only=True)
class Mistake:
    """A way to write a record down wrongly, undone by ``mend``."""

    words: str
    channels: tuple[str, ...]  # that a record must have for it
    mend: Change


def _never(change: Change) -> None:
    """Nothing that was typed in can be read anew."""


def misfit_of(trial: Trial, limits: Limits, again: Again = _never) -> Misfit | None:
    """Why a trial can't be of the lab, by itself; None where it can."""
    off = tuple(_off(trial, limits)) if limits else ()
    return Misfit(off=off, likely=_likely(trial, limits, again)) if off else None


def misfit_without_run(why: str, record: Record, limits: Limits, again: Again) -> Misfit:
    """The same of a record in which no run was found; ``why`` says for what reason."""
    likely = _mistake(record, limits, again) if limits else ""
    return Misfit(off=(f"no run found: {why}",), likely=CUT_OFF if likely is None else likely)


def _mistake(record: Record, limits: Limits, again: Again) -> str | None:
    """The mistake that makes the record one of the lab if it is undone."""
    for mistake in MISTAKES:
        if all(getattr(record, channel) is not None for channel in mistake.channels):
            mended = again(mistake.mend)
            if mended is not None and not any(_off(mended, limits)):
                return mistake.words
    return None


def _likely(trial: Trial, limits: Limits, again: Again) -> str:
    mistake = None if trial.record is None else _mistake(trial.record, limits, again)
    if mistake is not None:
        return mistake
    if trial.record is None:
        return TYPED
    if trial.window_by_hand:
        return WINDOW
    if _share_covered(trial, limits) < COVERED:
        return CUT_OFF
    far = {name for name, each in limits.items() if _outside(trial, name, each)}
    if not far:
        return TWO_COLUMNS
    if Measurand.DISTANCE not in far:
        return MASSES
    return DISTANCE if Measurand.ACCELERATION not in far else OTHER_RUN


def set_aside(
    trials: Sequence[Trial], limits: Limits, signs: Mapping[str, int], included: Mapping[str, str]
) -> list[Trial]:
    """The trials, those that aren't of the lab as not counting; ``included`` holds reasons against
    it, by trial or ALL.

    Each of ``trials`` has its own misfit already; here they are set against each other too.
    """
    alike = [trial for trial in trials if trial.misfit is None and trial.excluded is None]
    among = misfits_among(alike, limits, signs)
    whole = [replace(t, misfit=among[t.name]) if t.name in among else t for t in trials]
    return [_counting(trial, included) for trial in whole]


def _counting(trial: Trial, included: Mapping[str, str]) -> Trial:
    if trial.misfit is None:
        return trial
    reason = included.get(trial.name) or included.get(ALL)
    if reason and trial.estimates:
        return replace(trial, misfit=replace(trial.misfit, despite=reason))
    return replace(trial, excluded=str(trial.misfit))


# ---- a trial by itself


def _off(trial: Trial, limits: Limits) -> Iterator[str]:
    """Everything that doesn't fit."""
    for name, each in limits.items():
        follows = FOLLOWS.get(name) in trial.estimates
        if not follows and _outside(trial, name, each):
            given = limits[name] if name == Measurand.DISTANCE else None
            yield off_value(name, trial.estimates[name].value, given)
    yield from _unused_force(trial, limits)
    yield from _columns_apart(trial)
    share = _share_covered(trial, limits)
    if share < COVERED:
        yield off_covered(share)


def _outside(trial: Trial, name: str, limits: Range) -> bool:
    found = trial.estimates.get(name)
    if found is None:
        return False
    more = _own(found) + _zero(trial, name)
    if name == Measurand.FORCE_HELD and found.value < HELD_BY_THE_CART * limits.low:
        return found.value < -more
    return not limits.low - more <= found.value <= limits.high + more


def _own(found: Outcome) -> float:
    """By how much a single value may be off by itself (95 %)."""
    return 0.0 if found.u is None else coverage_factor(found.dof) * found.u


def _unused_force(trial: Trial, limits: Limits) -> Iterator[str]:
    """A force from which no tension was found, as in a run that turns round."""
    lab, mean = limits.get(Measurand.MEAN_TENSION), _mean_force(trial)
    if lab is None or mean is None or not {*FORCES}.isdisjoint(trial.estimates):
        return
    more = NOT_ZEROED + ROUGHLY * lab.high
    if not lab.low - more <= abs(mean) <= lab.high + more:
        yield off_value(Measurand.TENSION_OVER_TIME, abs(mean), None)


def _zero(trial: Trial, name: str) -> float:
    """What the zero of the force sensor may add."""
    if name not in (*FORCES, Measurand.FORCE_HELD):
        return 0.0
    known = trial.record is None or (trial.run is not None and trial.run.force_offset != 0)
    return ZEROED if known else NOT_ZEROED


def _columns_apart(trial: Trial) -> Iterator[str]:
    """Positions and velocities that don't tell of the same motion as the fitted line."""
    run, record = trial.run, trial.record
    if run is None or record is None or record.position is None or record.velocity is None:
        return
    speed = run.driven_line[0] + run.driven_line[1] * sum(run.driven) / 2
    for channel, power in (("position", 2), ("velocity", 1)):
        read = _mean_speed(record, channel, run.driven, power) * run.signs.get(channel, 1)
        if abs(read - speed) > COLUMNS_APART[0] * abs(speed) + COLUMNS_APART[1]:
            yield off_columns(channel, read, speed)


def _mean_speed(record: Record, channel: str, span: tuple[float, float], degree: int) -> float:
    """What a column says of the mean speed over a span, m/s."""
    values: Array = getattr(record, channel)
    inside = (record.time >= span[0]) & (record.time <= span[1]) & np.isfinite(values)
    if inside.sum() < degree + 2:
        return inf
    middle = sum(span) / 2
    fitted = np.polyfit(record.time[inside] - middle, values[inside], degree)
    return float(fitted[1])


def _share_covered(trial: Trial, limits: Limits) -> float:
    """How much of the lab's distance the fitted line covers within the record."""
    run, record, lab = trial.run, trial.record, limits.get(Measurand.DISTANCE)
    if run is None or record is None or lab is None or trial.window_by_hand:
        return 1.0
    motion = record.velocity if record.position is None else record.position
    assert motion is not None  # there is a run
    times = record.time[np.isfinite(motion)]
    begin = run.driven[0] if run.release is None else run.release
    begin, end = max(begin, times[0]), min(run.landing or inf, times[-1])
    if end < times[-1] and begin > times[0] and run.release is not None:
        return 1.0  # all of it is there, however long
    first, last = (run.driven_line[0] + run.driven_line[1] * time for time in (begin, end))
    return float((first + last) / 2 * (end - begin) / lab.low)


# ---- a trial among the others


def misfits_among(
    trials: Sequence[Trial], limits: Limits, given: Mapping[str, int]
) -> dict[str, Misfit]:
    """Trials that fit the lab but not the other trials, by name; ``given`` are signs as told."""
    if not limits or len(trials) < FEWEST:
        return {}
    found = {}
    for trial in trials:
        others = [each for each in trials if each is not trial]
        off = [*_far_from(trial, others, limits)]
        turned = [*_signs_differ(trial, others, given)]
        if off or turned:
            likely = OTHER_RUN if off else SIGNS_DIFFER
            found[trial.name] = Misfit(off=(*off, *turned), likely=likely)
    return found


def _far_from(trial: Trial, others: Sequence[Trial], limits: Limits) -> Iterator[str]:
    for name in AMONG:
        values = [each.estimates[name].value for each in others if name in each.estimates]
        own = trial.estimates.get(name)
        if own is None or name not in limits or len(values) < FEWEST - 1:
            continue
        usual = median(values)
        scatter = 1.4826 * median(abs(value - usual) for value in values)
        more = _own(own) + FAR_OFF * scatter + _zero(trial, name)
        if abs(own.value - usual) > limits[name].varies + more:
            yield off_others(name, own.value, usual)


def _signs_differ(trial: Trial, others: Sequence[Trial], given: Mapping[str, int]) -> Iterator[str]:
    """Columns that count against the run in this trial alone, or in it not."""
    signs = _signs(trial)
    for channel in (each for each in CHANNELS if each in signs and each not in given):
        same = [there[channel] for each in others if channel in (there := _signs(each))]
        if len(same) >= FEWEST - 1 and same.count(-signs[channel]) > 0.75 * len(same):
            yield OTHER_SIGN.format(channel=channel)


def _signs(trial: Trial) -> Mapping[str, int]:
    """By what the columns were multiplied; of a force that tells no tension, what its mean says."""
    signs = {} if trial.run is None else trial.run.signs
    mean = None if "force" in signs else _mean_force(trial)
    return signs if mean is None else {**signs, "force": -1 if mean < 0 else 1}


def _mean_force(trial: Trial) -> float | None:
    """As read, over the part of the run that is known, N."""
    span = trial.window if trial.run is None else trial.run.driven
    record = trial.record
    if record is None or record.force is None or span is None:
        return None
    inside = (record.time >= span[0]) & (record.time <= span[1]) & np.isfinite(record.force)
    return float(record.force[inside].mean()) if inside.any() else None


# ---- mistakes, undone


def _scaled(record: Record, *, channels: Sequence[str], factor: float) -> Record:
    changed = {
        channel: factor * values
        for channel in channels
        if (values := getattr(record, channel)) is not None
    }
    return replace(record, **changed)


def _swapped(record: Record, *, one: str, other: str) -> Record:
    return replace(record, **{one: getattr(record, other), other: getattr(record, one)})


def _mistakes() -> Iterator[Mistake]:
    """From the likeliest on."""
    for channel, units in UNITS.items():
        for unit, factor in units.items():
            for wrong, mend in ((True, factor), (False, 1 / factor)):
                words = SCALED[wrong].format(channel=channel, unit=unit)
                yield _scale(words, (channel,), mend)
    for unit, factor in UNITS["position"].items():
        words = SCALED[True].format(channel="position and velocity", unit=f"{unit} and {unit}/s")
        yield _scale(words, ("position", "velocity"), factor)
    for one, other in (("position", "velocity"), ("velocity", "force"), ("position", "force")):
        words = SWAPPED.format(one=one, other=other)
        swap = partial(_swapped, one=one, other=other)
        yield Mistake(words=words, channels=(one, other), mend=swap)
    yield _scale(SIGN, ("force",), -1.0)


def _scale(words: str, channels: tuple[str, ...], factor: float) -> Mistake:
    mend = partial(_scaled, channels=channels, factor=factor)
    return Mistake(words=words, channels=channels, mend=mend)


MISTAKES = tuple(_mistakes())
