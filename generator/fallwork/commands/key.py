"""The answer key of one scenario, for people or for programs.

Takes what was typed; gives the text to print. For programs it is in SI units and unrounded, and
whatever the apparatus doesn't determine is null.
"""

import json
from collections.abc import Mapping, Sequence
from typing import Any

from fallwork.commands.given import data, table, what_follows
from fallwork.commands.keytable import key_table
from fallwork.commands.sources import key_source
from fallwork.lesson.run import end_in_words
from fallwork.measurement import Case, Estimate
from fallwork.mechanics import apparatus_of, solve, systems
from fallwork.mechanics.apparatus import Apparatus
from fallwork.mechanics.solution import Phase, Solution, SystemAccount
from fallwork.scenario import Scenario


def answer_key(
    typed: str,
    *,
    term: str | None,
    numbers: Sequence[str],
    given: Sequence[str] = (),
    as_json: bool,
) -> str:
    """The key as a table, or as JSON (SI, unrounded), with what follows from values ``given``."""
    scenario, calculation = key_source(typed, term=term, numbers=numbers)
    apparatus = apparatus_of(scenario, calculation.gravity)
    solution = solve(apparatus)
    figures = calculation.figures
    found = what_follows(given, scenario, apparatus, solution, figures) if given else None
    if as_json:
        content = _data(scenario, apparatus, solution)
        content |= data(*found) if found else {}
        return json.dumps(content, indent=2, ensure_ascii=False, allow_nan=False)
    case = Case(scenario=scenario, gravity=Estimate(value=calculation.gravity, u=0.0))
    lines = [key_table(case, apparatus, solution, figures=figures)]
    return "\n".join([*lines, *(table(*found, figures) if found else [])])


def _data(scenario: Scenario, apparatus: Apparatus, solution: Solution) -> dict[str, Any]:
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
