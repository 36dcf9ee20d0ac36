"""What every file about measuring may ask: what the sensors look at, quantities with their symbols,
the trials together.
"""

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from statistics import median
from typing import ClassVar

from fallwork.lesson.document import Equation
from fallwork.lesson.expression import (
    SCALE,
    Expression,
    Operand,
    Symbol,
    as_expression,
    evaluate,
    symbols_in,
)
from fallwork.lesson.lab.base import Base
from fallwork.lesson.lab.roles import absent
from fallwork.lesson.measured import words as say
from fallwork.lesson.measured.evidence import Evidence, Judgement, on_means, over_others
from fallwork.lesson.measured.quantities import LETTERS, Quantity, of_comparison, of_summary, symbol
from fallwork.lesson.rounding import to_figures, to_places
from fallwork.lesson.trees import rebuilt
from fallwork.lesson.words import listing
from fallwork.measurement.comparison import COMPARED
from fallwork.measurement.model import Analysis, Estimate, Measurand, Outcome, Summary, Trial
from fallwork.measurement.prediction import View, view_of
from fallwork.measurement.statistics import lost_in_rounding
from fallwork.measurement.typed import Way, way_of
from fallwork.mechanics.solution import Interaction

VERY_MANY = 1000  # degrees of freedom


@dataclass(frozen=True, eq=False)
class Trials(Base):
    """One set-up with what was measured of it; without evidence in symbols only."""

    roles: ClassVar[str] = "roles-measured"
    evidence: Evidence | None = None

    # ---- the set-up as somebody at the bench sees it

    @cached_property
    def view(self) -> View:
        """What the sensors look at."""
        return view_of(self.scenario)

    @property
    def watched(self) -> str:
        """The object whose motion is measured."""
        return self.view.moving

    @property
    def pulled(self) -> tuple[str, ...]:
        """That object with all that it draws along on its surface by other strings."""
        found, strings = [self.watched], self.scenario.strings
        towing = [set(line.path) for name, line in strings.items() if name != self.view.string]
        for name in found:
            beside = set().union(*(path for path in towing if name in path))
            found += [each for each in self.sliders if each in beside - set(found)]
        return tuple(each for each in self.movers if each in found)

    @property
    def pulled_back(self) -> bool:
        """Whether the measured pull points against the way in which the watched object goes in
        the end, so that its work is negative there."""
        pulls = [
            self.along(force) or 0.0
            for force in self.forces_on(self.watched)
            if force.interaction is Interaction.TENSION and force.partner == self.view.string
        ]
        return any(self.senses[self.watched] * along < 0 for along in pulls)

    # ---- measured quantities

    def of(self, name: str) -> Quantity:
        """A quantity with its symbols, e.g. ``lab.of("acceleration")``."""
        quantity = Measurand(name)
        if self.evidence is None:
            return Quantity(quantity, self.figures)
        summary, judged = self.evidence.analysis.summary.get(quantity), self.evidence.judgement
        values = {} if summary is None else dict(of_summary(summary))
        if judged is None:
            return Quantity(quantity, self.figures, summary, None, values)
        every, found = judged.comparison.quantities, judged.comparison.quantities.get(quantity)
        values |= {} if found is None else of_comparison(found.overall)
        expected = judged.prediction.estimates.get(quantity.predicted)
        if expected is not None:  # as many figures as the best known difference from it needs
            same = [e for q, e in every.items() if Measurand(q).predicted is quantity.predicted]
            best = min((say.ends_at(each.overall.difference) for each in same), default=0.0)
            values["predicted"] = Outcome(value=expected.value, u=best)
            values["u_predicted"] = expected.u
        return Quantity(quantity, self.figures, summary, found, values)

    @property
    def featured(self) -> tuple[Quantity, ...]:
        """The quantities on which the pages dwell, as far as they are measured."""
        names = COMPARED if self.moves else (Measurand.FORCE_HELD,)
        pulls = (Measurand.MEAN_TENSION, Measurand.FORCE_HELD)
        found = [self.of(q) for q in names if q not in pulls or self.view.string]
        if self.evidence is None:
            return tuple(each for each in found if each.name.predicted is each.name)
        return tuple(each for each in found if each.summary is not None)

    @staticmethod
    def blank(kind: str, letter: str, mark: str, unit: str) -> Symbol:
        """A symbol for what everybody finds out at the bench."""
        return symbol(kind, kind, letter, (mark,), unit, figures=None)

    # ---- values in words

    u = staticmethod(say.size)
    digits = staticmethod(to_figures)
    unbroken = staticmethod(say.unbroken)
    lost_in_rounding = staticmethod(lost_in_rounding)

    def with_u(self, outcome: Outcome, unit: str) -> str:
        """A measured value with its uncertainty and unit."""
        return say.amount(outcome, unit, self.figures)

    def in_cell(self, outcome: Outcome, unit: str) -> str:
        """The same for a narrow cell: a line may end before the ±."""
        return self.with_u(outcome, unit).replace("\u00a0±", " ±")

    def shown(self, outcome: Outcome, unit: str) -> str:
        """A value that ends where it has to, its uncertainty not shown."""
        return say.shown(outcome, unit, self.figures)

    @staticmethod
    def number(summary: Summary) -> str:
        """Of how many trials a mean is."""
        return say.unknown() if summary.n is None else str(summary.n)

    def interval(self, ends: tuple[float, float] | None, u: float | None, unit: str) -> str:
        """An interval; its ends end where ``u`` does."""
        return say.interval(ends, u, unit, self.figures)

    # ---- equations and mistakes

    def result(self, left: Operand, right: Operand, unit: str = "") -> Equation:
        """An equation, with numbers where there is evidence."""
        shown = self.evidence is not None
        return Equation(left=as_expression(left), right=as_expression(right), numbers=shown)

    def wrong(self, of: Expression, formula: Expression) -> tuple[Expression, float | None] | None:
        """The formula and what comes out, in the unit of what was meant; None where it names what
        there isn't.
        """
        if not isinstance(of, Symbol) or absent(formula):
            return None
        found = rebuilt(formula, {})
        if of.value is None or any(each.value is None for each in symbols_in(found)):
            return found, None
        return found, evaluate(found) / SCALE.get(of.unit, 1.0)

    # ---- the trials

    @property
    def analysis(self) -> Analysis:
        """What the trials give; only where there are any."""
        assert self.evidence is not None  # asked for by steps that show numbers
        return self.evidence.analysis

    @property
    def judgement(self) -> Judgement:
        """The trials against the model; only on pages that may show it."""
        judgement = None if self.evidence is None else self.evidence.judgement
        assert judgement is not None  # as the docstring says
        return judgement

    @cached_property
    def trial(self) -> Trial | None:
        """The one that is worked through, for all of its kind; None where there is no record."""
        return None if self.evidence is None else self.evidence.worked

    @property
    def whose(self) -> str:
        """Where the trials come from, in a sentence."""
        assert self.evidence is not None  # asked for by steps that show numbers
        return say.title(f"source.{self.evidence.source}")

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
        return say.in_trial(trial, quantity.name, quantity.summary, self.figures)

    @property
    def means_alone(self) -> Sequence[Quantity]:
        """The quantities of which no single values are to hand."""
        return [self.of(q) for q in self.analysis.summary if not self.values_of(q)]

    @property
    def means_of_others(self) -> Mapping[str, int]:
        """The means that can't be over the trials that count: of what, and over how many."""
        return {say.quantity_words(q): n for q, n in over_others(self.analysis).items()}

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

    @property
    def way(self) -> Way | None:
        """What leads from a final speed to an acceleration; None where it isn't shown."""
        speed = self.evidence and self.of(Measurand.ACCELERATION_FROM_SPEED).summary
        gravity = Estimate(value=float(self.apparatus.gravity), u=0.0)
        return way_of(self.scenario, gravity) if speed else None

    # ---- mean and uncertainty

    @cached_property
    def scattered(self) -> Quantity | None:
        """The first featured quantity whose scatter the trials show; in symbols the first."""
        for each in self.featured:
            scatter = each.summary and each.summary.standard_deviation
            if self.evidence is None or (scatter is not None and self.values_of(each.name)):
                return each
        return None

    @property
    def unscattered(self) -> str:
        """What is measured without any known uncertainty, in words; empty if nothing is."""
        found = {} if self.evidence is None else self.analysis.summary
        return listing([f"the {say.quantity_words(q)}" for q, s in found.items() if s.u is None])

    @staticmethod
    def dof(summary: Summary) -> str:
        """Degrees of freedom; effective ones (JCGM 100:2008, G.4) are no whole number."""
        found = summary.dof
        if found >= VERY_MANY:
            return "very many"
        whole = abs(found - round(found)) < 0.05
        return to_places(found, 0) if whole else f"{to_places(found, 1)} effective"

    @property
    def far_off(self) -> Sequence[str]:
        """Trials that stand far off, each with the quantity in which it does."""
        found = {} if self.evidence is None else self.analysis.summary
        return [
            f"{name} ({say.quantity_words(q)})" for q, s in found.items() for name in s.outliers
        ]
