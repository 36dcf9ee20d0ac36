"""The answer key as plain text for whoever marks the reports.

Takes a scenario, its apparatus and its solution; gives lines in columns, rounded to the course's
significant figures, with the standard uncertainty where the givens leave more than the last of them
uncertain. Unrounded values are in ``key``.
"""

from collections.abc import Iterable, Iterator
from math import hypot
from typing import NamedTuple

from fallwork.commands.output import columns
from fallwork.lesson.rounding import claims_too_much, to_figures, with_uncertainty
from fallwork.lesson.run import end_in_words, notes_of, reason_in_words
from fallwork.measurement.inputs import Case, quantities_of
from fallwork.mechanics import account, is_small, solve, systems
from fallwork.mechanics.apparatus import Apparatus
from fallwork.mechanics.solution import Interaction, Phase, Solution, SystemAccount
from fallwork.planning.results import force_in_words
from fallwork.scenario import Scenario, Slider
from fallwork.scenario.nouns import Nouns
from fallwork.scenario.quantity import as_written

_NOISE = 1e-12  # of the sum of a system's works and energies
_SIZES = (Interaction.NORMAL, Interaction.FRICTION, Interaction.ROLLING)  # told beside tensions
_WIDEST = 60  # characters, of words beside which values stand below one another
_ALL = "  Other choices of system"
_SOME = (
    "  Some other choices of system, without what takes up no energy and does no work "
    "(the scenario’s systems name any other)"
)
_HEAD = """\
{scenario.title}
{scenario.id}; g = {gravity:.10g} m/s²; results to {figures} significant figures, \
with ± where the givens leave more than the last of them uncertain
Every object counts positive in its own sense: forward on a surface, downward for what hangs."""


class _Row(NamedTuple):
    words: str
    value: float | None
    unit: str
    remark: str = ""


_Key = tuple[int, str, str]  # phase, title of the block, words of the row


def key_table(case: Case, apparatus: Apparatus, solution: Solution, *, figures: int) -> str:
    """Numbers used, then each phase with its motion, tensions and choices of system."""
    scenario, the = case.scenario, case.scenario.nouns.the
    head = _HEAD.format(scenario=scenario, gravity=solution.gravity, figures=figures)
    blocks = [[head], ["Numbers used", *columns(_numbers_used(scenario), widest=_WIDEST)]]
    known = _uncertainties(case, apparatus, solution)
    for at, phase in enumerate(solution.phases):
        ends = f", until {end_in_words(phase.ends, the)}" if phase.ends else ""
        above = [f"Phase: {phase.name}{ends}"]
        for title, rows in _blocks(scenario, apparatus, phase):
            cells = [
                (row.words, _told(row, known[at, title, row.words], figures), row.remark)
                for row in rows
            ]
            above += [title] if title else []
            blocks.append([*above, *columns(cells, 4 if title else 2, _WIDEST)])
            above = []
        others = list(_others(scenario, apparatus, phase, figures))
        title = _ALL if is_small(apparatus) else _SOME
        blocks.append([title, *columns(others, 4, _WIDEST)])
    if notes := notes_of(solution, the):
        blocks.append(["Notes", *(f"  {note}" for note in notes)])
    return "\n\n".join("\n".join(block) for block in blocks)


def _numbers_used(scenario: Scenario) -> list[tuple[str, str, str]]:
    """Every given number under the key by which ``--set`` changes it."""
    counts = {
        f"{name}.wheels.mass": f"{thing.wheels.count} wheels"
        for name, thing in scenario.objects.items()
        if isinstance(thing, Slider) and thing.wheels
    }
    found = quantities_of(scenario)
    return [(path, as_written(given), counts.get(path, "")) for path, given in found]


def _uncertainties(case: Case, apparatus: Apparatus, solution: Solution) -> dict[_Key, float]:
    """Standard, of each row: what each given changes when it is greater by its own."""
    values = _values(case.scenario, apparatus, solution)
    known = dict.fromkeys(values, 0.0)
    for given, _, high in case.ends:
        more = case.apparatus({given.name: high})
        changed = _values(case.scenario, more, solve(more))
        for key, value in values.items():
            other = changed.get(key)
            if value is not None and other is not None:
                known[key] = hypot(known[key], other - value)
    return known


def _values(
    scenario: Scenario, apparatus: Apparatus, solution: Solution
) -> dict[_Key, float | None]:
    return {
        (at, title, row.words): row.value
        for at, phase in enumerate(solution.phases)
        for title, rows in _blocks(scenario, apparatus, phase)
        for row in rows
    }


def _blocks(
    scenario: Scenario, apparatus: Apparatus, phase: Phase
) -> Iterator[tuple[str, list[_Row]]]:
    """The motion, which has no title, and the systems that the pages dwell on."""
    nouns = scenario.nouns
    yield "", list(_motion(phase, nouns))
    for choice in scenario.systems:
        system = account(apparatus, phase, choice.members)
        title = f"  System: {choice.title} ({nouns.listed(choice.members)})"
        yield title, list(_system(system, nouns))


def _motion(phase: Phase, nouns: Nouns) -> Iterator[_Row]:
    the = nouns.the
    yield _Row("duration", phase.duration, "s")
    for words, values, unit in (
        ("acceleration of {}", phase.accelerations, "m/s²"),
        ("displacement of {}", phase.displacements, "m"),
        ("velocity of {} at the start", phase.start_velocities, "m/s"),
        ("velocity of {} at the end", phase.end_velocities, "m/s"),
    ):
        for name, value in values.items():
            yield _Row(words.format(the(name)), value, unit)
    for string, pulls in phase.tensions.items():
        for name, pull in pulls.items():
            yield _Row(f"tension of {the(string)} on {the(name)}", pull, "N")
    for force in phase.forces:
        if force.interaction in _SIZES and force.on in phase.accelerations:
            yield _Row(force_in_words(force, nouns), force.size, "N")


def _system(system: SystemAccount, nouns: Nouns) -> Iterator[_Row]:
    for force in system.external:
        words = f"work of {force_in_words(force, nouns)}"
        yield _Row(words, force.work, "J", reason_in_words(force.reason))
    yield _Row("external work", system.external_work, "J")
    for kind, change in system.energy_changes.items():
        yield _Row(f"change of {kind} energy", change, "J")
    yield _Row("change of energy", system.energy_change, "J")


def _told(row: _Row, u: float, figures: int) -> str:
    if row.value is not None and claims_too_much(row.value, u, figures):
        return with_uncertainty(row.value, u).plus_minus(row.unit)
    return _amount(row.value, row.unit, figures)


def _amount(value: float | None, unit: str, figures: int) -> str:
    return "not determined" if value is None else f"{to_figures(value, figures)} {unit}"


def _others(
    scenario: Scenario, apparatus: Apparatus, phase: Phase, figures: int
) -> Iterator[tuple[str, str]]:
    """Choices of system that no page dwells on; those that read alike in one line, under the
    smallest of them.
    """
    featured = {frozenset(choice.members) for choice in scenario.systems}
    alike: dict[str, list[SystemAccount]] = {}
    for system in systems(apparatus, phase):
        if system.members and frozenset(system.members) not in featured:
            alike.setdefault(_line(system, figures), []).append(system)
    for line, found in alike.items():
        more = f" and {len(found) - 1} more" if len(found) > 1 else ""
        yield f"{scenario.nouns.listed(found[0].members)}{more}", line


def _line(system: SystemAccount, figures: int) -> str:
    terms = (*(force.work for force in system.external), *system.energy_changes.values())
    noise = _NOISE * sum(abs(term) for term in terms if term is not None)

    def told(values: Iterable[float | None]) -> list[str]:
        """But for what cancelling floats leave behind."""
        return [_amount(each, "J", figures) for each in values if each is None or abs(each) > noise]

    energies = ", ".join(
        f"{kind} {amount}"
        for kind, change in system.energy_changes.items()
        for amount in told([change])
    )
    (work,) = told([system.external_work]) or ["0 J"]
    return f"external work {work}; {energies or 'no change of energy'}"
