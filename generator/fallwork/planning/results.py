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
from fallwork.mechanics.solution import Force, Interaction, Phase, Role, ZeroWork
from fallwork.scenario import Scenario
from fallwork.scenario.model import SystemChoice
from fallwork.scenario.nouns import Nouns

_SIZES = (Interaction.NORMAL, Interaction.FRICTION, Interaction.ROLLING)
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


class Row(NamedTuple):
    """A quantity of a phase, as a line of the answer key."""

    name: str  # stands on record; "" for what is given as often as computed
    words: str
    value: float | None  # None: undetermined
    unit: str
    choice: SystemChoice | None = None  # of which it is a work or an energy
    reason: ZeroWork | None = None  # of a work that is zero


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
        for row in rows_of(scenario, apparatus, phase):
            if row.name and row.value is not None:
                of = f" (system “{row.choice.title}”)" if row.choice else ""
                words = f"{row.words}{of}{when}{times}"
                result = Result(float(row.value) + 0.0, row.unit, words)
                found[f"{phase.name}{times}, {row.name}"] = result
    return found


def rows_of(scenario: Scenario, apparatus: Apparatus, phase: Phase) -> Iterator[Row]:
    """The motion, the forces, then works and energies of the systems that the pages dwell on."""
    nouns, the = scenario.nouns, scenario.nouns.the
    time = "time" if phase.role in _WHEN else "time of the run"
    yield Row("duration", time, phase.duration, "s")
    for name, words, values, unit in (
        ("acceleration of {}", "acceleration of {}", phase.accelerations, "m/s²"),
        ("", "displacement of {}", phase.displacements, "m"),
        ("", "initial velocity of {}", phase.start_velocities, "m/s"),
        ("velocity of {} at the end", "final velocity of {}", phase.end_velocities, "m/s"),
    ):
        for of, value in values.items():
            yield Row(name.format(of), words.format(the(of)), value, unit)
    for string, pulls in phase.tensions.items():
        for of, pull in pulls.items():
            words = f"tension of {the(string)} on {the(of)}"
            yield Row(f"tension of {string} on {of}", words, pull, "N")
    for force in phase.forces:
        if force.interaction in _SIZES and force.on in apparatus.bodies:
            yield Row(f"size of {force.name}", force_in_words(force, nouns), force.size, "N")
    for choice in scenario.systems:
        system = account(apparatus, phase, choice.members)
        for force in system.external:
            words, name = f"work of {force_in_words(force, nouns)}", f"work of {force.name}"
            yield Row(f"{name} in {choice.id}", words, force.work, "J", choice, force.reason)
        changes = {f"change of {kind} energy": x for kind, x in system.energy_changes.items()}
        for words, value in {"external work": system.external_work, **changes}.items():
            yield Row(f"{words} in {choice.id}", words, value, "J", choice)
        yield Row("", "change of energy", system.energy_change, "J", choice)
