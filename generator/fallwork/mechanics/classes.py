"""The choices of system to list: all of them for few objects, for more the telling classes.

Takes an apparatus, a phase and the choices that somebody dwells on; gives accounts. Choices double
with every object, and what takes up no energy and does no work can be added to any of them.
"""

from collections.abc import Iterable, Iterator
from dataclasses import replace

from fallwork.mechanics.accounts import account, accounts, objects
from fallwork.mechanics.apparatus import Apparatus
from fallwork.mechanics.solution import Phase, SystemAccount
from fallwork.scenario.nouns import EARTH

EVERY_CHOICE = 10  # objects, strings, surfaces and the Earth; of more, classes are listed


def is_small(apparatus: Apparatus) -> bool:
    """Whether every choice of system is listed."""
    return len(objects(apparatus)) <= EVERY_CHOICE


def systems(
    apparatus: Apparatus, phase: Phase, featured: Iterable[Iterable[str]] = ()
) -> tuple[SystemAccount, ...]:
    """Every choice of system of a small set-up; of a larger one a class for each telling choice.

    A class has its least members, which may be none, and what can be added to them ``at_will``.
    Works and energies belong to objects and to pairs: with each object and each pair that does work
    listed, the account of any other choice is a sum of these.
    """
    if is_small(apparatus):
        return accounts(apparatus, phase)
    neutrality = _Neutrality(apparatus, phase)
    chosen = (*featured, *_telling(apparatus, phase))
    classes = {neutrality.without(members) for members in chosen}
    return tuple(
        _class(apparatus, phase, members, neutrality.besides(members))
        for members in sorted(classes, key=lambda each: (len(each), each))
    )


def _class(
    apparatus: Apparatus, phase: Phase, members: tuple[str, ...], at_will: tuple[str, ...]
) -> SystemAccount:
    found = account(apparatus, phase, members or (EARTH,))
    working = tuple(force for force in found.external if force.reason is None)
    return replace(found, members=members, external=working, at_will=at_will)


class _Neutrality:
    """What makes no difference to a system: it has no energy of its own in this phase, no work is
    done on it from outside the system, and it does none on members."""

    def __init__(self, apparatus: Apparatus, phase: Phase) -> None:
        self.everything = objects(apparatus)
        self.energetic = {name for name in self.everything if _has_energy(apparatus, phase, name)}
        self.done_by: dict[str, set[str]] = {name: set() for name in self.everything}
        self.done_on: dict[str, set[str]] = {name: set() for name in self.everything}
        for force in phase.forces:
            if force.reason is None:
                self.done_on[force.on].add(force.partner)
                self.done_by.setdefault(force.partner, set()).add(force.on)

    def _holds(self, name: str, members: set[str]) -> bool:
        return (
            name not in self.energetic
            and self.done_on[name] <= members
            and self.done_by[name].isdisjoint(members)
        )

    def without(self, members: Iterable[str]) -> tuple[str, ...]:
        """The members that make a difference, sorted."""
        left = set(members)
        for name in sorted(left):
            if self._holds(name, left):
                left.remove(name)
        return tuple(sorted(left))

    def besides(self, members: Iterable[str]) -> tuple[str, ...]:
        """What can be added, in any combination."""
        there = set(members)
        return tuple(n for n in self.everything if n not in there and self._holds(n, there))


def _has_energy(apparatus: Apparatus, phase: Phase, name: str) -> bool:
    """Whether something with mass moves, or something with inertia turns."""
    thing = apparatus.bodies.get(name) or apparatus.pulleys.get(name)
    moves = phase.start_velocities.get(name) or phase.end_velocities.get(name, 0.0) != 0
    turns = (
        phase.start_angular_velocities.get(name) or phase.end_angular_velocities.get(name, 0.0) != 0
    )
    inertia = name in apparatus.pulleys and apparatus.pulleys[name].inertia
    return thing is not None and bool((thing.mass and moves) or (inertia and turns))


def _telling(apparatus: Apparatus, phase: Phase) -> Iterator[tuple[str, ...]]:
    """Each object, each pair that does work, each string with all on it, and ever more together."""
    everything = objects(apparatus)
    yield from ((name,) for name in everything)
    for force in phase.forces:
        if force.reason is None and force.partner in everything:
            yield force.partner, force.on
    for string in apparatus.strings.values():
        yield string.name, *(name for name in string.path if name not in apparatus.anchors)
    together: tuple[str, ...] = ()
    for more in (
        tuple(phase.displacements),
        tuple(apparatus.strings),
        tuple(apparatus.pulleys),
        (EARTH,),
        tuple(apparatus.surfaces),
    ):
        together = (*together, *more)
        yield together
