"""Every force on every object in one leg of the run, reactions included.

Takes kinematics and loads; gives ``Force`` objects with vectors, displacements of the material
points where they act, works, and the reasons of works that are zero. The forces that hold the
Earth and the surfaces in place are no part of the model.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np

from fallwork.mechanics.apparatus import Body
from fallwork.mechanics.arrays import given
from fallwork.mechanics.assembly import Setup, direction_of
from fallwork.mechanics.bounded import Array, Flags
from fallwork.mechanics.listing import listed
from fallwork.mechanics.problem import Loads
from fallwork.mechanics.rigging import Element, StringRigging
from fallwork.mechanics.solution import Force, Interaction, ZeroWork
from fallwork.mechanics.vectors import DOWN, NOTHING, Vector, dot, scaled, tidy
from fallwork.scenario.nouns import BENCH, EARTH


@dataclass(frozen=True, kw_only=True)
class Travel:
    """How far the material point moves on which a force acts: ``amount`` along ``axis``."""

    axis: Vector
    amount: float | None  # m; None where the leg has no end
    moves: bool


AT_REST = Travel(axis=NOTHING, amount=0.0, moves=False)


@dataclass(frozen=True, kw_only=True)
class Pass:
    """A string at one pulley: tensions, directions and travel of its two sides."""

    string: str
    pulley: str
    pulls: tuple[float, float]  # N, before and behind the pulley
    ways: tuple[Vector, Vector]
    travels: tuple[float | None, float | None]  # m, along the string
    turning: float | None  # m, travel of the rim or of the string over it
    moves: bool


def forces_of(setup: Setup, kinematics: "Kinematics", loads: Loads) -> tuple[Force, ...]:
    """All forces of a leg under ``loads``, object by object in the order of the apparatus."""
    return _Ledger(setup, kinematics, loads).forces()


@dataclass(frozen=True, kw_only=True)
class Kinematics:
    """What moves in a leg, apart from its loads. Arrays have one entry a coordinate."""

    acceleration: Array  # m/s², 0 where undetermined
    displacement: Array | None  # m, nan where undetermined
    moves: Flags
    held: Flags  # on the catch pad

    @property
    def rests(self) -> bool:
        """Whether nothing at all moves."""
        return not bool(self.moves.any())


class _Ledger:
    """Collects forces pair by pair."""

    def __init__(self, setup: Setup, kinematics: Kinematics, loads: Loads) -> None:
        self.setup, self.kinematics, self.loads = setup, kinematics, loads
        self.apparatus, self.rigging = setup.apparatus, setup.rigging
        self.entries: list[Force] = []

    def forces(self) -> tuple[Force, ...]:
        for string in self.rigging.strings.values():
            self._string(string)
        for body in self.apparatus.bodies.values():
            self._on_body(body)
        for name in self.apparatus.pulleys:
            self._on_pulley(name)
        self._axles()
        return listed(self.apparatus, self.entries)

    # ---- travel of material points

    def _amount(self, coordinate: int) -> float | None:
        if not self.kinematics.moves[coordinate]:
            return 0.0
        moved = self.kinematics.displacement
        if moved is None or np.isnan(moved[coordinate]):
            return None
        return float(moved[coordinate])

    def _travel(self, name: str) -> Travel:
        at = self.rigging.of_object.get(name)
        if at is None:
            return AT_REST
        surface = self.rigging.coordinates[at].surface
        return Travel(
            axis=DOWN if surface is None else self._tangent(surface),
            amount=self._amount(at),
            moves=bool(self.kinematics.moves[at]),
        )

    def _tangent(self, surface: str) -> Vector:
        cosine, sine = self.apparatus.surfaces[surface].tangent
        return float(cosine), float(sine)

    # ---- entries

    def _act(
        self,
        interaction: Interaction,
        partner: str,
        on: str,
        vector: Vector,
        travel: Travel,
        *,
        torque: float | None = None,
    ) -> None:
        """A force at one material point."""
        along = dot(vector, travel.axis)
        if abs(along) <= 1e-15 * np.hypot(*vector):
            along = 0.0
        reason = self._reason(vector, along, travel)
        work = 0.0 if reason else None if travel.amount is None else along * travel.amount
        displacement = None if travel.amount is None else scaled(travel.axis, travel.amount)
        self.entries.append(
            Force(
                interaction=interaction,
                partner=partner,
                on=on,
                vector=tidy(vector),
                torque=torque,
                displacement=displacement,
                work=work,
                reason=reason,
            )
        )

    def _reason(self, vector: Vector, along: float, travel: Travel) -> ZeroWork | None:
        if vector == NOTHING:
            return ZeroWork.NO_FORCE
        if self.kinematics.rests:
            return ZeroWork.NO_MOTION
        if not travel.moves:
            return ZeroWork.POINT_AT_REST
        if along == 0:
            return ZeroWork.PERPENDICULAR
        return ZeroWork.RETURNED if travel.amount == 0 else None

    def _pair(
        self,
        interaction: Interaction,
        one: str,
        other: str,
        vector: Vector,
        travel: Travel,
        travel_of_one: Travel,
    ) -> None:
        """``one`` acts on ``other`` with ``vector``, and the reaction on ``one``."""
        self._act(interaction, one, other, vector, travel)
        self._act(interaction, other, one, scaled(vector, -1.0), travel_of_one)

    # ---- strings

    def _string(self, string: StringRigging) -> None:
        pulls = segment_pulls(self.setup, string, self.loads)
        ways = [direction_of(self.apparatus, segment) for segment in string.segments]
        self._end(string, 0, scaled(ways[0], pulls[0]), ways[0])
        self._end(string, len(string.path) - 1, scaled(ways[-1], -pulls[-1]), ways[-1])
        for crossing in self._passes(string, pulls, ways):
            self._contact(crossing)

    def _end(self, string: StringRigging, position: int, pull: Vector, way: Vector) -> None:
        """The string pulls on what it ends on with ``pull``."""
        name, role = string.path[position], string.elements[position]
        if role is Element.ANCHOR:
            self._act(Interaction.TENSION, name, string.name, scaled(pull, -1.0), AT_REST)
            return
        if role is Element.DRUM:
            self._wound(string.name, name, pull, way)
            return
        travel = self._travel(name)
        self._pair(Interaction.TENSION, string.name, name, pull, travel, travel)

    def _wound(self, string: str, drum: str, pull: Vector, way: Vector) -> None:
        """A string pulls at the rim on which it is wound."""
        at, radius = self.rigging.of_rim[drum], self.apparatus.pulleys[drum].radius
        rim = Travel(axis=way, amount=self._amount(at), moves=bool(self.kinematics.moves[at]))
        torque = None if radius is None else dot(pull, way) * float(radius)
        self._act(Interaction.TENSION, string, drum, pull, rim, torque=torque)
        self._act(Interaction.TENSION, drum, string, scaled(pull, -1.0), rim)

    def _passes(
        self, string: StringRigging, pulls: Sequence[float], ways: Sequence[Vector]
    ) -> Iterable[Pass]:
        travel = self._first_travel(string)
        for at in range(1, len(string.path) - 1):
            name = string.path[at]
            sinks: float | None = 0.0
            if string.elements[at] is Element.MOVING:
                amount = self._amount(self.rigging.of_object[name])
                sinks = None if amount is None else string.bight(at) * amount
            rim = self.rigging.of_rim.get(name)
            turning = _plus(travel, sinks, -1) if rim is None else self._amount(rim)
            before, behind = _plus(turning, sinks, 1), _plus(turning, sinks, -1)
            yield Pass(
                string=string.name,
                pulley=name,
                pulls=(pulls[at - 1], pulls[at]),
                ways=(ways[at - 1], ways[at]),
                travels=(before, behind),
                turning=turning,
                moves=self._string_moves(string, at),
            )
            travel = behind

    def _string_moves(self, string: StringRigging, position: int) -> bool:
        """Whether anything moves on the spans that meet at an element of the path."""
        spans = [self.rigging.spans[at] for at in string.spans]
        near = [span for span in spans if span.first <= position <= span.last + 1]
        return any(self.kinematics.moves[at] for span in near for at in span.stretch)

    def _first_travel(self, string: StringRigging) -> float | None:
        name, role = string.path[0], string.elements[0]
        if role is Element.ANCHOR:
            return 0.0
        if role is Element.DRUM:
            return self._amount(self.rigging.of_rim[name])
        amount = self._amount(self.rigging.of_object[name])
        segment = string.segments[0]
        forward = 1 if segment.along is not None else -segment.upright
        return None if amount is None else forward * amount

    def _contact(self, crossing: Pass) -> None:
        """String and pulley along the arc; the works of the pair are opposite."""
        (before, behind), (way_in, way_out) = crossing.pulls, crossing.ways
        on_pulley = tidy(
            (
                behind * way_out[0] - before * way_in[0],
                behind * way_out[1] - before * way_in[1],
            )
        )
        work = None
        if None not in crossing.travels:
            work = behind * (crossing.travels[1] or 0.0) - before * (crossing.travels[0] or 0.0)
        reason = self._contact_reason(crossing, work)
        radius = self.apparatus.pulleys[crossing.pulley].radius
        torque = None if radius is None else (behind - before) * float(radius)
        for on, partner, sign in (
            (crossing.pulley, crossing.string, 1.0),
            (crossing.string, crossing.pulley, -1.0),
        ):
            self.entries.append(
                Force(
                    interaction=Interaction.CONTACT,
                    partner=partner,
                    on=on,
                    vector=scaled(on_pulley, sign),
                    torque=torque if sign > 0 else None,
                    displacement=None,
                    work=0.0 if reason else None if work is None else sign * work,
                    reason=reason,
                )
            )

    def _contact_reason(self, crossing: Pass, work: float | None) -> ZeroWork | None:
        before, behind = crossing.pulls
        if before == 0 and behind == 0:
            return ZeroWork.NO_FORCE
        if self.kinematics.rests:
            return ZeroWork.NO_MOTION
        if not crossing.moves:
            return ZeroWork.POINT_AT_REST
        at = self.rigging.of_object.get(crossing.pulley)
        if at is not None and self.kinematics.moves[at]:
            return ZeroWork.RETURNED if work == 0 else None
        if crossing.pulley not in self.rigging.of_rim:
            return ZeroWork.IDEAL_PULLEY
        if abs(behind - before) <= 1e-14 * (behind + before):
            return ZeroWork.STEADY_PULLEY
        if not self.kinematics.moves[self.rigging.of_rim[crossing.pulley]]:
            return ZeroWork.POINT_AT_REST
        return ZeroWork.RETURNED if work == 0 else None

    # ---- bodies and pulleys

    def _on_body(self, body: Body) -> None:
        travel = self._travel(body.name)
        self._applied(body.name, travel)
        at = self.rigging.of_object[body.name]
        if body.name == self.apparatus.run.object and self.kinematics.held[at]:
            support = (0.0, float(self.loads.support[at]))
            self._act(Interaction.LANDING, BENCH, body.name, support, travel)
        if body.surface is not None:
            self._on_surface(body, body.surface, at, travel)

    def _on_surface(self, body: Body, surface: str, at: int, travel: Travel) -> None:
        along = self._tangent(surface)
        normal = float(body.mass) * float(self.apparatus.gravity) * along[0]
        up = (-along[1] * normal, along[0] * normal)
        self._pair(Interaction.NORMAL, surface, body.name, up, travel, AT_REST)
        if given(body.friction) or (
            body.static_friction is not None and given(body.static_friction)
        ):
            rub = scaled(along, -float(self.loads.resistance[at]))
            self._pair(Interaction.FRICTION, surface, body.name, rub, travel, AT_REST)
        if given(body.wheel_mass):
            back = -float(body.wheel_mass) / 2 * float(self.kinematics.acceleration[at])
            # The point of a wheel that touches the surface is at rest.
            self._pair(
                Interaction.ROLLING, surface, body.name, scaled(along, back), AT_REST, AT_REST
            )

    def _applied(self, name: str, travel: Travel) -> None:
        for force in self.apparatus.applied(name):
            vector = (float(force.forward), float(force.up))
            self._act(force.interaction, force.by, name, vector, travel)
            if force.by == EARTH:
                self._act(force.interaction, name, EARTH, scaled(vector, -1.0), AT_REST)

    def _on_pulley(self, name: str) -> None:
        pulley = self.apparatus.pulleys[name]
        travel = self._travel(name)
        self._applied(name, travel)
        at = self.rigging.of_object.get(name)
        if at is not None and name == self.apparatus.run.object and self.kinematics.held[at]:
            support = (0.0, float(self.loads.support[at]))
            self._act(Interaction.LANDING, BENCH, name, support, travel)
        if given(pulley.bearing_torque) and pulley.radius is not None:
            self._bearing(name, float(pulley.radius))

    def _bearing(self, name: str, radius: float) -> None:
        """A bearing brakes against the bench; a moving pulley's too, as its fork can't turn."""
        at = self.rigging.of_rim[name]
        braking, amount = float(self.loads.resistance[at]), self._amount(at)
        reason = None
        if braking == 0:
            reason = ZeroWork.NO_FORCE
        elif not self.kinematics.moves[at]:
            reason = ZeroWork.NO_MOTION if self.kinematics.rests else ZeroWork.NO_TURNING
        self.entries.append(
            Force(
                interaction=Interaction.BEARING_TORQUE,
                partner=BENCH,
                on=name,
                vector=None,
                torque=-braking * radius + 0.0,
                displacement=None,
                work=0.0 if reason else None if amount is None else -braking * amount,
                reason=reason,
            )
        )

    def _axles(self) -> None:
        """What axles carry, from the second law for the load or for the fixed pulley."""
        for body in self.apparatus.bodies.values():
            if body.hangs_from is None:
                continue
            at = self.rigging.of_object[body.name]
            needed = (0.0, -float(body.mass) * float(self.kinematics.acceleration[at]))
            pull = self._missing(body.name, needed)
            travel = self._travel(body.name)
            self._pair(Interaction.AXLE, body.hangs_from, body.name, pull, travel, travel)
        for name, pulley in self.apparatus.pulleys.items():
            if not pulley.moving:
                hold = self._missing(name, NOTHING)
                self._act(Interaction.AXLE, BENCH, name, hold, AT_REST)

    def _missing(self, name: str, needed: Vector) -> Vector:
        """What the other forces on an object leave to be done, without the noise of rounding."""
        vectors = [f.vector for f in self.entries if f.on == name and f.vector is not None]
        size = sum(abs(x) for vector in (needed, *vectors) for x in vector)
        left = [needed[at] - sum(vector[at] for vector in vectors) for at in (0, 1)]
        x, y = (0.0 if abs(part) <= 1e-14 * size else part for part in left)
        return (x, y)


def segment_pulls(setup: Setup, string: StringRigging, loads: Loads) -> list[float]:
    """The tension of every segment of a string, N."""
    return [float(loads.tension[at]) for at in string.span_of_segments(setup.rigging.spans)]


def _plus(one: float | None, other: float | None, sign: int) -> float | None:
    return None if one is None or other is None else one + sign * other
