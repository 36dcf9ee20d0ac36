"""What the steps ask that look back: where energy is on the way, systems beside each other and
those that aren't featured, the whole run, a cart alone after a landing.
"""

from collections.abc import Sequence
from functools import cached_property
from typing import Self

from fallwork.lesson.document import Inline
from fallwork.lesson.expression import Expression, Product, Symbol
from fallwork.lesson.lab.acting import Acting
from fallwork.lesson.lab.base import Base
from fallwork.lesson.lab.systems import Store, System
from fallwork.lesson.trees import ONE, ZERO, half, product, rebuilt, signed, sized, total, turned
from fallwork.mechanics.solution import Interaction
from fallwork.scenario.nouns import EARTH

MOST_TERMS = 12  # in a cell; a choice with more isn't shown: part of a sum can't be checked
MOST_MEMBERS = 12  # of a choice that is shown
MOST_NAMES = 4  # of one kind; more in a row are told by what they have in common
SHARES = (0.0, 0.5, 1.0)  # of the distance; all forces are constant, so of each change as well
DRAINS = {Interaction.FRICTION: "friction", Interaction.BEARING_TORQUE: "bearing"}


class Review(Base):
    """Choices of system that aren't featured, systems compared, the end of the run."""

    @cached_property
    def choices(self) -> list[System]:
        """The smallest telling one of each class that isn't featured, if a row can hold it."""
        found, seen = [], {self._class(system) for system in self.systems}
        for members in sorted(self._telling, key=lambda each: (len(each), sorted(each))):
            chosen = System(self, members)
            if {*members} & {*self.movers} and (kind := self._class(chosen)) not in seen:
                seen.add(kind)
                found.append(chosen)
        short = [each for each in found if len(each.members) <= MOST_MEMBERS]
        return [e for e in short if max(len(e.works), len(e.changes)) <= MOST_TERMS]

    def _class(self, chosen: System) -> tuple[tuple[str, ...], ...]:
        works = sorted(work.force.name for work in chosen.works)
        holders = {*filter(self.mass_kg, self.movers), *self.rotors} & set(chosen.members)
        kinds = [kind for kind, change in chosen.solved.energy_changes.items() if change]
        return tuple(works), tuple(sorted(holders)), tuple(kinds)

    @property
    def _telling(self) -> set[tuple[str, ...]]:
        """Each mover, with and without Earth and its surface, and all of them, step by step."""
        few = (*self.sliders[:1], self.scenario.run.object)  # stand for many others
        names = few if self.many(self.movers) else self.movers
        chosen: list[tuple[str, ...]] = [each for n in names for each in ((n,), (n, EARTH))]
        chosen += [(name, self.surface_under(name)) for name in names if name in self.sliders]
        everything: tuple[str, ...] = self.movers
        for more in ((), tuple(self.apparatus.strings), self.rotors, (EARTH,)):
            everything = (*everything, *more)
            chosen.append(everything)
        chosen.append((*everything, *self.apparatus.surfaces))
        things = (*self.scenario.objects, *self.apparatus.strings, *self.apparatus.surfaces, EARTH)
        return {tuple(sorted(set(choice), key=things.index)) for choice in chosen}

    @staticmethod
    def many(names: Sequence[str]) -> bool:
        """Whether they are too many to be listed."""
        return len(names) > MOST_NAMES

    def stores(self, system: System) -> list[tuple[Store | None, Sequence[Inline]]]:
        """Where the energy of a system is and goes, each with what it holds at the start, half way
        and at the end, then all together: amounts, or in symbols, where one that comes to nothing
        counts from what it held. Empty where other works feed the system, where nothing ends the
        phase, and where the lesson can't say how much each holds.
        """
        fed = any(w.force.interaction not in DRAINS or w.force.work is None for w in system.works)
        if fed or not system.falling or self.phase.ends is None:
            return []
        found = sorted(system.changes, key=lambda store: store.kind != "potential")
        found += [Store(DRAINS[w.force.interaction], w.on, -w.symbol) for w in system.works]
        courses = list[Sequence[Inline]]()
        if self.numbers:
            known = [(self.value(store.start) or 0.0, self.value(store.change)) for store in found]
            rows = [[s + x * gain for x in SHARES] for s, gain in known if gain is not None]
            if len(rows) < len(found):
                return []
            most = max(abs(v) for row in rows for v in row)  # what rounding leaves is cleared
            rows = [[0.0 if abs(v) < 1e-12 * most else v for v in row] for row in rows]
            rows.append([sum(column) for column in zip(*rows, strict=True)])
            courses = [[self.amount(value, "J") for value in row] for row in rows]
        else:
            for kind, _, change, start, _ in found:
                if start == ZERO:
                    courses.append(["0", half(change), change])
                elif kind == "potential" or self.turns:
                    courses.append([start, _halved(start), "0"])
                else:
                    courses.append([start, start + half(change), start + change])
            courses.append([total(store.start for store in found)] * len(SHARES))
        return list(zip([*found, None], courses, strict=True))

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
        found, on, acting = [], (*self.movers, *self.rotors), self.parts[0].phase.forces
        for name in [f.name for f in acting if f.interaction in sorts and f.on in on]:
            forces = ((lab, f) for lab in self.parts for f in lab.phase.forces if f.name == name)
            trees = [(lab.distance, Acting(lab, f).formula) for lab, f in forces if f.work]
            works = [(distance, tree) for distance, tree in trees if tree is not None]
            if works:
                ways = total(signed(sized(tree)[0], d) for d, tree in works)
                distance, (_, body) = works[-1][0], sized(works[-1][1])
                size, back = rebuilt(body, {distance.id: ONE}), turned(ways)
                found.append(product(size, ways) if back is None else -product(size, back))
        return found

    @property
    def heights_over_the_run(self) -> Expression:
        """The change of all potential energies."""
        return total(-tree for tree in self.over_the_run("gravity"))

    @property
    def braking_share(self) -> Expression:
        """What slows it down, over g: μ, on a slope sin θ + μ cos θ."""
        masses, _ = self.driving_of([self.slider])
        return rebuilt(total(-mass for mass in masses), {self.mass(self.slider).id: ONE})

    @cached_property
    def coasting_acceleration(self) -> Symbol:
        """Its acceleration after the last driven part: −μ g, on a slope −(sin θ + μ cos θ) g."""
        value = -product(self.at(self.driven[-1]).braking_share, self.gravity)
        return self.symbol("coasting-acceleration", "", value, slider=self.the(self.slider))

    @cached_property
    def coasting_distance(self) -> Symbol:
        """How far it would coast on a track without end."""
        last = self.at(self.driven[-1])
        way = last.speed**2 / product(2, last.braking_share, self.gravity)
        kind = "coasting-to-turn" if last.rolls_back else "coasting-distance"
        return self.symbol(kind, "", way, slider=self.the(self.slider))

    @property
    def rolls_back(self) -> bool:
        """Whether it would turn round when it has coasted to rest."""
        return self.climb > 0 and not self.clings(self.slider)


def _halved(tree: Expression) -> Expression:
    """¼ m v² of ½ m v²."""
    if isinstance(tree, Product) and tree.factors[0] == ONE / 2:
        return Product(factors=(ONE / 4, *tree.factors[1:]))
    return half(tree)
