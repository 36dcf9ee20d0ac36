"""What every solved run must satisfy, worked out again from masses, speeds and ways.

Each function gives the complaints about one solution; a sound one gives none.
"""

import math
import random
from collections.abc import Callable, Iterable
from itertools import combinations

from fallwork.mechanics import (
    EARTH,
    Apparatus,
    Force,
    Interaction,
    Phase,
    Solution,
    SystemAccount,
    ZeroWork,
    account,
    account_of_run,
    objects,
)
from fallwork.mechanics.apparatus import Pulley
from fallwork.mechanics.solution import Role
from mechanics.residuals import newton_residuals

GIVE = 1e-9  # of the sum of all sizes
Accountant = Callable[[Apparatus, Phase, Iterable[str]], SystemAccount]


def rise(apparatus: Apparatus, name: str, way: float) -> float:
    """How much higher something is after going ``way`` along its own positive sense."""
    body = apparatus.bodies.get(name)
    if body is None or body.surface is None:
        return -way
    return math.sin(apparatus.surfaces[body.surface].slope) * way


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
            total += m * apparatus.gravity * rise(apparatus, name, way[name])
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


def energy_change(apparatus: Apparatus, phase: Phase, members: frozenset[str]) -> float:
    still = dict.fromkeys(phase.displacements, 0.0)
    before = mechanical_energy(
        apparatus, members, phase.start_velocities, phase.start_angular_velocities, still
    )
    after = mechanical_energy(
        apparatus, members, phase.end_velocities, phase.end_angular_velocities, phase.displacements
    )
    return after - before + heat(apparatus, phase, members)


def size_of(apparatus: Apparatus, phase: Phase) -> float:
    """The sum of the sizes of all works and energies of a phase; of its works if it has no end."""
    everything = frozenset(objects(apparatus)) - {EARTH}
    still = dict.fromkeys(phase.displacements, 0.0)
    works = sum(abs(force.work or 0.0) for force in phase.forces)
    if None in phase.end_velocities.values():
        return works
    return works + sum(
        mechanical_energy(apparatus, everything, v, w, still)
        for v, w in (
            (phase.start_velocities, phase.start_angular_velocities),
            (phase.end_velocities, phase.end_angular_velocities),
        )
    )


def choices(apparatus: Apparatus, rng: random.Random, limit: int = 7) -> list[tuple[str, ...]]:
    """Every system of a small apparatus; of a large one all with one or two members and more.

    Works and energies belong to objects and pairs, so what balances for every one and two members
    balances for all; the larger ones check that they are put together rightly.
    """
    names = objects(apparatus)
    sizes = range(1, len(names) + 1) if len(names) <= limit else (1, 2)
    found = [chosen for size in sizes for chosen in combinations(names, size)]
    if len(names) > limit:
        found += [tuple(rng.sample(names, rng.randint(3, len(names)))) for _ in range(12)]
    return [*found, tuple(names)]


def unbalanced(
    apparatus: Apparatus,
    solution: Solution,
    *,
    accountant: Accountant = account,
    seed: int = 0,
) -> list[str]:
    """Systems whose external work isn't their change of energy, or not the one found here."""
    complaints = []
    for phase in solution.phases:
        if phase.duration is None and solution.moves:
            continue  # has no end, so no works
        give = GIVE * size_of(apparatus, phase)
        for chosen in choices(apparatus, random.Random(seed)):
            given = accountant(apparatus, phase, chosen)
            wanted = energy_change(apparatus, phase, frozenset(chosen))
            if given.external_work is None:
                if not phase.undetermined:
                    complaints.append(f"{phase.name} {chosen}: no work")
                continue
            misses = (given.external_work - wanted, (given.energy_change or 0.0) - wanted)
            if max(map(abs, misses)) > give:
                complaints.append(f"{phase.name} {chosen}: {misses}")
    return complaints


def unbalanced_run(apparatus: Apparatus, solution: Solution, seed: int = 0) -> list[str]:
    """The same over the whole run."""
    if any(phase.duration is None for phase in solution.phases) and solution.moves:
        return []
    give = GIVE * sum(size_of(apparatus, phase) for phase in solution.phases)
    complaints = []
    for chosen in choices(apparatus, random.Random(seed)):
        given = account_of_run(apparatus, solution, chosen)
        wanted = sum(
            energy_change(apparatus, phase, frozenset(chosen)) for phase in solution.phases
        )
        if given.external_work is not None and abs(given.external_work - wanted) > give:
            complaints.append(f"run {chosen}: {given.external_work} for {wanted}")
    return complaints


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
            along = force_along(apparatus, force.on, force.vector)
            on_pulley = force.interaction.value == "contact"
            if not on_pulley and abs(along * way - force.work) > give:
                complaints.append(f"{phase.name} {force.name}: {force.work} for {along * way}")
    return complaints


def wrong_reasons(apparatus: Apparatus, solution: Solution) -> list[str]:
    """Works that are zero for another reason than the one that is given."""
    return [
        f"{phase.name} {force.name}: {force.reason.name}"
        for phase in solution.phases
        for force in phase.forces
        if force.reason is not None and not HOLDS[force.reason](apparatus, phase, force)
    ]


def is_nothing(apparatus: Apparatus, phase: Phase, force: Force) -> bool:
    """Nothing pulls or pushes; a blow has work, but no force that could be told."""
    blow = phase.role is Role.LANDING and force.size is None
    return force.work == 0 and (blow or force.size == 0)


def moves(phase: Phase, name: str) -> bool:
    return bool(phase.start_velocities.get(name) or phase.accelerations.get(name))


def turns(phase: Phase, name: str) -> bool:
    return bool(phase.start_angular_velocities.get(name) or phase.angular_accelerations.get(name))


def point_rests(apparatus: Apparatus, phase: Phase, force: Force) -> bool:
    """The bench, surfaces and the Earth rest; so does what stands still, and a wheel's lowest
    point."""
    if force.size == 0:
        return False
    if force.interaction is Interaction.CONTACT:
        pulley = force.on if force.on in apparatus.pulleys else force.partner
        return not moves(phase, pulley) and not turns(phase, pulley)
    if force.interaction is Interaction.ROLLING:
        return True
    pair = [name for name in (force.on, force.partner) if name not in apparatus.strings]
    rests = force.on in (*apparatus.surfaces, EARTH) or "bench" in pair
    return rests or not any(moves(phase, n) or is_drum(apparatus, phase, n) for n in pair)


def is_drum(apparatus: Apparatus, phase: Phase, name: str) -> bool:
    """Whether it is a fixed pulley that turns, so that a string comes off its rim."""
    pulley = apparatus.pulleys.get(name)
    return pulley is not None and not pulley.moving and turns(phase, name)


def is_perpendicular(apparatus: Apparatus, phase: Phase, force: Force) -> bool:
    along = force_along(apparatus, force.on, force.vector)
    return moves(phase, force.on) and abs(along) <= 1e-12 * force.size


def pulls_alike(apparatus: Apparatus, phase: Phase, force: Force) -> bool:
    names = (force.on, force.partner)
    string = next(name for name in names if name in apparatus.strings)
    pulley = next(name for name in names if name in apparatus.pulleys)
    at = apparatus.strings[string].path.index(pulley)
    before, behind = phase.segment_tensions[string][at - 1 : at + 1]
    if before is None or behind is None:  # both are open, but alike
        return before is behind
    return math.isclose(before, behind, rel_tol=1e-12)


def pulley_of(apparatus: Apparatus, force: Force) -> Pulley:
    return apparatus.pulleys.get(force.on) or apparatus.pulleys[force.partner]


def is_ideal(apparatus: Apparatus, phase: Phase, force: Force) -> bool:
    pulley = pulley_of(apparatus, force)
    names = (force.on, force.partner)
    string = next(name for name in names if name in apparatus.strings)
    goes = any(moves(phase, n) or turns(phase, n) for n in apparatus.strings[string].path)
    heavy = pulley.inertia or pulley.bearing_torque or moves(phase, pulley.name)
    return goes and not heavy and pulls_alike(apparatus, phase, force)


def turns_steadily(apparatus: Apparatus, phase: Phase, force: Force) -> bool:
    pulley = pulley_of(apparatus, force)
    speed = phase.start_angular_velocities[pulley.name]
    steady = speed != 0 and phase.angular_accelerations[pulley.name] == 0
    return steady and not pulley.bearing_torque and pulls_alike(apparatus, phase, force)


def comes_back(apparatus: Apparatus, phase: Phase, force: Force) -> bool:
    names = [n for n in (force.on, force.partner) if n in phase.displacements]
    return any(moves(phase, n) and phase.displacements[n] == 0 for n in names)


HOLDS: dict[ZeroWork, Callable[[Apparatus, Phase, Force], bool]] = {
    ZeroWork.NO_FORCE: is_nothing,
    ZeroWork.NO_MOTION: lambda apparatus, phase, force: (
        not any(
            moves(phase, name) or turns(phase, name)
            for name in (*phase.displacements, *phase.start_angular_velocities)
        )
    ),
    ZeroWork.POINT_AT_REST: point_rests,
    ZeroWork.PERPENDICULAR: is_perpendicular,
    ZeroWork.IDEAL_PULLEY: is_ideal,
    ZeroWork.STEADY_PULLEY: turns_steadily,
    ZeroWork.NO_TURNING: lambda apparatus, phase, force: not turns(phase, force.on),
    ZeroWork.RETURNED: comes_back,
}


def force_along(apparatus: Apparatus, name: str, vector: tuple[float, float]) -> float:
    body = apparatus.bodies.get(name)
    if body is None or body.surface is None:
        return -vector[1]
    slope = apparatus.surfaces[body.surface].slope
    return vector[0] * math.cos(slope) + vector[1] * math.sin(slope)


def off_newton(apparatus: Apparatus, solution: Solution) -> list[str]:
    """Objects, axles and systems that miss the second law."""
    return [
        f"{phase.name} {residual}"
        for phase in solution.phases
        for residual in newton_residuals(apparatus, phase)
        if residual.relative > GIVE
    ]


def off_second_law(apparatus: Apparatus, solution: Solution) -> list[str]:
    """The same for single objects, worked out here from the forces alone."""
    complaints = []
    for phase in solution.phases:
        if not phase.accelerations or phase.undetermined:
            continue
        movers = (*apparatus.bodies, *apparatus.pulleys, *apparatus.strings)
        for name in movers:
            acting = [f.vector for f in phase.forces if f.on == name and f.vector is not None]
            size = sum(math.hypot(*vector) for vector in acting)
            wanted = mass_times_acceleration(apparatus, phase, name)
            left = [sum(v[at] for v in acting) - wanted[at] for at in (0, 1)]
            if math.hypot(*left) > GIVE * size:
                complaints.append(f"{phase.name} {name}: {left}")
    return complaints


def mass_times_acceleration(apparatus: Apparatus, phase: Phase, name: str) -> tuple[float, float]:
    if name not in phase.accelerations:
        return (0.0, 0.0)
    along = mass(apparatus, name) * phase.accelerations[name]
    body = apparatus.bodies.get(name)
    if body is None or body.surface is None:
        return (0.0, -along)
    slope = apparatus.surfaces[body.surface].slope
    return (along * math.cos(slope), along * math.sin(slope))


def every_complaint(apparatus: Apparatus, solution: Solution, seed: int = 0) -> list[str]:
    return [
        *unbalanced(apparatus, solution, seed=seed),
        *unbalanced_run(apparatus, solution, seed),
        *wrong_works(apparatus, solution),
        *wrong_reasons(apparatus, solution),
        *off_newton(apparatus, solution),
        *off_second_law(apparatus, solution),
    ]
