"""The answer key for programs: SI units, nothing rounded.

Takes an apparatus and its solution; gives plain dicts, lists and floats. Whatever the apparatus
doesn't determine is None.
"""

from collections.abc import Mapping
from typing import Any

from fallwork.lesson.run import end_in_words
from fallwork.mechanics import systems
from fallwork.mechanics.apparatus import Apparatus
from fallwork.mechanics.solution import Phase, Solution, SystemAccount
from fallwork.scenario import Scenario


def key_data(scenario: Scenario, apparatus: Apparatus, solution: Solution) -> dict[str, Any]:
    """Every computed quantity, in every phase and for the choices of system that are listed."""
    return {
        "scenario": scenario.id,
        "gravity": _number(solution.gravity),
        "moves": solution.moves,
        "phases": [_phase(scenario, apparatus, phase) for phase in solution.phases],
    }


def _phase(scenario: Scenario, apparatus: Apparatus, phase: Phase) -> dict[str, Any]:
    featured = [choice.members for choice in scenario.systems]
    return {
        "name": phase.name,
        "ends": end_in_words(phase.ends, str) or None,
        "duration": _number(phase.duration),
        "accelerations": _numbers(phase.accelerations),
        "displacements": _numbers(phase.displacements),
        "start_velocities": _numbers(phase.start_velocities),
        "end_velocities": _numbers(phase.end_velocities),
        "tensions": {string: _numbers(pulls) for string, pulls in phase.tensions.items()},
        "systems": [_system(system) for system in systems(apparatus, phase, featured)],
    }


def _system(system: SystemAccount) -> dict[str, Any]:
    return {
        "members": list(system.members),
        **({} if system.at_will is None else {"with_or_without": list(system.at_will)}),
        "external_works": {force.name: _number(force.work) for force in system.external},
        "external_work": _number(system.external_work),
        "energy_changes": _numbers(system.energy_changes),
        "energy_change": _number(system.energy_change),
    }


def _numbers(values: Mapping[str, float | None]) -> dict[str, float | None]:
    return {name: _number(value) for name, value in values.items()}


def _number(value: float | None) -> float | None:
    """A plain float; a zero has no sign."""
    return None if value is None else float(value) + 0.0
