"""What the steps ask that look back: two systems beside each other, the whole run, what goes on
after a landing, the bench and units.
"""

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from fallwork.lesson.document import Equation
from fallwork.lesson.expression import Expression, Negative, Number, Operand, Symbol
from fallwork.lesson.lab.acting import Acting
from fallwork.lesson.lab.base import Base
from fallwork.lesson.lab.equations import INNER
from fallwork.lesson.trees import product, rebuilt, signed, total
from fallwork.mechanics.solution import Ending, Force, Interaction
from fallwork.scenario import Quantity

TILT = math.radians(0.1)  # what a spirit level hardly shows


@dataclass(frozen=True, kw_only=True)
class Tilt:
    """What a tilt that a spirit level hardly shows does to what is on a surface, as masses, kg."""

    riders: list[str]
    pull: float
    friction: float
    drive: float

    def percent(self, whole: float) -> str:
        """The tilt's pull as a share, two figures."""
        percent = 100 * self.pull / whole
        return f"{percent:.0f}\u00a0%" if percent >= 10 else f"{percent:.1f}\u00a0%"


class Review(Base):
    """Systems compared, the end of the run, the bench, units and figures."""

    # The featured systems together.

    @property
    def comparable(self) -> bool:
        """Whether one system holds everything that moves, with Earth, and another one object."""
        part, whole = next((s for s in self.systems if not s.with_earth), None), self.whole
        if part is None or whole is None or self.open_forces:
            return False
        moving = {name for name in self.movers if not self.rests(name)}
        strings = all(string in whole.members for string in self.taut)
        return len(part.moving) == 1 < len(moving) and set(whole.moving) == moving and strings

    @property
    def only_wheels_rub(self) -> bool:
        """Whether all friction is that of carts on their wheels."""
        return all(map(self.rolls, self.kinetic_frictions))

    @property
    def rubbed_surfaces(self) -> list[str]:
        """The surfaces on which something slides."""
        rubbing = self.kinetic_frictions
        return list(dict.fromkeys(map(self.surface_under, rubbing)))

    @cached_property
    def parts(self) -> "tuple[Review, ...]":
        """The driven parts of the run."""
        return tuple(map(self.at, self.driven))

    @property
    def followed(self) -> bool:
        """Whether the run has several parts, in each of which one acceleration settles all."""
        tied = all(each.tied and each.phase.ends for each in self.parts)
        return len(self.parts) > 1 and tied and not self.open_forces

    def over_the_run(self, *sorts: str) -> list[Expression]:
        """The works of such forces on what moves or turns, each over all parts of the run."""
        first = self.parts[0]
        names = [
            force.name
            for force in first.phase.forces
            if force.interaction.value in sorts and force.on in (*first.movers, *first.rotors)
        ]
        return [tree for name in names if (tree := self._over_all(name)) is not None]

    def _over_all(self, name: str) -> Expression | None:
        """The work of one force over all parts: its size times the distances, with their signs."""
        distances: list[Expression] = []
        size: Expression | None = None
        for lab in self.parts:
            force = next((f for f in lab.phase.forces if f.name == name), None)
            tree = Acting(lab, force).formula if force is not None and force.work else None
            if tree is not None:
                back = isinstance(tree, Negative)
                body = tree.body if isinstance(tree, Negative) else tree
                size = rebuilt(body, {lab.distance.id: Number(value=1)})
                distances.append(signed(-1 if back else 1, lab.distance))
        if size is None:
            return None
        if all(isinstance(distance, Negative) for distance in distances):
            return -product(size, total(-distance for distance in distances))
        return product(size, total(distances))

    @property
    def given_over_the_run(self) -> list[Expression]:
        """The works of the forces that are given."""
        return self.over_the_run(*(force.interaction.value for force in self.given_forces))

    @property
    def heights_over_the_run(self) -> Expression:
        """The change of all potential energies."""
        return total(-tree for tree in self.over_the_run("gravity"))

    # After a landing: asked in the last driven part, and in the part after the landing.

    @property
    def braked(self) -> bool:
        """Whether anything slows a cart down when nothing pulls it any more."""
        return self.rubs or self.climb > 0

    @property
    def slack_strings(self) -> list[str]:
        """The strings that pull nothing."""
        return [name for name in self.apparatus.strings if name in self.phase.slack]

    @property
    def let_go(self) -> Iterator[tuple[str, list[str]]]:
        """Massless pulleys that hang from slack strings, with these."""
        for name in self.lifts:
            hung = [s for s in self.strings_at(name) if s in self.phase.slack]
            if hung and not self.mass_kg(name) and name not in self.carried.values():
                yield name, hung

    @property
    def own_motions(self) -> list[Equation]:
        """The inner forces that are left, and the acceleration of each object and pulley."""
        solved = self.solved_together
        found: list[tuple[Symbol, Operand]] = []
        if self.taut:
            unknown = [(symbol, symbol) for symbol in solved.unknown if symbol.value is not None]
            found += [(one.symbol, one.tree) for one in solved.forces] or unknown
        gains = self.phase.angular_accelerations
        turning = [self.angular_acceleration(name) for name in self.spinning if gains.get(name)]
        for one in solved.accelerations:
            if one.symbol.unit != "rad/s²" or one.symbol in turning:
                found.append((one.symbol, one.tree))
        return [self.result(left, right, left.unit) for left, right in found]

    @property
    def not_falling_freely(self) -> Iterator[str]:
        """What moves and has other forces on it than gravity alone."""
        for name in self.movers:
            acting = [force for force in self.forces_on(name) if self.acts(force)]
            if not self.rests(name) and len(acting) > 1:
                yield name

    def loose(self, sense: int) -> list[str]:
        """The hanging objects in free fall that move down (1) or still up (-1)."""
        held = {*self.not_falling_freely, *filter(self.rests, self.hanging)}
        return [n for n in self.hanging if n not in held and self.senses[n] == sense]

    def rises_till_taut(self, name: str) -> bool | None:
        """Whether what flies up after a landing still does when a string is taut again.

        None where that depends on values that the page hasn't got, or something else comes first.
        """
        ties = [self.constraint(string, slack=True) for string in self.strings_at(name)]
        others = {other for tie in ties for other in tie} - {name}
        if all(other in self.senses and self.rests(other) for other in others):
            return False  # its string is as long again when it is back at the height of the landing
        if not self.numbers:
            settled = any(self._settled(name, tie) for tie in ties)
            return True if settled and self.ending is Ending.TAUT else None
        end = self.phase.end_velocities[name]
        rises = end is not None and end * self.phase.start_velocities[name] > 0
        return None if rises and self.ending is not Ending.TAUT else rises

    def _settled(self, name: str, tie: Mapping[str, int]) -> bool:
        """Whether signs alone tell that a string is taut before ``name`` turns round.

        With a slack that grows at speed s at first, and shrinks with the acceleration n g, it is
        taut after 2 s/(n g). Where what else moves on it draws it up, k v ≥ s, and n ≥ 2 k is
        enough for v > 2 s/n.
        """
        phase = self.phase
        if set(tie) - set(self.senses):
            return False  # a pulley on which it is wound
        gains = {n: float(np.sign(phase.accelerations.get(n, 0.0))) for n in tie}
        pushed = set(self.not_falling_freely)
        if any(gains[other] and other in pushed for other in tie):
            return False  # it doesn't fall freely
        others = [k * phase.start_velocities[n] for n, k in tie.items() if n != name]
        way = math.copysign(1.0, sum(k * gains[n] for n, k in tie.items()))
        drawn = all(way * rate >= 0 for rate in others) and any(others)
        return drawn and sum(way * k * gains[n] for n, k in tie.items()) >= 2 * abs(tie[name])

    @property
    def jerked(self) -> list[str]:
        """The slack strings that are pulled taut at the end: one with those that hold a massless
        pulley on it.
        """
        first = self.phase.ends.subject if self.ending is Ending.TAUT and self.phase.ends else None
        strings = self.apparatus.strings
        path = strings[first].path if first else ()
        held = [string for name, hung in self.let_go if name in path for string in hung]
        return [string for string in strings if string in (first, *held)]

    # The bench.

    def tilted(self, surface: str) -> "Tilt":
        """What a small tilt of a level surface does."""
        riders = [name for name in self.sliders if self.bodies[name].surface == surface]
        rubbing = (float(self.bodies[n].friction) * self._weight(n) for n in riders)
        moving = [name for name in self.movers if not (self.moves and self.rests(name))]
        driving = (self._drives(force) for name in moving for force in self.forces_on(name))
        return Tilt(
            riders=riders,
            pull=math.sin(TILT) * sum(map(self._weight, riders)),
            friction=sum(rubbing),
            drive=abs(sum(driving)),
        )

    def _drives(self, force: Force) -> float:
        """What a force from outside drives, other than friction, as a mass along the strings."""
        if force.interaction in (*INNER, Interaction.ROLLING, Interaction.FRICTION):
            return 0.0
        ratio = float(self.ratio(force.on)) if self.tied and self.moves else 1.0
        along = (self.along(force) or 0.0) / float(self.apparatus.gravity)
        return ratio * self.senses[force.on] * along

    def _weight(self, name: str) -> float:
        """A mass as it counts along the strings, kg; its own where they leave motions free."""
        ratio = self.ratio(name) if self.tied and self.moves else 1
        return float(ratio) * self.mass_kg(name)

    @property
    def led_to_pulley(self) -> list[str]:
        """What a string leads from on a surface to a pulley."""
        return list(filter(self._leads_to_pulley, self.sliders))

    def _leads_to_pulley(self, name: str) -> bool:
        paths = [self.apparatus.strings[string].path for string in self.strings_at(name)]
        return any(path[1] in self.pulleys or path[-2] in self.pulleys for path in paths)

    # Units.

    @cached_property
    def other_units(self) -> frozenset[str]:
        """Units to convert, of what is given of an object, a sloping surface or the run."""
        scenario = self.scenario
        things = [*scenario.objects.values(), scenario.run]
        values = [value for thing in things for value in vars(thing).values()]
        values += [each.slope for each in scenario.surfaces.values() if each.slope.value]
        written = {value.unit for value in values if isinstance(value, Quantity)}
        return frozenset(written & {"g", "cm", "mm", "deg"})
