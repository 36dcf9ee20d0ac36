"""One choice of system in one phase: its members, the works on it, the energies that change, and
the final speed from these.
"""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from fractions import Fraction
from functools import cached_property
from typing import TYPE_CHECKING

from fallwork.lesson.document import Equation
from fallwork.lesson.expression import Expression, Negative, Number, Product, Root, Sum, Symbol
from fallwork.lesson.trees import ZERO, product, rebuilt, scaled, total
from fallwork.mechanics import account
from fallwork.mechanics.solution import Interaction, SystemAccount
from fallwork.scenario.nouns import EARTH

if TYPE_CHECKING:
    from fallwork.lesson.lab.acting import Acting
    from fallwork.lesson.lab.base import Base

ONE = Number(value=1)


@dataclass(frozen=True)
class Balance:
    """External work on the one side, change of energy on the other."""

    lab: "Base"
    members: tuple[str, ...]  # by name
    id: str = ""  # of a featured choice: the beginning of the ids of its steps
    title: str = ""  # as its author calls it

    @cached_property
    def solved(self) -> SystemAccount:
        """External works and energy changes, from the solver."""
        return account(self.lab.apparatus, self.lab.phase, self.members)

    @property
    def with_earth(self) -> bool:
        """Whether Earth belongs to the system, so that potential energy does."""
        return EARTH in self.members

    # ---- members

    @cached_property
    def moving(self) -> tuple[str, ...]:
        """Those that move along a path."""
        return tuple(name for name in self.lab.moving if name in self.members)

    @property
    def massive(self) -> tuple[str, ...]:
        """Those of them that have mass."""
        return tuple(filter(self.lab.mass_kg, self.moving))

    @cached_property
    def falling(self) -> tuple[str, ...]:
        """Those whose potential energy with Earth changes."""
        gravity = (self.lab.force(Interaction.GRAVITY, name) for name in self.moving)
        return tuple(force.on for force in gravity if self.with_earth and force and force.work)

    @cached_property
    def turning(self) -> tuple[str, ...]:
        """Those with rotational energy: carts whose wheels count, then pulleys."""
        spinning = [name for name in self.lab.spinning if name in self.lab.heavy]
        carts = filter(self.lab.wheels_kg, self.moving)
        return (*carts, *(name for name in spinning if name in self.members))

    @property
    def carriers(self) -> tuple[str, ...]:
        """Those with kinetic energy, turning pulleys included."""
        return tuple(dict.fromkeys((*self.massive, *self.turning)))

    @cached_property
    def rubbed(self) -> tuple[str, ...]:
        """Those whose friction on a surface is inside, so that it gives thermal energy."""
        inside, under = self.members, self.lab.surface_under
        return tuple(n for n in self.lab.kinetic_frictions if n in inside and under(n) in inside)

    # ---- works and energies

    @cached_property
    def works(self) -> "tuple[Acting, ...]":
        """The external forces that do work; an undetermined work counts as one."""
        external = self.solved.external
        working = (f for f in external if f.work or (f.work is None and f.reason is None))
        return tuple(map(self.lab.acting_of, working))

    @property
    def outside(self) -> tuple[str, ...]:
        """Pulleys outside that take energy from the strings of a system with Earth."""
        partners = {work.by for work in self.works} if self.with_earth else ()
        return tuple(name for name in self.lab.rotors if name in partners)

    @property
    def together(self) -> bool:
        """Whether its kinetic energy has several parts."""
        return len(self.carriers) > 1 or bool(self.turning)

    @cached_property
    def kinetic(self) -> Symbol:
        """The kinetic energy of the system at the end, or its change."""
        lab = self.lab
        return lab.kinetic_of_all(self.carriers) if self.together else lab.kinetic(self.massive[0])

    @cached_property
    def thermal(self) -> list[Expression]:
        """The thermal energy of each pair that rubs inside the system, f d."""
        return [product(self.lab.frictions[n], self.lab.distance_tree(n)) for n in self.rubbed]

    @property
    def changes(self) -> list[tuple[str, Symbol | Expression]]:
        """The energies that change, each with its kind, those of motion first."""
        lab = self.lab
        return [
            *(("kinetic", lab.kinetic(name)) for name in self.massive),
            *(("rotational", lab.rotational(name)) for name in self.turning),
            *(("potential", lab.potential_change(name)) for name in self.falling),
            *(("thermal", tree) for tree in self.thermal),
        ]

    @property
    def balance(self) -> Equation:
        """External work on the left, change of energy on the right."""
        order = ("potential", "kinetic", "rotational", "thermal")
        energies = sorted(self.changes, key=lambda change: order.index(change[0]))
        right = total(energy for _, energy in energies)
        return Equation(left=total(work.symbol for work in self.works), right=right, unit="J")

    @property
    def gain(self) -> Expression:
        """What the works, the potential and the thermal energy leave for the kinetic energy."""
        gravity = [-self.lab.potential_change(name) for name in self.falling]
        works = [work.symbol for work in self.works]
        return total([*works, *gravity, *(-tree for tree in self.thermal)])

    # ---- the final speed: one object has symbols of its own; several have the common speed

    @property
    def speed(self) -> Symbol:
        """The speed at the end."""
        return self.lab.speed if self.together else self.lab.speed_of(self.massive[0])

    @property
    def start_speed(self) -> Symbol:
        """The speed at the start."""
        return self.lab.start_speed_of(self.lab.reference if self.together else self.massive[0])

    @cached_property
    def moving_mass(self) -> Expression:
        """What half the squared common speed is multiplied by in the kinetic energy."""
        if not self.together:
            return self.lab.mass(self.massive[0])
        pulleys = tuple(name for name in self.turning if name in self.lab.rotors)
        return total(self.lab.inertia_of(self.moving, pulleys))

    @property
    def speed_from_energy(self) -> Equation:
        """The root, with a letter for a long mass where the numbers are put in."""
        mass, twice = self.moving_mass, product(2, self.kinetic)
        equation = self.lab.result(self.speed, self._root(twice / mass), "m/s")
        if not equation.numbers or not self.together or mass != self.lab.common_inertia:
            return equation
        letter = self.lab.symbol("moving-mass", "", mass)
        return replace(equation, forms=(self._root(twice / letter),))

    @property
    def speed_in_full(self) -> Expression:
        """The root over forces times distance, with distance and g taken out of the sum; its terms
        in the order in which Newton's second law had them, where they are the same.
        """
        lab = self.lab
        ratio = Fraction(1) if self.together else lab.ratio(self.massive[0])
        forces = total(scaled(1 / ratio, force) for force in self._forces())
        terms, before = (
            tree.terms if isinstance(tree, Sum) else (tree,) for tree in (forces, lab.driving)
        )
        if len(terms) == len(before) and set(terms) <= set(before):
            forces, terms = lab.driving, before
        bodies = [term.body if isinstance(term, Negative) else term for term in terms]
        shared = [isinstance(each, Product) and lab.gravity in each.factors for each in bodies]
        if len(shared) > 1 and all(shared):
            forces = product(rebuilt(forces, {lab.gravity.id: ONE}), lab.gravity)
        distance = scaled(ratio, lab.distance)
        return self._root(product(2, forces, distance) / self.moving_mass)

    def _root(self, gained: Expression) -> Expression:
        moves = self.lab.starts_moving
        return Root(body=self.start_speed**2 + gained if moves else gained)

    def _forces(self) -> Iterator[Expression]:
        """What the works leave for each unit of the common distance, friction last.

        A work without a formula stands as its symbol.
        """
        gravity = (self.lab.acting("gravity", name) for name in self.falling)
        driving = [each.formula or ZERO for each in gravity if each]
        braking = [-tree for tree in self.thermal]
        for at, work in enumerate(self.works):
            tree = work.gathered or work.symbol
            (braking if work.sort == "friction" else driving).insert(at, tree)
        return (rebuilt(tree, {self.lab.distance.id: ONE}) for tree in (*driving, *braking))
