"""What every step builder works from: the set-up, its solution and the facts derived from them.

Takes the scenario, the apparatus and the solution; gives the movers, how the strings tie their
motions together, and which way each moves. Says nothing in words.
"""

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace
from fractions import Fraction
from functools import cached_property

from fallwork.mechanics import Layout, layout_of
from fallwork.mechanics.apparatus import Apparatus, Body, Pulley
from fallwork.mechanics.solution import Force, Interaction, Phase, Solution
from fallwork.scenario.model import Scenario


@dataclass(frozen=True)
class Setting:
    """One set-up with its solution, seen in one phase. ``numbers``: the lesson shows values."""

    scenario: Scenario
    apparatus: Apparatus
    solution: Solution
    figures: int
    numbers: bool
    index: int = 0  # of the phase that the steps work through

    @property
    def phase(self) -> Phase:
        """The part of the run that the steps work through."""
        return self.solution.phases[self.index]

    def at(self, index: int) -> "Setting":
        """The same set-up seen in another phase."""
        return replace(self, index=index)

    @property
    def moves(self) -> bool:
        """Whether anything moves after the release."""
        return self.solution.moves

    # Who is there.

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
        bodies = self.apparatus.bodies
        return {name: bodies[name] for name in self.movers if name in bodies}

    @cached_property
    def sliders(self) -> tuple[str, ...]:
        """What runs on a surface."""
        return tuple(name for name, body in self.bodies.items() if body.surface is not None)

    @cached_property
    def hanging(self) -> tuple[str, ...]:
        """The weights that hang."""
        return tuple(name for name, body in self.bodies.items() if body.surface is None)

    @cached_property
    def lifts(self) -> tuple[str, ...]:
        """The moving pulleys."""
        return tuple(name for name in self.movers if name not in self.bodies)

    @cached_property
    def pulleys(self) -> Mapping[str, Pulley]:
        """All pulleys, in the order of the file."""
        pulleys = self.apparatus.pulleys
        return {name: pulleys[name] for name in self.scenario.objects if name in pulleys}

    @cached_property
    def rotors(self) -> tuple[str, ...]:
        """The pulleys whose turning takes a torque: with inertia or friction in the bearing."""
        return tuple(
            name
            for name, pulley in self.pulleys.items()
            if bool(pulley.inertia) or bool(pulley.bearing_torque)
        )

    def mass(self, name: str) -> float:
        """The mass of a mover."""
        if name in self.bodies:
            return float(self.bodies[name].mass)
        return float(self.pulleys[name].mass)

    def slope(self, name: str) -> float:
        """The slope of the surface below a mover, in rad; 0 for what hangs."""
        surface = self.bodies[name].surface if name in self.bodies else None
        return 0.0 if surface is None else float(self.apparatus.surfaces[surface].slope)

    def wheel_mass(self, name: str) -> float:
        """The mass of all wheels of a mover together."""
        return float(self.bodies[name].wheel_mass) if name in self.bodies else 0.0

    # What acts.

    def slides(self, name: str) -> int:
        """+1 where the object slides forward, -1 back, 0 where it rests on its surface."""
        return self.phase.sliding.get(name, 0)

    def forces_on(self, name: str) -> tuple[Force, ...]:
        """What acts on an object, in a fixed order of kinds."""
        order = list(Interaction)
        found = [force for force in self.phase.forces if force.on == name]
        return tuple(sorted(found, key=lambda force: order.index(force.interaction)))

    def force(self, interaction: Interaction, on: str) -> Force | None:
        """The first force of one kind on an object, or None."""
        for force in self.phase.forces:
            if force.on == on and force.interaction is interaction:
                return force
        return None

    def along(self, force: Force) -> float:
        """The component of a force along its object's fixed positive sense, in N."""
        if force.vector is None:
            return 0.0
        x, y = force.vector
        if force.on not in self.sliders:
            return -y
        slope = self.slope(force.on)
        return x * math.cos(slope) + y * math.sin(slope)

    def strings_at(self, name: str) -> tuple[str, ...]:
        """The strings that end on an object."""
        return tuple(
            string.name
            for string in self.apparatus.strings.values()
            if name in (string.path[0], string.path[-1])
        )

    @cached_property
    def taut(self) -> tuple[str, ...]:
        """The strings that pull."""
        return tuple(name for name in self.apparatus.strings if name not in self.phase.slack)

    # How the strings tie the motions.

    @cached_property
    def layout(self) -> Layout:
        """The apparatus as coordinates and spans of string."""
        return layout_of(self.apparatus)

    def constraint(self, string: str) -> Mapping[str, int]:
        """By how much a string would lengthen per unit of motion of each mover on it.

        A pulley on which the string is wound counts by the motion of its rim.
        """
        total: dict[int, int] = {}
        for span in self.layout.strings[string].spans:
            for at, factor in self.layout.spans[span].stretch.items():
                total[at] = total.get(at, 0) + factor
        return {self.layout.coordinates[at].name: k for at, k in total.items() if k}

    @cached_property
    def ratios(self) -> Mapping[str, int]:
        """How far each mover goes, in smallest whole numbers, along its fixed positive sense.

        The rim of a turning pulley counts too, under ``rim(pulley)``. Empty where the strings
        don't tie every mover to every other one.
        """
        coordinates = self.layout.coordinates
        found = {self.layout.of_object[self.apparatus.run.object]: Fraction(1)}
        ties = [span.stretch for span in self.layout.spans if span.string in self.taut]
        for _ in ties:
            for tie in ties:
                unknown = [at for at in tie if at not in found]
                if len(unknown) == 1:
                    known = sum((k * found[n] for n, k in tie.items() if n in found), Fraction(0))
                    found[unknown[0]] = -known / tie[unknown[0]]
        if any(at not in found for at in range(len(coordinates))):
            return {}
        scale = math.lcm(*(value.denominator for value in found.values()))
        names: dict[str, int] = {}
        for at, coordinate in enumerate(coordinates):
            ratio = int(found[at] * scale)
            for name in (rim(coordinate.name),) if coordinate.turns else coordinate.members:
                names[name] = ratio
        return names

    @property
    def tied(self) -> bool:
        """Whether one acceleration settles all others."""
        return bool(self.ratios)

    @cached_property
    def carried(self) -> Mapping[str, str]:
        """What hangs rigidly from a moving pulley, and from which."""
        pairs = {name: body.hangs_from for name, body in self.bodies.items()}
        return {name: pulley for name, pulley in pairs.items() if pulley is not None}

    def rim_ratio(self, pulley: str) -> int:
        """How far the string runs over a pulley, relative to its axle, in units of ``ratios``."""
        return self.ratios[rim(pulley)]

    @cached_property
    def senses(self) -> Mapping[str, int]:
        """The sense in which the lesson counts each mover's motion: +1 its fixed positive one.

        The way it goes; where nothing moves, the way the run's object would draw the others.
        """
        if not self.moves:
            return {name: 1 if self.ratios.get(name, 1) >= 0 else -1 for name in self.movers}
        return {name: -1 if self._travel(name) < 0 else 1 for name in self.movers}

    def _travel(self, name: str) -> float:
        """Something with the sign of an object's motion in this phase."""
        displacement = self.phase.displacements[name]
        if displacement:
            return displacement
        return self.phase.start_velocities[name] or self.phase.accelerations[name]

    @cached_property
    def reference(self) -> str:
        """The mover whose acceleration is ``a`` and whose path is ``d``."""
        chosen = self.apparatus.run.object
        if not self.tied:
            return chosen
        slowest = min(abs(self.ratios[name]) for name in self.movers)
        if abs(self.ratios[chosen]) == slowest:
            return chosen
        return next(name for name in self.movers if abs(self.ratios[name]) == slowest)

    def ratio(self, name: str) -> Fraction:
        """How far a mover goes along its own way for one of the reference mover."""
        return Fraction(abs(self.ratios[name]), abs(self.ratios[self.reference]))

    @property
    def ratio_sign(self) -> int:
        """+1 where the movers go as the signs of ``ratios`` say, -1 where they go the other way."""
        same = self.senses[self.reference] * self.ratios[self.reference] > 0
        return 1 if same else -1

    def rim(self, pulley: str) -> Fraction:
        """How far the string runs over a pulley for one of the reference mover, as a size."""
        return Fraction(abs(self.rim_ratio(pulley)), abs(self.ratios[self.reference]))


def rim(pulley: str) -> str:
    """The name under which the rim of a turning pulley stands among the ratios."""
    return f"rim of {pulley}"
