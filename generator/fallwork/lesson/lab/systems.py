"""What the steps about each featured choice of system ask: what is external, and why some of it
does no work; which strings inside do works that cancel; where the energy is on the way.
"""

from collections.abc import Iterator, Mapping, Sequence
from functools import cached_property
from typing import TYPE_CHECKING, NamedTuple

from fallwork.lesson.document import Inline
from fallwork.lesson.expression import Expression, Negative, Product, Symbol
from fallwork.lesson.lab.balance import Balance
from fallwork.lesson.trees import ONE, ZERO, half, half_of, scaled, total
from fallwork.mechanics.solution import Interaction, ZeroWork
from fallwork.scenario.nouns import EARTH

if TYPE_CHECKING:
    from fallwork.lesson.lab.acting import Acting


SHARES = (0.0, 0.5, 1.0)  # of the distance; all forces are constant, so of each change as well
DRAINS = {Interaction.FRICTION: "friction", Interaction.BEARING_TORQUE: "bearing"}


class Store(NamedTuple):
    """A place where energy is or goes."""

    kind: str  # potential, kinetic, rotational, wheels, thermal; what a friction or bearing takes
    object: str
    change: Expression  # what it gains over the phase
    start: Expression = ZERO  # what it holds at the start


class System(Balance):
    """A choice of system."""

    @cached_property
    def earlier(self) -> "tuple[System, ...]":
        """The featured systems before it."""
        return tuple(self.lab.systems[: self.lab.systems.index(self)])

    @property
    def first(self) -> bool:
        """Whether no other featured system comes before it."""
        return not self.earlier

    @cached_property
    def external(self) -> "tuple[Acting, ...]":
        """What acts on a member from outside."""
        acting = map(self.lab.acting_of, self.solved.external)
        return tuple(
            each
            for each in acting
            if each.on != EARTH and each.force.reason is not ZeroWork.NO_FORCE
        )

    @cached_property
    def idle(self) -> "tuple[Acting, ...]":
        """What of it does no work, those on moving or flexible members first."""
        acting = map(self.lab.acting_of, self.solved.external)
        return tuple(each for each in acting if each.on != EARTH and each.force.reason)

    @property
    def told_before(self) -> set[str]:
        """The forces whose reason an earlier system has told."""
        return {each.force.name for system in self.earlier for each in system.idle}

    @property
    def pairs(self) -> list[str]:
        """The interactions between members, as forces on what moves or turns, in words."""
        pulled = (*self.lab.movers, *self.lab.rotors)
        inside = [f for f in self.solved.internal if f.reason is not ZeroWork.NO_FORCE]
        return list(dict.fromkeys(self.lab.phrase(f) for f in inside if f.on in pulled))

    def first_work(self, sort: str, on: Sequence[str]) -> "Acting | None":
        """The first work of a kind on any of these; None where an earlier system has such a one."""
        for system in (*self.earlier, self):
            for work in system.works:
                if work.sort == sort and work.on in on and work.force.work:
                    return work if system is self else None
        return None

    # ---- strings inside

    @cached_property
    def cancelling(self) -> Mapping[str, Sequence[tuple[str, Expression]]]:
        """The taut strings inside that do works which cancel: on which members, the positive ones
        first.
        """
        found = {}
        for string in (name for name in self.lab.taut if name in self.members):
            forces = [f for f in self.solved.internal if f.partner == string and f.work]
            trees = [(force.on, self.lab.acting_of(force).formula) for force in forces]
            works = [(name, tree) for name, tree in trees if tree is not None]
            leaves = any(work.on == string for work in self.works)
            if len(works) >= max(2, len(trees)) and not leaves:
                found[string] = sorted(works, key=lambda work: isinstance(work[1], Negative))
        return found

    @property
    def inner_strings(self) -> list[str]:
        """Those of them that pull with one tension at their two ends and nowhere else."""
        ends = {name: {on for on, _ in works} for name, works in self.cancelling.items()}
        paths = {name: self.lab.path_of(name) for name in ends if self.lab.one_tension(name)}
        return [name for name, path in paths.items() if ends[name] == {path[0], path[-1]}]

    @property
    def pulled_before(self) -> Mapping[str, str]:
        """By string, the only member of an earlier system that it pulls from outside."""
        alone = [system.members[0] for system in self.earlier if len(system.members) == 1]
        return {string: name for name in alone[::-1] for string in self.lab.strings_at(name)}

    # ---- kinetic energies one by one

    @property
    def kinetic_parts(self) -> Iterator[tuple[Symbol, Expression]]:
        """The kinetic energy of each member, then the rotational ones, with their formulas: ½ m v²,
        ½ m (v² − v₀²), or where the motion comes to a stop −½ m v₀²; of pulleys ½ I (v/r)²
        likewise, or ½ I ω² where no common speed is there.
        """
        lab = self.lab
        for name in self.massive:
            yield lab.kinetic(name), self._energy(lab.mass(name), name)
        for name in self.turning:
            mass = lab.rolling_mass(name) if name in self.massive else None
            yield lab.rotational(name), self._energy(mass or lab.inertia(name), name, mass is None)

    def _energy(self, inertia: Expression, name: str, turning: bool = False) -> Expression:
        final, start, moves = self._squares(name, turning)
        if self.lab.turns:
            return -half_of(inertia, start)
        return half_of(inertia, final - start if moves else final)

    def _squares(self, name: str, turning: bool) -> tuple[Expression, Expression, bool]:
        """Of its speed or angular velocity, at the end and the start; whether it moves then."""
        lab, phase = self.lab, self.lab.phase
        if not turning:
            moves = bool(phase.start_velocities[name])
            return lab.speed_of(name) ** 2, lab.start_speed_of(name) ** 2, moves
        if lab.tied:
            rim, radius = lab.rim(name), lab.radius(name)
            rates = scaled(rim, lab.speed) / radius, scaled(rim, lab.start_speed) / radius
            return rates[0] ** 2, rates[1] ** 2, lab.starts_moving
        moves = bool(phase.start_angular_velocities.get(name))
        return lab.spin(name) ** 2, lab.start_spin(name) ** 2, moves

    # ---- where the energy is on the way

    @cached_property
    def stores(self) -> list[Store]:
        """Where the energy is and goes; none where other works feed the system, where nothing
        ends the phase, and where the lesson can't say how much each holds.
        """
        fed = any(w.force.interaction not in DRAINS or w.force.work is None for w in self.works)
        if fed or not self.falling or self.lab.phase.ends is None:
            return []
        found = list(self._stores())
        unknown = self.lab.numbers and any(self.lab.value(each.change) is None for each in found)
        return [] if unknown else found

    def _stores(self) -> Iterator[Store]:
        lab = self.lab
        for name in self.falling:
            change, weight = lab.potential_change(name), lab.acting("gravity", name)
            falls = weight is not None and (weight.force.work or 0.0) > 0
            yield Store("potential", name, change, -change if falls else ZERO)
        for name in self.massive:
            yield Store("kinetic", name, lab.kinetic(name), self._at_start(lab.mass(name), name))
        for name in self.turning:
            mass = lab.rolling_mass(name) if name in self.massive else None
            start = self._at_start(mass or lab.inertia(name), name, mass is None)
            kind = "wheels" if name in lab.bodies else "rotational"
            yield Store(kind, name, lab.rotational(name), start)
        for name, tree in zip(self.rubbed, self.thermal, strict=True):
            yield Store("thermal", name, tree)
        for work in self.works:
            yield Store(DRAINS[work.force.interaction], work.on, -work.symbol)

    def _at_start(self, inertia: Expression, name: str, turning: bool = False) -> Expression:
        _, square, moves = self._squares(name, turning)
        return half_of(inertia, square) if moves else ZERO

    @cached_property
    def courses(self) -> list[Sequence[Inline]]:
        """What each store holds at the start, half way and at the end, then all together: amounts,
        or in symbols, where one that comes to nothing counts from what it held.
        """
        lab, stores = self.lab, self.stores
        if not lab.numbers:
            given = total(store.start for store in stores)
            return [*(self._in_symbols(store) for store in stores), [given] * len(SHARES)]
        known = [(lab.value(s.start) or 0.0, lab.value(s.change) or 0.0) for s in stores]
        rows = [[start + share * change for share in SHARES] for start, change in known]
        size = max(abs(value) for row in rows for value in row)  # what rounding leaves is cleared
        rows = [[0.0 if abs(v) < 1e-12 * size else v for v in row] for row in rows]
        rows.append([sum(column) for column in zip(*rows, strict=True)])
        return [[lab.amount(value, "J") for value in row] for row in rows]

    def _in_symbols(self, store: Store) -> Sequence[Inline]:
        start, change = store.start, store.change
        if start == ZERO:
            return "0", half(change), change
        if store.kind == "potential" or self.lab.turns:
            return start, _halved(start), "0"
        return start, start + half(change), start + change


def _halved(tree: Expression) -> Expression:
    """¼ m v² of ½ m v²."""
    if isinstance(tree, Product) and tree.factors[0] == ONE / 2:
        return Product(factors=(ONE / 4, *tree.factors[1:]))
    return half(tree)
