"""What the solver says of a run, with the names in it kept apart from the words around them."""

from collections.abc import Callable
from typing import Self


class Statement(str):
    """A plain statement, ``cart reaches pulley``; as text it has the names as files have them."""

    pattern: str  # with {} for each name
    names: tuple[str, ...]  # or statements within this one

    def __new__(cls, pattern: str, *names: str) -> Self:
        """The statement with its names filled in."""
        made = super().__new__(cls, pattern.format(*names))
        made.pattern, made.names = pattern, names
        return made

    def __reduce__(self) -> tuple[type, tuple[str, ...]]:
        return type(self), (self.pattern, *self.names)

    def said(self, call: Callable[[str], str]) -> str:
        """The same with each thing called as ``call`` does."""
        words = (n.said(call) if isinstance(n, Statement) else call(n) for n in self.names)
        return self.pattern.format(*words)
