"""Symbols of the forces that the model gives, as sizes, and of the phrases for them."""

from collections.abc import Mapping
from functools import cached_property
from itertools import accumulate

from fallwork.lesson.expression import Symbol
from fallwork.lesson.lab.stretches import Stretch, stretches
from fallwork.lesson.lab.symbols_givens import GivenSymbols
from fallwork.mechanics.solution import Force, Interaction

PHRASES: Mapping[Interaction, str] = {
    Interaction.NORMAL: "the normal force",
    Interaction.FRICTION: "the friction force",
    Interaction.TENSION: "the pull",
    Interaction.CONTACT: "the push",
    Interaction.AXLE: "the pull",
    Interaction.ROLLING: "the force at the rims",
}


class ForceSymbols(GivenSymbols):
    """Forces, as magnitudes; their directions are said in words and by signs."""

    def phrase(self, force: Force) -> str:
        """A force in words with both its partners, e.g. the pull of the string on the cart."""
        the, partner, on = self.the, force.partner, force.on
        if force.interaction is Interaction.GRAVITY:
            return f"gravity on {the(on)}"
        if force.interaction is Interaction.BEARING_TORQUE:
            return f"the friction torque in the bearing of {the(on)}"
        if force.interaction is Interaction.AXLE and on not in self.movers:
            return f"the force of the axle on {the(on)}"
        if force.interaction is Interaction.CONTACT and on in self.pulleys:
            return f"the pull of {the(partner)} on {the(on)}"
        words = PHRASES.get(force.interaction, f"the {force.interaction.value}")
        return f"{words} of {the(partner)} on {the(on)}"

    def normal(self, name: str) -> Symbol:
        """The normal force of the surface on an object: the same in every part of a run."""
        force = self.force(Interaction.NORMAL, name)
        return self.lasting(
            f"normal.{name}",
            "N",
            f"normal force {self._place(name)}",
            "N",
            lambda: 0.0 if force is None else force.size,
            self.where_several(name, self.sliders),
        )

    def friction(self, name: str) -> Symbol:
        """The friction force on an object, as a magnitude.

        Kinetic friction has the same size in every part of a run, static friction its own.
        """
        force = self.force(Interaction.FRICTION, name)

        def size() -> float | None:
            return 0.0 if force is None else force.size

        if self.sliding(name):
            mark = self.where_several(name, self.sliders)
            words = f"friction force {self._place(name)}"
            return self.lasting(f"friction-force.{name}", "f", words, "N", size, mark)
        mark = self.where_several(name, self.sliders, "s")
        words = f"static friction force {self._place(name)}"
        return self.computed(f"static-friction-force.{name}", "f", words, "N", size, mark)

    def _place(self, name: str) -> str:
        return f"of {self.the(self.surface_under(name))} on {self.the(name)}"

    def rolling(self, name: str) -> Symbol:
        """The force of the surface on the rims of the wheels that makes them turn, as a size."""
        force = self.force(Interaction.ROLLING, name)
        return self.computed(
            f"rolling.{name}",
            "R",
            f"force of {self.the(self.surface_under(name))} on the rims of the wheels of "
            f"{self.the(name)}",
            "N",
            lambda: 0.0 if force is None else force.size,
            self.where_several(name, self.sliders),
        )

    def friction_limit(self, name: str) -> Symbol:
        """The most that static friction can reach."""
        body = self.bodies[name]
        coefficient = body.friction if body.static_friction is None else body.static_friction
        normal = self.force(Interaction.NORMAL, name)
        several = self.where_several(name, self.sliders)
        return self.lasting(
            f"friction-limit.{name}",
            "f",
            f"largest static friction force {self._place(name)}",
            "N",
            lambda: float(coefficient) * (0.0 if normal is None else normal.size or 0.0),
            subscript=f"max,{several}" if several else "max",
        )

    def sliding_friction(self, name: str, value: float | None) -> Symbol:
        """The kinetic friction that would act on an object at rest if it slid."""
        mark = self.where_several(name, self.sliders, "k")
        meaning = f"kinetic friction force that would act on {self.the(name)} if it slid"
        return self.lasting(f"kinetic-friction.{name}", "f", meaning, "N", lambda: value, mark)

    def holding_torque(self, pulley: str) -> Symbol:
        """The torque with which a bearing holds a pulley at rest, as a size."""
        force = self.force(Interaction.BEARING_TORQUE, pulley)
        return self.computed(
            f"holding-torque.{pulley}",
            "tau",
            f"torque with which its bearing holds {self.the(pulley)} at rest",
            "N·m",
            lambda: None if force is None else force.size,
            self.where_several(pulley, self.rotors, "hold"),
        )

    def support(self, name: str) -> Symbol:
        """The pull of a moving pulley on what hangs rigidly from it."""
        pulley = self.carried[name]
        force = self.force(Interaction.AXLE, name)
        return self.computed(
            f"support.{name}",
            "S",
            f"pull between {self.the(pulley)} and {self.the(name)}",
            "N",
            lambda: None if force is None else force.size,
            self.where_several(name, tuple(self.carried)),
        )

    # Tensions.

    @cached_property
    def stretches(self) -> tuple[Stretch, ...]:
        """The stretches of string that have one tension each."""
        return stretches(self)

    def tension(self, string: str, name: str, *, after: bool = False) -> Symbol:
        """The tension of a string where it meets an object; ``after`` it, for a pulley."""
        return self.tension_of(self.stretch(string, name, after=after))

    def tension_at(self, string: str, segment: int) -> Symbol:
        """The tension of a straight piece of string, counted along its path."""
        own = [stretch for stretch in self.stretches if stretch.string == string]
        lengths = accumulate(len(stretch.objects) - 1 for stretch in own)
        found = next(s for s, end in zip(own, lengths, strict=True) if segment < end)
        return self.tension_of(found)

    def tension_of(self, stretch: Stretch) -> Symbol:
        """The tension of a stretch of string."""
        return self.computed(
            stretch.key,
            "T",
            self._stretch_meaning(stretch),
            "N",
            lambda: stretch.tension,
            self._stretch_subscript(stretch),
        )

    def one_tension(self, string: str) -> bool:
        """Whether the string pulls equally along its whole length."""
        return sum(stretch.string == string for stretch in self.stretches) == 1

    def stretch(self, string: str, name: str, *, after: bool = False) -> Stretch:
        """The stretch of a string that meets an object."""
        found = [s for s in self.stretches if s.string == string and name in s.objects]
        return found[-1] if after else found[0]

    def _stretch_meaning(self, stretch: Stretch) -> str:
        meaning = f"tension of {self.the(stretch.string)}"
        if sum(other.string == stretch.string for other in self.stretches) == 1:
            return meaning
        ends = [self.the(name) for name in (stretch.objects[0], stretch.objects[-1])]
        return f"{meaning} between {ends[0]} and {ends[1]}"

    def _stretch_subscript(self, stretch: Stretch) -> str:
        """The object that it pulls where each stretch has one of its own, else a number."""
        if len(self.stretches) == 1:
            return ""
        pulled = [self._pulled_by(other) for other in self.stretches]
        own = self._pulled_by(stretch)
        if len(self.apparatus.strings) == 1 and own and len(set(pulled)) == len(pulled):
            return self.subscript(own)
        return str(self.stretches.index(stretch) + 1)

    def _pulled_by(self, stretch: Stretch) -> str:
        """A mover that the stretch meets, a body before a pulley; "" where there is none."""
        ends = [name for name in stretch.objects if name in self.bodies]
        ends += [name for name in stretch.objects if name in self.lifts]
        return ends[0] if ends else ""
