"""A force as the pages tell of it: in words, with its size and direction; and its work over the
phase: its component along the motion of its point, times the path.
"""

from dataclasses import dataclass
from typing import TYPE_CHECKING

from fallwork.lesson.expression import Expression, Symbol
from fallwork.lesson.lab.symbols import interaction_row
from fallwork.lesson.trees import opposite, product, scaled, signed, total
from fallwork.lesson.words import say
from fallwork.mechanics.solution import Force, Interaction

if TYPE_CHECKING:
    from fallwork.lesson.lab.base import Base


@dataclass(frozen=True)
class Acting:
    """A force, in one phase."""

    lab: "Base"
    force: Force
    tension: Symbol | None = None  # of a string's pull on one of the two sides of a pulley
    side: str = ""  # ``one`` or ``other``

    @property
    def kind(self) -> str:
        """The trade's word for it; of a pulley or a string, there is another one."""
        row = interaction_row(self.force)
        if self.side:
            return say(f"sides.{self.side}")
        return row["kind"] if self.on_mover else row.get("elsewhere", row["kind"])

    @property
    def on(self) -> str:
        """The object on which it acts."""
        return self.force.on

    @property
    def on_mover(self) -> bool:
        """Whether it acts on something that translates."""
        return self.on in self.lab.movers

    @property
    def size(self) -> Expression:
        """How strong it is, on a mover."""
        return self.tension or self.lab.size(self.force)

    @property
    def letter(self) -> Expression | None:
        """How strong the force is; None where the lesson has no symbol for it."""
        if self.on_mover:
            return self.size
        if self.force.interaction is Interaction.BEARING_TORQUE:
            return self.lab.bearing_torque(self.on)
        if self.force.interaction is not Interaction.TENSION:
            return None
        strings, by = self.lab.apparatus.strings, self.force.partner
        string, pulled = (self.on, by) if self.on in strings else (by, self.on)
        ends = strings[string].path[0], strings[string].path[-1]
        held = [name for name in ends if name == pulled or name not in self.lab.movers]
        return self.lab.tension(string, pulled if pulled in held else held[0])

    @property
    def along(self) -> float:
        """Its component along the positive sense of the object's path, N."""
        return self.lab.along(self.force) or 0.0

    @property
    def phrase(self) -> str:
        """The force in words with both its partners."""
        return self.lab.phrase(self.force)

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
        lab, kind, by = self.lab, self.force.interaction, self.force.partner
        if self.force.work == 0:
            return None
        if self.on_mover:
            return self._on_mover
        if self.force.work is None:
            return None
        if kind is Interaction.BEARING_TORQUE:  # τ times the angle
            angle = lab.rim_distance(self.on) / lab.radius(self.on)
            work: Expression = product(lab.bearing_torque(self.on), angle)
        elif kind is Interaction.TENSION and by in lab.movers:  # minus what the string does
            work = product(lab.tension(self.on, by), lab.distance_tree(by))
        else:
            return self._rim if kind in (Interaction.TENSION, Interaction.CONTACT) else None
        return signed(-1 if self.force.work < 0 else 1, work)

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
        """With a pulley that takes a torque: the difference of the two tensions."""
        lab, by = self.lab, self.force.partner
        back = by in lab.pulleys  # what the pulley does to the string
        pulley, string = (by, self.on) if back else (self.on, by)
        if pulley in lab.movers:
            alike = string, self.force.interaction
            own = (f for f in lab.forces_on(pulley) if (f.partner, f.interaction) == alike)
            force = next((force for force in own if force.work), None)
            return None if force is None else opposite(Acting(lab, force)._on_mover)
        if pulley not in lab.rotors:
            return None
        path, sign = lab.apparatus.strings[string].path, -1 if (self.force.work or 0.0) < 0 else 1
        sides = [lab.stretch(string, pulley, after=late) for late in (False, True)]
        smaller, larger = map(lab.tension_of, sorted(sides, key=lambda side: side.tension or 0.0))
        pull = larger if pulley in (path[0], path[-1]) else larger - smaller
        return signed(sign, product(pull, lab.rim_distance(pulley)))
