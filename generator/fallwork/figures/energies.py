"""The energies of a choice of system through a phase: takes its account, gives lines in the path.

Within a phase every force is constant, so each energy changes in proportion to the path: a start
and an end say all. Joule; zero of potential energy: each object's lowest place in the phase.
"""

from collections.abc import Iterator
from dataclasses import dataclass

from fallwork.figures.geometry import kind_of
from fallwork.figures.scene import CannotDrawError, Scene, say
from fallwork.mechanics import account
from fallwork.mechanics.solution import SystemAccount
from fallwork.scenario.nouns import EARTH

_NEGLIGIBLE = 1e-9  # of the largest energy


@dataclass(frozen=True, kw_only=True)
class EnergyLine:
    """One energy, or what work has brought in or taken away since the start."""

    words: str  # "kinetic energy of the cart"
    short: str  # "kinetic, cart"
    role: str
    start: float  # J
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
    """``stored`` and ``left`` together grow by just what ``came_in``."""

    title: str
    members: tuple[str, ...]
    stored: tuple[EnergyLine, ...]  # inside the system
    left: tuple[EnergyLine, ...]  # taken away by negative external work, counted positive
    came_in: tuple[EnergyLine, ...]  # brought in by positive external work

    @property
    def lines(self) -> tuple[EnergyLine, ...]:
        """What a column is made of, from below."""
        return (*self.stored, *self.left)

    def total(self, part: float) -> float:
        """The sum of all lines in J."""
        return sum(line.at(part) for line in self.lines)


def energies_of(scene: Scene) -> Energies:
    """The energies of the slot's system in the first phase."""
    title, members = members_of(scene)
    whole = account(scene.apparatus, scene.phase, members)
    if whole.external_work is None or whole.energy_change is None:
        raise CannotDrawError(f"the energies of {title!r} can't be told")
    works = dict(_works(whole))
    stored = (
        *_kinetic(scene, members),
        *_rotational(scene, members),
        *_thermal(whole),
        *_potential(scene, members),
    )
    left = tuple(_left(kind, -work) for kind, work in works.items() if work < 0)
    came_in = tuple(_came_in(kind, work) for kind, work in works.items() if work > 0)
    most = max((line.most for line in (*stored, *left, *came_in)), default=0.0)
    if not most:
        raise CannotDrawError(f"no energy of {title!r} changes")

    def visible(lines: tuple[EnergyLine, ...]) -> tuple[EnergyLine, ...]:
        return tuple(line for line in lines if line.most > _NEGLIGIBLE * most)

    return Energies(
        title=title,
        members=members,
        stored=visible(stored),
        left=visible(left),
        came_in=visible(came_in),
    )


def members_of(scene: Scene) -> tuple[str, tuple[str, ...]]:
    """A system's title and members: one of the scenario's by id, or names with commas between."""
    for choice in scene.scenario.systems:
        if choice.id == scene.slot.subject:
            return choice.title, choice.members
    names = tuple(name.strip() for name in scene.slot.subject.split(",") if name.strip())
    if not names:
        names = (*_with_energy(scene), *scene.apparatus.strings, EARTH)
    return scene.scenario.nouns.listed(names), names


def _with_energy(scene: Scene) -> Iterator[str]:
    """Bodies, and pulleys that move or have inertia."""
    yield from scene.apparatus.bodies
    for name, pulley in scene.apparatus.pulleys.items():
        if pulley.moving or pulley.inertia:
            yield name


def _kinetic(scene: Scene, members: tuple[str, ...]) -> Iterator[EnergyLine]:
    for name in members:
        mass = _mass(scene, name)
        if mass and name in scene.phase.start_velocities:
            speeds = (scene.phase.start_velocities[name], scene.phase.end_velocities[name] or 0.0)
            slides = kind_of(scene.apparatus, name) == "slider"
            yield EnergyLine(
                words=say("energy-kinetic", object=scene.the(name)),
                short=say("energy-kinetic-short", object=scene.noun(name)),
                role="accent-1" if slides else "accent-3",
                start=mass * speeds[0] ** 2 / 2,
                end=mass * speeds[1] ** 2 / 2,
            )


def _mass(scene: Scene, name: str) -> float:
    thing = scene.apparatus.bodies.get(name) or scene.apparatus.pulleys.get(name)
    return float(thing.mass) if thing else 0.0


def _rotational(scene: Scene, members: tuple[str, ...]) -> Iterator[EnergyLine]:
    """Wheels start with their cart's speed; a pulley that already turns starts with its own."""
    for name in members:
        if name not in scene.apparatus.bodies and name not in scene.apparatus.pulleys:
            continue
        change = account(scene.apparatus, scene.phase, (name,)).energy_changes.get("rotational")
        if change:
            start = _rotation_at_start(scene, name, change)
            yield EnergyLine(
                words=say("energy-rotational", object=scene.the(name)),
                short=say("energy-rotational-short", object=scene.noun(name)),
                role="accent-5",
                start=start,
                end=start + change,
            )


def _rotation_at_start(scene: Scene, name: str, change: float) -> float:
    """J. Uniform discs that roll: a quarter of m v². A pulley: from its change and its turning."""
    body = scene.apparatus.bodies.get(name)
    if body is not None:
        return float(body.wheel_mass) * scene.phase.start_velocities[name] ** 2 / 4
    inertia = float(scene.apparatus.pulleys[name].inertia)
    gained = scene.phase.angular_accelerations.get(name, 0.0) * (scene.phase.duration or 0.0)
    if not gained:
        return 0.0
    turning = change / (inertia * gained) - gained / 2  # rad/s: ΔK = I Δω (ω₀ + Δω/2)
    return inertia * turning**2 / 2 if abs(turning) > _NEGLIGIBLE * abs(gained) else 0.0


def _potential(scene: Scene, members: tuple[str, ...]) -> Iterator[EnergyLine]:
    for name in members if EARTH in members else ():
        if not _mass(scene, name):
            continue
        changes = account(scene.apparatus, scene.phase, (name, EARTH)).energy_changes
        change = changes.get("potential") or 0.0
        if change:
            yield EnergyLine(
                words=say("energy-potential", object=scene.the(name)),
                short=say("energy-potential-short", object=scene.noun(name)),
                role="accent-2",
                start=max(0.0, -change),
                end=max(0.0, change),
            )


def _thermal(whole: SystemAccount) -> Iterator[EnergyLine]:
    change = whole.energy_changes.get("thermal")
    if change:
        yield EnergyLine(
            words=say("energy-thermal"),
            short=say("energy-thermal-short"),
            role="accent-4",
            start=0.0,
            end=change,
        )


def _works(whole: SystemAccount) -> Iterator[tuple[str, float]]:
    """The external works in J by kind of interaction."""
    found: dict[str, float] = {}
    for force in whole.external:
        kind = force.interaction.key
        found[kind] = found.get(kind, 0.0) + (force.work or 0.0)
    yield from found.items()


def _left(kind: str, amount: float) -> EnergyLine:
    interaction = say(f"by-{kind}")
    return EnergyLine(
        words=say("energy-left", interaction=interaction),
        short=say("energy-left-short", interaction=interaction),
        role="accent-4",
        start=0.0,
        end=amount,
    )


def _came_in(kind: str, amount: float) -> EnergyLine:
    interaction = say(f"by-{kind}")
    return EnergyLine(
        words=say("energy-came-in", interaction=interaction),
        short=say("energy-came-in", interaction=interaction),
        role="ink",
        start=0.0,
        end=amount,
    )
