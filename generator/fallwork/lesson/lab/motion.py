"""What the steps about time and speed ask: what ends a part of the run, how speeds, paths and
angles follow from accelerations, and how a cart goes on alone. Signs are in the lesson's sense.
"""

from collections.abc import Iterator
from functools import cached_property

from fallwork.lesson.expression import Expression, Negative, Number, Symbol
from fallwork.lesson.lab.base import Base
from fallwork.lesson.trees import ZERO, half, opposite, product, rebuilt, scaled, signed, total
from fallwork.mechanics.solution import Ending


class Motion(Base):
    """How a part of the run goes."""

    @property
    def ended_by(self) -> str:
        """What ends the part, in a word; "" where nothing does."""
        return self.ending.value if self.ending else ""

    # ---- where the distance comes from

    @property
    def distance_by(self) -> str:
        """Where the distance of the reference mover comes from: ``given``, that of the ``run``'s
        object, the ``room`` on a surface, or its ``value`` alone.
        """
        if self.distance_is_given:
            return "given"
        if self.tied and self.ending in (Ending.LANDS, Ending.COVERED):
            return "run"
        return "room" if self.tied and self.ending is Ending.REACHES and self.room else "value"

    @property
    def distance_formula(self) -> Expression:
        """The distance of the reference mover from where it comes from."""
        if self.distance_by == "run":
            run = self.apparatus.run.object
            far = total([*self._ways_before(run), self.run_distance])
            return scaled(1 / self.ratio(run), far)
        room = self.room if self.distance_by == "room" else None
        return scaled(1 / self.ratio(self.ender), room) if room else self.distance

    @property
    def room(self) -> Expression | None:
        """How far the object that ends the part could move on its surface, from the givens."""
        name = self.ender
        if name not in self.sliders or self.given_slider(name).starts_at is None:
            return None
        place, surface = self.start_place(name), self.surface_under(name)
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
            yield signed(1 if now * then < 0 else -1, earlier.distance_tree(name))

    # ---- after the time of the part: a mover, or the turning of a pulley

    def at_start(self, name: str, *, turning: bool = False) -> Expression:
        """Its velocity at the start, minus the speed if that leads back; 0 from rest."""
        phase = self.phase
        if turning:
            first = phase.start_angular_velocities.get(name, 0.0) * self.spins[name]
            return signed(1 if first > 0 else -1, self.start_spin(name)) if first else ZERO
        first = phase.start_velocities[name] * self.senses[name]
        return signed(1 if first > 0 else -1, self.start_speed_of(name)) if first else ZERO

    def _gain(self, name: str, turning: bool) -> Symbol:
        return self.angular_acceleration(name) if turning else self.acceleration_in(name)

    def speed_after(self, name: str, *, turning: bool = False) -> Expression:
        """v₀ + a t."""
        gained = product(self._gain(name, turning), self.time)
        return total([self.at_start(name, turning=turning), gained])

    def path_after(self, name: str, *, turning: bool = False) -> Expression:
        """v₀ t + ½ a t²."""
        start, gain = self.at_start(name, turning=turning), self._gain(name, turning)
        sign, size = (-1, start.body) if isinstance(start, Negative) else (1, start)
        moved = signed(sign, product(size, self.time))
        steady = not turning and self.phase.accelerations[name] == 0 and start != ZERO
        return moved if steady else total([moved, half(gain, self.time**2)])

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
