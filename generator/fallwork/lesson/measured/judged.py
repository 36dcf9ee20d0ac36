"""What the steps about prediction, comparison and difference ask: how uncertain both sides are,
where energy went, what can't be, what is told apart, and what neglected influences would do.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from functools import cached_property
from math import degrees

from fallwork.lesson.expression import Symbol
from fallwork.lesson.measured import words as say
from fallwork.lesson.measured.quantities import Quantity, symbol
from fallwork.lesson.measured.trials import Trials
from fallwork.lesson.printer import plain_unit
from fallwork.lesson.rounding import to_figures
from fallwork.lesson.words import texts
from fallwork.measurement.discrepancy import Balance, Discrepancy, Impossible
from fallwork.measurement.influences import Influence
from fallwork.measurement.model import Measurand, Outcome
from fallwork.measurement.prediction import Predicted, quantities_of
from fallwork.measurement.separation import Separation, Unknown
from fallwork.measurement.statistics import Verdict
from fallwork.scenario.quantity import as_written, in_print
from fallwork.scenario.report import listed

NEGATIVE: Mapping[str, Impossible] = {  # what it means if a loss is negative
    "pulled": Impossible.TENSION_TOO_SMALL,
    "all": Impossible.ENERGY_GAINED,
    "rest": Impossible.TENSION_TOO_LARGE,
}
SHOWN = {"rad": (degrees(1.0), "°"), "kg": (1000.0, "g"), "kg/m": (1000.0, "g/m")}  # from SI


class Judged(Trials):
    """Measured against predicted, and what the difference says."""

    # ---- the prediction

    @cached_property
    def foretold(self) -> Sequence[tuple[Quantity, Predicted]]:
        """What is predicted and measured, or dwelt on."""
        shown = [*self.analysis.summary, *(each.name for each in self.featured)]
        every = self.judgement.prediction.quantities.items()
        return [(self.of(name), each) for name, each in every if name in shown]

    @cached_property
    def budgets(self) -> Sequence[tuple[Quantity, Predicted]]:
        """The predictions that are compared and uncertain."""
        predicted = self.judgement.prediction.quantities
        names = dict.fromkeys(each.name.predicted for each in self.compared)
        return [(self.of(name), predicted[name]) for name in names if predicted[name].linear.u > 0]

    @property
    def inputs(self) -> Mapping[str, tuple[str, str]]:
        """The given values behind them by their paths: in words, and as their author wrote them."""
        nouns, every = self.scenario.nouns, dict(quantities_of(self.scenario))
        paths = dict.fromkeys(each.input for _, one in self.budgets for each in one.budget)
        written = {path: in_print(as_written(every[path])) for path in paths if path in every}
        return {path: (say.given_in_words(path, nouns), written.get(path, "")) for path in paths}

    # ---- the rule

    @property
    def judged(self) -> Quantity:
        """The first featured quantity that can be judged, to show the rule with."""
        known = [q for q in self.featured if q.summary is None or q.summary.u is not None]
        return next(iter((*known, *self.featured)), self.of(Measurand.MEAN_TENSION))

    @staticmethod
    def sign(outcome: Outcome) -> str:
        """``more`` or ``less`` than zero, ``none`` or ``open``, by the one rule for a verdict."""
        verdict = outcome.verdict
        if verdict is Verdict.DIFFER:
            return "more" if outcome.value > 0 else "less"
        return "none" if verdict is Verdict.AGREE else "open"

    # ---- trial by trial

    @cached_property
    def compared(self) -> Sequence[Quantity]:
        """What is compared."""
        return list(map(self.of, self.judgement.comparison.quantities))

    @property
    def compared_before(self) -> Sequence[str]:
        """The ids of the steps that said this of each quantity by itself."""
        names = (each.name.replace("mean_", "").replace("_", "-") for each in self.compared)
        return [*(f"comparison-{name}" for name in names), "by-trial"]

    @cached_property
    def singly(self) -> Sequence[Quantity]:
        """The quantities of which several trials can each be judged by itself."""
        return [each for each in self.compared if len(self.limits(each)) > 1]

    @staticmethod
    def limits(quantity: Quantity) -> Sequence[float]:
        """The limits of its single trials."""
        found = quantity.compared.trials.values() if quantity.compared else ()
        return [each.limit for each in found if each.limit is not None]

    @property
    def by_trial(self) -> Iterator[list[str]]:
        """Each trial with its differences, each to the place of the best known one."""
        columns = [each.compared.trials for each in self.singly if each.compared]
        for trial in dict.fromkeys(name for each in columns for name in each):
            row = [self.unbroken(trial)]
            for found in columns:
                last = min(say.ends_at(each) for each in found.values())
                own = found[trial].value if trial in found else None
                row.append("" if own is None else say.to_place_of(own, last, "", self.figures))
            yield row

    @property
    def outside(self) -> Mapping[str, Sequence[str]]:
        """Which trials lie outside their limits, and of what; all of them as ``all trials``."""
        found = {}
        for each in self.singly:
            trials = each.compared.trials if each.compared else {}
            names = [self.called(n) for n, t in trials.items() if t.verdict is Verdict.DIFFER]
            if names:
                found[each.words] = names if len(names) < len(trials) else ["all trials"]
        return found

    # ---- where energy went

    @property
    def discrepancy(self) -> Discrepancy:
        """The account of the difference."""
        return self.judgement.discrepancy

    @property
    def balance(self) -> Balance:
        """What is missing in the energy balances."""
        found = self.discrepancy.balance
        assert found is not None  # asked for where there is one
        return found

    def missing(self, place: str, outcome: Outcome | None = None) -> Symbol:
        """Energy that is missing at the ``pulled`` object, in ``all``, or in the ``rest``."""
        marks = [self.marks[self.watched], "miss"] if place == "pulled" else None
        id_, the = f"missing.{place}", self.the(self.watched)
        return symbol(f"missing-{place}", id_, outcome, self.figures, marks=marks, the_moving=the)

    def to_look_at(self, checks: Sequence[str]) -> str:
        """What to look at, in words; for a place what its negative loss points to."""
        the = self.the(self.watched)
        checks = NEGATIVE[checks].checks if isinstance(checks, str) else checks
        return listed([say.title(f"checks.{each}", the_moving=the) for each in checks])

    @property
    def places(self) -> Iterator[tuple[str, Outcome, Outcome]]:
        """Where energy may be missing: if nothing resisted, and beside friction."""
        rows = [(place, self.balance.bare[place], b) for place, b in self.balance.beside.items()]
        steps = [each.step for _, *pair in rows for each in pair if each.u is None]
        for name, *pair in rows:
            bare, beside = (replace(each, step=min(steps, default=0.0)) for each in pair)
            yield name, bare, beside

    def told(self, sign: str, places: Mapping[str, str]) -> Sequence[str]:
        """What ``places`` calls those of this sign; the whole only where the places don't tell."""
        signs = {place: self.sign(each) for place, each in self.balance.beside.items()}
        whole = signs.pop("everything", None)
        if not signs or (whole in ("more", "less") and not {"more", "less"} & {*signs.values()}):
            signs = {"everything": whole} if whole else {}
        return [places[place] for place, each in signs.items() if each == sign]

    @property
    def counted(self) -> Sequence[str]:
        """What the uncertainties of what is missing come from."""
        return [say.source_words(name, self.scenario.nouns) for name in self.balance.counted]

    @property
    def alone(self) -> Mapping[str, str]:
        """What each cause alone would be; without a measured pull the most friction can be."""
        found, most = self.discrepancy.alone, self.discrepancy.estimates.get("friction_at_most")
        most = None if "friction" in found else most
        values, told = {**found, "friction_at_most": most}, dict[str, str]()
        for key, unit in texts("measuring")["alone"].items():
            if (value := values.get(key)) is not None:
                factor, shown = SHOWN.get(unit, (1.0, unit))
                told[key] = self.in_cell(value.times(factor), shown)
        return told

    # ---- what can be told apart

    @property
    def fitted(self) -> Mapping[str, Separation]:
        """The fits to show: of everything, and without extra inertia where that is allowed."""
        whole, plain = self.discrepancy.separation, self.discrepancy.plain
        assert whole is not None  # asked for where there is one
        shown = plain is not None and Unknown.INERTIA in whole.settled
        return {"value": whole} | ({"plain": plain} if plain is not None and shown else {})

    @property
    def beyond_none(self) -> bool:
        """Whether a resistance or a mass comes out significantly less than none."""
        fits = (fit.settled.items() for fit in self.fitted.values())
        every = [(each, value) for fit in fits for each, value in fit]
        return any(self.sign(v) == "less" for each, v in every if each is not Unknown.FORCE_ZERO)

    # ---- influences that the model leaves out

    @staticmethod
    def in_units(influence: Influence, value: float) -> str:
        """An amount in the unit in which a lab thinks of it."""
        factor, unit = SHOWN.get(influence.kind.unit, (1.0, influence.kind.unit))
        return to_figures(factor * value, 2) + plain_unit(unit).replace(" ", "\u00a0")
