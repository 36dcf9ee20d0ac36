"""What the steps about the forces on each object ask: interactions and free-body diagrams."""

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import cycle

from fallwork.lesson.expression import Symbol
from fallwork.lesson.lab.acting import Acting, Side
from fallwork.lesson.lab.newton import Newton
from fallwork.lesson.labels import segments_at
from fallwork.lesson.trees import ZERO
from fallwork.mechanics.rigging import Element
from fallwork.mechanics.solution import Interaction


@dataclass(frozen=True, kw_only=True)
class Far:
    """Something heavy that acts on an object only by way of a string."""

    string: str
    other: str
    direct: bool  # it stands on a string that ends on the object


class Forces(Newton):
    """The forces on each object."""

    @property
    def interactions(self) -> Iterator[Acting]:
        """The forces on everything that translates, kind by kind, each pair of objects once."""
        for kind in Interaction:
            for name in self.setting.movers if kind is not Interaction.LANDING else ():
                for force in self.setting.forces_on(name):
                    if force.interaction is kind and force.partner not in self.setting.carried:
                        yield Acting(self.context, force)

    def acting(self, sort: str, name: str) -> Acting | None:
        """The first force of one kind on an object; None where there is none."""
        force = self.setting.force(Interaction(sort), name)
        return None if force is None else Acting(self.context, force)

    @property
    def at_fixed_pulleys(self) -> Iterator[tuple[str, str]]:
        """Each string with each fixed pulley that it passes, or on which it is wound."""
        for string in self.setting.apparatus.strings.values():
            for name in string.path:
                if name in self.setting.pulleys and name not in self.setting.movers:
                    yield string.name, name

    def is_wound(self, string: str, pulley: str) -> bool:
        """Whether a string is wound on a pulley."""
        line = self.setting.rigging.strings[string]
        return line.elements[line.path.index(pulley)] is Element.DRUM

    def is_heavy(self, pulley: str) -> bool:
        """Whether gravity on a pulley that takes a torque to turn is to be told."""
        force = self.setting.force(Interaction.GRAVITY, pulley)
        return pulley in self.setting.rotors and force is not None and bool(force.size)

    @property
    def masses_and_g(self) -> list[Symbol]:
        """The masses of what translates, and the free-fall acceleration."""
        masses = [self.names.mass(name) for name in self.setting.movers if self.setting.mass(name)]
        return [*masses, self.names.gravity]

    @property
    def ideal_pulleys(self) -> list[str]:
        """The pulleys that take no torque to turn."""
        return [name for name in self.setting.pulleys if name not in self.setting.rotors]

    @property
    def rubbing_carts(self) -> list[str]:
        """The carts on which friction acts."""
        return [name for name in self.motion.frictions if self.setting.rolls(name)]

    # ---- free-body diagrams

    def drawn(self, name: str) -> Iterator[Acting]:
        """The forces in the diagram of an object; a string round a pulley pulls on two sides."""
        for force in filter(self.setting.acts, self.setting.forces_on(name)):
            if force.interaction is not Interaction.CONTACT:
                yield Acting(self.context, force)
                continue
            path = self.setting.apparatus.strings[force.partner].path
            sides = cycle(("one", "other"))  # a pulley that is passed twice has two of each
            for at, side in zip(segments_at(path, name), sides, strict=False):
                tension = self.names.tension_at(force.partner, at)
                yield Side(self.context, force, tension, side)

    def not_drawn(self, name: str) -> Far | None:
        """What is tempting to draw and wrong, once for what slides and once for what hangs."""
        setting = self.setting
        alike = [n for n in setting.movers if (n in setting.sliders) == (name in setting.sliders)]
        tempting = {mover: far for mover in alike if (far := self._far(mover))}
        direct = [mover for mover, far in tempting.items() if far.direct]
        return tempting[name] if [name] == (direct or list(tempting))[:1] else None

    def _far(self, name: str) -> Far | None:
        setting = self.setting
        touching = {name, *(force.partner for force in setting.forces_on(name))}
        others = (*setting.hanging, *setting.sliders, *setting.lifts)
        hangs = name not in setting.sliders
        far = [
            other
            for other in (setting.movers if hangs else others)
            if other not in touching and setting.mass(other)
        ]
        paths = {
            string: setting.apparatus.strings[string].path for string in setting.strings_at(name)
        }
        if not far or not paths:
            return None
        if hangs:  # first what shares a string with it
            far.sort(key=lambda other: all(other not in path for path in paths.values()))
        leading = [string for string, path in paths.items() if far[0] in path]
        return Far(string=(leading or list(paths))[0], other=far[0], direct=bool(leading))

    @property
    def first_with_acceleration(self) -> str:
        """The first object with a mass times an acceleration; "" where there is none."""
        moving = (n for n in self.setting.movers if self.motion.mass_times_acceleration(n) != ZERO)
        return next(moving, "") if self.setting.moves else ""
