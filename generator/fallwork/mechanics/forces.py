"""Every force on every object in one part of the run, reactions included.

Takes what moves and the loads; gives ``Force`` objects with vectors, displacements of the material
points where they act, works, and the reasons of works that are zero. The forces that hold the
Earth and the surfaces in place are no part of the model. Inside, nan stands for what is unknown.
"""

from collections.abc import Sequence
from itertools import pairwise
from typing import Any, NamedTuple

import numpy as np

from fallwork.mechanics.algebra import Array
from fallwork.mechanics.apparatus import Body, Interaction
from fallwork.mechanics.assembly import Setup
from fallwork.mechanics.equations import Loads, Response
from fallwork.mechanics.rigging import Element, StringRigging, direction_of
from fallwork.mechanics.solution import DOWN, NOTHING, Force, Vector, ZeroWork, dot, scaled
from fallwork.scenario.nouns import BENCH, EARTH

FIRST = (Interaction.TENSION, Interaction.CONTACT)
LAST = (Interaction.NORMAL, Interaction.GRAVITY)
ORDER = (*FIRST, *(kind for kind in Interaction if kind not in FIRST + LAST), *LAST)
Act = tuple[Interaction, str, str]  # its kind, the object that acts, and that on which it acts


class Travel(NamedTuple):
    """How far the material point moves on which a force acts, m along ``axis``."""

    axis: Vector
    amount: float
    moves: bool


AT_REST = Travel(NOTHING, 0.0, False)


def forces_of(
    setup: Setup, motion: Response, loads: Loads, speed: Array, moved: Array
) -> tuple[Force, ...]:
    """All forces under ``loads``, object by object in the order of the apparatus, kind by kind;
    ``speed`` of coordinates at the start, m/s; how far they are ``moved``, m, nan where unknown.
    """
    rank = {name: at for at, name in enumerate(setup.apparatus.members)}
    entries = _Ledger(setup, motion, loads, speed, moved).entries
    return tuple(sorted(entries, key=lambda f: (rank[f.on], ORDER.index(f.interaction))))


class _Ledger:
    def __init__(
        self, setup: Setup, motion: Response, loads: Loads, speed: Array, moved: Array
    ) -> None:
        self.apparatus, self.rigging, self.loads = setup.apparatus, setup.rigging, loads
        self.acceleration, self.held = np.nan_to_num(motion.acceleration), motion.mode.held
        self.moves = (speed != 0) | (self.acceleration != 0)
        self.amount = np.where(self.moves, moved, 0.0)
        self.along = {name: each.tangent for name, each in self.apparatus.surfaces.items()}
        self.entries: list[Force] = []
        for string in self.rigging.strings.values():
            self._string(string)
        for name in {**self.rigging.of_object, **self.apparatus.pulleys}:
            self._applied(name)
        for body in self.apparatus.bodies.values():
            if body.surface is not None:
                self._on_surface(body, body.surface)
        for name in self.rigging.of_rim:
            self._bearing(name)
        self._axles()

    def _travel(self, name: str) -> Travel:
        at = self.rigging.of_object.get(name)
        if at is None:
            return AT_REST
        surface = self.rigging.coordinates[at].surface
        cosine, sine = DOWN if surface is None else self.along[surface]
        return Travel((float(cosine), float(sine)), float(self.amount[at]), bool(self.moves[at]))

    def _add(
        self,
        act: Act,
        vector: Vector | None,
        work: float,
        reason: ZeroWork | None,
        torque: float | None = None,
    ) -> None:
        kind, partner, on = act
        told: dict[str, Any] = {"interaction": kind, "partner": partner, "on": on, "reason": reason}
        done = 0.0 if reason else None if np.isnan(work) else work
        vector = None if vector is None else scaled(vector, 1.0)
        self.entries.append(Force(**told, vector=vector, torque=torque, work=done))

    def _still(self, absent: bool, moves: bool) -> ZeroWork | None:
        """Why a force does no work that isn't there or whose point doesn't move."""
        if absent:
            return ZeroWork.NO_FORCE
        still = ZeroWork.POINT_AT_REST if self.moves.any() else ZeroWork.NO_MOTION
        return None if moves else still

    def _act(self, act: Act, vector: Vector, travel: Travel, torque: float | None = None) -> None:
        along = dot(vector, travel.axis)
        if abs(along) <= 1e-15 * np.hypot(*vector):
            along = 0.0
        reason = self._still(vector == NOTHING, travel.moves)
        if reason is None and along == 0:
            reason = ZeroWork.PERPENDICULAR
        elif reason is None and travel.amount == 0:
            reason = ZeroWork.RETURNED
        self._add(act, vector, along * travel.amount, reason, torque)

    def _pair(self, act: Act, vector: Vector, travel: Travel, back: Travel = AT_REST) -> None:
        """The first acts on the second with ``vector``, and the reaction on the first."""
        self._act(act, vector, travel)
        self._act((act[0], act[2], act[1]), scaled(vector, -1.0), back)

    def _string(self, string: StringRigging) -> None:
        spans, places = string.span_of_segments(self.rigging.spans), self.rigging.of_object
        pulls = [float(self.loads.tension[at]) for at in spans]
        ways = [direction_of(self.apparatus, segment) for segment in string.segments]
        last, first = len(string.path) - 1, string.path[0]
        self._end(string, 0, scaled(ways[0], pulls[0]), ways[0])
        self._end(string, last, scaled(ways[-1], -pulls[-1]), ways[-1])
        travel = string.segments[0].forward * self.amount[places[first]] if first in places else 0.0
        if string.elements[0] is Element.DRUM:
            travel = self.amount[self.rigging.of_rim[first]]
        for at, sides in enumerate(pairwise(zip(pulls, ways, strict=True)), start=1):
            travel = self._contact(string, at, sides, travel)

    def _end(self, string: StringRigging, position: int, pull: Vector, way: Vector) -> None:
        """The string pulls on what it ends on with ``pull``, at the rim where it is wound on it."""
        name, role = string.path[position], string.elements[position]
        kind, travel, torque = Interaction.TENSION, self._travel(name), None
        if role is Element.DRUM:
            at, radius = self.rigging.of_rim[name], self.apparatus.pulleys[name].radius
            travel = Travel(way, float(self.amount[at]), bool(self.moves[at]))
            torque = None if radius is None else dot(pull, way) * float(radius)
        if role is not Element.ANCHOR:
            self._act((kind, string.name, name), pull, travel, torque)
        self._act((kind, name, string.name), scaled(pull, -1.0), travel)

    def _contact(
        self, string: StringRigging, at: int, sides: Sequence[tuple[float, Vector]], travel: float
    ) -> float:
        """String and pulley along the arc; the works of the pair are opposite. ``travel`` of the
        string before the pulley, m; gives that behind it.
        """
        name, ((before, to), (behind, on)), spans = string.path[at], sides, self.rigging.spans
        place, rim = self.rigging.of_object.get(name), self.rigging.of_rim.get(name)
        sinks = string.bight(at) * float(self.amount[place]) if place is not None else 0.0
        turning = float(travel - sinks if rim is None else self.amount[rim])
        work = behind * (turning - sinks) - before * (turning + sinks)
        x, y = (behind * on[axis] - before * to[axis] for axis in (0, 1))
        near = [spans[i] for i in string.spans if spans[i].first <= at <= spans[i].last + 1]
        runs = any(self.moves[each] for span in near for each in span.stretch)
        reason = self._still(before == behind == 0, runs)
        if reason is None and (place is None or not self.moves[place]):
            if rim is None:
                reason = ZeroWork.IDEAL_PULLEY
            elif abs(behind - before) <= 1e-14 * (behind + before):
                reason = ZeroWork.STEADY_PULLEY
            elif not self.moves[rim]:
                reason = ZeroWork.POINT_AT_REST
        if reason is None and work == 0:
            reason = ZeroWork.RETURNED
        radius = self.apparatus.pulleys[name].radius
        torque = None if radius is None else (behind - before) * float(radius)
        kind = Interaction.CONTACT
        self._add((kind, string.name, name), (x, y), work, reason, torque)
        self._add((kind, name, string.name), (-x, -y), -work, reason)
        return turning - sinks

    def _applied(self, name: str) -> None:
        """What acts whatever moves, and the catch pad."""
        travel, at = self._travel(name), self.rigging.of_object.get(name)
        for force in self.apparatus.applied(name):
            vector = (float(force.forward), float(force.up))
            self._act((force.interaction, force.by, name), vector, travel)
            if force.by == EARTH:
                self._act((force.interaction, name, EARTH), scaled(vector, -1.0), AT_REST)
        if at is not None and name == self.apparatus.run.object and self.held[at]:
            support = (0.0, float(self.loads.support[at]))
            self._act((Interaction.LANDING, BENCH, name), support, travel)

    def _on_surface(self, body: Body, surface: str) -> None:
        travel, name = self._travel(body.name), body.name
        along, at = travel.axis, self.rigging.of_object[body.name]
        normal = float(body.mass) * float(self.apparatus.gravity) * along[0]
        up = (-along[1] * normal, along[0] * normal)
        self._pair((Interaction.NORMAL, surface, name), up, travel)
        if body.friction or body.static_friction:
            rub = scaled(along, -float(self.loads.resistance[at]))
            self._pair((Interaction.FRICTION, surface, name), rub, travel)
        if body.wheel_mass:  # the point of a wheel that touches the surface is at rest
            back = -float(body.wheel_mass) / 2 * float(self.acceleration[at])
            self._pair((Interaction.ROLLING, surface, name), scaled(along, back), AT_REST)

    def _bearing(self, name: str) -> None:
        """A bearing brakes against the bench; a moving pulley's too, as its fork can't turn."""
        pulley, at = self.apparatus.pulleys[name], self.rigging.of_rim[name]
        if not pulley.bearing_torque or pulley.radius is None:
            return
        braking = float(self.loads.resistance[at])
        reason = self._still(braking == 0, bool(self.moves[at]))
        if reason is ZeroWork.POINT_AT_REST:
            reason = ZeroWork.NO_TURNING
        torque, work = -braking * float(pulley.radius) + 0.0, -braking * float(self.amount[at])
        self._add((Interaction.BEARING_TORQUE, BENCH, name), None, work, reason, torque)

    def _axles(self) -> None:
        """What axles carry, from the second law for the load or for the fixed pulley."""
        for body in self.apparatus.bodies.values():
            if body.hangs_from is not None:
                at = self.rigging.of_object[body.name]
                needed = -float(body.mass) * float(self.acceleration[at])
                pull, travel = self._missing(body.name, needed), self._travel(body.name)
                self._pair((Interaction.AXLE, body.hangs_from, body.name), pull, travel, travel)
        for name, pulley in self.apparatus.pulleys.items():
            if not pulley.moving:
                self._act((Interaction.AXLE, BENCH, name), self._missing(name, 0.0), AT_REST)

    def _missing(self, name: str, up: float) -> Vector:
        """What the other forces on an object leave to be done for a net force ``up``, without the
        noise of rounding."""
        vectors = [f.vector for f in self.entries if f.on == name and f.vector is not None]
        needed = (0.0, up)
        size = sum(abs(x) for vector in (needed, *vectors) for x in vector)
        left = [needed[at] - sum(vector[at] for vector in vectors) for at in (0, 1)]
        x, y = (0.0 if abs(part) <= 1e-14 * size else part for part in left)
        return (x, y)
