"""The equations of motion as trees: each object's own, their sum along the strings, its solution.

Takes the setting and its names; every tree follows from the apparatus and the forces on its
objects, none from a particular set-up. Signs are those of the lesson: positive is the way an
object moves (``Setup.senses``).
"""

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from functools import cached_property

from fallwork.lesson.expression import (
    Expression,
    Function,
    Number,
    Sum,
    Symbol,
    as_expression,
)
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

    # Forces.

    def gravity_on(self, name: str) -> Expression:
        """The size of gravity on an object, m g."""
        return product(self.mass(name), self.gravity)

    def sine(self, name: str) -> Expression | None:
        """sin θ of the slope below an object; None on the level and for what hangs."""
        return self._of_slope(name, "sin")

    def cosine(self, name: str) -> Expression | None:
        """cos θ likewise."""
        return self._of_slope(name, "cos")

    def _of_slope(self, name: str, function: str) -> Expression | None:
        if not self.slope_rad(name) or self.upright(name):
            return None
        slope = self.slope(self.surface_under(name))
        return Function(name=function, argument=as_expression(slope))

    def normal_in_full(self, name: str) -> Expression:
        """The normal force from the givens: m g, on a slope m g cos θ, beside an upright one 0."""
        if self.upright(name):
            return ZERO
        return _times(self.gravity_on(name), self.cosine(name))

    def friction_in_full(self, name: str) -> Expression:
        """The kinetic friction force from the givens, μ m g or μ m g cos θ."""
        return product(self.coefficient(name), self.normal_in_full(name))

    def largest_friction(self, name: str) -> Expression:
        """The largest friction force before an object starts to slide, from the givens."""
        return product(self.static_coefficient(name), self.normal_in_full(name))

    def size(self, force: Force) -> Expression:
        """The tree for the size of a force on a mover."""
        on = force.on
        match force.interaction:
            case Interaction.GRAVITY:
                return self.gravity_on(on)
            case Interaction.NORMAL:
                return as_expression(self.normal(on))
            case Interaction.FRICTION:
                return as_expression(self.friction(on))
            case Interaction.ROLLING:
                return as_expression(self.rolling(on))
            case Interaction.TENSION:
                return as_expression(self.tension(force.partner, on))
            case Interaction.AXLE:
                return as_expression(self.support(on if on in self.carried else force.partner))
            case Interaction.CONTACT:
                return self.contact(force)
            case _:
                return as_expression(self.given_force(force))

    def contact(self, force: Force) -> Expression:
        """The pull of a string on the moving pulley over which it runs: both its parts."""
        path = self.apparatus.strings[force.partner].path
        inner = [at for at in range(1, len(path) - 1) if path[at] == force.on]
        parts = [self.tension_at(force.partner, at + side) for at in inner for side in (-1, 0)]
        counts = Counter(parts)
        return total(product(count, part) for part, count in counts.items())

    def terms(self, name: str) -> tuple[Term, ...]:
        """The forces along an object's path, in the order of their kinds."""
        return tuple(self._terms(name))

    def _terms(self, name: str) -> Iterator[Term]:
        for force in self.forces_on(name):
            along = self.along(force)
            if not along:
                continue
            size = self.size(force)
            sine = self.sine(name)
            if force.interaction is Interaction.GRAVITY and sine is not None:
                size = product(size, sine)
            sign = 1 if along * self.senses[name] > 0 else -1
            for part in size.terms if isinstance(size, Sum) else (size,):
                yield Term(force=force, sign=sign, size=part)

    def settled(self, name: str) -> bool:
        """Whether the direction of every force along an object's path is known."""
        return all(self.along(force) is not None for force in self.forces_on(name))

    def resultant(self, name: str) -> Expression:
        """The sum of the forces on an object along its path."""
        terms = self.terms(name)
        inner = [term.tree for term in terms if term.force.interaction in INNER]
        outer = [term.tree for term in terms if term.force.interaction not in INNER]
        return total([*inner, *outer])

    def outer(self, name: str) -> tuple[Term, ...]:
        """The forces along an object's path that drive or brake: not of strings, not rolling."""
        skipped = (*INNER, Interaction.ROLLING)
        return tuple(t for t in self.terms(name) if t.force.interaction not in skipped)

    def inner(self, name: str) -> tuple[Term, ...]:
        """The pulls of strings and rigid joints along an object's path."""
        return tuple(term for term in self.terms(name) if term.force.interaction in INNER)

    @cached_property
    def frictions(self) -> Mapping[str, Expression]:
        """The friction force of each object that has one, by its own symbol."""
        found: dict[str, Expression] = {}
        for name in self.sliders:
            force = self.force(Interaction.FRICTION, name)
            if force is not None and self.acts(force):
                found[name] = as_expression(self.friction(name))
        return found

    @cached_property
    def kinetic_frictions(self) -> Mapping[str, Expression]:
        """Those of the objects that slide."""
        return {name: f for name, f in self.frictions.items() if self.sliding(name)}

    def friction_needed(self, name: str) -> Expression:
        """The friction force that keeps an object at rest, from the other forces along its path."""
        friction = next(t for t in self.terms(name) if t.force.interaction is Interaction.FRICTION)
        others = [t for t in self.terms(name) if t.force != friction.force]
        return total(signed(-t.sign * friction.sign, t.size) for t in others)

    def mass_term(self, name: str) -> Expression | None:
        """The mass of a mover; None for a massless pulley."""
        return as_expression(self.mass(name)) if self.mass_kg(name) else None

    def rolling_mass(self, name: str) -> Expression | None:
        """Half the mass of all wheels: what turning them adds to the inertia of a cart."""
        if not self.wheels_kg(name):
            return None
        share = Fraction(self.wheel_count(name), 2)
        return scaled(share, self.wheel_mass(name))

    def inertia_terms(self, name: str) -> list[Expression]:
        """What a mover's own acceleration is multiplied by: its mass, and its wheels' share."""
        masses = (self.mass_term(name), self.rolling_mass(name))
        return [mass for mass in masses if mass is not None]

    def own_acceleration(self, name: str) -> Symbol:
        """The acceleration of one mover; with a single mover just a."""
        if len(self.movers) == 1 and self.tied:
            return self.acceleration
        return self.acceleration_of(name)

    def mass_times_acceleration(self, name: str, *, common: bool = False) -> Expression:
        """m a of one mover, by its own acceleration or the ``common`` one; 0 for what is at rest
        or has no mass.
        """
        mass = self.mass_term(name)
        if mass is None or self.rests(name):
            return ZERO
        own = self.acceleration_tree(name) if common else self.own_acceleration(name)
        return product(mass, own)

    # Pulleys that take a torque to turn.

    def rotor_inertia(self, pulley: str) -> Expression | None:
        """I/r² of a pulley."""
        if not self.pulleys[pulley].inertia:
            return None
        return self.inertia(pulley) / self.radius(pulley) ** 2

    def rotor_drag(self, pulley: str) -> Expression | None:
        """τ/r of a pulley."""
        if not self.pulleys[pulley].bearing_torque:
            return None
        return self.bearing_torque(pulley) / self.radius(pulley)

    def rim_pulls(self, pulley: str) -> Iterator[tuple[int, Symbol]]:
        """The pulls of taut strings at the rim; one that turns the pulley its way is positive."""
        way = self.spins[pulley]
        for string in self.apparatus.strings.values():
            if pulley not in string.path or self._on_hook(string.path, pulley):
                continue
            for sign, end, after in ((way, -1, True), (-way, 0, False)):
                if pulley == string.path[end]:
                    continue
                if self.stretch(string.name, pulley, after=after).tension != 0:
                    yield sign, self.tension(string.name, pulley, after=after)

    def _on_hook(self, path: tuple[str, ...], pulley: str) -> bool:
        """Whether a string ends at the hook of a moving pulley, not on its rim."""
        return self.pulleys[pulley].moving and pulley in (path[0], path[-1])

    # The sum along the strings, where they tie all motions to one.

    def acceleration_tree(self, name: str) -> Expression:
        """The acceleration of a mover by the common one, where there is one."""
        if not self.moves or self.rests(name):
            return ZERO
        if not self.tied:
            return as_expression(self.acceleration_of(name))
        return scaled(self.ratio(name), self.acceleration)

    def distance_tree(self, name: str) -> Expression:
        """The path of a mover by the common distance, where there is one."""
        if not self.tied:
            return as_expression(self.distance_of(name))
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
        return [
            signed(-self.onward, scaled(self.rim(pulley), drag))
            for pulley, drag in drags.items()
            if drag is not None
        ]

    @cached_property
    def common_inertia(self) -> Expression:
        """What the common acceleration is multiplied by in that sum."""
        return total(self.inertia_of(self.movers, self.rotors))

    def inertia_of(self, movers: tuple[str, ...], rotors: tuple[str, ...]) -> list[Expression]:
        """The parts that movers, wheels and pulleys contribute to the common inertia."""
        parts = [
            scaled(self.ratio(name) ** 2, mass)
            for name in movers
            for mass in self.inertia_terms(name)
        ]
        for pulley in rotors:
            mass = self.rotor_inertia(pulley)
            if mass is not None:
                parts.append(scaled(self.rim(pulley) ** 2, mass))
        return parts

    @cached_property
    def common_acceleration(self) -> Expression:
        """The common acceleration from the friction forces and the masses."""
        against = turned(self.driving)
        inertia = self.common_inertia
        return self.driving / inertia if against is None else -(against / inertia)

    @cached_property
    def acceleration_in_full(self) -> Expression:
        """The common acceleration from the givens alone, with g taken out of the sum."""
        masses, beside = total(self.split.masses), self.split.beside
        if self.mass_cancels:
            mass = self.mass(self.movers[0])
            return rebuilt(product(masses, self.gravity), {mass.id: Number(value=1)})
        back = turned(masses)
        weight = product(masses, self.gravity) if back is None else -product(back, self.gravity)
        driving = total([weight, *beside])
        against = turned(driving)
        inertia = self.common_inertia
        return driving / inertia if against is None else -(against / inertia)

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
            mass, kind = as_expression(self.mass(name)), term.force.interaction
            if kind is Interaction.GRAVITY:
                share = signed(term.sign, _times(mass, self.sine(name)))
                masses.append(scaled(self.ratio(name), share))
            elif kind is Interaction.FRICTION:
                alike = (term.sign, self.coefficient(name), self.cosine(name))
                rubbing.setdefault(alike, []).append(scaled(self.ratio(name), mass))
            else:
                forces.append(scaled(self.ratio(name), term.tree))
        for (sign, coefficient, cosine), rubbed in rubbing.items():
            masses.append(signed(sign, _times(product(coefficient, total(rubbed)), cosine)))
        return Driving(masses=masses, forces=forces, drags=self.drags())


def _times(tree: Expression, factor: Expression | None) -> Expression:
    return tree if factor is None else product(tree, factor)
