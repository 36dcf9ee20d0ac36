"""What the step about time and speed asks: what ends a part of the run, and how speeds, paths and
angles follow from accelerations. Signs are in the lesson's sense of motion.
"""

from collections.abc import Iterator
from functools import cached_property

from fallwork.lesson.expression import Expression, Negative, Number, Symbol, as_expression
from fallwork.lesson.lab.base import Base
from fallwork.lesson.trees import ZERO, half, opposite, product, rebuilt, scaled, signed, total
from fallwork.mechanics.solution import Ending


class Motion(Base):
    """How a part of the run goes."""

    @property
    def ended_by(self) -> str:
        """What ends the part, in a word; "" where nothing does."""
        ending = self.ending
        return ending.value if ending else ""

    # Where the distance comes from.

    @property
    def distance_by(self) -> str:
        """Where the distance of the reference mover comes from: ``given``, that of the ``run``'s
        object, the ``room`` on a surface, or its ``value`` alone.
        """
        if self.distance_is_given:
            return "given"
        if self.tied and self.ending in (Ending.LANDS, Ending.COVERED):
            return "run"
        if self.tied and self.ending is Ending.REACHES and self.room is not None:
            return "room"
        return "value"

    @property
    def distance_formula(self) -> Expression:
        """The distance of the reference mover from where it comes from."""
        if self.distance_by == "run":
            run = self.apparatus.run.object
            far = total([*self._ways_before(run), self.run_distance])
            return scaled(1 / self.ratio(run), far)
        room = self.room if self.distance_by == "room" else None
        return scaled(1 / self.ratio(self.ender), room) if room else as_expression(self.distance)

    @property
    def room(self) -> Expression | None:
        """How far the object that ends the part could move on its surface, from the givens."""
        name = self.ender
        if name not in self.sliders or self.given_slider(name).starts_at is None:
            return None
        place, surface = as_expression(self.start_place(name)), self.surface_under(name)
        before = self._ways_before(name)
        if (self.phase.displacements[name] or 0.0) < 0:
            return total([place, *before])
        if self.scenario.surfaces[surface].length is None:
            return None
        return total([self.length(surface), -place, *before])

    def _ways_before(self, name: str) -> Iterator[Expression]:
        """The path in each earlier part: to be made good where it led away from this one's end."""
        now = self.phase.displacements[name] or 0.0
        for earlier in (self.at(index) for index in self.driven if index < self.index):
            then = earlier.phase.displacements[name] or 0.0
            path = earlier.distance_tree(name)
            yield path if now * then < 0 else -path

    # Speeds and paths after the time of the part.

    @property
    def mean_speed(self) -> Expression:
        """Half the sum of the speeds at the start and at the end; the time goes behind it."""
        speeds = total([self.speed, self._start(self.reference)])
        return half(self.start_speed if self.turns else speeds, self.time)

    @property
    def time_to_stop(self) -> Expression:
        """Speed at the start over how fast it is lost, for a pulley angular velocity likewise."""
        name = self.ender
        if name in self.rotors:
            return -self.start_spin(name) / self.angular_acceleration(name)
        return -self.start_speed_of(name) / self._gain(name)

    def speed_after(self, name: str) -> Expression:
        """v₀ + a t."""
        return total([self._start(name), product(self._gain(name), self.time)])

    def path_after(self, name: str) -> Expression:
        """v₀ t + ½ a t²."""
        start, steady = self._start(name), self.phase.accelerations[name] == 0
        return self._amount_after(start, None if steady and start != ZERO else self._gain(name))

    def spin_after(self, pulley: str) -> Expression:
        """ω₀ + α t."""
        grown = product(self.angular_acceleration(pulley), self.time)
        return total([self._start_spin(pulley), grown])

    def angle_after(self, pulley: str) -> Expression:
        """ω₀ t + ½ α t²."""
        return self._amount_after(self._start_spin(pulley), self.angular_acceleration(pulley))

    def _start(self, name: str) -> Expression:
        """The velocity at the start, minus the speed if it leads back; 0 from rest."""
        way = 1 if self.phase.start_velocities[name] * self.senses[name] > 0 else -1
        return signed(way, self.start_speed_of(name)) if self.first_speed(name) else ZERO

    def _start_spin(self, pulley: str) -> Expression:
        """The angular velocity at the start, in the sense in which the pulley turns in the end."""
        spin = self.phase.start_angular_velocities.get(pulley, 0.0)
        way = 1 if spin * self.spins[pulley] > 0 else -1
        return signed(way, self.start_spin(pulley)) if spin else ZERO

    def _gain(self, name: str) -> Symbol:
        """The acceleration of a mover; the common one where it shares that."""
        shared = self.tied and self.ratio(name) == 1
        return self.acceleration if shared else self.acceleration_of(name)

    def _amount_after(self, start: Expression, gain: Symbol | None) -> Expression:
        """From a rate at the start, a minus sign of it in front, and what the rate gains."""
        sign, size = (-1, -start) if isinstance(start, Negative) else (1, start)
        moved = signed(sign, product(size, self.time))
        return total([moved, half(gain, self.time**2) if gain is not None else ZERO])

    @property
    def going_apart(self) -> list[str]:
        """The movers whose path and speed the strings leave open, but the reference mover."""
        others = [n for n in self.movers if n != self.reference and not self.rests(n)]
        return [name for name in others if self.phase.displacements[name] is not None]

    # ---- a cart alone, after a landing

    @property
    def braking_share(self) -> Expression:
        """What slows it down, over g: μ, on a slope sin θ + μ cos θ."""
        masses = total(self.driving_of([self.slider]).masses)
        return rebuilt(opposite(masses), {self.mass(self.slider).id: Number(value=1)})

    @property
    def coasting(self) -> Expression:
        """Its acceleration: −μ g, on a slope −(sin θ + μ cos θ) g."""
        return -product(self.braking_share, self.gravity)

    @cached_property
    def coasting_acceleration(self) -> Symbol:
        """The same as a symbol, with what it is after the last driven part."""
        value, slider = self.at(self.driven[-1]).coasting, self.the(self.slider)
        return self.symbol("coasting-acceleration", "", value, slider=slider)

    @cached_property
    def coasting_distance(self) -> Symbol:
        """How far it would coast to rest on a track without end."""
        last = self.at(self.driven[-1])
        way = last.speed**2 / product(2, last.braking_share, self.gravity)
        return self.symbol("coasting-distance", "", way, slider=self.the(self.slider))
