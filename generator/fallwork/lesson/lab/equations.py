"""The equations of motion as trees: each object's own, their sum along the strings, its solution.

Takes the setting and its names; every tree follows from the apparatus and the forces on its
objects, none from a particular set-up. Signs are those of the lesson: positive is the way an
object moves (``Setup.senses``).
"""

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from functools import cached_property

from fallwork.lesson.expression import Expression, Number, Sum, Symbol
from fallwork.lesson.lab.quantities import Quantities
from fallwork.lesson.lab.strengths import Strengths
from fallwork.lesson.trees import ZERO, product, rebuilt, scaled, signed, total, turned
from fallwork.mechanics.solution import Force, Interaction

INNER = (Interaction.TENSION, Interaction.CONTACT, Interaction.AXLE)  # by strings or rigid joints


@dataclass(frozen=True, kw_only=True)
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


@dataclass(frozen=True, kw_only=True)
class Driving:
    """The net driving force in signed terms, split by kind."""

    masses: list[Expression]  # what gravity drives and friction brakes, over g
    forces: list[Expression]  # what is given as a force
    drags: list[Expression]  # what brakes pulleys

    @property
    def beside(self) -> list[Expression]:
        """What has no factor g."""
        return [*self.forces, *self.drags]


class Equations(Quantities, Strengths):
    """The equations of one set-up."""

    # ---- forces on an object along its path

    def size(self, force: Force) -> Expression:
        """The tree for the size of a force on a mover."""
        on = force.on
        match force.interaction:
            case Interaction.GRAVITY:
                return self.gravity_on(on)
            case Interaction.NORMAL:
                return self.normal(on)
            case Interaction.FRICTION:
                return self.friction(on)
            case Interaction.ROLLING:
                return self.rolling(on)
            case Interaction.TENSION:
                return self.tension(force.partner, on)
            case Interaction.AXLE:
                return self.support(on if on in self.carried else force.partner)
            case Interaction.CONTACT:
                return self.contact(force)
            case _:
                return self.given_force(force)

    def contact(self, force: Force) -> Expression:
        """The pull of a string on the moving pulley over which it runs: both its parts."""
        inner = enumerate(self.path_of(force.partner)[1:-1], start=1)
        places = [at for at, name in inner if name == force.on]
        parts = [self.tension_at(force.partner, at + side) for at in places for side in (-1, 0)]
        return total(product(count, part) for part, count in Counter(parts).items())

    def terms(self, name: str) -> list[Term]:
        """The forces along an object's path, in the order of their kinds."""
        found = []
        for force in self.forces_on(name):
            along, size = self.along(force), self.size(force)
            if force.interaction is Interaction.GRAVITY:
                size = product(size, self.sine(name) or 1)
            sign = 1 if (along or 0.0) * self.senses[name] > 0 else -1
            parts = size.terms if isinstance(size, Sum) else (size,)
            found += [Term(force=force, sign=sign, size=part) for part in parts if along]
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
        found = {name: self.force(Interaction.FRICTION, name) for name in self.sliders}
        acting = [name for name, force in found.items() if force and self.acts(force)]
        return {name: self.friction(name) for name in acting}

    @cached_property
    def kinetic_frictions(self) -> Mapping[str, Expression]:
        """Those of the objects that slide."""
        return {name: f for name, f in self.frictions.items() if self.sliding(name)}

    def friction_needed(self, name: str) -> Expression:
        """The friction force that keeps an object at rest, from the other forces along its path."""
        kinds = {term.force.interaction: term.sign for term in self.terms(name)}
        way = -kinds[Interaction.FRICTION]
        others = [t for t in self.terms(name) if t.force.interaction is not Interaction.FRICTION]
        return total(signed(way * term.sign, term.size) for term in others)

    def rolling_mass(self, name: str) -> Expression | None:
        """Half the mass of all wheels: what turning them adds to the inertia of a cart."""
        wheels = Fraction(self.wheel_count(name), 2) if self.wheels_kg(name) else None
        return None if wheels is None else scaled(wheels, self.wheel_mass(name))

    def inertia_terms(self, name: str) -> list[Expression]:
        """What a mover's own acceleration is multiplied by: its mass, and its wheels' share."""
        rolling = self.rolling_mass(name)
        own = [self.mass(name)] if self.mass_kg(name) else []
        return [*own, *([] if rolling is None else [rolling])]

    def own_acceleration(self, name: str) -> Symbol:
        """The acceleration of one mover; with a single mover just a."""
        if len(self.movers) == 1 and self.tied:
            return self.acceleration
        return self.acceleration_of(name)

    def mass_times_acceleration(self, name: str, *, common: bool = False) -> Expression:
        """m a of one mover, by its own acceleration or the ``common`` one; 0 for what is at rest
        or has no mass.
        """
        if not self.mass_kg(name) or self.rests(name):
            return ZERO
        own = self.acceleration_tree(name) if common else self.own_acceleration(name)
        return product(self.mass(name), own)

    # ---- the sum along the strings, where they tie all motions to one

    def acceleration_tree(self, name: str) -> Expression:
        """The acceleration of a mover by the common one, where there is one."""
        if not self.moves or self.rests(name):
            return ZERO
        if not self.tied:
            return self.acceleration_of(name)
        return scaled(self.ratio(name), self.acceleration)

    def distance_tree(self, name: str) -> Expression:
        """The path of a mover by the common distance, where there is one."""
        if not self.tied:
            return self.distance_of(name)
        return scaled(self.ratio(name), self.distance)

    def rim_distance(self, pulley: str) -> Expression:
        """How much string runs over a pulley."""
        if not self.tied:
            return product(self.radius(pulley), self.angle(pulley))
        return scaled(self.rim(pulley), self.distance)

    def sides(self, movers: Mapping[str, int]) -> tuple[Expression, Expression]:
        """The accelerations on a string: those that give string left, the others right."""
        ties = {n: k * self.senses[n] for n, k in movers.items() if not self.rests(n)}
        give, take = (
            total(scaled(abs(k), self.acceleration_of(n)) for n, k in ties.items() if k * way > 0)
            for way in (-1, 1)
        )
        return (take, give) if give == ZERO else (give, take)

    @cached_property
    def driving(self) -> Expression:
        """The sum of all equations' forces with the tensions gone."""
        terms = [
            scaled(self.ratio(name), term.tree) for name, term in self._outer_terms(self.movers)
        ]
        return total([*terms, *self.drags()])

    def _outer_terms(self, movers: Sequence[str]) -> list[tuple[str, Term]]:
        """What acts along the paths from outside, by mover; friction comes last."""
        terms = [(name, term) for name in movers for term in self.outer(name)]
        return sorted(terms, key=lambda pair: pair[1].force.interaction is Interaction.FRICTION)

    def drags(self) -> list[Expression]:
        """What brakes the pulleys, as negative forces at the reference mover's path."""
        drags = {pulley: self.rotor_drag(pulley) for pulley in self.rotors}
        shares = [scaled(self.rim(pulley), drag) for pulley, drag in drags.items() if drag]
        return [signed(-self.onward, share) for share in shares]

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
    def common_acceleration(self) -> Expression:
        """The common acceleration from the friction forces and the masses."""
        return over(self.driving, self.common_inertia)

    @cached_property
    def acceleration_in_full(self) -> Expression:
        """The common acceleration from the givens alone, with g taken out of the sum."""
        masses = total(self.split.masses)
        if self.mass_cancels:
            mass = self.mass(self.movers[0])
            return rebuilt(product(masses, self.gravity), {mass.id: Number(value=1)})
        back = turned(masses)
        weight = product(masses, self.gravity) if back is None else -product(back, self.gravity)
        return over(total([weight, *self.split.beside]), self.common_inertia)

    @property
    def mass_cancels(self) -> bool:
        """Whether one object without wheels is all that moves, so that its mass cancels."""
        only = len(self.movers) == 1 and not self.rotors and not self.givers
        return only and not self.wheels_kg(self.movers[0])

    @cached_property
    def split(self) -> Driving:
        """The net driving force by kind."""
        return self.driving_of(self.movers)

    def driving_of(self, movers: Sequence[str]) -> Driving:
        """What drives and brakes some of the movers; masses that rub alike stand together."""
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
        return Driving(masses=masses, forces=forces, drags=self.drags())


def over(forces: Expression, inertia: Expression) -> Expression:
    """Forces over an inertia, with one sign in front where all of them brake."""
    against = turned(forces)
    return forces / inertia if against is None else -(against / inertia)
