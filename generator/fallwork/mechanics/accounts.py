"""The choice of system: what is external, which works are done, which energies change.

Takes an apparatus and a phase or a whole solution; gives one account for each choice. External
work equals the change of energy for every one of them.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from itertools import combinations

from fallwork.mechanics.apparatus import Apparatus
from fallwork.mechanics.solution import (
    Force,
    Interaction,
    Phase,
    Solution,
    SystemAccount,
    ZeroWork,
)
from fallwork.scenario.nouns import EARTH

NOISE = 1e-13  # of a sum, relative to the sizes of its terms


def objects(apparatus: Apparatus) -> tuple[str, ...]:
    """Everything that can be a member of a system, sorted by plain character order."""
    return tuple(sorted(apparatus.members))


def accounts(apparatus: Apparatus, phase: Phase) -> tuple[SystemAccount, ...]:
    """Every non-empty choice of system, ordered by size, then by members."""
    everything = objects(apparatus)
    return tuple(
        account(apparatus, phase, members)
        for size in range(1, len(everything) + 1)
        for members in combinations(everything, size)
    )


def account(apparatus: Apparatus, phase: Phase, members: Iterable[str]) -> SystemAccount:
    """One choice of system in one phase."""
    chosen = _chosen(apparatus, members)
    external, internal = _split(phase.forces, chosen)
    changes = _energy_changes(apparatus, phase, chosen, internal)
    return SystemAccount(
        members=tuple(sorted(chosen)),
        external=external,
        internal=internal,
        external_work=_external_work(phase, chosen, external),
        energy_changes=changes,
        energy_change=_total(changes.values()),
    )


def account_of_run(
    apparatus: Apparatus, solution: Solution, members: Iterable[str]
) -> SystemAccount:
    """One choice of system over all phases: works and changes added up, force by force."""
    chosen = tuple(members)
    parts = [account(apparatus, phase, chosen) for phase in solution.phases]
    kinds = dict.fromkeys(kind for part in parts for kind in part.energy_changes)
    changes = {kind: _total(part.energy_changes.get(kind, 0.0) for part in parts) for kind in kinds}
    return SystemAccount(
        members=parts[0].members,
        external=_over_run([part.external for part in parts]),
        internal=_over_run([part.internal for part in parts]),
        external_work=_total(part.external_work for part in parts),
        energy_changes=changes,
        energy_change=_total(part.energy_change for part in parts),
    )


def _chosen(apparatus: Apparatus, members: Iterable[str]) -> frozenset[str]:
    chosen = frozenset(members)
    unknown = sorted(chosen - set(objects(apparatus)))
    if unknown or not chosen:
        raise ValueError(f"no system has the members {unknown}" if unknown else "an empty system")
    return chosen


def _split(
    forces: Sequence[Force], chosen: frozenset[str]
) -> tuple[tuple[Force, ...], tuple[Force, ...]]:
    """Forces on members by non-members, and by members."""
    on_members = [force for force in forces if force.on in chosen]
    external = tuple(force for force in on_members if force.partner not in chosen)
    internal = tuple(force for force in on_members if force.partner in chosen)
    return external, internal


def _external_work(phase: Phase, chosen: frozenset[str], external: Sequence[Force]) -> float | None:
    """The sum of works. Where single ones are undetermined, any possible forces give the sum:
    it is the change of energy, which the motion alone decides."""
    if phase.alternatives and None in [force.work for force in external]:
        external = _split(phase.alternatives[0], chosen)[0]
    return _total(force.work for force in external)


def _energy_changes(
    apparatus: Apparatus, phase: Phase, chosen: frozenset[str], internal: Sequence[Force]
) -> dict[str, float | None]:
    """Only the kinds of energy that the members can have."""
    moving = [name for name in phase.displacements if name in chosen]
    changes: dict[str, float | None] = {}
    if moving:
        changes["kinetic"] = _total(_kinetic(apparatus, phase, name) for name in moving)
    rotational = _rotational(apparatus, phase, chosen)
    if rotational:
        changes["rotational"] = _total(rotational)
    if EARTH in chosen and any(_mass(apparatus, name) for name in moving):
        changes["potential"] = _total(_potential(apparatus, phase, name) for name in moving)
    rubbing = [force for force in internal if force.interaction is Interaction.FRICTION]
    if rubbing:
        heat = _total(force.work for force in rubbing)
        changes["thermal"] = None if heat is None else 0.0 - heat
    return changes


def _mass(apparatus: Apparatus, name: str) -> float:
    thing = apparatus.bodies.get(name) or apparatus.pulleys[name]
    return float(thing.mass)


def _kinetic(apparatus: Apparatus, phase: Phase, name: str) -> float | None:
    start, end = phase.start_velocities[name], phase.end_velocities[name]
    mass = _mass(apparatus, name)
    if mass == 0 or (end is None and _stays(phase, name)):
        return 0.0
    return None if end is None else mass * (end**2 - start**2) / 2


def _stays(phase: Phase, name: str) -> bool:
    return phase.start_velocities[name] == 0 and phase.accelerations.get(name) == 0


def _rotational(apparatus: Apparatus, phase: Phase, chosen: frozenset[str]) -> list[float | None]:
    """Of wheels (uniform rolling discs: m v²/4) and of pulleys with inertia (I ω²/2)."""
    found: list[float | None] = []
    for body in apparatus.bodies.values():
        if body.name in chosen and body.wheel_mass:
            start, end = phase.start_velocities[body.name], phase.end_velocities[body.name]
            if end is None:
                found.append(0.0 if _stays(phase, body.name) else None)
            else:
                found.append(float(body.wheel_mass) * (end**2 - start**2) / 4)
    for pulley in apparatus.pulleys.values():
        if pulley.name in chosen and pulley.inertia:
            spin = phase.start_angular_velocities[pulley.name]
            last = phase.end_angular_velocities[pulley.name]
            if last is None:
                steady = spin == 0 and phase.angular_accelerations.get(pulley.name) == 0
                found.append(0.0 if steady else None)
            else:
                found.append(float(pulley.inertia) * (last**2 - spin**2) / 2)
    return found


def _potential(apparatus: Apparatus, phase: Phase, name: str) -> float | None:
    """Of a body and the Earth: weight times rise."""
    moved, mass = phase.displacements[name], _mass(apparatus, name)
    body = apparatus.bodies.get(name)
    rise = -1.0
    if body is not None and body.surface is not None:
        rise = float(apparatus.surfaces[body.surface].tangent[1])
    if mass == 0 or rise == 0 or (moved is None and _stays(phase, name)):
        return 0.0
    return None if moved is None else mass * float(apparatus.gravity) * rise * moved + 0.0


def _total(values: Iterable[float | None]) -> float | None:
    """The sum, without what rounding leaves of terms that cancel; None if any is unknown."""
    total = size = 0.0
    for value in values:
        if value is None:
            return None
        total += value
        size += abs(value)
    return 0.0 if abs(total) <= NOISE * size else total


def _over_run(parts: Sequence[Sequence[Force]]) -> tuple[Force, ...]:
    """One force for each name, with its works added up; vectors belong to single phases."""
    groups: dict[str, list[Force]] = {}
    for forces in parts:
        for force in forces:
            groups.setdefault(force.name, []).append(force)
    return tuple(_added(group) for group in groups.values())


def _added(group: Sequence[Force]) -> Force:
    work = _total(force.work for force in group)
    reasons: Mapping[ZeroWork, None] = dict.fromkeys(f.reason for f in group if f.reason)
    reason = None
    if work == 0:
        all_zero = all(force.reason is not None for force in group)
        reason = _strongest(tuple(reasons)) if all_zero else ZeroWork.CANCELS
    steady = len({(force.vector, force.torque) for force in group}) == 1
    return replace(
        group[0],
        vector=group[0].vector if steady else None,
        torque=group[0].torque if steady else None,
        displacement=None,
        work=work,
        reason=reason,
    )


def _strongest(reasons: Sequence[ZeroWork]) -> ZeroWork:
    """Of several reasons the one that says most; a force that is absent for a while says least."""
    telling = [r for r in reasons if r not in (ZeroWork.NO_FORCE, ZeroWork.NO_MOTION)]
    return telling[0] if telling else reasons[0]
