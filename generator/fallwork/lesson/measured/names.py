"""The symbols of measured values: means, trials, uncertainties, differences, limits.

Takes the facts of a set-up and the evidence, if there is any; gives the same symbol for the same
quantity wherever a step asks for it. Without evidence symbols have no values.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace

from fallwork.lesson.expression import Symbol
from fallwork.lesson.measured.evidence import Evidence, Judgement
from fallwork.lesson.measured.words import (
    FIGURES_OF_U,
    UNITS,
    ends_at,
    ends_in_trial,
    figures_for,
    last_place,
    quantity_words,
    title,
)
from fallwork.measurement.comparison import Comparison
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


def _mark(quantity: str) -> str:
    """What stands in a subscript for a quantity."""
    return ",".join(each for each in (LETTERS[quantity], WAYS.get(quantity)) if each)


@dataclass(frozen=True)
class MeasuredNames:
    """Every symbol of the steps about measuring."""

    evidence: Evidence | None
    figures: int  # of results

    # ---- one quantity over all trials

    def mean(self, quantity: str) -> Symbol:
        """The mean of the trials."""
        summary = self._summary(quantity)
        outcome = None if summary is None else summary.outcome
        return self._of(quantity, "meas", *self._digits(outcome))

    def deviation(self, quantity: str) -> Symbol:
        """The standard deviation of the trials."""
        value = self._summed(quantity, lambda summary: summary.standard_deviation)
        return self._about(quantity, "deviation", "s", _mark(quantity), value, FIGURES_OF_U)

    def u_scatter(self, quantity: str) -> Symbol:
        """The standard uncertainty of the mean from the scatter alone."""
        summary = self._summary(quantity)
        if summary is None or not summary.effects:
            return self.u(quantity)
        value = summary.u_random
        mark = f"{_mark(quantity)},scatter"
        return self._about(quantity, "u-scatter", "u", mark, value, FIGURES_OF_U)

    def u_shared(self, quantity: str, value: float) -> Symbol:
        """What shifts all trials alike, taken together."""
        mark = f"{_mark(quantity)},shared"
        return self._about(quantity, "u-shared", "u", mark, value, FIGURES_OF_U)

    def u(self, quantity: str) -> Symbol:
        """The standard uncertainty of the mean."""
        value = self._summed(quantity, lambda summary: summary.u)
        return self._about(quantity, "u-meas", "u", f"{_mark(quantity)},meas", value, FIGURES_OF_U)

    def factor(self, quantity: str) -> Symbol:
        """The coverage factor of the mean's interval."""
        value = self._summed(quantity, lambda summary: summary.coverage_factor)
        mark = f"{_mark(quantity)},meas"
        return self._about(quantity, "factor", "k", mark, value, FACTOR_FIGURES, unit="")

    def end(self, quantity: str, which: str) -> Symbol:
        """One end of the interval: ``low`` or ``high``."""
        summary = self._summary(quantity)
        ends = None if summary is None else summary.interval_95
        if summary is None or ends is None:
            return self._of(quantity, which, None, self.figures)
        value = ends[which == "high"]
        figures = figures_for(value, ends_at(summary.outcome), self.figures)
        return self._of(quantity, which, value, figures)

    def number(self, quantity: str) -> Symbol:
        """How many trials there are."""
        summary = self._summary(quantity)
        return Symbol(
            id="measured.number",
            letter="n",
            meaning=title("meanings.number"),
            unit="",
            value=None if summary is None or summary.n is None else float(summary.n),
            written="" if summary is None or summary.n is None else str(summary.n),
        )

    # ---- the trial that is worked through

    def single(self, quantity: str) -> Symbol:
        """A value of that trial."""
        return self._of(quantity, "trial", *self._digits(self._estimate(quantity)))

    def in_trial(self, trial: Trial, quantity: str) -> Symbol:
        """A value of another trial that an example is worked for."""
        value = trial.estimates[quantity].value
        last = ends_in_trial(trial, quantity, self._summary(quantity))
        return self._of(quantity, "trial", value, figures_for(value, last, self.figures))

    def given_start(self, value: float) -> Symbol:
        """The given speed of the watched object at the start of the run, m/s."""
        return self._about(Measurand.FINAL_SPEED, "start", "v", "0", value, self.figures)

    def covered(self, value: float) -> Symbol:
        """The given distance of a run that nothing but its distance ends, m."""
        return self._about(Measurand.DISTANCE, "covered", "d", "given", value, self.figures)

    def moment(self, which: str, value: float | None, written: str = "") -> Symbol:
        """A time on that trial's clock: of a point of the line, of release or landing."""
        letters = {"time-X": "X", "time-Y": "Y", "release": "rel", "landing": "end", "held": "held"}
        estimate = self._estimate(Measurand.TRAVEL_TIME)
        u = 0.0 if estimate is None else ends_at(estimate)
        return Symbol(
            id=f"measured.{which}",
            letter="t",
            subscript=letters[which],
            meaning=title(f"meanings.{which}"),
            unit="s",
            value=value,
            written=written,
            figures=figures_for(value or 0.0, u, self.figures),
        )

    def speed_at(self, which: str, value: float | None) -> Symbol:
        """The velocity of a point of the line."""
        estimate = self._estimate(Measurand.FINAL_SPEED)
        u = 0.0 if estimate is None else ends_at(estimate)
        return Symbol(
            id=f"measured.speed-{which}",
            letter="v",
            subscript=which,
            meaning=title(f"meanings.speed-{which}"),
            unit="m/s",
            value=value,
            figures=figures_for(value or 0.0, u, self.figures),
        )

    # ---- at the bench

    @property
    def zero(self) -> Symbol:
        """The reading of the force sensor with nothing pulling it."""
        return Symbol(
            id="measured.zero",
            letter="F",
            subscript="zero",
            meaning=title("meanings.zero"),
            unit="N",
        )

    @property
    def unweighed(self) -> Symbol:
        """What was left off the scale."""
        return Symbol(
            id="measured.unweighed",
            letter="m",
            subscript="off",
            meaning=title("meanings.unweighed"),
            unit="kg",
        )

    # ---- against the model

    def predicted(self, quantity: str) -> Symbol:
        """The predicted value."""
        quantity = Measurand(quantity).predicted
        estimate = self._predicted(quantity)
        value = None if estimate is None else estimate.value
        return self._of(quantity, "pred", value, self._compared_figures(quantity, value))

    def u_predicted(self, quantity: str) -> Symbol:
        """Its standard uncertainty."""
        quantity = Measurand(quantity).predicted
        estimate = self._predicted(quantity)
        value = None if estimate is None else estimate.u
        return self._about(
            quantity, "u-pred", "u", f"{LETTERS[quantity]},pred", value, FIGURES_OF_U
        )

    def difference(self, quantity: str) -> Symbol:
        """Measured minus predicted."""
        found = self._compared(quantity)
        value = None if found is None else found.difference.value
        symbol = self._about(
            quantity,
            "difference",
            f"Delta {LETTERS[quantity]}",
            WAYS.get(quantity, ""),
            value,
            self.figures if found is None else self._digits(found.difference)[1],
        )
        if found is None:
            return symbol
        known = found.measured if found.difference.u is None else found.difference
        return replace(symbol, place=last_place(known))

    def u_difference(self, quantity: str) -> Symbol:
        """The standard uncertainty of the difference."""
        found = self._compared(quantity)
        value = None if found is None else found.difference.u
        return self._about(quantity, "u-diff", "u", f"{_mark(quantity)},diff", value, FIGURES_OF_U)

    def u_common(self, quantity: str) -> Symbol:
        """What an error that both sides share does to them: the root of their covariance."""
        found = self._compared(quantity)
        value = None if found is None else abs(found.covariance) ** 0.5
        return self._about(
            quantity, "u-common", "u", f"{LETTERS[quantity]},common", value, FIGURES_OF_U
        )

    def covary(self, quantity: str) -> int:
        """1 if errors that measured and predicted value share shift both the same way, −1 if the
        opposite way, 0 if they share none.
        """
        found = self._compared(quantity)
        covariance = 0.0 if found is None else found.covariance
        return (covariance > 0) - (covariance < 0)

    def factor_of_difference(self, quantity: str) -> Symbol:
        """The coverage factor of the difference."""
        found = self._compared(quantity)
        value = None if found is None else found.coverage_factor
        mark = f"{_mark(quantity)},diff"
        return self._about(quantity, "factor-diff", "k", mark, value, FACTOR_FIGURES, unit="")

    def limit(self, quantity: str) -> Symbol:
        """The largest difference that still agrees."""
        found = self._compared(quantity)
        value = None if found is None else found.limit
        return self._about(quantity, "limit", "L", _mark(quantity), value, FIGURES_OF_U)

    def percent(self, quantity: str) -> Symbol:
        """The percent error: the difference in percent of the predicted value."""
        found = self._compared(quantity)
        value = None if found is None else found.percent
        return self._about(quantity, "percent", "p", _mark(quantity), value, FIGURES_OF_U, unit="%")

    # ---- helpers

    @property
    def judgement(self) -> Judgement | None:
        """The trials against the model, where the page may show it."""
        return None if self.evidence is None else self.evidence.judgement

    def _summed(self, quantity: str, get: Callable[[Summary], float | None]) -> float | None:
        summary = self._summary(quantity)
        return None if summary is None else get(summary)

    def _summary(self, quantity: str) -> Summary | None:
        return None if self.evidence is None else self.evidence.analysis.summary.get(quantity)

    def _estimate(self, quantity: str) -> Outcome | None:
        worked = None if self.evidence is None else self.evidence.worked
        return None if worked is None else worked.estimates.get(quantity)

    def _predicted(self, quantity: str) -> Estimate | None:
        return None if self.judgement is None else self.judgement.prediction.estimates.get(quantity)

    def _compared(self, quantity: str) -> Comparison | None:
        found = None if self.judgement is None else self.judgement.comparison.quantities
        return found[quantity].overall if found and quantity in found else None

    def _compared_figures(self, quantity: Measurand, value: float | None) -> int:
        """Of a predicted value: as many as the best known difference from it needs."""
        same = [self._compared(other) for other in Measurand if other.predicted is quantity]
        ends = [ends_at(found.difference) for found in same if found is not None]
        return figures_for(value or 0.0, min(ends, default=0.0), self.figures)

    def _digits(self, outcome: Outcome | None) -> tuple[float | None, int]:
        """A value and its significant figures."""
        if outcome is None:
            return None, self.figures
        return outcome.value, figures_for(outcome.value, ends_at(outcome), self.figures)

    def _of(self, quantity: str, kind: str, value: float | None, figures: int) -> Symbol:
        mark = ",".join(each for each in (WAYS.get(quantity), kind) if each)
        return self._about(quantity, kind, LETTERS[quantity], mark, value, figures)

    def _about(
        self,
        quantity: str,
        kind: str,
        letter: str,
        mark: str,
        value: float | None,
        figures: int,
        *,
        unit: str | None = None,
    ) -> Symbol:
        return Symbol(
            id=f"measured.{kind}.{quantity}",
            letter=letter,
            subscript=mark,
            meaning=title(f"meanings.{kind}", quantity=quantity_words(quantity)),
            unit=UNITS[quantity] if unit is None else unit,
            value=value,
            figures=figures,
        )
