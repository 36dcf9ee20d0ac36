"""What the steps about each featured choice of system ask: what is external, and why some of it
does no work; which strings inside do works that cancel; where the energy is on the way.
"""

from collections.abc import Iterator, Mapping, Sequence
from functools import cached_property
from typing import TYPE_CHECKING, NamedTuple

from fallwork.lesson.document import Inline
from fallwork.lesson.expression import Expression, Negative, Symbol
from fallwork.lesson.lab.balance import Balance
from fallwork.lesson.trees import half, half_of, scaled, total
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
    start: float | None = 0.0  # J, what it holds at the start; None: counted from its lowest value


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
        lab, phase = self.lab, self.lab.phase
        rates: tuple[Expression, Expression]
        if not turning:
            rates = lab.speed_of(name), lab.start_speed_of(name)
            moves = bool(phase.start_velocities[name])
        elif lab.tied:
            rim, radius = lab.rim(name), lab.radius(name)
            rates = scaled(rim, lab.speed) / radius, scaled(rim, lab.start_speed) / radius
            moves = lab.starts_moving
        else:
            rates = lab.spin(name), lab.start_spin(name)
            moves = bool(phase.start_angular_velocities.get(name))
        final, start = (rate**2 for rate in rates)
        if lab.turns:
            return -half_of(inertia, start)
        return half_of(inertia, final - start if moves else final)

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
        if not self.lab.numbers:
            return [] if self.lab.starts_moving else found
        return [] if any(self.lab.value(store.change) is None for store in found) else found

    def _stores(self) -> Iterator[Store]:
        lab = self.lab
        spins = lab.phase.start_angular_velocities
        for name in self.falling:
            yield Store("potential", name, lab.potential_change(name), None)
        for name in self.massive:
            start = lab.mass_kg(name) * lab.first_speed(name) ** 2 / 2
            yield Store("kinetic", name, lab.kinetic(name), start)
        for name in self.turning:
            wheels, change = name in lab.bodies, lab.rotational(name)
            if wheels:
                start = lab.wheels_kg(name) * lab.first_speed(name) ** 2 / 4
            else:
                start = float(lab.pulleys[name].inertia) * spins.get(name, 0.0) ** 2 / 2
            yield Store("wheels" if wheels else "rotational", name, change, start)
        for name, tree in zip(self.rubbed, self.thermal, strict=True):
            yield Store("thermal", name, tree)
        for work in self.works:
            yield Store(DRAINS[work.force.interaction], work.on, -work.symbol)

    @cached_property
    def courses(self) -> list[Sequence[Inline]]:
        """What each store holds at the start, half way and at the end, then all together: amounts,
        or in symbols for a run from rest, where every store starts or ends empty.
        """
        lab, stores = self.lab, self.stores
        if not lab.numbers:
            potential = [store for store in stores if store.kind == "potential"]
            ways = {name: lab.heading(name, lab.ways[name]) for name in self.falling}
            falls = [store for store in potential if ways[store.object].startswith("down")]
            given = total(-store.change for store in falls)
            return [*(_in_symbols(s.change, s in falls) for s in stores), [given] * len(SHARES)]
        rows = [_course(store.start, lab.value(store.change) or 0.0) for store in stores]
        size = max(abs(value) for row in rows for value in row)  # what rounding leaves is cleared
        rows = [[0.0 if abs(v) < 1e-12 * size else v for v in row] for row in rows]
        rows.append([sum(column) for column in zip(*rows, strict=True)])
        return [[lab.amount(value, "J") for value in row] for row in rows]


def _course(start: float | None, change: float) -> list[float]:
    first = max(0.0, -change) if start is None else start
    return [first + share * change for share in SHARES]


def _in_symbols(change: Expression, falls: bool) -> Sequence[Inline]:
    size = -change if falls else change
    course: list[Inline] = ["0", half(size), size]
    return course[::-1] if falls else course
