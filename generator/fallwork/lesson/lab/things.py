"""The parts of a run, who is there in a set-up, and what acts on it in one of the phases.

Takes the scenario, the apparatus and the solution. Nothing here is said in words.
"""

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, fields, replace
from functools import cached_property
from operator import attrgetter
from typing import Any, Self, TypeVar

from fallwork.mechanics import Rigging, rigging_of
from fallwork.mechanics.apparatus import Apparatus, Body, Pulley
from fallwork.mechanics.solution import Force, Interaction, Phase, Role, Solution
from fallwork.scenario import Scenario

NOISE = 1e-12  # relative: what rounding leaves of a difference

Kind = TypeVar("Kind", bound="Things")


def those(names: str, hold: Callable[[Any, str], bool]) -> cached_property[tuple[str, ...]]:
    """A property: those of some ``names``, as ``apparatus.strings``, for which something holds."""
    return cached_property(lambda lab: tuple(n for n in attrgetter(names)(lab) if hold(lab, n)))


def first_of(names: str) -> property:
    """A property: the first of some names."""
    return property(lambda lab: next(iter(attrgetter(names)(lab))))


@dataclass(frozen=True, eq=False)
class Things:
    """One set-up with its solution, seen in one phase. ``numbers``: the lesson shows values."""

    scenario: Scenario
    apparatus: Apparatus
    solution: Solution
    figures: int
    numbers: bool
    index: int = 0  # of the phase that the steps work through

    # By name: everything that translates; what runs on a surface, the weights that hang, the moving
    # pulleys; the pulleys whose turning takes a torque (with inertia or friction in the bearing),
    # those with inertia, those of them that turn during the phase; the strings that pull; and what
    # neither moves nor holds, but acts on others with a force that the file gives.
    movers = those(
        "scenario.objects",
        lambda lab, n: n in lab.bodies or (n in lab.pulleys and lab.pulleys[n].moving),
    )
    sliders = those("bodies", lambda lab, name: lab.bodies[name].surface is not None)
    hanging = those("bodies", lambda lab, name: lab.bodies[name].surface is None)
    lifts = those("movers", lambda lab, name: name not in lab.bodies)
    rotors = those("pulleys", lambda lab, name: lab.pulleys[name].takes_torque)
    heavy = those("pulleys", lambda lab, name: bool(lab.pulleys[name].inertia))
    spinning = those("rotors", lambda lab, name: not lab.holds(name))
    taut = those("apparatus.strings", lambda lab, name: name not in lab.phase.slack)
    givers = those(
        "scenario.objects",
        lambda lab, n: n not in (*lab.bodies, *lab.pulleys, *lab.apparatus.anchors),
    )

    @property
    def phase(self) -> Phase:
        """The part of the run that the steps work through."""
        return self.solution.phases[self.index]

    def at(self, index: int) -> Self:
        """The same set-up seen in another phase; negative counts from the last."""
        return replace(self, index=index % len(self.solution.phases))

    def seen_as(self, kind: type[Kind], **more: Any) -> Kind:
        """The same as another kind of lab."""
        own: dict[str, Any] = {each.name: getattr(self, each.name) for each in fields(Things)}
        return kind(**own, **more)

    @property
    def moves(self) -> bool:
        """Whether anything moves after the release."""
        return self.solution.moves

    def the(self, name: str) -> str:
        """An object's noun with its article."""
        return self.scenario.nouns.the(name)

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
    def part_mark(self) -> str:
        """The same as a Roman number: Arabic ones count strings."""
        tens, ones = divmod(self.part, 10)
        return "X" * tens + ("", "I", "II", "III", "IV", "V", "VI", "VII", "VIII", "IX")[ones]

    @property
    def after_landing(self) -> int | None:
        """The first phase after a catch pad has stopped the run's object; None where none is."""
        roles = [phase.role for phase in self.solution.phases]
        after = roles.index(Role.LANDING) + 1 if Role.LANDING in roles else len(roles)
        return after if after < len(roles) else None

    @property
    def landed(self) -> bool:
        """Whether the phase comes after the landing."""
        return self.after_landing is not None and self.index >= self.after_landing

    @property
    def bodies(self) -> Mapping[str, Body]:
        """The carts, blocks and hanging weights."""
        return self.apparatus.bodies

    @property
    def pulleys(self) -> Mapping[str, Pulley]:
        """All pulleys."""
        return self.apparatus.pulleys

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

    @cached_property
    def carried(self) -> Mapping[str, str]:
        """What hangs rigidly from a moving pulley, and from which."""
        return {n: body.hangs_from for n, body in self.bodies.items() if body.hangs_from}

    def loads_of(self, pulleys: Sequence[str]) -> list[str]:
        """What hangs rigidly from any of them."""
        return [name for name, pulley in self.carried.items() if pulley in pulleys]

    def mass_kg(self, name: str) -> float:
        """The mass of a mover."""
        return float((self.bodies[name] if name in self.bodies else self.pulleys[name]).mass)

    def wheels_kg(self, name: str) -> float:
        """The mass of all wheels of a mover together."""
        return float(self.bodies[name].wheel_mass) if name in self.bodies else 0.0

    def slope_rad(self, name: str) -> float:
        """The slope of the surface below a mover, in rad; 0 for what hangs."""
        surface = self.bodies[name].surface if name in self.bodies else None
        return 0.0 if surface is None else float(self.apparatus.surfaces[surface].slope)

    def upright(self, name: str) -> bool:
        """Whether the surface beside a mover stands on end, so that nothing presses on it."""
        return abs(math.cos(self.slope_rad(name))) < NOISE

    def clings(self, name: str) -> bool:
        """Whether static friction alone can hold a slider on its surface."""
        slope = abs(self.slope_rad(name))
        return math.sin(slope) <= self.grip(name) * math.cos(slope)

    def grip(self, name: str) -> float:
        """The coefficient of static friction that counts for a slider."""
        body = self.bodies[name]
        return float(body.friction if body.static_friction is None else body.static_friction)

    def sliding(self, name: str) -> int:
        """+1 where the object slides forward, -1 back, 0 where it rests on its surface."""
        return self.phase.sliding.get(name, 0)

    def forces_on(self, name: str) -> tuple[Force, ...]:
        """What acts on an object, in a fixed order of kinds."""
        acting = [force for force in self.phase.forces if force.on == name]
        return tuple(force for kind in Interaction for force in acting if force.interaction is kind)

    def force(self, interaction: Interaction, on: str) -> Force | None:
        """The first force of one kind on an object, or None."""
        forces = (f for f in self.phase.forces if f.on == on and f.interaction is interaction)
        return next(forces, None)

    def along(self, force: Force) -> float | None:
        """Its component along its object's fixed positive sense, N; None where that is open."""
        vector = force.vector
        if vector is None and force.interaction is not Interaction.FRICTION:
            others = (f for forces in self.phase.alternatives for f in forces)
            vectors = (f.vector for f in others if f.name == force.name and f.vector)
            vector = next(filter(any, vectors), None)
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

    def strings_at(self, name: str) -> tuple[str, ...]:
        """The strings that end on an object."""
        strings = self.apparatus.strings.values()
        return tuple(s.name for s in strings if name in (s.path[0], s.path[-1]))

    @cached_property
    def rigging(self) -> Rigging:
        """The apparatus as coordinates and spans of string."""
        return rigging_of(self.apparatus)

    @cached_property
    def taut_spans(self) -> frozenset[int]:
        """The stretches of string that pull, as indices into the rigging's spans."""
        pulls, slack = self.phase.segment_tensions, self.phase.slack
        tense = [
            pulls[s.string][s.first] != 0 and s.string not in slack for s in self.rigging.spans
        ]
        return frozenset(at for at, tight in enumerate(tense) if tight)
