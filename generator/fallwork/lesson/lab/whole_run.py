"""The energy balance of a run that turns round, over all its parts: friction counts path, gravity
counts displacement.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

from fallwork.lesson.document import Relation
from fallwork.lesson.expression import (
    Expression,
    Negative,
    Number,
    Operand,
    Root,
    Symbol,
    as_expression,
)
from fallwork.lesson.lab.acting import Acting
from fallwork.lesson.trees import half_of, product, rebuilt, total
from fallwork.mechanics.solution import Interaction

if TYPE_CHECKING:
    from fallwork.lesson.lab.base import Base

_BRAKES = (Interaction.FRICTION, Interaction.BEARING_TORQUE)


@dataclass(frozen=True)
class WholeRun:
    """The energy balance over all driven parts of a run that turns round."""

    parts: "tuple[Base, ...]"

    @cached_property
    def braked(self) -> list[Expression]:
        """The works of what brakes, each over all parts."""
        return list(self._works(*_BRAKES))

    @property
    def all_braked(self) -> Expression:
        """All of them together."""
        return total(self.braked)

    @property
    def heights(self) -> Expression:
        """The change of all potential energies."""
        return total(-tree for tree in self._works(Interaction.GRAVITY))

    def _works(self, *kinds: Interaction) -> Iterator[Expression]:
        setting = self.parts[0]
        for force in setting.phase.forces:
            if force.interaction in kinds and force.on in (*setting.movers, *setting.rotors):
                tree = self._over_all(force.name)
                if tree is not None:
                    yield tree

    def _over_all(self, name: str) -> Expression | None:
        """The work of one force over all parts: its size times the distances, with their signs."""
        distances: list[Expression] = []
        size: Expression | None = None
        for lab in self.parts:
            force = next((f for f in lab.phase.forces if f.name == name), None)
            tree = Acting(lab, force).formula if force is not None and force.work else None
            if tree is not None:
                path = as_expression(lab.distance)
                back = isinstance(tree, Negative)
                body = tree.body if isinstance(tree, Negative) else tree
                size = rebuilt(body, {lab.distance.id: Number(value=1)})
                distances.append(-path if back else path)
        if size is None:
            return None
        if all(isinstance(distance, Negative) for distance in distances):
            return -product(size, total(-distance for distance in distances))
        return product(size, total(distances))

    def _symbol(self, key: str, tree: Expression) -> Symbol:
        lab = self.parts[0]
        return lab.of_run(key, lab.value(tree))

    @property
    def work(self) -> Symbol:
        """The work of everything that brakes."""
        return self._symbol("work", self.all_braked)

    @property
    def potential(self) -> Symbol:
        """The change of all potential energies."""
        return self._symbol("potential", self.heights)

    @property
    def gain(self) -> Expression:
        """What is left for the kinetic energy."""
        works = [as_expression(self.work)] if self.braked else []
        return total([*works, -self.potential])

    @property
    def kinetic(self) -> Symbol:
        """The change of the kinetic energy of all together."""
        return self._symbol("kinetic", self.gain)

    @property
    def speed(self) -> Symbol:
        """The final speed."""
        return self.parts[-1].speed

    @property
    def kinetic_by_speed(self) -> Relation:
        """ΔK = ½ M (v² − v₀²)."""
        lab = self.parts[0]
        squares = self.speed**2
        if lab.starts_moving:
            squares = squares - lab.start_speed**2
        sides = as_expression(self.kinetic), half_of(lab.common_inertia, squares)
        return Relation(sides=sides, signs=("=",))

    @property
    def speed_from_energy(self) -> Expression:
        """The root, with a letter for a long mass where the numbers are put in."""
        lab = self.parts[0]
        mass: Operand = lab.common_inertia
        if lab.numbers:
            mass = lab.moving_mass(lab.value(mass))
        gained = product(2, self.kinetic) / mass
        if lab.starts_moving:
            gained = lab.start_speed**2 + gained
        return Root(body=gained)
