"""A force as the pages tell of it: in words, with its size and direction; and its work over the
phase: its component along the motion of its point, times the path.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING

from fallwork.lesson.expression import Expression, Symbol, as_expression
from fallwork.lesson.lab.symbols import interaction_row
from fallwork.lesson.trees import opposite, product, scaled, signed, total
from fallwork.lesson.words import sentence, upper_first
from fallwork.mechanics.rigging import Element
from fallwork.mechanics.solution import Force, Interaction

if TYPE_CHECKING:
    from fallwork.lesson.lab.base import Base


@dataclass(frozen=True)
class Acting:
    """A force, in one phase."""

    lab: "Base"
    force: Force

    @property
    def sort(self) -> str:
        """The kind of interaction: ``normal``, ``friction``, ``contact`` and so on."""
        return self.force.interaction.value

    @property
    def kind(self) -> str:
        """The trade's word for it; of a pulley or a string, there is another one."""
        row = interaction_row(self.force)
        return row["kind"] if self.on_mover else row.get("elsewhere", row["kind"])

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
    def phrase(self) -> str:
        """The force in words with both its partners."""
        return self.lab.phrase(self.force)

    @property
    def Phrase(self) -> str:  # noqa: N802 - as it begins a sentence
        """The same, a capital first."""
        return upper_first(self.phrase)

    # ---- where it points

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

    # ---- its work

    @property
    def why_none(self) -> str:
        """Why it does no work, by the word of ``ZeroWork``."""
        return self.force.reason.value if self.force.reason else ""

    @property
    def letter(self) -> Expression | None:
        """How strong the force is; None where the lesson has no symbol for it."""
        strings = self.lab.apparatus.strings
        if self.on_mover:
            return self.size
        if self.force.interaction is Interaction.BEARING_TORQUE:
            return as_expression(self.lab.bearing_torque(self.on))
        if self.force.interaction is not Interaction.TENSION:
            return None
        string, pulled = (self.on, self.by) if self.on in strings else (self.by, self.on)
        ends = strings[string].path
        anchors = [n for n in (ends[0], ends[-1]) if n not in self.lab.movers]
        return as_expression(self.lab.tension(string, pulled if pulled in ends else anchors[0]))

    @property
    def push(self) -> "Push | None":
        """The push of a pulley on a string, by its two parts; None where it is no such push."""
        on_string = self.on in self.lab.apparatus.strings
        if not on_string or self.force.interaction is not Interaction.CONTACT:
            return None
        return push_on(self.lab, self.on, self.by)

    @property
    def symbol(self) -> Symbol:
        """W with its subscript."""
        return self.lab.work(self.force)

    @property
    def listed(self) -> bool:
        """Whether an equation gives the work: on movers, and on pulleys that have a formula."""
        return self.on_mover or (self.on in self.lab.pulleys and self.formula is not None)

    @property
    def with_motion(self) -> bool:
        """Whether the force points along the motion of a mover, not against it."""
        return self.along * self.lab.ways[self.on] > 0

    @property
    def moves_and_turns(self) -> bool:
        """Whether it is that of a string on a moving pulley which takes a torque to turn."""
        passes = self.force.interaction is Interaction.CONTACT
        return passes and self.on_mover and self.on in self.lab.rotors

    @property
    def formula(self) -> Expression | None:
        """The work as a formula; its sign is that of the solver. None where no short one exists."""
        lab = self.lab
        if self.force.work == 0:
            return None
        if self.on_mover:
            return self._on_mover
        kind = self.force.interaction if self.force.work is not None else None
        if kind is Interaction.BEARING_TORQUE:  # τ times the angle
            angle = lab.rim_distance(self.on) / lab.radius(self.on)
            return self._signed(product(lab.bearing_torque(self.on), angle))
        if kind is Interaction.TENSION and self.by in lab.movers:
            tension = lab.tension(self.on, self.by)  # minus what the string does
            return self._signed(product(tension, lab.distance_tree(self.by)))
        return self._rim if kind in (Interaction.TENSION, Interaction.CONTACT) else None

    @property
    def gathered(self) -> Expression | None:
        """The same by the common distance, each tension only once."""
        lab = self.lab
        if not (lab.tied and self.moves_and_turns):
            return self.formula
        moved = lab.ratio(self.on) * (1 if self.with_motion else -1)
        turned = lab.onward * lab.rim(self.on)
        shares = [(moved + sign * turned, pull) for sign, pull in lab.rim_pulls(self.on)]
        return total(scaled(share, product(pull, lab.distance)) for share, pull in shares if share)

    @property
    def _on_mover(self) -> Expression:
        lab, size, sine = self.lab, self.size, self.lab.sine(self.on)
        if self.force.interaction is Interaction.GRAVITY and sine is not None:
            size = product(size, sine)
        way = 1 if self.with_motion else -1
        moving = signed(way, product(size, lab.distance_tree(self.on)))
        if not self.moves_and_turns:
            return moving
        difference = total(signed(lab.onward * sign, pull) for sign, pull in lab.rim_pulls(self.on))
        return total([moving, product(difference, lab.rim_distance(self.on))])

    @property
    def _rim(self) -> Expression | None:
        """String and a pulley that takes a torque: the difference of the two tensions."""
        lab, back = self.lab, self.by in self.lab.pulleys  # what the pulley does to the string
        pulley, string = (self.by, self.on) if back else (self.on, self.by)
        if pulley in lab.movers:
            return self._back_from
        if pulley not in lab.rotors:
            return None
        path, distance = lab.apparatus.strings[string].path, lab.rim_distance(pulley)
        if pulley in (path[0], path[-1]):
            tension = lab.tension(string, pulley, after=pulley == path[0])
            return self._signed(product(tension, distance))
        sides = [lab.stretch(string, pulley, after=late) for late in (False, True)]
        smaller, larger = map(lab.tension_of, sorted(sides, key=lambda side: side.tension or 0.0))
        return self._signed(product(larger - smaller, distance))

    @property
    def _back_from(self) -> Expression | None:
        """What a moving pulley does to the string that passes it: minus what that does to it."""
        for other in self.lab.phase.forces:
            both_ways = (other.on, other.partner) == (self.by, self.on)
            if both_ways and other.interaction is self.force.interaction and other.work:
                return opposite(Acting(self.lab, other)._on_mover)
        return None

    def _signed(self, size: Expression) -> Expression:
        return signed(-1 if (self.force.work or 0.0) < 0 else 1, size)


@dataclass(frozen=True)
class Side(Acting):
    """The pull of a string on one of the two sides of a pulley."""

    tension: Symbol
    side: str  # ``one`` or ``other``

    @property
    def kind(self) -> str:
        """The trade's word for it."""
        return sentence(f"sides.{self.side}")

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


def push_on(lab: "Base", string: str, pulley: str) -> Push | None:
    """The push on a string of a pulley that it passes; None if unclear."""
    path = lab.apparatus.strings[string].path
    at = path.index(pulley) if pulley in path else 0
    if not 0 < at < len(path) - 1:
        return None
    ways = list(filter(None, _ways(lab, string, at)))
    pulls = [lab.tension(string, pulley, after=after) for after in (False, True)]
    first, second = map(as_expression, pulls)
    return Push(first, ways[0], second, ways[1]) if len(ways) == 2 else None


def _ways(lab: "Base", string: str, at: int) -> Iterator[str]:
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


def _ahead(lab: "Base", name: str, ahead: bool) -> str:
    """The direction in which something on a surface goes forward or back."""
    slope = lab.slope_rad(name)
    if lab.upright(name):
        return "up" if ahead == (slope > 0) else "down"
    if slope:
        return "up-slope" if ahead == (slope > 0) else "down-slope"
    return "forward" if ahead else "back"
