"""The equations of motion as trees: each object's own, their sum along the strings, its solution.
Signs are those of the lesson: positive is the way an object moves (``Setup.senses``).
"""

from collections import Counter
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from functools import cached_property
from itertools import pairwise

from fallwork.lesson.expression import Expression, Symbol, terms_of
from fallwork.lesson.lab.quantities import Quantities
from fallwork.lesson.lab.strengths import Strengths
from fallwork.lesson.trees import ONE, ZERO, over, product, rebuilt, scaled, signed, total, turned
from fallwork.mechanics.solution import Force, Interaction

INNER = (Interaction.TENSION, Interaction.CONTACT, Interaction.AXLE)  # by strings or rigid joints


@dataclass(frozen=True)
class Term:
    """A force along an object's path: its sign in the lesson's sense and its size as a tree."""

    force: Force
    sign: int
    size: Expression

    @property
    def tree(self) -> Expression:
        """The term with its sign."""
        return signed(self.sign, self.size)

    @property
    def inner(self) -> bool:
        """Whether a string or a rigid joint pulls."""
        return self.force.interaction in INNER


class Equations(Quantities, Strengths):
    """The equations of one set-up."""

    def size(self, force: Force) -> Expression:
        """The tree for the size of a force on a mover; where a string passes it, both pulls."""
        on, by, kind = force.on, force.partner, force.interaction
        match kind:
            case Interaction.TENSION:
                return self.tension(by, on)
            case Interaction.AXLE:
                return self.support(on if on in self.carried else by)
            case Interaction.CONTACT:
                path = enumerate(pairwise(self.apparatus.strings[by].path))
                parts = Counter(self.tension_at(by, at) for at, ends in path if on in ends)
                return total(product(count, part) for part, count in parts.items())
        own: Mapping[Interaction, Callable[[str], Expression]] = {
            Interaction.GRAVITY: self.gravity_on,
            Interaction.NORMAL: self.normal,
            Interaction.FRICTION: self.friction,
            Interaction.ROLLING: self.rolling,
        }
        return own[kind](on) if kind in own else self.given_force(force)

    def terms(self, name: str) -> list[Term]:
        """The forces along an object's path, in the order of their kinds."""
        found = []
        for force in self.forces_on(name):
            along, size = self.along(force), self.size(force)
            if force.interaction is Interaction.GRAVITY:
                size = product(size, self.sine(name) or 1)
            sign = 1 if (along or 0.0) * self.senses[name] > 0 else -1
            found += [Term(force, sign, part) for part in terms_of(size) if along]
        return found

    def settled(self, name: str) -> bool:
        """Whether the direction of every force along an object's path is known."""
        return all(self.along(force) is not None for force in self.forces_on(name))

    def resultant(self, name: str) -> Expression:
        """The sum of the forces on an object along its path."""
        return total(term.tree for term in sorted(self.terms(name), key=lambda t: not t.inner))

    def inner(self, name: str) -> list[Term]:
        """The pulls of strings and rigid joints along an object's path."""
        return [term for term in self.terms(name) if term.inner]

    def outer(self, name: str) -> list[Term]:
        """The forces along an object's path that drive or brake: not of strings, not rolling."""
        return [term for term in self.unrolled(name) if not term.inner]

    def unrolled(self, name: str) -> list[Term]:
        """Those that make up for the inertia of an object with its wheels: all but rolling."""
        return [t for t in self.terms(name) if t.force.interaction is not Interaction.ROLLING]

    @cached_property
    def frictions(self) -> Mapping[str, Expression]:
        """The friction force of each object that has one, by its own symbol."""
        forces = (self.force(Interaction.FRICTION, name) for name in self.sliders)
        return {force.on: self.friction(force.on) for force in forces if force and self.acts(force)}

    @cached_property
    def kinetic_frictions(self) -> Mapping[str, Expression]:
        """Those of the objects that slide."""
        return {name: f for name, f in self.frictions.items() if self.sliding(name)}

    def friction_needed(self, name: str) -> Expression:
        """The friction force that keeps an object at rest, from the other forces along its path."""
        terms = self.terms(name)
        (own,) = (term for term in terms if term.force.interaction is Interaction.FRICTION)
        return total(signed(-own.sign * each.sign, each.size) for each in terms if each is not own)

    def rolling_mass(self, name: str) -> Expression | None:
        """Half the mass of all wheels: what turning them adds to the inertia of a cart."""
        wheels = self.given_slider(name).wheels if self.wheels_kg(name) else None
        return None if wheels is None else scaled(Fraction(wheels.count, 2), self.wheel_mass(name))

    def inertia_terms(self, name: str) -> list[Expression]:
        """What a mover's own acceleration is multiplied by: its mass, and its wheels' share."""
        rolling = self.rolling_mass(name)
        own = self.mass(name) if self.mass_kg(name) else None
        return [part for part in (own, rolling) if part is not None]

    def own_acceleration(self, name: str) -> Symbol:
        """The acceleration of one mover; with a single mover just a."""
        alone = len(self.movers) == 1 and self.tied
        return self.acceleration if alone else self.acceleration_of(name)

    def mass_times_acceleration(self, name: str, *, common: bool = False) -> Expression:
        """m a of a mover, by its own acceleration or the ``common`` one; 0 at rest or massless."""
        own = self.acceleration_tree(name) if common else self.own_acceleration(name)
        moves = self.mass_kg(name) and not self.rests(name)
        return product(self.mass(name), own) if moves else ZERO

    def acceleration_tree(self, name: str) -> Expression:
        """The acceleration of a mover by the common one, where there is one."""
        if not self.moves or self.rests(name):
            return ZERO
        tied = self.tied
        return scaled(self.ratio(name), self.acceleration) if tied else self.acceleration_of(name)

    def distance_tree(self, name: str) -> Expression:
        """The path of a mover by the common distance, where there is one."""
        return scaled(self.ratio(name), self.distance) if self.tied else self.distance_of(name)

    def rim_distance(self, pulley: str) -> Expression:
        """How much string runs over a pulley."""
        if not self.tied:
            return product(self.radius(pulley), self.angle(pulley))
        return scaled(self.rim(pulley), self.distance)

    @cached_property
    def driving(self) -> Expression:
        """The sum of all equations' forces with the tensions gone."""
        terms = self._outer_terms(self.movers)
        return total([*(scaled(self.ratio(n), term.tree) for n, term in terms), *self.drags()])

    def _outer_terms(self, movers: Sequence[str]) -> list[tuple[str, Term]]:
        """What acts along the paths from outside, by mover; friction comes last."""
        terms = [(name, term) for name in movers for term in self.outer(name)]
        return sorted(terms, key=lambda pair: pair[1].force.interaction is Interaction.FRICTION)

    def drags(self) -> list[Expression]:
        """What brakes the pulleys, as negative forces at the reference mover's path."""
        drags = ((pulley, self.rotor_drag(pulley)) for pulley in self.rotors)
        return [signed(-self.onward, scaled(self.rim(p), drag)) for p, drag in drags if drag]

    @cached_property
    def common_inertia(self) -> Expression:
        """What the common acceleration is multiplied by in that sum."""
        return total(self.inertia_of(self.movers, self.rotors))

    def inertia_of(self, movers: Sequence[str], rotors: Sequence[str]) -> list[Expression]:
        """The parts that movers, wheels and pulleys contribute to the common inertia."""
        parts = [(self.ratio(name), mass) for name in movers for mass in self.inertia_terms(name)]
        turning = [(self.rim(pulley), self.rotor_inertia(pulley)) for pulley in rotors]
        parts += [(rim, inertia) for rim, inertia in turning if inertia]
        return [scaled(ratio**2, mass) for ratio, mass in parts]

    @cached_property
    def acceleration_in_full(self) -> Expression:
        """The common acceleration from the givens alone, with g taken out of the sum."""
        terms, forces = self.driving_of(self.movers)
        masses = total(terms)
        if self.mass_cancels:
            mass = self.mass(self.movers[0])
            return rebuilt(product(masses, self.gravity), {mass.id: ONE})
        back = turned(masses)
        weight = product(masses, self.gravity) if back is None else -product(back, self.gravity)
        return over(total([weight, *forces, *self.drags()]), self.common_inertia)

    @property
    def mass_cancels(self) -> bool:
        """Whether one object without wheels is all that moves, so that its mass cancels."""
        only = len(self.movers) == 1 and not self.rotors and not self.givers
        return only and not self.wheels_kg(self.movers[0])

    def driving_of(self, movers: Sequence[str]) -> tuple[list[Expression], list[Expression]]:
        """What drives and brakes some of the movers, in signed terms: over g what gravity drives
        and friction brakes, then what is given as a force. Masses that rub alike stand together.
        """
        rubbing: dict[tuple[int, Symbol, Expression | None], list[Expression]] = {}
        masses, forces = [], []
        for name, term in self._outer_terms(movers):
            mass, kind = self.mass(name), term.force.interaction
            if kind is Interaction.GRAVITY:
                share = signed(term.sign, product(mass, self.sine(name) or 1))
                masses.append(scaled(self.ratio(name), share))
            elif kind is Interaction.FRICTION:
                alike = (term.sign, self.coefficient(name), self.cosine(name))
                rubbing.setdefault(alike, []).append(scaled(self.ratio(name), mass))
            else:
                forces.append(scaled(self.ratio(name), term.tree))
        for (sign, coefficient, cosine), rubbed in rubbing.items():
            masses.append(signed(sign, product(coefficient, total(rubbed), cosine or 1)))
        return masses, forces
