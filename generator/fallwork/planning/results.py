"""Every result of a scenario by a name of its own, in SI units.

Takes a scenario and the local gravity; gives what a worked solution may print: times, velocities,
accelerations, forces, works and changes of energy. What is given or undetermined is left out.
"""

from collections import Counter
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from math import floor, log10

from fallwork.mechanics import account, apparatus_of, solve
from fallwork.mechanics.apparatus import Apparatus
from fallwork.mechanics.solution import Interaction, Phase
from fallwork.scenario import Scenario

_SIZES = (Interaction.NORMAL, Interaction.FRICTION, Interaction.ROLLING, Interaction.CONTACT)


@dataclass(frozen=True, kw_only=True)
class Result:
    """A computed value."""

    value: float
    unit: str  # SI, as in the table of units


def alike(own: Result, other: Result, figures: int) -> bool:
    """Whether sizes differ by less than the last of the ``figures`` of the first one."""
    size = abs(own.value)
    last = 10.0 ** (floor(log10(size)) - figures + 1) if size else 0.0
    return abs(size - abs(other.value)) < last


def results_of(scenario: Scenario, gravity: float) -> Mapping[str, Result]:
    """Name -> result, e.g. ``driven, acceleration of cart``; ``gravity`` in m/s²."""
    apparatus = apparatus_of(scenario, gravity)
    found: dict[str, Result] = {}
    seen: Counter[str] = Counter()
    for phase in solve(apparatus).phases:
        seen[phase.name] += 1
        times = f" {seen[phase.name]}" if seen[phase.name] > 1 else ""
        for name, value, unit in _of_phase(scenario, apparatus, phase):
            if value is not None:
                found[f"{phase.name}{times}, {name}"] = Result(value=float(value) + 0.0, unit=unit)
    return found


_Row = tuple[str, float | None, str]


def _of_phase(scenario: Scenario, apparatus: Apparatus, phase: Phase) -> Iterator[_Row]:
    yield "duration", phase.duration, "s"
    for name, acceleration in phase.accelerations.items():
        yield f"acceleration of {name}", acceleration, "m/s²"
    for name, velocity in phase.end_velocities.items():
        yield f"velocity of {name} at the end", velocity, "m/s"
    for string, pulls in phase.tensions.items():
        for name, pull in pulls.items():
            yield f"tension of {string} on {name}", pull, "N"
    for force in phase.forces:
        if force.interaction in _SIZES and force.on in apparatus.bodies:
            yield f"size of {force.name}", force.size, "N"
    for choice in scenario.systems:
        yield from _of_system(apparatus, phase, choice.id, choice.members)


def _of_system(
    apparatus: Apparatus, phase: Phase, name: str, members: tuple[str, ...]
) -> Iterator[_Row]:
    system = account(apparatus, phase, members)
    for force in system.external:
        yield f"work of {force.name} in {name}", force.work, "J"
    yield f"external work in {name}", system.external_work, "J"
    for kind, change in system.energy_changes.items():
        yield f"change of {kind} energy in {name}", change, "J"
