"""What every solved run must satisfy, worked out again from masses, speeds and ways.

Each function gives the complaints about one solution; a sound one gives none.
"""

import math
import random
from collections.abc import Callable, Iterable, Iterator
from itertools import combinations

from fallwork.mechanics import (
    EARTH,
    Apparatus,
    Force,
    Phase,
    Solution,
    SystemAccount,
    account,
    objects,
)
from mechanics.reasons import force_along, sense, wrong_reasons

GIVE = 1e-9  # of the sum of all sizes
Accountant = Callable[[Apparatus, Phase, Iterable[str]], SystemAccount]


def mass(apparatus: Apparatus, name: str) -> float:
    return (apparatus.bodies.get(name) or apparatus.pulleys[name]).mass


def mechanical_energy(
    apparatus: Apparatus, members: frozenset[str], v: dict, w: dict, way: dict
) -> float:
    """Kinetic, rotational and potential energy of a system, from the first principles."""
    total = 0.0
    for name in v:
        m = mass(apparatus, name)
        if name not in members or (m == 0 and v[name] is None):  # adrift, without energy
            continue
        total += m * v[name] ** 2 / 2
        body = apparatus.bodies.get(name)
        if body is not None:  # one disc of radius 1 m with the mass of all the wheels
            total += (body.wheel_mass * 1.0**2 / 2) * (v[name] / 1.0) ** 2 / 2
        if EARTH in members:
            total += m * apparatus.gravity * sense(apparatus, name)[1] * way[name]
    for name, spin in w.items():
        if name in members:
            total += apparatus.pulleys[name].inertia * spin**2 / 2
    return total


def heat(apparatus: Apparatus, phase: Phase, members: frozenset[str]) -> float:
    """Friction times the way, for rubbing pairs inside the system."""
    total = 0.0
    for force in phase.forces:
        body = apparatus.bodies.get(force.on)
        if force.interaction.value != "friction" or body is None or force.vector is None:
            continue
        if {body.name, body.surface} <= members:
            total += math.hypot(*force.vector) * abs(phase.displacements[body.name] or 0.0)
    return total


def energies_of(apparatus: Apparatus, phase: Phase, members: frozenset[str]) -> list[float]:
    """Mechanical energy at the start and at the end of a phase, the first without heights."""
    still = dict.fromkeys(phase.displacements, 0.0)
    return [
        mechanical_energy(apparatus, members, v, w, way)
        for v, w, way in (
            (phase.start_velocities, phase.start_angular_velocities, still),
            (phase.end_velocities, phase.end_angular_velocities, phase.displacements),
        )
    ]


def energy_change(apparatus: Apparatus, phase: Phase, members: frozenset[str]) -> float:
    before, after = energies_of(apparatus, phase, members)
    return after - before + heat(apparatus, phase, members)


def size_of(apparatus: Apparatus, phase: Phase) -> float:
    """The sum of the sizes of all works and energies of a phase; of its works if it has no end."""
    works = sum(abs(force.work or 0.0) for force in phase.forces)
    if None in phase.end_velocities.values():
        return works
    return works + sum(energies_of(apparatus, phase, frozenset(objects(apparatus)) - {EARTH}))


def choices(apparatus: Apparatus, rng: random.Random) -> list[tuple[str, ...]]:
    """All systems with one or two members, some larger ones and the largest.

    Works and energies belong to objects and pairs, so what balances for every one and two members
    balances for all; the larger ones check that they are put together rightly.
    """
    names = objects(apparatus)
    larger = [tuple(rng.sample(names, rng.randint(3, len(names)))) for _ in range(8)]
    return [*((name,) for name in names), *combinations(names, 2), *larger, tuple(names)]


def unbalanced(
    apparatus: Apparatus, solution: Solution, *, accountant: Accountant = account, seed: int = 0
) -> list[str]:
    """Systems whose external work isn't their change of energy, or not the one found here."""
    complaints = []
    for phase in solution.phases:
        if phase.duration is None and solution.moves:
            continue
        give = GIVE * size_of(apparatus, phase)
        for chosen in choices(apparatus, random.Random(seed)):
            given = accountant(apparatus, phase, chosen)
            wanted = energy_change(apparatus, phase, frozenset(chosen))
            misses = [each - wanted for each in totals(given) if each is not None]
            open_ = len(misses) < 2 and not phase.undetermined
            if open_ or any(abs(miss) > give for miss in misses):
                complaints.append(f"{phase.name} {chosen}: {misses}")
    return complaints


def totals(found: SystemAccount) -> tuple[float | None, float | None]:
    return (found.external_work, found.energy_change)


def wrong_works(apparatus: Apparatus, solution: Solution) -> list[str]:
    """Works on bodies that aren't force times way, works on what is at rest, reasons missing."""
    complaints = []
    for phase in solution.phases:
        give = GIVE * size_of(apparatus, phase)
        for force in phase.forces:
            if (force.work == 0) != (force.reason is not None):
                complaints.append(f"{phase.name} {force.name}: {force.work} {force.reason}")
            if force.on in apparatus.surfaces or force.on == EARTH:
                if force.work != 0:
                    complaints.append(f"{phase.name} {force.name}: at rest, {force.work}")
                continue
            way = phase.displacements.get(force.on)
            known = way is not None and force.vector is not None and force.work is not None
            if not known or force.interaction.value in ("rolling", "landing"):
                continue
            along = force_along(apparatus, force)
            on_pulley = force.interaction.value == "contact"
            if not on_pulley and abs(along * way - force.work) > give:
                complaints.append(f"{phase.name} {force.name}: {force.work} for {along * way}")
    return complaints


def off_newton(apparatus: Apparatus, solution: Solution) -> list[str]:
    """Objects and axles that miss the second law, pairs that miss the third.

    Together they make the second law hold for every system: its forces are those on its members
    without those of its pairs. An impact has none: its forces are not resolved in time. Where
    forces are undetermined, every alternative is checked.
    """
    return [
        f"{phase.name} {what}: {left} of {size}"
        for phase in solution.phases
        if phase.accelerations or phase.duration != 0
        for forces in phase.alternatives or (phase.forces,)
        for what, left, size in (
            *of_objects(apparatus, phase, forces),
            *of_pairs(apparatus, forces),
            *of_axles(apparatus, phase, forces),
        )
        if left > GIVE * size
    ]


Residual = tuple[str, float, float]  # what, what is left of its law, the size of all terms


def movers(apparatus: Apparatus) -> tuple[str, ...]:
    return (*apparatus.bodies, *apparatus.pulleys, *apparatus.strings)


def of_objects(apparatus: Apparatus, phase: Phase, forces: Iterable[Force]) -> Iterator[Residual]:
    for name in movers(apparatus):
        terms = [force.vector for force in forces if force.on == name and force.vector]
        if name in phase.accelerations:
            needed = -mass(apparatus, name) * phase.accelerations[name]
            terms.append(tuple(needed * part for part in sense(apparatus, name)))
        yield name, total(terms), total_size(terms)


def of_pairs(apparatus: Apparatus, forces: Iterable[Force]) -> Iterator[Residual]:
    between: dict[frozenset[str], list[tuple[float, float]]] = {}
    for force in forces:
        if force.vector and {force.on, force.partner} <= {*movers(apparatus)}:
            between.setdefault(frozenset((force.on, force.partner)), []).append(force.vector)
    for pair, terms in between.items():
        yield " and ".join(sorted(pair)), total(terms), total_size(terms)


def of_axles(apparatus: Apparatus, phase: Phase, forces: Iterable[Force]) -> Iterator[Residual]:
    for name, spin in phase.angular_accelerations.items():
        pulley = apparatus.pulleys[name]
        terms = [force.torque for force in forces if force.on == name and force.torque is not None]
        terms.append(-pulley.inertia * spin)
        pulls = (
            pulley.radius
            * sum(  # whose torques partly cancel
                pull or 0.0
                for string in apparatus.strings.values()
                for at, element in enumerate(string.path)
                for pull in phase.segment_tensions[string.name][max(at - 1, 0) : at + 1]
                if element == name
            )
        )
        yield f"axle of {name}", abs(sum(terms)), pulls + sum(map(abs, terms))


def total(vectors: Iterable[tuple[float, ...]]) -> float:
    return math.hypot(*map(sum, zip(*vectors, strict=True)))


def total_size(vectors: Iterable[tuple[float, ...]]) -> float:
    return sum(math.hypot(*vector) for vector in vectors)


def every_complaint(apparatus: Apparatus, solution: Solution, seed: int = 0) -> list[str]:
    return [
        *unbalanced(apparatus, solution, seed=seed),
        *wrong_works(apparatus, solution),
        *wrong_reasons(apparatus, solution),
        *off_newton(apparatus, solution),
    ]
