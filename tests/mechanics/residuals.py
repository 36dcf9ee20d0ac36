"""Newton's second law as a check: what is left of it for every object, axle and system.

Takes an apparatus and a phase; gives residuals with the size of what they are made of. The Earth
and the surfaces are held by what the model leaves out, so they and systems with them are no part.
"""

from dataclasses import dataclass
from itertools import combinations

import numpy as np

from fallwork.mechanics.apparatus import Apparatus
from fallwork.mechanics.assembly import tangent
from fallwork.mechanics.bounded import Array
from fallwork.mechanics.solution import Force, Phase


@dataclass(frozen=True, kw_only=True)
class Residual:
    """What the second law misses for one choice of objects."""

    members: tuple[str, ...]
    law: str  # "force" in N, "torque" in N m
    value: float  # size of the sum less mass × acceleration
    scale: float  # sum of the sizes of all terms

    @property
    def relative(self) -> float:
        """``value`` as a share of ``scale``."""
        return self.value / self.scale if self.scale else self.value


def newton_residuals(apparatus: Apparatus, phase: Phase) -> tuple[Residual, ...]:
    """Residuals for every system of bodies, strings and pulleys, single ones first, and for every
    axle about which something turns. An impact has none: its forces are not resolved in time.

    Where forces are undetermined, those of every alternative are checked.
    """
    if phase.duration == 0 and not phase.accelerations:
        return ()
    found: list[Residual] = []
    for forces in phase.alternatives or (phase.forces,):
        found.extend(_systems(apparatus, phase, forces))
        found.extend(_axles(apparatus, phase, forces))
    return tuple(found)


def _systems(apparatus: Apparatus, phase: Phase, forces: tuple[Force, ...]) -> list[Residual]:
    names = sorted([*apparatus.bodies, *apparatus.pulleys, *apparatus.strings])
    systems = [
        chosen
        for size in range(1, len(names) + 1)
        for chosen in combinations(range(len(names)), size)
    ]
    inside = np.zeros((len(systems), len(names) + 1), dtype=bool)  # the last: all that is outside
    for row, chosen in enumerate(systems):
        inside[row, list(chosen)] = True
    place = {name: at for at, name in enumerate(names)}
    acting = [force for force in forces if force.on in place and force.vector is not None]
    vectors = np.array([force.vector for force in acting], dtype=float).reshape(-1, 2)
    on_member = inside[:, [place[force.on] for force in acting]]
    by_member = inside[:, [place.get(force.partner, len(names)) for force in acting]]
    needed = np.array([_inertia(apparatus, phase, name) for name in names])
    left = (on_member & ~by_member) @ vectors - inside[:, :-1] @ needed
    scales = on_member @ _sizes(vectors) + inside[:, :-1] @ _sizes(needed)
    values = _sizes(left)
    return [
        Residual(
            members=tuple(names[at] for at in chosen),
            law="force",
            value=float(value),
            scale=float(scale),
        )
        for chosen, value, scale in zip(systems, values, scales, strict=True)
    ]


def _sizes(vectors: Array) -> Array:
    return np.asarray(np.hypot(vectors[:, 0], vectors[:, 1]))


def _inertia(apparatus: Apparatus, phase: Phase, name: str) -> tuple[float, float]:
    """Mass × acceleration as a vector, N."""
    if name not in phase.accelerations:
        return (0.0, 0.0)
    body = apparatus.bodies.get(name)
    mass = float((body or apparatus.pulleys[name]).mass)
    along = mass * phase.accelerations[name]
    if body is None or body.surface is None:
        return (0.0, -along)
    cosine, sine = tangent(apparatus.surfaces[body.surface].slope)
    return (along * float(cosine), along * float(sine))


def _axles(apparatus: Apparatus, phase: Phase, forces: tuple[Force, ...]) -> list[Residual]:
    """Torques about the axles of pulleys with a radius."""
    found = []
    for name, pulley in apparatus.pulleys.items():
        if pulley.radius is None or name not in phase.angular_accelerations:
            continue
        torques = [f.torque for f in forces if f.on == name and f.torque is not None]
        needed = float(pulley.inertia) * phase.angular_accelerations[name]
        pulls = _pulls_at(apparatus, phase, name) * float(pulley.radius)
        found.append(
            Residual(
                members=(name,),
                law="torque",
                value=abs(sum(torques) - needed),
                scale=sum(abs(torque) for torque in torques) + abs(needed) + pulls,
            )
        )
    return found


def _pulls_at(apparatus: Apparatus, phase: Phase, pulley: str) -> float:
    """The sum of the tensions next to a pulley, whose torques partly cancel."""
    total = 0.0
    for name, string in apparatus.strings.items():
        tensions = phase.segment_tensions[name]
        for at, element in enumerate(string.path):
            if element == pulley:
                total += sum(tension or 0.0 for tension in tensions[max(at - 1, 0) : at + 1])
    return total
