"""One measured quantity and its symbols: mean, uncertainty, prediction, difference, limit.

Without evidence the symbols have no values.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace

from fallwork.lesson.expression import Expression, Root, Symbol, as_expression
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
    Measurand.WORK_OF_TENSION: "W",
}
WAYS: Mapping[str, str] = {Measurand.ACCELERATION_FROM_SPEED: "v"}  # marks beside a letter
FACTOR_FIGURES = 3


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

    # ---- over all trials

    @property
    def mean(self) -> Expression:
        """The mean of the trials."""
        return self._value("meas", None if self.summary is None else self.summary.outcome)

    @property
    def deviation(self) -> Expression:
        """The standard deviation of the trials."""
        value = self._summed(lambda summary: summary.standard_deviation)
        return self._about("deviation", "s", self._mark, value)

    @property
    def u_scatter(self) -> Expression:
        """The standard uncertainty of the mean from the scatter alone."""
        if self.summary is None or not self.summary.effects:
            return self.u
        value = self.summary.u_random
        return self._about("u-scatter", "u", f"{self._mark},scatter", value)

    @property
    def u_shared(self) -> Expression:
        """What shifts all trials alike, taken together."""
        squares = [] if self.summary is None else [each.u**2 for each in self.summary.effects]
        return self._about("u-shared", "u", f"{self._mark},shared", sum(squares) ** 0.5)

    @property
    def u(self) -> Expression:
        """The standard uncertainty of the mean."""
        value = self._summed(lambda summary: summary.u)
        return self._about("u-meas", "u", f"{self._mark},meas", value)

    @property
    def k(self) -> Expression:
        """The coverage factor of the mean's interval."""
        value = self._summed(lambda summary: summary.coverage_factor)
        return self._factor("factor", f"{self._mark},meas", value)

    @property
    def low(self) -> Expression:
        """The lower end of that interval."""
        return self._end("low", 0)

    @property
    def high(self) -> Expression:
        """Its upper end."""
        return self._end("high", 1)

    def _end(self, kind: str, which: int) -> Expression:
        summary = self.summary
        if summary is None or summary.interval_95 is None:
            return self._of(kind, None, self.figures)
        value = summary.interval_95[which]
        return self._of(kind, value, figures_for(value, ends_at(summary.outcome), self.figures))

    @property
    def n(self) -> Expression:
        """How many trials there are."""
        n = self._summed(lambda summary: summary.n)
        return as_expression(
            Symbol(
                id="measured.number",
                letter="n",
                meaning=title("meanings.number"),
                unit="",
                value=None if n is None else float(n),
                written="" if n is None else str(n),
            )
        )

    def single(self, found: Outcome | None) -> Expression:
        """Its value in the trial that an example is worked for."""
        return self._value("trial", found)

    def in_trial(self, trial: Trial) -> Expression:
        """Its value in another trial, to the place that a table shows."""
        value, last = (
            trial.estimates[self.name].value,
            ends_in_trial(trial, self.name, self.summary),
        )
        return self._of("trial", value, figures_for(value, last, self.figures))

    def as_given(self, kind: str, mark: str, value: float) -> Expression:
        """What the lab gives of it: the speed at the ``start``, the distance ``covered``."""
        return self._about(kind, LETTERS[self.name], mark, value, self.figures)

    # ---- against the model

    @property
    def predicted(self) -> Expression:
        """The predicted value."""
        model, estimate = self._of_model, self._estimate
        value = None if estimate is None else estimate.value
        return model._of("pred", value, model._compared_figures(value))

    @property
    def u_predicted(self) -> Expression:
        """Its standard uncertainty."""
        model, estimate = self._of_model, self._estimate
        value = None if estimate is None else estimate.u
        return model._about("u-pred", "u", f"{LETTERS[model.name]},pred", value)

    @property
    def compared(self) -> QuantityComparison | None:
        """Measured against predicted."""
        judgement = None if self.evidence is None else self.evidence.judgement
        return None if judgement is None else judgement.comparison.quantities.get(self.name)

    @property
    def comparison(self) -> Comparison | None:
        """The same for all trials together."""
        return None if self.compared is None else self.compared.overall

    @property
    def difference(self) -> Expression:
        """Measured minus predicted."""
        found = self.comparison
        value, figures = self._digits(None if found is None else found.difference)
        symbol = self._symbol(
            "difference", f"Delta {LETTERS[self.name]}", WAYS.get(self.name, ""), value, figures
        )
        if found is None:
            return as_expression(symbol)
        known = found.measured if found.difference.u is None else found.difference
        return as_expression(replace(symbol, place=last_place(known)))

    @property
    def u_difference(self) -> Expression:
        """The standard uncertainty of the difference."""
        value = self._compared(lambda found: found.difference.u)
        return self._about("u-diff", "u", f"{self._mark},diff", value)

    @property
    def u_common(self) -> Expression:
        """What an error that both sides share does to them: the root of their covariance."""
        value = self._compared(lambda found: abs(found.covariance) ** 0.5)
        return self._about("u-common", "u", f"{LETTERS[self.name]},common", value)

    @property
    def covary(self) -> int:
        """1 if errors that measured and predicted value share shift both the same way, −1 if the
        opposite way, 0 if they share none.
        """
        covariance = self._compared(lambda found: found.covariance) or 0.0
        return (covariance > 0) - (covariance < 0)

    @property
    def combined(self) -> Expression:
        """The same from both sides; what they have in common drops out of it."""
        common = signed(-self.covary, 2 * self.u_common**2) if self.covary else 0
        return Root(body=total([self.u**2, self.u_predicted**2, common]))

    @property
    def k_difference(self) -> Expression:
        """The coverage factor of the difference."""
        value = self._compared(lambda found: found.coverage_factor)
        return self._factor("factor-diff", f"{self._mark},diff", value)

    @property
    def limit(self) -> Expression:
        """The largest difference that still agrees."""
        return self._about("limit", "L", self._mark, self._compared(lambda found: found.limit))

    @property
    def percent(self) -> Expression:
        """The percent error: the difference in percent of the predicted value."""
        value = self._compared(lambda found: found.percent)
        symbol = self._symbol("percent", "p", self._mark, value, FIGURES_OF_U, "%")
        return as_its_share(symbol, self.difference)

    @property
    def share(self) -> Expression:
        """The difference over the size of the predicted value."""
        negative = (self.predicted.symbol.value or 0.0) < 0  # type: ignore[attr-defined]
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
        return (
            None if judgement is None else judgement.prediction.estimates.get(self.name.predicted)
        )

    def _compared_figures(self, value: float | None) -> int:
        """Of a predicted value: as many as the best known difference from it needs."""
        same = [replace(self, name=each) for each in Measurand if each.predicted is self.name]
        ends = [ends_at(each.comparison.difference) for each in same if each.comparison is not None]
        return figures_for(value or 0.0, min(ends, default=0.0), self.figures)

    def _summed(self, get: Callable[[Summary], float | None]) -> float | None:
        return None if self.summary is None else get(self.summary)

    def _compared(self, get: Callable[[Comparison], float | None]) -> float | None:
        return None if self.comparison is None else get(self.comparison)

    def _digits(self, outcome: Outcome | None) -> tuple[float | None, int]:
        """A value and its significant figures."""
        if outcome is None:
            return None, self.figures
        return outcome.value, figures_for(outcome.value, ends_at(outcome), self.figures)

    def _value(self, kind: str, outcome: Outcome | None) -> Expression:
        return self._of(kind, *self._digits(outcome))

    def _of(self, kind: str, value: float | None, figures: int) -> Expression:
        mark = ",".join(each for each in (WAYS.get(self.name), kind) if each)
        return self._about(kind, LETTERS[self.name], mark, value, figures)

    def _factor(self, kind: str, mark: str, value: float | None) -> Expression:
        return self._about(kind, "k", mark, value, FACTOR_FIGURES, unit="")

    def _about(
        self,
        kind: str,
        letter: str,
        mark: str,
        value: float | None,
        figures: int = FIGURES_OF_U,
        *,
        unit: str | None = None,
    ) -> Expression:
        return as_expression(self._symbol(kind, letter, mark, value, figures, unit))

    def _symbol(
        self,
        kind: str,
        letter: str,
        mark: str,
        value: float | None,
        figures: int,
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
