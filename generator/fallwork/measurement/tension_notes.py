"""What has to be said of the force in a record, and the words for its zero.

Takes means over the stretches of a run; gives sentences.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum

from fallwork.measurement.finding_edges import Span
from fallwork.measurement.model import Estimate, Measurand
from fallwork.measurement.statistics import quantile

SURE = 0.9995  # probability (one side) at which a trend or an offset is no accident
TREND = 0.03  # of the mean: a smaller change over the driven part is not worth a word
SWING = 0.3  # of the stretch after landing, in which the force may still swing
NOTHING = Estimate(value=0.0, u=0.0)  # N


class Zero(StrEnum):
    """A stretch in which the force is known."""

    HELD = "held"  # at rest before release
    SLACK = "slack"  # after landing, while the string pulls nothing
    SPAN = "span"  # between two times


@dataclass(frozen=True, kw_only=True)
class Tare:
    """From which stretch the zero of the force sensor is set, and what the force is there."""

    zero: Zero
    known: Estimate = NOTHING  # N
    span: Span | None = None  # s, for Zero.SPAN


@dataclass(frozen=True, kw_only=True)
class Means:
    """Means of the readings in the stretches of a run, N."""

    over_distance: Estimate | None
    over_time: Estimate
    held: Estimate | None
    slack: Estimate | None
    known: Estimate | None  # where the tare wants the zero set
    trend: Estimate  # relative change over the driven stretch
    left_out: tuple[float, ...]


def notes_on_pull(
    means: Means,
    turn: int,
    sign: int | None,
    tare: Tare | None,
    found: Mapping[str, Estimate],
) -> list[str]:
    """Sentences on sign, zero, changes and readings that were left out."""
    notes = []
    if turn < 0 and sign is None:
        notes.append("a pull counts as negative: force turned over")
    notes += _notes_on_zero(means, turn, tare)
    mean = found[Measurand.TENSION_OVER_TIME]
    if mean.value < 0:
        notes.append("the force is negative in the run: its sign or its zero is wrong")
    if is_sure(means.trend) and abs(means.trend.value) > TREND * abs(mean.value):
        percent = f"{100 * turn * means.trend.value / mean.value:+.0f}".replace("-", "−")
        notes.append(
            f"the force changes by {percent} % within the driven part: its means over the "
            "distance and over the time differ"
        )
    if means.left_out:
        times = ", ".join(f"{time:.3f} s" for time in means.left_out[:5])
        notes.append(f"{len(means.left_out)} readings of force far off left out: at {times}")
    return notes


WHERE = {
    Zero.HELD: "the stretch before release",
    Zero.SLACK: "the stretch after landing",
    Zero.SPAN: "a stretch set by hand",
}


def _notes_on_zero(means: Means, turn: int, tare: Tare | None) -> list[str]:
    """Why the force isn't zeroed; how it is stands in ``notes_on_zeros``, for all trials."""
    if tare is not None:
        read = {Zero.HELD: means.held, Zero.SLACK: means.slack, Zero.SPAN: means.known}[tare.zero]
        missing = f"{WHERE[tare.zero]} has too few readings or none: force not zeroed"
        return [] if read else [missing]
    if means.slack is not None and is_sure(means.slack):
        reading = f"{turn * means.slack.value:.3f}".replace("-", "−")
        return [f"force reads {reading} N with the string slack, and is not zeroed"]
    return []


def notes_on_zeros(offsets: Sequence[float], tare: Tare) -> list[str]:
    """By how much the forces of trials were shifted, and what is uncertain about it; ``offsets``
    in N were taken off them.
    """
    taken = (round(-each, 4) + 0.0 for each in (max(offsets), min(offsets)))  # no −0.0000
    ends = dict.fromkeys(f"{each:+.4f}".replace("-", "−") for each in taken)
    span = " to ".join(f"{end} N" for end in ends)
    zeroed = f"force zeroed by {span} from {WHERE[tare.zero]}"
    if tare.zero is Zero.SLACK:
        zeroed += f" without its first {100 * SWING:.0f} %, in which the force may still swing"
    return [zeroed + (OWN_ZERO if len(offsets) > 1 else ""), *_on_known(tare)]


OWN_ZERO = (
    ", each trial by a zero of its own: its noise is part of the trial's uncertainty and shows in "
    "the scatter of the trials; one common zero, the mean of these, would give the same mean"
)


def _on_known(tare: Tare) -> list[str]:
    """What is taken for the force where the zero is set, and that all trials share its error."""
    if not tare.known.value:
        return []
    known = f"{tare.known.value:.4f} N"
    if not tare.known.u:
        return [f"the force there is taken as {known}"]
    return [
        f"the force there is taken as {known} ± {tare.known.u:.4f} N, as masses and g have it: an "
        "error in it shifts all trials alike, so more trials don't lessen it"
    ]


def is_sure(estimate: Estimate) -> bool:
    """Whether a value differs from zero beyond accident."""
    return abs(estimate.value) > quantile(estimate.dof, SURE) * estimate.u
