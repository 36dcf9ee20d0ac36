"""What the step about the uncertainty budget asks."""

from collections.abc import Iterator, Mapping, Sequence
from functools import cached_property
from math import sqrt

from fallwork.lesson.lab.measured.gap import Gap
from fallwork.lesson.lab.measured.quantities import Quantity
from fallwork.lesson.measured.words import breakable, given_in_words, quantity_words, size
from fallwork.lesson.words import listing, upper_first
from fallwork.measurement.inputs import quantities_of
from fallwork.measurement.model import Measurand
from fallwork.measurement.prediction import Predicted
from fallwork.scenario.quantity import as_written, in_print

HALVED = 0.75  # of a squared share that is lost when its uncertainty is halved
SMALLEST = 0.005  # share that is shown in whole percent


class Budget(Gap):
    """What each given adds to the uncertainty of the prediction."""

    @cached_property
    def budgets(self) -> Mapping[Measurand, Predicted]:
        """The predictions that are compared and uncertain."""
        predicted = self.judgement.prediction.quantities
        compared = [Measurand(name).predicted for name in self.judgement.comparison.quantities]
        return {name: predicted[name] for name in compared if predicted[name].linear.u > 0}

    @property
    def budgeted(self) -> Sequence[Quantity]:
        """Of which quantities."""
        return [self.of(name) for name in self.budgets]

    @property
    def shares(self) -> Iterator[tuple[str, ...]]:
        """Each given and what it adds to each of them."""
        written = {
            path: breakable(in_print(as_written(each)).replace(" ", "\u00a0"))
            for path, each in quantities_of(self.scenario)
        }
        paths = dict.fromkeys(each.input for one in self.budgets.values() for each in one.budget)
        for path in paths:
            words = self._given(path), written.get(path, "")
            shares = [
                (each.u, each.share)
                for one in self.budgets.values()
                for each in one.budget
                if each.input == path
            ]
            name = upper_first(", ".join(each for each in words if each))
            yield name, *(self._cell(u, share) for u, share in shares)

    @staticmethod
    def _cell(u: float, share: float) -> str:
        """What a given adds, in the unit of the column's head, and its share of the square."""
        if u <= 0:
            return "0"
        words = f"{100 * share:.0f}" if share >= SMALLEST else "<\u00a01"
        return f"{size(u, '')} ({words}\u00a0%)"

    def _given(self, path: str) -> str:
        return given_in_words(path, self.scenario.nouns)

    @property
    def to_improve(self) -> Iterator[tuple[str, str, Sequence[tuple[str, str, str]]]]:
        """Each given with the largest share in something: in what, its name, and how far each
        uncertainty would fall with its own halved.
        """
        largest = {name: each.budget[0] for name, each in self.budgets.items()}
        for given in dict.fromkeys(share.input for share in largest.values()):
            names = [name for name in self.budgets if largest[name].input == given]
            falls = []
            for name in names:
                u, unit = self.budgets[name].linear.u, self.of(name).unit
                less = u * sqrt(1 - HALVED * largest[name].share)
                falls.append((quantity_words(name), size(u, unit), size(less, unit)))
            yield self._the(names), self._given(given), falls

    @staticmethod
    def _the(names: Sequence[str]) -> str:
        return listing([f"the {quantity_words(name)}" for name in names])

    @property
    def limited_by(self) -> Mapping[str, str]:
        """For which quantities trials or prediction bring most of the uncertainty."""
        found: dict[str, list[str]] = {"trials": [], "prediction": []}
        for name, each in self.judgement.comparison.quantities.items():
            measured, expected = each.overall.measured.u, each.overall.expected.u
            if measured is not None and expected is not None:
                found["trials" if measured > expected else "prediction"].append(name)
        return {key: self._the(names) for key, names in found.items() if names}
