"""The answer key of one scenario, for people or for programs.

Takes what was typed; gives what to print. For programs it is in SI units and unrounded, and
whatever the apparatus doesn't determine is null. With values that a student has found, such as
``tension=0.78 N``, it also says what follows from them, for marking.
"""

from collections.abc import Mapping, Sequence
from typing import Any

from fallwork.commands.keytable import key_table
from fallwork.commands.output import as_json
from fallwork.commands.sources import key_source
from fallwork.commands.typed import CallError, named_by, read_amount
from fallwork.lesson import build_lesson
from fallwork.lesson.answers import Following, following, results
from fallwork.lesson.document import Lesson
from fallwork.lesson.expression import Symbol
from fallwork.lesson.latex import plain
from fallwork.lesson.rounding import to_figures
from fallwork.lesson.run import end_in_words
from fallwork.measurement.inputs import Case
from fallwork.measurement.model import Estimate
from fallwork.mechanics import apparatus_of, solve, systems
from fallwork.mechanics.apparatus import Apparatus
from fallwork.mechanics.solution import Phase, SystemAccount
from fallwork.scenario import Scenario
from fallwork.scenario.report import shown

_Given = Sequence[tuple[Symbol, float]]


def answer_key(
    scenario: str,
    *,
    term: str | None,
    numbers: Sequence[str],
    given: Sequence[str],
    json: bool,
) -> list[str]:
    """The key as a table, or as JSON (SI, unrounded), with what follows from values ``given``."""
    what, calculation = key_source(scenario, term=term, numbers=numbers)
    apparatus, figures = apparatus_of(what, calculation.gravity), calculation.figures
    solution = solve(apparatus)
    values: _Given = ()
    found: Sequence[Following] = ()
    if given:
        lesson = build_lesson(what, apparatus, solution, figures=figures, numbers=True)
        values = [_given(word, lesson) for word in given]
        found = tuple(following(lesson, {s.id: value for s, value in values}))
    if json:
        content = {
            "scenario": what.id,
            "gravity": _number(solution.gravity),
            "moves": solution.moves,
            "phases": [_phase(what, apparatus, phase) for phase in solution.phases],
        }
        return as_json(content | (_data(values, found) if given else {}))
    case = Case(scenario=what, gravity=Estimate(value=calculation.gravity, u=0.0))
    lines = [key_table(case, apparatus, solution, figures=figures)]
    return [*lines, *(_table(values, found, figures) if given else [])]


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


# ---- what follows from a student's values


def _given(word: str, lesson: Lesson) -> tuple[Symbol, float]:
    name, equals, text = word.partition("=")
    if not equals:
        raise CallError("no-equals", word=shown(word))
    known = [found.of for found in results(lesson)]
    symbol = named_by(name, known, one=True)[0]
    amount, unit = read_amount(text), symbol.unit.replace("·", " ")
    if amount.unit not in ("", unit):
        typed = shown(text.strip())
        raise CallError("other-unit", typed=typed, quantity=symbol.meaning, unit=unit)
    return symbol, amount.value


def _table(given: _Given, found: Sequence[Following], figures: int) -> list[str]:
    said = (f"{plain(symbol)} = {value:g} {symbol.unit}".strip() for symbol, value in given)
    lines = ["", f"What follows from {', '.join(said)}"]
    for one in found:
        value, right = (to_figures(each, figures) for each in (one.value, one.instead_of))
        lines.append(
            f"  {one.of.meaning}: {value} {one.of.unit}".rstrip()
            + f" (in the key {right}), from {plain(one.formula)}, step {one.step.id}"
        )
    return lines if found else [*lines, "  nothing"]


def _data(given: _Given, found: Sequence[Following]) -> dict[str, Any]:
    return {
        "given": [
            {"quantity": symbol.id, "value": value, "unit": symbol.unit} for symbol, value in given
        ],
        "follows": [
            {
                "quantity": one.of.id,
                "value": one.value,
                "unit": one.of.unit,
                "formula": plain(one.formula),
                "step": one.step.id,
            }
            for one in found
        ],
    }
