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
        return self.names.phrase(self.force)

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
        names, strings = self.names, self.setting.apparatus.strings
        if self.on_mover:
            return self.size
        if self.force.interaction is Interaction.BEARING_TORQUE:
            return as_expression(names.bearing_torque(self.on))
        if self.force.interaction is not Interaction.TENSION:
            return None
        string, pulled = (self.on, self.by) if self.on in strings else (self.by, self.on)
        ends = strings[string].path
        anchors = [n for n in (ends[0], ends[-1]) if n not in self.setting.movers]
        return as_expression(names.tension(string, pulled if pulled in ends else anchors[0]))

    @property
    def push(self) -> Push | None:
        """The push of a pulley on a string, by its two parts; None where it is no such push."""
        on_string = self.on in self.setting.apparatus.strings
        if not on_string or self.force.interaction is not Interaction.CONTACT:
            return None
        return push_on(self.context, self.on, self.by)

    @property
    def symbol(self) -> Symbol:
        """W with its subscript."""
        return self.names.work(self.force)

    @property
    def listed(self) -> bool:
        """Whether an equation gives the work: on movers, and on pulleys that have a formula."""
        named = self.names.has_symbol(self.force)
        return self.on_mover or (named and self.formula is not None)

    @property
    def with_motion(self) -> bool:
        """Whether the force points along the motion of a mover, not against it."""
        return self.along * self.setting.ways[self.on] > 0

    @property
    def moves_and_turns(self) -> bool:
        """Whether it is that of a string on a moving pulley which takes a torque to turn."""
        passes = self.force.interaction is Interaction.CONTACT
        return passes and self.on_mover and self.on in self.setting.rotors

    @property
    def formula(self) -> Expression | None:
        """The work as a formula; its sign is that of the solver. None where no short one exists."""
        if self.force.work == 0:
            return None
        if self.on_mover:
            return self._on_mover
        kind = self.force.interaction if self.force.work is not None else None
        if kind is Interaction.BEARING_TORQUE:  # τ times the angle
            names = self.names
            angle = self.motion.rim_distance(self.on) / names.radius(self.on)
            return self._signed(product(names.bearing_torque(self.on), angle))
        if kind is Interaction.TENSION and self.by in self.setting.movers:
            tension = self.names.tension(self.on, self.by)  # minus what the string does
            return self._signed(product(tension, self.motion.distance_tree(self.by)))
        return self._rim if kind in (Interaction.TENSION, Interaction.CONTACT) else None

    @property
    def gathered(self) -> Expression | None:
        """The same by the common distance, each tension only once."""
        setting, motion = self.setting, self.motion
        if not (setting.tied and self.moves_and_turns):
            return self.formula
        moved = setting.ratio(self.on) * (1 if self.with_motion else -1)
        turned = setting.onward * setting.rim(self.on)
        shares = [(moved + sign * turned, pull) for sign, pull in motion.rim_pulls(self.on)]
        distance = self.names.distance
        return total(scaled(share, product(pull, distance)) for share, pull in shares if share)

    @property
    def _on_mover(self) -> Expression:
        motion = self.motion
        size, sine = self.size, motion.sine(self.on)
        if self.force.interaction is Interaction.GRAVITY and sine is not None:
            size = product(size, sine)
        way = 1 if self.with_motion else -1
        moving = signed(way, product(size, motion.distance_tree(self.on)))
        if not self.moves_and_turns:
            return moving
        onward = self.setting.onward
        difference = total(signed(onward * sign, pull) for sign, pull in motion.rim_pulls(self.on))
        return total([moving, product(difference, motion.rim_distance(self.on))])

    @property
    def _rim(self) -> Expression | None:
        """String and a pulley that takes a torque: the difference of the two tensions."""
        setting, names = self.setting, self.names
        back = self.by in setting.pulleys  # what the pulley does to the string
        pulley, string = (self.by, self.on) if back else (self.on, self.by)
        if pulley in setting.movers:
            return self._back_from
        if pulley not in setting.rotors:
            return None
        path = setting.apparatus.strings[string].path
        distance = self.motion.rim_distance(pulley)
        if pulley in (path[0], path[-1]):
            tension = names.tension(string, pulley, after=pulley == path[0])
            return self._signed(product(tension, distance))
        before, after = (names.tension(string, pulley, after=late) for late in (False, True))
        pulls = [names.stretch(string, pulley, after=late).tension or 0.0 for late in (False, True)]
        larger, smaller = (after, before) if pulls[1] >= pulls[0] else (before, after)
        return self._signed(product(larger - smaller, distance))

    @property
    def _back_from(self) -> Expression | None:
        """What a moving pulley does to the string that passes it: minus what that does to it."""
        for other in self.setting.phase.forces:
            both_ways = (other.on, other.partner) == (self.by, self.on)
            if both_ways and other.interaction is self.force.interaction and other.work:
                return opposite(Work(self.context, other)._on_mover)
        return None

    def _signed(self, size: Expression) -> Expression:
        return signed(-1 if (self.force.work or 0.0) < 0 else 1, size)
