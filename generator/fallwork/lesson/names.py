"""The symbols of one lesson: a letter, a meaning and, where the lesson has numbers, a value.

Takes a setting; gives the same symbol for the same quantity wherever a step asks for it.
"""

from collections.abc import Callable, Mapping, Sequence
from functools import cached_property

from fallwork.lesson.expression import Symbol
from fallwork.lesson.setting import Setting
from fallwork.lesson.words import listing, noun, the
from fallwork.mechanics.solution import Force, Interaction
from fallwork.scenario.model import Quantity, Slider
from fallwork.scenario.quantity import in_si

WORK_LETTERS: Mapping[Interaction, str] = {
    Interaction.TENSION: "T",
    Interaction.FRICTION: "f",
    Interaction.GRAVITY: "g",
    Interaction.NORMAL: "N",
    Interaction.CONTACT: "p",
    Interaction.ROLLING: "r",
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
        written = self.setting.scenario.objects[name].mass  # type: ignore[union-attr]
        meaning = f"mass of {the(name)}"
        if isinstance(self.setting.scenario.objects[name], Slider):
            meaning += ", with everything that rides on it"
        return self._given(f"mass.{name}", "m", meaning, written, subscript=self.subscript(name))

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
        body = self.setting.scenario.objects[name]
        assert isinstance(body, Slider)
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
        """The coefficient of static friction of an object on its surface."""
        body = self.setting.scenario.objects[name]
        assert isinstance(body, Slider)
        written = (
            body.static_friction or self.setting.scenario.surfaces[body.runs_on].static_friction
        )
        assert written is not None
        several = self._where_several(name, self.setting.sliders)
        return self._given(
            f"static-friction.{name}",
            "mu",
            f"coefficient of static friction of {the(name)} on {the(body.runs_on)}",
            written,
            subscript=f"s,{several}" if several else "s",
        )

    @cached_property
    def distance(self) -> Symbol:
        """How far the reference mover goes in the driven part of the run."""
        reference = self.setting.reference
        meaning = f"distance that {the(reference)} moves"
        run = self.setting.scenario.run
        if run.distance is not None and run.object == reference:
            return self._given("distance", "d", meaning, run.distance)
        return self._computed(
            "distance", "d", meaning, "m", lambda: abs(self._displacement(reference))
        )

    # What the model gives.

    def normal(self, name: str) -> Symbol:
        """The normal force of the surface on an object."""
        return self._force(
            Interaction.NORMAL, name, "N", f"normal force of {the(self.surface(name))} on"
        )

    def friction(self, name: str) -> Symbol:
        """The friction force on an object, as a magnitude."""
        return self._force(
            Interaction.FRICTION, name, "f", f"friction force of {the(self.surface(name))} on"
        )

    def tension(self, string: str, name: str) -> Symbol:
        """The pull of a string on the object at one of its ends."""
        strings = list(self.setting.apparatus.strings)
        meaning = f"tension of {the(string)}"
        if self.one_tension(string):
            subscript = "" if len(strings) == 1 else str(strings.index(string) + 1)
            key = f"tension.{string}"
        else:
            subscript, key = self.subscript(name), f"tension.{string}.{name}"
            meaning += f" at {the(name)}"
        return self._computed(
            key,
            "T",
            meaning,
            "N",
            lambda: self.setting.phase.tensions[string][name] or 0.0,
            subscript=subscript,
        )

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
        movers = [
            name for name, ratio in self.setting.ratios.items() if abs(ratio) == self._unit_ratio
        ]
        meaning = "acceleration of " + " and of ".join(the(name) for name in movers)
        reference = self.setting.reference
        return self._computed(
            "acceleration",
            "a",
            meaning,
            "m/s²",
            lambda: self.setting.senses[reference] * self.setting.phase.accelerations[reference],
        )

    @cached_property
    def time(self) -> Symbol:
        """How long the driven part takes."""
        return self._computed(
            "time",
            "t",
            f"time from the release until {the(self.setting.reference)} has moved the distance",
            "s",
            lambda: self.setting.phase.duration or 0.0,
        )

    @cached_property
    def speed(self) -> Symbol:
        """The final speed of the reference mover."""
        reference = self.setting.reference
        movers = [
            name for name, ratio in self.setting.ratios.items() if abs(ratio) == self._unit_ratio
        ]
        return self._computed(
            "speed",
            "v",
            "final speed of " + " and of ".join(the(name) for name in movers),
            "m/s",
            lambda: self._end_speed(reference),
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
            lambda: self._end_speed(slider) ** 2 / (2 * self._deceleration(slider)),
        )

    # Work and energy.

    def work(self, force: Force) -> Symbol:
        """The work of a force over the driven part."""
        subscript = WORK_LETTERS[force.interaction]
        rivals = [
            other
            for other in self.setting.phase.forces
            if other.interaction is force.interaction and other.work and other.on in self._owners
        ]
        if len(rivals) > 1:
            subscript += f",{self.subscript(force.on)}"
        words = {"tension": "tension", "friction": "friction", "gravity": "gravity"}
        what = words.get(force.interaction.value, force.interaction.value)
        return self._computed(
            f"work.{force.name}",
            "W",
            f"work of the {what} of {the(force.partner)} on {the(force.on)}"
            if force.interaction is not Interaction.GRAVITY
            else f"work of gravity on {the(force.on)}",
            "J",
            lambda: force.work or 0.0,
            subscript=subscript,
        )

    def kinetic(self, name: str) -> Symbol:
        """The kinetic energy of a mover at the end of the driven part."""
        return self._computed(
            f"kinetic.{name}",
            "K",
            f"kinetic energy of {the(name)} at the end",
            "J",
            lambda: self._kinetic(name),
            subscript=self.subscript(name),
        )

    def kinetic_of_all(self, members: Sequence[str]) -> Symbol:
        """The kinetic energy of several movers together at the end of the driven part."""
        return self._computed(
            f"kinetic.{'+'.join(members)}",
            "K",
            f"kinetic energy of {listing([the(name) for name in members])} together at the end",
            "J",
            lambda: sum(self._kinetic(name) for name in members),
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

    # How symbols are made.

    def surface(self, name: str) -> str:
        """The surface on which an object runs."""
        surface = self.setting.apparatus.bodies[name].surface
        assert surface is not None
        return surface

    def sense(self, name: str) -> str:
        """The lesson's positive sense of a mover in a word."""
        forward = self.setting.senses[name] > 0
        if name in self.setting.sliders:
            return "forward" if forward else "back"
        return "downward" if forward else "upward"

    def subscript(self, name: str) -> str:
        """The first letter of a name where that tells the movers apart, else the whole name."""
        initials = [other[0] for other in self._owners]
        return name[0] if initials.count(name[0]) == 1 else noun(name)

    def one_tension(self, string: str) -> bool:
        """Whether the string pulls equally along its whole length."""
        pulleys = self.setting.apparatus.pulleys
        path = self.setting.apparatus.strings[string].path
        return not any(
            bool(pulleys[name].inertia) or bool(pulleys[name].bearing_torque)
            for name in path
            if name in pulleys
        )

    @cached_property
    def _owners(self) -> tuple[str, ...]:
        return self.setting.movers

    @cached_property
    def _unit_ratio(self) -> int:
        return abs(self.setting.ratios[self.setting.reference])

    def _displacement(self, name: str) -> float:
        return self.setting.phase.displacements[name] or 0.0

    def _kinetic(self, name: str) -> float:
        return float(self.setting.apparatus.bodies[name].mass) * self._end_speed(name) ** 2 / 2

    def _end_speed(self, name: str) -> float:
        return abs(self.setting.phase.end_velocities[name] or 0.0)

    def _deceleration(self, name: str) -> float:
        body = self.setting.apparatus.bodies[name]
        return float(body.friction) * float(self.setting.apparatus.gravity)

    def _gravity_work(self, name: str) -> float:
        force = self.setting.force(Interaction.GRAVITY, name)
        return 0.0 if force is None or force.work is None else force.work

    def _where_several(self, name: str, peers: tuple[str, ...]) -> str:
        return self.subscript(name) if len(peers) > 1 else ""

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
        self, key: str, letter: str, meaning: str, quantity: Quantity, subscript: str = ""
    ) -> Symbol:
        digits, unit = in_si(quantity)
        return Symbol(
            id=key,
            letter=letter,
            subscript=subscript,
            meaning=meaning,
            unit=unit,
            value=quantity.value if self.setting.numbers else None,
            written=digits if self.setting.numbers else "",
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
        return Symbol(
            id=key,
            letter=letter,
            subscript=subscript,
            meaning=meaning,
            unit=unit,
            value=value() if self.setting.numbers else None,
        )
