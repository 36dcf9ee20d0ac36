"""What the steps ask that look back: systems beside each other, those that aren't featured (one of
each class: the same works, the same energies that change), the whole run, what goes on after a
landing, units.
"""

import math
from collections.abc import Sequence
from functools import cached_property
from typing import Self

from fallwork.lesson.expression import Expression, Negative, Number, Symbol
from fallwork.lesson.lab.base import Base
from fallwork.lesson.lab.systems import System
from fallwork.lesson.trees import product, rebuilt, signed, total, turned
from fallwork.scenario.nouns import EARTH

MOST_TERMS = 12  # in a cell; a choice with more isn't shown: part of a sum can't be checked
MOST_MEMBERS = 12  # of a choice that is shown
MOST_NAMES = 4  # of one kind; more in a row are told by what they have in common
TILT = math.radians(0.1)  # what a spirit level hardly shows


class Review(Base):
    """Choices of system that aren't featured, systems compared, the end of the run."""

    @cached_property
    def choices(self) -> list[System]:
        """The smallest telling one of each class that no featured system belongs to.
        Only such whose works and energies all stand in the table.
        """
        short = [e for e in self._unfeatured if len(e.members) <= MOST_MEMBERS]
        return [e for e in short if max(len(e.works), len(e.changes)) <= MOST_TERMS]

    @cached_property
    def _unfeatured(self) -> list[System]:
        found, seen = [], {self._class(system) for system in self.systems}
        for members in sorted(self._telling, key=lambda members: (len(members), members)):
            chosen = System(self, members)
            moving = any(name in self.movers for name in members)
            if moving and (kind := self._class(chosen)) not in seen:
                seen.add(kind)
                found.append(chosen)
        return found

    def _class(self, chosen: System) -> tuple[tuple[str, ...], ...]:
        works = sorted(work.force.name for work in chosen.works)
        holders = {*filter(self.mass_kg, self.movers), *self.rotors} & set(chosen.members)
        kinds = [kind for kind, change in chosen.solved.energy_changes.items() if change]
        return tuple(works), tuple(sorted(holders)), tuple(kinds)

    @cached_property
    def _telling(self) -> set[tuple[str, ...]]:
        """Each mover, with and without Earth and its surface, and all of them, step by step.

        Of many movers only the run's object and the first on a surface stand for the others.
        """
        chosen: list[tuple[str, ...]] = []
        few = (*self.sliders[:1], self.scenario.run.object)
        for name in self.movers if len(self.movers) <= MOST_NAMES else few:
            chosen += [(name,), (name, EARTH)]
            if name in self.sliders:
                chosen.append((name, self.surface_under(name)))
        everything: tuple[str, ...] = self.movers
        for more in ((), tuple(self.apparatus.strings), self.rotors, (EARTH,)):
            everything = (*everything, *more)
            chosen.append(everything)
        chosen.append((*everything, *self.apparatus.surfaces))
        return {tuple(sorted(set(choice))) for choice in chosen}

    def in_order(self, members: Sequence[str]) -> list[str]:
        """Members in the order in which the file names them, Earth last."""
        things = (*self.scenario.objects, *self.apparatus.strings, *self.apparatus.surfaces)
        return sorted(members, key=(*things, EARTH).index)

    @property
    def new_works(self) -> list[tuple[Symbol, Expression | Symbol]]:
        """The works in the table that no featured system has brought up, with their formulas."""
        shown = {work.force.name for system in self.systems for work in system.works}
        rows = (work for chosen in self.choices for work in chosen.works)
        new = {w.force.name: w for w in rows if w.listed and w.force.name not in shown}
        told = (w for w in new.values() if w.formula is not None or w.symbol.value is not None)
        return [(work.symbol, work.formula or work.symbol) for work in told]

    @staticmethod
    def many(names: Sequence[str]) -> bool:
        """Whether they are too many to be listed."""
        return len(names) > MOST_NAMES

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
