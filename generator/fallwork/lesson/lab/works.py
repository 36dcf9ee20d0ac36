"""The work of a force over a phase: its component along the motion of its point, times the path."""

from dataclasses import dataclass

from fallwork.lesson.expression import Expression, Symbol, as_expression
from fallwork.lesson.lab.acting import Acting, Push, push_on
from fallwork.lesson.trees import opposite, product, scaled, signed, total
from fallwork.lesson.words import upper_first
from fallwork.mechanics.solution import Interaction


@dataclass(frozen=True)
class Work(Acting):
    """A force, and what it does over the phase."""

    @property
    def phrase(self) -> str:
        """The force in words with both its partners."""
        return self.lab.phrase(self.force)

    @property
    def Phrase(self) -> str:  # noqa: N802 - as it begins a sentence
        """The same, a capital first."""
        return upper_first(self.phrase)

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
    def push(self) -> Push | None:
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
        named = self.lab.has_symbol(self.force)
        return self.on_mover or (named and self.formula is not None)

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
        if self.force.work == 0:
            return None
        if self.on_mover:
            return self._on_mover
        kind = self.force.interaction if self.force.work is not None else None
        if kind is Interaction.BEARING_TORQUE:  # τ times the angle
            angle = self.lab.rim_distance(self.on) / self.lab.radius(self.on)
            return self._signed(product(self.lab.bearing_torque(self.on), angle))
        if kind is Interaction.TENSION and self.by in self.lab.movers:
            tension = self.lab.tension(self.on, self.by)  # minus what the string does
            return self._signed(product(tension, self.lab.distance_tree(self.by)))
        return self._rim if kind in (Interaction.TENSION, Interaction.CONTACT) else None

    @property
    def gathered(self) -> Expression | None:
        """The same by the common distance, each tension only once."""
        if not (self.lab.tied and self.moves_and_turns):
            return self.formula
        moved = self.lab.ratio(self.on) * (1 if self.with_motion else -1)
        turned = self.lab.onward * self.lab.rim(self.on)
        shares = [(moved + sign * turned, pull) for sign, pull in self.lab.rim_pulls(self.on)]
        distance = self.lab.distance
        return total(scaled(share, product(pull, distance)) for share, pull in shares if share)

    @property
    def _on_mover(self) -> Expression:
        size, sine = self.size, self.lab.sine(self.on)
        if self.force.interaction is Interaction.GRAVITY and sine is not None:
            size = product(size, sine)
        way = 1 if self.with_motion else -1
        moving = signed(way, product(size, self.lab.distance_tree(self.on)))
        if not self.moves_and_turns:
            return moving
        onward = self.lab.onward
        pulls = self.lab.rim_pulls(self.on)
        difference = total(signed(onward * sign, pull) for sign, pull in pulls)
        return total([moving, product(difference, self.lab.rim_distance(self.on))])

    @property
    def _rim(self) -> Expression | None:
        """String and a pulley that takes a torque: the difference of the two tensions."""
        back = self.by in self.lab.pulleys  # what the pulley does to the string
        pulley, string = (self.by, self.on) if back else (self.on, self.by)
        if pulley in self.lab.movers:
            return self._back_from
        if pulley not in self.lab.rotors:
            return None
        path = self.lab.apparatus.strings[string].path
        distance = self.lab.rim_distance(pulley)
        if pulley in (path[0], path[-1]):
            tension = self.lab.tension(string, pulley, after=pulley == path[0])
            return self._signed(product(tension, distance))
        before, after = (self.lab.tension(string, pulley, after=late) for late in (False, True))
        sides = (self.lab.stretch(string, pulley, after=late) for late in (False, True))
        pulls = [side.tension or 0.0 for side in sides]
        larger, smaller = (after, before) if pulls[1] >= pulls[0] else (before, after)
        return self._signed(product(larger - smaller, distance))

    @property
    def _back_from(self) -> Expression | None:
        """What a moving pulley does to the string that passes it: minus what that does to it."""
        for other in self.lab.phase.forces:
            both_ways = (other.on, other.partner) == (self.by, self.on)
            if both_ways and other.interaction is self.force.interaction and other.work:
                return opposite(Work(self.lab, other)._on_mover)
        return None

    def _signed(self, size: Expression) -> Expression:
        return signed(-1 if (self.force.work or 0.0) < 0 else 1, size)
