"""What the steps about all trials together ask: their table, mean and uncertainty."""

from collections.abc import Collection, Mapping, Sequence
from functools import cached_property
from statistics import median

from fallwork.lesson.expression import Expression, as_expression
from fallwork.lesson.lab.measured.core import Measured
from fallwork.lesson.lab.measured.quantities import LETTERS, Quantity
from fallwork.lesson.measured.means import on_means, over_others
from fallwork.lesson.measured.words import in_trial, quantity_words, title
from fallwork.lesson.words import listing
from fallwork.measurement.model import Analysis, Estimate, Measurand, Summary, Trial
from fallwork.measurement.statistics import coverage_factor
from fallwork.measurement.typed import Way, way_of

VERY_MANY = 1000  # degrees of freedom


class Together(Measured):
    """All trials."""

    coverage_factor = staticmethod(coverage_factor)

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
        return {**super().letters, **{name: as_expression(each) for name, each in found.items()}}

    @property
    def whose(self) -> str:
        """Where the trials come from, in a sentence."""
        assert self.evidence is not None  # asked for by steps that show numbers
        return title(f"source.{self.evidence.source}")

    # ---- the table of trials

    @property
    def columns(self) -> Sequence[Quantity]:
        """The quantities that the tables have columns for."""
        shown = [q for q in LETTERS if q is not Measurand.FORCE_HELD and self.values_of(q)]
        return [self.of(q) for q in shown]

    def values_of(self, quantity: str) -> int:
        """How many trials have a value of it."""
        return sum(quantity in trial.estimates for trial in self.analysis.trials)

    def in_trial(self, quantity: Quantity, trial: Trial) -> str:
        """A value of a trial for a table whose head names the unit."""
        return in_trial(trial, quantity.name, quantity.summary, self.figures)

    @property
    def means_alone(self) -> Sequence[Quantity]:
        """The quantities of which no single values are to hand."""
        return [self.of(q) for q in self.analysis.summary if not self.values_of(q)]

    @property
    def means_of_others(self) -> Mapping[str, int]:
        """The means that can't be over the trials that count: of what, and over how many."""
        return {quantity_words(q): n for q, n in over_others(self.analysis).items()}

    def lacking(self, trials: Collection[str]) -> Sequence[str]:
        """The trials that count but aren't among these; none where no single trial is."""
        counted = self.analysis.counted
        return [t.called for t in counted if trials and t.name not in trials]

    @property
    def on_means(self) -> Sequence[str]:
        """What can't be judged, and what to record so that it can be."""
        return list(on_means(self.evidence)) if self.evidence else []

    def alone_in(self, quantity: str) -> float:
        """The median of what single records say of their own uncertainty; 0 where they don't."""
        trials = [t for t in self.analysis.counted if t.run and quantity in t.estimates]
        return median([t.estimates[quantity].u or 0.0 for t in trials] or [0.0])

    # ---- acceleration from the final speeds

    @property
    def way(self) -> Way | None:
        """What leads from a final speed to an acceleration; None where it isn't shown."""
        speed = self.evidence and self.of(Measurand.ACCELERATION_FROM_SPEED).summary
        gravity = Estimate(value=float(self.apparatus.gravity), u=0.0)
        return way_of(self.scenario, gravity) if speed else None

    # ---- mean and uncertainty

    @property
    def scattered(self) -> Quantity | None:
        """The first featured quantity whose scatter the trials show."""
        for each in self.featured if self.evidence is not None else ():
            scatter = each.summary and each.summary.standard_deviation
            if scatter is not None and self.values_of(each.name):
                return each
        return None

    @property
    def unscattered(self) -> str:
        """What is measured without any known uncertainty, in words; empty if nothing is."""
        found = {} if self.evidence is None else self.analysis.summary
        return listing([f"the {quantity_words(q)}" for q, each in found.items() if each.u is None])

    @staticmethod
    def dof(summary: Summary) -> str:
        """Degrees of freedom; effective ones (JCGM 100:2008, G.4) are no whole number."""
        found = summary.dof
        if found >= VERY_MANY:
            return "very many"
        return f"{found:.0f}" if abs(found - round(found)) < 0.05 else f"{found:.1f} effective"

    @property
    def far_off(self) -> Sequence[str]:
        """Trials that stand far off, each with the quantity in which it does."""
        summaries = {} if self.evidence is None else self.analysis.summary
        return [
            f"{name} ({quantity_words(q)})" for q, s in summaries.items() for name in s.outliers
        ]
