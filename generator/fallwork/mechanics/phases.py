"""From legs of a run to phases with all their forces: the answer of the solver.

Takes an apparatus whose numbers are floats; gives its ``Solution``.
"""

from collections.abc import Mapping, Sequence
from dataclasses import replace

import numpy as np

from fallwork.mechanics.apparatus import Apparatus
from fallwork.mechanics.assembly import Setup
from fallwork.mechanics.bounded import Array
from fallwork.mechanics.forces import Kinematics, forces_of, segment_pulls
from fallwork.mechanics.listing import telling
from fallwork.mechanics.problem import Range, Response
from fallwork.mechanics.rigging import Element, StringRigging
from fallwork.mechanics.run import Leg, follow
from fallwork.mechanics.solution import (
    Force,
    Interaction,
    Phase,
    Solution,
    Undetermined,
    ZeroWork,
)
from fallwork.scenario.nouns import BENCH


def solve(apparatus: Apparatus) -> Solution:
    """The whole run. Raises ImpossibleApparatus for what can't be."""
    followed = follow(apparatus)
    return Solution(
        gravity=float(apparatus.gravity),
        moves=followed.moves,
        phases=tuple(
            _landing(followed.setup, leg)
            if leg.motion is None
            else _phase(followed.setup, leg, leg.motion)
            for leg in followed.legs
        ),
        until=followed.until,
        jerked=followed.jerked,
        gripped=tuple(name for name in apparatus.strings if name in followed.gripped),
    )


def _phase(setup: Setup, leg: Leg, motion: Response) -> Phase:
    kinematics = Kinematics(
        acceleration=np.nan_to_num(motion.acceleration),
        displacement=leg.displacement,
        moves=(leg.start_speed != 0) | (np.nan_to_num(motion.acceleration) != 0),
        held=motion.mode.resting,
    )
    forces = forces_of(setup, kinematics, motion.loads)
    alternatives = tuple(forces_of(setup, kinematics, loads) for loads in motion.others)
    segments = _segment_tensions(setup, motion)
    return Phase(
        role=leg.role,
        part=leg.part,
        ends=leg.ends,
        duration=leg.duration,
        accelerations={
            name: float(motion.acceleration[at])
            for name, at in setup.rigging.of_object.items()
            if not np.isnan(motion.acceleration[at])
        },
        displacements=_by_object(setup, leg.displacement),
        start_velocities={
            name: float(leg.start_speed[at]) for name, at in setup.rigging.of_object.items()
        },
        end_velocities=_by_object(setup, leg.end_speed),
        tensions={
            name: _pulls_on(string, segments[name])
            for name, string in setup.rigging.strings.items()
        },
        angular_accelerations=_angular(setup, motion.acceleration),
        forces=tuple(_mask(force, at, alternatives) for at, force in enumerate(forces)),
        sliding={
            name: _way(leg.start_speed[at], motion.acceleration[at])
            for name, at in setup.rigging.of_object.items()
            if setup.rigging.coordinates[at].surface is not None
        },
        slack=frozenset(
            name for name, values in segments.items() if all(value == 0 for value in values)
        ),
        start_angular_velocities=_angular(setup, leg.start_speed),
        end_angular_velocities=_angular_or_none(setup, leg.end_speed),
        segment_tensions=segments,
        undetermined=_undetermined(setup, motion),
        alternatives=alternatives,
    )


def _segment_tensions(setup: Setup, motion: Response) -> dict[str, tuple[float | None, ...]]:
    open_spans = {each.at for each in motion.ranges if each.kind == "tension"}
    return {
        name: _masked(setup, string, segment_pulls(setup, string, motion.loads), open_spans)
        for name, string in setup.rigging.strings.items()
    }


def _by_object(setup: Setup, values: Array | None) -> dict[str, float | None]:
    return {
        name: None if values is None or np.isnan(values[at]) else float(values[at])
        for name, at in setup.rigging.of_object.items()
    }


def _way(speed: float, acceleration: float) -> int:
    """+1 forward, −1 back, 0 at rest: the way of the speed, or of what it will become."""
    return int(np.sign(speed) or np.sign(np.nan_to_num(acceleration)))


def _angular(setup: Setup, values: Array) -> dict[str, float]:
    """Rim values over radii, for turning pulleys that have a radius."""
    found = {}
    for name, at in setup.rigging.of_rim.items():
        radius = setup.apparatus.pulleys[name].radius
        if radius is not None and not np.isnan(values[at]):
            found[name] = float(values[at] / radius)
    return found


def _angular_or_none(setup: Setup, values: Array | None) -> Mapping[str, float | None]:
    if values is None:
        return dict.fromkeys(_angular(setup, np.zeros(len(setup.mass))))
    return _angular(setup, values)


def _masked(
    setup: Setup, string: StringRigging, pulls: Sequence[float], open_spans: set[int]
) -> tuple[float | None, ...]:
    spans = string.span_of_segments(setup.rigging.spans)
    return tuple(None if at in open_spans else pull for at, pull in zip(spans, pulls, strict=True))


def _pulls_on(string: StringRigging, pulls: Sequence[float | None]) -> dict[str, float | None]:
    """The pull on each end, and on each moving pulley that the string passes (both its sides)."""
    found: dict[str, float | None] = {}
    for at, (name, role) in enumerate(zip(string.path, string.elements, strict=True)):
        if role is Element.FIXED:
            continue
        sides = [pulls[side] for side in (at - 1, at) if 0 <= side < len(pulls)]
        total = None if None in sides else sum(side for side in sides if side is not None)
        before = found.get(name, 0.0)
        found[name] = None if total is None or before is None else before + total
    return found


def _mask(force: Force, at: int, alternatives: Sequence[Sequence[Force]]) -> Force:
    """The force with None for what differs between the alternatives."""
    every = (force, *(forces[at] for forces in alternatives))
    torques = [None if each.torque is None else (each.torque,) for each in every]
    if not _differ([each.vector for each in every]) and not _differ(torques):
        return force
    known = all(each.work == 0 for each in every)
    return replace(
        force,
        vector=None,
        torque=None,
        work=0.0 if known else None,
        reason=telling([each.reason for each in every]) if known else None,
    )


def _differ(values: Sequence[tuple[float, ...] | None]) -> bool:
    """Whether numbers that belong together are not all the same but for rounding."""
    known = [value for value in values if value is not None]
    give = 1e-9 * max((abs(x) for value in known for x in value), default=0.0)
    gaps = (abs(a - b) for other in known for a, b in zip(known[0], other, strict=True))
    return max(gaps, default=0.0) > give


def _undetermined(setup: Setup, motion: Response) -> tuple[Undetermined, ...]:
    """What the loads leave open, each once."""
    found: dict[tuple[object, ...], Undetermined] = {}
    for each in motion.ranges:
        item = _named(setup, each)
        found.setdefault((item.interaction, item.partner, item.on, item.between), item)
    return tuple(found.values())


def _named(setup: Setup, each: Range) -> Undetermined:
    """A range by the names of what it belongs to."""
    if each.kind == "tension":
        span = setup.rigging.spans[each.at]
        path = setup.rigging.strings[span.string].path
        ends = path[span.first], path[span.last + 1]
        whole = ends == (path[0], path[-1])
        return _open(each, Interaction.TENSION, span.string, between=None if whole else ends)
    coordinate = setup.rigging.coordinates[each.at]
    if each.kind == "support":
        return _open(each, Interaction.LANDING, BENCH, on=setup.apparatus.run.object)
    if coordinate.turns:
        radius = float(setup.apparatus.pulleys[coordinate.name].radius or 0.0)
        return _open(each, Interaction.BEARING_TORQUE, BENCH, -radius, on=coordinate.name)
    return _open(each, Interaction.FRICTION, str(coordinate.surface), -1.0, on=coordinate.name)


def _open(
    each: Range,
    interaction: Interaction,
    partner: str,
    factor: float = 1.0,
    *,
    on: str | None = None,
    between: tuple[str, str] | None = None,
) -> Undetermined:
    """``factor`` turns the load, which brakes, into the value of the force."""
    low, high = sorted((factor * each.low, factor * each.high))
    return Undetermined(
        interaction=interaction,
        partner=partner,
        on=on,
        between=between,
        low=low if np.isfinite(low) else None,
        high=high if np.isfinite(high) else None,
    )


def _landing(setup: Setup, leg: Leg) -> Phase:
    """The instant in which the run's object is stopped: only the impact does work."""
    end_speed = leg.start_speed if leg.end_speed is None else leg.end_speed
    return Phase(
        role=leg.role,
        ends=leg.ends,
        duration=0.0,
        accelerations={},
        displacements=dict.fromkeys(setup.rigging.of_object, 0.0),
        start_velocities={
            name: float(leg.start_speed[at]) for name, at in setup.rigging.of_object.items()
        },
        end_velocities=_by_object(setup, end_speed),
        tensions={
            name: dict.fromkeys(_pulls_on(string, [0.0] * len(string.segments)), 0.0)
            for name, string in setup.rigging.strings.items()
        },
        angular_accelerations={},
        forces=_impacts(setup, leg),
        sliding={
            name: int(np.sign(end_speed[at]))
            for name, at in setup.rigging.of_object.items()
            if setup.rigging.coordinates[at].surface is not None
        },
        slack=frozenset(setup.rigging.strings),
        start_angular_velocities=_angular(setup, leg.start_speed),
        end_angular_velocities=_angular(setup, end_speed),
        segment_tensions={
            name: (0.0,) * len(string.segments) for name, string in setup.rigging.strings.items()
        },
    )


def _impacts(setup: Setup, leg: Leg) -> tuple[Force, ...]:
    """The pad takes the kinetic energy of what stops; axles hand it on inside a rigid group."""
    lands = setup.apparatus.run.object
    at = setup.rigging.of_object[lands]
    speed = float(leg.start_speed[at])
    members = setup.rigging.coordinates[at].members

    def energy(name: str) -> float:
        thing = setup.apparatus.bodies.get(name) or setup.apparatus.pulleys[name]
        return float(thing.mass) * speed**2 / 2

    def blow(interaction: Interaction, partner: str, on: str, work: float) -> Force:
        return Force(
            interaction=interaction,
            partner=partner,
            on=on,
            vector=None,
            displacement=(0.0, 0.0),
            work=work + 0.0,
            reason=None if work else ZeroWork.NO_FORCE,  # nothing without mass gives a blow
        )

    total = sum(energy(name) for name in members)
    forces = [blow(Interaction.LANDING, BENCH, lands, -total)]
    pulley = members[0]
    for load in members[1:]:
        handed = energy(load) if load != lands else energy(load) - total
        forces.append(blow(Interaction.AXLE, pulley, load, -handed))
        forces.append(blow(Interaction.AXLE, load, pulley, handed))
    return tuple(forces)
