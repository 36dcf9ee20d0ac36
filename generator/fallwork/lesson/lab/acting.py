"""A force on an object as the pages tell of it: in words, with its size and its direction."""

from dataclasses import dataclass

from fallwork.lesson.context import Context
from fallwork.lesson.expression import Expression, Symbol, as_expression
from fallwork.lesson.steps.directions import direction, short_direction
from fallwork.lesson.steps.pieces import kind_of
from fallwork.lesson.words import sentence
from fallwork.mechanics.solution import Force


@dataclass(frozen=True)
class Acting:
    """A force on an object as the pages tell of it."""

    context: Context
    force: Force
    part: Symbol | None = None  # the one tension, where a string pulls on two sides
    side: str = ""

    @property
    def sort(self) -> str:
        """The kind of interaction: ``normal``, ``friction``, ``contact`` and so on."""
        return self.force.interaction.value

    @property
    def kind(self) -> str:
        """The trade's word for it."""
        return sentence(f"kinds.side.{self.side}") if self.side else kind_of(self.force)

    @property
    def on(self) -> str:
        """What it acts on."""
        return self.force.on

    @property
    def by(self) -> str:
        """What exerts it."""
        return self.force.partner

    @property
    def size(self) -> Expression:
        """How strong it is."""
        return as_expression(self.part) if self.part else self.context.motion.size(self.force)

    @property
    def acts(self) -> bool:
        """Whether it is there at all."""
        return self.context.setting.acts(self.force)

    @property
    def along(self) -> float:
        """Its component along the positive sense of the object's path, N."""
        return self.context.setting.along(self.force) or 0.0

    @property
    def direction(self) -> str:
        """Its direction in a table, e.g. ``forward along the surface``."""
        return sentence(f"directions.{direction(self.context, self.force)}")

    @property
    def way(self) -> str:
        """The same in a word or two, for the middle of a sentence."""
        return short_direction(self.context, self.force)

    @property
    def from_below(self) -> bool:
        """Whether the string that exerts it runs round the pulley from below."""
        layout = self.context.setting.layout.strings[self.by]
        return layout.bight(layout.path.index(self.on)) > 0
