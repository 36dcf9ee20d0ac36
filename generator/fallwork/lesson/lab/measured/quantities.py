"""One measured quantity and its symbols: mean, uncertainty, prediction, difference, limit.

Without evidence the symbols have no values.
"""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from operator import attrgetter
from typing import Any, NamedTuple

from fallwork.lesson.expression import Expression, Root, Symbol
from fallwork.lesson.measured.words import (
    FIGURES_OF_U,
    UNITS,
    as_its_share,
    ends_at,
    ends_in_trial,
    figures_for,
    last_place,
    quantity_words,
    title,
)
from fallwork.lesson.trees import signed, total
from fallwork.lesson.words import upper_first
from fallwork.measurement.comparison import Comparison, QuantityComparison
from fallwork.measurement.model import Estimate, Measurand, Outcome, Summary, Trial

LETTERS: Mapping[str, str] = {  # the others stand in tables only
    Measurand.ACCELERATION: "a",
    Measurand.ACCELERATION_FROM_SPEED: "a",
    Measurand.FINAL_SPEED: "v",
    Measurand.TRAVEL_TIME: "t",
    Measurand.DISTANCE: "d",
    Measurand.MEAN_TENSION: "T",
    Measurand.FORCE_HELD: "T",
    Measurand.WORK_OF_TENSION: "W",
}
WAYS: Mapping[str, str] = {Measurand.ACCELERATION_FROM_SPEED: "v"}  # marks beside a letter
FACTOR_FIGURES = 3


class About(NamedTuple):
    """What a symbol tells of a quantity, or of a system's energy balance."""

    kind: str  # of its meaning, and in its id
    letter: str
    mark: str  # behind that of the quantity
    value: str  # whose value it has
    figures: int = FIGURES_OF_U  # 0: those of results
    unit: str | None = None  # None: that of the quantity


_SYMBOLS: Mapping[str, About] = {
    # the mean of the trials
    "mean": About("meas", "", "", "summary.outcome", 0),
    # the standard deviation of the trials
    "deviation": About("deviation", "s", "", "summary.standard_deviation"),
    # the standard uncertainty of their mean, and the factor for its interval
    "u": About("u-meas", "u", "meas", "summary.u"),
    "k": About("factor", "k", "meas", "summary.coverage_factor", FACTOR_FIGURES, ""),
    # that uncertainty from the scatter alone
    "u_random": About("u-scatter", "u", "scatter", "summary.u_random"),
    # the standard uncertainty of the difference from the prediction, its factor and its limit
    "u_difference": About("u-diff", "u", "diff", "comparison.difference.u"),
    "k_difference": About(
        "factor-diff", "k", "diff", "comparison.coverage_factor", FACTOR_FIGURES, ""
    ),
    "limit": About("limit", "L", "", "comparison.limit"),
}


def symbol(
    id_: str,
    kind: str,
    letter: str,
    marks: tuple[str, ...],
    unit: str,
    value: float | Outcome | None = None,
    figures: int | None = FIGURES_OF_U,
    **words: str,
) -> Symbol:
    """A symbol of the measured pages: the meaning of its ``kind`` stands in the text file.

    ``figures`` of a value that is an outcome: where it has no uncertainty.
    """
    if isinstance(value, Outcome):
        figures, value = figures_for(value.value, ends_at(value), figures or 1), value.value
    return Symbol(
        id=f"measured.{id_}",
        letter=letter,
        subscript=",".join(filter(None, marks)),
        meaning=title(f"meanings.{kind}", **words),
        unit=unit,
        value=value,
        figures=figures,
    )


@dataclass(frozen=True)
class Quantity:
    """What is measured in each trial, e.g. the acceleration."""

    name: Measurand
    figures: int  # of results
    summary: Summary | None = None  # what all trials together say of it
    compared: QuantityComparison | None = None  # measured against predicted
    expected: Estimate | None = None  # as predicted
    best: float = 0.0  # the smallest uncertainty of a difference from that

    @property
    def words(self) -> str:
        """What it is called in a sentence."""
        return quantity_words(self.name)

    @property
    def unit(self) -> str:
        """In which it is given."""
        return UNITS[self.name]

    @property
    def column(self) -> str:
        """The head of its column in a table."""
        return f"{upper_first(self.words)} in {self.unit}"

    @property
    def comparison(self) -> Comparison | None:
        """Measured against predicted, all trials together."""
        return None if self.compared is None else self.compared.overall

    # ---- its symbols

    def __getattr__(self, name: str) -> Symbol:
        """One of the symbols that tell something about it."""
        if name not in _SYMBOLS:
            raise AttributeError(name)
        kind, letter, mark, way, figures, unit = _SYMBOLS[name]
        return self._symbol(
            kind, self._at(way), letter=letter, mark=mark, figures=figures, unit=unit
        )

    def _at(self, way: str) -> Any:
        """What the way leads to, e.g. ``summary.u``; None where it begins with nothing."""
        whose, _, path = way.partition(".")
        found = getattr(self, whose)
        return None if found is None else attrgetter(path)(found)

    def _symbol(
        self,
        kind: str,
        value: float | Outcome | None,
        *,
        letter: str = "",
        mark: str = "",
        figures: int = 0,
        unit: str | None = None,
    ) -> Symbol:
        """With a ``letter`` of its own, or with that of the quantity and a mark; ``figures`` where
        not two, or those of results.
        """
        own, way = LETTERS[self.name], WAYS.get(self.name, "")
        return symbol(
            f"{kind}.{self.name}",
            kind,
            letter or own,
            (own, way, mark) if letter else (way, mark or kind),
            self.unit if unit is None else unit,
            value,
            figures or (FIGURES_OF_U if letter else self.figures),
            quantity=self.words,
        )

    @property
    def u_scatter(self) -> Symbol:
        """The standard uncertainty of the mean from the scatter alone."""
        alike = self.summary is None or not self.summary.effects
        return self.u if alike else self.u_random

    @property
    def u_shared(self) -> Symbol:
        """What shifts all trials alike, taken together."""
        squares = [] if self.summary is None else [each.u**2 for each in self.summary.effects]
        return self._symbol("u-shared", sum(squares) ** 0.5, letter="u", mark="shared")

    @property
    def n(self) -> Symbol:
        """How many trials there are."""
        n = self._at("summary.n")
        found = symbol("number", "number", "n", (), "", n and float(n), None)
        return replace(found, written=str(n or ""))

    def end(self, kind: str) -> Symbol:
        """The ``low`` or the ``high`` end of the interval of the mean."""
        if self.summary is None or self.summary.interval_95 is None:
            return self._symbol(kind, None)
        value = self.summary.interval_95[kind == "high"]
        return self._symbol(kind, replace(self.summary.outcome, value=value))

    def single(self, found: Outcome | None) -> Symbol:
        """Its value in the trial that is worked through."""
        return self._symbol("trial", found)

    def in_trial(self, trial: Trial) -> Symbol:
        """Its value in another trial, to the place that a table shows."""
        last = ends_in_trial(trial, self.name, self.summary)
        return self.single(Outcome(value=trial.estimates[self.name].value, u=last))

    def as_given(self, kind: str, mark: str, value: float) -> Symbol:
        """What the lab gives of it: the speed at the ``start``, the distance ``covered``."""
        return replace(self._symbol(kind, value), subscript=mark)

    # ---- against the model

    @property
    def model(self) -> "Quantity":
        """That whose prediction this one is compared with."""
        return replace(self, name=self.name.predicted)

    @property
    def predicted(self) -> Symbol:
        """The predicted value, with as many figures as the best known difference from it needs."""
        value = self.expected and Outcome(value=self.expected.value, u=self.best)
        return self.model._symbol("pred", value)

    @property
    def u_predicted(self) -> Symbol:
        """Its standard uncertainty."""
        value = self._at("expected.u")
        return self.model._symbol("u-pred", value, letter="u", mark="pred")

    @property
    def difference(self) -> Symbol:
        """Measured minus predicted."""
        found = self.comparison
        made = self._symbol("difference", self._at("comparison.difference"))
        made = replace(made, letter=f"Delta {made.letter}", subscript=WAYS.get(self.name, ""))
        if found is None:
            return made
        known = found.measured if found.difference.u is None else found.difference
        return replace(made, place=last_place(known))

    @property
    def _covariance(self) -> float:
        return 0.0 if self.comparison is None else self.comparison.covariance

    @property
    def u_common(self) -> Symbol:
        """What an error that both sides share does to them: the root of their covariance."""
        return self._symbol("u-common", abs(self._covariance) ** 0.5, letter="u", mark="common")

    @property
    def combined(self) -> Expression:
        """The uncertainty of the difference from both sides; what they share drops out of it where
        it shifts both the same way.
        """
        squares = [self.u**2, self.u_predicted**2]
        if self._covariance:
            squares.append(signed(-1 if self._covariance > 0 else 1, 2 * self.u_common**2))
        return Root(body=total(squares))

    @property
    def percent(self) -> Symbol:
        """The percent error: the difference in percent of the predicted value."""
        found = self._at("comparison.percent")
        share = self._symbol("percent", found, letter="p", unit="%")
        return as_its_share(share, self.difference)
