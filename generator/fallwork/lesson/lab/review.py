"""What the steps ask that look back: two systems beside each other, the whole run, what goes on
after a landing, the bench and units.
"""

import math
from functools import cached_property
from typing import Self

from fallwork.lesson.expression import Expression, Negative, Number
from fallwork.lesson.lab.base import Base
from fallwork.lesson.trees import product, rebuilt, signed, total, turned
from fallwork.scenario import Quantity

TILT = math.radians(0.1)  # what a spirit level hardly shows


class Review(Base):
    """Systems compared, the end of the run, the bench, units and figures."""

    @property
    def comparable(self) -> bool:
        """Whether one system holds everything that moves, with Earth, and another one object."""
        part, whole = next((s for s in self.systems if not s.with_earth), None), self.whole
        if part is None or whole is None or self.phase.undetermined:
            return False
        strings = all(string in whole.members for string in self.taut)
        return len(part.moving) == 1 < len(self.moving) and whole.moving == self.moving and strings

    @property
    def rubbed_surfaces(self) -> list[str]:
        """The surfaces on which something slides."""
        return list(dict.fromkeys(map(self.surface_under, self.kinetic_frictions)))

    # ---- the whole run

    @cached_property
    def parts(self) -> tuple[Self, ...]:
        """The driven parts of the run."""
        return tuple(map(self.at, self.driven))

    @property
    def followed(self) -> bool:
        """Whether the run has several parts, in each of which one acceleration settles all."""
        tied = all(each.tied and each.phase.ends for each in self.parts)
        return len(self.parts) > 1 and tied and not self.phase.undetermined

    def over_the_run(self, *sorts: str) -> list[Expression]:
        """The works of such forces on what moves or turns, each over all parts of the run."""
        on, forces = (*self.movers, *self.rotors), self.parts[0].phase.forces
        names = [f.name for f in forces if f.interaction.value in sorts and f.on in on]
        return [tree for name in names if (tree := self._over_all(name)) is not None]

    def _over_all(self, name: str) -> Expression | None:
        """The work of one force over all parts: its size times the distances, with their signs."""
        forces = ((lab, f) for lab in self.parts for f in lab.phase.forces if f.name == name)
        trees = [(lab.distance, lab.acting_of(f).formula) for lab, f in forces if f.work]
        works = [(distance, tree) for distance, tree in trees if tree is not None]
        if not works:
            return None
        ways = total(signed(-1 if isinstance(tree, Negative) else 1, d) for d, tree in works)
        distance, last = works[-1]
        body = last.body if isinstance(last, Negative) else last
        size, back = rebuilt(body, {distance.id: Number(value=1)}), turned(ways)
        return product(size, ways) if back is None else -product(size, back)

    @property
    def heights_over_the_run(self) -> Expression:
        """The change of all potential energies."""
        return total(-tree for tree in self.over_the_run("gravity"))

    # ---- the part after a landing

    @property
    def not_falling_freely(self) -> list[str]:
        """What moves and has other forces on it than gravity alone."""
        acting = {name: list(filter(self.acts, self.forces_on(name))) for name in self.moving}
        return [name for name, forces in acting.items() if len(forces) > 1]

    def loose(self, sense: int) -> list[str]:
        """The hanging objects in free fall that move down (1) or still up (-1)."""
        free = [name for name in self.moving if name not in self.not_falling_freely]
        return [name for name in free if name in self.hanging and self.senses[name] == sense]

    # ---- the bench and units

    @cached_property
    def other_units(self) -> frozenset[str]:
        """Units to convert, of what is given of an object, a sloping surface or the run."""
        scenario = self.scenario
        things = [*scenario.objects.values(), scenario.run]
        values = [value for thing in things for value in vars(thing).values()]
        values += [each.slope for each in scenario.surfaces.values() if each.slope.value]
        written = {value.unit for value in values if isinstance(value, Quantity)}
        return frozenset(written & {"g", "cm", "mm", "deg"})
