"""What every step builder works from: the set-up, its solution and the facts derived from them.

Takes the scenario, the apparatus and the solution; gives the movers, how the strings tie their
motions together, and which way each moves. Says nothing in words.
"""

import math
from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction
from functools import cached_property

from fallwork.mechanics.apparatus import Apparatus, Body
from fallwork.mechanics.solution import Force, Interaction, Phase, Solution
from fallwork.scenario.model import Scenario


@dataclass(frozen=True)
class Setting:
    """One set-up with its solution. ``numbers``: the lesson shows values."""

    scenario: Scenario
    apparatus: Apparatus
    solution: Solution
    figures: int
    numbers: bool

    @property
    def phase(self) -> Phase:
        """The part of the run that the lesson works through: the first phase."""
        return self.solution.phases[0]

    @property
    def moves(self) -> bool:
        """Whether anything moves after the release."""
        return self.solution.moves

    @cached_property
    def movers(self) -> tuple[str, ...]:
        """Everything that translates, in the order of the file."""
        return tuple(
            name
            for name in self.scenario.objects
            if name in self.apparatus.bodies
            or (name in self.apparatus.pulleys and self.apparatus.pulleys[name].moving)
        )

    @cached_property
    def bodies(self) -> Mapping[str, Body]:
        """The carts, blocks and hanging weights, in the order of the file."""
        return {
            name: self.apparatus.bodies[name]
            for name in self.movers
            if name in self.apparatus.bodies
        }

    @cached_property
    def sliders(self) -> tuple[str, ...]:
        """What runs on a surface."""
        return tuple(name for name, body in self.bodies.items() if body.surface is not None)

    @cached_property
    def hanging(self) -> tuple[str, ...]:
        """What hangs."""
        return tuple(name for name, body in self.bodies.items() if body.surface is None)

    def slides(self, name: str) -> int:
        """+1 where the object slides forward, -1 back, 0 where it rests on its surface."""
        return self.phase.sliding.get(name, 0)

    def rubs(self, name: str) -> bool:
        """Whether friction of the surface acts on the object."""
        force = self.force(Interaction.FRICTION, name)
        return force is not None and bool(force.size)

    def forces_on(self, name: str) -> tuple[Force, ...]:
        """What acts on an object, in a fixed order of kinds."""
        order = list(Interaction)
        found = [force for force in self.phase.forces if force.on == name]
        return tuple(sorted(found, key=lambda force: order.index(force.interaction)))

    def force(self, interaction: Interaction, on: str) -> Force | None:
        """The force of one kind on an object, or None."""
        for force in self.phase.forces:
            if force.on == on and force.interaction is interaction:
                return force
        return None

    def strings_at(self, name: str) -> tuple[str, ...]:
        """The strings that end on an object."""
        return tuple(
            string.name
            for string in self.apparatus.strings.values()
            if name in (string.path[0], string.path[-1])
        )

    @cached_property
    def ratios(self) -> Mapping[str, int]:
        """How far each mover goes, in smallest whole numbers, along its fixed positive sense.

        Empty where the strings don't tie every mover to every other one.
        """
        found = {self.apparatus.run.object: Fraction(1)}
        taut = [s for s in self.apparatus.strings if s not in self.phase.slack]
        for _ in taut:
            for equation in map(self.constraint, taut):
                unknown = [name for name in equation if name not in found]
                if len(unknown) == 1:
                    known = sum(k * found[name] for name, k in equation.items() if name in found)
                    found[unknown[0]] = -known / equation[unknown[0]]
        if set(found) != set(self.movers):
            return {}
        scale = math.lcm(*(value.denominator for value in found.values()))
        return {name: int(found[name] * scale) for name in self.movers}

    @cached_property
    def senses(self) -> Mapping[str, int]:
        """The sense in which the lesson counts each mover's motion: +1 its fixed positive one.

        The way it goes; where nothing moves, the way the run's object would draw the others.
        """
        if not self.moves:
            return {name: 1 if self.ratios.get(name, 1) >= 0 else -1 for name in self.movers}
        return {
            name: -1 if (self.phase.displacements[name] or 0.0) < 0 else 1 for name in self.movers
        }

    @cached_property
    def reference(self) -> str:
        """The mover whose acceleration is ``a`` and whose path is ``d``."""
        chosen = self.apparatus.run.object
        slowest = min(abs(ratio) for ratio in self.ratios.values())
        if abs(self.ratios[chosen]) == slowest:
            return chosen
        return next(name for name, ratio in self.ratios.items() if abs(ratio) == slowest)

    def constraint(self, string: str) -> Mapping[str, int]:
        """By how much a string's parts lengthen per unit of motion of each mover."""
        path = self.apparatus.strings[string].path
        result: dict[str, int] = {}
        for index, name in enumerate(path):
            if name not in self.movers:
                continue
            end = index in (0, len(path) - 1)
            forward_first = index == 0 and name in self.sliders
            result[name] = -1 if forward_first else 1 if end else 2
        return result
