"""How strings tie the motions of a set-up together, and what a phase of its run does.

Senses: the lesson counts each motion the way in which it goes in the end.
"""

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from functools import cached_property

from fallwork.lesson.lab.things import Things, those
from fallwork.mechanics.algebra import bonds
from fallwork.mechanics.solution import Ending


@dataclass(frozen=True)
class Stretch:
    """Part of a string. ``objects`` are those that it meets, both ends included."""

    string: str
    objects: tuple[str, ...]
    tension: float | None  # N; None where the apparatus doesn't determine it
    key: str  # lasting name, e.g. "tension.string" or "tension.string.1"
    last: int  # its last straight piece, counted along the path of the string


def rim(pulley: str) -> str:
    """The name under which the rim of a turning pulley stands among what moves."""
    return f"rim of {pulley}"


class Setup(Things):
    """One set-up with its solution, seen in one phase."""

    # By name: what hangs and goes up in this phase; what translates and doesn't rest.
    rising = those("hanging", lambda lab, name: lab.moves and lab.ways[name] < 0)
    moving = those("movers", lambda lab, name: not lab.rests(name))

    def constraint(self, string: str) -> Mapping[str, int]:
        """By how much a string would lengthen per unit of motion of each mover on it. A pulley on
        which it is wound counts by the motion of its rim, under ``rim(pulley)``. What a moving
        pulley carries moves with it and isn't named.
        """
        total: Counter[str] = Counter()
        for span in self.spans(string):
            total.update(span)
        return {name: factor for name, factor in total.items() if factor}

    def spans(self, string: str) -> tuple[Mapping[str, int], ...]:
        """The same for each taut stretch of a string between pulleys that take a torque to turn."""
        rigging = self.rigging
        names = [rim(each.name) if each.turns else each.name for each in rigging.coordinates]
        return tuple(
            {names[at]: factor for at, factor in rigging.spans[span].stretch.items()}
            for span in rigging.strings[string].spans
            if span in self.taut_spans
        )

    @cached_property
    def stretches(self) -> tuple[Stretch, ...]:
        """The parts of strings with one tension each; a pulley that takes a torque ends one."""
        found = []
        for string in self.apparatus.strings:
            line, pulls = self.rigging.strings[string], self.phase.segment_tensions[string]
            for number, span in enumerate((self.rigging.spans[at] for at in line.spans), start=1):
                key = f"tension.{string}" + (f".{number}" if len(line.spans) > 1 else "")
                objects = line.path[span.first : span.last + 2]
                found.append(Stretch(string, objects, pulls[span.first], key, span.last))
        return tuple(found)

    @property
    def tied(self) -> bool:
        """Whether one acceleration settles all others."""
        return bool(self.ratios)

    def bound_to(self, name: str) -> Mapping[int, Sequence[Fraction]]:
        """By coordinate, how far each moves that taut strings bind, for one of every coordinate
        that stays free; the last of these is that of a mover, if it can move.
        """
        last, count = self.rigging.of_object[name], len(self.rigging.coordinates)
        order = [*(at for at in range(count) if at != last), last]
        found = bonds(self.rigging.stretch_matrix()[sorted(self.taut_spans)][:, order])
        return {order[column]: factors for column, factors in found}

    @cached_property
    def ratios(self) -> Mapping[str, Fraction]:
        """How far each mover, and the rim of each turning pulley, goes along its fixed positive
        sense for one of the run's object; empty where the taut strings leave any of that open.
        """
        coordinates, chosen = self.rigging.coordinates, self.apparatus.run.object
        motions = {at: factors[-1] for at, factors in self.bound_to(chosen).items()}
        free = len(motions) < len(coordinates) - 1  # something isn't bound to the chosen mover
        if free or self.rigging.of_object[chosen] in motions or 0 in motions.values():
            return {}  # or that can't move
        names = [(rim(each.name),) if each.turns else each.members for each in coordinates]
        return {n: motions.get(at, Fraction(1)) for at, own in enumerate(names) for n in own}

    @cached_property
    def reference(self) -> str:
        """The mover of ``a`` and ``d``: the run's object, or one that goes less far."""
        order = (self.apparatus.run.object, *self.movers)
        return min(order, key=lambda name: abs(self.ratios.get(name, Fraction(1))))

    def ratio(self, name: str) -> Fraction:
        """How far a mover goes along its own way for one of the reference mover."""
        return abs(self.ratios[name] / self.ratios[self.reference])

    def rim(self, pulley: str) -> Fraction:
        """The same of the string that runs over a pulley, seen from its axle."""
        return self.ratio(rim(pulley))

    @cached_property
    def senses(self) -> Mapping[str, int]:
        """+1 where the lesson counts a motion along its mover's fixed positive sense: where it goes
        in the end, so that a run that turns round keeps one positive direction; where nothing
        moves, the way the run's object would draw the others.
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
        firsts, moved = self.phase.start_velocities, self.phase.displacements
        gains = self.phase.accelerations
        first = {n: (self.landed and firsts[n]) or moved[n] or firsts[n] for n in self.movers}
        return {n: -1 if (way or gains.get(n, 0.0)) < 0 else 1 for n, way in first.items()}

    @property
    def onward(self) -> int:
        """+1 where the phase moves in the lesson's sense; -1 on the way out of one that returns."""
        back = self.tied and self.senses[self.reference] != self.ways[self.reference]
        return -1 if back else 1

    @cached_property
    def spins(self) -> Mapping[str, int]:
        """The sense in which the lesson counts each pulley's turning, likewise."""
        if self.tied:
            reference = self.senses[self.reference] * self.ratios[self.reference]
            return {n: 1 if self.ratios[rim(n)] * reference > 0 else -1 for n in self.rotors}
        firsts, gains = self.phase.start_angular_velocities, self.phase.angular_accelerations
        ways = {n: self.turned_rad(n) or firsts.get(n) or gains.get(n, 0.0) for n in self.rotors}
        return {name: -1 if way < 0 else 1 for name, way in ways.items()}

    def turned_rad(self, pulley: str) -> float | None:
        """The angle by which a pulley turns in the phase, rad; None where nothing ends it."""
        first = self.phase.start_angular_velocities.get(pulley, 0.0)
        gain, time = self.phase.angular_accelerations.get(pulley), self.phase.duration
        return None if gain is None or time is None else first * time + gain * time**2 / 2

    @property
    def starts_moving(self) -> bool:
        """Whether the phase starts with a speed other than zero."""
        return any(self.phase.start_velocities.values())

    def rests(self, name: str) -> bool:
        """Whether a mover stays where it is during the phase."""
        phase = self.phase
        return not phase.start_velocities[name] and phase.accelerations.get(name) == 0.0

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
        subject = (self.phase.ends and self.phase.ends.subject) or ""
        return subject if subject in self.scenario.objects else self.apparatus.run.object

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
