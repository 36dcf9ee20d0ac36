"""A force as the pages tell of it: in words, with its size and its direction."""

from collections.abc import Iterator
from dataclasses import dataclass

from fallwork.lesson.expression import Expression, Symbol, as_expression
from fallwork.lesson.lab.equations import Equations
from fallwork.lesson.words import sentence
from fallwork.mechanics.rigging import Element
from fallwork.mechanics.solution import Force, Interaction


@dataclass(frozen=True)
class Acting:
    """A force, in one phase."""

    lab: Equations
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
        return self.on in self.lab.movers

    @property
    def size(self) -> Expression:
        """How strong it is, on a mover."""
        return self.lab.size(self.force)

    @property
    def acts(self) -> bool:
        """Whether it is there at all."""
        return self.lab.acts(self.force)

    @property
    def along(self) -> float:
        """Its component along the positive sense of the object's path, N."""
        return self.lab.along(self.force) or 0.0

    @property
    def direction(self) -> str:
        """Its direction in a table, e.g. ``forward along the surface``."""
        return sentence(f"directions.{self._direction}")

    @property
    def way(self) -> str:
        """The same in a word or two, for the middle of a sentence."""
        return sentence(f"directions.short.{self._direction}")

    @property
    def _direction(self) -> str:
        interaction, along = self.force.interaction, self.lab.along(self.force)
        if interaction is Interaction.NORMAL:
            return "away" if self.lab.slope_rad(self.on) else "up"
        if interaction is Interaction.GRAVITY:
            return "down"
        if along is None:
            return "open"
        if self.on not in self.lab.sliders:
            return "up" if along < 0 else "down"
        return _ahead(self.lab, self.on, along > 0)

    @property
    def from_below(self) -> bool:
        """Whether the string that exerts it runs round the pulley from below."""
        line = self.lab.rigging.strings[self.by]
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


@dataclass(frozen=True)
class Push:
    """The push of a pulley on the bend of a string: against the pulls of both its parts.

    Each ``way`` in a word or two.
    """

    first: Expression
    first_way: str
    second: Expression
    second_way: str


def push_on(lab: Equations, string: str, pulley: str) -> Push | None:
    """The push on a string of a pulley that it passes; None if unclear."""
    path = lab.rigging.strings[string].path
    at = path.index(pulley) if pulley in path else 0
    if not 0 < at < len(path) - 1:
        return None
    ways = list(filter(None, _ways(lab, string, at)))
    pulls = [lab.tension(string, pulley, after=after) for after in (False, True)]
    first, second = map(as_expression, pulls)
    return Push(first, ways[0], second, ways[1]) if len(ways) == 2 else None


def _ways(lab: Equations, string: str, at: int) -> Iterator[str]:
    """Against the direction in which each of the two parts leaves the pulley; "" if unclear."""
    line = lab.rigging.strings[string]
    for segment, neighbour in ((at - 1, at - 1), (at, at + 1)):
        piece, outward = line.segments[segment], 1 if neighbour > at else -1
        way = ""
        if piece.along is not None and line.elements[neighbour] is Element.SLIDER:
            # The part leaves the pulley along the track; the push is the other way.
            way = _ahead(lab, line.path[neighbour], outward < 0)
        elif piece.upright:
            way = "down" if piece.upright * outward > 0 else "up"
        yield way and sentence(f"directions.short.{way}")


def _ahead(lab: Equations, name: str, ahead: bool) -> str:
    """The direction in which something on a surface goes forward or back."""
    slope = lab.slope_rad(name)
    if lab.upright(name):
        return "up" if ahead == (slope > 0) else "down"
    if slope:
        return "up-slope" if ahead == (slope > 0) else "down-slope"
    return "forward" if ahead else "back"
