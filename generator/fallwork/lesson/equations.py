"""The equations of motion as trees: each object's own, their sum along the strings, its solution.

Takes the setting and its names; every tree follows from the apparatus and the forces on its
objects, none from a particular set-up. Signs are those of the lesson: positive is the way an
object moves (``Setting.senses``).
"""

from collections import Counter
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from fractions import Fraction
from functools import cached_property

from fallwork.lesson.expression import Expression, Function, Number, Sum, Symbol, as_expression
from fallwork.lesson.setting import Setting
from fallwork.lesson.symbols import Names
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


@dataclass(frozen=True)
class Motion:
    """The equations of one setting."""

    setting: Setting
    names: Names

    # Forces.

    def gravity_on(self, name: str) -> Expression:
        """The size of gravity on an object, m g."""
        return product(self.names.mass(name), self.names.gravity)

    def sine(self, name: str) -> Expression | None:
        """sin θ of the slope below an object; None on the level and for what hangs."""
        return self._of_slope(name, "sin")

    def cosine(self, name: str) -> Expression | None:
        """cos θ likewise."""
        return self._of_slope(name, "cos")

    def _of_slope(self, name: str, function: str) -> Expression | None:
        if not self.setting.slope(name) or self.setting.upright(name):
            return None
        slope = self.names.slope(self.names.surface(name))
        return Function(name=function, argument=as_expression(slope))

    def normal_in_full(self, name: str) -> Expression:
        """The normal force from the givens: m g, on a slope m g cos θ, beside an upright one 0."""
        if self.setting.upright(name):
            return ZERO
        return _times(self.gravity_on(name), self.cosine(name))

    def friction_in_full(self, name: str) -> Expression:
        """The kinetic friction force from the givens, μ m g or μ m g cos θ."""
        return product(self.names.coefficient(name), self.normal_in_full(name))

    def largest_friction(self, name: str) -> Expression:
        """The largest friction force before an object starts to slide, from the givens."""
        return product(self.names.static_coefficient(name), self.normal_in_full(name))

    def size(self, force: Force) -> Expression:
        """The tree for the size of a force on a mover."""
        return _SIZES[force.interaction](self, force)

    def contact(self, force: Force) -> Expression:
        """The pull of a string on the moving pulley over which it runs: both its parts."""
        path = self.setting.apparatus.strings[force.partner].path
        inner = [at for at in range(1, len(path) - 1) if path[at] == force.on]
        parts = [
            self.names.tension_at(force.partner, at + side) for at in inner for side in (-1, 0)
        ]
        counts = Counter(parts)
        return total(product(count, part) for part, count in counts.items())

    def terms(self, name: str) -> tuple[Term, ...]:
        """The forces along an object's path, in the order of their kinds."""
        return tuple(self._terms(name))

    def _terms(self, name: str) -> Iterator[Term]:
        for force in self.setting.forces_on(name):
            along = self.setting.along(force)
            if not along:
                continue
            size = self.size(force)
            sine = self.sine(name)
            if force.interaction is Interaction.GRAVITY and sine is not None:
                size = product(size, sine)
            sign = 1 if along * self.setting.senses[name] > 0 else -1
            for part in size.terms if isinstance(size, Sum) else (size,):
                yield Term(force=force, sign=sign, size=part)

    def settled(self, name: str) -> bool:
        """Whether the direction of every force along an object's path is known."""
        return all(self.setting.along(force) is not None for force in self.setting.forces_on(name))

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
        for name in self.setting.sliders:
            force = self.setting.force(Interaction.FRICTION, name)
            if force is not None and self.setting.acts(force):
                found[name] = as_expression(self.names.friction(name))
        return found

    @cached_property
    def kinetic_frictions(self) -> Mapping[str, Expression]:
        """Those of the objects that slide."""
        return {name: f for name, f in self.frictions.items() if self.setting.slides(name)}

    def friction_needed(self, name: str) -> Expression:
        """The friction force that keeps an object at rest, from the other forces along its path."""
        friction = next(t for t in self.terms(name) if t.force.interaction is Interaction.FRICTION)
        others = [t for t in self.terms(name) if t.force != friction.force]
        return total(signed(-t.sign * friction.sign, t.size) for t in others)

    def mass_term(self, name: str) -> Expression | None:
        """The mass of a mover; None for a massless pulley."""
        return as_expression(self.names.mass(name)) if self.setting.mass(name) else None

    def rolling_mass(self, name: str) -> Expression | None:
        """Half the mass of all wheels: what turning them adds to the inertia of a cart."""
        if not self.setting.wheel_mass(name):
            return None
        share = Fraction(self.names.wheel_count(name), 2)
        return scaled(share, self.names.wheel_mass(name))

    def inertia_terms(self, name: str) -> list[Expression]:
        """What a mover's own acceleration is multiplied by: its mass, and its wheels' share."""
        masses = (self.mass_term(name), self.rolling_mass(name))
        return [mass for mass in masses if mass is not None]

    def own_acceleration(self, name: str) -> Symbol:
        """The acceleration of one mover; with a single mover just a."""
        if len(self.setting.movers) == 1 and self.setting.tied:
            return self.names.acceleration
        return self.names.acceleration_of(name)

    def mass_times_acceleration(self, name: str, *, common: bool = False) -> Expression:
        """m a of one mover, by its own acceleration or the ``common`` one; 0 for what is at rest
        or has no mass.
        """
        mass = self.mass_term(name)
        if mass is None or self.setting.rests(name):
            return ZERO
        own = self.acceleration_tree(name) if common else self.own_acceleration(name)
        return product(mass, own)

    # Pulleys that take a torque to turn.

    def rotor_inertia(self, pulley: str) -> Expression | None:
        """I/r² of a pulley."""
        if not self.setting.pulleys[pulley].inertia:
            return None
        return self.names.inertia(pulley) / self.names.radius(pulley) ** 2

    def rotor_drag(self, pulley: str) -> Expression | None:
        """τ/r of a pulley."""
        if not self.setting.pulleys[pulley].bearing_torque:
            return None
        return self.names.bearing_torque(pulley) / self.names.radius(pulley)

    def rim_pulls(self, pulley: str) -> Iterator[tuple[int, Symbol]]:
        """The pulls of taut strings at the rim; one that turns the pulley its way is positive."""
        way = self.setting.spins[pulley]
        for string in self.setting.apparatus.strings.values():
            if pulley not in string.path or self._on_hook(string.path, pulley):
                continue
            for sign, end, after in ((way, -1, True), (-way, 0, False)):
                if pulley == string.path[end]:
                    continue
                if self.names.stretch(string.name, pulley, after=after).tension != 0:
                    yield sign, self.names.tension(string.name, pulley, after=after)

    def _on_hook(self, path: tuple[str, ...], pulley: str) -> bool:
        """Whether a string ends at the hook of a moving pulley, not on its rim."""
        return self.setting.pulleys[pulley].moving and pulley in (path[0], path[-1])

    # The sum along the strings, where they tie all motions to one.

    def acceleration_tree(self, name: str) -> Expression:
        """The acceleration of a mover by the common one, where there is one."""
        if not self.setting.moves or self.setting.rests(name):
            return ZERO
        if not self.setting.tied:
            return as_expression(self.names.acceleration_of(name))
        return scaled(self.setting.ratio(name), self.names.acceleration)

    def distance_tree(self, name: str) -> Expression:
        """The path of a mover by the common distance, where there is one."""
        if not self.setting.tied:
            return as_expression(self.names.distance_of(name))
        return scaled(self.setting.ratio(name), self.names.distance)

    def rim_distance(self, pulley: str) -> Expression:
        """How much string runs over a pulley."""
        if not self.setting.tied:
            return product(self.names.radius(pulley), self.names.angle(pulley))
        return scaled(self.setting.rim(pulley), self.names.distance)

    @cached_property
    def driving(self) -> Expression:
        """The sum of all equations' forces with the tensions gone."""
        terms = [scaled(self.setting.ratio(name), term.tree) for name, term in self._outer_terms()]
        return total([*terms, *self.drags()])

    def _outer_terms(self) -> list[tuple[str, Term]]:
        """What acts along the paths from outside, by mover; friction comes last."""
        terms = [(name, term) for name in self.setting.movers for term in self.outer(name)]
        return sorted(terms, key=lambda pair: pair[1].force.interaction is Interaction.FRICTION)

    def drags(self) -> list[Expression]:
        """What brakes the pulleys, as negative forces at the reference mover's path."""
        drags = {pulley: self.rotor_drag(pulley) for pulley in self.setting.rotors}
        return [
            signed(-self.setting.onward, scaled(self.setting.rim(pulley), drag))
            for pulley, drag in drags.items()
            if drag is not None
        ]

    @cached_property
    def inertia(self) -> Expression:
        """What the common acceleration is multiplied by in that sum."""
        return total(self.inertia_of(self.setting.movers, self.setting.rotors))

    def inertia_of(self, movers: tuple[str, ...], rotors: tuple[str, ...]) -> list[Expression]:
        """The parts that movers, wheels and pulleys contribute to the common inertia."""
        parts = [
            scaled(self.setting.ratio(name) ** 2, mass)
            for name in movers
            for mass in self.inertia_terms(name)
        ]
        for pulley in rotors:
            mass = self.rotor_inertia(pulley)
            if mass is not None:
                parts.append(scaled(self.setting.rim(pulley) ** 2, mass))
        return parts

    @cached_property
    def acceleration(self) -> Expression:
        """The common acceleration from the friction forces and the masses."""
        against = turned(self.driving)
        return self.driving / self.inertia if against is None else -(against / self.inertia)

    @cached_property
    def acceleration_in_full(self) -> Expression:
        """The common acceleration from the givens alone, with g taken out of the sum."""
        terms = list(self.shares())
        if self.alone:
            mass = self.names.mass(self.setting.movers[0])
            return rebuilt(product(total(terms), self.names.gravity), {mass.id: Number(value=1)})
        against = turned(total([*terms, *self.drags()]))
        if against is None:
            return self._in_full(total(terms), self.drags())
        drags = [signed(-1, drag) for drag in self.drags()]
        return -self._in_full(turned(total(terms)) or ZERO, drags)

    def _in_full(self, masses: Expression, drags: list[Expression]) -> Expression:
        """Masses that gravity drives and what brakes pulleys, over the common inertia."""
        return total([product(masses, self.names.gravity), *drags]) / self.inertia

    @property
    def alone(self) -> bool:
        """Whether one object without wheels is all that moves, so that its mass cancels."""
        setting = self.setting
        only = len(setting.movers) == 1 and not setting.rotors
        return only and not setting.wheel_mass(setting.movers[0])

    def shares(self) -> Iterator[Expression]:
        """The net driving force without drags and without the factor g, in signed terms.

        Masses that rub alike stand together.
        """
        rubbing: dict[tuple[int, Symbol, Expression | None], list[Expression]] = {}
        for name, term in self._outer_terms():
            mass = as_expression(self.names.mass(name))
            if term.force.interaction is Interaction.GRAVITY:
                share = signed(term.sign, _times(mass, self.sine(name)))
                yield scaled(self.setting.ratio(name), share)
            else:
                alike = (term.sign, self.names.coefficient(name), self.cosine(name))
                rubbing.setdefault(alike, []).append(scaled(self.setting.ratio(name), mass))
        for (sign, coefficient, cosine), masses in rubbing.items():
            yield signed(sign, _times(product(coefficient, total(masses)), cosine))


def _times(tree: Expression, factor: Expression | None) -> Expression:
    return tree if factor is None else product(tree, factor)


def _gravity(motion: Motion, force: Force) -> Expression:
    return motion.gravity_on(force.on)


def _named(method: str) -> "_Size":
    def size(motion: Motion, force: Force) -> Expression:
        symbol: Symbol = getattr(motion.names, method)(force.on)
        return as_expression(symbol)

    return size


def _tension(motion: Motion, force: Force) -> Expression:
    return as_expression(motion.names.tension(force.partner, force.on))


def _contact(motion: Motion, force: Force) -> Expression:
    return motion.contact(force)


def _axle(motion: Motion, force: Force) -> Expression:
    carried = motion.setting.carried
    load = force.on if force.on in carried else force.partner
    return as_expression(motion.names.support(load))


_Size = Callable[[Motion, Force], Expression]

_SIZES: Mapping[Interaction, _Size] = {
    Interaction.GRAVITY: _gravity,
    Interaction.NORMAL: _named("normal"),
    Interaction.FRICTION: _named("friction"),
    Interaction.ROLLING: _named("rolling"),
    Interaction.TENSION: _tension,
    Interaction.CONTACT: _contact,
    Interaction.AXLE: _axle,
}
