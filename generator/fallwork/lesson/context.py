"""What a step builder is handed: the setting, its symbols and its equations of motion."""

from dataclasses import dataclass
from functools import cached_property

from fallwork.lesson.document import Equation, Inline
from fallwork.lesson.equations import Motion
from fallwork.lesson.expression import (
    Expression,
    Operand,
    Symbol,
    ValueMissingError,
    as_expression,
    evaluate,
)
from fallwork.lesson.rounding import to_figures
from fallwork.lesson.setting import Setting
from fallwork.lesson.symbols import Names


@dataclass(frozen=True)
class Context:
    """Everything about one set-up that the steps draw on."""

    setting: Setting

    @cached_property
    def names(self) -> Names:
        """The symbols."""
        return Names(self.setting)

    @cached_property
    def motion(self) -> Motion:
        """The equations of motion."""
        return Motion(self.setting, self.names)

    def the(self, name: str) -> str:
        """An object's name with its article."""
        return self.setting.the(name)

    @property
    def numbers(self) -> bool:
        """Whether the lesson shows values."""
        return self.setting.numbers

    def at(self, index: int) -> "Context":
        """The same for another phase."""
        return Context(self.setting.at(index))

    # The kinds of set-up that have sentences of their own.

    @property
    def slider(self) -> str:
        """The first object on a surface."""
        return self.setting.sliders[0]

    @property
    def weight(self) -> str:
        """The first object that hangs."""
        return self.setting.hanging[0]

    @property
    def string(self) -> str:
        """The first string."""
        return next(iter(self.setting.apparatus.strings))

    @property
    def pulley(self) -> str:
        """The first pulley."""
        return next(iter(self.setting.apparatus.pulleys))

    @property
    def surface(self) -> str:
        """The surface of the first slider."""
        return self.names.surface(self.slider)

    @property
    def rubs(self) -> bool:
        """Whether friction acts on anything that slides."""
        return bool(self.motion.kinetic_frictions)

    @cached_property
    def is_plain(self) -> bool:
        """One object on a surface, one that hangs, one string over one ideal pulley."""
        setting = self.setting
        counts = len(setting.sliders), len(setting.hanging), len(setting.apparatus.strings)
        return (
            counts == (1, 1, 1)
            and len(setting.pulleys) == 1
            and not setting.rotors
            and not setting.wheel_mass(self.slider)
            and bool(setting.taut)
            and setting.tied
            and not setting.carried
        )

    @property
    def climb(self) -> float:
        """Positive where the first slider runs up a slope, zero on the level."""
        return self.setting.slope(self.slider) * self.setting.senses[self.slider]

    @property
    def coasts(self) -> bool:
        """Whether what goes on after a landing is a cart alone, on the level or up a slope."""
        return self.is_plain and not self.setting.upright(self.slider) and self.climb >= 0

    @cached_property
    def is_pair(self) -> bool:
        """Two hanging weights on one string over ideal pulleys."""
        setting = self.setting
        alone = len(setting.movers) == len(setting.hanging) == 2
        return (
            alone and len(setting.apparatus.strings) == 1 and not setting.rotors and self.same_pace
        )

    @cached_property
    def driver(self) -> str | None:
        """The first weight that goes down, where there are other movers."""
        setting = self.setting
        falling = [name for name in setting.hanging if setting.ways[name] > 0]
        return falling[0] if falling and len(setting.movers) > 1 else None

    @property
    def moves_freely(self) -> bool:
        """Whether something moves and nothing rests on its surface meanwhile."""
        setting = self.setting
        return setting.moves and all(setting.slides(name) for name in setting.sliders)

    @property
    def speeds_up(self) -> bool:
        """Whether the motion starts from rest and so goes the way of the acceleration."""
        return self.setting.moves and not self.setting.starts_moving

    @cached_property
    def same_pace(self) -> bool:
        """Whether all movers have accelerations of equal size."""
        setting = self.setting
        return setting.tied and all(setting.ratio(name) == 1 for name in setting.movers)

    @cached_property
    def reference_acceleration(self) -> Symbol:
        """The acceleration of the reference mover."""
        if self.setting.tied:
            return self.names.acceleration
        return self.names.acceleration_of(self.setting.reference)

    def suffixed(self, step: str) -> str:
        """A step's id, marked where it belongs to a later part of the run."""
        return step if self.setting.index == 0 else f"{step}-part-{self.setting.part}"

    # Equations and amounts.

    def result(self, left: Operand, right: Operand, unit: str) -> Equation:
        """An equation whose right side gives the value of the left one, where it has one."""
        tree = as_expression(right)
        return Equation(
            left=as_expression(left), right=tree, unit=unit, numbers=self.value(tree) is not None
        )

    def value(self, tree: Operand) -> float | None:
        """The value of a tree; None in a lesson without numbers and for what is undetermined."""
        if not self.numbers:
            return None
        try:
            return evaluate(as_expression(tree))
        except ValueMissingError:
            return None

    def amount(self, value: float, unit: str) -> Inline:
        """A value with its unit in a sentence, rounded for the reader."""
        digits = to_figures(value, self.setting.figures)
        return f"{digits}\u00a0{unit}" if unit else digits

    def falls(self, change: Expression) -> bool:
        """Whether a change of energy is a loss: a potential energy on the way down."""
        setting = self.setting
        falling = [n for n in setting.movers if setting.ways[n] * self._up(n) < 0]
        return any(as_expression(self.names.potential_change(n)) == change for n in falling)

    def _up(self, name: str) -> float:
        """Positive where a mover's fixed positive sense is upward."""
        return self.setting.slope(name) if name in self.setting.sliders else -1.0
