"""What the table of other choices of system asks: one choice of each class that differs.

Two choices are of one class where the same works act on them and the same energies change.
"""

from collections.abc import Sequence
from functools import cached_property

from fallwork.lesson.expression import Expression, Symbol
from fallwork.lesson.lab.base import Base
from fallwork.lesson.lab.systems import System
from fallwork.scenario.nouns import EARTH

MOST_TERMS = 12  # in a cell; a choice with more isn't shown: part of a sum can't be checked
MOST_MEMBERS = 12  # of a choice that is shown
MOST_NAMES = 4  # of one kind; more in a row are told by what they have in common


class Choices(Base):
    """Choices of system that aren't featured."""

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
