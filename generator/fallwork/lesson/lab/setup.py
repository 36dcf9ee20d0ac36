"""What every step builder works from: the set-up, its solution and the facts derived from them.

Takes the scenario, the apparatus and the solution; gives the movers, the forces on them and what
the phase does. How strings tie motions together is ``ties``; nothing here is said in words.
"""

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, fields, replace
from fractions import Fraction
from functools import cached_property
from typing import Any, Self, TypeVar

from fallwork.lesson.lab.ties import Stretch, named, ratios_of, rim
from fallwork.mechanics import Rigging, rigging_of
from fallwork.mechanics.apparatus import Apparatus, Body, Pulley
from fallwork.mechanics.solution import (
    Ending,
    Force,
    Interaction,
    Phase,
    Role,
    Solution,
    Undetermined,
)
from fallwork.scenario import Scenario

NOISE = 1e-12  # relative: what rounding leaves of a difference

Kind = TypeVar("Kind", bound="Setup")


@dataclass(frozen=True, eq=False)
class Setup:
    """One set-up with its solution, seen in one phase. ``numbers``: the lesson shows values."""

    scenario: Scenario
    apparatus: Apparatus
    solution: Solution
    figures: int
    numbers: bool
    index: int = 0  # of the phase that the steps work through
    bare: bool = False  # without common mistakes and questions

    @property
    def phase(self) -> Phase:
        """The part of the run that the steps work through."""
        return self.solution.phases[self.index]

    def at(self, index: int) -> Self:
        """The same set-up seen in another phase; negative counts from the last."""
        return replace(self, index=index % len(self.solution.phases))

    def seen_as(self, kind: type[Kind], **more: Any) -> Kind:
        """The same as another kind of lab."""
        own: dict[str, Any] = {each.name: getattr(self, each.name) for each in fields(Setup)}
        return kind(**own, **more)

    @property
    def moves(self) -> bool:
        """Whether anything moves after the release."""
        return self.solution.moves

    def the(self, name: str) -> str:
        """An object's noun with its article."""
        return self.scenario.nouns.the(name)

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
    def givers(self) -> tuple[str, ...]:
        """What neither moves nor holds: it acts on others with a force that the file gives."""
        parts = self.apparatus
        others = (*parts.bodies, *parts.pulleys, *parts.anchors)
        return tuple(name for name in self.scenario.objects if name not in others)

    @property
    def given_forces(self) -> tuple[Force, ...]:
        """The forces of these."""
        return tuple(force for force in self.phase.forces if force.partner in self.givers)

    @cached_property
    def rotors(self) -> tuple[str, ...]:
        """The pulleys whose turning takes a torque: with inertia or friction in the bearing."""
        return tuple(
            name
            for name, pulley in self.pulleys.items()
            if bool(pulley.inertia) or bool(pulley.bearing_torque)
        )

    def holds(self, pulley: str) -> bool:
        """Whether such a pulley stays at rest: held by its bearing, or with nothing pulling it."""
        first = self.phase.start_angular_velocities.get(pulley, 0.0)
        turns = bool(first or self.phase.angular_accelerations.get(pulley, 0.0))
        return not turns and (bool(self.pulleys[pulley].bearing_torque) or self.unpulled(pulley))

    def unpulled(self, pulley: str) -> bool:
        """Whether every string at the rim of a pulley is slack."""
        hooked = self.pulleys[pulley].moving  # a string that ends there holds the axle
        strings = self.apparatus.strings.values()
        at_rim = [s.name for s in strings if pulley in (s.path[1:-1] if hooked else s.path)]
        return all(name in self.phase.slack for name in at_rim)

    @property
    def spinning(self) -> tuple[str, ...]:
        """The pulleys among ``rotors`` that turn during the phase."""
        return tuple(name for name in self.rotors if not self.holds(name))

    @cached_property
    def carried(self) -> Mapping[str, str]:
        """What hangs rigidly from a moving pulley, and from which."""
        pairs = {name: body.hangs_from for name, body in self.bodies.items()}
        return {name: pulley for name, pulley in pairs.items() if pulley is not None}

    def mass_kg(self, name: str) -> float:
        """The mass of a mover."""
        if name in self.bodies:
            return float(self.bodies[name].mass)
        return float(self.pulleys[name].mass)

    def slope_rad(self, name: str) -> float:
        """The slope of the surface below a mover, in rad; 0 for what hangs."""
        surface = self.bodies[name].surface if name in self.bodies else None
        return 0.0 if surface is None else float(self.apparatus.surfaces[surface].slope)

    def upright(self, name: str) -> bool:
        """Whether the surface beside a mover stands on end, so that nothing presses on it."""
        return abs(math.cos(self.slope_rad(name))) < NOISE

    def rolls(self, name: str) -> bool:
        """Whether an object runs on wheels."""
        return name in self.bodies and self.bodies[name].kind == "cart"

    def floats(self, name: str) -> bool:
        """Whether an object rides on a cushion of air."""
        return name in self.bodies and self.bodies[name].kind == "glider"

    def clings(self, name: str) -> bool:
        """Whether static friction alone can hold a slider on its surface."""
        body, slope = self.bodies[name], abs(self.slope_rad(name))
        grip = body.friction if body.static_friction is None else body.static_friction
        return math.sin(slope) <= float(grip) * math.cos(slope)

    def wheels_kg(self, name: str) -> float:
        """The mass of all wheels of a mover together."""
        return float(self.bodies[name].wheel_mass) if name in self.bodies else 0.0

    # What acts.

    def sliding(self, name: str) -> int:
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

    def along(self, force: Force) -> float | None:
        """The component of a force along its object's fixed positive sense, in N.

        What the apparatus doesn't determine is None, unless its sign is known: a tension's is.
        """
        vector = force.vector if force.vector is not None else self._possible(force)
        if vector is None:
            return None
        x, y = vector
        if force.on not in self.sliders:
            return -y
        slope = self.slope_rad(force.on)
        along = x * math.cos(slope) + y * math.sin(slope)
        return 0.0 if abs(along) <= self._nothing(force) else along

    def acts(self, force: Force) -> bool:
        """Whether a force on a mover is there at all; an undetermined one may be."""
        return force.size is None or force.size > self._nothing(force)

    def _nothing(self, force: Force) -> float:
        """A force below this, N, is what rounding has left."""
        return NOISE * self.mass_kg(force.on) * float(self.apparatus.gravity)

    def _possible(self, force: Force) -> tuple[float, float] | None:
        """A vector that an undetermined pull may have; it gives the direction."""
        if force.interaction is Interaction.FRICTION:
            return None
        for forces in self.phase.alternatives:
            for other in forces:
                if other.name == force.name and other.vector is not None and any(other.vector):
                    return other.vector
        return None

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

    @cached_property
    def taut_spans(self) -> frozenset[int]:
        """The stretches of string that pull, as indices into the rigging's spans."""
        pulls = self.phase.segment_tensions
        return frozenset(
            at
            for at, span in enumerate(self.rigging.spans)
            if pulls[span.string][span.first] != 0 and span.string not in self.phase.slack
        )

    def partly_slack(self, string: str) -> bool:
        """Whether a string pulls on one side of a turning pulley and not on the other."""
        spans = set(self.rigging.strings[string].spans)
        return bool(spans & self.taut_spans) and not spans <= self.taut_spans

    # How the strings tie the motions.

    @cached_property
    def rigging(self) -> Rigging:
        """The apparatus as coordinates and spans of string."""
        return rigging_of(self.apparatus)

    def constraint(self, string: str, *, slack: bool = False) -> Mapping[str, int]:
        """By how much a string would lengthen per unit of motion of each mover on it; ``slack``:
        its slack stretches too.

        A pulley on which the string is wound counts by the motion of its rim, under
        ``rim(pulley)``. What a moving pulley carries moves with it and isn't named.
        """
        total: dict[str, int] = {}
        for span in self.spans(string, slack=slack):
            for name, factor in span.items():
                total[name] = total.get(name, 0) + factor
        return {name: factor for name, factor in total.items() if factor}

    def spans(self, string: str, *, slack: bool = False) -> tuple[Mapping[str, int], ...]:
        """The same for each taut stretch of a string between pulleys that take a torque to turn."""
        rigging = self.rigging
        return tuple(
            {named(rigging, at): k for at, k in rigging.spans[span].stretch.items()}
            for span in rigging.strings[string].spans
            if slack or span in self.taut_spans
        )

    @cached_property
    def stretches(self) -> tuple[Stretch, ...]:
        """The stretches of string that have one tension each, in the order of the strings and along
        them. A pulley that takes a torque to turn ends a stretch; an ideal one doesn't.
        """
        return tuple(each for string in self.apparatus.strings for each in self._stretches(string))

    def _stretches(self, string: str) -> Iterator[Stretch]:
        line, pulls = self.rigging.strings[string], self.phase.segment_tensions[string]
        for number, at in enumerate(line.spans, start=1):
            span = self.rigging.spans[at]
            yield Stretch(
                string=string,
                objects=line.path[span.first : span.last + 2],
                tension=pulls[span.first],
                key=f"tension.{string}" + (f".{number}" if len(line.spans) > 1 else ""),
            )

    @property
    def tied(self) -> bool:
        """Whether one acceleration settles all others."""
        return bool(self.ratios)

    @cached_property
    def ratios(self) -> Mapping[str, int]:
        """How far each mover goes, in whole numbers; empty where the strings leave that open."""
        return ratios_of(self.rigging, self.taut_spans, self.apparatus.run.object)

    @property
    def rising(self) -> tuple[str, ...]:
        """What hangs and goes up in this phase."""
        return tuple(name for name in self.hanging if self.moves and self.ways[name] < 0)

    @cached_property
    def reference(self) -> str:
        """The mover whose acceleration is ``a`` and whose path is ``d``: the run's object, or one
        that goes less far.
        """
        chosen, ratios = self.apparatus.run.object, self.ratios
        slowest = min((abs(ratios[name]) for name in self.movers if ratios), default=0)
        alike = [name for name in self.movers if ratios and abs(ratios[name]) == slowest]
        return chosen if not alike or chosen in alike else alike[0]

    def ratio(self, name: str) -> Fraction:
        """How far a mover goes along its own way for one of the reference mover."""
        return Fraction(abs(self.ratios[name]), abs(self.ratios[self.reference]))

    def rim(self, pulley: str) -> Fraction:
        """How far the string runs over a pulley for one of the reference mover, as a size, relative
        to its axle.
        """
        return self.ratio(rim(pulley))

    @cached_property
    def senses(self) -> Mapping[str, int]:
        """The sense in which the lesson counts each mover's motion: +1 its fixed positive one.

        The way it goes in the end, so that a run that turns round keeps one positive direction;
        where nothing moves, the way the run's object would draw the others.
        """
        if self.moves:
            return self.at(self.driven[-1]).ways if self.comes_back else self.ways
        return {name: 1 if self.ratios.get(name, 1) >= 0 else -1 for name in self.movers}

    @property
    def comes_back(self) -> bool:
        """Whether the phase belongs to a run of several parts, in each of which all is tied."""
        return self.index in self.driven[:-1] and self.tied and self.at(self.driven[-1]).tied

    @cached_property
    def ways(self) -> Mapping[str, int]:
        """The sense in which each mover goes in this phase."""
        return {name: -1 if self._travel(name) < 0 else 1 for name in self.movers}

    def _travel(self, name: str) -> float:
        """Something with the sign of an object's motion in this phase; after a landing, of the
        motion with which the phase starts.
        """
        phase = self.phase
        first = phase.start_velocities[name]
        return (
            (first if self.landed else 0.0)
            or phase.displacements[name]
            or first
            or phase.accelerations.get(name, 0.0)
        )

    @cached_property
    def spins(self) -> Mapping[str, int]:
        """The sense in which the lesson counts each pulley's turning, likewise."""
        return {name: -1 if self._turning_of(name) < 0 else 1 for name in self.rotors}

    @property
    def onward(self) -> int:
        """+1 where the phase moves in the lesson's sense; -1 on the way out of a run that comes
        back.
        """
        back = self.tied and self.senses[self.reference] != self.ways[self.reference]
        return -1 if back else 1

    def _turning_of(self, pulley: str) -> float:
        """Something with the sign of the angle by which a pulley turns in this phase."""
        phase = self.phase
        if self.tied:
            same = self.senses[self.reference] * self.ratios[self.reference] > 0
            return self.ratios[rim(pulley)] * (1 if same else -1)
        first = phase.start_angular_velocities.get(pulley, 0.0)
        gain = phase.angular_accelerations.get(pulley, 0.0)
        time = phase.duration or 0.0
        return first * time + gain * time**2 / 2 or first or gain

    # What the phase does.

    @property
    def starts_moving(self) -> bool:
        """Whether the phase starts with a speed other than zero."""
        return any(self.phase.start_velocities.values())

    def rests(self, name: str) -> bool:
        """Whether a mover stays where it is during the phase."""
        phase = self.phase
        return not phase.start_velocities[name] and phase.accelerations.get(name) == 0.0

    @cached_property
    def constant(self) -> bool:
        """Whether the reference mover keeps its speed."""
        return self.moves and self.phase.accelerations.get(self.reference) == 0.0

    def starts_back(self, name: str) -> bool:
        """Whether a mover starts against its positive sense."""
        return self.phase.start_velocities[name] * self.senses[name] < 0

    @property
    def turns_within(self) -> bool:
        """Whether the motion turns round during the phase, without any change of the forces."""
        reference = self.reference
        return self.phase.start_velocities[reference] * self.ways[reference] < 0

    def first_speed(self, name: str) -> float:
        """The speed of a mover at the start of the phase, m/s."""
        return abs(self.phase.start_velocities[name])

    def end_speed(self, name: str) -> float | None:
        """The speed of a mover at the end of the phase, m/s; None where nothing ends it.

        Negative where it leads against the sense in which the mover has moved in the end.
        """
        speed = self.phase.end_velocities[name]
        return None if speed is None else speed * self.senses[name] + 0.0

    def path(self, name: str) -> float | None:
        """How far a mover goes in the phase, m; None where nothing ends it."""
        moved = self.phase.displacements[name]
        return None if moved is None else abs(moved)

    @property
    def ending(self) -> Ending | None:
        """How the phase ends; None where nothing ends it."""
        return self.phase.ends.ending if self.phase.ends else None

    @property
    def ender(self) -> str:
        """The object that ends the phase; the run's object where none does."""
        subject = self.phase.ends.subject if self.phase.ends else None
        if subject is None or subject not in self.scenario.objects:
            return self.apparatus.run.object
        return subject

    @property
    def turns(self) -> bool:
        """Whether the phase ends because all motion has come to a stop."""
        turned = self.ending in (Ending.TURNS, Ending.SPIN_TURNS)
        return (turned or self.rests_at_end) and self.starts_moving and self.tied

    @property
    def rests_at_end(self) -> bool:
        """Whether what stops at the end of the phase stays where it is."""
        return self.ending in (Ending.RESTS, Ending.SPIN_STOPS)

    @cached_property
    def driven(self) -> tuple[int, ...]:
        """The phases up to the run's distance."""
        phases = enumerate(self.solution.phases)
        return tuple(index for index, phase in phases if phase.role is Role.DRIVEN)

    @property
    def part(self) -> int:
        """The number of the phase among the driven ones, from 1."""
        return self.driven.index(self.index) + 1 if self.index in self.driven else self.index + 1

    @property
    def after_landing(self) -> int | None:
        """The first phase after the run's object has landed; None where there is none."""
        phases = self.solution.phases
        landings = (at for at, phase in enumerate(phases) if phase.role is Role.LANDING)
        after = next(landings, len(phases)) + 1
        return after if after < len(phases) else None

    @property
    def has_landing(self) -> bool:
        """Whether a catch pad stops the run's object."""
        return any(phase.role is Role.LANDING for phase in self.solution.phases)

    @property
    def landed(self) -> bool:
        """Whether the phase comes after the landing."""
        return self.after_landing is not None and self.index >= self.after_landing

    @property
    def part_mark(self) -> str:
        """The same as a Roman number: Arabic ones count strings."""
        tens, ones = divmod(self.part, 10)
        return "X" * tens + ("", *["I", "II", "III", "IV", "V", "VI", "VII", "VIII", "IX"])[ones]

    @property
    def ends_by_distance(self) -> bool:
        """Whether the first phase ends because the run's object has moved by the run's distance."""
        return self.at(0).ending in (Ending.LANDS, Ending.COVERED)

    @property
    def open_forces(self) -> tuple[Undetermined, ...]:
        """What the apparatus doesn't determine in this phase."""
        return self.phase.undetermined
