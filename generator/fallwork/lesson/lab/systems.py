"""What the steps about each choice of system ask: what is external, and why some of it does no
work; which strings inside do works that cancel.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property

from fallwork.lesson.expression import Expression, Negative, Symbol
from fallwork.lesson.lab.acting import Acting
from fallwork.lesson.lab.base import Base
from fallwork.lesson.lab.energies import Energies
from fallwork.lesson.trees import ZERO
from fallwork.mechanics.solution import Force, Interaction, ZeroWork
from fallwork.scenario.nouns import EARTH


@dataclass(frozen=True)
class Cancelling:
    """A string inside a system, and the works that it does on members: in sum nothing."""

    string: str
    works: Sequence[tuple[str, Expression]]  # an object and the work on it, positive ones first
    tension: Symbol
    seen: str | None = None  # the object to which the same pull was external in an earlier system
    alike: Sequence[str] = ()  # all taut strings inside, where more than one do the same


class System(Energies):
    """A featured choice of system."""

    lab: "Systems"

    @property
    def id(self) -> str:
        """The beginning of the ids of its steps."""
        return self.choice.id

    @property
    def title(self) -> str:
        """As its author calls it."""
        return self.choice.title

    @cached_property
    def earlier(self) -> "tuple[System, ...]":
        """The featured systems before it."""
        return tuple(self.lab.systems[: self.lab.systems.index(self)])

    @property
    def first(self) -> bool:
        """Whether no other featured system comes before it."""
        return not self.earlier

    @property
    def widest(self) -> bool:
        """Whether it is the system with Earth that holds most of what moves."""
        return self == self.lab.whole

    @cached_property
    def external(self) -> tuple[Acting, ...]:
        """What acts on a member from outside."""
        return tuple(work for work in self._acting if work.why_none != "no-force")

    @cached_property
    def idle(self) -> tuple[Acting, ...]:
        """What of it does no work, those on moving or flexible members first."""
        return tuple(work for work in self._acting if not work.force.work and work.why_none)

    @property
    def _acting(self) -> Iterator[Acting]:
        forces = self.solved.external
        return (Acting(self.lab, force) for force in forces if force.on != EARTH)

    @property
    def told_before(self) -> set[str]:
        """The forces whose reason an earlier system has told."""
        return {each.force.name for system in self.earlier for each in system.idle}

    @property
    def pressed(self) -> tuple[str, ...]:
        """The members on which a normal force acts from outside, first those on slopes."""
        normal = (work.on for work in self.idle if work.sort == "normal")
        return tuple(sorted(normal, key=lambda on: self.lab.sine(on) is None))

    @property
    def pairs(self) -> list[str]:
        """The interactions between members, as forces on what moves or turns, in words."""
        pulled = (*self.lab.movers, *self.lab.rotors)
        inside = [f for f in self.solved.internal if f.reason is not ZeroWork.NO_FORCE]
        return list(dict.fromkeys(self.lab.phrase(f) for f in inside if f.on in pulled))

    # Works.

    @property
    def farther(self) -> tuple[str, ...]:
        """Members that do work and move farther than the distance d."""
        on = dict.fromkeys(work.on for work in self.works if work.on_mover)
        return tuple(name for name in on if self.lab.tied and self.lab.ratio(name) != 1)

    @property
    def first_loss(self) -> Force | None:
        """The first friction of a cart on wheels whose work any system counts."""
        told = any(system._losses for system in self.earlier)
        return None if told else next(iter(self._losses), None)

    @property
    def _losses(self) -> list[Force]:
        rolls = self.lab.rolls
        return [w.force for w in self.works if w.sort == "friction" and rolls(w.on)]

    @property
    def shows_pull(self) -> bool:
        """Whether the chart of the first slider's pull belongs here: to the first that can."""
        return self._feels_pull and not any(system._feels_pull for system in self.earlier)

    @property
    def _feels_pull(self) -> bool:
        slider = self.lab.sliders[:1]
        pulls = (w for w in self.works if w.sort == "tension" and w.force.work)
        return any((work.on,) == slider for work in pulls)

    # Potential energies.

    @property
    def level(self) -> tuple[str, ...]:
        """The members with mass that keep their height."""
        return tuple(name for name in self.massive if name not in self.falling)

    @property
    def heights_told(self) -> bool:
        """Whether an earlier system has the same potential energies."""
        return any(system.falling == self.falling for system in self.earlier)

    @property
    def heights_told_in_part(self) -> bool:
        """Whether an earlier system has some of them and no others."""
        falling = set(self.falling)
        return any(each.falling and set(each.falling) < falling for each in self.earlier)

    # Its energy balance.

    @property
    def without_tensions(self) -> bool:
        """Whether no tension enters the balance."""
        return set(self.moving) == set(self.lab.movers) and self.with_earth

    # Strings inside.

    @property
    def inner_string(self) -> Cancelling | None:
        """The string to be spoken of whose two ends pull members with one tension: one that was
        external to an earlier system, else the first.
        """
        strings = self._inner_strings
        seen = {string: self._pulled_before(string) for string in strings}
        chosen = next((s for s in strings if seen[s] is not None), next(iter(strings), None))
        if chosen is None:
            return None
        path = self.lab.apparatus.strings[chosen].path
        inside = [name for name in self.lab.taut if name in self.members]
        return Cancelling(
            string=chosen,
            works=_by_sign([(name, self._pull_work(chosen, name)) for name in (path[0], path[-1])]),
            tension=self.lab.tension(chosen, seen[chosen] or path[0]),
            seen=seen[chosen],
            alike=inside if len(inside) > 1 and inside == strings else (),
        )

    @property
    def passing_strings(self) -> Iterator[Cancelling]:
        """The other strings inside whose works cancel, as they pass a pulley inside."""
        for string in (name for name in self.lab.taut if name in self.members):
            acting = [f for f in self.solved.internal if f.partner == string and f.work]
            trees = [(force.on, Acting(self.lab, force).formula) for force in acting]
            works = [(name, tree) for name, tree in trees if tree is not None]
            leaves = any(work.on == string for work in self.works)
            if string in self._inner_strings or len(works) < max(2, len(trees)) or leaves:
                continue
            tension = self.lab.tension(string, self.lab.apparatus.strings[string].path[0])
            yield Cancelling(string=string, works=_by_sign(works), tension=tension)

    @cached_property
    def _inner_strings(self) -> list[str]:
        found = []
        for string in (name for name in self.lab.taut if name in self.members):
            path = self.lab.apparatus.strings[string].path
            ends = path[0] in self.moving and path[-1] in self.moving
            passed = any(name in self.lab.movers for name in path[1:-1])
            known = self.lab.stretch(string, path[0]).tension is not None
            if ends and not passed and known and self.lab.one_tension(string):
                found.append(string)
        return found

    def _pulled_before(self, string: str) -> str | None:
        """The member of an earlier system of one object that the string pulls from outside."""
        path = self.lab.apparatus.strings[string].path
        alone = (system.members[0] for system in self.earlier if len(system.members) == 1)
        return next((name for name in alone if name in (path[0], path[-1])), None)

    def _pull_work(self, string: str, name: str) -> Expression:
        """The work of a string's pull on the object at one of its ends."""
        forces = self.lab.forces_on(name)
        pulls = (f for f in forces if f.interaction is Interaction.TENSION and f.partner == string)
        return Acting(self.lab, next(pulls)).formula or ZERO


def _by_sign(works: list[tuple[str, Expression]]) -> list[tuple[str, Expression]]:
    return sorted(works, key=lambda work: isinstance(work[1], Negative))


class Systems(Base):
    """The featured choices of system."""

    @cached_property
    def systems(self) -> tuple[System, ...]:
        """In the order of the file."""
        return tuple(System(self, choice) for choice in self.scenario.systems)

    @cached_property
    def whole(self) -> System | None:
        """The one with Earth that holds most of what moves."""
        found = [system for system in self.systems if system.with_earth]
        return max(found, key=lambda each: len({*each.moving, *each.turning}), default=None)

    @property
    def without_earth(self) -> System | None:
        """The first one without Earth."""
        return next((system for system in self.systems if not system.with_earth), None)
