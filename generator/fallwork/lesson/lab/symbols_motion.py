"""Symbols of the motion: accelerations, speeds, paths, times, and the sums that give them."""

import math
from dataclasses import replace
from functools import cached_property

from fallwork.lesson.expression import Symbol
from fallwork.lesson.lab.symbols_forces import ForceSymbols
from fallwork.mechanics.solution import Ending


class MotionSymbols(ForceSymbols):
    """How the movers move in one phase."""

    def sense(self, name: str) -> str:
        """The lesson's positive sense of a mover in a word."""
        return self.direction(name, self.senses[name])

    def direction(self, name: str, sense: int) -> str:
        """A direction of a mover's path in a word: its fixed positive one or the opposite."""
        if name not in self.sliders:
            return "downward" if sense > 0 else "upward"
        slope = self.slope_rad(name)
        if self.upright(name):
            return "upward" if (slope > 0) == (sense > 0) else "downward"
        if slope:
            return "up the slope" if (slope > 0) == (sense > 0) else "down the slope"
        return "forward" if sense > 0 else "backward"

    @cached_property
    def alike(self) -> tuple[str, ...]:
        """The movers that move as far as the reference mover."""
        if not self.tied:
            return (self.reference,)
        return tuple(name for name in self.movers if self.ratio(name) == 1)

    def acceleration_of(self, name: str) -> Symbol:
        """The acceleration of one mover in the lesson's sense of motion."""
        return self.computed(
            f"acceleration.{name}",
            "a",
            f"acceleration of {self.the(name)}, {self.sense(name)} counted positive",
            "m/s²",
            lambda: self._acceleration(name),
            subscript=self.subscript(name),
        )

    @cached_property
    def acceleration(self) -> Symbol:
        """The acceleration that the strings make common to all movers."""
        return self.computed(
            "acceleration",
            "a",
            f"acceleration of {self.all_of(self.alike)}",
            "m/s²",
            lambda: self._acceleration(self.reference),
        )

    def _acceleration(self, name: str) -> float | None:
        value = self.phase.accelerations.get(name)
        return None if value is None else self.senses[name] * value + 0.0

    def angular_acceleration(self, pulley: str) -> Symbol:
        """The angular acceleration of a pulley; positive in the sense in which it turns."""

        return self.computed(
            f"angular-acceleration.{pulley}",
            "alpha",
            f"angular acceleration of {self.the(pulley)}",
            "rad/s²",
            lambda: self._turn(pulley, self.phase.angular_accelerations.get(pulley)),
            self.where_several(pulley, self.rotors),
        )

    def _turn(self, pulley: str, value: float | None) -> float | None:
        return None if value is None else self.spins[pulley] * value + 0.0

    def spin(self, pulley: str) -> Symbol:
        """The angular velocity of a pulley at the end of the phase."""
        return self.computed(
            f"spin.{pulley}",
            "omega",
            f"final angular velocity of {self.the(pulley)}",
            "rad/s",
            lambda: self._turn(pulley, self.phase.end_angular_velocities.get(pulley)),
            self.where_several(pulley, self.rotors),
        )

    def start_spin(self, pulley: str) -> Symbol:
        """How fast a pulley turns at the start of the phase."""
        return self.computed(
            f"start-spin.{pulley}",
            "omega",
            f"angular velocity at the start of {self.the(pulley)}, counted as a size",
            "rad/s",
            lambda: abs(self.phase.start_angular_velocities.get(pulley, 0.0)),
            self.where_several(pulley, self.rotors, "0"),
        )

    def angle(self, pulley: str) -> Symbol:
        """The angle by which a pulley turns in the phase."""
        return self.computed(
            f"angle.{pulley}",
            "phi",
            f"angle by which {self.the(pulley)} turns",
            "rad",
            lambda: self._angle(pulley),
            self.where_several(pulley, self.rotors),
        )

    def _angle(self, pulley: str) -> float | None:
        phase = self.phase
        gain, time = phase.angular_accelerations.get(pulley), phase.duration
        if gain is None or time is None:
            return None
        first = phase.start_angular_velocities.get(pulley, 0.0)
        return self._turn(pulley, first * time + gain * time**2 / 2)

    # Paths, times and speeds.

    @cached_property
    def distance(self) -> Symbol:
        """How far the reference mover goes in this phase."""
        if self.distance_is_given:
            return self.run_distance
        reference = self.reference
        return self.computed(
            "distance",
            "d",
            f"distance that {self.the(reference)} moves{self._up_to()}",
            "m",
            lambda: self.path(reference),
        )

    def _up_to(self) -> str:
        """Where the motion of the phase comes to a stop, for a list of symbols."""
        if not self.turns:
            return ""
        return " until it rests" if self.rests_at_end else " up to the turning point"

    def distance_of(self, name: str) -> Symbol:
        """How far a mover goes in this phase."""
        if name == self.reference or (self.tied and name in self.alike):
            return self.distance
        if name == self.scenario.run.object and self.ends_by_distance and not self.index:
            return self.run_distance
        return self.computed(
            f"distance.{name}",
            "d",
            f"distance that {self.the(name)} moves",
            "m",
            lambda: self.path(name),
            subscript=self.subscript(name),
        )

    def distance_back(self, value: float | None) -> Symbol:
        """How far the motion first leads the other way."""
        meaning = f"distance that {self.the(self.reference)} first moves the other way"
        return self.computed("distance.back", "d", meaning, "m", lambda: value, "back")

    @cached_property
    def time(self) -> Symbol:
        """How long the phase takes."""
        if self.ending is Ending.TIME and self.index == 0:
            return self.time_limit
        return self.computed(
            "time",
            "t",
            f"time from {self._beginning} until {self._end}",
            "s",
            lambda: self.phase.duration,
        )

    @property
    def _beginning(self) -> str:
        if self.index:
            return "the turning point"
        return "the moment the hand lets go" if self.starts_moving else "the release"

    @property
    def _end(self) -> str:
        return self.end or "any later moment"

    @cached_property
    def speed(self) -> Symbol:
        """The final speed of the reference mover."""
        return self.computed(
            "speed",
            "v",
            self._final(self.reference, self.all_of(self.alike)),
            "m/s",
            lambda: self.end_speed(self.reference),
        )

    def speed_of(self, name: str) -> Symbol:
        """The final speed of a mover."""
        if name == self.reference or (self.tied and name in self.alike):
            return self.speed
        return self.computed(
            f"speed.{name}",
            "v",
            self._final(name, self.the(name)),
            "m/s",
            lambda: self.end_speed(name),
            subscript=self.subscript(name),
        )

    def _final(self, name: str, whose: str) -> str:
        if (self.end_speed(name) or 0.0) < 0:
            return f"final velocity of {whose}, {self.sense(name)} counted positive"
        return f"final speed of {whose}"

    @cached_property
    def start_speed(self) -> Symbol:
        """The speed of the reference mover at the start of the phase."""
        return self.start_speed_of(self.reference)

    def start_speed_of(self, name: str) -> Symbol:
        """The speed of a mover at the start of the phase."""
        run = self.scenario.run
        if run.speed is not None and name in self._with_run_object and self.index == 0:
            return self.given_start_speed
        reference = name == self.reference or (self.tied and name in self.alike)
        return self.computed(
            "start-speed" if reference else f"start-speed.{name}",
            "v",
            f"speed at the start of {self.all_of(self.alike) if reference else self.the(name)}",
            "m/s",
            lambda: self.first_speed(name),
            "0" if reference else self._own_start(name),
        )

    @cached_property
    def coasting_acceleration(self) -> Symbol:
        """The acceleration of the first slider after its string has gone slack."""
        slider = self.sliders[0]
        return self.lasting(
            "acceleration.coasting",
            "a",
            f"acceleration of {self.the(slider)} after the string has gone slack",
            "m/s²",
            lambda: -self._deceleration(slider),
            subscript="coast",
        )

    @cached_property
    def coasting_distance(self) -> Symbol:
        """How far the first slider would coast to rest on a track without end."""
        slider, last = self.sliders[0], self.at(self.driven[-1])
        return self.lasting(
            "distance.coasting",
            "d",
            f"distance in which {self.the(slider)} would come to rest on a long enough track",
            "m",
            lambda: (last.end_speed(slider) or 0.0) ** 2 / (2 * self._deceleration(slider)),
            subscript="coast",
        )

    def _deceleration(self, name: str) -> float:
        body, slope = self.apparatus.bodies[name], self.slope_rad(name)
        climb = math.sin(slope) * self.senses[name]
        share = climb + float(body.friction) * math.cos(slope)
        return share * float(self.apparatus.gravity)

    # The sums from which the common acceleration follows.

    def driving_force(self, value: float | None) -> Symbol:
        """What drives and brakes along the strings, added up."""
        where = "string" if len(self.apparatus.strings) == 1 else "strings"
        meaning = f"net driving force along the {where}"
        if len(self.movers) == 1 and not self.rotors:
            meaning = "net force along the path"
        elif any(self.ratio(name) != 1 for name in self.movers):
            the = self.the(self.reference)
            meaning = f"net driving force: forces times paths, for one unit of the path of {the}"
        return self.computed("driving-force", "F", meaning, "N", lambda: value)

    def moving_mass(self, value: float | None) -> Symbol:
        """What the common acceleration has to move."""
        meaning = "effective mass"
        return self.lasting("moving-mass", "M", meaning, "kg", lambda: value)

    def limiting(self, symbol: Symbol, mark: str, value: float | None) -> Symbol:
        """What a quantity tends to in a limiting case, marked by a word."""
        subscript = ",".join(part for part in (symbol.subscript, mark) if part)
        meaning = f"{symbol.meaning}: limiting case “{mark}”"
        found = self.lasting(
            f"{symbol.id}.{mark}", symbol.letter, meaning, symbol.unit, lambda: value, subscript
        )
        return replace(found, aside=True)

    def pair_mass(self, names: tuple[str, str], value: float | None) -> Symbol:
        """The one mass in whose place two weights on a hung pulley pull the string."""
        meaning = f"mass in whose place {self.the(names[0])} and {self.the(names[1])} pull"
        return self.lasting("mass.pair", "m", meaning, "kg", lambda: value, "pair")

    def limiting_mass(self, mark: str, value: float | None) -> Symbol:
        """The mass of a weight at a limit of what static friction can hold, or ``free`` of it."""
        meaning = {
            "most": "largest hanging mass for which everything stays at rest",
            "least": "smallest hanging mass for which everything stays at rest",
            "free": "hanging mass with which no friction is needed",
        }[mark]
        return self.lasting(f"mass.{mark}", "m", meaning, "kg", lambda: value, mark)

    def denominator(self, unit: str, value: float | None) -> Symbol:
        """The denominator that the tensions of several free motions share."""
        meaning = "denominator that the results share"
        return self.computed("denominator", "D", meaning, unit, lambda: value)
