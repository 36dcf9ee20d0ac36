"""One measured quantity and its symbols: mean, uncertainty, prediction, difference, limit.

Without evidence the symbols have no values.
"""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from operator import attrgetter
from typing import NamedTuple

from fallwork.lesson.expression import Expression, Root, Symbol
from fallwork.lesson.measured.evidence import Evidence
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


class _About(NamedTuple):
    """A symbol that tells something about a quantity."""

    kind: str  # of its meaning, and in its id
    letter: str
    mark: str  # behind that of the quantity
    value: str  # whose value it has
    figures: int = FIGURES_OF_U
    unit: str | None = None  # None: that of the quantity


_SYMBOLS: Mapping[str, _About] = {
    # the standard deviation of the trials
    "deviation": _About("deviation", "s", "", "summary.standard_deviation"),
    # the standard uncertainty of their mean, and the factor for its interval
    "u": _About("u-meas", "u", ",meas", "summary.u"),
    "k": _About("factor", "k", ",meas", "summary.coverage_factor", FACTOR_FIGURES, ""),
    # the standard uncertainty of the difference from the prediction, its factor and its limit
    "u_difference": _About("u-diff", "u", ",diff", "comparison.difference.u"),
    "k_difference": _About(
        "factor-diff", "k", ",diff", "comparison.coverage_factor", FACTOR_FIGURES, ""
    ),
    "limit": _About("limit", "L", "", "comparison.limit"),
}


@dataclass(frozen=True)
class Quantity:
    """What is measured in each trial, e.g. the acceleration."""

    name: Measurand
    evidence: Evidence | None
    figures: int  # of results

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
    def summary(self) -> Summary | None:
        """What all trials together say of it."""
        return None if self.evidence is None else self.evidence.analysis.summary.get(self.name)

    @property
    def compared(self) -> QuantityComparison | None:
        """Measured against predicted."""
        judgement = None if self.evidence is None else self.evidence.judgement
        return None if judgement is None else judgement.comparison.quantities.get(self.name)

    @property
    def comparison(self) -> Comparison | None:
        """The same for all trials together."""
        return None if self.compared is None else self.compared.overall

    def __getattr__(self, name: str) -> Symbol:
        """One of the symbols that tell something about it."""
        if name not in _SYMBOLS:
            raise AttributeError(name)
        kind, letter, mark, whose, figures, unit = _SYMBOLS[name]
        source, _, path = whose.partition(".")
        found = self.summary if source == "summary" else self.comparison
        value = None if found is None else attrgetter(path)(found)
        return self._symbol(kind, letter, self._mark + mark, value, figures, unit)

    # ---- over all trials

    @property
    def mean(self) -> Symbol:
        """The mean of the trials."""
        return self._value("meas", None if self.summary is None else self.summary.outcome)

    @property
    def u_scatter(self) -> Symbol:
        """The standard uncertainty of the mean from the scatter alone."""
        if self.summary is None or not self.summary.effects:
            return self.u
        return self._symbol("u-scatter", "u", f"{self._mark},scatter", self.summary.u_random)

    @property
    def u_shared(self) -> Symbol:
        """What shifts all trials alike, taken together."""
        squares = [] if self.summary is None else [each.u**2 for each in self.summary.effects]
        return self._symbol("u-shared", "u", f"{self._mark},shared", sum(squares) ** 0.5)

    @property
    def low(self) -> Symbol:
        """The lower end of the interval of the mean."""
        return self._end("low", 0)

    @property
    def high(self) -> Symbol:
        """Its upper end."""
        return self._end("high", 1)

    def _end(self, kind: str, which: int) -> Symbol:
        summary = self.summary
        if summary is None or summary.interval_95 is None:
            return self._of(kind, None, self.figures)
        value = summary.interval_95[which]
        return self._of(kind, value, figures_for(value, ends_at(summary.outcome), self.figures))

    @property
    def n(self) -> Symbol:
        """How many trials there are."""
        n = None if self.summary is None else self.summary.n
        return Symbol(
            id="measured.number",
            letter="n",
            meaning=title("meanings.number"),
            unit="",
            value=None if n is None else float(n),
            written="" if n is None else str(n),
        )

    def single(self, found: Outcome | None) -> Symbol:
        """Its value in the trial that is worked through."""
        return self._value("trial", found)

    def in_trial(self, trial: Trial) -> Symbol:
        """Its value in another trial, to the place that a table shows."""
        value = trial.estimates[self.name].value
        last = ends_in_trial(trial, self.name, self.summary)
        return self._of("trial", value, figures_for(value, last, self.figures))

    def as_given(self, kind: str, mark: str, value: float) -> Symbol:
        """What the lab gives of it: the speed at the ``start``, the distance ``covered``."""
        return self._symbol(kind, LETTERS[self.name], mark, value, self.figures)

    # ---- against the model

    @property
    def predicted(self) -> Symbol:
        """The predicted value, with as many figures as the best known difference from it needs."""
        model, value = self._of_model, None if self._estimate is None else self._estimate.value
        same = [replace(self, name=each) for each in Measurand if each.predicted is model.name]
        ends = [ends_at(each.comparison.difference) for each in same if each.comparison is not None]
        figures = figures_for(value or 0.0, min(ends, default=0.0), self.figures)
        return model._of("pred", value, figures)

    @property
    def u_predicted(self) -> Symbol:
        """Its standard uncertainty."""
        model, value = self._of_model, None if self._estimate is None else self._estimate.u
        return model._symbol("u-pred", "u", f"{LETTERS[model.name]},pred", value)

    @property
    def difference(self) -> Symbol:
        """Measured minus predicted."""
        found, letter = self.comparison, f"Delta {LETTERS[self.name]}"
        value, figures = self._digits(None if found is None else found.difference)
        symbol = self._symbol("difference", letter, WAYS.get(self.name, ""), value, figures)
        if found is None:
            return symbol
        known = found.measured if found.difference.u is None else found.difference
        return replace(symbol, place=last_place(known))

    @property
    def u_common(self) -> Symbol:
        """What an error that both sides share does to them: the root of their covariance."""
        value = None if self.comparison is None else abs(self.comparison.covariance) ** 0.5
        return self._symbol("u-common", "u", f"{LETTERS[self.name]},common", value)

    @property
    def covary(self) -> int:
        """1 if errors that measured and predicted value share shift both the same way, −1 if the
        opposite way, 0 if they share none.
        """
        covariance = 0.0 if self.comparison is None else self.comparison.covariance
        return (covariance > 0) - (covariance < 0)

    @property
    def combined(self) -> Expression:
        """The uncertainty of the difference from both sides; what they share drops out of it."""
        common = signed(-self.covary, 2 * self.u_common**2) if self.covary else 0
        return Root(body=total([self.u**2, self.u_predicted**2, common]))

    @property
    def percent(self) -> Symbol:
        """The percent error: the difference in percent of the predicted value."""
        value = None if self.comparison is None else self.comparison.percent
        symbol = self._symbol("percent", "p", self._mark, value, unit="%")
        return as_its_share(symbol, self.difference)

    @property
    def share(self) -> Expression:
        """The difference over the size of the predicted value."""
        negative = (self.predicted.value or 0.0) < 0
        return signed(-1 if negative else 1, self.difference / self.predicted)

    # ---- how its symbols are made

    @property
    def _mark(self) -> str:
        """What stands in a subscript for it."""
        return ",".join(each for each in (LETTERS[self.name], WAYS.get(self.name)) if each)

    @property
    def _of_model(self) -> "Quantity":
        """That whose prediction this one is compared with."""
        return replace(self, name=self.name.predicted)

    @property
    def _estimate(self) -> Estimate | None:
        judgement = None if self.evidence is None else self.evidence.judgement
        estimates = {} if judgement is None else judgement.prediction.estimates
        return estimates.get(self.name.predicted)

    def _digits(self, outcome: Outcome | None) -> tuple[float | None, int]:
        """A value and its significant figures."""
        if outcome is None:
            return None, self.figures
        return outcome.value, figures_for(outcome.value, ends_at(outcome), self.figures)

    def _value(self, kind: str, outcome: Outcome | None) -> Symbol:
        return self._of(kind, *self._digits(outcome))

    def _of(self, kind: str, value: float | None, figures: int) -> Symbol:
        mark = ",".join(each for each in (WAYS.get(self.name), kind) if each)
        return self._symbol(kind, LETTERS[self.name], mark, value, figures)

    def _symbol(
        self,
        kind: str,
        letter: str,
        mark: str,
        value: float | None,
        figures: int = FIGURES_OF_U,
        unit: str | None = None,
    ) -> Symbol:
        return Symbol(
            id=f"measured.{kind}.{self.name}",
            letter=letter,
            subscript=mark,
            meaning=title(f"meanings.{kind}", quantity=self.words),
            unit=self.unit if unit is None else unit,
            value=value,
            figures=figures,
        )
