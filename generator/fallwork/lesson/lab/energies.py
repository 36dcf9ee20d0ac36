"""What becomes of a system's energy: the kinetic energy that is left, the final speed from it,
each member's share, and where the energy is at the start, half way and at the end.
"""

from collections.abc import Callable, Iterator
from dataclasses import replace
from functools import cached_property, partial
from typing import TYPE_CHECKING, NamedTuple

from fallwork.lesson.document import Equation, Inline, Relation
from fallwork.lesson.expression import (
    Expression,
    Negative,
    Number,
    Operand,
    Product,
    Root,
    Sum,
    Symbol,
    as_expression,
    evaluate,
)
from fallwork.lesson.lab.accounts import Account
from fallwork.lesson.trees import ZERO, half, half_of, product, rebuilt, scaled, total
from fallwork.mechanics.solution import Interaction

if TYPE_CHECKING:
    pass

SHARES = (0.0, 0.5, 1.0)  # of the distance; all forces are constant, so of each change as well
_DRAINS = {Interaction.FRICTION: "friction", Interaction.BEARING_TORQUE: "bearing"}


class Store(NamedTuple):
    """A place where energy is or goes."""

    kind: str  # potential, kinetic, rotational, wheels, thermal; what a friction or bearing takes
    object: str
    change: Expression  # what it gains over the phase
    start: float | None = 0.0  # J, what it holds at the start; None: counted from its lowest value


class Energies(Account):
    """The energy balance of a system, worked through."""

    @property
    def gain(self) -> Expression:
        """What the works, the potential and the thermal energy leave for the kinetic energy."""
        terms = [as_expression(work.symbol) for work in self.works]
        terms += [-self.lab.potential_change(name) for name in self.falling]
        return total([*terms, *(-tree for tree in self.thermal)])

    # The final speed. One object has symbols of its own; several have the common speed.

    @property
    def speed(self) -> Symbol:
        """The speed at the end."""
        return self.lab.speed if self.together else self.lab.speed_of(self.massive[0])

    @property
    def _start_square(self) -> Expression | None:
        """The square of the speed at the start; None from rest."""
        mover = self.lab.reference if self.together else self.massive[0]
        return self.lab.start_speed_of(mover) ** 2 if self.lab.starts_moving else None

    @cached_property
    def moving_mass(self) -> Expression:
        """What half the squared common speed is multiplied by in the kinetic energy."""
        if not self.together:
            return as_expression(self.lab.mass(self.massive[0]))
        return total(self.lab.inertia_of(self.moving, self.turning_pulleys))

    @property
    def kinetic_by_speed(self) -> Relation:
        """K = ½ m v², or ½ m (v² − v₀²)."""
        square, start = self.speed**2, self._start_square
        energy = half_of(self.moving_mass, square if start is None else square - start)
        return Relation(sides=(as_expression(self.kinetic), energy), signs=("=",))

    @property
    def kinetic_lost(self) -> Expression:
        """Minus the kinetic energy at the start, for a motion that comes to a stop."""
        return -half_of(self.moving_mass, self._start_square or ZERO)

    @property
    def speed_from_energy(self) -> Equation:
        """The root, with a letter for a long mass where the numbers are put in."""
        mass = self.moving_mass
        twice = product(2, self.kinetic)
        equation = self.lab.result(self.speed, self._root(twice / mass), "m/s")
        if not equation.numbers or not self.together or mass != self.lab.common_inertia:
            return equation
        letter = self.lab.symbol("moving-mass", "", mass)
        return replace(equation, forms=(self._root(twice / letter),))

    @property
    def speed_in_full(self) -> Expression:
        """The root over forces times distance, with the distance taken out of the sum."""
        distance: Expression = as_expression(self.lab.distance)
        forces = list(self._forces())
        if not self.together:
            (name,) = self.massive
            distance = self.lab.distance_tree(name)
            forces = [scaled(1 / self.lab.ratio(name), force) for force in forces]
        push = self._gravity_out(self._in_order(total(forces)))
        return self._root(product(2, push, distance) / self.moving_mass)

    def _root(self, gained: Expression) -> Expression:
        start = self._start_square
        return Root(body=gained if start is None else start + gained)

    def _forces(self) -> Iterator[Expression]:
        """What the works leave for each unit of the common distance, friction last.

        A work without a formula stands as its symbol.
        """
        unit: dict[str, Expression] = {self.lab.distance.id: Number(value=1)}
        driving = [-self.potential_formula(name) for name in self.falling]
        braking = [-tree for tree in self.thermal]
        for at, work in enumerate(self.works):
            tree = work.gathered or as_expression(work.symbol)
            brakes = work.force.interaction is Interaction.FRICTION
            (braking if brakes else driving).insert(at, tree)
        return (rebuilt(tree, unit) for tree in (*driving, *braking))

    def _in_order(self, forces: Expression) -> Expression:
        """The terms in the order in which Newton's second law had them, where they are the same."""
        before = self.lab.driving
        terms, known = (
            tree.terms if isinstance(tree, Sum) else (tree,) for tree in (forces, before)
        )
        return before if len(terms) == len(known) and set(terms) <= set(known) else forces

    def _gravity_out(self, forces: Expression) -> Expression:
        """A sum in which g is a factor of every term, with g taken out of it."""
        g = self.lab.gravity
        terms = forces.terms if isinstance(forces, Sum) else ()
        bodies = [term.body if isinstance(term, Negative) else term for term in terms]
        shared = [b for b in bodies if isinstance(b, Product) and as_expression(g) in b.factors]
        if not bodies or len(shared) < len(bodies):
            return forces
        return product(rebuilt(forces, {g.id: Number(value=1)}), g)

    # Kinetic energies one by one.

    @property
    def kinetic_parts(self) -> Iterator[tuple[Symbol, Expression]]:
        """The kinetic energy of each member, then the rotational ones, with their formulas."""
        for name in self.massive:
            yield self.lab.kinetic(name), self._half_square(self.lab.mass(name), name)
        for name in self.turning:
            mass = self.lab.rolling_mass(name) if name in self.massive else None
            turned = self._half_spin(name) if mass is None else self._half_square(mass, name)
            yield self.lab.rotational(name), turned

    def _half_square(self, mass: Operand, name: str) -> Expression:
        """½ m v², or ½ m (v² − v₀²); where the motion comes to a stop, −½ m v₀²."""
        moves = bool(self.lab.first_speed(name))
        final, start = self.lab.speed_of(name) ** 2, self.lab.start_speed_of(name) ** 2
        return self._gained(partial(half_of, as_expression(mass)), final, start, moves=moves)

    def _half_spin(self, pulley: str) -> Expression:
        """½ I (v/r)² likewise; ½ I ω² where no common speed is there."""
        final, start = self.lab.spin(pulley) ** 2, self.lab.start_spin(pulley) ** 2
        moves = bool(self.lab.phase.start_angular_velocities.get(pulley))
        if self.lab.tied:
            final, start = (
                (scaled(self.lab.rim(pulley), speed) / self.lab.radius(pulley)) ** 2
                for speed in (self.lab.speed, self.lab.start_speed)
            )
            moves = self.lab.starts_moving
        return self._gained(partial(half, self.lab.inertia(pulley)), final, start, moves=moves)

    def _gained(
        self,
        energy: Callable[[Expression], Expression],
        final: Expression,
        start: Expression,
        *,
        moves: bool,
    ) -> Expression:
        if self.lab.turns:
            return -energy(start)
        return energy(final - start if moves else final)

    # Where the energy is on the way.

    @cached_property
    def stores(self) -> list[Store]:
        """Where the energy is and goes; none where other works feed the system, where nothing
        ends the phase, and where the lesson can't say how much each holds.
        """
        fed = any(w.force.interaction not in _DRAINS or w.force.work is None for w in self.works)
        if fed or not self.falling or self.lab.phase.ends is None:
            return []
        found = list(self._stores())
        if not self.lab.numbers:
            return [] if self.lab.starts_moving else found
        return [] if any(self.lab.value(store.change) is None for store in found) else found

    def _stores(self) -> Iterator[Store]:
        lab = self.lab

        def store(kind: str, name: str, change: Operand, start: float | None = 0.0) -> Store:
            return Store(kind, name, as_expression(change), start)

        for name in self.falling:
            yield store("potential", name, lab.potential_change(name), None)
        for name in self.massive:
            square = lab.first_speed(name) ** 2
            yield store("kinetic", name, lab.kinetic(name), lab.mass_kg(name) * square / 2)
        for name in self.turning:
            kind = "wheels" if name in self.lab.bodies else "rotational"
            yield store(kind, name, self.lab.rotational(name), self._first_spin(name))
        for name, tree in zip(self.rubbed, self.thermal, strict=True):
            yield store("thermal", name, tree)
        for work in self.works:
            yield store(_DRAINS[work.force.interaction], work.on, -work.symbol)

    def _first_spin(self, name: str) -> float:
        """The rotational energy of a cart's wheels or of a pulley at the start of the phase, J."""
        if name in self.lab.bodies:
            return self.lab.wheels_kg(name) * self.lab.first_speed(name) ** 2 / 4
        spin = self.lab.phase.start_angular_velocities.get(name, 0.0)
        return float(self.lab.pulleys[name].inertia) * spin**2 / 2

    @cached_property
    def courses(self) -> list[list[Inline]]:
        """What each store holds at the start, half way and at the end, then all together: amounts,
        or in symbols for a run from rest, where every store starts or ends empty.
        """
        lab, stores = self.lab, self.stores
        if not lab.numbers:
            falls = [store.kind == "potential" and self._falls(store.object) for store in stores]
            given = total(-s.change for s, fall in zip(stores, falls, strict=True) if fall)
            course = [_in_symbols(s.change, fall) for s, fall in zip(stores, falls, strict=True)]
            return [*course, [given] * len(SHARES)]
        rows = [_course(store) for store in stores]
        size = max(abs(value) for row in rows for value in row)  # what rounding leaves is cleared
        rows = [[0.0 if abs(v) < 1e-12 * size else v for v in row] for row in rows]
        return [
            [lab.amount(v, "J") for v in row] for row in (*rows, map(sum, zip(*rows, strict=True)))
        ]

    def _falls(self, name: str) -> bool:
        gravity = self.lab.force(Interaction.GRAVITY, name)
        return gravity is not None and (gravity.work or 0.0) > 0


def _course(store: Store) -> list[float]:
    change = evaluate(store.change)
    start = max(0.0, -change) if store.start is None else store.start
    return [start + share * change for share in SHARES]


def _in_symbols(change: Expression, falls: bool) -> list[Inline]:
    size = -change if falls else change
    course: list[Inline] = ["0", half(size), size]
    return course[::-1] if falls else course
