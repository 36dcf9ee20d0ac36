"""What is asked of one phase of a set-up: its setting, its symbols and its equations at hand."""

from typing import Protocol

from fallwork.lesson.context import Context
from fallwork.lesson.equations import Motion
from fallwork.lesson.setting import Setting
from fallwork.lesson.symbols import Names


class _InContext(Protocol):
    @property
    def context(self) -> Context: ...


class Seen:
    """Something with a context."""

    @property
    def setting(self: _InContext) -> Setting:
        """The set-up with its solution, in this phase."""
        return self.context.setting

    @property
    def names(self: _InContext) -> Names:
        """The symbols."""
        return self.context.names

    @property
    def motion(self: _InContext) -> Motion:
        """The equations of motion."""
        return self.context.motion
