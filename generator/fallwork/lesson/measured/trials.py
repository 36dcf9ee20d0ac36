"""What every file about measuring may ask: what the sensors look at, quantities with their symbols,
the trials together.
"""

from collections.abc import Callable, Collection, Sequence
from dataclasses import dataclass
from functools import cached_property
from statistics import median
from typing import Any, ClassVar

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
from fallwork.lesson.measured import words as say
from fallwork.lesson.measured.quantities import Evidence, Judgement, Quantity, letters, symbol
from fallwork.lesson.rounding import to_figures, to_places
from fallwork.lesson.trees import absent, rebuilt
from fallwork.measurement.comparison import COMPARED
from fallwork.measurement.model import Analysis, Estimate, Measurand, Outcome, Summary, Trial
from fallwork.measurement.prediction import View, view_of
from fallwork.measurement.statistics import lost_in_rounding
from fallwork.measurement.typed import Way, way_of
from fallwork.mechanics.solution import Interaction
from fallwork.scenario.report import listed

VERY_MANY = 1000  # degrees of freedom


def _to_figures(words: Callable[..., str]) -> Callable[..., str]:
    """A method out of a function whose last argument are the figures of results."""
    return lambda lab, *of: words(*of, lab.figures)


@dataclass(frozen=True, eq=False)
class Trials(Base):
    """One set-up with what was measured of it; without evidence in symbols only."""

    roles: ClassVar[str] = "roles-measured"
    words: ClassVar[Any] = say
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
        """Whether the measured pull points against the way in which it goes in the end."""
        sense, pull = self.senses[self.watched], (Interaction.TENSION, self.view.string)
        forces = self.forces_on(self.watched)
        pulls = (each for each in forces if (each.interaction, each.partner) == pull)
        return any(sense * (self.along(each) or 0.0) < 0 for each in pulls)

    # ---- measured quantities

    def of(self, name: str) -> Quantity:
        """A quantity with its symbols, e.g. ``lab.of("acceleration")``."""
        quantity = Measurand(name)
        if self.evidence is None:
            return Quantity(quantity, self.figures)
        summary, judged = self.evidence.analysis.summary.get(quantity), self.evidence.judgement
        if judged is None:
            return Quantity(quantity, self.figures, summary)
        every, found = judged.comparison.quantities, judged.comparison.quantities.get(quantity)
        expected = judged.prediction.estimates.get(quantity.predicted)
        if expected is None:
            return Quantity(quantity, self.figures, summary, found)
        # As many figures as the best known difference from it needs.
        same = [e for q, e in every.items() if Measurand(q).predicted is quantity.predicted]
        best = min((say.ends_at(each.overall) for each in same), default=0.0)
        shown = Outcome(value=expected.value, u=best)
        return Quantity(quantity, self.figures, summary, found, shown, expected.u)

    @property
    def featured(self) -> tuple[Quantity, ...]:
        """The quantities on which the pages dwell, as far as they are measured."""
        names = COMPARED if self.moves else (Measurand.FORCE_HELD,)
        pulls = (Measurand.MEAN_TENSION, Measurand.FORCE_HELD)
        found = [self.of(q) for q in names if q not in pulls or self.view.string]
        symbols = self.evidence is None
        return tuple(q for q in found if (q.name.predicted is q.name if symbols else q.summary))

    @staticmethod
    def blank(key: str) -> Symbol:
        """A symbol for what everybody finds out at the bench."""
        return symbol(key, key)

    # ---- values in words: with its uncertainty; where it ends, u not shown; as an interval

    with_u = _to_figures(say.amount)
    shown = _to_figures(say.shown)
    interval = _to_figures(say.interval)
    u = staticmethod(say.size)
    unbroken = staticmethod(say.unbroken)
    digits = staticmethod(to_figures)
    lost_in_rounding = staticmethod(lost_in_rounding)

    def in_cell(self, outcome: Outcome, unit: str) -> str:
        """A value with its uncertainty for a narrow cell: a line may end before the ±."""
        return say.amount(outcome, unit, self.figures).replace("\u00a0±", " ±")

    # ---- equations and mistakes

    def result(self, left: Operand, right: Operand, unit: str = "") -> Equation:
        """An equation, with numbers where there is evidence."""
        shown = self.evidence is not None
        return Equation(left=as_expression(left), right=as_expression(right), numbers=shown)

    def wrong(self, of: Expression, formula: Expression) -> tuple[Expression, float | None] | None:
        """The formula and what comes out; None where it names what there isn't."""
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
    def columns(self) -> Sequence[Quantity]:
        """The quantities that the tables have columns for."""
        return [self.of(q) for q in letters() if q != Measurand.FORCE_HELD and self.values_of(q)]

    def values_of(self, quantity: str) -> int:
        """How many trials have a value of it."""
        return sum(quantity in trial.estimates for trial in self.analysis.trials)

    def lacking(self, trials: Collection[str]) -> Sequence[str]:
        """The trials that count but aren't among these; none where no single trial is."""
        counted = self.analysis.counted
        return [t.called for t in counted if trials and t.name not in trials]

    def alone_in(self, quantity: str) -> float:
        """The median of what single records say of their own uncertainty; 0 where they don't."""
        trials = [t for t in self.analysis.counted if t.run and quantity in t.estimates]
        return median([t.estimates[quantity].u or 0.0 for t in trials] or [0.0])

    @property
    def way(self) -> Way | None:
        """What leads from a final speed to an acceleration; None where it isn't shown."""
        gravity = Estimate(value=float(self.apparatus.gravity), u=0.0)
        shown = Measurand.ACCELERATION_FROM_SPEED in self.analysis.summary
        return way_of(self.scenario, gravity) if shown else None

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
        vague = [q for q, each in self.analysis.summary.items() if each.u is None]
        return listed([f"the {say.quantity_words(q)}" for q in vague])

    @property
    def far_off(self) -> Sequence[str]:
        """Trials that stand far off, each with the quantity in which it does."""
        off = [(name, q) for q, each in self.analysis.summary.items() for name in each.outliers]
        return [f"{self.called(name)} ({say.quantity_words(q)})" for name, q in off]

    def called(self, name: str) -> str:
        """A trial's name in a sentence, in which no line ends."""
        (trial,) = (each for each in self.analysis.trials if each.name == name)
        return self.unbroken(trial.called)

    @staticmethod
    def dof(summary: Summary) -> str:
        """Degrees of freedom; effective ones (JCGM 100:2008, G.4) are no whole number."""
        found = summary.dof
        if found >= VERY_MANY:
            return "very many"
        whole = abs(found - round(found)) < 0.05
        return to_places(found, 0) if whole else f"{to_places(found, 1)} effective"
