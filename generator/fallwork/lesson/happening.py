"""What happens in a run, in one sentence; and where two runs of a set-up part ways.

Takes a set of numbers and local gravity; gives words for those who chose the numbers: what moves,
how far and which way, what ends the run, accelerations and tensions.
"""

import math
from collections.abc import Iterator, Sequence
from functools import cached_property, reduce

from fallwork.lesson.lab.setup import Setup
from fallwork.lesson.rounding import to_figures
from fallwork.lesson.run import end_in_words
from fallwork.lesson.words import fill, listing, sentence, upper_first, without_formulas
from fallwork.measurement.view import driven_phases, view_of
from fallwork.mechanics import apparatus_of, solve
from fallwork.mechanics.solution import End, Ending
from fallwork.scenario import Scenario

FILE = "reviewing"
LEVEL = math.radians(1.0)  # a surface that slopes less has no up and down in words
_STOPS = (Ending.TURNS, Ending.SPIN_TURNS, Ending.RESTS, Ending.SPIN_STOPS)
_ALIKE = 1e-9  # relative: paths that differ by less are of one length


class Happening:
    """A run and its sentence. ``figures`` are those of results."""

    def __init__(self, scenario: Scenario, gravity: float, figures: int) -> None:
        apparatus = apparatus_of(scenario, gravity)
        solution = solve(apparatus)
        self.setting = Setup(scenario, apparatus, solution, figures, numbers=True)
        self.figures = figures

    @cached_property
    def parts(self) -> tuple[Setup, ...]:
        """The run from the release to the end of its driven part, phase by phase."""
        return tuple(self.setting.at(at) for at in range(len(driven_phases(self.setting.solution))))

    @property
    def moves(self) -> bool:
        """Whether anything moves."""
        return self.setting.moves

    @property
    def ending(self) -> Ending | None:
        """How the driven part ends."""
        return self.parts[-1].ending

    @cached_property
    def watched(self) -> tuple[str, ...]:
        """One of each group that moves alike: first the object that sensors watch."""
        first = view_of(self.setting.scenario).moving
        order = [first, self.setting.apparatus.run.object, *self.setting.bodies]
        found: dict[tuple[float, ...], str] = {}
        for name in dict.fromkeys(order):
            paths = tuple(self._path(part, name) for part in self.parts)
            if any(paths) and not any(_alike(paths, known) for known in found):
                found[paths] = name
        return tuple(found.values())

    def _path(self, part: Setup, name: str) -> float:
        """How far an object goes in a part, m; where nothing ends it, what its motion is like."""
        path = part.path(name)
        if path is not None:
            return path
        return abs(part.phase.accelerations.get(name, 0.0)) or part.first_speed(name)

    @property
    def way(self) -> tuple[int, ...]:
        """In which sense the watched object goes, part by part."""
        return tuple(part.ways[self.watched[0]] for part in self.parts)

    # ---- the sentence

    def sentence(self) -> str:
        """What happens, and the numbers that go with it."""
        if not self.moves:
            return "; ".join([_say("still"), *self._pulls(), *self._strings()])
        clauses = [self._clause(at, part) for at, part in enumerate(self.parts)]
        values = [self._accelerations(), *self._pulls()]
        return "; ".join([_one_by_one(clauses), ", ".join(values), *self._strings()])

    def _clause(self, at: int, part: Setup) -> str:
        first, duration = self.watched[0], part.phase.duration
        starts, begun = part.first_speed(first) > 0 and not at, self.setting.the(first)
        if duration is None:
            return _say("endless", the_object=begun, way=self._going(part, first))
        key = "turns-within" if part.turns_within else "pushed" if starts else "goes"
        return _say(
            "further" if at else key,
            the_object=begun,
            speed=self.amount(part.first_speed(first), "m/s"),
            back=self._way(first, part.phase.start_velocities[first]),
            paths=listing([self._far(part, name) for name in self.watched]),
            time=self.amount(duration, "s"),
            ends=self._until(part),
        )

    def _until(self, part: Setup) -> str:
        """What ends a part of the run; of the object that the sentence is about."""
        first = self.watched[0]
        stops = part.ending in _STOPS and part.phase.end_velocities[first] == 0
        if part.ending and (stops or part.ending is Ending.COVERED):
            return _say(f"until.{part.ending.value}")
        alone, the = len(self.watched) == 1, self.setting.the
        return end_in_words(
            part.phase.ends, lambda name: _say("it") if alone and name == first else the(name)
        )

    def _far(self, part: Setup, name: str) -> str:
        far, way = self.amount(part.path(name) or 0.0, "m"), self._going(part, name)
        key = "far" if name == self.watched[0] else "far-too"
        return _say(key, the_object=self.setting.the(name), far=far, way=way)

    def _going(self, part: Setup, name: str) -> str:
        return self._way(name, part.ways[name])

    def _way(self, name: str, sense: float) -> str:
        """Which way an object goes; ``sense`` has the sign of its motion."""
        body = self.setting.bodies.get(name)
        if body is None or body.surface is None:
            return _say("ways.down" if sense > 0 else "ways.up")
        slope = self.setting.slope_rad(name)
        if abs(slope) < LEVEL:
            return _say("ways.forward" if sense > 0 else "ways.back")
        key = "ways.up-along" if sense * slope > 0 else "ways.down-along"
        return _say(key, the_surface=self.setting.the(body.surface))

    # ---- the numbers

    def _accelerations(self) -> str:
        parts = []
        for part in self.parts:
            sizes = [self._acceleration(part, name) for name in self.watched]
            parts.append(listing(self._each(sizes, self.watched)))
        return _say("acceleration", values=_one_by_one(parts))

    def _each(self, values: Sequence[str], names: Sequence[str]) -> list[str]:
        """Values, each with what it belongs to where there are several."""
        if len(values) < 2:
            return list(values)
        pairs = zip(values, names, strict=True)
        return [_say("of", value=value, the_object=self.setting.the(name)) for value, name in pairs]

    def _acceleration(self, part: Setup, name: str) -> str:
        value = part.phase.accelerations.get(name)
        if value is None:
            return _say("open")
        if value == 0:
            return _say("constant")
        size = self.amount(abs(value), "m/s²")
        slower = part.phase.start_velocities[name] * value < 0 and not part.turns_within
        return _say("slower", value=size) if slower else size

    def _pulls(self) -> Iterator[str]:
        """The tensions of the strings that pull, part by part where they change."""
        names = [s for s in self.setting.apparatus.strings if s not in (*self.slack, *self._open)]
        told = []
        for string in names:
            values = list(dict.fromkeys(self._pull(part, string) for part in self.parts))
            told.append(_one_by_one(values))
        if told:
            yield _say("tension", values=", ".join(self._each(told, names)))

    def _pull(self, part: Setup, string: str) -> str:
        pieces = part.phase.segment_tensions[string]
        path = self.setting.apparatus.strings[string].path
        amounts = [self.amount(each or 0.0, "N") for each in pieces]
        if len({*amounts}) == 1:
            return amounts[0]
        ends = [(amounts[0], path[0]), (amounts[-1], path[-1])]
        return listing(
            [_say("at", value=value, the_object=self.setting.the(name)) for value, name in ends]
        )

    def _strings(self) -> Iterator[str]:
        """Those that pull nothing, and those of which the set-up leaves the tension open."""
        for key, names in (("slack", self.slack), ("open-pull", self._open)):
            for name in names:
                yield _say(key, the_string=self.setting.the(name))

    @cached_property
    def _open(self) -> tuple[str, ...]:
        parts = [part.phase.segment_tensions for part in self.parts]
        strings = self.setting.apparatus.strings
        return tuple(s for s in strings if any(None in pieces[s] for pieces in parts))

    @property
    def slack(self) -> tuple[str, ...]:
        """The strings that never pull before the driven part ends."""
        parts = [part.phase.slack for part in self.parts]
        return tuple(s for s in self.setting.apparatus.strings if all(s in each for each in parts))

    def amount(self, value: float, unit: str) -> str:
        """A result as it is printed."""
        return f"{to_figures(value, self.figures)} {unit}"


def _one_by_one(parts: Sequence[str]) -> str:
    """Parts of the run one after the other."""
    return reduce(lambda before, after: _say("then", before=before, after=after), parts)


def _alike(one: Sequence[float], two: Sequence[float]) -> bool:
    return all(abs(a - b) <= _ALIKE * max(a, b) for a, b in zip(one, two, strict=True))


# ---- what is worth a note


def short_of_its_distance(run: Happening) -> Iterator[str]:
    """Where a run ends before its distance is covered."""
    distance, ends = run.setting.apparatus.run.distance, run.parts[-1].phase.ends
    if not run.moves or distance is None or ends is None:
        return
    if run.ending not in (Ending.LANDS, Ending.COVERED):
        counted = run.setting.apparatus.run.object
        yield _note(
            f"short.{'reaches' if run.ending is Ending.REACHES else 'ends'}",
            ends=end_in_words(ends, run.setting.the),
            the_object=_say("it") if ends.subject == counted else run.setting.the(counted),
            distance=run.amount(float(distance), "m"),
        )


def otherwise(run: Happening, other: Happening, whose: str) -> Iterator[str]:
    """Where a run isn't like another with other numbers; ``whose``: scenario or example."""
    there = other.sentence()
    if run.moves != other.moves:
        yield _note(f"otherwise.{'moves' if run.moves else 'still'}", whose=whose, there=there)
    elif run.moves and (run.watched[0], run.way[0]) != (other.watched[0], other.way[0]):
        the = run.setting.the(run.watched[0])
        yield _note("otherwise.way", the_object=the, whose=whose, there=there)
    elif run.moves and _course(run) != _course(other):
        yield _note("otherwise.ending", whose=whose, there=there)
    for string in run.slack:
        if string not in other.slack:
            the = run.setting.the(string)
            yield _note("otherwise.slack", the_string=the, whose=whose)


def _course(run: Happening) -> tuple[tuple[int, ...], End | None]:
    return run.way, run.parts[-1].phase.ends


def _note(key: str, **parts: str) -> str:
    return upper_first(_say(key, **parts))


def _say(key: str, **parts: str) -> str:
    return without_formulas(fill(sentence(f"happens.{key}", FILE), **parts))
