"""What happens in a run, in one sentence; and where two runs of a set-up part ways.

Takes a set of numbers and local gravity; gives words for those who chose the numbers: what moves,
how far and which way, what ends the run, accelerations and tensions.
"""

from functools import cached_property

import numpy as np

from fallwork.lesson.lab.setup import Setup
from fallwork.lesson.rounding import to_figures
from fallwork.lesson.words import told
from fallwork.measurement.prediction import driven_phases, view_of
from fallwork.mechanics import apparatus_of, solve
from fallwork.scenario import Scenario

_ALIKE = 1e-9  # relative: paths that differ by less are of one length


class Happening:
    """A run and its sentence. ``figures`` are those of results."""

    def __init__(self, scenario: Scenario, gravity: float, figures: int) -> None:
        apparatus = apparatus_of(scenario, gravity)
        self.setup = Setup(scenario, apparatus, solve(apparatus), figures, numbers=True)
        self.figures = figures

    @cached_property
    def parts(self) -> tuple[Setup, ...]:
        """The run from the release to the end of its driven part, phase by phase."""
        return tuple(map(self.setup.at, range(len(driven_phases(self.setup.solution)))))

    @property
    def moves(self) -> bool:
        """Whether anything moves."""
        return self.setup.moves

    @cached_property
    def watched(self) -> tuple[str, ...]:
        """One of each group that moves alike: first the object that sensors watch."""
        first = view_of(self.setup.scenario).moving
        order = [first, self.setup.apparatus.run.object, *self.setup.bodies]
        found: dict[tuple[float, ...], str] = {}
        for name in dict.fromkeys(order):
            paths = tuple(_path(part, name) for part in self.parts)
            alike = (np.allclose(paths, known, rtol=_ALIKE, atol=0.0) for known in found)
            if any(paths) and not any(alike):
                found[paths] = name
        return tuple(found.values())

    @property
    def way(self) -> tuple[int, ...]:
        """In which sense the watched object goes, part by part."""
        return tuple(part.ways[self.watched[0]] for part in self.parts)

    def sentence(self) -> str:
        """What happens, and the numbers that go with it."""
        return " ".join(told("happens", "sentence", self))

    def pulls_alike(self, part: Setup, string: str) -> bool:
        """Whether a string pulls equally all along, as far as the printed figures tell."""
        return len({self.amount(each, "N") for each in part.phase.segment_tensions[string]}) == 1

    @property
    def pulling(self) -> list[str]:
        """The strings whose tension is known and not zero all the time."""
        strings = self.setup.apparatus.strings
        return [name for name in strings if name not in (*self.slack, *self.open)]

    @cached_property
    def open(self) -> tuple[str, ...]:
        """The strings of which the set-up leaves the tension open."""
        parts = [part.phase.segment_tensions for part in self.parts]
        strings = self.setup.apparatus.strings
        return tuple(s for s in strings if any(None in pieces[s] for pieces in parts))

    @property
    def slack(self) -> tuple[str, ...]:
        """The strings that never pull before the driven part ends."""
        parts = [part.phase.slack for part in self.parts]
        return tuple(s for s in self.setup.apparatus.strings if all(s in each for each in parts))

    def amount(self, value: float | None, unit: str) -> str:
        """A result as it is printed."""
        return f"{to_figures(value or 0.0, self.figures)} {unit}"


def _path(part: Setup, name: str) -> float:
    """How far an object goes in a part, m; where nothing ends it, what its motion is like."""
    path = part.path(name)
    if path is not None:
        return path
    return abs(part.phase.accelerations.get(name, 0.0)) or part.first_speed(name)


def short_of_its_distance(run: Happening) -> tuple[str, ...]:
    """Where a run ends before its distance is covered."""
    return told("happens", "short", run)


def otherwise(run: Happening, other: Happening, whose: str) -> tuple[str, ...]:
    """Where a run isn't like another with other numbers; ``whose``: scenario or example."""
    return told("happens", "otherwise", run, other, whose)
