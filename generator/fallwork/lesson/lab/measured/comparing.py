"""What the steps about prediction and comparison ask, and how uncertain both are."""

from collections.abc import Iterator, Mapping, Sequence
from functools import cached_property

from fallwork.lesson.lab.measured.quantities import FACTOR_FIGURES, Quantity
from fallwork.lesson.lab.measured.together import Together
from fallwork.lesson.measured.evidence import Judgement
from fallwork.lesson.measured.words import ends_at, given_in_words, to_place_of, unbroken
from fallwork.lesson.rounding import to_figures
from fallwork.measurement.comparison import Comparison, Verdict
from fallwork.measurement.inputs import quantities_of
from fallwork.measurement.model import Measurand
from fallwork.measurement.prediction import Method, Predicted
from fallwork.measurement.statistics import lost_in_rounding
from fallwork.scenario.quantity import as_written, in_print


class Comparing(Together):
    """Measured against predicted."""

    lost_in_rounding = staticmethod(lost_in_rounding)

    @property
    def judgement(self) -> Judgement:
        """The trials against the model; only on pages that may show it."""
        judgement = None if self.evidence is None else self.evidence.judgement
        assert judgement is not None  # as the docstring says
        return judgement

    # ---- the prediction

    @cached_property
    def foretold(self) -> Sequence[tuple[Quantity, Predicted]]:
        """What is predicted and measured, or dwelt on."""
        shown = [*self.analysis.summary, *(each.name for each in self.featured)]
        every = self.judgement.prediction.quantities.items()
        return [(self.of(name), each) for name, each in every if name in shown]

    @property
    def draws(self) -> str:
        """How many sets of givens were drawn; empty if none."""
        count = self.judgement.prediction.draws
        return f"{count:,}".replace(",", "\u00a0") if count else ""

    @property
    def undefined(self) -> str:
        """In how many percent of them nothing moved; empty if in none."""
        drawn = [each for _, each in self.foretold if each.method is Method.MONTE_CARLO]
        share = max((each.simulated.undefined for each in drawn if each.simulated), default=0.0)
        return to_figures(100 * share, 2) if share > 0 else ""

    # ---- the rule

    @property
    def judged(self) -> Quantity:
        """The first featured quantity that can be judged, to show the rule with."""
        known = [q for q in self.featured if q.summary is None or q.summary.u is not None]
        return next(iter((*known, *self.featured)), self.of(Measurand.MEAN_TENSION))

    @staticmethod
    def factor(found: Comparison) -> str:
        """Its coverage factor."""
        return to_figures(found.coverage_factor or 0.0, FACTOR_FIGURES)

    # ---- trial by trial

    @cached_property
    def compared(self) -> Sequence[Quantity]:
        """What is compared."""
        return list(map(self.of, self.judgement.comparison.quantities))

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
    def by_trial(self) -> Iterator[tuple[str, ...]]:
        """Each trial with its differences, each to the place of the best known one."""
        found = [each.compared.trials for each in self.singly if each.compared]
        for trial in dict.fromkeys(name for each in found for name in each):
            yield unbroken(trial), *(self._difference(each, trial) for each in found)

    def _difference(self, found: Mapping[str, Comparison], trial: str) -> str:
        if trial not in found:
            return ""
        last = min(ends_at(each.difference) for each in found.values())
        return to_place_of(found[trial].difference.value, last, "", self.figures)

    @property
    def outside(self) -> Mapping[str, Sequence[str]]:
        """Which trials lie outside their limits, and of what; all of them as ``all trials``."""
        found = {}
        for each in self.singly:
            trials = each.compared.trials if each.compared else {}
            names = [unbroken(n) for n, t in trials.items() if t.verdict is Verdict.DIFFER]
            if names:
                found[each.words] = names if len(names) < len(trials) else ["all trials"]
        return found

    # ---- what the uncertainties come from

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
        return {path: (given_in_words(path, nouns), written.get(path, "")) for path in paths}
