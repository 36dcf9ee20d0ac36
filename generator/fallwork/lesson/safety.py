"""What can fall in a set-up, and with how much energy at most: from what is given, whatever the run
does, so that it may be told before any result is.
"""

import math
from dataclasses import dataclass, field
from decimal import ROUND_CEILING, Context
from functools import cached_property

from fallwork.lesson.lab.motion import Motion
from fallwork.lesson.words import texts
from fallwork.scenario.course import Safety

_TWO_FIGURES = Context(prec=2, rounding=ROUND_CEILING)
_NOISE = 1 - 1e-9  # what the computation may add to a bound


@dataclass(frozen=True)
class Fall:
    """An object that may come down on something; SI units, none of which is exceeded."""

    name: str
    mass: float
    height: float
    energy: float

    @property
    def row(self) -> list[str]:
        """Height, energy and speed with two figures, as a table has them; never rounded down."""
        speed = math.sqrt(2 * self.energy / self.mass)
        return [_up(self.height, "m"), _up(self.energy, "J"), _up(speed, "m/s")]


def _up(value: float, unit: str) -> str:
    return f"{_TWO_FIGURES.create_decimal_from_float(value * _NOISE):f}\u00a0{unit}"


@dataclass(frozen=True, eq=False)
class SafetyLab(Motion):
    """A set-up in a room."""

    safety: Safety = field(default_factory=Safety)

    @cached_property
    def falls(self) -> tuple[Fall, ...]:
        """Of everything that translates and has a mass.

        A string only pulls, so what hangs can't gain more than m g h on its way down. What runs on
        a surface may get all that the others lose, and then fall from the table. The speed with
        which something is pushed counts as that of all, twice as much for each moving pulley.
        """
        run, g = self.apparatus.run, float(self.apparatus.gravity)
        pace, table = 2 ** len(self.lifts), self.safety.fall_height.value
        drop = pace * float(run.distance or 0.0)
        masses = {name: mass for name in self.movers if (mass := self.mass_kg(name))}
        begins = {name: mass * (pace * float(run.speed)) ** 2 / 2 for name, mass in masses.items()}
        rise = {}  # of the upper end of a surface above the lower one
        for name in self.sliders:
            length = self.apparatus.surfaces[self.surface_under(name)].length
            along = drop if length is None else float(length)
            rise[name] = abs(math.sin(self.slope_rad(name))) * along
        heights = {n: table + rise[n] if n in rise else max(table, drop) for n in masses}
        lost = {n: m * g * rise.get(n, heights[n]) + begins[n] for n, m in masses.items()}
        whole = sum(lost.values())
        most = {n: whole + m * g * table if n in rise else lost[n] for n, m in masses.items()}
        return tuple(Fall(n, mass, heights[n], most[n]) for n, mass in masses.items())

    @cached_property
    def hardest(self) -> Fall:
        """What may bring the most energy."""
        return max(self.falls, key=lambda fall: fall.energy)

    @property
    def as_drop(self) -> str:
        """From how high 1 kg would have to fall for as much energy."""
        return _up(self.hardest.energy / float(self.apparatus.gravity), "m")

    @property
    def heavy_ones(self) -> list[Fall]:
        """What the course counts as heavy."""
        energy, mass = self.safety.heavy_energy.value, self.safety.heavy_mass.value
        return [fall for fall in self.falls if fall.energy >= energy or fall.mass >= mass]

    def published(self, *, above: bool) -> str:
        """The nearest published energy above or below the greatest, with what it is of; or ""."""
        known = {float(each["energy"]): each for each in texts("impacts")}
        side = [energy for energy in known if (energy > self.hardest.energy) == above]
        if not side:
            return ""
        found = known[min(side) if above else max(side)]
        return f"{found['energy']}\u00a0J ({found['of']}, {found['source']})"
