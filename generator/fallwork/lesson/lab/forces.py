"""What the opening and the steps about the forces on each object ask."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from itertools import cycle

from fallwork.lesson.lab.acting import Acting, Side
from fallwork.lesson.lab.base import Base
from fallwork.lesson.labels import segments_at
from fallwork.lesson.trees import ZERO
from fallwork.mechanics.solution import Ending, Interaction
from fallwork.scenario.model import Run


@dataclass(frozen=True, kw_only=True)
class Far:
    """Something heavy that acts on an object only by way of a string."""

    string: str
    other: str
    direct: bool  # it stands on a string that ends on the object


class Forces(Base):
    """The forces on each object."""

    @property
    def interactions(self) -> Iterator[Acting]:
        """The forces on everything that translates, kind by kind, each pair of objects once."""
        for kind in Interaction:
            for name in self.movers if kind is not Interaction.LANDING else ():
                for force in self.forces_on(name):
                    if force.interaction is kind and force.partner not in self.carried:
                        yield Acting(self, force)

    @property
    def tied_ends(self) -> Iterator[tuple[str, str]]:
        """Each string with each hook to which an end of it is tied."""
        for string in self.apparatus.strings.values():
            for end in dict.fromkeys((string.path[0], string.path[-1])):
                if end in self.apparatus.anchors:
                    yield string.name, end

    @property
    def ideal_pulleys(self) -> list[str]:
        """The pulleys that take no torque to turn."""
        return [name for name in self.pulleys if name not in self.rotors]

    @property
    def called_strings(self) -> bool:
        """Whether whatever joins the objects is called a string, none a coupling or the like."""
        nouns = (self.scenario.nouns.noun(name) for name in self.apparatus.strings)
        return all("string" in noun.split(" ") for noun in nouns)

    @property
    def gliders(self) -> list[str]:
        """What rides on a cushion of air."""
        return [name for name in self.sliders if self.bodies[name].kind == "glider"]

    # ---- free-body diagrams

    def drawn(self, name: str) -> Iterator[Acting]:
        """The forces in the diagram of an object; a string round a pulley pulls on two sides."""
        for force in filter(self.acts, self.forces_on(name)):
            if force.interaction is not Interaction.CONTACT:
                yield Acting(self, force)
                continue
            path = self.apparatus.strings[force.partner].path
            sides = cycle(("one", "other"))  # a pulley that is passed twice has two of each
            for at, side in zip(segments_at(path, name), sides, strict=False):
                tension = self.tension_at(force.partner, at)
                yield Side(self, force, tension, side)

    def not_drawn(self, name: str) -> Far | None:
        """What is tempting to draw and wrong, once for what slides and once for what hangs."""
        alike = [n for n in self.movers if (n in self.sliders) == (name in self.sliders)]
        tempting = {mover: far for mover in alike if (far := self._far(mover))}
        direct = [mover for mover, far in tempting.items() if far.direct]
        return tempting[name] if [name] == (direct or list(tempting))[:1] else None

    def _far(self, name: str) -> Far | None:
        touching = {name, *(force.partner for force in self.forces_on(name))}
        others = (*self.hanging, *self.sliders, *self.lifts)
        hangs = name not in self.sliders
        far = [
            other
            for other in (self.movers if hangs else others)
            if other not in touching and self.mass_kg(other)
        ]
        paths = {string: self.apparatus.strings[string].path for string in self.strings_at(name)}
        if not far or not paths:
            return None
        if hangs:  # first what shares a string with it
            far.sort(key=lambda other: all(other not in path for path in paths.values()))
        leading = [string for string, path in paths.items() if far[0] in path]
        return Far(string=(leading or list(paths))[0], other=far[0], direct=bool(leading))

    @property
    def first_with_acceleration(self) -> str:
        """The first object with a mass times an acceleration; "" where there is none."""
        moving = (n for n in self.movers if self.mass_times_acceleration(n) != ZERO)
        return next(moving, "") if self.moves else ""

    # ---- the set-up as it is described

    @property
    def run(self) -> Run:
        """What the scenario says of the run."""
        return self.scenario.run

    @property
    def riders(self) -> Mapping[str, list[str]]:
        """What runs on each surface."""
        found: dict[str, list[str]] = {s: [] for s in self.apparatus.surfaces}
        for name in self.sliders:
            found[self.surface_under(name)].append(name)
        return {surface: riders for surface, riders in found.items() if riders}

    @property
    def loads(self) -> Mapping[str, list[str]]:
        """What each moving pulley carries."""
        found: dict[str, list[str]] = {}
        for load, pulley in self.carried.items():
            found.setdefault(pulley, []).append(load)
        return found

    @property
    def pushed(self) -> str:
        """What the hand pushes: where it has the speed that is given, what runs on a surface."""
        run = self.run
        riders = [name for name in self.sliders if self._as_fast(name)]
        return run.object if run.object in self.sliders else next(iter(riders), run.object)

    def _as_fast(self, name: str) -> bool:
        return self.tied and abs(self.ratio(name)) == abs(self.ratio(self.run.object))

    @property
    def covers(self) -> bool:
        """Whether any part of the run ends when its distance is covered."""
        phases = range(len(self.solution.phases))
        return any(self.at(index).ending is Ending.COVERED for index in phases)

    @property
    def runs_down(self) -> list[str]:
        """What static friction alone can't hold on its slope."""
        return [name for name in self.sliders if not self.clings(name)]
