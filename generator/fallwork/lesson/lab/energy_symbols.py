"""Symbols of works and of energies: at the end of a phase, or their changes."""

from collections.abc import Sequence

from fallwork.lesson.expression import Expression, Symbol, as_expression
from fallwork.lesson.lab.quantities import Quantities
from fallwork.lesson.lab.symbols import interaction_row
from fallwork.lesson.textfiles import texts
from fallwork.lesson.words import listing
from fallwork.mechanics.solution import Force, Interaction


class EnergySymbols(Quantities):
    """Works and energies of one phase."""

    def work(self, force: Force) -> Symbol:
        """The work of a force over the phase."""
        mark = interaction_row(force)["mark"]
        forces = (f for f in self.phase.forces if f.interaction is force.interaction and f.work)
        if len({self._work_owner(other) for other in forces} - {None}) > 1:
            mark += f",{self._work_owner(force) or self.subscript(force.on)}"
        key, phrase = f"work.{force.name}", self.phrase(force)
        return self.symbol("work", "", force.work, key=key, mark=mark, force=phrase)

    def _work_owner(self, force: Force) -> str | None:
        """What tells the works of one kind of force apart: the object on which it acts."""
        if force.on not in self.movers and force.on not in self.pulleys:
            return None
        mark = self.subscript(force.on)
        if force.interaction is Interaction.TENSION and len(self.strings_at(force.on)) > 1:
            return f"{self.tension(force.partner, force.on).subscript.split(',')[0]},{mark}"
        loads = [name for name, pulley in self.carried.items() if pulley == force.on]
        if force.interaction is Interaction.AXLE and len(loads) > 1:
            return f"{mark},{self.subscript(force.partner)}"
        return mark

    def kinetic(self, name: str) -> Symbol:
        """The kinetic energy of a mover at the end, or its change where it moves at the start."""
        gain, mark = self.kinetic_gain(name), self.subscript(name)
        return self._energy(f"kinetic.{name}", "kinetic", (name,), gain, mark)

    def rotational(self, name: str) -> Symbol:
        """The rotational energy of a pulley or of a cart's wheels, likewise."""
        kind = "rotational" if name in self.pulleys else "wheels"
        gain, mark = self.rotational_gain(name), f"rot,{self.subscript(name)}"
        return self._energy(f"rotational.{name}", kind, (name,), gain, mark)

    def kinetic_of_all(self, members: Sequence[str]) -> Symbol:
        """The kinetic energy of several objects together, rotation included, likewise."""
        gains = [gain(n) for n in members for gain in (self.kinetic_gain, self.rotational_gain)]
        kind, key = "together" if len(members) > 1 else "with-rotation", "+".join(members)
        return self._energy(f"total.{key}", kind, members, _sum(gains), self._together(members))

    def _together(self, members: Sequence[str]) -> str:
        """No mark for all that can have kinetic energy; else the members'."""
        heavy = [name for name in self.movers if self.mass_kg(name)]
        turning = [name for name in self.rotors if self.pulleys[name].inertia]
        if set(members) == {*heavy, *turning}:
            return ""
        marks = "+".join(self.subscript(name) for name in members)
        return f"tot,{marks}" if len(members) == 1 else marks

    def _energy(
        self, key: str, kind: str, members: Sequence[str], gain: float | None, mark: str
    ) -> Symbol:
        pattern: str = texts("symbols")["energies"][kind]
        energy = pattern.format(all=listing([self.the(name) for name in members]))
        row = "change-of-energy" if self.starts_moving else "energy"
        return self.symbol(row, "", gain, key=key, mark=mark, energy=energy)

    def potential_change(self, name: str) -> Symbol:
        """The change of the potential energy of a mover and Earth."""
        force = self.force(Interaction.GRAVITY, name)
        work = 0.0 if force is None else force.work
        return self.symbol("potential", name, None if work is None else -work + 0.0)

    def of_run(self, key: str, value: float | None) -> Symbol:
        """A work or a change of energy over all driven parts together: ``work``, ``potential`` or
        ``kinetic``.
        """
        return self.symbol(f"{key}-of-run", "", value)

    def falls(self, change: Expression) -> bool:
        """Whether a change of energy is a loss: a potential energy on the way down."""
        falling = [n for n in self.movers if self.ways[n] * self._up(n) < 0]
        return any(as_expression(self.potential_change(n)) == change for n in falling)

    def _up(self, name: str) -> float:
        """Positive where a mover's fixed positive sense is upward."""
        return self.slope_rad(name) if name in self.sliders else -1.0

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
