"""One choice of system in one phase: its members, the works on it and the energies that change.

Takes a lab and a choice; gives symbols and formulas. What acts from outside without doing work is
left to ``systems``, what becomes of the kinetic energy to ``energies``.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

from fallwork.lesson.document import Equation
from fallwork.lesson.expression import Expression, Operand, Symbol
from fallwork.lesson.lab.acting import Acting
from fallwork.lesson.trees import ZERO, product, total
from fallwork.mechanics import account
from fallwork.mechanics.solution import Interaction, SystemAccount
from fallwork.scenario import SystemChoice
from fallwork.scenario.nouns import EARTH

if TYPE_CHECKING:
    from fallwork.lesson.lab.base import Base

Change = tuple[str, Symbol | Expression]  # a kind of energy and its change


@dataclass(frozen=True)
class Account:
    """External work on the one side, change of energy on the other."""

    lab: "Base"
    choice: SystemChoice

    @property
    def members(self) -> tuple[str, ...]:
        """The names of what belongs to the system."""
        return self.choice.members

    @cached_property
    def solved(self) -> SystemAccount:
        """External works and energy changes, from the solver."""
        return account(self.lab.apparatus, self.lab.phase, self.members)

    @property
    def with_earth(self) -> bool:
        """Whether Earth belongs to the system, so that potential energy does."""
        return EARTH in self.members

    @cached_property
    def moving(self) -> tuple[str, ...]:
        """The members that move along a path."""
        return tuple(n for n in self.lab.movers if n in self.members and not self.lab.rests(n))

    @cached_property
    def falling(self) -> tuple[str, ...]:
        """The members whose potential energy with Earth changes."""
        if not self.with_earth:
            return ()
        gravity = [self.lab.force(Interaction.GRAVITY, name) for name in self.moving]
        return tuple(force.on for force in gravity if force is not None and force.work)

    @cached_property
    def turning(self) -> tuple[str, ...]:
        """The members with rotational energy: carts whose wheels count, then pulleys."""
        carts = tuple(name for name in self.moving if self.lab.wheels_kg(name))
        spinning = [name for name in self.lab.spinning if self.lab.pulleys[name].inertia]
        return (*carts, *(name for name in spinning if name in self.members))

    @property
    def turning_pulleys(self) -> tuple[str, ...]:
        """The pulleys among them."""
        return tuple(name for name in self.turning if name in self.lab.rotors)

    @property
    def massive(self) -> tuple[str, ...]:
        """The members that move and have mass."""
        return tuple(name for name in self.moving if self.lab.mass_kg(name))

    @property
    def carriers(self) -> tuple[str, ...]:
        """The members with kinetic energy, turning pulleys included."""
        return tuple(dict.fromkeys((*self.massive, *self.turning)))

    @cached_property
    def rubbed(self) -> tuple[str, ...]:
        """The members whose friction on a surface is inside, so that it gives thermal energy."""
        bodies, inside = self.lab.apparatus.bodies, self.members
        rubbing = self.lab.kinetic_frictions
        return tuple(n for n in rubbing if n in inside and bodies[n].surface in inside)

    @cached_property
    def works(self) -> tuple[Acting, ...]:
        """The external forces that do work; an undetermined work counts as one."""
        return tuple(
            Acting(self.lab, force)
            for force in self.solved.external
            if force.work or (force.work is None and force.reason is None)
        )

    @property
    def weighed(self) -> tuple[str, ...]:
        """The members on which gravity acts from outside and does work."""
        return tuple(work.on for work in self.works if work.sort == "gravity")

    @property
    def outside(self) -> tuple[str, ...]:
        """Pulleys outside that take energy from the strings of a system with Earth."""
        partners = {work.by for work in self.works} if self.with_earth else ()
        return tuple(name for name in self.lab.rotors if name in partners)

    # Its energies.

    @property
    def together(self) -> bool:
        """Whether its kinetic energy has several parts."""
        return len(self.carriers) > 1 or bool(self.turning)

    @cached_property
    def kinetic(self) -> Symbol:
        """The kinetic energy of the system at the end, or its change."""
        lab = self.lab
        return lab.kinetic_of_all(self.carriers) if self.together else lab.kinetic(self.massive[0])

    def potential_formula(self, name: str) -> Expression:
        """The change of the potential energy of a member and Earth as a formula."""
        gravity = self.lab.force(Interaction.GRAVITY, name)
        assert gravity is not None
        return -(Acting(self.lab, gravity).formula or ZERO)

    @cached_property
    def thermal(self) -> list[Expression]:
        """The thermal energy of each pair that rubs inside the system, f d."""
        return [product(self.lab.frictions[n], self.lab.distance_tree(n)) for n in self.rubbed]

    @property
    def changes(self) -> list[Change]:
        """The energies that change, those of motion first."""
        kinds: Mapping[str, Sequence[Symbol | Expression]] = {
            "kinetic": list(map(self.lab.kinetic, self.massive)),
            "rotational": list(map(self.lab.rotational, self.turning)),
            "potential": list(map(self.lab.potential_change, self.falling)),
            "thermal": self.thermal,
        }
        return [(kind, each) for kind, some in kinds.items() for each in some]

    @property
    def balance(self) -> Equation:
        """External work on the left, change of energy on the right."""
        energies: list[Operand] = list(map(self.lab.potential_change, self.falling))
        energies += [*map(self.lab.kinetic, self.massive), *map(self.lab.rotational, self.turning)]
        return Equation(
            left=total(work.symbol for work in self.works),
            right=total([*energies, *self.thermal]),
            unit="J",
            name="work–energy theorem",
        )
