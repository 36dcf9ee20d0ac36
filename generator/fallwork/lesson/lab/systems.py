"""One choice of system in one phase: what is external and why some of it does no work, the works,
the energies that change, the final speed from these; where the energy is on the way.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from functools import cached_property
from typing import TYPE_CHECKING, NamedTuple

from fallwork.lesson.document import Equation
from fallwork.lesson.expression import Expression, Negative, Product, Root, Symbol, terms_of
from fallwork.lesson.lab.acting import Acting
from fallwork.lesson.lab.things import those
from fallwork.lesson.trees import ONE, ZERO, half_of, product, rebuilt, scaled, sized, total
from fallwork.mechanics import account
from fallwork.mechanics.solution import Interaction, SystemAccount, ZeroWork
from fallwork.scenario.nouns import EARTH

if TYPE_CHECKING:
    from fallwork.lesson.lab.base import Base


class Store(NamedTuple):
    """A place where energy is or goes."""

    kind: str  # potential, kinetic, rotational, wheels, thermal; what a friction or bearing takes
    object: str
    change: Expression  # what it gains over the phase
    start: Expression = ZERO  # what it holds at the start
    formula: Expression | None = None  # for the change, of what moves


@dataclass(frozen=True)
class System:
    """External work on the one side, change of energy on the other."""

    lab: "Base"
    members: tuple[str, ...]  # by name
    id: str = ""  # of a featured choice: the beginning of the ids of its steps
    title: str = ""  # as its author calls it

    # Members that move along a path, those of them that have mass, and those whose friction on a
    # surface is inside, so that it gives thermal energy.
    moving = those("lab.moving", lambda system, name: name in system.members)
    massive = those("moving", lambda system, name: system.lab.mass_kg(name) > 0)
    rubbed = those(
        "lab.kinetic_frictions",
        lambda system, name: {name, system.lab.surface_under(name)} <= {*system.members},
    )

    @cached_property
    def solved(self) -> SystemAccount:
        """External works and energy changes, from the solver."""
        return account(self.lab.apparatus, self.lab.phase, self.members)

    @property
    def with_earth(self) -> bool:
        """Whether Earth belongs to the system, so that potential energy does."""
        return EARTH in self.members

    @cached_property
    def earlier(self) -> "tuple[System, ...]":
        """The featured systems before it."""
        return tuple(self.lab.systems[: self.lab.systems.index(self)])

    @cached_property
    def falling(self) -> tuple[str, ...]:
        """Those whose potential energy with Earth changes."""
        gravity = (self.lab.force(Interaction.GRAVITY, name) for name in self.moving)
        return tuple(force.on for force in gravity if self.with_earth and force and force.work)

    @cached_property
    def turning(self) -> tuple[str, ...]:
        """Those with rotational energy: carts whose wheels count, then pulleys."""
        spinning = [name for name in self.lab.spinning if name in self.lab.heavy]
        carts = filter(self.lab.wheels_kg, self.moving)
        return (*carts, *(name for name in spinning if name in self.members))

    @property
    def carriers(self) -> tuple[str, ...]:
        """Those with kinetic energy, turning pulleys included."""
        return tuple(dict.fromkeys((*self.massive, *self.turning)))

    @cached_property
    def _acting(self) -> tuple[Acting, ...]:
        return tuple(Acting(self.lab, f) for f in self.solved.external if f.on != EARTH)

    @property
    def external(self) -> tuple[Acting, ...]:
        """What of it is there at all."""
        return tuple(e for e in self._acting if e.force.reason is not ZeroWork.NO_FORCE)

    @property
    def idle(self) -> tuple[Acting, ...]:
        """What of it does no work, those on moving or flexible members first."""
        return tuple(each for each in self._acting if each.force.reason)

    @cached_property
    def works(self) -> tuple[Acting, ...]:
        """The external forces that do work; an undetermined work counts as one."""
        forces = ((each, each.force) for each in self._acting)
        return tuple(e for e, f in forces if f.work or (f.work is None and f.reason is None))

    @property
    def pairs(self) -> list[str]:
        """The interactions between members, as forces on what moves or turns, in words."""
        pulled = (*self.lab.movers, *self.lab.rotors)
        inside = [f for f in self.solved.internal if f.reason is not ZeroWork.NO_FORCE]
        return list(dict.fromkeys(self.lab.phrase(f) for f in inside if f.on in pulled))

    @property
    def outside(self) -> tuple[str, ...]:
        """Pulleys outside that take energy from the strings of a system with Earth."""
        partners = {work.force.partner for work in self.works} if self.with_earth else ()
        return tuple(name for name in self.lab.rotors if name in partners)

    def first_work(self, sort: str, on: Sequence[str]) -> Acting | None:
        """The first work of a kind on any of these; None where an earlier system has such a one."""
        for system in (*self.earlier, self):
            for work in system.works:
                if work.force.interaction == sort and work.on in on and work.force.work:
                    return work if system is self else None
        return None

    @cached_property
    def cancelling(self) -> Mapping[str, Sequence[tuple[str, Expression]]]:
        """The taut strings inside whose works cancel: on which members, the positive ones first."""
        found = {}
        for string in (name for name in self.lab.taut if name in self.members):
            forces = [f for f in self.solved.internal if f.partner == string and f.work]
            trees = [(force.on, Acting(self.lab, force).formula) for force in forces]
            works = [(name, tree) for name, tree in trees if tree is not None]
            leaves = any(work.on == string for work in self.works)
            if len(works) >= max(2, len(trees)) and not leaves:
                found[string] = sorted(works, key=lambda work: isinstance(work[1], Negative))
        return found

    @property
    def inner_strings(self) -> list[str]:
        """Those of them that pull with one tension at their two ends and nowhere else."""
        lines = (self.lab.rigging.strings[string] for string in self.cancelling)
        paths = {line.name: line.path for line in lines if len(line.spans) == 1}
        ends = {string: {on for on, _ in self.cancelling[string]} for string in paths}
        return [string for string, path in paths.items() if ends[string] == {path[0], path[-1]}]

    @property
    def pulled_before(self) -> Mapping[str, str]:
        """By string, the only member of an earlier system that it pulls from outside."""
        alone = [system.members[0] for system in self.earlier if len(system.members) == 1]
        return {string: name for name in alone[::-1] for string in self.lab.strings_at(name)}

    @property
    def together(self) -> bool:
        """Whether its kinetic energy has several parts."""
        return len(self.carriers) > 1 or bool(self.turning)

    @cached_property
    def kinetic(self) -> Symbol:
        """The kinetic energy of the system at the end, or its change."""
        lab = self.lab
        return lab.kinetic_of_all(self.carriers) if self.together else lab.kinetic(self.massive[0])

    @cached_property
    def changes(self) -> list[Store]:
        """The energies that change, those of motion first; thermal energy is f d."""
        lab, found = self.lab, [self._of_motion("kinetic", name) for name in self.massive]
        for name in self.turning:
            found.append(self._of_motion("wheels" if name in lab.bodies else "rotational", name))
        for name in self.falling:
            change, weight = lab.potential_change(name), lab.force(Interaction.GRAVITY, name)
            falls = weight is not None and (weight.work or 0.0) > 0
            found.append(Store("potential", name, change, -change if falls else ZERO))
        rubbed = ((n, product(lab.frictions[n], lab.distance_tree(n))) for n in self.rubbed)
        return found + [Store("thermal", name, heat) for name, heat in rubbed]

    def _of_motion(self, kind: str, name: str) -> Store:
        """With ½ m v², ½ m (v² − v₀²) or, if it stops, −½ m v₀²; turning ½ I (v/r)² or ½ I ω²."""
        lab, phase = self.lab, self.lab.phase
        rates: tuple[Expression, Expression]
        if kind != "rotational":
            rates = lab.speed_of(name), lab.start_speed_of(name)
            moves = bool(phase.start_velocities[name])
        elif lab.tied:
            rim, radius = lab.rim(name), lab.radius(name)
            rates = scaled(rim, lab.speed) / radius, scaled(rim, lab.start_speed) / radius
            moves = lab.starts_moving
        else:
            rates = lab.spin(name), lab.start_spin(name)
            moves = bool(phase.start_angular_velocities.get(name))
        energy = lab.kinetic(name) if kind == "kinetic" else lab.rotational(name)
        turned = lab.rolling_mass(name) if kind == "wheels" else None
        mass = lab.mass(name) if kind == "kinetic" else turned or lab.inertia(name)
        final, start = (rate**2 for rate in rates)
        gain = half_of(mass, final - start if moves else final)
        first = half_of(mass, start)
        return Store(kind, name, energy, first if moves else ZERO, -first if lab.turns else gain)

    @property
    def balance(self) -> Equation:
        """External work on the left, change of energy on the right."""
        energies = sorted(self.changes, key=lambda store: store.kind != "potential")
        right = total(store.change for store in energies)
        return Equation(left=total(work.symbol for work in self.works), right=right, unit="J")

    @property
    def gain(self) -> Expression:
        """What the works, the potential and the thermal energy leave for the kinetic energy."""
        rest = [-each.change for each in self.changes if each.kind in ("potential", "thermal")]
        return total([*(work.symbol for work in self.works), *rest])

    @property
    def speed(self) -> Symbol:
        """The speed at the end."""
        return self.lab.speed if self.together else self.lab.speed_of(self.massive[0])

    @property
    def start_speed(self) -> Symbol:
        """The speed at the start."""
        return self.lab.start_speed_of(self.lab.reference if self.together else self.massive[0])

    @cached_property
    def moving_mass(self) -> Expression:
        """What half the squared common speed is multiplied by in the kinetic energy."""
        if not self.together:
            return self.lab.mass(self.massive[0])
        pulleys = tuple(name for name in self.turning if name in self.lab.rotors)
        return total(self.lab.inertia_of(self.moving, pulleys))

    @property
    def speed_from_energy(self) -> Equation:
        """The root, with a letter for a long mass where the numbers are put in."""
        mass, twice = self.moving_mass, product(2, self.kinetic)
        equation = self.lab.result(self.speed, self._root(twice / mass), "m/s")
        if not equation.numbers or not self.together or mass != self.lab.common_inertia:
            return equation
        letter = self.lab.symbol("moving-mass", "", mass)
        return replace(equation, forms=(self._root(twice / letter),))

    @property
    def speed_in_full(self) -> Expression:
        """The root over forces times distance, with distance and g taken out of the sum; its terms
        in the order in which Newton's second law had them, where they are the same.
        """
        lab = self.lab
        gravity = (lab.acting("gravity", name) for name in self.falling)
        driving = [each.formula or ZERO for each in gravity if each]
        braking = [-each.change for each in self.changes if each.kind == "thermal"]
        for at, work in enumerate(self.works):  # one without a formula stands as its symbol
            tree = work.gathered or work.symbol
            (braking if work.force.interaction == "friction" else driving).insert(at, tree)
        ratio = Fraction(1) if self.together else lab.ratio(self.massive[0])
        shares = (rebuilt(tree, {lab.distance.id: ONE}) for tree in (*driving, *braking))
        forces = total(scaled(1 / ratio, share) for share in shares)
        terms, before = terms_of(forces), terms_of(lab.driving)
        if len(terms) == len(before) and set(terms) <= set(before):
            forces, terms = lab.driving, before
        bodies = [sized(term)[1] for term in terms]
        shared = [isinstance(each, Product) and lab.gravity in each.factors for each in bodies]
        if len(shared) > 1 and all(shared):
            forces = product(rebuilt(forces, {lab.gravity.id: ONE}), lab.gravity)
        distance = scaled(ratio, lab.distance)
        return self._root(product(2, forces, distance) / self.moving_mass)

    def _root(self, gained: Expression) -> Expression:
        moves = self.lab.starts_moving
        return Root(body=self.start_speed**2 + gained if moves else gained)
