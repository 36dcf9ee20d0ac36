"""What every file about measuring may ask.

Conditions, letters and words are those of somebody who measures: ``the_moving`` is what the
sensors look at.
"""

from collections.abc import Mapping
from fractions import Fraction
from functools import cached_property
from typing import Any

from fallwork.lesson.context import Context
from fallwork.lesson.document import Equation
from fallwork.lesson.expression import (
    SCALE,
    Expression,
    Operand,
    Ref,
    Symbol,
    as_expression,
    evaluate,
    symbols_in,
)
from fallwork.lesson.lab import Lab
from fallwork.lesson.lab.base import Absent, Base, absent
from fallwork.lesson.lab.measured.quantities import Quantity
from fallwork.lesson.measured.evidence import Evidence
from fallwork.lesson.measured.words import amount, size, title
from fallwork.lesson.roles import roles_of
from fallwork.lesson.textfiles import known
from fallwork.lesson.trees import ZERO, rebuilt, scaled, signed, total
from fallwork.lesson.words import listing, upper_first
from fallwork.measurement.comparison import COMPARED
from fallwork.measurement.model import Measurand, Outcome
from fallwork.measurement.view import View, view_of
from fallwork.mechanics.solution import Interaction


def refs(letters: Mapping[str, Symbol]) -> dict[str, Expression]:
    """Symbols as they stand in formulas."""
    return {letter: as_expression(symbol) for letter, symbol in letters.items()}


class Measured(Base):
    """One set-up with what was measured of it; without evidence in symbols only."""

    def __init__(self, context: Context, evidence: Evidence | None = None) -> None:
        super().__init__(context)
        self.evidence = evidence

    # ---- conditions, letters and words that need no ``lab.`` in front

    @property
    def known(self) -> frozenset[str]:
        """Every condition, letter and word that a file may use, also of other set-ups."""
        return frozenset(self.vocabulary)

    @cached_property
    def vocabulary(self) -> Mapping[str, Any]:
        """The conditions, letters and words of this set-up."""
        letters = {
            name: Absent() for name in known("worked", "letters") | known("measured", "letters")
        }
        said = {upper_first(name): upper_first(word) for name, word in self._words.items()}
        return {
            **self._conditions,
            **self._words,
            **said,
            **letters,
            **self.letters,
            **self._functions,
        }

    @cached_property
    def letters(self) -> Mapping[str, Expression]:
        """The letters of formulas, as far as there is something that they stand for."""
        if not self.context.is_plain or not self.setting.moves:
            return {}
        roles = roles_of(self.context).items()
        return {letter: tree for letter, tree in roles if tree == ZERO or isinstance(tree, Ref)}

    @property
    def _conditions(self) -> Mapping[str, bool]:
        context, setting = self.context, self.setting
        falls = self.speeding and setting.senses[context.weight] > 0
        returns = len(setting.driven) > 1 or setting.turns_within
        return {
            "symbols": self.evidence is None,
            "moves": setting.moves,
            "from_rest": setting.moves and not context.names.starts_moving,
            "lands": self.lands,
            "slides": self.slides,
            "sloping": self.sloping,
            "level": not self.sloping,
            "rubs": self.watched in context.motion.frictions,
            "floats": self.watched not in context.motion.frictions,
            "turns_back": len(setting.driven) > 1,
            "returns": setting.moves and returns,
            "one_way": not returns,
            "pulled_back": self.pulled_back,
            "has_force": self.view.string is not None,
            "held": self.held_pull is not None,
            "grips": Lab(context).has_range,
            "usual": self.speeding and not setting.slope(context.slider),
            "falling": falls and not setting.slope(context.slider),
            "smaller_pull": falls,
        }

    @property
    def speeding(self) -> bool:
        """Whether it is one cart and one weight that start from rest."""
        return self.context.is_plain and self.context.speeds_up

    @cached_property
    def _words(self) -> Mapping[str, str]:
        """Objects with their articles."""
        the, setting = self.context.the, self.setting
        run = setting.scenario.run.object
        weight = setting.hanging[0] if setting.hanging else self.watched
        return {
            "the_moving": the(self.watched),
            "the_objects": listing([the(name) for name in setting.movers]),
            "the_surface": the(self.names.surface(self.watched)) if self.slides else "",
            "the_string": the(self.view.string) if self.view.string else "",
            "the_run_object": the(run),
            "the_weight": the(weight),
            "the_end": f"the landing of {the(run)}" if self.lands else "the end of the distance",
        }

    # ---- the set-up as somebody at the bench sees it

    @cached_property
    def view(self) -> View:
        """What the sensors look at."""
        return view_of(self.setting.scenario)

    @property
    def watched(self) -> str:
        """The object whose motion is measured."""
        return self.view.moving

    @property
    def slides(self) -> bool:
        """Whether that object runs on a surface."""
        return self.watched in self.setting.sliders

    @property
    def sloping(self) -> bool:
        """Whether the surface on which it runs has a slope."""
        return self.slides and bool(self.setting.slope(self.watched))

    @property
    def lands(self) -> bool:
        """Whether the driven part ends when the object of the run comes down on its pad."""
        setting = self.setting
        name = setting.scenario.run.object
        falls = name in setting.hanging and setting.senses[name] > 0
        return setting.moves and falls and setting.scenario.run.distance is not None

    @property
    def pulled_back(self) -> bool:
        """Whether the measured pull points against the way in which the watched object goes in
        the end, so that its work is negative there."""
        setting = self.setting
        pulls = [
            setting.along(force)
            for force in setting.forces_on(self.watched)
            if force.interaction is Interaction.TENSION and force.partner == self.view.string
        ]
        way = setting.senses[self.watched]
        return any(along is not None and way * along < 0 for along in pulls)

    @cached_property
    def held_pull(self) -> Expression | None:
        """The pull while the watched object is held and everything else hangs from its string.

        None where friction could have a share in it, or the slope of something that isn't held.
        """
        setting, motion = self.setting, self.motion
        sloping = any(setting.slope(name) for name in setting.sliders if name != self.watched)
        if not setting.tied or setting.rotors or sloping or self.watched not in setting.movers:
            return None
        others = [n for n in setting.movers if n not in (self.watched, *setting.sliders)]
        paths = [setting.apparatus.strings[name].path for name in setting.strings_at(self.watched)]
        leading = [path for path in paths if set(path) - {self.watched, *setting.sliders}]
        if not others or len(leading) != 1:
            return None
        pulls = [
            signed(setting.senses[name], scaled(setting.ratio(name), motion.gravity_on(name)))
            for name in others
            if setting.mass(name)
        ]
        way = -1 if self.pulled_back else 1
        return scaled(Fraction(way) / setting.ratio(self.watched), total(pulls))

    # ---- measured quantities

    def of(self, name: str) -> Quantity:
        """A quantity with its symbols, e.g. ``lab.of("acceleration")``."""
        return Quantity(Measurand(name), self.evidence, self.setting.figures)

    @property
    def featured(self) -> tuple[Quantity, ...]:
        """The quantities on which the pages dwell, as far as they are measured."""
        found = [
            self.of(q) for q in COMPARED if q is not Measurand.MEAN_TENSION or self.view.string
        ]
        if self.evidence is None:
            return tuple(each for each in found if each.name.predicted is each.name)
        return tuple(each for each in found if each.summary is not None)

    def which_mean(self, quantity: str) -> str:
        """What a quantity stands for where the forces change at a turn, in a sentence."""
        changes = quantity in (Measurand.ACCELERATION, Measurand.MEAN_TENSION)
        return title(f"turns.{quantity}") if changes and len(self.setting.driven) > 1 else ""

    def with_u(self, outcome: Outcome, unit: str) -> str:
        """A measured value with its uncertainty and unit."""
        return amount(outcome, unit, self.setting.figures)

    @staticmethod
    def u(u: float | None, unit: str) -> str:
        """An uncertainty, a limit or a change, with its unit."""
        return size(u, unit)

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
