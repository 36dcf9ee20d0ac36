"""The answer key as plain text for whoever marks the reports.

Takes a scenario, its apparatus and its solution; gives lines in columns, rounded to the course's
significant figures, with the standard uncertainty where the givens leave more than the last of them
uncertain. Unrounded values are in ``key``.
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, fields, replace
from math import hypot
from typing import Any

from fallwork.lesson.rounding import claims_too_much, to_figures, with_uncertainty
from fallwork.lesson.run import end_in_words, notes_of, reason_in_words
from fallwork.measurement import Case
from fallwork.mechanics import account, is_small, solve, systems
from fallwork.mechanics.apparatus import Apparatus
from fallwork.mechanics.solution import Interaction, Phase, Solution, SystemAccount
from fallwork.planning import force_in_words
from fallwork.scenario import Quantity, Scenario
from fallwork.scenario.nouns import Nouns
from fallwork.scenario.quantity import as_written

_NOISE = 1e-12  # of the sum of a system's works and energies
_UNKNOWN = "not determined"
_SIZES = (Interaction.NORMAL, Interaction.FRICTION, Interaction.ROLLING)  # told beside tensions
_WIDEST = 60  # characters, of words beside which values stand below one another
_SOME = (
    "  Some other choices of system, without what takes up no energy and does no work "
    "(the scenario’s systems name any other)"
)


@dataclass(frozen=True)
class _Row:
    """A line in columns."""

    words: str
    value: str
    remark: str = ""
    number: float | None = None  # what the value is, in this unit
    unit: str = ""


_Block = tuple[str, list[_Row]]  # a title, indented like its rows


def key_table(case: Case, apparatus: Apparatus, solution: Solution, *, figures: int) -> str:
    """Numbers used, then each phase with its motion, tensions and choices of system."""
    scenario = case.scenario
    blocks = [
        [
            scenario.title,
            f"{scenario.id}; g = {solution.gravity:.10g} m/s²; "
            f"results to {figures} significant figures, "
            "with ± where the givens leave more than the last of them uncertain",
            "Every object counts positive in its own sense: forward on a surface, "
            "downward for what hangs.",
        ],
        ["Numbers used", *_columns(_numbers_used(scenario))],
    ]
    known = _known(case, apparatus, solution)
    for at, phase in enumerate(solution.phases):
        ends = f", until {end_in_words(phase.ends, scenario.nouns.the)}" if phase.ends else ""
        whole = [f"Phase: {phase.name}{ends}"]
        for title, rows in _phase(scenario, apparatus, phase, figures):
            told = [_told(row, known.get((at, title, row.words), 0.0), figures) for row in rows]
            blocks.append([*whole, *([title] if title else []), *_columns(told, 4 if title else 2)])
            whole = []
    notes = notes_of(solution, scenario.nouns.the)
    if notes:
        blocks.append(["Notes", *(f"  {note}" for note in notes)])
    return "\n\n".join("\n".join(block) for block in blocks)


def _numbers_used(scenario: Scenario) -> Iterator[_Row]:
    """Every given number under the key by which ``--set`` changes it."""
    parts: list[tuple[str, Any]] = [
        *scenario.objects.items(),
        *scenario.surfaces.items(),
        ("run", scenario.run),
    ]
    for name, part in parts:
        for field in fields(part):
            value = getattr(part, field.name)
            if isinstance(value, Quantity):
                yield _Row(f"{name}.{field.name}", as_written(value))
        wheels = getattr(part, "wheels", None)
        if wheels is not None:
            yield _Row(f"{name}.wheels.mass", as_written(wheels.mass), f"{wheels.count} wheels")


_Key = tuple[int, str, str]  # phase, title of the block, words of the row


def _known(case: Case, apparatus: Apparatus, solution: Solution) -> dict[_Key, float]:
    """Standard uncertainties of the rows: what each given changes when it is greater by its own."""
    values = _numbers(case, apparatus, solution)
    known = dict.fromkeys(values, 0.0)
    for ends in case.ends:
        changed = _numbers(case, ends.more, solve(ends.more))
        for key in values.keys() & changed.keys():
            known[key] = hypot(known[key], changed[key] - values[key])
    return known


def _numbers(case: Case, apparatus: Apparatus, solution: Solution) -> dict[_Key, float]:
    return {
        (at, title, row.words): row.number
        for at, phase in enumerate(solution.phases)
        for title, rows in _featured(case.scenario, apparatus, phase, figures=1)
        for row in rows
        if row.number is not None
    }


def _told(row: _Row, u: float, figures: int) -> _Row:
    if row.number is None or not claims_too_much(row.number, u, figures):
        return row
    return replace(row, value=with_uncertainty(row.number, u).plus_minus(row.unit))


def _phase(
    scenario: Scenario, apparatus: Apparatus, phase: Phase, figures: int
) -> Iterator[_Block]:
    yield from _featured(scenario, apparatus, phase, figures)
    featured = {frozenset(choice.members) for choice in scenario.systems}
    others = [
        system
        for system in systems(apparatus, phase)
        if system.members and frozenset(system.members) not in featured
    ]
    heading = "  Other choices of system" if is_small(apparatus) else _SOME
    yield heading, list(_classes(others, scenario.nouns, figures))


def _featured(
    scenario: Scenario, apparatus: Apparatus, phase: Phase, figures: int
) -> Iterator[_Block]:
    """The motion, which has no title, and the systems that the pages dwell on."""
    nouns = scenario.nouns
    yield "", list(_motion(phase, nouns, figures))
    for choice in scenario.systems:
        system = account(apparatus, phase, choice.members)
        title = f"  System: {choice.title} ({nouns.listed(choice.members)})"
        yield title, list(_system(system, nouns, figures))


def _motion(phase: Phase, nouns: Nouns, figures: int) -> Iterator[_Row]:
    def row(words: str, value: float | None, unit: str) -> _Row:
        return _row(words, value, unit, figures)

    the = nouns.the
    yield row("duration", phase.duration, "s")
    for name, value in phase.accelerations.items():
        yield row(f"acceleration of {the(name)}", value, "m/s²")
    for name, displacement in phase.displacements.items():
        yield row(f"displacement of {the(name)}", displacement, "m")
    for name, velocity in phase.start_velocities.items():
        yield row(f"velocity of {the(name)} at the start", velocity, "m/s")
    for name, end in phase.end_velocities.items():
        yield row(f"velocity of {the(name)} at the end", end, "m/s")
    for string, pulls in phase.tensions.items():
        for name, pull in pulls.items():
            yield row(f"tension of {the(string)} on {the(name)}", pull, "N")
    for force in phase.forces:
        if force.interaction in _SIZES and force.on in phase.accelerations:
            yield row(force_in_words(force, nouns), force.size, "N")


def _system(system: SystemAccount, nouns: Nouns, figures: int) -> Iterator[_Row]:
    for force in system.external:
        yield _row(
            f"work of {force_in_words(force, nouns)}",
            force.work,
            "J",
            figures,
            reason_in_words(force.reason),
        )
    yield _row("external work", system.external_work, "J", figures)
    for kind, change in system.energy_changes.items():
        yield _row(f"change of {kind} energy", change, "J", figures)
    yield _row("change of energy", system.energy_change, "J", figures)


def _row(words: str, value: float | None, unit: str, figures: int, remark: str = "") -> _Row:
    return _Row(words, _amount(value, unit, figures), remark, value, unit)


def _classes(systems: Iterable[SystemAccount], nouns: Nouns, figures: int) -> Iterator[_Row]:
    """Choices that read alike in one line, under the smallest of them."""
    classes: dict[str, list[SystemAccount]] = {}
    for system in systems:
        classes.setdefault(_line(system, figures), []).append(system)
    for line, alike in classes.items():
        more = f" and {len(alike) - 1} more" if len(alike) > 1 else ""
        yield _Row(nouns.listed(alike[0].members) + more, line)


def _line(system: SystemAccount, figures: int) -> str:
    energies = ", ".join(
        f"{kind} {_amount(change, 'J', figures)}"
        for kind, change in system.energy_changes.items()
        if change is None or _counts(change, system)
    )
    work = system.external_work
    if work is not None and not _counts(work, system):
        work = 0.0
    return f"external work {_amount(work, 'J', figures)}; {energies or 'no change of energy'}"


def _counts(amount: float, system: SystemAccount) -> bool:
    """Whether an amount is more than what cancelling floats leave behind."""
    terms = (*(force.work for force in system.external), *system.energy_changes.values())
    return abs(amount) > _NOISE * sum(abs(term) for term in terms if term is not None)


def _amount(value: float | None, unit: str, figures: int) -> str:
    return _UNKNOWN if value is None else f"{to_figures(value, figures)} {unit}"


def _columns(rows: Iterable[_Row], indent: int = 2) -> list[str]:
    """Rows with their values below one another."""
    table = list(rows)
    words = min(max((len(row.words) for row in table), default=0), _WIDEST)
    values = max((len(row.value) for row in table if row.remark), default=0)
    return [
        f"{'':{indent}}{row.words:<{words}}  {row.value:<{values}}  {row.remark}".rstrip()
        for row in table
    ]
