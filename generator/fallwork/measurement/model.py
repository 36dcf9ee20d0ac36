"""What the measurement stage speaks of: estimates, records, trials, summaries.

Takes nothing and computes nothing. SI units throughout; ``u`` is a standard uncertainty. Signs are
those of the run: position and velocity grow in the direction in which the object of the run goes,
a force that pulls is positive. All classes are frozen; mappings keep their order.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import StrEnum
from typing import Self

from fallwork.errors import Place
from fallwork.measurement.statistics import Array as Array
from fallwork.measurement.statistics import Estimate as Estimate
from fallwork.measurement.statistics import Outcome as Outcome

Estimates = Mapping[str, Estimate]  # by Measurand
Span = tuple[float, float]  # s, from one time to another
Line = tuple[float, float]  # m/s at time zero and m/s²


class Measurand(StrEnum):
    """What a trial gives; the value is the key in files and in ``trials --json``."""

    unit: str

    ACCELERATION = "acceleration", "m/s²"  # of the driven part
    ACCELERATION_FROM_SPEED = "acceleration_from_speed", "m/s²"  # (v² − v₀²)/2d with the given d
    FINAL_SPEED = "final_speed", "m/s"  # at the end of the driven part
    TRAVEL_TIME = "travel_time", "s"  # from release to the end of the driven part
    DISTANCE = "distance", "m"  # covered in the driven part
    MEAN_TENSION = "mean_tension", "N"  # mean over the distance: work divided by distance
    WORK_OF_TENSION = "work_of_tension", "J"  # integral of the force over position
    TENSION_OVER_TIME = "mean_tension_over_time", "N"  # impulse divided by time
    COASTING_ACCELERATION = "coasting_acceleration", "m/s²"  # after landing; negative: slows down
    # The next two only where the zero offset was not set from that very stretch.
    FORCE_HELD = "force_held", "N"  # while held before release, zero offset taken off
    FORCE_SLACK = "force_slack", "N"  # string slack after landing, zero offset taken off

    def __new__(cls, value: str, unit: str = "") -> Self:
        """Its key with its unit."""
        found = str.__new__(cls, value)
        found._value_, found.unit = value, unit
        return found

    @property
    def predicted(self) -> "Measurand":
        """The measurand whose prediction this one is compared with."""
        return Measurand.ACCELERATION if self is Measurand.ACCELERATION_FROM_SPEED else self

    @property
    def as_mean(self) -> str:
        """What its mean over the trials is called; a mean tension stays one."""
        return f"mean {self.value.removeprefix('mean_').replace('_', ' ')}"


UNITS: Mapping[str, str] = {each: each.unit for each in Measurand}


@dataclass(frozen=True, kw_only=True)
class Record:
    """What a sensor wrote down in one trial, in SI units; all arrays have the same length (n,). A
    sample that is missing is NaN. ``time`` is increasing.
    """

    name: str
    time: Array  # s
    position: Array | None = None  # m
    velocity: Array | None = None  # m/s
    force: Array | None = None  # N
    notes: tuple[str, ...] = ()  # what was assumed in reading it, a sentence each
    source: str = ""  # file and column or trial, as the user named it
    simulated: bool = False
    said: Place | None = None  # where the file says that it is simulated
    place: Place | None = None  # of its first number in the file, for messages


class Basis(StrEnum):
    """From which column, and how, the motion of a trial was found."""

    VELOCITY = "velocity"  # straight lines through the velocities
    POSITION = "position"  # parabolas through the positions
    SUMMED_VELOCITY = "summed velocity"  # parabolas through the running integral of the velocities


@dataclass(frozen=True, kw_only=True)
class FoundRun:
    """Where the run lies in a record, for plots and to judge the fit; times are the record's."""

    basis: Basis
    signs: Mapping[str, int]  # "position", "velocity", "force": by which values are multiplied
    force_offset: float | None = None  # N, taken off the force after that; None: not zeroed
    release: float | None  # s; None where it isn't in the record
    landing: float | None  # s, end of the driven part
    driven: Span  # the stretch that was fitted: the driven part less margins
    driven_line: Line  # counts along the run
    held: Span | None = None  # at rest before release, less margins
    coasting: Span | None = None  # fitted stretch after landing, less margins
    coasting_line: Line | None = None
    left_out: tuple[float, ...] = ()  # s, single readings of motion passed over as spikes


@dataclass(frozen=True, kw_only=True)
class Misfit:
    """Why a trial can't be one of its lab."""

    off: tuple[tuple[str, str], ...]
    # ^ what doesn't fit: the Measurand, "" where it is no value, and a clause
    likely: str  # the likely reason; "" where no lab is known
    despite: str = ""  # the reason for which its authors let it count all the same

    @property
    def by_result(self) -> bool:
        """Whether nothing but results of the lab speak against it."""
        known = ("", Measurand.DISTANCE, Measurand.FORCE_HELD)
        return all(name not in known for name, _ in self.off)

    def __str__(self) -> str:
        words = "; ".join(words for _, words in self.off)
        return f"{words} ({self.likely})" if self.likely else words


@dataclass(frozen=True, kw_only=True)
class Trial:
    """One measured run: what was found in its record, or what was typed in for it."""

    name: str
    estimates: Mapping[str, Outcome]  # by Measurand; a missing sensor gives no entry
    window: tuple[float, float] | None = None  # s, release and end of the driven part
    window_by_hand: bool = False
    zero_u: float = 0.0  # N, of the zero that its record sets: the same error in all its forces
    record: Record | None = None
    run: FoundRun | None = None  # None where no run was found, or values were typed in
    written: Mapping[str, str] = field(default_factory=dict)
    # ^ by Measurand: the digits of values that were typed in in SI units
    excluded: str | None = None  # the reason why it doesn't count; None: it counts
    misfit: Misfit | None = None  # why it can't be of its lab: it counts only if it is included
    notes: tuple[str, ...] = ()

    @property
    def called(self) -> str:
        """Its name in a sentence."""
        return f"trial {self.name}" if self.name.isdigit() else self.name

    @property
    def set_aside(self) -> bool:
        """Whether it doesn't count only because it can't be of its lab."""
        return self.misfit is not None and self.excluded is not None

    @property
    def simulated(self) -> bool:
        """Whether its record says that a program made it."""
        return self.record is not None and self.record.simulated


@dataclass(frozen=True, kw_only=True)
class Summary(Outcome):
    """The mean of one measurand over all trials that count; what isn't known of it is None."""

    n: int | None
    standard_deviation: float | None  # of the trials, with n − 1; None for n = 1
    random: Outcome  # with its type A uncertainty alone; for n = 1 that of the only value
    effects: Mapping[str, float] = field(default_factory=dict)
    # ^ type B, by name, e.g. "scale of forces": u that all trials share, so that more trials don't
    # lessen it
    outliers: tuple[str, ...] = ()  # names of trials that stand far off; they count all the same


@dataclass(frozen=True, kw_only=True)
class Analysis:
    """All trials of one set-up, with what they give together."""

    trials: tuple[Trial, ...]  # the excluded ones too
    summary: Mapping[str, Summary]  # by Measurand, over the trials that count
    summary_with_excluded: Mapping[str, Summary] = field(default_factory=dict)
    # ^ the same over all trials; empty where none is excluded
    zeroed_held: bool = False
    # ^ whether all forces were zeroed by the pull that the givens tell for the held stretch: then
    # they go with these givens, as a prediction does
    means: tuple[Trial, ...] = ()
    # ^ means that were typed in, each as a trial by the name of its key, the excluded ones too
    doubts: tuple[str, ...] = ()  # what doesn't go together although it counts, a sentence each
    notes: tuple[str, ...] = ()  # what was assumed, and the doubts

    @property
    def by_call(self) -> Mapping[str, Trial]:
        """Trials and typed-in means by what they are called in a sentence."""
        means = {Measurand(quantity).as_mean: m for m in self.means for quantity in m.estimates}
        return {trial.called: trial for trial in self.trials} | means

    @property
    def set_aside(self) -> Mapping[str, Misfit]:
        """What can't be of the lab and so isn't used: trials and means by what they are called."""
        return {call: t.misfit for call, t in self.by_call.items() if t.set_aside and t.misfit}

    @property
    def included(self) -> Mapping[str, Misfit]:
        """What counts although it can't be of the lab, likewise."""
        found = {call: t.misfit for call, t in self.by_call.items()}
        return {call: misfit for call, misfit in found.items() if misfit and misfit.despite}

    @property
    def left_out(self) -> Mapping[str, str]:
        """What its authors exclude, likewise, with their reasons."""
        every = self.by_call.items()
        return {call: t.excluded for call, t in every if t.excluded and not t.set_aside}

    @property
    def exceptions(self) -> tuple[str, ...]:
        """What is said of all these, a sentence each."""
        unused = {**self.left_out, **self.set_aside}
        included = self.included.items()
        told = (f"{call} counts, though: {each}. Reason: {each.despite}" for call, each in included)
        return (*(f"{call} doesn't count: {why}" for call, why in unused.items()), *told)

    @property
    def counted(self) -> tuple[Trial, ...]:
        """The trials that aren't excluded."""
        return tuple(trial for trial in self.trials if trial.excluded is None)
