"""Whether a work is zero for the reason that is given, judged from masses, speeds and ways."""

import math
from collections.abc import Callable
from operator import mul

from fallwork.mechanics import EARTH, Apparatus, Force, Interaction, Phase, Solution, ZeroWork
from fallwork.mechanics.apparatus import Pulley, String
from fallwork.mechanics.solution import Role


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


def wrong_reasons(apparatus: Apparatus, solution: Solution) -> list[str]:
    """Works that are zero for another reason than the one that is given."""
    return [
        f"{phase.name} {force.name}: {force.reason.name}"
        for phase in solution.phases
        for force in phase.forces
        if force.reason is not None and not HOLDS[force.reason](apparatus, phase, force)
    ]


def moves(phase: Phase, name: str) -> bool:
    return bool(phase.start_velocities.get(name) or phase.accelerations.get(name))


def turns(phase: Phase, name: str) -> bool:
    return bool(phase.start_angular_velocities.get(name) or phase.angular_accelerations.get(name))


def goes(phase: Phase, name: str) -> bool:
    return moves(phase, name) or turns(phase, name)


def where(apparatus: Apparatus, force: Force) -> tuple[String, Pulley]:
    """The string and the pulley of a contact."""
    names = (force.on, force.partner)
    (string,) = (apparatus.strings[name] for name in names if name in apparatus.strings)
    (pulley,) = (apparatus.pulleys[name] for name in names if name in apparatus.pulleys)
    return string, pulley


def is_nothing(apparatus: Apparatus, phase: Phase, force: Force) -> bool:
    """Nothing pulls or pushes; a blow has work, but no force that could be told."""
    blow = phase.role is Role.LANDING and force.size is None
    return force.work == 0 and (blow or force.size == 0)


def nothing_goes(apparatus: Apparatus, phase: Phase, force: Force) -> bool:
    names = (*phase.displacements, *phase.start_angular_velocities)
    return not any(goes(phase, name) for name in names)


def point_rests(apparatus: Apparatus, phase: Phase, force: Force) -> bool:
    """The bench, surfaces and the Earth rest; so does what stands still, and a wheel's lowest
    point. A string comes off the rim of a fixed pulley that turns.
    """
    if force.size == 0:
        return False
    if force.interaction is Interaction.CONTACT:
        return not goes(phase, where(apparatus, force)[1].name)
    pair = {force.on, force.partner}
    rests = force.on in (*apparatus.surfaces, EARTH) or "bench" in pair
    drums = {name for name, pulley in apparatus.pulleys.items() if not pulley.moving}
    return (
        rests
        or force.interaction is Interaction.ROLLING
        or not any(moves(phase, n) or (n in drums and turns(phase, n)) for n in pair)
    )


def is_perpendicular(apparatus: Apparatus, phase: Phase, force: Force) -> bool:
    return moves(phase, force.on) and abs(force_along(apparatus, force)) <= 1e-12 * force.size


def pulls_alike(apparatus: Apparatus, phase: Phase, force: Force) -> bool:
    string, pulley = where(apparatus, force)
    at = string.path.index(pulley.name)
    before, behind = phase.segment_tensions[string.name][at - 1 : at + 1]
    if before is None or behind is None:  # both are open, but alike
        return before is behind
    return math.isclose(before, behind, rel_tol=1e-12)


def is_ideal(apparatus: Apparatus, phase: Phase, force: Force) -> bool:
    string, pulley = where(apparatus, force)
    heavy = pulley.inertia or pulley.bearing_torque or moves(phase, pulley.name)
    runs = any(goes(phase, name) for name in string.path)
    return runs and not heavy and pulls_alike(apparatus, phase, force)


def turns_steadily(apparatus: Apparatus, phase: Phase, force: Force) -> bool:
    _, pulley = where(apparatus, force)
    steady = phase.angular_accelerations[pulley.name] == 0 and turns(phase, pulley.name)
    return steady and not pulley.bearing_torque and pulls_alike(apparatus, phase, force)


def comes_back(apparatus: Apparatus, phase: Phase, force: Force) -> bool:
    names = [name for name in (force.on, force.partner) if name in phase.displacements]
    return any(moves(phase, name) and phase.displacements[name] == 0 for name in names)


HOLDS: dict[ZeroWork, Callable[[Apparatus, Phase, Force], bool]] = {
    ZeroWork.NO_FORCE: is_nothing,
    ZeroWork.NO_MOTION: nothing_goes,
    ZeroWork.POINT_AT_REST: point_rests,
    ZeroWork.PERPENDICULAR: is_perpendicular,
    ZeroWork.IDEAL_PULLEY: is_ideal,
    ZeroWork.STEADY_PULLEY: turns_steadily,
    ZeroWork.NO_TURNING: lambda apparatus, phase, force: not turns(phase, force.on),
    ZeroWork.RETURNED: comes_back,
}
