"""What a step builder about measuring is handed: the set-up, and the trials if there are any."""

from collections.abc import Iterable
from dataclasses import dataclass
from functools import cached_property

from fallwork.lesson.context import Context
from fallwork.lesson.document import Block, Equation, Paragraph, Step, Table, Text, Working
from fallwork.lesson.expression import Expression, Operand, as_expression
from fallwork.lesson.measured.evidence import Evidence
from fallwork.lesson.measured.facts import Facts
from fallwork.lesson.measured.names import MeasuredNames
from fallwork.lesson.measured.words import (
    UNITS,
    amount,
    quantity_words,
    say,
    shown,
    size,
    text_list,
    title,
    to_place_of,
)
from fallwork.lesson.words import Part
from fallwork.measurement.comparison import COMPARED
from fallwork.measurement.model import Measurand, Outcome, Summary
from fallwork.scenario.nouns import Nouns


@dataclass(frozen=True)
class Measuring:
    """One set-up with what was measured of it; without evidence in symbols only."""

    context: Context
    evidence: Evidence | None = None

    @property
    def nouns(self) -> Nouns:
        """What the objects are called."""
        return self.context.setting.scenario.nouns

    @cached_property
    def facts(self) -> Facts:
        """The set-up as it is seen at the bench."""
        return Facts(self.context)

    @property
    def figures(self) -> int:
        """Significant figures of results."""
        return self.context.setting.figures

    @cached_property
    def names(self) -> MeasuredNames:
        """The symbols of measured values."""
        return MeasuredNames(self.evidence, self.figures)

    @property
    def trials(self) -> Evidence:
        """The evidence; only where there is one."""
        assert self.evidence is not None  # asked for by steps that show numbers
        return self.evidence

    def summary(self, quantity: str) -> Summary | None:
        """All trials together, of one quantity."""
        return None if self.evidence is None else self.evidence.analysis.summary.get(quantity)

    @property
    def featured(self) -> tuple[Measurand, ...]:
        """The quantities on which the pages dwell, as far as they are measured."""
        found = [q for q in COMPARED if q is not Measurand.MEAN_TENSION or self.facts.has_force]
        if self.evidence is None:
            return tuple(quantity for quantity in found if quantity.predicted is quantity)
        return tuple(quantity for quantity in found if quantity in self.evidence.analysis.summary)

    @property
    def judged(self) -> Measurand:
        """The first of these that can be judged, to show the rule with."""
        found = {} if self.evidence is None else self.evidence.analysis.summary
        known = [q for q in self.featured if q not in found or found[q].u is not None]
        return next(iter((*known, *self.featured)), Measurand.MEAN_TENSION)

    @property
    def scattered(self) -> Measurand | None:
        """The first of these whose scatter the trials show."""
        for quantity in self.featured:
            summary = self.summary(quantity)
            if (
                summary is not None
                and summary.standard_deviation is not None
                and self.has_trials(quantity)
            ):
                return quantity
        return None

    def has_trials(self, quantity: str) -> bool:
        """Whether single values of it are to hand, and not a mean alone."""
        trials = () if self.evidence is None else self.evidence.analysis.trials
        return any(quantity in trial.estimates for trial in trials)

    @property
    def unscattered(self) -> str:
        """What is measured without any known uncertainty, in words; empty if nothing is."""
        found = {} if self.evidence is None else self.evidence.analysis.summary
        names = [f"the {quantity_words(q)}" for q, summary in found.items() if summary.u is None]
        return text_list(names)

    def say(self, key: str, **parts: Part) -> Text:
        """A sentence with the objects of this set-up put in."""
        return say(key, **{**self.facts.words, **parts})

    def title(self, key: str, **parts: str) -> str:
        """A title with the objects of this set-up put in."""
        words = {name: part for name, part in self.facts.words.items() if isinstance(part, str)}
        return title(key, **{**words, **parts})

    def paragraph(self, key: str, **parts: Part) -> Paragraph:
        """The same as a block."""
        return Paragraph(text=self.say(key, **parts))

    def amount(self, outcome: Outcome, quantity: str) -> str:
        """A measured value with uncertainty and unit."""
        return amount(outcome, UNITS[quantity], self.figures)

    def shown(self, outcome: Outcome, unit: str = "") -> str:
        """A value that ends where it has to, its uncertainty not shown."""
        return shown(outcome, unit, self.figures)

    def to_place(self, value: float, u: float, unit: str) -> str:
        """A value that ends where its uncertainty does, without it."""
        return to_place_of(value, u, unit, self.figures)

    def amount_of_u(self, u: float | None, quantity: str) -> str:
        """An uncertainty alone, with its unit."""
        return size(u, UNITS[quantity])

    def step(
        self,
        key: str,
        blocks: Iterable[Block],
        *,
        step_id: str = "",
        idea: str = "idea",
        heading: str = "title",
        short: str = "",
        **parts: str,
    ) -> Step:
        """A step whose title and idea stand under ``key``; its id is the key if none is given."""
        name = step_id or key
        return Step(
            id=name,
            topic=key,
            title=self.title(f"{key}.{heading}", **parts),
            short=short,
            idea=self.say(f"{key}.{idea}", **parts),
            blocks=tuple(blocks),
        )

    def result(self, left: Operand, right: Expression, *, numbers: bool | None = None) -> Equation:
        """An equation; with numbers where there is evidence, or as told."""
        shown = self.evidence is not None if numbers is None else numbers
        return Equation(left=as_expression(left), right=right, numbers=shown)


def working(*equations: Equation) -> Working:
    """Equations below one another."""
    return Working(equations=equations)


def table(caption: str, head: Iterable[Text], rows: Iterable[tuple[Text, ...]]) -> Table:
    """A table; the first column heads the rows."""
    return Table(caption=caption, head=tuple(head), rows=tuple(rows))
