"""Every result of a scenario by a name of its own, in SI units.

Takes a scenario and the local gravity; gives what a worked solution may print: times, velocities,
accelerations, forces, works and changes of energy. What is given or undetermined is left out.
"""

from collections import Counter
from collections.abc import Iterator, Mapping
from math import floor, log10
from typing import NamedTuple

from fallwork.mechanics import account, apparatus_of, solve
from fallwork.mechanics.apparatus import Apparatus
from fallwork.mechanics.solution import Force, Interaction, Phase, Role
from fallwork.scenario import Scenario
from fallwork.scenario.model import SystemChoice
from fallwork.scenario.nouns import Nouns

_SIZES = (Interaction.NORMAL, Interaction.FRICTION, Interaction.ROLLING, Interaction.CONTACT)
_KINDS = {
    Interaction.NORMAL: "normal force",
    Interaction.ROLLING: "force at the rims",
    Interaction.CONTACT: "contact force",
    Interaction.AXLE: "axle force",
    Interaction.LANDING: "landing force",
}
_WHEN = {
    Role.LANDING: " in the landing",
    Role.COASTING: " while coasting",
    Role.RUNNING_ON: " after the distance",
}


class Result(NamedTuple):
    """A computed value."""

    value: float
    unit: str  # SI, as in the table of units
    words: str = ""  # what it is, for a reader


def force_in_words(force: Force, nouns: Nouns) -> str:
    """A force as messages and the answer key name it, e.g. ``normal force of the track on …``."""
    kind = _KINDS.get(force.interaction, force.interaction.value)
    return f"{kind} of {nouns.the(force.partner)} on {nouns.the(force.on)}"


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
        when = _WHEN.get(phase.role, "") + (f" in part {phase.part}" if phase.part > 1 else "")
        for name, words, value, unit in _of_phase(scenario, apparatus, phase):
            if value is not None:
                result = Result(float(value) + 0.0, unit, f"{words}{when}{times}")
                found[f"{phase.name}{times}, {name}"] = result
    return found


_Row = tuple[str, str, float | None, str]


def _of_phase(scenario: Scenario, apparatus: Apparatus, phase: Phase) -> Iterator[_Row]:
    nouns, the = scenario.nouns, scenario.nouns.the
    yield "duration", "time" if phase.role in _WHEN else "time of the run", phase.duration, "s"
    for name, acceleration in phase.accelerations.items():
        yield f"acceleration of {name}", f"acceleration of {the(name)}", acceleration, "m/s²"
    for name, end in phase.end_velocities.items():
        yield f"velocity of {name} at the end", f"final velocity of {the(name)}", end, "m/s"
    for string, pulls in phase.tensions.items():
        for name, pull in pulls.items():
            words = f"tension of {the(string)} on {the(name)}"
            yield f"tension of {string} on {name}", words, pull, "N"
    for force in phase.forces:
        if force.interaction in _SIZES and force.on in apparatus.bodies:
            yield f"size of {force.name}", force_in_words(force, nouns), force.size, "N"
    for choice in scenario.systems:
        yield from _of_system(apparatus, phase, choice, nouns)


def _of_system(
    apparatus: Apparatus, phase: Phase, choice: SystemChoice, nouns: Nouns
) -> Iterator[_Row]:
    system, of = account(apparatus, phase, choice.members), f"(system “{choice.title}”)"
    for force in system.external:
        words = f"work of {force_in_words(force, nouns)} {of}"
        yield f"work of {force.name} in {choice.id}", words, force.work, "J"
    yield f"external work in {choice.id}", f"external work {of}", system.external_work, "J"
    for kind, change in system.energy_changes.items():
        name = f"change of {kind} energy"
        yield f"{name} in {choice.id}", f"{name} {of}", change, "J"
