"""What the steps at the bench ask: what is weighed and measured before the trials."""

from collections.abc import Iterator, Mapping, Sequence
from fractions import Fraction
from functools import cached_property

from fallwork.lesson.document import Text
from fallwork.lesson.expression import (
    Expression,
    Symbol,
    as_expression,
)
from fallwork.lesson.givens import givens_of
from fallwork.lesson.lab import Lab
from fallwork.lesson.lab.measured.core import Measured
from fallwork.lesson.trees import product, total
from fallwork.lesson.words import times_word
from fallwork.scenario import Pulley


class Bench(Measured):
    """Before the trials."""

    @property
    def run_ratio(self) -> Fraction | None:
        """How far the watched object moves while that of the run moves by one unit."""
        run = self.scenario.run.object
        if not self.tied:
            return None
        return abs(Fraction(self.ratios[self.watched]) / Fraction(self.ratios[run]))

    @property
    def times(self) -> str:
        """The same in words, e.g. ``twice``; empty where the string alone doesn't settle it."""
        return "" if self.run_ratio is None else times_word(self.run_ratio)

    @property
    def goes_as_far(self) -> bool:
        """Whether the watched object moves as far as the object of the run."""
        return self.watched == self.scenario.run.object or self.run_ratio == 1

    @property
    def given_distance(self) -> bool:
        """Whether the distance of the run is given."""
        return self.scenario.run.distance is not None

    @property
    def over_a_pulley(self) -> bool:
        """Whether the string whose pull is measured runs over a pulley."""
        scenario, string = self.scenario, self.view.string
        path = () if string is None else scenario.strings[string].path
        return any(isinstance(scenario.objects[name], Pulley) for name in path)

    @property
    def to_weigh(self) -> Iterator[tuple[Text, str]]:
        """Each given but g and the speed of a push: its name, and as its author wrote it."""
        elsewhere = [self.gravity, *([self.given_start_speed] if self.starts_moving else [])]
        for given in givens_of(self.seen_as(Lab)):
            if given.symbol not in elsewhere:
                name: Text = (given.meaning,)
                if given.symbol is not None:
                    name = (f"{given.meaning}, ", as_expression(given.symbol))
                yield name, given.as_written.replace(" ", "\u00a0")

    @property
    def massless(self) -> Sequence[str]:
        """The movers that have no mass in the model, with their articles."""
        return [self.the(name) for name in self.movers if not self.mass_kg(name)]

    @cached_property
    def holding(self) -> Mapping[str, Symbol]:
        """The heaviest and the lightest hanging mass for which static friction holds."""
        limits = self.seen_as(Lab).limiting_masses
        return {which: each.symbol for which, each in limits.items()}

    @property
    def grip_found(self) -> Expression:
        """The coefficient of static friction as these two masses give it."""
        limits = self.holding
        sine, cosine = (tree(self.slider) for tree in (self.sine, self.cosine))
        mass = product(self.mass(self.slider), *([] if cosine is None else [cosine]))
        most = as_expression(limits["most"])
        if "least" in limits:
            return total([most, -as_expression(limits["least"])]) / product(2, mass)
        return most / mass if sine is None else total([most / mass, -(sine / (cosine or 1))])
