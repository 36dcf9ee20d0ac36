"""The answer key as plain text for whoever marks the reports.

Takes a scenario, its apparatus and its solution; gives lines in columns, rounded to the course's
significant figures. Unrounded values are in ``keyjson``.
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, fields
from typing import Any

from fallwork.lesson.rounding import to_figures
from fallwork.lesson.words import upper_first
from fallwork.mechanics import account, accounts
from fallwork.mechanics.apparatus import Apparatus
from fallwork.mechanics.solution import Force, Phase, Solution, SystemAccount
from fallwork.scenario.model import Quantity, Scenario
from fallwork.scenario.nouns import Nouns
from fallwork.scenario.quantity import as_written

_NOISE = 1e-12  # of the sum of a system's works and energies
_UNKNOWN = "not determined"


@dataclass(frozen=True)
class _Row:
    """A line in columns."""

    words: str
    value: str
    remark: str = ""


def key_table(scenario: Scenario, apparatus: Apparatus, solution: Solution, *, figures: int) -> str:
    """Numbers used, then each phase with its motion, tensions and choices of system."""
    blocks = [
        [
            scenario.title,
            f"{scenario.id}; g = {solution.gravity:.10g} m/s²; "
            f"results to {figures} significant figures",
            "Every object counts positive in its own sense: forward on a surface, "
            "downward for what hangs.",
        ],
        ["Numbers used", *_columns(_numbers_used(scenario))],
    ]
    for phase in solution.phases:
        blocks.extend(_phase(scenario, apparatus, phase, figures))
    if solution.notes:
        blocks.append(
            [
                "Notes",
                *(f"  {upper_first(note.said(scenario.nouns.the))}" for note in solution.notes),
            ]
        )
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


def _phase(
    scenario: Scenario, apparatus: Apparatus, phase: Phase, figures: int
) -> Iterator[list[str]]:
    nouns = scenario.nouns
    ends = f", until {phase.ends.said(nouns.the)}" if phase.ends else ""
    yield [f"Phase: {phase.name}{ends}", *_columns(_motion(phase, nouns, figures))]
    for choice in scenario.systems:
        system = account(apparatus, phase, choice.members)
        title = f"  System: {choice.title} ({nouns.listed(choice.members)})"
        yield [title, *_columns(_system(system, nouns, figures), indent=4)]
    featured = {frozenset(choice.members) for choice in scenario.systems}
    others = [
        system for system in accounts(apparatus, phase) if frozenset(system.members) not in featured
    ]
    yield ["  Other choices of system", *_columns(_classes(others, nouns, figures), indent=4)]


def _motion(phase: Phase, nouns: Nouns, figures: int) -> Iterator[_Row]:
    def row(words: str, value: float | None, unit: str) -> _Row:
        return _Row(words, _amount(value, unit, figures))

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
        if force.interaction.value in {"normal", "friction", "rolling"} and force.on in (
            phase.accelerations
        ):
            yield row(_name(force, nouns), force.size, "N")


def _name(force: Force, nouns: Nouns) -> str:
    return f"{force.interaction.value} of {nouns.the(force.partner)} on {nouns.the(force.on)}"


def _system(system: SystemAccount, nouns: Nouns, figures: int) -> Iterator[_Row]:
    for force in system.external:
        yield _Row(
            f"work of {_name(force, nouns)}", _amount(force.work, "J", figures), _reason(force)
        )
    yield _Row("external work", _amount(system.external_work, "J", figures))
    for kind, change in system.energy_changes.items():
        yield _Row(f"change of {kind} energy", _amount(change, "J", figures))
    yield _Row("change of energy", _amount(system.energy_change, "J", figures))


def _reason(force: Force) -> str:
    return force.reason.value if force.reason else ""


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
    words = max((len(row.words) for row in table), default=0)
    values = max((len(row.value) for row in table if row.remark), default=0)
    return [
        f"{'':{indent}}{row.words:<{words}}  {row.value:<{values}}  {row.remark}".rstrip()
        for row in table
    ]
