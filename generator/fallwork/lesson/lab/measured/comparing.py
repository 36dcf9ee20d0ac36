"""What the steps about prediction and comparison ask."""

from collections.abc import Collection, Iterator, Sequence
from functools import cached_property

from fallwork.lesson.document import Relation
from fallwork.lesson.expression import Symbol, as_expression
from fallwork.lesson.lab.measured.gap import Gap
from fallwork.lesson.lab.measured.quantities import FACTOR_FIGURES, Quantity
from fallwork.lesson.measured.words import ends_at, interval, size, to_place_of, unbroken
from fallwork.lesson.rounding import rounded
from fallwork.lesson.words import upper_first
from fallwork.measurement.comparison import Comparison, QuantityComparison, Verdict
from fallwork.measurement.model import Measurand, Outcome
from fallwork.measurement.prediction import Method, Predicted
from fallwork.measurement.statistics import lost_in_rounding


class Comparing(Gap):
    """Measured against predicted."""

    # ---- the prediction

    @cached_property
    def _predicted(self) -> Sequence[tuple[Quantity, Predicted]]:
        """What is predicted and measured, or dwelt on."""
        featured = [each.name for each in self.featured]
        return [
            (self.of(name), each)
            for name, each in self.judgement.prediction.quantities.items()
            if name in self.analysis.summary or name in featured
        ]

    @property
    def rows_of_prediction(self) -> Iterator[tuple[bool, tuple[str, ...]]]:
        """Each with value and interval, and whether it was drawn at random."""
        for quantity, each in self._predicted:
            u, figures = each.estimate.u, self.figures
            ends = interval(each.interval_95, u, quantity.unit, figures) if u > 0 else ""
            value = self.in_cell(each.estimate, quantity.unit)
            yield each.method is Method.MONTE_CARLO, (upper_first(quantity.words), value, ends)

    @property
    def draws(self) -> str:
        """How many sets of givens were drawn; empty if none."""
        count = self.judgement.prediction.draws
        return f"{count:,}".replace(",", "\u00a0") if count else ""

    @property
    def drawn(self) -> bool:
        """Whether an interval comes from them."""
        return any(each.method is Method.MONTE_CARLO for _, each in self._predicted)

    @property
    def undefined(self) -> str:
        """In how many percent of them nothing moved; empty if in none."""
        shares = [
            each.simulated.undefined
            for _, each in self._predicted
            if each.method is Method.MONTE_CARLO and each.simulated is not None
        ]
        return rounded(100 * max(shares), 2).text if max(shares, default=0.0) > 0 else ""

    # ---- the rule

    @property
    def judged(self) -> Quantity:
        """The first featured quantity that can be judged, to show the rule with."""
        known = [q for q in self.featured if q.summary is None or q.summary.u is not None]
        return next(iter((*known, *self.featured)), self.of(Measurand.MEAN_TENSION))

    @property
    def judges(self) -> bool:
        """Whether there is anything to judge by."""
        return self.judged.summary is None or self.judged.summary.u is not None

    @staticmethod
    def stands(difference: Symbol, limit: Symbol, found: Comparison) -> Relation:
        """Where the difference stands: between its limits or beyond one of them."""
        side, end = as_expression(difference), as_expression(limit)
        if found.verdict is Verdict.AGREE:
            return Relation(sides=(-end, side, end), signs=("≤", "≤"))
        if found.difference.value < 0:
            return Relation(sides=(side, -end), signs=("<",))
        return Relation(sides=(side, end), signs=(">",))

    @staticmethod
    def factor(found: Comparison) -> str:
        """Its coverage factor."""
        return rounded(found.coverage_factor or 0.0, FACTOR_FIGURES).text

    @staticmethod
    def lost_in_rounding(difference: Outcome, step: float) -> bool:
        """Whether rounding the values may make a difference."""
        return lost_in_rounding(difference, step)

    # ---- trial by trial

    @cached_property
    def _singly(self) -> Sequence[tuple[Quantity, QuantityComparison]]:
        """The quantities of which several trials can each be judged by itself."""
        return [
            (self.of(name), found)
            for name, found in self.judgement.comparison.quantities.items()
            if sum(each.limit is not None for each in found.trials.values()) > 1
        ]

    @property
    def singly(self) -> Sequence[Quantity]:
        """Of which quantities."""
        return [quantity for quantity, _ in self._singly]

    @property
    def rows_by_trial(self) -> Iterator[tuple[str, ...]]:
        """Each trial with its differences, each to the place of the best known one."""
        found = [each for _, each in self._singly]
        for trial in dict.fromkeys(name for each in found for name in each.trials):
            yield unbroken(trial), *(self._difference(each, trial) for each in found)

    def _difference(self, found: QuantityComparison, trial: str) -> str:
        comparison, figures = found.trials.get(trial), self.figures
        if comparison is None:
            return ""
        last = min(ends_at(each.difference) for each in found.trials.values())
        return to_place_of(comparison.difference.value, last, "", figures)

    @property
    def limits_by_trial(self) -> Iterator[tuple[str, str]]:
        """The smallest and the largest limit of single trials."""
        for _, found in self._singly:
            limits = [each.limit for each in found.trials.values() if each.limit is not None]
            yield size(min(limits), ""), size(max(limits), "")

    @property
    def outside(self) -> Sequence[tuple[str, bool, Sequence[str]]]:
        """Of what trials lie outside their limits: whether all, and which."""
        found = []
        for quantity, each in self._singly:
            names = [
                unbroken(name)
                for name, comparison in each.trials.items()
                if comparison.verdict is Verdict.DIFFER
            ]
            found.append((quantity.words, len(names) == len(each.trials), names))
        return [each for each in found if each[2]]

    @property
    def on_one_side(self) -> Sequence[str]:
        """Of what all trials lie on one side of the prediction."""
        return [quantity.words for quantity, found in self._singly if found.side]

    @property
    def fewest_on_one_side(self) -> Collection[str]:
        """The trials of which there are fewest in one of these."""
        return min((found.trials for _, found in self._singly if found.side), key=len)

    @staticmethod
    def odds(trials: Collection[str]) -> int:
        """Once in how many cases chance puts all of them on one side."""
        return int(2 ** (len(trials) - 1))

    @property
    def agree_on_one_side(self) -> bool:
        """Whether their means agree with the prediction all the same."""
        sided = [found for _, found in self._singly if found.side]
        return all(found.overall.verdict is Verdict.AGREE for found in sided)
