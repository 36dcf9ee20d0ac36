"""From two moments of a run and the motion between them to a phase with all its forces."""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any

import numpy as np

from fallwork.mechanics.algebra import Array
from fallwork.mechanics.apparatus import Interaction
from fallwork.mechanics.assembly import Setup
from fallwork.mechanics.equations import Response
from fallwork.mechanics.forces import forces_of
from fallwork.mechanics.rigging import Element, StringRigging
from fallwork.mechanics.solution import Force, Phase, Undetermined, ZeroWork
from fallwork.mechanics.state import State
from fallwork.scenario.nouns import BENCH


def phase_of(
    setup: Setup, motion: Response | None, before: State, after: State | None = None, **told: Any
) -> Phase:
    """The phase between two moments; without a motion it is a landing, without an end it has none.
    ``told``: its role, part, duration and what ends it.
    """
    rigging, none = setup.rigging, np.full(len(before.speed), np.nan)
    places = rigging.of_object
    rate = none if motion is None else motion.acceleration
    still = (before.speed == 0) & (rate == 0)  # stays so, even where nothing ends the phase
    moved = np.where(still, 0.0, np.nan) if after is None else after.position - before.position
    loads = () if motion is None else (motion.loads, *motion.others)
    sets = [forces_of(setup, motion, each, before.speed, moved) for each in loads if motion]
    sets = sets or [_impacts(setup, before)]
    segments = {name: _pulls(setup, each, motion) for name, each in rigging.strings.items()}
    ends = moved if after is None else after.speed
    return Phase(
        **told,
        accelerations=_known(_values(rate, places)),
        displacements=_values(moved, places),
        start_velocities=_known(_values(before.speed, places)),
        end_velocities=_values(ends, places),
        tensions={n: _pulls_on(string, segments[n]) for n, string in rigging.strings.items()},
        angular_accelerations=_known(_angular(setup, rate)),
        forces=tuple(_mask(force, at, sets[1:]) for at, force in enumerate(sets[0])),
        sliding={
            name: int(np.sign(before.speed[at]) or np.sign(np.nan_to_num(rate[at])))
            for name, at in places.items()
            if rigging.coordinates[at].surface is not None
        },
        slack=frozenset(name for name, pulls in segments.items() if {*pulls} <= {0.0}),
        start_angular_velocities=_known(_angular(setup, before.speed)),
        end_angular_velocities=_angular(setup, ends),
        segment_tensions=segments,
        undetermined=() if motion is None else _undetermined(setup, motion),
        alternatives=tuple(sets[1:]),
    )


def _values(values: Array, places: Mapping[str, int]) -> dict[str, float | None]:
    """Those of objects; None for nan."""
    return {n: None if np.isnan(values[at]) else float(values[at]) for n, at in places.items()}


def _known(values: Mapping[str, float | None]) -> dict[str, float]:
    return {name: value for name, value in values.items() if value is not None}


def _angular(setup: Setup, values: Array) -> dict[str, float | None]:
    """Rim values over radii, for turning pulleys that have a radius."""
    radii = {n: setup.apparatus.pulleys[n].radius for n in setup.rigging.of_rim}
    turns = {n: radius for n, radius in radii.items() if radius is not None}
    found = _values(values, {name: setup.rigging.of_rim[name] for name in turns})
    return {n: None if (v := found[n]) is None else float(v / r) for n, r in turns.items()}


def _pulls(setup: Setup, line: StringRigging, motion: Response | None) -> tuple[float | None, ...]:
    """The tension of every straight piece, N; None where it is open, 0 while something lands."""
    if motion is None:
        return (0.0,) * len(line.segments)
    open_ = {each.at for each in motion.ranges if each.kind == "tension"}
    spans = line.span_of_segments(setup.rigging.spans)
    return tuple(None if at in open_ else float(motion.loads.tension[at]) for at in spans)


def _pulls_on(string: StringRigging, pulls: Sequence[float | None]) -> dict[str, float | None]:
    """The pull on each end, and on each moving pulley that the string passes (both its sides)."""
    found: dict[str, float | None] = {}
    for at, (name, role) in enumerate(zip(string.path, string.elements, strict=True)):
        if role is not Element.FIXED:
            sides = [found.get(name, 0.0), *pulls[max(at - 1, 0) : at + 1]]
            known = [side for side in sides if side is not None]
            found[name] = sum(known, 0.0) if len(known) == len(sides) else None
    return found


def _mask(force: Force, at: int, alternatives: Sequence[Sequence[Force]]) -> Force:
    """The force with None for what differs between the alternatives."""
    every = (force, *(forces[at] for forces in alternatives))
    torques = [None if each.torque is None else (each.torque,) for each in every]
    if not _differ([each.vector for each in every]) and not _differ(torques):
        return force
    if any(each.work != 0 for each in every):
        return replace(force, vector=None, torque=None, work=None, reason=None)
    telling = (each.reason for each in every if each.reason is not ZeroWork.NO_FORCE)
    return replace(force, vector=None, torque=None, work=0.0, reason=next(telling, force.reason))


def _differ(values: Sequence[tuple[float, ...] | None]) -> bool:
    """Whether numbers that belong together are not all the same but for rounding."""
    known = [value for value in values if value is not None]
    give = 1e-9 * max((abs(x) for value in known for x in value), default=0.0)
    gaps = (abs(a - b) for other in known for a, b in zip(known[0], other, strict=True))
    return max(gaps, default=0.0) > give


def _undetermined(setup: Setup, motion: Response) -> tuple[Undetermined, ...]:
    """What the loads leave open, each once; a load that brakes counts as the force does."""
    found: dict[tuple[object, ...], Undetermined] = {}
    for each in motion.ranges:
        factor, on, between = 1.0, None, None
        if each.kind == "tension":
            span = setup.rigging.spans[each.at]
            path = setup.rigging.strings[span.string].path
            parts = path[span.first], path[span.last + 1]
            kind, partner = Interaction.TENSION, span.string
            between = None if parts == (path[0], path[-1]) else parts
        elif each.kind == "support":
            kind, partner, on = Interaction.LANDING, BENCH, setup.apparatus.run.object
        else:
            coordinate = setup.rigging.coordinates[each.at]
            kind, partner, factor = Interaction.FRICTION, str(coordinate.surface), -1.0
            on = coordinate.name
            if coordinate.turns:
                radius = float(setup.apparatus.pulleys[on].radius or 0.0)
                kind, partner, factor = Interaction.BEARING_TORQUE, BENCH, -radius
        ends = sorted((factor * each.low, factor * each.high))
        low, high = (end if np.isfinite(end) else None for end in ends)
        about: Any = {"interaction": kind, "partner": partner, "on": on, "between": between}
        found.setdefault(tuple(about.values()), Undetermined(**about, low=low, high=high))
    return tuple(found.values())


def _impacts(setup: Setup, before: State) -> tuple[Force, ...]:
    """The pad takes the kinetic energy of what stops; axles hand it on inside a rigid group."""
    lands = setup.apparatus.run.object
    at = setup.rigging.of_object[lands]
    pulley, *loads = members = setup.rigging.coordinates[at].members
    speed, thing = float(before.speed[at]), setup.apparatus.thing
    energies = {name: float(thing(name).mass) * speed**2 / 2 for name in members}
    total = sum(energies.values())
    blows = [(Interaction.LANDING, BENCH, lands, -total)]
    for load in loads:
        handed = energies[load] - (total if load == lands else 0.0)
        blows.append((Interaction.AXLE, pulley, load, -handed))
        blows.append((Interaction.AXLE, load, pulley, handed))
    found = []
    for kind, partner, on, work in blows:
        reason = None if work else ZeroWork.NO_FORCE  # nothing without mass gives a blow
        told: Any = {"interaction": kind, "partner": partner, "on": on, "reason": reason}
        found.append(Force(**told, vector=None, work=work + 0.0))
    return tuple(found)
