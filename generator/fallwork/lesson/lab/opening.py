"""What the opening of a page asks: what stands, runs and hangs where, and the push."""

from collections.abc import Mapping
from dataclasses import dataclass

from fallwork.lesson.lab.base import Base
from fallwork.mechanics.rigging import Element
from fallwork.mechanics.solution import Ending
from fallwork.scenario import Run


@dataclass(frozen=True, kw_only=True)
class Passed:
    """A pulley on the way of a string; ``hangs``: in the string, which runs round it from below."""

    pulley: str
    hangs: bool


@dataclass(frozen=True, kw_only=True)
class Line:
    """A string with its ends and what it passes; ``wound``: on its first end."""

    name: str
    first: str
    passed: tuple[Passed, ...]
    last: str
    wound: bool


class Opening(Base):
    """The set-up as it is described."""

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
    def lines(self) -> tuple[Line, ...]:
        """The strings, each from its drum where it has one."""
        return tuple(map(self._line, self.apparatus.strings))

    def _line(self, name: str) -> Line:
        line = self.rigging.strings[name]
        path, elements = line.path, line.elements
        passed = tuple(
            Passed(pulley=path[at], hangs=elements[at] is Element.MOVING and line.bight(at) > 0)
            for at in range(1, len(path) - 1)
        )
        wound = Element.DRUM in (elements[0], elements[-1])
        back = wound and elements[0] is not Element.DRUM
        first, last = (path[-1], path[0]) if back else (path[0], path[-1])
        return Line(name=name, first=first, passed=passed, last=last, wound=wound)

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
