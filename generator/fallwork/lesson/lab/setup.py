"""How strings tie the motions of a set-up together, and what a phase of its run does.

Senses: the lesson counts each motion the way in which it goes in the end.
"""

from collections import Counter
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from fractions import Fraction
from functools import cached_property

from fallwork.lesson.lab.things import Things
from fallwork.mechanics.algebra import bonds
from fallwork.mechanics.rigging import Coordinate
from fallwork.mechanics.solution import Ending


@dataclass(frozen=True, kw_only=True)
class Stretch:
    """Part of a string. ``objects`` are those that it meets, both ends included."""

    string: str
    objects: tuple[str, ...]
    tension: float | None  # N; None where the apparatus doesn't determine it
    key: str  # lasting name, e.g. "tension.string" or "tension.string.1"


def rim(pulley: str) -> str:
    """The name under which the rim of a turning pulley stands among what moves."""
    return f"rim of {pulley}"


class Setup(Things):
    """One set-up with its solution, seen in one phase."""

    # ---- how the strings tie the motions

    def constraint(self, string: str, *, slack: bool = False) -> Mapping[str, int]:
        """By how much a string would lengthen per unit of motion of each mover on it; ``slack``:
        its slack stretches too.

        A pulley on which the string is wound counts by the motion of its rim, under
        ``rim(pulley)``. What a moving pulley carries moves with it and isn't named.
        """
        total: Counter[str] = Counter()
        for span in self.spans(string, slack=slack):
            total.update(span)
        return {name: factor for name, factor in total.items() if factor}

    def spans(self, string: str, *, slack: bool = False) -> tuple[Mapping[str, int], ...]:
        """The same for each taut stretch of a string between pulleys that take a torque to turn."""
        rigging = self.rigging
        return tuple(
            {_named(rigging.coordinates[at]): k for at, k in rigging.spans[span].stretch.items()}
            for span in rigging.strings[string].spans
            if slack or span in self.taut_spans
        )

    @cached_property
    def stretches(self) -> tuple[Stretch, ...]:
        """The stretches of string that have one tension each, in the order of the strings and along
        them. A pulley that takes a torque to turn ends a stretch; an ideal one doesn't.
        """
        return tuple(each for string in self.apparatus.strings for each in self._stretches(string))

    def _stretches(self, string: str) -> Iterator[Stretch]:
        line, pulls = self.rigging.strings[string], self.phase.segment_tensions[string]
        for number, at in enumerate(line.spans, start=1):
            span = self.rigging.spans[at]
            yield Stretch(
                string=string,
                objects=line.path[span.first : span.last + 2],
                tension=pulls[span.first],
                key=f"tension.{string}" + (f".{number}" if len(line.spans) > 1 else ""),
            )

    @property
    def tied(self) -> bool:
        """Whether one acceleration settles all others."""
        return bool(self.ratios)

    @cached_property
    def ratios(self) -> Mapping[str, Fraction]:
        """How far each mover, and the rim of each turning pulley, goes along its fixed positive
        sense for one of the run's object; empty where the taut strings leave any of that open.
        """
        coordinates, chosen = self.rigging.coordinates, self.apparatus.run.object
        first = self.rigging.of_object[chosen]
        order = [*(at for at in range(len(coordinates)) if at != first), first]
        found = bonds(self.rigging.stretch_matrix()[sorted(self.taut_spans)][:, order])
        if [column for column, _ in found] != list(range(len(order) - 1)):
            return {}  # something isn't bound to the chosen mover, or that can't move
        motions = {order[column]: factors[-1] for column, factors in found}
        if 0 in motions.values():
            return {}
        return {
            name: motions.get(at, Fraction(1))
            for at, each in enumerate(coordinates)
            for name in ((rim(each.name),) if each.turns else each.members)
        }

    @cached_property
    def reference(self) -> str:
        """The mover whose acceleration is ``a`` and whose path is ``d``: the run's object, or one
        that goes less far.
        """
        chosen = self.apparatus.run.object
        far = {name: abs(self.ratios[name]) for name in self.movers if self.tied}
        slowest = [name for name in far if far[name] == min(far.values())]
        return chosen if not slowest or chosen in slowest else slowest[0]

    def ratio(self, name: str) -> Fraction:
        """How far a mover goes along its own way for one of the reference mover."""
        return abs(self.ratios[name] / self.ratios[self.reference])

    def rim(self, pulley: str) -> Fraction:
        """How far the string runs over a pulley for one of the reference mover, as a size, relative
        to its axle.
        """
        return self.ratio(rim(pulley))

    @cached_property
    def senses(self) -> Mapping[str, int]:
        """The sense in which the lesson counts each mover's motion: +1 its fixed positive one.

        The way it goes in the end, so that a run that turns round keeps one positive direction;
        where nothing moves, the way the run's object would draw the others.
        """
        if self.moves:
            return self.at(self.driven[-1]).ways if self.comes_back else self.ways
        return {name: 1 if self.ratios.get(name, 1) >= 0 else -1 for name in self.movers}

    @property
    def comes_back(self) -> bool:
        """Whether the phase belongs to a run of several parts, in each of which all is tied."""
        return self.index in self.driven[:-1] and self.tied and self.at(self.driven[-1]).tied

    @cached_property
    def ways(self) -> Mapping[str, int]:
        """The sense in which each mover goes in this phase; after a landing, at its start."""
        phase = self.phase

        def travel(name: str) -> float:
            first = phase.start_velocities[name]
            moved = (self.landed and first) or phase.displacements[name] or first
            return moved or phase.accelerations.get(name, 0.0)

        return {name: -1 if travel(name) < 0 else 1 for name in self.movers}

    @property
    def rising(self) -> tuple[str, ...]:
        """What hangs and goes up in this phase."""
        return tuple(name for name in self.hanging if self.moves and self.ways[name] < 0)

    @property
    def onward(self) -> int:
        """+1 where the phase moves in the lesson's sense; -1 on the way out of a run that comes
        back.
        """
        back = self.tied and self.senses[self.reference] != self.ways[self.reference]
        return -1 if back else 1

    @cached_property
    def spins(self) -> Mapping[str, int]:
        """The sense in which the lesson counts each pulley's turning, likewise."""
        if self.tied:
            reference = self.senses[self.reference] * self.ratios[self.reference]
            return {n: 1 if self.ratios[rim(n)] * reference > 0 else -1 for n in self.rotors}
        return {name: -1 if self._turn(name) < 0 else 1 for name in self.rotors}

    def _turn(self, pulley: str) -> float:
        """Something with the sign of the angle by which a pulley turns in this phase."""
        first = self.phase.start_angular_velocities.get(pulley, 0.0)
        gain = self.phase.angular_accelerations.get(pulley, 0.0)
        time = self.phase.duration or 0.0
        return first * time + gain * time**2 / 2 or first or gain

    # ---- what the phase does

    @property
    def starts_moving(self) -> bool:
        """Whether the phase starts with a speed other than zero."""
        return any(self.phase.start_velocities.values())

    def rests(self, name: str) -> bool:
        """Whether a mover stays where it is during the phase."""
        phase = self.phase
        return not phase.start_velocities[name] and phase.accelerations.get(name) == 0.0

    @property
    def moving(self) -> tuple[str, ...]:
        """What translates and doesn't rest."""
        return tuple(name for name in self.movers if not self.rests(name))

    @cached_property
    def constant(self) -> bool:
        """Whether the reference mover keeps its speed."""
        return self.moves and self.phase.accelerations.get(self.reference) == 0.0

    @property
    def turns_within(self) -> bool:
        """Whether the motion turns round during the phase, without any change of the forces."""
        return self.phase.start_velocities[self.reference] * self.ways[self.reference] < 0

    def first_speed(self, name: str) -> float:
        """The speed of a mover at the start of the phase, m/s."""
        return abs(self.phase.start_velocities[name])

    def end_speed(self, name: str) -> float | None:
        """The speed of a mover at the end of the phase, m/s; None where nothing ends it.

        Negative where it leads against the sense in which the mover has moved in the end.
        """
        speed = self.phase.end_velocities[name]
        return None if speed is None else speed * self.senses[name] + 0.0

    def path(self, name: str) -> float | None:
        """How far a mover goes in the phase, m; None where nothing ends it."""
        moved = self.phase.displacements[name]
        return None if moved is None else abs(moved)

    @property
    def ending(self) -> Ending | None:
        """How the phase ends; None where nothing ends it."""
        return self.phase.ends.ending if self.phase.ends else None

    @property
    def ender(self) -> str:
        """The object that ends the phase; the run's object where none does."""
        subject = self.phase.ends.subject if self.phase.ends else None
        here = subject in self.scenario.objects
        return subject if subject and here else self.apparatus.run.object

    @property
    def turns(self) -> bool:
        """Whether the phase ends because all motion has come to a stop."""
        turned = self.ending in (Ending.TURNS, Ending.SPIN_TURNS)
        return (turned or self.rests_at_end) and self.starts_moving and self.tied

    @property
    def rests_at_end(self) -> bool:
        """Whether what stops at the end of the phase stays where it is."""
        return self.ending in (Ending.RESTS, Ending.SPIN_STOPS)

    @property
    def ends_by_distance(self) -> bool:
        """Whether the first phase ends because the run's object has moved by the run's distance."""
        return self.at(0).ending in (Ending.LANDS, Ending.COVERED)


def _named(coordinate: Coordinate) -> str:
    """What moves along a coordinate; of a turning pulley its rim."""
    return rim(coordinate.name) if coordinate.turns else coordinate.name
