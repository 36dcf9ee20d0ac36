"""What a step builder is handed: the setting, its symbols and its equations of motion."""

from dataclasses import dataclass
from functools import cached_property

from fallwork.lesson.document import Inline
from fallwork.lesson.equations import Motion
from fallwork.lesson.names import Names
from fallwork.lesson.rounding import to_figures
from fallwork.lesson.setting import Setting


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

    def amount(self, value: float, unit: str) -> Inline:
        """A value with its unit in a sentence, rounded for the reader."""
        digits = to_figures(value, self.setting.figures)
        return f"{digits}\u00a0{unit}" if unit else digits
