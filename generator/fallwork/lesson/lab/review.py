"""What the steps ask that look back: two systems beside each other, the whole run, what goes on
after a landing, the bench and units.
"""

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cached_property

from fallwork.lesson.context import Context
from fallwork.lesson.document import Equation
from fallwork.lesson.expression import Expression, Operand, Symbol, as_expression
from fallwork.lesson.free import solve_free
from fallwork.lesson.lab.choices import Choices
from fallwork.lesson.lab.whole_run import WholeRun
from fallwork.lesson.setting import NOISE
from fallwork.lesson.trees import product, total
from fallwork.mechanics.solution import Ending, Role
from fallwork.scenario.model import Quantity

TILT = math.radians(0.1)  # what a spirit level hardly shows


@dataclass(frozen=True, kw_only=True)
class Tilt:
    """What a tilt that a spirit level hardly shows does to what is on a surface, as masses, kg."""

    riders: list[str]
    pull: float
    friction: float
    drive: float

    def percent(self, whole: float) -> str:
        """The tilt's pull as a share, two figures."""
        percent = 100 * self.pull / whole
        return f"{percent:.0f}\u00a0%" if percent >= 10 else f"{percent:.1f}\u00a0%"


class Review(Choices):
    """Systems compared, the end of the run, the bench, units and figures."""

    # The featured systems together.

    @property
    def comparable(self) -> bool:
        """Whether one system holds everything that moves, with Earth, and another one object."""
        setting, part, whole = self.setting, self.without_earth, self.whole
        if part is None or whole is None or setting.open_forces:
            return False
        moving = {name for name in setting.movers if not setting.rests(name)}
        strings = all(string in whole.members for string in setting.taut)
        return len(part.moving) == 1 < len(moving) and set(whole.moving) == moving and strings

    @property
    def only_wheels_rub(self) -> bool:
        """Whether all friction is that of carts on their wheels."""
        return all(map(self.setting.rolls, self.motion.kinetic_frictions))

    @property
    def rubbed_surfaces(self) -> list[str]:
        """The surfaces on which something slides."""
        rubbing = self.motion.kinetic_frictions
        return list(dict.fromkeys(map(self.names.surface, rubbing)))

    @property
    def _parts(self) -> tuple[Context, ...]:
        return tuple(map(self.context.at, self.setting.driven))

    @cached_property
    def whole_run(self) -> WholeRun | None:
        """The run over all its parts; None where there is only one, or no end."""
        parts, setting = self._parts, self.setting
        followed = all(each.setting.tied and each.setting.phase.ends for each in parts)
        return WholeRun(parts) if len(parts) > 1 and followed and not setting.open_forces else None

    @cached_property
    def letters(self) -> Mapping[str, Expression]:
        """Those of a run that turns round and ends at the run's distance besides."""
        letters, context, parts = super().letters, self.context, self._parts
        if len(parts) < 2 or not context.is_plain or not context.rubs:
            return letters
        if parts[-1].setting.ending not in (Ending.LANDS, Ending.COVERED):
            return letters
        path = as_expression(context.names.run_distance)
        return {**letters, "W_run": as_expression(WholeRun(parts).work), "s_run": path}

    # After a landing: asked in the last driven part, and in the part after the landing.

    @property
    def braked(self) -> bool:
        """Whether anything slows a cart down when nothing pulls it any more."""
        return self.context.rubs or self.context.climb > 0

    @property
    def rolls_back(self) -> bool:
        """Whether a cart can't stay where it comes to a stop on its slope."""
        return self.context.climb > 0 and not self.setting.clings(self.context.slider)

    @property
    def outer_force(self) -> Expression:
        """What acts along the path of the first object on a surface but for strings."""
        return total(term.tree for term in self.motion.outer(self.context.slider))

    @property
    def coasting(self) -> Expression:
        """The acceleration of a cart alone: −μ g, on a slope −(sin θ + μ cos θ) g."""
        return -product(self._braking_share, self.names.gravity)

    @property
    def coasting_path(self) -> Expression:
        """How far it gets: v²/2 over that, on a slope over the letter for it."""
        square = self.names.speed**2
        if self.context.climb:
            return -(square / product(2, self.names.coasting_acceleration))
        return square / product(2, self._braking_share, self.names.gravity)

    @property
    def _braking_share(self) -> Expression:
        motion, slider = self.motion, self.context.slider
        parts: list[Operand] = [sine] if (sine := motion.sine(slider)) is not None else []
        if self.context.rubs:
            grip, cosine = self.names.coefficient(slider), motion.cosine(slider)
            parts.append(grip if cosine is None else product(grip, cosine))
        return total(parts)

    @property
    def rests_after_landing(self) -> bool:
        """Whether the run is over with the landing."""
        return self.setting.solution.phases[-1].role is Role.LANDING

    @property
    def speed_at_end(self) -> float:
        """Of the first object on a surface, where the run is followed no further, m/s."""
        speeds = self.setting.solution.phases[-1].end_velocities
        return abs(speeds[self.context.slider] or 0.0)

    @property
    def slack_strings(self) -> list[str]:
        """The strings that pull nothing."""
        return [name for name in self.setting.apparatus.strings if name in self.setting.phase.slack]

    @property
    def let_go(self) -> Iterator[tuple[str, list[str]]]:
        """Massless pulleys that hang from slack strings, with these."""
        for name in self.setting.lifts:
            hung = [s for s in self.setting.strings_at(name) if s in self.setting.phase.slack]
            if hung and not self.setting.mass(name) and name not in self.setting.carried.values():
                yield name, hung

    @property
    def own_motions(self) -> list[Equation]:
        """The inner forces that are left, and the acceleration of each object and pulley."""
        setting, names = self.setting, self.names
        solved = solve_free(self.context)
        found: list[tuple[Symbol, Operand]] = []
        if setting.taut:
            unknown = [(symbol, symbol) for symbol in solved.unknown if symbol.value is not None]
            found += [(one.symbol, one.tree) for one in solved.forces] or unknown
        gains = setting.phase.angular_accelerations
        turning = [names.angular_acceleration(name) for name in setting.spinning if gains.get(name)]
        for one in solved.accelerations:
            if one.symbol.unit != "rad/s²" or one.symbol in turning:
                found.append((one.symbol, one.tree))
        return [self.context.result(left, right, left.unit) for left, right in found]

    @property
    def not_falling_freely(self) -> Iterator[str]:
        """What moves and has other forces on it than gravity alone."""
        for name in self.setting.movers:
            acting = [force for force in self.setting.forces_on(name) if self.setting.acts(force)]
            if not self.setting.rests(name) and len(acting) > 1:
                yield name

    def loose(self, sense: int) -> list[str]:
        """The hanging objects in free fall that move down (1) or still up (-1)."""
        setting, free = self.setting, float(self.setting.apparatus.gravity)
        gains = setting.phase.accelerations
        falling = [n for n in setting.hanging if gains.get(n, 0.0) >= free * (1 - NOISE)]
        return [name for name in falling if setting.senses[name] == sense]

    # The bench.

    def tilted(self, surface: str) -> "Tilt":
        """What a small tilt of a level surface does."""
        setting = self.setting
        riders = [name for name in setting.sliders if setting.bodies[name].surface == surface]
        rubbing = (float(setting.bodies[n].friction) * self._weight(n) for n in riders)
        driving = (setting.senses[n] * self._weight(n) for n in setting.hanging)
        return Tilt(
            riders=riders,
            pull=math.sin(TILT) * sum(map(self._weight, riders)),
            friction=sum(rubbing),
            drive=abs(sum(driving)),
        )

    def _weight(self, name: str) -> float:
        """A mass as it counts along the strings, kg; its own where they leave motions free."""
        ratio = self.setting.ratio(name) if self.setting.tied and self.setting.moves else 1
        return float(ratio) * self.setting.mass(name)

    @property
    def light_pulleys(self) -> list[str]:
        """The moving pulleys without mass."""
        return [name for name in self.setting.lifts if not self.setting.mass(name)]

    @property
    def led_to_pulley(self) -> list[str]:
        """What a string leads from on a surface to a pulley."""
        return list(filter(self._leads_to_pulley, self.setting.sliders))

    def _leads_to_pulley(self, name: str) -> bool:
        setting = self.setting
        paths = [setting.apparatus.strings[string].path for string in setting.strings_at(name)]
        return any(path[1] in setting.pulleys or path[-2] in setting.pulleys for path in paths)

    # Units.

    @cached_property
    def other_units(self) -> frozenset[str]:
        """Units to convert, of what is given of an object, a sloping surface or the run."""
        scenario = self.setting.scenario
        things = [*scenario.objects.values(), scenario.run]
        values = [value for thing in things for value in vars(thing).values()]
        values += [each.slope for each in scenario.surfaces.values() if each.slope.value]
        written = {value.unit for value in values if isinstance(value, Quantity)}
        return frozenset(written & {"g", "cm", "mm", "deg"})
