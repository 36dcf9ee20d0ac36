"""Symbols of motions: the run as given, accelerations, paths, speeds and how pulleys turn."""

import math
from collections.abc import Callable, Mapping
from dataclasses import replace
from functools import cached_property
from typing import Any

from fallwork.lesson.expression import Symbol
from fallwork.lesson.lab.setup import Setup
from fallwork.lesson.lab.symbols import Symbols, positive
from fallwork.lesson.words import say


def _counted(rates: Mapping[str, float | None], senses: Mapping[str, int], of: str) -> float | None:
    value = rates.get(of)
    return None if value is None else senses[of] * value + 0.0


def _turning(kind: str, rate: Callable[[Any, str], float | None]) -> Callable[[Any, str], Symbol]:
    """A method that gives such a quantity of a pulley, in the lesson's sense."""
    return lambda lab, pulley: lab.symbol(
        kind, pulley, _counted({pulley: rate(lab, pulley)}, lab.spins, pulley)
    )


class Quantities(Symbols, Setup):
    """Motions in one phase."""

    @property
    def distance_is_given(self) -> bool:
        """Whether the path ``d`` of the phase is the run's distance as given."""
        run = self.scenario.run
        ends = run.distance is not None and self.ends_by_distance and not self.index
        return ends and (not self.tied or self.ratio(run.object) == 1)

    @cached_property
    def run_distance(self) -> Symbol:
        """The run's distance: the path of the run's object, or where the last part ends."""
        run, first = self.scenario.run.object, self.at(0)
        if not self.ends_by_distance:
            return self.given("run-distance", run=self.the(run))
        farther = first.reference != run and first.ratio(run) != 1
        return self.given("distance", run if farther else "", run=self.the(run))

    @cached_property
    def given_start_speed(self) -> Symbol:
        """The speed that the push gives to the run's object, as a size."""
        run = self.scenario.run.object
        alike = self.as_far_as(run)
        other = "" if self.reference in alike else run
        return positive(self.given("start-speed", other, all=self.all_of(alike)))

    def as_far_as(self, name: str) -> tuple[str, ...]:
        """What moves just as far as a mover, itself included."""
        movers = self.movers if self.tied else ()
        return tuple(n for n in movers if self.ratio(n) == self.ratio(name)) or (name,)

    def heading(self, name: str, sense: int) -> str:
        """Where a mover's fixed positive direction, or the opposite one, leads: ``down``, ``up``,
        ``forward``, ``back``, ``up-slope`` or ``down-slope``.
        """
        slope = self.slope_rad(name) if name in self.sliders else -1.0
        upward = "up" if slope * sense > 0 else "down"
        if name not in self.sliders or self.upright(name):
            return upward
        return f"{upward}-slope" if slope else "forward" if sense > 0 else "back"

    def direction(self, name: str, sense: int, kind: str = "positive") -> str:
        """The same in words, for a sentence on what counts as positive, or ``short``."""
        return say(f"directions.{kind}.{self.heading(name, sense)}")

    def sense(self, name: str) -> str:
        """The lesson's positive sense of a mover in a word."""
        return self.direction(name, self.senses[name])

    @property
    def alike(self) -> tuple[str, ...]:
        """What moves as far as the reference mover."""
        return self.as_far_as(self.reference)

    def acceleration_of(self, name: str) -> Symbol:
        """The acceleration of a mover in the lesson's sense; in free fall with the digits of g."""
        value, g = _counted(self.phase.accelerations, self.senses, name), self.gravity
        found = self.symbol("own-acceleration", name, value, sense=self.sense(name))
        if found.value is None or not math.isclose(abs(found.value), self.apparatus.gravity):
            return found
        return replace(found, written=g.written if found.value > 0 else f"-{g.written}")

    @cached_property
    def acceleration(self) -> Symbol:
        """The acceleration that the strings make common to all movers."""
        value = _counted(self.phase.accelerations, self.senses, self.reference)
        return self.symbol("acceleration", "", value, all=self.all_of(self.alike))

    def acceleration_in(self, name: str) -> Symbol:
        """The acceleration of one mover; the common one where it shares that."""
        shared = self.tied and name in self.alike
        return self.acceleration if shared else self.acceleration_of(name)

    angular_acceleration = _turning(
        "angular-acceleration", lambda lab, name: lab.phase.angular_accelerations.get(name)
    )
    spin = _turning("spin", lambda lab, name: lab.phase.end_angular_velocities.get(name))  # at last
    angle = _turning("angle", lambda lab, name: lab.turned_rad(name))  # by which it turns

    def start_spin(self, pulley: str) -> Symbol:
        """How fast a pulley turns at the start of the phase."""
        value = abs(self.phase.start_angular_velocities.get(pulley, 0.0))
        return self.symbol("start-spin", pulley, value)

    @cached_property
    def distance(self) -> Symbol:
        """How far the reference mover goes in this phase."""
        if self.distance_is_given:
            return self.run_distance
        stop = "rest" if self.rests_at_end else "turn"
        kind = f"distance-to-{stop}" if self.turns else "distance-of-all"
        mover = self.the(self.reference)
        return self.symbol(kind, "", self.path(self.reference), mover=mover)

    def distance_of(self, name: str) -> Symbol:
        """How far a mover goes in this phase."""
        if not self._whose(name)[0]:
            return self.distance
        if name == self.scenario.run.object and self.ends_by_distance and not self.index:
            return self.run_distance
        return self.symbol("distance", name, self.path(name))

    def _whose(self, name: str) -> tuple[str, str]:
        """A name, "" where the reference mover shares the motion; all of these in words."""
        alike = name in self.alike
        return ("", self.all_of(self.alike)) if alike else (name, self.the(name))

    @cached_property
    def speed(self) -> Symbol:
        """The final speed of the reference mover."""
        return self.speed_of(self.reference)

    def speed_of(self, name: str) -> Symbol:
        """The final speed of a mover."""
        own, whose = self._whose(name)
        mover = own or self.reference
        value = _counted(self.phase.end_velocities, self.senses, mover)
        kind = "velocity" if (value or 0.0) < 0 else "speed"
        return self.symbol(kind, own, value, all=whose, sense=self.sense(mover))

    @cached_property
    def start_speed(self) -> Symbol:
        """The speed of the reference mover at the start of the phase."""
        return self.start_speed_of(self.reference)

    def start_speed_of(self, name: str) -> Symbol:
        """The speed of a mover at the start of the phase."""
        given = self.scenario.run.speed is not None and self.index == 0
        if given and name in self.as_far_as(self.scenario.run.object):
            return self.given_start_speed
        own, whose = self._whose(name)
        return self.symbol("start-speed", own, self.first_speed(name), all=whose)
