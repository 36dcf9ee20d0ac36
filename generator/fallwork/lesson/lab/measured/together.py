"""What the steps about all trials together ask: their table, mean and uncertainty."""

from collections.abc import Collection, Iterator, Mapping, Sequence
from functools import cached_property

from fallwork.lesson.expression import Expression
from fallwork.lesson.lab.measured.core import Measured, refs
from fallwork.lesson.lab.measured.quantities import Quantity
from fallwork.lesson.measured.quality import over_others
from fallwork.lesson.measured.words import (
    UNITS,
    amount,
    in_trial,
    interval,
    quantity_words,
    shown,
    size,
    title,
    unbroken,
    unknown,
)
from fallwork.lesson.words import listing, upper_first
from fallwork.measurement.model import Analysis, Estimate, Measurand, Summary, Trial
from fallwork.measurement.statistics import coverage_factor
from fallwork.measurement.typed import Way, way_of

COLUMNS = (
    Measurand.ACCELERATION,
    Measurand.FINAL_SPEED,
    Measurand.ACCELERATION_FROM_SPEED,
    Measurand.TRAVEL_TIME,
    Measurand.DISTANCE,
    Measurand.MEAN_TENSION,
    Measurand.WORK_OF_TENSION,
)
SPEED, FROM_SPEED = Measurand.FINAL_SPEED, Measurand.ACCELERATION_FROM_SPEED
TRIALS = (3, 4, 5, 6, 7, 8, 9, 10, 12, 15, 20)  # of the table of coverage factors
VERY_MANY = 1000  # degrees of freedom


class Together(Measured):
    """All trials."""

    @property
    def analysis(self) -> Analysis:
        """What the trials give; only where there are any."""
        assert self.evidence is not None  # asked for by steps that show numbers
        return self.evidence.analysis

    @cached_property
    def letters(self) -> Mapping[str, Expression]:
        """Those of mean and uncertainty, of the quantity that they are shown for."""
        one = next(iter(self.featured), None) if self.evidence is None else self.scattered
        found = {} if one is None else {"s": one.deviation, "u": one.u_scatter, "n": one.n}
        return {**super().letters, **refs(found)}

    @property
    def whose(self) -> str:
        """Where the trials come from, in a sentence."""
        assert self.evidence is not None  # asked for by steps that show numbers
        return title(f"source.{self.evidence.source}")

    # ---- the table of trials

    @cached_property
    def columns(self) -> tuple[Quantity, ...]:
        """The quantities that the tables have columns for."""
        trials = self.analysis.trials
        return tuple(self.of(q) for q in COLUMNS if any(q in trial.estimates for trial in trials))

    @property
    def some_excluded(self) -> bool:
        """Whether a trial doesn't count."""
        return any(trial.excluded is not None for trial in self.analysis.trials)

    @property
    def rows_of_trials(self) -> Iterator[tuple[bool, tuple[str, ...]]]:
        """Each trial: whether it counts, its name and its values."""
        for trial in self.analysis.trials:
            values = (
                in_trial(trial, each.name, each.summary, self.figures) for each in self.columns
            )
            yield trial.excluded is None, (unbroken(trial.name), *values)

    @property
    def typed(self) -> bool:
        """Whether there are no records."""
        return all(trial.record is None for trial in self.analysis.trials)

    @property
    def means_alone(self) -> tuple[Summary, ...]:
        """Of the quantities of which no single values are to hand."""
        found = self.analysis.summary
        return tuple(summary for q, summary in found.items() if not self._has_trials(q))

    def _has_trials(self, quantity: str) -> bool:
        return any(quantity in trial.estimates for trial in self.analysis.trials)

    def name_of(self, summary: Summary) -> str:
        """A quantity as the head of a row."""
        return upper_first(quantity_words(summary.quantity))

    def mean_of(self, summary: Summary) -> str:
        """A mean with its uncertainty."""
        return amount(summary.outcome, UNITS[summary.quantity], self.figures)

    def count_of(self, summary: Summary) -> str:
        """Of how many trials."""
        return unknown() if summary.n is None else str(summary.n)

    @property
    def means_of_others(self) -> Iterator[tuple[str, int]]:
        """The means that can't be over the trials that count: of what, and over how many."""
        for quantity, n in over_others(self.analysis).items():
            yield quantity_words(quantity), n

    def lacking(self, trials: Collection[str]) -> Sequence[str]:
        """The trials that count but aren't among these; none where no single trial is."""
        counted = self.analysis.counted
        return [t.called for t in counted if trials and t.name not in trials]

    # ---- trials that don't count

    @property
    def with_and_without(self) -> Iterator[tuple[str, str, str]]:
        """The means without the trials that don't count, and with them."""
        counted, whole = self.analysis.summary, self.analysis.summary_with_excluded
        for each in self.columns:
            if each.name in whole and each.name in counted:
                means = self.mean_of(counted[each.name]), self.mean_of(whole[each.name])
                yield upper_first(each.words), *means

    # ---- acceleration from the final speeds

    @property
    def way(self) -> Way | None:
        """What leads from a final speed to an acceleration; None where it isn't shown."""
        if self.evidence is None or self.of(FROM_SPEED).summary is None:
            return None
        gravity = Estimate(value=float(self.apparatus.gravity), u=0.0)
        return way_of(self.scenario, gravity)

    @property
    def with_speed(self) -> Trial | None:
        """The first trial that has a final speed."""
        return next((t for t in self.analysis.counted if SPEED in t.estimates), None)

    # ---- mean and uncertainty

    @property
    def scattered(self) -> Quantity | None:
        """The first featured quantity whose scatter the trials show."""
        for each in self.featured if self.evidence is not None else ():
            scatter = each.summary and each.summary.standard_deviation
            if scatter is not None and self._has_trials(each.name):
                return each
        return None

    @property
    def unscattered(self) -> str:
        """What is measured without any known uncertainty, in words; empty if nothing is."""
        found = {} if self.evidence is None else self.analysis.summary
        return listing([f"the {quantity_words(q)}" for q, each in found.items() if each.u is None])

    @property
    def one_value_alone(self) -> bool:
        """Whether one trial with an uncertainty of its own has to do."""
        return any(each.n == 1 and each.u for each in self.analysis.summary.values())

    @property
    def plotted(self) -> Sequence[Quantity]:
        """The featured quantities with several values to show."""
        trials = self.analysis.trials
        return [q for q in self.featured if sum(q.name in t.estimates for t in trials) > 1]

    @property
    def factors(self) -> Iterator[tuple[int, str]]:
        """Numbers of trials with their coverage factors for 95 %."""
        for n in TRIALS:
            yield n, f"{coverage_factor(n - 1):.2f}"

    @property
    def rows_of_means(self) -> Iterator[tuple[str, ...]]:
        """Each quantity: name, number, mean, deviation, uncertainty, interval."""
        figures = self.figures
        for summary in self.analysis.summary.values():
            unit, s = UNITS[summary.quantity], summary.standard_deviation
            yield (
                self.name_of(summary),
                self.count_of(summary),
                shown(summary.outcome, unit, figures),
                "" if s is None and summary.u is not None else size(s, unit),
                size(summary.u, unit),
                interval(summary.interval_95, summary.u, unit, figures),
            )

    @staticmethod
    def dof(summary: Summary) -> str:
        """Degrees of freedom; effective ones (JCGM 100:2008, G.4) are no whole number."""
        found = summary.dof
        if found >= VERY_MANY:
            return "very many"
        return f"{found:.0f}" if abs(found - round(found)) < 0.05 else f"{found:.1f} effective"

    @staticmethod
    def effects(summary: Summary) -> str:
        """What shifts all trials alike, each with its uncertainty."""
        unit = UNITS[summary.quantity]
        return listing([f"{each.name} {size(each.u, unit)}" for each in summary.effects])

    @property
    def far_off(self) -> Sequence[str]:
        """Trials that stand far off, each with the quantity in which it does."""
        summaries = () if self.evidence is None else self.analysis.summary.values()
        return [
            f"{name} ({quantity_words(summary.quantity)})"
            for summary in summaries
            for name in summary.outliers
        ]
