"""A force as the pages tell of it: in words, with its size and its direction."""

from dataclasses import dataclass

from fallwork.lesson.context import Context
from fallwork.lesson.expression import Expression, Symbol, as_expression
from fallwork.lesson.lab.directions import direction, short_direction
from fallwork.lesson.lab.seen import Seen
from fallwork.lesson.words import sentence
from fallwork.mechanics.solution import Force, Interaction


@dataclass(frozen=True)
class Acting(Seen):
    """A force, in one phase."""

    context: Context
    force: Force

    @property
    def sort(self) -> str:
        """The kind of interaction: ``normal``, ``friction``, ``contact`` and so on."""
        return self.force.interaction.value

    @property
    def kind(self) -> str:
        """The trade's word for it; of a pulley or a string, there is another one."""
        if not self.on_mover and self.force.interaction is Interaction.CONTACT:
            return sentence("kinds.push")
        if not self.on_mover and self.force.interaction is Interaction.AXLE:
            return sentence("kinds.fixed-axle")
        return sentence(f"kinds.{self.force.interaction.key}")

    @property
    def on(self) -> str:
        """The object on which it acts."""
        return self.force.on

    @property
    def by(self) -> str:
        """The object that exerts it."""
        return self.force.partner

    @property
    def on_mover(self) -> bool:
        """Whether it acts on something that translates."""
        return self.on in self.setting.movers

    @property
    def size(self) -> Expression:
        """How strong it is, on a mover."""
        return self.motion.size(self.force)

    @property
    def acts(self) -> bool:
        """Whether it is there at all."""
        return self.setting.acts(self.force)

    @property
    def along(self) -> float:
        """Its component along the positive sense of the object's path, N."""
        return self.setting.along(self.force) or 0.0

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
        line = self.setting.rigging.strings[self.by]
        return line.bight(line.path.index(self.on)) > 0


@dataclass(frozen=True)
class Side(Acting):
    """The pull of a string on one of the two sides of a pulley."""

    tension: Symbol
    side: str  # ``one`` or ``other``

    @property
    def kind(self) -> str:
        """The trade's word for it."""
        return sentence(f"kinds.side.{self.side}")

    @property
    def size(self) -> Expression:
        """The tension."""
        return as_expression(self.tension)
