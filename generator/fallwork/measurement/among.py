"""What is usual among the trials of a lab, and which of them is far from it.

Takes trials and what the lab's numbers allow; gives medians with what trials may be off from them,
and sentences about values and signs that aren't like the others'.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise
from statistics import median

import numpy as np

from fallwork.measurement.limits import FORCES, Limits, Range
from fallwork.measurement.model import Measurand, Outcome, Trial
from fallwork.measurement.saying import noun, number, off, say
from fallwork.measurement.statistics import limit_of

FEWEST = 3  # trials that tell what is usual
AMONG = (  # what is compared among trials
    Measurand.ACCELERATION,
    Measurand.FINAL_SPEED,
    Measurand.DISTANCE,
    Measurand.MEAN_TENSION,
    Measurand.FORCE_HELD,
)
FOLLOWS: Mapping[str, str] = {  # what says nothing more where another measurand is known
    Measurand.FINAL_SPEED: Measurand.ACCELERATION,
    Measurand.TRAVEL_TIME: Measurand.ACCELERATION,
    Measurand.TENSION_OVER_TIME: Measurand.MEAN_TENSION,
}
OF_FORCE = (*FORCES, Measurand.FORCE_HELD)
NORMAL = 1.4826  # standard deviations for each median of deviations, of a normal distribution
DRIFT = 0.02  # N, by which the zero of a force sensor may move between two trials
APART = 3.0  # times the width of the wider group: so far apart are two groups
HELD_BY_THE_CART = 0.5  # of the held pull: with less a hand carries the hanging mass
CHANNELS = ("position", "velocity", "force")


@dataclass(frozen=True, kw_only=True)
class Usual:
    """What is usual of one measurand."""

    median: float
    own: float  # by how much a value is usually off by itself
    varies: float  # so far off the lab explains it
    scatter: float  # of the trials as they are: so far off is still by chance

    def holds(self, found: Outcome, *, chance: bool = True) -> bool:
        """Whether a value is so near that the lab explains it, or the scatter by chance."""
        more = max(self.varies, self.scatter if chance else 0.0)
        return abs(found.value - self.median) <= more + own_limit(found)


Usuals = Mapping[str, Usual]  # by Measurand


def usual_of(trials: Sequence[Trial], limits: Limits) -> dict[str, Usual]:
    """By measurand; nothing of what fewer than three trials tell.

    Of n trials one may be off the median by 4 + 16/n deviations by chance: of few by more, for
    their deviation is known badly. Simulated: beyond it lies 1 of 250 normal values of ten.
    """
    found = {}
    for name in AMONG:
        each = [value for trial in trials if (value := compared(trial, name, limits))]
        if len(each) >= FEWEST:
            usual = median(one.value for one in each)
            deviation = NORMAL * median(abs(one.value - usual) for one in each)
            found[name.value] = Usual(
                median=usual,
                own=median(map(own_limit, each)),
                varies=limits[name].varies + (DRIFT if name in OF_FORCE else 0.0),
                scatter=(4 + 16 / len(each)) * deviation,
            )
    return found


def far_from_usual(trial: Trial, limits: Limits, usual: Usuals) -> Iterator[tuple[str, str]]:
    """Measurands of a trial that are far from the other trials', each with a clause about it."""
    for name, each in usual.items():
        found = compared(trial, name, limits)
        if found is not None and not each.holds(found):
            yield name, off("others", name, found.value, usual=each.median)


def two_groups(trials: Sequence[Trial], limits: Limits) -> Iterator[str]:
    """That trials fall into two groups, so that none is the odd one out; said of one measurand."""
    for name in AMONG:
        values = sorted(v.value for trial in trials if (v := compared(trial, name, limits)))
        gaps = [after - before for before, after in pairwise(values)]
        if not gaps:
            continue
        at = gaps.index(max(gaps)) + 1
        parts = values[:at], values[at:]
        inner = max(part[-1] - part[0] for part in parts)
        fewest = min(len(values) // 2, 2)  # one alone among others is named by itself
        apart = max(gaps) > max(limits[name].varies, APART * inner)
        if apart and min(map(len, parts)) >= fewest:
            both = [
                say("group", count=len(part), usual=number(median(part), name)) for part in parts
            ]
            yield say("two-groups", both=" and ".join(both), noun=noun(name))
            return


def compared(trial: Trial, name: str, limits: Limits) -> Outcome | None:
    """What a trial has to compare: not the pull of a hanging mass that a hand carries."""
    found = trial.estimates.get(name) if name in limits else None
    if found is None or says_nothing_more(trial, name):
        return None
    if name == Measurand.FORCE_HELD and carried(found.value, limits[name]):
        return None
    return found


def says_nothing_more(trial: Trial, name: str) -> bool:
    """Whether a value was found by way of another one; one that was typed in stands for itself."""
    return trial.record is not None and FOLLOWS.get(name) in trial.estimates


def carried(held: float, limits: Range) -> bool:
    """Whether a hand carries the hanging mass before the release."""
    return held < HELD_BY_THE_CART * limits.low


def own_limit(found: Outcome) -> float:
    """By how much a single value may be off by itself (95 %)."""
    return limit_of(found) or 0.0


# ---- signs


def signs_differ(trial: Trial, trials: Sequence[Trial], given: Mapping[str, int]) -> Iterator[str]:
    """Columns that count against the run in this trial alone, or in it not."""
    signs, others = _signs(trial), [_signs(each) for each in trials if each is not trial]
    for channel in (each for each in CHANNELS if each in signs and each not in given):
        same = [each[channel] for each in others if channel in each]
        if len(same) >= FEWEST - 1 and same.count(-signs[channel]) > 0.75 * len(same):
            yield say("other-sign", channel=channel)


def _signs(trial: Trial) -> Mapping[str, int]:
    """By what the columns were multiplied; of a force that tells no tension, what its mean says."""
    signs = {} if trial.run is None else trial.run.signs
    mean = None if "force" in signs else mean_force(trial)
    return signs if mean is None else {**signs, "force": -1 if mean < 0 else 1}


def mean_force(trial: Trial) -> float | None:
    """As read, over the part of the run that is known, N."""
    span = trial.window if trial.run is None else trial.run.driven
    record = trial.record
    if record is None or record.force is None or span is None:
        return None
    inside = (record.time >= span[0]) & (record.time <= span[1]) & np.isfinite(record.force)
    return float(record.force[inside].mean()) if inside.any() else None
