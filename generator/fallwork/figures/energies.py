"""The energies of a choice of system through a phase: takes its account, gives lines in the path.

Within a phase every force is constant, so each energy changes in proportion to the path: a start
and an end say all. Joule; zero of potential energy: each object's lowest place in the phase.
"""

from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from fallwork.figures.scene import CannotDrawError, Scene, of_force, say
from fallwork.mechanics import account
from fallwork.scenario.nouns import EARTH

_NEGLIGIBLE = 1e-9  # of the largest energy


@dataclass(frozen=True, kw_only=True)
class EnergyLine:
    """One energy, or what work has brought in or taken away since the start."""

    words: str  # "kinetic energy of the cart"
    short: str  # "kinetic, cart"
    role: str
    start: float = 0.0  # J
    end: float  # J

    @property
    def most(self) -> float:
        """The largest value on the way, J."""
        return max(abs(self.start), abs(self.end))

    def at(self, part: float) -> float:
        """J after a part of the path, from 0 to 1; both ends exact."""
        return (1.0 - part) * self.start + part * self.end


@dataclass(frozen=True, kw_only=True)
class Energies:
    """``lines`` together grow by just what ``came_in``."""

    title: str
    lines: tuple[EnergyLine, ...]  # inside; then what negative external work took, as positive
    came_in: tuple[EnergyLine, ...]  # brought in by positive external work

    def total(self, part: float) -> float:
        """The sum of all lines in J."""
        return sum(line.at(part) for line in self.lines)


def energies_of(scene: Scene) -> Energies:
    """The energies of the slot's system in its phase."""
    title, members = _members_of(scene)
    whole = account(scene.apparatus, scene.phase, members)
    if whole.external_work is None or whole.energy_change is None:
        raise CannotDrawError(f"the energies of {title!r} can't be told")
    lines = [*_of_members(scene, "kinetic", members), *_of_members(scene, "rotational", members)]
    thermal = whole.energy_changes.get("thermal") or 0.0
    words, short = say("energy-thermal"), say("energy-thermal-short")
    lines.append(EnergyLine(words=words, short=short, role="accent-4", end=thermal))
    if EARTH in members:
        lines += _of_members(scene, "potential", members)
    works: dict[str, float] = defaultdict(float)  # external, by kind of interaction
    for force in whole.external:
        works[of_force(force, "by")] += force.work or 0.0
    came_in: list[EnergyLine] = []
    for by, work in works.items():
        words = say("energy-left" if work < 0 else "energy-came-in", interaction=by)
        short = say("energy-left-short", interaction=by)
        line = EnergyLine(words=words, short=short, role="accent-4", end=abs(work))
        (lines if work < 0 else came_in).append(line)
    least = _NEGLIGIBLE * max((line.most for line in (*lines, *came_in)), default=0.0)
    seen, brought = (tuple(line for line in e if line.most > least) for e in (lines, came_in))
    if not seen and not brought:
        raise CannotDrawError(f"no energy of {title!r} changes")
    return Energies(title=title, lines=seen, came_in=brought)


def _members_of(scene: Scene) -> tuple[str, tuple[str, ...]]:
    """A system's title and members: one of the scenario's by id, or names with commas between."""
    for choice in scene.scenario.systems:
        if choice.id == scene.subject:
            return choice.title, choice.members
    names = tuple(name.strip() for name in scene.subject.split(",") if name.strip())
    if not names:  # all that has energy
        apparatus = scene.apparatus
        turning = [name for name, p in apparatus.pulleys.items() if p.moving or p.inertia]
        names = (*apparatus.bodies, *turning, *apparatus.strings, EARTH)
    return scene.scenario.nouns.listed(names), names


def _of_members(scene: Scene, kind: str, members: Sequence[str]) -> Iterator[EnergyLine]:
    """One kind of energy of each member, with the change that its account has."""
    bodies, phase = scene.apparatus.bodies, scene.phase
    for name in members:
        thing = bodies.get(name) or scene.apparatus.pulleys.get(name)
        if thing is None:
            continue
        group = (name, EARTH) if kind == "potential" else (name,)
        change = account(scene.apparatus, phase, group).energy_changes.get(kind) or 0.0
        speed = phase.start_velocities.get(name, 0.0)
        spin = phase.start_angular_velocities.get(name, 0.0)
        if kind == "potential":
            start, role = max(0.0, -change), "accent-2"
        elif kind == "kinetic":
            slides = name in bodies and bodies[name].surface
            start, role = float(thing.mass) * speed**2 / 2, "accent-1" if slides else "accent-3"
        elif name in bodies:  # wheels are uniform discs that roll
            start, role = float(bodies[name].wheel_mass) * speed**2 / 4, "accent-5"
        else:
            start, role = float(scene.apparatus.pulleys[name].inertia) * spin**2 / 2, "accent-5"
        if start or change:
            words = say(f"energy-{kind}", object=scene.the(name))
            short, end = say(f"energy-{kind}-short", object=scene.noun(name)), start + change
            yield EnergyLine(words=words, short=short, role=role, start=start, end=end)
