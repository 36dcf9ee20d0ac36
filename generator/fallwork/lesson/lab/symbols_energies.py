"""Symbols of works and of energies: at the end of a phase, or their changes."""

from collections.abc import Mapping, Sequence

from fallwork.lesson.expression import Symbol
from fallwork.lesson.lab.symbols_base import renamed
from fallwork.lesson.lab.symbols_motion import MotionSymbols
from fallwork.lesson.words import listing
from fallwork.mechanics.solution import Force, Interaction

WORK_LETTERS: Mapping[Interaction, str] = {
    Interaction.TENSION: "T",
    Interaction.FRICTION: "f",
    Interaction.GRAVITY: "g",
    Interaction.NORMAL: "N",
    Interaction.CONTACT: "P",
    Interaction.AXLE: "S",
    Interaction.ROLLING: "R",
    Interaction.LANDING: "land",
    Interaction.BEARING_TORQUE: "bear",
}

OF_RUN = {
    "work": ("W", "work of everything that brakes"),
    "potential": ("Delta U", "change of the potential energies"),
    "kinetic": ("Delta K", "change of the kinetic energy of all together"),
}


class EnergySymbols(MotionSymbols):
    """Works and energies of one phase."""

    def work(self, force: Force) -> Symbol:
        """The work of a force over the phase."""
        subscript = WORK_LETTERS[force.interaction]
        owners = {
            self._work_owner(other)
            for other in self.phase.forces
            if other.interaction is force.interaction and other.work
        }
        own = self._work_owner(force)
        if len(owners - {None}) > 1:
            subscript += f",{own or self._mark(force.on)}"
        return self.computed(
            f"work.{force.name}",
            "W",
            f"work of {self.phrase(force)}",
            "J",
            lambda: force.work,
            subscript=subscript,
        )

    def has_symbol(self, force: Force) -> bool:
        """Whether the work of a force has a symbol of its own: not what acts on strings."""
        return self._work_owner(force) is not None

    def _work_owner(self, force: Force) -> str | None:
        """What tells the works of one kind of force apart: the object on which it acts."""
        if force.on in self.movers or force.on in self.pulleys:
            mark = self._mark(force.on)
            strings = self.strings_at(force.on)
            if force.interaction is Interaction.TENSION and len(strings) > 1:
                return f"{self.tension(force.partner, force.on).subscript.split(',')[0]},{mark}"
            loads = [n for n, pulley in self.carried.items() if pulley == force.on]
            if force.interaction is Interaction.AXLE and len(loads) > 1:
                return f"{mark},{self._mark(force.partner)}"
            return mark
        return None

    def _mark(self, name: str) -> str:
        return self.subscript(name)

    def kinetic(self, name: str) -> Symbol:
        """The kinetic energy of a mover at the end, or its change where it moves at the start."""
        return self._energy("kinetic", "kinetic energy", (name,), self.kinetic_gain(name))

    def rotational(self, name: str) -> Symbol:
        """The rotational energy of a pulley or of a cart's wheels, likewise."""
        fixed = name in self.pulleys
        words = "rotational energy" if fixed else "rotational energy of the wheels"
        symbol = self._energy("rotational", words, (name,), self.rotational_gain(name))
        return renamed(symbol, symbol.subscript.replace(self.subscript(name), self._rot(name), 1))

    def _rot(self, name: str) -> str:
        return f"rot,{self.subscript(name)}"

    def kinetic_of_all(self, members: Sequence[str]) -> Symbol:
        """The kinetic energy of several objects together, rotation included, likewise."""
        gains = [gain(n) for n in members for gain in (self.kinetic_gain, self.rotational_gain)]
        symbol = self._energy("kinetic", "kinetic energy", members, _sum(gains), together=True)
        tail = symbol.subscript.removeprefix(self.subscript(members[0]))
        return renamed(symbol, f"{self._together(members)}{tail}".strip(","))

    def _together(self, members: Sequence[str]) -> str:
        """No mark for all that can have kinetic energy; else the members'."""
        heavy = [name for name in self.movers if self.mass_kg(name)]
        turning = [name for name in self.rotors if self.pulleys[name].inertia]
        if set(members) == {*heavy, *turning}:
            return ""
        marks = "+".join(self.subscript(name) for name in members)
        return f"tot,{marks}" if len(members) == 1 else marks

    def _energy(
        self,
        key: str,
        words: str,
        members: Sequence[str],
        gain: float | None,
        *,
        together: bool = False,
    ) -> Symbol:
        whose = f"{words} of {listing([self.the(name) for name in members])}"
        whose += " together" if len(members) > 1 else ""
        whose += ", rotation included" if together and len(members) == 1 else ""
        changes = self.starts_moving
        return self.computed(
            f"{'total' if together else key}.{'+'.join(members)}",
            "Delta K" if changes else "K",
            f"change of the {whose}" if changes else f"{whose} at the end",
            "J",
            lambda: gain,
            subscript=self.subscript(members[0]),
        )

    def potential_change(self, name: str) -> Symbol:
        """The change of the potential energy of a mover and Earth."""
        force = self.force(Interaction.GRAVITY, name)
        work = 0.0 if force is None else force.work
        return self.computed(
            f"potential.{name}",
            "Delta U",
            f"change of the potential energy of {self.the(name)} and Earth",
            "J",
            lambda: None if work is None else -work + 0.0,
            subscript=self.subscript(name),
        )

    # Over a whole run of several parts.

    def of_run(self, key: str, value: float | None) -> Symbol:
        """A work or a change of energy over all driven parts together: a key of ``OF_RUN``."""
        letter, words = OF_RUN[key]
        meaning = f"{words} over the whole run"
        return self.lasting(f"{key}.run", letter, meaning, "J", lambda: value, "run")

    # Values.

    def kinetic_gain(self, name: str) -> float | None:
        """How much kinetic energy of translation an object gains in the phase, J."""
        if name not in self.movers:
            return 0.0
        end = self.end_speed(name)
        squares = None if end is None else end**2 - self.first_speed(name) ** 2
        return None if squares is None else self.mass_kg(name) * squares / 2

    def rotational_gain(self, name: str) -> float | None:
        """How much rotational energy an object gains in the phase, J."""
        if name in self.bodies:
            end = self.end_speed(name)
            squares = None if end is None else end**2 - self.first_speed(name) ** 2
            return None if squares is None else self.wheels_kg(name) * squares / 4
        if name not in self.pulleys or not self.pulleys[name].inertia:
            return 0.0
        last = self.phase.end_angular_velocities.get(name)
        first = self.phase.start_angular_velocities.get(name, 0.0)
        inertia = float(self.pulleys[name].inertia)
        return None if last is None else inertia * (last**2 - first**2) / 2


def _sum(values: Sequence[float | None]) -> float | None:
    known = [value for value in values if value is not None]
    return sum(known) if len(known) == len(values) else None
