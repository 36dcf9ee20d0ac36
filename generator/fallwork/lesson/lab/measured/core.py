"""What every file about measuring may ask.

Conditions, letters and words are those of somebody who measures: ``the_moving`` is what the
sensors look at.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction
from functools import cached_property
from typing import Any

from fallwork.lesson.document import Equation
from fallwork.lesson.expression import (
    SCALE,
    Expression,
    Operand,
    Ref,
    as_expression,
    evaluate,
    symbols_in,
)
from fallwork.lesson.lab import Lab
from fallwork.lesson.lab.base import Absent, Base, absent
from fallwork.lesson.lab.measured.quantities import Quantity, of_comparison, of_summary
from fallwork.lesson.lab.roles import letters_of, names_of
from fallwork.lesson.measured.evidence import Evidence
from fallwork.lesson.measured.words import (
    amount,
    ends_at,
    interval,
    shown,
    size,
    title,
    unbroken,
    unknown,
)
from fallwork.lesson.rounding import to_figures
from fallwork.lesson.trees import ZERO, rebuilt, scaled, signed, total
from fallwork.lesson.words import known, upper_first
from fallwork.measurement.comparison import COMPARED
from fallwork.measurement.model import Measurand, Outcome, Summary
from fallwork.measurement.view import View, view_of
from fallwork.mechanics.solution import Interaction


@dataclass(frozen=True, eq=False)
class Measured(Base):
    """One set-up with what was measured of it; without evidence in symbols only."""

    evidence: Evidence | None = None

    # ---- conditions, letters and words that need no ``lab.`` in front

    @property
    def known(self) -> frozenset[str]:
        """Every condition, letter and word that a file may use, also of other set-ups."""
        return frozenset(self.vocabulary)

    @cached_property
    def vocabulary(self) -> Mapping[str, Any]:
        """The conditions, letters and words of this set-up."""
        letters = names_of("letters") | known("measured", "letters")
        said = {upper_first(name): upper_first(word) for name, word in self._words.items()}
        return {
            **self._conditions,
            **self._words,
            **said,
            **dict.fromkeys(letters, Absent()),
            **self.letters,
            **self._functions,
        }

    @cached_property
    def letters(self) -> Mapping[str, Expression]:
        """The letters of formulas, as far as there is something that they stand for."""
        if not self.is_plain or not self.moves:
            return {}
        roles = letters_of(self).items()
        return {letter: tree for letter, tree in roles if tree == ZERO or isinstance(tree, Ref)}

    @property
    def _conditions(self) -> Mapping[str, bool]:
        falls = self.speeding and self.senses[self.weight] > 0
        returns = len(self.driven) > 1 or self.turns_within
        return {
            "symbols": self.evidence is None,
            "recorded": self.evidence is None or bool(self.evidence.recorded),
            "moves": self.moves,
            "pushed": self.moves and self.starts_moving,
            "from_rest": self.moves and not self.starts_moving,
            "lands": self.lands,
            "slides": self.slides,
            "sloping": self.sloping,
            "level": not self.sloping,
            "rubs": self.watched in self.frictions,
            "floats": self.watched not in self.frictions,
            "turns_back": len(self.driven) > 1,
            "returns": self.moves and returns,
            "one_way": not returns,
            "pulled_back": self.pulled_back,
            "has_force": self.view.string is not None,
            "held": self.held_pull is not None,
            "grips": self.seen_as(Lab).has_range,
            "usual": self.speeding and not self.slope_rad(self.slider),
            "falling": falls and not self.slope_rad(self.slider),
            "smaller_pull": falls,
        }

    @property
    def speeding(self) -> bool:
        """Whether it is one cart and one weight that start from rest."""
        return self.is_plain and self.speeds_up

    @cached_property
    def _words(self) -> Mapping[str, str]:
        """Objects with their articles."""
        the, run = self.the, self.the(self.scenario.run.object)
        pushed = self.moves and self.starts_moving
        return {
            "the_moving": the(self.watched),
            "the_pulled": self.listing(self.pulled),
            "the_objects": self.listing(self.movers),
            "the_surface": the(self.surface_under(self.watched)) if self.slides else "",
            "the_string": the(self.view.string) if self.view.string else "",
            "the_run_object": run,
            "the_weight": the(self.hanging[0] if self.hanging else self.watched),
            "the_start": "the mark" if pushed and self.evidence is None else "the release",
            "the_end": f"the landing of {run}" if self.lands else "the end of the distance",
        }

    # ---- the set-up as somebody at the bench sees it

    @cached_property
    def view(self) -> View:
        """What the sensors look at."""
        return view_of(self.scenario)

    @property
    def watched(self) -> str:
        """The object whose motion is measured."""
        return self.view.moving

    @property
    def pulled(self) -> tuple[str, ...]:
        """That object with all that it draws along on its surface by other strings."""
        found, strings = [self.watched], self.scenario.strings
        towing = [set(line.path) for name, line in strings.items() if name != self.view.string]
        for name in found:
            beside = set().union(*(path for path in towing if name in path))
            found += [each for each in self.sliders if each in beside - set(found)]
        return tuple(each for each in self.movers if each in found)

    @property
    def slides(self) -> bool:
        """Whether that object runs on a surface."""
        return self.watched in self.sliders

    @property
    def sloping(self) -> bool:
        """Whether the surface on which it runs has a slope."""
        return self.slides and bool(self.slope_rad(self.watched))

    @property
    def lands(self) -> bool:
        """Whether the driven part ends when the object of the run comes down on its pad."""
        name = self.scenario.run.object
        falls = name in self.hanging and self.senses[name] > 0
        return self.moves and falls and self.scenario.run.distance is not None

    @property
    def pulled_back(self) -> bool:
        """Whether the measured pull points against the way in which the watched object goes in
        the end, so that its work is negative there."""
        pulls = [
            self.along(force) or 0.0
            for force in self.forces_on(self.watched)
            if force.interaction is Interaction.TENSION and force.partner == self.view.string
        ]
        return any(self.senses[self.watched] * along < 0 for along in pulls)

    @cached_property
    def held_pull(self) -> Expression | None:
        """The pull while the watched object is held and everything else hangs from its string.

        Without what bearings take. None where other friction could have a share in it, or the slope
        of something that isn't held.
        """
        sloping = any(self.slope_rad(name) for name in self.sliders if name != self.watched)
        if not self.tied or sloping or self.watched not in self.movers:
            return None
        others = [n for n in self.movers if n not in (self.watched, *self.sliders)]
        paths = [self.apparatus.strings[name].path for name in self.strings_at(self.watched)]
        leading = [path for path in paths if set(path) - {self.watched, *self.sliders}]
        if not others or len(leading) != 1:
            return None
        pulls = [
            signed(self.senses[name], scaled(self.ratio(name), self.gravity_on(name)))
            for name in others
            if self.mass_kg(name)
        ]
        way = -1 if self.pulled_back else 1
        return scaled(Fraction(way) / self.ratio(self.watched), total(pulls))

    @property
    def held_drag(self) -> Expression | None:
        """The most that friction in bearings can take from that pull or add to it."""
        drags = [(name, self.rotor_drag(name)) for name in self.rotors]
        parts = [scaled(self.rim(name), drag) for name, drag in drags if drag is not None]
        return scaled(1 / Fraction(self.ratio(self.watched)), total(parts)) if parts else None

    # ---- measured quantities

    def of(self, name: str) -> Quantity:
        """A quantity with its symbols, e.g. ``lab.of("acceleration")``."""
        quantity = Measurand(name)
        if self.evidence is None:
            return Quantity(quantity, self.figures)
        summary, judged = self.evidence.analysis.summary.get(quantity), self.evidence.judgement
        values = {} if summary is None else dict(of_summary(summary))
        if judged is None:
            return Quantity(quantity, self.figures, summary, None, values)
        every, found = judged.comparison.quantities, judged.comparison.quantities.get(quantity)
        values |= {} if found is None else of_comparison(found.overall)
        expected = judged.prediction.estimates.get(quantity.predicted)
        if expected is not None:  # as many figures as the best known difference from it needs
            same = [e for q, e in every.items() if Measurand(q).predicted is quantity.predicted]
            best = min((ends_at(each.overall.difference) for each in same), default=0.0)
            values["predicted"] = Outcome(value=expected.value, u=best)
            values["u_predicted"] = expected.u
        return Quantity(quantity, self.figures, summary, found, values)

    @property
    def featured(self) -> tuple[Quantity, ...]:
        """The quantities on which the pages dwell, as far as they are measured."""
        names = COMPARED if self.moves else (Measurand.FORCE_HELD,)
        pulls = (Measurand.MEAN_TENSION, Measurand.FORCE_HELD)
        found = [self.of(q) for q in names if q not in pulls or self.view.string]
        if self.evidence is None:
            return tuple(each for each in found if each.name.predicted is each.name)
        return tuple(each for each in found if each.summary is not None)

    def which_mean(self, quantity: str) -> str:
        """What a quantity stands for where the forces change at a turn, in a sentence."""
        changes = quantity in (Measurand.ACCELERATION, Measurand.MEAN_TENSION)
        return title(f"turns.{quantity}") if changes and len(self.driven) > 1 else ""

    # ---- values in words

    u = staticmethod(size)
    digits = staticmethod(to_figures)
    unbroken = staticmethod(unbroken)

    def with_u(self, outcome: Outcome, unit: str) -> str:
        """A measured value with its uncertainty and unit."""
        return amount(outcome, unit, self.figures)

    def in_cell(self, outcome: Outcome, unit: str) -> str:
        """The same for a narrow cell: a line may end before the ±."""
        return self.with_u(outcome, unit).replace("\u00a0±", " ±")

    def shown(self, outcome: Outcome, unit: str) -> str:
        """A value that ends where it has to, its uncertainty not shown."""
        return shown(outcome, unit, self.figures)

    @staticmethod
    def number(summary: Summary) -> str:
        """Of how many trials a mean is."""
        return unknown() if summary.n is None else str(summary.n)

    def interval(self, ends: tuple[float, float] | None, u: float | None, unit: str) -> str:
        """An interval; its ends end where ``u`` does."""
        return interval(ends, u, unit, self.figures)

    # ---- equations and mistakes

    def result(self, left: Operand, right: Operand, unit: str = "") -> Equation:
        """An equation, with numbers where there is evidence."""
        shown = self.evidence is not None
        return Equation(left=as_expression(left), right=as_expression(right), numbers=shown)

    def wrong(self, of: Expression, formula: Expression) -> tuple[Expression, float | None] | None:
        """The formula and what comes out, in the unit of what was meant; None where it names what
        there isn't.
        """
        if not isinstance(of, Ref) or absent(formula):
            return None
        formula, right = rebuilt(formula, {}), of.symbol
        if right.value is None or any(each.value is None for each in symbols_in(formula)):
            return formula, None
        return formula, evaluate(formula) / SCALE.get(right.unit, 1.0)
