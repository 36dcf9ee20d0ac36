"""The equations of motion as trees: each object's own, their sum along the strings, its solution.

Takes the setting and its names; every tree follows from the apparatus (objects, surfaces,
strings), none from a particular set-up. Signs are those of the lesson: positive is the way an
object moves (``Setting.senses``).
"""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property

from fallwork.lesson.expression import Expression, Ref, as_expression
from fallwork.lesson.names import Names
from fallwork.lesson.setting import Setting
from fallwork.lesson.trees import product, signed, total


@dataclass(frozen=True)
class Motion:
    """The equations of one setting."""

    setting: Setting
    names: Names

    def gravity_on(self, name: str) -> Expression:
        """The size of gravity on an object, m g."""
        return product(self.names.mass(name), self.names.gravity)

    def friction_in_full(self, name: str) -> Expression:
        """The friction force with the normal force put in, μ m g."""
        return product(self.names.coefficient(name), self.names.mass(name), self.names.gravity)

    def largest_friction(self, name: str) -> Expression:
        """The largest friction force before an object starts to slide, in terms of the givens."""
        if self.setting.bodies[name].static_friction is None:
            return self.friction_in_full(name)
        return product(
            self.names.static_coefficient(name), self.names.mass(name), self.names.gravity
        )

    def pulls(self, name: str) -> tuple[tuple[int, Expression], ...]:
        """The tensions on an object along its path: sign in the lesson's sense, and size."""
        result = []
        for string in self.setting.strings_at(name):
            lengthens = self.setting.constraint(string)[name] * self.setting.senses[name]
            result.append((-lengthens, Ref(symbol=self.names.tension(string, name))))
        return tuple(result)

    def drives(self, name: str) -> tuple[Expression, ...]:
        """What acts on an object along its path besides strings, as signed terms."""
        terms: list[Expression] = []
        if name in self.setting.hanging:
            terms.append(signed(self.setting.senses[name], self.gravity_on(name)))
        if name in self.frictions:
            terms.append(-self.frictions[name])
        return tuple(terms)

    @cached_property
    def frictions(self) -> Mapping[str, Expression]:
        """The friction force of each object that has one, by its own symbol."""
        return {
            name: as_expression(self.names.friction(name))
            for name in self.setting.sliders
            if self.setting.rubs(name)
        }

    def resultant(self, name: str) -> Expression:
        """The sum of the forces on an object along its path."""
        tensions = [signed(sign, tree) for sign, tree in self.pulls(name)]
        return total([*tensions, *self.drives(name)])

    @cached_property
    def driving(self) -> Expression:
        """The sum of all equations' forces with the tensions gone."""
        terms: list[Expression] = []
        for name, ratio in self.ratios.items():
            for term in self.drives(name):
                terms.append(term if ratio == 1 else product(ratio, term))
        return total(terms)

    @cached_property
    def inertia(self) -> Expression:
        """What the common acceleration is multiplied by in that sum."""
        return total(
            product(ratio**2, self.names.mass(name)) for name, ratio in self.ratios.items()
        )

    @cached_property
    def ratios(self) -> Mapping[str, int]:
        """How far each mover goes along its own way for one of the reference mover."""
        unit = abs(self.setting.ratios[self.setting.reference])
        return {name: abs(ratio) // unit for name, ratio in self.setting.ratios.items()}

    @cached_property
    def acceleration(self) -> Expression:
        """The acceleration from the friction force and the masses."""
        return self.driving / self.inertia

    @cached_property
    def acceleration_in_full(self) -> Expression:
        """The acceleration from the givens alone, with g taken out of the sum."""
        terms = [
            product(ratio, term) if ratio != 1 else term
            for name, ratio in self.ratios.items()
            for term in self._drives_per_gravity(name)
        ]
        return product(total(terms), self.names.gravity) / self.inertia

    def _drives_per_gravity(self, name: str) -> tuple[Expression, ...]:
        mass = self.names.mass(name)
        terms: list[Expression] = []
        if name in self.setting.hanging:
            terms.append(signed(self.setting.senses[name], mass))
        if name in self.frictions:
            terms.append(-product(self.names.coefficient(name), mass))
        return tuple(terms)
