"""The symbols of one lesson: a letter, a meaning and, where the lesson has numbers, a value.

Takes a setting; gives the same symbol for the same quantity wherever a step asks for it.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from functools import cached_property

from fallwork.lesson.expression import Symbol
from fallwork.lesson.setting import Setting
from fallwork.lesson.tensions import Stretch, stretches
from fallwork.lesson.words import listing, noun, the
from fallwork.mechanics.solution import Force, Interaction
from fallwork.scenario.model import Pulley, Quantity, Slider
from fallwork.scenario.quantity import in_si

WORK_LETTERS: Mapping[Interaction, str] = {
    Interaction.TENSION: "T",
    Interaction.FRICTION: "f",
    Interaction.GRAVITY: "g",
    Interaction.NORMAL: "N",
    Interaction.CONTACT: "P",
    Interaction.AXLE: "S",
    Interaction.ROLLING: "R",
    Interaction.LANDING: "l",
    Interaction.BEARING_TORQUE: "b",
}


class Names:
    """Every symbol that the steps of one setting use."""

    def __init__(self, setting: Setting) -> None:
        self.setting = setting

    # The set-up as given.

    def mass(self, name: str) -> Symbol:
        """The mass of a mover."""
        thing = self.setting.scenario.objects[name]
        written = getattr(thing, "mass", None)
        meaning = f"mass of {the(name)}"
        if isinstance(thing, Slider):
            meaning += ", with everything that rides on it"
        return self._given(f"mass.{name}", "m", meaning, written, subscript=self.subscript(name))

    def wheel_mass(self, name: str) -> Symbol:
        """The mass of one wheel."""
        thing = self.setting.scenario.objects[name]
        assert isinstance(thing, Slider)
        assert thing.wheels is not None
        return self._given(
            f"wheel-mass.{name}",
            "m",
            f"mass of one wheel of {the(name)}",
            thing.wheels.mass,
            subscript=self._where_several(name, self.setting.sliders, "wheel"),
        )

    def wheel_count(self, name: str) -> int:
        """How many wheels an object has."""
        thing = self.setting.scenario.objects[name]
        assert isinstance(thing, Slider)
        return thing.wheels.count if thing.wheels is not None else 0

    @cached_property
    def gravity(self) -> Symbol:
        """The local free-fall acceleration."""
        value = self.setting.apparatus.gravity
        return Symbol(
            id="gravity",
            letter="g",
            meaning="free-fall acceleration at the place of the lab",
            unit="m/s²",
            value=float(value) if self.setting.numbers else None,
            written=f"{value:.6g}" if self.setting.numbers else "",
            given=True,
        )

    def coefficient(self, name: str) -> Symbol:
        """The coefficient of kinetic friction of an object on its surface."""
        body = self.slider(name)
        written = body.friction or self.setting.scenario.surfaces[body.runs_on].friction
        kind = "effective coefficient" if body.kind == "cart" else "coefficient"
        return self._given(
            f"friction.{name}",
            "mu",
            f"{kind} of kinetic friction of {the(name)} on {the(body.runs_on)}",
            written,
            subscript=self._where_several(name, self.setting.sliders),
        )

    def static_coefficient(self, name: str) -> Symbol:
        """The coefficient of static friction; the kinetic one where no other is given."""
        body = self.slider(name)
        surface = self.setting.scenario.surfaces[body.runs_on]
        written = body.static_friction or surface.static_friction
        if self.setting.bodies[name].static_friction is None or written is None:
            return self.coefficient(name)
        return self._given(
            f"static-friction.{name}",
            "mu",
            f"coefficient of static friction of {the(name)} on {the(body.runs_on)}",
            written,
            subscript=self._where_several(name, self.setting.sliders, "s"),
        )

    def slope(self, surface: str) -> Symbol:
        """The slope of a surface, as a size; which end is higher is said in words."""
        written = self.setting.scenario.surfaces[surface].slope
        symbol = self._given(
            f"slope.{surface}",
            "theta",
            f"angle between {the(surface)} and the level",
            written,
            subscript=self._where_several(surface, self._sloping),
        )
        return _positive(symbol)

    def inertia(self, pulley: str) -> Symbol:
        """The rotational inertia of a pulley."""
        thing = self.setting.scenario.objects[pulley]
        assert isinstance(thing, Pulley)
        meaning = f"rotational inertia of {the(pulley)}"
        subscript = self._where_several(pulley, self.setting.rotors)
        if thing.inertia is not None:
            return self._given(f"inertia.{pulley}", "I", meaning, thing.inertia, subscript)
        return self._computed(
            f"inertia.{pulley}",
            "I",
            meaning,
            "kg·m²",
            lambda: float(self.setting.pulleys[pulley].inertia),
            subscript,
        )

    def pulley_mass(self, pulley: str) -> Symbol:
        """The mass of a pulley that is a uniform disc."""
        thing = self.setting.scenario.objects[pulley]
        assert isinstance(thing, Pulley)
        return self._given(
            f"mass.{pulley}",
            "m",
            f"mass of {the(pulley)}, a uniform disc",
            thing.mass,
            self.subscript(pulley),
        )

    def radius(self, pulley: str) -> Symbol:
        """The radius at which the string runs on a pulley."""
        thing = self.setting.scenario.objects[pulley]
        assert isinstance(thing, Pulley)
        return self._given(
            f"radius.{pulley}",
            "r",
            f"radius at which the string runs on {the(pulley)}",
            thing.radius,
            self._where_several(pulley, self.setting.rotors),
        )

    def bearing_torque(self, pulley: str) -> Symbol:
        """The friction torque in a pulley's bearing."""
        thing = self.setting.scenario.objects[pulley]
        assert isinstance(thing, Pulley)
        return self._given(
            f"bearing-torque.{pulley}",
            "tau",
            f"friction torque in the bearing of {the(pulley)}",
            thing.bearing_torque,
            self._where_several(pulley, self.setting.rotors),
        )

    # What the model gives: forces.

    def normal(self, name: str) -> Symbol:
        """The normal force of the surface on an object."""
        surface = the(self.surface(name))
        return self._force(Interaction.NORMAL, name, "N", f"normal force of {surface} on")

    def friction(self, name: str) -> Symbol:
        """The friction force on an object, as a magnitude."""
        surface = the(self.surface(name))
        return self._force(Interaction.FRICTION, name, "f", f"friction force of {surface} on")

    def friction_limit(self, name: str) -> Symbol:
        """The most that static friction can reach."""
        body = self.setting.bodies[name]
        coefficient = body.friction if body.static_friction is None else body.static_friction
        normal = self.setting.force(Interaction.NORMAL, name)
        several = self._where_several(name, self.setting.sliders)
        return self._computed(
            f"friction-limit.{name}",
            "f",
            f"largest static friction force of {the(self.surface(name))} on {the(name)}",
            "N",
            lambda: float(coefficient) * (0.0 if normal is None else normal.size or 0.0),
            subscript=f"max,{several}" if several else "max",
        )

    def rolling(self, name: str) -> Symbol:
        """The force of the surface on the rims of the wheels that makes them turn, as a size."""
        surface = the(self.surface(name))
        return self._force(
            Interaction.ROLLING, name, "R", f"force of {surface} on the rims of the wheels of"
        )

    def support(self, name: str) -> Symbol:
        """The pull of a moving pulley on what hangs rigidly from it."""
        pulley = self.setting.carried[name]
        force = self.setting.force(Interaction.AXLE, name)
        return self._computed(
            f"support.{name}",
            "S",
            f"pull between {the(pulley)} and {the(name)}",
            "N",
            lambda: 0.0 if force is None else force.size or 0.0,
            self._where_several(name, tuple(self.setting.carried)),
        )

    @cached_property
    def stretches(self) -> tuple[Stretch, ...]:
        """The stretches of string that have one tension each."""
        return stretches(self.setting)

    def tension(self, string: str, name: str, *, after: bool = False) -> Symbol:
        """The tension of a string where it meets an object; ``after`` it, for a pulley."""
        stretch = self.stretch(string, name, after=after)
        return self._computed(
            stretch.key,
            "T",
            self._stretch_meaning(stretch),
            "N",
            lambda: stretch.tension,
            self._stretch_subscript(stretch),
        )

    def one_tension(self, string: str) -> bool:
        """Whether the string pulls equally along its whole length."""
        return sum(stretch.string == string for stretch in self.stretches) == 1

    def stretch(self, string: str, name: str, *, after: bool = False) -> Stretch:
        """The stretch of a string that meets an object."""
        found = [s for s in self.stretches if s.string == string and name in s.objects]
        return found[-1] if after else found[0]

    def _stretch_meaning(self, stretch: Stretch) -> str:
        meaning = f"tension of {the(stretch.string)}"
        if sum(other.string == stretch.string for other in self.stretches) == 1:
            return meaning
        return f"{meaning} between {the(stretch.objects[0])} and {the(stretch.objects[-1])}"

    def _stretch_subscript(self, stretch: Stretch) -> str:
        if len(self.stretches) == 1:
            return ""
        ends = [name for name in stretch.objects if name in self.setting.movers]
        if len(self.setting.apparatus.strings) == 1 and ends:
            return self.subscript(ends[0])
        return str(self.stretches.index(stretch) + 1)

    # What the model gives: motion.

    def acceleration_of(self, name: str) -> Symbol:
        """The acceleration of one mover in the lesson's sense of motion."""
        return self._computed(
            f"acceleration.{name}",
            "a",
            f"acceleration of {the(name)}, {self.sense(name)} counted positive",
            "m/s²",
            lambda: self.setting.senses[name] * self.setting.phase.accelerations[name],
            subscript=self.subscript(name),
        )

    @cached_property
    def acceleration(self) -> Symbol:
        """The acceleration that the strings make common to all movers."""
        reference = self.setting.reference
        return self._computed(
            "acceleration",
            "a",
            "acceleration of " + " and of ".join(the(name) for name in self.alike),
            "m/s²",
            lambda: self.setting.senses[reference] * self.setting.phase.accelerations[reference],
        )

    def angular_acceleration(self, pulley: str) -> Symbol:
        """The angular acceleration of a pulley, as it turns in this phase."""
        return self._computed(
            f"angular-acceleration.{pulley}",
            "alpha",
            f"angular acceleration of {the(pulley)}",
            "rad/s²",
            lambda: abs(self.setting.phase.angular_accelerations[pulley]),
            self._where_several(pulley, self.setting.rotors),
        )

    @cached_property
    def alike(self) -> tuple[str, ...]:
        """The movers that move as far as the reference mover."""
        if not self.setting.tied:
            return (self.setting.reference,)
        return tuple(name for name in self.setting.movers if self.setting.ratio(name) == 1)

    @cached_property
    def distance(self) -> Symbol:
        """How far the reference mover goes in this phase."""
        reference = self.setting.reference
        run = self.setting.scenario.run
        meaning = f"distance that {the(reference)} moves"
        whole = self.setting.index == 0 and len(self._driven) == 1
        if run.distance is not None and run.object == reference and whole:
            return self._given("distance", "d", meaning, run.distance)
        return self._computed(
            "distance", "d", meaning, "m", lambda: abs(self._displacement(reference))
        )

    def distance_of(self, name: str) -> Symbol:
        """How far a mover goes in this phase, where the strings don't tie it to the reference."""
        if name == self.setting.reference:
            return self.distance
        return self._computed(
            f"distance.{name}",
            "d",
            f"distance that {the(name)} moves",
            "m",
            lambda: abs(self._displacement(name)),
            subscript=self.subscript(name),
        )

    @cached_property
    def time(self) -> Symbol:
        """How long the phase takes."""
        return self._computed(
            "time",
            "t",
            f"time in which {the(self.setting.reference)} moves the distance",
            "s",
            lambda: self.setting.phase.duration or 0.0,
        )

    @cached_property
    def speed(self) -> Symbol:
        """The final speed of the reference mover."""
        return self._computed(
            "speed",
            "v",
            "final speed of " + " and of ".join(the(name) for name in self.alike),
            "m/s",
            lambda: self.end_speed(self.setting.reference),
        )

    def speed_of(self, name: str) -> Symbol:
        """The final speed of a mover that the strings don't tie to the reference."""
        if name == self.setting.reference:
            return self.speed
        return self._computed(
            f"speed.{name}",
            "v",
            f"final speed of {the(name)}",
            "m/s",
            lambda: self.end_speed(name),
            subscript=self.subscript(name),
        )

    @cached_property
    def start_speed(self) -> Symbol:
        """The speed of the reference mover at the start of the phase."""
        run = self.setting.scenario.run
        reference = self.setting.reference
        meaning = "speed at the start of " + " and of ".join(the(name) for name in self.alike)
        if run.speed is not None and run.object == reference and self.setting.index == 0:
            given = self._given("start-speed", "v", meaning, run.speed, subscript="0")
            return _positive(given)
        return self._computed(
            "start-speed", "v", meaning, "m/s", lambda: self.first_speed(reference), "0"
        )

    @cached_property
    def coasting_acceleration(self) -> Symbol:
        """The acceleration of the first slider when only friction acts along its path."""
        slider = self.setting.sliders[0]
        return self._computed(
            "acceleration.coasting",
            "a",
            f"acceleration of {the(slider)} after the string has gone slack",
            "m/s²",
            lambda: -self._deceleration(slider),
            subscript="coast",
        )

    @cached_property
    def coasting_distance(self) -> Symbol:
        """How far the first slider would coast to rest on a track without end."""
        slider = self.setting.sliders[0]
        return self._computed(
            "distance.coasting",
            "s",
            f"distance in which {the(slider)} would come to rest on a long enough track",
            "m",
            lambda: self.end_speed(slider) ** 2 / (2 * self._deceleration(slider)),
        )

    def driving_force(self, value: float) -> Symbol:
        """What drives and brakes along the strings, added up."""
        meaning = "sum of the forces along the strings, tensions gone"
        if len(self.setting.movers) == 1 and not self.setting.rotors:
            meaning = "sum of the forces along the path"
        elif len(self.setting.apparatus.strings) == 1:
            meaning = "sum of the forces along the string, tensions gone"
        return self._computed("driving-force", "F", meaning, "N", lambda: value)

    def moving_mass(self, value: float) -> Symbol:
        """What the common acceleration has to move."""
        return self._computed(
            "moving-mass",
            "M",
            "mass that is set in motion, as it enters the sum",
            "kg",
            lambda: value,
        )

    # Work and energy.

    def work(self, force: Force) -> Symbol:
        """The work of a force over the phase."""
        subscript = WORK_LETTERS[force.interaction]
        owners = {
            self._work_owner(other)
            for other in self.setting.phase.forces
            if other.interaction is force.interaction and other.work
        }
        own = self._work_owner(force)
        if len(owners - {None}) > 1:
            subscript += f",{own or self._mark(force.on)}"
        return self._computed(
            f"work.{force.name}",
            "W",
            f"work of {force_phrase(force)}",
            "J",
            lambda: force.work or 0.0,
            subscript=subscript,
        )

    def _work_owner(self, force: Force) -> str | None:
        """What tells the works of one kind of force apart: the mover on which it acts."""
        if force.on in self.setting.movers or force.on in self.setting.pulleys:
            strings = self.setting.strings_at(force.on)
            mark = self._mark(force.on)
            if force.interaction is Interaction.TENSION and len(strings) > 1:
                return f"{mark}{strings.index(force.partner) + 1}"
            return mark
        return None

    def _mark(self, name: str) -> str:
        return self.subscript(name) if name in self.setting.scenario.objects else noun(name)

    def kinetic(self, name: str) -> Symbol:
        """The kinetic energy of a mover at the end, or its change where it moves at the start."""
        return self._energy("kinetic", "K", "kinetic energy", (name,), self.kinetic_gain(name))

    def rotational(self, name: str) -> Symbol:
        """The rotational energy of a pulley or of a cart's wheels, likewise."""
        whose = "rotational energy" if name in self.setting.pulleys else "rotational energy of the"
        words = whose if name in self.setting.pulleys else "rotational energy of the wheels"
        symbol = self._energy("rotational", "K", words, (name,), self.rotational_gain(name))
        return _renamed(symbol, f"rot,{self.subscript(name)}")

    def kinetic_of_all(self, members: Sequence[str]) -> Symbol:
        """The kinetic energy of several objects together, rotation included, likewise."""
        gain = sum(self.kinetic_gain(n) + self.rotational_gain(n) for n in members)
        symbol = self._energy("kinetic", "K", "kinetic energy", members, gain)
        return _renamed(symbol, "")

    def _energy(
        self, key: str, letter: str, words: str, members: Sequence[str], gain: float
    ) -> Symbol:
        whose = f"{words} of {listing([the(name) for name in members])}"
        whose += " together" if len(members) > 1 else ""
        return self._computed(
            f"{key}.{'+'.join(members)}",
            f"Delta {letter}" if self.starts_moving else letter,
            f"change of the {whose}" if self.starts_moving else f"{whose} at the end",
            "J",
            lambda: gain,
            subscript=self.subscript(members[0]),
        )

    def potential_change(self, name: str) -> Symbol:
        """The change of the potential energy of a mover and Earth."""
        return self._computed(
            f"potential.{name}",
            "Delta U",
            f"change of the potential energy of {the(name)} and Earth",
            "J",
            lambda: -self._gravity_work(name),
            subscript=self.subscript(name),
        )

    # Facts that several symbols share.

    @cached_property
    def starts_moving(self) -> bool:
        """Whether the phase starts with a speed other than zero."""
        return any(speed for speed in self.setting.phase.start_velocities.values())

    def end_speed(self, name: str) -> float:
        """The speed of a mover at the end of the phase, m/s."""
        return abs(self.setting.phase.end_velocities[name] or 0.0)

    def first_speed(self, name: str) -> float:
        """The speed of a mover at the start of the phase, m/s."""
        return abs(self.setting.phase.start_velocities[name])

    def kinetic_gain(self, name: str) -> float:
        """How much kinetic energy of translation an object gains in the phase, J."""
        if name not in self.setting.movers:
            return 0.0
        squares = self.end_speed(name) ** 2 - self.first_speed(name) ** 2
        return self.setting.mass(name) * squares / 2

    def rotational_gain(self, name: str) -> float:
        """How much rotational energy an object gains in the phase, J."""
        if name in self.setting.movers and name not in self.setting.pulleys:
            squares = self.end_speed(name) ** 2 - self.first_speed(name) ** 2
            return self.setting.wheel_mass(name) * squares / 4
        if name not in self.setting.rotors or not self.setting.tied:
            return 0.0
        pulley = self.setting.pulleys[name]
        reference = self.setting.reference
        squares = self.end_speed(reference) ** 2 - self.first_speed(reference) ** 2
        rim = float(self.setting.rim(name)) ** 2 * squares
        return float(pulley.inertia) / float(pulley.radius or 1.0) ** 2 * rim / 2

    def slider(self, name: str) -> Slider:
        """A slider as the scenario has it."""
        thing = self.setting.scenario.objects[name]
        assert isinstance(thing, Slider)
        return thing

    def surface(self, name: str) -> str:
        """The surface on which an object runs."""
        return self.slider(name).runs_on

    def sense(self, name: str) -> str:
        """The lesson's positive sense of a mover in a word."""
        positive = self.setting.senses[name] > 0
        if name not in self.setting.sliders:
            return "downward" if positive else "upward"
        slope = self.setting.slope(name)
        if slope:
            return "up the slope" if (slope > 0) == positive else "down the slope"
        return "forward" if positive else "back"

    def subscript(self, name: str) -> str:
        """The first letter of a name where that tells the objects apart, else the whole name."""
        owners = [*self.setting.movers, *self.setting.rotors]
        initials = [other[0] for other in dict.fromkeys(owners)]
        return name[0] if initials.count(name[0]) <= 1 else noun(name)

    @cached_property
    def _driven(self) -> tuple[int, ...]:
        phases = self.setting.solution.phases
        return tuple(i for i, phase in enumerate(phases) if phase.name.startswith("driven"))

    @cached_property
    def _sloping(self) -> tuple[str, ...]:
        surfaces = self.setting.apparatus.surfaces
        return tuple(name for name, surface in surfaces.items() if bool(surface.slope))

    def _displacement(self, name: str) -> float:
        return self.setting.phase.displacements[name] or 0.0

    def _deceleration(self, name: str) -> float:
        body = self.setting.apparatus.bodies[name]
        return float(body.friction) * float(self.setting.apparatus.gravity)

    def _gravity_work(self, name: str) -> float:
        force = self.setting.force(Interaction.GRAVITY, name)
        return 0.0 if force is None or force.work is None else force.work

    def _where_several(self, name: str, peers: tuple[str, ...], mark: str = "") -> str:
        own = self.subscript(name) if len(peers) > 1 else ""
        return ",".join(part for part in (mark, own) if part)

    def _force(self, interaction: Interaction, name: str, letter: str, meaning: str) -> Symbol:
        force = self.setting.force(interaction, name)
        return self._computed(
            f"{interaction.value}.{name}",
            letter,
            f"{meaning} {the(name)}",
            "N",
            lambda: 0.0 if force is None else force.size or 0.0,
            subscript=self._where_several(name, self.setting.sliders),
        )

    def _given(
        self, key: str, letter: str, meaning: str, quantity: Quantity | None, subscript: str = ""
    ) -> Symbol:
        if quantity is None:
            raise LookupError(key)
        digits, unit = in_si(quantity)
        unit = {"deg": "°"}.get(unit, unit)
        numbers = self.setting.numbers
        value = float(digits) if unit == "°" else quantity.value
        return Symbol(
            id=key,
            letter=letter,
            subscript=subscript,
            meaning=meaning,
            unit=unit,
            value=value if numbers else None,
            written=digits if numbers else "",
            given=True,
        )

    def _computed(
        self,
        key: str,
        letter: str,
        meaning: str,
        unit: str,
        value: Callable[[], float],
        subscript: str = "",
    ) -> Symbol:
        part = "" if self.setting.index == 0 else str(self.setting.index + 1)
        return Symbol(
            id=f"{key}@{part}" if part else key,
            letter=letter,
            subscript=",".join(each for each in (subscript, part) if each),
            meaning=f"{meaning}, in part {part} of the run" if part else meaning,
            unit=unit,
            value=value() if self.setting.numbers else None,
        )


def force_phrase(force: Force) -> str:
    """A force in words with both its partners, e.g. the pull of the string on the cart."""
    words = PHRASES.get(force.interaction, f"the {force.interaction.value}")
    if force.interaction is Interaction.GRAVITY:
        return f"gravity on {the(force.on)}"
    return f"{words} of {the(force.partner)} on {the(force.on)}"


PHRASES: Mapping[Interaction, str] = {
    Interaction.NORMAL: "the normal force",
    Interaction.TENSION: "the pull",
    Interaction.CONTACT: "the push",
    Interaction.AXLE: "the force",
    Interaction.ROLLING: "the force at the rims",
}


def _positive(symbol: Symbol) -> Symbol:
    """The same symbol with the size of its value: its direction is said in words."""
    value = None if symbol.value is None else abs(symbol.value)
    return replace(symbol, value=value, written=symbol.written.lstrip("-"))


def _renamed(symbol: Symbol, subscript: str) -> Symbol:
    return replace(symbol, subscript=subscript)
