"""What a step builder is handed: the setting, its symbols and its equations of motion."""

from dataclasses import dataclass
from functools import cached_property

from fallwork.lesson.document import Equation, Inline
from fallwork.lesson.equations import Motion
from fallwork.lesson.expression import Expression, Operand, Symbol, as_expression, symbols_in
from fallwork.lesson.names import Names
from fallwork.lesson.rounding import to_figures
from fallwork.lesson.setting import Setting
from fallwork.lesson.trees import ZERO, rebuilt
from fallwork.mechanics.solution import Interaction


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

    @property
    def numbers(self) -> bool:
        """Whether the lesson shows values."""
        return self.setting.numbers

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
        """Whether friction acts anywhere."""
        return bool(self.motion.frictions)

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

    @cached_property
    def is_pair(self) -> bool:
        """Two hanging weights on one string."""
        setting = self.setting
        alone = len(setting.movers) == len(setting.hanging) == 2
        return (
            alone and len(setting.apparatus.strings) == 1 and not setting.rotors and self.same_pace
        )

    @cached_property
    def driver(self) -> str | None:
        """The first weight that goes down, where there are other movers."""
        setting = self.setting
        falling = [name for name in setting.hanging if setting.senses[name] > 0]
        return falling[0] if falling and len(setting.movers) > 1 else None

    @property
    def moves_freely(self) -> bool:
        """Whether something moves and is held by nothing but kinetic friction."""
        setting = self.setting
        return setting.moves and all(setting.slides(name) for name in setting.sliders)

    @property
    def speeds_up(self) -> bool:
        """Whether the motion starts from rest and so goes the way of the acceleration."""
        return self.setting.moves and not self.names.starts_moving

    @property
    def turns(self) -> bool:
        """Whether the phase ends because the motion comes to a stop."""
        stopped = not any(self.setting.phase.end_velocities.values())
        return stopped and self.names.starts_moving

    @cached_property
    def reference_acceleration(self) -> Symbol:
        """The acceleration of the reference mover."""
        if self.setting.tied:
            return self.names.acceleration
        return self.names.acceleration_of(self.setting.reference)

    def suffixed(self, step: str) -> str:
        """A step's id, marked where it belongs to a later phase of the run."""
        return step if self.setting.index == 0 else f"{step}-phase-{self.setting.index + 1}"

    @cached_property
    def same_pace(self) -> bool:
        """Whether all movers have accelerations of equal size."""
        setting = self.setting
        return setting.tied and all(setting.ratio(name) == 1 for name in setting.movers)

    def acceleration_of(self, name: str) -> Symbol:
        """The acceleration of one mover; with a single mover just a."""
        if len(self.setting.movers) == 1:
            return self.names.acceleration
        return self.names.acceleration_of(name)

    def result(self, left: Operand, right: Expression, unit: str) -> Equation:
        """An equation whose right side gives the value of the left one."""
        return Equation(left=as_expression(left), right=right, unit=unit, numbers=self.numbers)

    def at_rest(self, tree: Expression) -> Expression:
        """A tree with all accelerations zero."""
        gone = {s.id: ZERO for s in symbols_in(tree) if s.id.startswith("acceleration")}
        return rebuilt(tree, gone)

    def falls(self, change: Expression) -> bool:
        """Whether a change of energy is a loss: a potential energy on the way down."""
        setting = self.setting
        for name in setting.movers:
            gravity = setting.force(Interaction.GRAVITY, name)
            mine = as_expression(self.names.potential_change(name)) == change
            if mine and gravity is not None:
                return (gravity.work or 0.0) > 0
        return False

    def first_kinetic(self, name: str) -> float:
        """The kinetic energy of a mover at the start of the phase, J."""
        return self.setting.mass(name) * self.names.first_speed(name) ** 2 / 2

    def first_rotational(self, name: str) -> float:
        """The rotational energy of a cart's wheels or of a pulley at the start of the phase, J."""
        setting = self.setting
        if name in setting.bodies:
            return setting.wheel_mass(name) * self.names.first_speed(name) ** 2 / 4
        pulley = setting.pulleys[name]
        rim = float(setting.rim(name)) * self.names.first_speed(setting.reference)
        return float(pulley.inertia) * (rim / float(pulley.radius or 1.0)) ** 2 / 2

    def amount(self, value: float, unit: str) -> Inline:
        """A value with its unit in a sentence, rounded for the reader."""
        digits = to_figures(value, self.setting.figures)
        return f"{digits}\u00a0{unit}" if unit else digits
