"""What every solved run must satisfy, worked out again: each function gives complaints."""

import math
import random
from collections.abc import Iterable, Iterator
from itertools import combinations
from operator import mul

from fallwork.mechanics import EARTH, Apparatus, Force, Phase, Solution, account, objects

GIVE = 1e-9  # of the sum of all sizes


def mechanical_energy(
    apparatus: Apparatus, members: frozenset[str], v: dict, w: dict, way: dict
) -> float:
    """Kinetic, rotational and potential energy of a system, from the first principles."""
    total = 0.0
    for name in (name for name in v if name in members):
        m = apparatus.thing(name).mass
        if m == 0 and v[name] is None:  # adrift, without energy
            continue
        total += m * v[name] ** 2 / 2
        body = apparatus.bodies.get(name)
        if body is not None:  # one disc of radius 1 m with the mass of all the wheels
            total += (body.wheel_mass * 1.0**2 / 2) * (v[name] / 1.0) ** 2 / 2
        if EARTH in members:
            total += m * apparatus.gravity * sense(apparatus, name)[1] * way[name]
    return total + sum(
        apparatus.pulleys[name].inertia * w[name] ** 2 / 2 for name in members & {*w}
    )


def heat(apparatus: Apparatus, phase: Phase, members: frozenset[str]) -> float:
    total = 0.0
    for force in phase.forces:
        body = apparatus.bodies.get(force.on)
        rubs = force.interaction.value == "friction" and body is not None and force.vector
        if rubs and {body.name, body.surface} <= members:
            total += math.hypot(*force.vector) * abs(phase.displacements[body.name] or 0.0)
    return total


def energies_of(apparatus: Apparatus, phase: Phase, members: frozenset[str]) -> list[float]:
    """Mechanical energy at the start and at the end of a phase, the first without heights."""
    still = dict.fromkeys(phase.displacements, 0.0)
    ends = phase.end_velocities, phase.end_angular_velocities, phase.displacements
    starts = phase.start_velocities, phase.start_angular_velocities, still
    return [mechanical_energy(apparatus, members, *moment) for moment in (starts, ends)]


def size_of(apparatus: Apparatus, phase: Phase) -> float:
    """The sum of the sizes of all works and energies of a phase; of its works if it has no end."""
    works = sum(abs(force.work or 0.0) for force in phase.forces)
    if None in phase.end_velocities.values():
        return works
    return works + sum(energies_of(apparatus, phase, frozenset(objects(apparatus)) - {EARTH}))


def choices(apparatus: Apparatus, rng: random.Random) -> list[tuple[str, ...]]:
    """All systems of one or two members, to which works and energies belong, and larger ones."""
    names = objects(apparatus)
    larger = [tuple(rng.sample(names, rng.randint(3, len(names)))) for _ in range(8)]
    return [*((name,) for name in names), *combinations(names, 2), *larger, tuple(names)]


def unbalanced(apparatus: Apparatus, solution: Solution, seed: int = 0) -> list[str]:
    """Systems whose external work isn't their change of energy, or not the one found here."""
    complaints = []
    for phase in solution.phases:
        if phase.duration is None and solution.moves:
            continue
        give = GIVE * size_of(apparatus, phase)
        for chosen in choices(apparatus, random.Random(seed)):
            given, members = account(apparatus, phase, chosen), frozenset(chosen)
            before, after = energies_of(apparatus, phase, members)
            wanted = after - before + heat(apparatus, phase, members)
            sides = (given.external_work, given.energy_change)
            misses = [each - wanted for each in sides if each is not None]
            open_ = len(misses) < 2 and not phase.undetermined
            if open_ or any(abs(miss) > give for miss in misses):
                complaints.append(f"{phase.name} {chosen}: {misses}")
    return complaints


def wrong_works(apparatus: Apparatus, solution: Solution) -> list[str]:
    """Works on bodies that aren't force times way, works on what is at rest, reasons missing."""
    complaints = []
    for phase in solution.phases:
        give = GIVE * size_of(apparatus, phase)
        for force in phase.forces:
            if (force.work == 0) != (force.reason is not None):
                complaints.append(f"{phase.name} {force.name}: {force.work} {force.reason}")
            if force.on in (*apparatus.surfaces, EARTH):
                if force.work != 0:
                    complaints.append(f"{phase.name} {force.name}: at rest, {force.work}")
                continue
            way = phase.displacements.get(force.on)
            known = None not in (way, force.vector, force.work)
            if known and force.interaction.value not in ("rolling", "landing", "contact"):
                work = force_along(apparatus, force) * way
                if abs(work - force.work) > give:
                    complaints.append(f"{phase.name} {force.name}: {force.work} for {work}")
    return complaints


def off_newton(apparatus: Apparatus, solution: Solution) -> list[str]:
    """Objects and axles that miss the second law, and pairs that miss the third, but for impacts,
    which have no forces in time; of open forces every alternative is checked.
    """
    return [
        f"{phase.name} {what}: {left} of {size}"
        for phase in solution.phases
        if phase.accelerations or phase.duration != 0
        for forces in phase.alternatives or (phase.forces,)
        for laws in (of_objects, of_pairs, of_axles)
        for what, left, size in laws(apparatus, phase, forces)
        if left > GIVE * size
    ]


Residual = tuple[str, float, float]  # what, what is left of its law, the size of all terms


def movers(apparatus: Apparatus) -> tuple[str, ...]:
    return (*apparatus.bodies, *apparatus.pulleys, *apparatus.strings)


def of_objects(apparatus: Apparatus, phase: Phase, forces: Iterable[Force]) -> Iterator[Residual]:
    for name in movers(apparatus):
        terms = [force.vector for force in forces if force.on == name and force.vector]
        if name in phase.accelerations:
            needed = -apparatus.thing(name).mass * phase.accelerations[name]
            terms.append(tuple(needed * part for part in sense(apparatus, name)))
        yield name, *sums(terms)


def of_pairs(apparatus: Apparatus, phase: Phase, forces: Iterable[Force]) -> Iterator[Residual]:
    between: dict[frozenset[str], list[tuple[float, float]]] = {}
    for force in forces:
        if force.vector and {force.on, force.partner} <= {*movers(apparatus)}:
            between.setdefault(frozenset((force.on, force.partner)), []).append(force.vector)
    for pair, terms in between.items():
        yield " and ".join(sorted(pair)), *sums(terms)


def of_axles(apparatus: Apparatus, phase: Phase, forces: Iterable[Force]) -> Iterator[Residual]:
    for name, spin in phase.angular_accelerations.items():
        pulley = apparatus.pulleys[name]
        terms = [force.torque for force in forces if force.on == name and force.torque is not None]
        terms.append(-pulley.inertia * spin)
        pulls = (  # whose torques partly cancel
            pull or 0.0
            for string in apparatus.strings.values()
            for at, element in enumerate(string.path)
            for pull in phase.segment_tensions[string.name][max(at - 1, 0) : at + 1]
            if element == name
        )
        size = pulley.radius * sum(pulls) + sum(map(abs, terms))
        yield f"axle of {name}", abs(sum(terms)), size


def sums(vectors: Iterable[tuple[float, ...]]) -> tuple[float, float]:
    total = math.hypot(*map(sum, zip(*vectors, strict=True)))
    return total, sum(math.hypot(*vector) for vector in vectors)


def every_complaint(apparatus: Apparatus, solution: Solution, seed: int = 0) -> list[str]:
    return [
        *unbalanced(apparatus, solution, seed),
        *wrong_works(apparatus, solution),
        *off_newton(apparatus, solution),
    ]


def sense(apparatus: Apparatus, name: str) -> tuple[float, float]:
    """The unit vector of an object's positive sense; beyond upright a slope is upright."""
    body = apparatus.bodies.get(name)
    if body is None or body.surface is None:
        return (0.0, -1.0)
    slope = apparatus.surfaces[body.surface].slope
    slope = math.copysign(min(abs(slope), math.pi / 2), slope)
    return (math.cos(slope), math.sin(slope))


def force_along(apparatus: Apparatus, force: Force) -> float:
    return sum(map(mul, force.vector, sense(apparatus, force.on)))
