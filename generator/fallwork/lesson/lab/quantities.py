"""Symbols of what the solver finds: the run, forces as sizes, motions; what shortens formulas."""

import math
from collections.abc import Sequence
from dataclasses import replace
from functools import cached_property
from itertools import accumulate

from fallwork.lesson.expression import Symbol
from fallwork.lesson.lab.symbols import Symbols, positive
from fallwork.lesson.lab.ties import Stretch
from fallwork.lesson.run import end_in_words
from fallwork.mechanics.solution import Ending, Interaction


class Quantities(Symbols):
    """Forces and motions in one phase."""

    # ---- the run as given

    @property
    def distance_is_given(self) -> bool:
        """Whether the path ``d`` of the phase is the run's distance as given."""
        run = self.scenario.run
        if run.distance is None or not self.ends_by_distance or self.index:
            return False
        return self.ratio(run.object) == 1 if self.tied else True

    @cached_property
    def run_distance(self) -> Symbol:
        """The run's distance: the path of the run's object, or where the last part ends."""
        run, first = self.scenario.run, self.at(0)
        words = {"run": self.the(run.object)}
        if not self.ends_by_distance:
            return self.given("run-distance", "", run.distance, **words)
        farther = first.reference != run.object and first.ratio(run.object) != 1
        return self.given("distance", run.object if farther else "", run.distance, **words)

    @cached_property
    def given_start_speed(self) -> Symbol:
        """The speed that the push gives to the run's object, as a size."""
        run, all_of = self.scenario.run, self.all_of(self._with_run_object)
        other = "" if self.reference in self._with_run_object else run.object
        return positive(self.given("start-speed", other, run.speed, all=all_of))

    @property
    def _with_run_object(self) -> tuple[str, ...]:
        """What moves just as far as the run's object, itself included."""
        chosen = self.apparatus.run.object
        if not self.tied:
            return (chosen,)
        return tuple(n for n in self.movers if self.ratio(n) == self.ratio(chosen))

    @cached_property
    def time_limit(self) -> Symbol:
        """The time after which the run is no longer followed."""
        return self.given("time", "", self.scenario.run.until)

    @property
    def end(self) -> str:
        """What ends the phase as a clause of a sentence; "" where nothing does."""
        return end_in_words(self.phase.ends, self.the)

    # ---- forces; their directions are said in words and by signs

    def _size(self, kind: Interaction, name: str, absent: float | None = None) -> float | None:
        force = self.force(kind, name)
        return absent if force is None else force.size

    def normal(self, name: str) -> Symbol:
        """The normal force of the surface on an object: the same in every part of a run."""
        return self.symbol("normal", name, self._size(Interaction.NORMAL, name, 0.0))

    def friction(self, name: str) -> Symbol:
        """The friction force on an object, as a magnitude.

        Kinetic friction has the same size in every part of a run, static friction its own.
        """
        kind = "friction-force" if self.sliding(name) else "static-friction-force"
        return self.symbol(kind, name, self._size(Interaction.FRICTION, name, 0.0))

    def rolling(self, name: str) -> Symbol:
        """The force of the surface on the rims of the wheels that makes them turn, as a size."""
        return self.symbol("rolling", name, self._size(Interaction.ROLLING, name, 0.0))

    def friction_limit(self, name: str) -> Symbol:
        """The most that static friction can reach."""
        body = self.bodies[name]
        coefficient = body.friction if body.static_friction is None else body.static_friction
        normal = self._size(Interaction.NORMAL, name) or 0.0
        return self.symbol("friction-limit", name, float(coefficient) * normal)

    def holding_torque(self, pulley: str) -> Symbol:
        """The torque with which a bearing holds a pulley at rest, as a size."""
        size = self._size(Interaction.BEARING_TORQUE, pulley)
        return self.symbol("holding-torque", pulley, size)

    def support(self, name: str) -> Symbol:
        """The pull of a moving pulley on what hangs rigidly from it."""
        size = self._size(Interaction.AXLE, name)
        return self.symbol("support", name, size, pulley=self.the(self.carried[name]))

    def tension(self, string: str, name: str, *, after: bool = False) -> Symbol:
        """The tension of a string where it meets an object; ``after`` it, for a pulley."""
        return self.tension_of(self.stretch(string, name, after=after))

    def tension_at(self, string: str, segment: int) -> Symbol:
        """The tension of a straight piece of string, counted along its path."""
        own = [stretch for stretch in self.stretches if stretch.string == string]
        lengths = accumulate(len(stretch.objects) - 1 for stretch in own)
        found = next(s for s, end in zip(own, lengths, strict=True) if segment < end)
        return self.tension_of(found)

    def tension_of(self, stretch: Stretch) -> Symbol:
        """The tension of a stretch of string."""
        mark, words = self._stretch_mark(stretch), {"the": self.the(stretch.string)}
        kind = "tension" if self.one_tension(stretch.string) else "tension-between"
        words |= {"first": self.the(stretch.objects[0]), "last": self.the(stretch.objects[-1])}
        return self.symbol(kind, "", stretch.tension, key=stretch.key, mark=mark, **words)

    def one_tension(self, string: str) -> bool:
        """Whether the string pulls equally along its whole length."""
        return sum(stretch.string == string for stretch in self.stretches) == 1

    def stretch(self, string: str, name: str, *, after: bool = False) -> Stretch:
        """The stretch of a string that meets an object."""
        found = [s for s in self.stretches if s.string == string and name in s.objects]
        return found[-1] if after else found[0]

    def _stretch_mark(self, stretch: Stretch) -> str:
        """The object that it pulls where each stretch has one of its own, else a number."""
        if len(self.stretches) == 1:
            return ""
        pulled = [self._pulled_by(other) for other in self.stretches]
        own = self._pulled_by(stretch)
        if len(self.apparatus.strings) == 1 and own and len(set(pulled)) == len(pulled):
            return self.subscript(own)
        return str(self.stretches.index(stretch) + 1)

    def _pulled_by(self, stretch: Stretch) -> str:
        """A mover that the stretch meets, a body before a pulley; "" where there is none."""
        ends = [name for name in stretch.objects if name in self.bodies]
        ends += [name for name in stretch.objects if name in self.lifts]
        return ends[0] if ends else ""

    # ---- directions and accelerations

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

    def goes_along(self, name: str) -> bool:
        """Whether a mover has the path and the speed of the reference mover."""
        return name == self.reference or (self.tied and name in self.alike)

    def acceleration_of(self, name: str) -> Symbol:
        """The acceleration of one mover in the lesson's sense of motion; in free fall with the
        digits of g.
        """
        value, g = self._acceleration(name), self.gravity
        found = self.symbol("own-acceleration", name, value, sense=self.sense(name))
        if found.value is None or not math.isclose(abs(found.value), self.apparatus.gravity):
            return found
        return replace(found, written=g.written if found.value > 0 else f"-{g.written}")

    @cached_property
    def acceleration(self) -> Symbol:
        """The acceleration that the strings make common to all movers."""
        value = self._acceleration(self.reference)
        return self.symbol("acceleration", "", value, all=self.all_of(self.alike))

    def _acceleration(self, name: str) -> float | None:
        value = self.phase.accelerations.get(name)
        return None if value is None else self.senses[name] * value + 0.0

    def angular_acceleration(self, pulley: str) -> Symbol:
        """The angular acceleration of a pulley; positive in the sense in which it turns."""
        value = self._turn(pulley, self.phase.angular_accelerations.get(pulley))
        return self.symbol("angular-acceleration", pulley, value)

    def _turn(self, pulley: str, value: float | None) -> float | None:
        return None if value is None else self.spins[pulley] * value + 0.0

    def spin(self, pulley: str) -> Symbol:
        """The angular velocity of a pulley at the end of the phase."""
        value = self._turn(pulley, self.phase.end_angular_velocities.get(pulley))
        return self.symbol("spin", pulley, value)

    def start_spin(self, pulley: str) -> Symbol:
        """How fast a pulley turns at the start of the phase."""
        value = abs(self.phase.start_angular_velocities.get(pulley, 0.0))
        return self.symbol("start-spin", pulley, value)

    def angle(self, pulley: str) -> Symbol:
        """The angle by which a pulley turns in the phase."""
        gain, time = self.phase.angular_accelerations.get(pulley), self.phase.duration
        value = None
        if gain is not None and time is not None:
            first = self.phase.start_angular_velocities.get(pulley, 0.0)
            value = self._turn(pulley, first * time + gain * time**2 / 2)
        return self.symbol("angle", pulley, value)

    # ---- paths, times and speeds

    @cached_property
    def distance(self) -> Symbol:
        """How far the reference mover goes in this phase."""
        if self.distance_is_given:
            return self.run_distance
        kind = "distance-of-all"
        if self.turns:  # where the motion of the phase comes to a stop, for a list of symbols
            kind = "distance-to-rest" if self.rests_at_end else "distance-to-turn"
        mover = self.the(self.reference)
        return self.symbol(kind, "", self.path(self.reference), mover=mover)

    def distance_of(self, name: str) -> Symbol:
        """How far a mover goes in this phase."""
        if self.goes_along(name):
            return self.distance
        if name == self.scenario.run.object and self.ends_by_distance and not self.index:
            return self.run_distance
        return self.symbol("distance", name, self.path(name))

    @cached_property
    def time(self) -> Symbol:
        """How long the phase takes."""
        if self.ending is Ending.TIME and self.index == 0:
            return self.time_limit
        beginning = "the moment the hand lets go" if self.starts_moving else "the release"
        words = {
            "beginning": "the turning point" if self.index else beginning,
            "end": self.end or "any later moment",
        }
        return self.symbol("time", "", self.phase.duration, **words)

    @cached_property
    def speed(self) -> Symbol:
        """The final speed of the reference mover."""
        return self._final(self.reference, "", self.all_of(self.alike))

    def speed_of(self, name: str) -> Symbol:
        """The final speed of a mover."""
        return self.speed if self.goes_along(name) else self._final(name, name, self.the(name))

    def _final(self, name: str, own: str, whose: str) -> Symbol:
        value = self.end_speed(name)
        kind = "velocity" if (value or 0.0) < 0 else "speed"
        return self.symbol(kind, own, value, all=whose, sense=self.sense(name))

    @cached_property
    def start_speed(self) -> Symbol:
        """The speed of the reference mover at the start of the phase."""
        return self.start_speed_of(self.reference)

    def start_speed_of(self, name: str) -> Symbol:
        """The speed of a mover at the start of the phase."""
        given = self.scenario.run.speed is not None and self.index == 0
        if given and name in self._with_run_object:
            return self.given_start_speed
        along = self.goes_along(name)
        whose = self.all_of(self.alike) if along else self.the(name)
        own = "" if along else name
        return self.symbol("start-speed", own, self.first_speed(name), all=whose)

    @cached_property
    def coasting_acceleration(self) -> Symbol:
        """The acceleration of the first slider after its string has gone slack."""
        slider = self.sliders[0]
        value = -self._deceleration(slider)
        return self.symbol("coasting-acceleration", "", value, slider=self.the(slider))

    @cached_property
    def coasting_distance(self) -> Symbol:
        """How far the first slider would coast to rest on a track without end."""
        slider, last = self.sliders[0], self.at(self.driven[-1])
        value = (last.end_speed(slider) or 0.0) ** 2 / (2 * self._deceleration(slider))
        return self.symbol("coasting-distance", "", value, slider=self.the(slider))

    def _deceleration(self, name: str) -> float:
        body, slope = self.apparatus.bodies[name], self.slope_rad(name)
        climb = math.sin(slope) * self.senses[name]
        share = climb + float(body.friction) * math.cos(slope)
        return share * float(self.apparatus.gravity)

    # ---- what shortens formulas, and limiting cases

    def driving_force(self, value: float | None) -> Symbol:
        """What drives and brakes along the strings, added up."""
        kind = "driving-force"
        if len(self.movers) == 1 and not self.rotors:
            kind = "driving-force-on-path"
        elif any(self.ratio(name) != 1 for name in self.movers):
            kind = "driving-force-in-all"
        elif len(self.apparatus.strings) > 1:
            kind = "driving-force-along-strings"
        return self.symbol(kind, "", value, mover=self.the(self.reference))

    def moving_mass(self, value: float | None) -> Symbol:
        """What the common acceleration has to move."""
        return self.symbol("moving-mass", "", value)

    def denominator(self, unit: str, value: float | None) -> Symbol:
        """The denominator that the tensions of several free motions share."""
        return replace(self.symbol("denominator", "", value), unit=unit)

    def limiting(self, symbol: Symbol, mark: str, value: float | None) -> Symbol:
        """What a quantity tends to in a limiting case, marked by a word."""
        return Symbol(
            id=f"{symbol.id}.{mark}",
            letter=symbol.letter,
            subscript=",".join(filter(None, (symbol.subscript, mark))),
            meaning=self.meaning("limiting", symbol, mark=mark),
            unit=symbol.unit,
            value=value if self.numbers else None,
            aside=True,
        )

    def pair_mass(self, names: Sequence[str], value: float | None) -> Symbol:
        """The one mass in whose place two weights on a hung pulley pull the string."""
        first, second = map(self.the, names)
        return self.symbol("pair-mass", "", value, first=first, second=second)

    def limiting_mass(self, mark: str, value: float | None) -> Symbol:
        """The mass of a weight at a limit of what static friction can hold, or ``free`` of it."""
        return self.symbol(f"{mark}-mass", "", value)
