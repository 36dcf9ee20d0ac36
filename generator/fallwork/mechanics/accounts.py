"""The choice of system: what is external, which works are done, which energies change.

Takes an apparatus and a phase; gives one account for each choice: external work equals the change
of energy for every one of them. Choices double with every object, and what takes up no energy and
does no work can be added to any of them, so of many only the telling ones are listed.
"""

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from itertools import accumulate, chain, combinations

from fallwork.mechanics.apparatus import Apparatus, Body, Interaction, Number
from fallwork.mechanics.solution import Force, Phase, SystemAccount
from fallwork.scenario.nouns import EARTH

NOISE = 1e-13  # of a sum, relative to the sizes of its terms
EVERY_CHOICE = 10  # objects, strings, surfaces and the Earth; of more, classes are listed


def objects(apparatus: Apparatus) -> tuple[str, ...]:
    """Everything that can be a member of a system, sorted by plain character order."""
    return tuple(sorted(apparatus.members))


def account(apparatus: Apparatus, phase: Phase, members: Iterable[str]) -> SystemAccount:
    """One choice of system in one phase."""
    chosen = frozenset(members)
    external, internal = _split(phase.forces, chosen)
    changes = _energy_changes(apparatus, phase, chosen, internal)
    works = [force.work for force in external]
    if phase.alternatives and None in works:
        # Any possible forces give the sum: the change of energy, which the motion alone decides.
        works = [force.work for force in _split(phase.alternatives[0], chosen)[0]]
    return SystemAccount(
        members=tuple(sorted(chosen)),
        external=external,
        internal=internal,
        external_work=_total(works),
        energy_changes=changes,
        energy_change=_total(changes.values()),
    )


def _split(
    forces: Sequence[Force], chosen: frozenset[str]
) -> tuple[tuple[Force, ...], tuple[Force, ...]]:
    """Forces on members by non-members, and by members."""
    on_members = [force for force in forces if force.on in chosen]
    external = tuple(force for force in on_members if force.partner not in chosen)
    return external, tuple(force for force in on_members if force.partner in chosen)


def _energy_changes(
    apparatus: Apparatus, phase: Phase, chosen: frozenset[str], internal: Sequence[Force]
) -> dict[str, float | None]:
    """Only the kinds of energy that the members can have."""
    moving = [name for name in phase.displacements if name in chosen]
    masses = {name: float(apparatus.thing(name).mass) for name in moving}
    along = phase.start_velocities, phase.end_velocities
    changes: dict[str, float | None] = {}
    if moving:
        changes["kinetic"] = _total(_gain(mass, name, *along) for name, mass in masses.items())
    rims = phase.start_angular_velocities, phase.end_angular_velocities
    turning = [  # wheels, uniform rolling discs: m v²/4; pulleys with inertia: I ω²/2
        *((name, each.wheel_mass / 2, along) for name, each in apparatus.bodies.items()),
        *((name, each.inertia, rims) for name, each in apparatus.pulleys.items()),
    ]
    rotational = [_gain(inertia, n, *v) for n, inertia, v in turning if n in chosen and inertia]
    if rotational:
        changes["rotational"] = _total(rotational)
    if EARTH in chosen and any(masses.values()):
        changes["potential"] = _total(_lift(apparatus, phase, name) for name in moving)
    rubbing = [force.work for force in internal if force.interaction is Interaction.FRICTION]
    if rubbing:
        heat = _total(rubbing)
        changes["thermal"] = None if heat is None else 0.0 - heat
    return changes


def _gain(
    inertia: Number, name: str, starts: Mapping[str, float], ends: Mapping[str, float | None]
) -> float | None:
    """Of ½ inertia × speed²."""
    end = ends[name]
    if inertia == 0:
        return 0.0
    return None if end is None else float(inertia) * (end**2 - starts[name] ** 2) / 2


def _lift(apparatus: Apparatus, phase: Phase, name: str) -> float | None:
    """The potential energy that a body and the Earth gain: weight times rise."""
    moved, thing, rise = phase.displacements[name], apparatus.thing(name), -1.0
    if isinstance(thing, Body) and thing.surface is not None:
        rise = float(apparatus.surfaces[thing.surface].tangent[1])
    if thing.mass == 0 or rise == 0:
        return 0.0
    weight = float(thing.mass) * float(apparatus.gravity)
    return None if moved is None else weight * rise * moved + 0.0


def _total(values: Iterable[float | None]) -> float | None:
    """The sum, without what rounding leaves of terms that cancel; None if any is unknown."""
    every = [*values]
    known = [value for value in every if value is not None]
    total = sum(known, 0.0)
    small = abs(total) <= NOISE * sum(map(abs, known))
    return None if len(known) < len(every) else 0.0 if small else total


def accounts(apparatus: Apparatus, phase: Phase) -> tuple[SystemAccount, ...]:
    """Every non-empty choice of system, ordered by size, then by members."""
    everything = objects(apparatus)
    sizes = (combinations(everything, size) for size in range(1, len(everything) + 1))
    return tuple(account(apparatus, phase, members) for members in chain.from_iterable(sizes))


def is_small(apparatus: Apparatus) -> bool:
    """Whether every choice of system is listed."""
    return len(apparatus.members) <= EVERY_CHOICE


def systems(
    apparatus: Apparatus, phase: Phase, featured: Iterable[Iterable[str]] = ()
) -> tuple[SystemAccount, ...]:
    """Every choice of system of a small set-up; of a larger one a class for each telling choice. A
    class has its least members, which may be none, and what can be added to them ``at_will``. Works
    and energies belong to objects and to pairs: with each object and each pair that does work
    listed, the account of any other choice is a sum of these.
    """
    if is_small(apparatus):
        return accounts(apparatus, phase)
    idle, classes = _idle(apparatus, phase), set[tuple[str, ...]]()
    for chosen in (*featured, *_telling(apparatus, phase)):
        left = {*chosen}
        for name in sorted(left):
            if idle(name, left):
                left.remove(name)
        classes.add(tuple(sorted(left)))
    found: list[SystemAccount] = []
    for members in sorted(classes, key=lambda each: (len(each), each)):
        one, there = account(apparatus, phase, members or (EARTH,)), {*members}
        working = tuple(force for force in one.external if force.reason is None)
        others = (name for name in objects(apparatus) if name not in there)
        at_will = tuple(name for name in others if idle(name, there))
        found.append(replace(one, members=members, external=working, at_will=at_will))
    return tuple(found)


def _idle(apparatus: Apparatus, phase: Phase) -> Callable[[str, set[str]], bool]:
    """Whether something makes no difference to a system of these members: it has no energy of its
    own in this phase, no work is done on it from outside the system, and it does none on members.
    """
    pulleys = apparatus.pulleys
    heavy = {name for name in (*apparatus.bodies, *pulleys) if apparatus.thing(name).mass}
    massive = {name for name, pulley in pulleys.items() if pulley.inertia}
    energetic = {
        name
        for starts, ends, able in (
            (phase.start_velocities, phase.end_velocities, heavy),
            (phase.start_angular_velocities, phase.end_angular_velocities, massive),
        )
        for name in able
        if starts.get(name) or ends.get(name, 0.0) != 0
    }
    works = {(force.partner, force.on) for force in phase.forces if force.reason is None}

    def idle(name: str, members: set[str]) -> bool:
        on_it = {partner for partner, on in works if on == name}
        by_it = {on for partner, on in works if partner == name}
        return name not in energetic and on_it <= members and by_it.isdisjoint(members)

    return idle


def _telling(apparatus: Apparatus, phase: Phase) -> Iterator[tuple[str, ...]]:
    """Each object, each pair that does work, each string with all on it, and ever more together."""
    everything = objects(apparatus)
    yield from ((name,) for name in everything)
    for force in phase.forces:
        if force.reason is None and force.partner in everything:
            yield force.partner, force.on
    for string in apparatus.strings.values():
        yield string.name, *(name for name in string.path if name not in apparatus.anchors)
    more = phase.displacements, apparatus.strings, apparatus.pulleys, (EARTH,), apparatus.surfaces
    yield from accumulate(tuple(each) for each in more)
