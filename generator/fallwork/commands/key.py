"""The answer key of one scenario, for whoever marks the reports or for programs.

Takes what was typed; gives what to print: lines in columns, rounded to the course's significant
figures, with the standard uncertainty where the givens leave more than the last of them uncertain;
or JSON in SI units and unrounded, in which whatever the apparatus doesn't determine is null. With
values that a student has found, such as ``tension=0.78 N``, it also says what follows from them.
"""

from collections.abc import Iterator, Mapping, Sequence
from functools import partial
from itertools import groupby
from math import hypot
from operator import itemgetter
from typing import Any

from fallwork.commands import call
from fallwork.commands.call import CallError, Word, Words, as_json, columns, named_by, read_amount
from fallwork.errors import said
from fallwork.lesson.expression import Symbol
from fallwork.lesson.latex import plain
from fallwork.lesson.matching import Found
from fallwork.lesson.rounding import claims_too_much, to_figures, with_uncertainty
from fallwork.lesson.words import end_in_words, notes_of, reason_in_words
from fallwork.measurement.model import Estimate
from fallwork.measurement.prediction import Case
from fallwork.mechanics import apparatus_of, is_small, run_of, solve, systems
from fallwork.mechanics.apparatus import Apparatus
from fallwork.mechanics.solution import Phase, Solution, SystemAccount
from fallwork.planning.results import Row, rows_of
from fallwork.scenario import Scenario, Slider, as_written
from fallwork.scenario.numbers import quantities_of
from fallwork.scenario.report import shown

_said = partial(said, "commands")
_NOISE = 1e-12  # of the sum of a system's works and energies
_WIDEST = 60  # characters, of words beside which values stand below one another
_OF_PHASE = ("duration", "accelerations", "displacements", "start_velocities", "end_velocities")
_Given = Sequence[tuple[Symbol, float]]


def answer_key(
    scenario: str,
    *,
    term: Word,
    variant: str,
    every: bool,
    numbers: Words,
    given: Words,
    json: bool,
) -> list[str]:
    """The key of a lab or of a variant as a table, or as JSON (SI, unrounded), with what follows
    from values ``given``; of ``every`` variant one after another.
    """
    if every and variant:
        raise CallError("all-or-one")
    sources = call.in_variants(scenario, term, numbers)
    wanted = sources if every else {variant: call.called("variant", variant, sources)}
    keys = {name: _key(source, given, json=json) for name, source in wanted.items()}
    if json:
        own = keys.pop("" if every else variant)
        return as_json(own | ({"variants": keys} if keys else {}))
    heads = {name: [_said("variant-head", name=name)] if every and name else [] for name in keys}
    return [line for name, lines in keys.items() for line in (*heads[name], *lines)]


def _key(source: call.Source, given: Sequence[str], *, json: bool) -> Any:
    """The data of a key, or its lines."""
    what, (gravity, figures) = source.scenario, call.calculation(source.course)
    apparatus = apparatus_of(what, gravity)
    solution = run_of(what, apparatus)
    values: _Given = ()
    found: Sequence[Found] = ()
    if given:
        from fallwork.lesson.answers import following, results  # slow to import, and rarely needed
        from fallwork.lesson.build import build_lesson

        lesson = build_lesson(what, apparatus, solution, figures=figures, numbers=True)
        known = [found.of for found in results(lesson)]
        values = [_given(word, known) for word in given]
        found = tuple(following(lesson, {s.id: value for s, value in values}))
    if json:
        content = {
            "scenario": what.id,
            "gravity": gravity,
            "moves": solution.moves,
            "phases": [_phase_data(what, apparatus, phase) for phase in solution.phases],
        }
        return content | (_following_data(values, found) if given else {})
    case = Case(scenario=what, gravity=Estimate(value=gravity, u=0.0))
    lines = [key_table(case, apparatus, solution, figures=figures)]
    lines += _following_table(values, found, figures) if given else []
    return [what.worded(line) for line in lines]


# ---- for programs


def _phase_data(scenario: Scenario, apparatus: Apparatus, phase: Phase) -> dict[str, Any]:
    featured = [choice.members for choice in scenario.systems]
    return {
        "name": phase.name,
        "ends": end_in_words(phase.ends, str) or None,
        **{name: getattr(phase, name) for name in (*_OF_PHASE, "tensions")},
        "systems": [
            {
                "members": system.members,
                **({} if system.at_will is None else {"with_or_without": system.at_will}),
                "external_works": {force.name: force.work for force in system.external},
                "external_work": system.external_work,
                "energy_changes": system.energy_changes,
                "energy_change": system.energy_change,
            }
            for system in systems(apparatus, phase, featured)
        ],
    }


# ---- for people


_Place = tuple[int, str, str]  # number of the phase, title of the block, words of the row


def key_table(case: Case, apparatus: Apparatus, solution: Solution, *, figures: int) -> str:
    """Numbers used, then each phase with its motion, tensions and choices of system."""
    scenario, the = case.scenario, case.scenario.nouns.the
    wheels = {
        f"{name}.wheels.mass": f"{thing.wheels.count} wheels"
        for name, thing in scenario.objects.items()
        if isinstance(thing, Slider) and thing.wheels
    }
    used = [(p, as_written(each), wheels.get(p, "")) for p, each in quantities_of(scenario)]
    head = _said("key-head", scenario=scenario, gravity=float(apparatus.gravity), figures=figures)
    blocks = [[head], ["Numbers used", *columns(used, widest=_WIDEST)]]
    rows = _rows(scenario, apparatus, solution)
    known = _uncertainties(case, rows)
    for at, phase in enumerate(solution.phases):
        ends = f", until {end_in_words(phase.ends, the)}" if phase.ends else ""
        here = [place for place in rows if place[0] == at]
        for title, places in groupby(here, key=itemgetter(1)):
            cells = [
                (row.words, _told(row, known[place], figures), reason_in_words(row.reason))
                for place in places
                for row in [rows[place]]
            ]
            heading = f"  System: {title}" if title else f"Phase: {phase.name}{ends}"
            blocks.append([heading, *columns(cells, 4 if title else 2, _WIDEST)])
        others = list(_others(scenario, apparatus, phase, figures))
        which = _said("all-others" if is_small(apparatus) else "some-others")
        blocks.append([f"  {which}", *columns(others, 4, _WIDEST)])
    if notes := notes_of(solution, the):
        blocks.append(["Notes", *(f"  {note}" for note in notes)])
    return "\n\n".join("\n".join(block) for block in blocks)


def _rows(scenario: Scenario, apparatus: Apparatus, solution: Solution) -> dict[_Place, Row]:
    """The motion of each phase, which has no title, and the systems that the pages dwell on."""
    titles = {
        choice.id: f"{choice.title} ({scenario.nouns.listed(choice.members)})"
        for choice in scenario.systems
    }
    return {
        (at, titles[row.choice.id] if row.choice else "", row.words): row
        for at, phase in enumerate(solution.phases)
        for row in rows_of(scenario, apparatus, phase)
    }


def _uncertainties(case: Case, rows: Mapping[_Place, Row]) -> dict[_Place, float]:
    """Standard, of each row: what each given changes when it is greater by its own."""
    known = dict.fromkeys(rows, 0.0)
    for given, _, high in case.ends:
        more = case.apparatus({given.name: high})
        changed = _rows(case.scenario, more, solve(more))
        for place, row in rows.items():
            other = changed[place].value if place in changed else None
            if row.value is not None and other is not None:
                known[place] = hypot(known[place], other - row.value)
    return known


def _told(row: Row, u: float, figures: int) -> str:
    about_zero = row.value == 0 and u > _NOISE  # as on a track that may be tilted
    if row.value is not None and (about_zero or claims_too_much(row.value, u, figures)):
        return with_uncertainty(row.value, u).plus_minus(row.unit)
    return _amount(row.value, row.unit, figures)


def _amount(value: float | None, unit: str, figures: int) -> str:
    return "not determined" if value is None else f"{to_figures(value, figures)} {unit}"


def _others(
    scenario: Scenario, apparatus: Apparatus, phase: Phase, figures: int
) -> Iterator[tuple[str, str]]:
    """Choices that no page dwells on; those that read alike in one line, under the smallest."""
    featured = {frozenset(choice.members) for choice in scenario.systems}
    alike: dict[str, list[SystemAccount]] = {}
    for system in systems(apparatus, phase):
        if system.members and frozenset(system.members) not in featured:
            alike.setdefault(_line(system, figures), []).append(system)
    for line, found in alike.items():
        more = f"  + {len(found) - 1}" if len(found) > 1 else ""
        yield f"{scenario.nouns.listed(found[0].members)}{more}", line


def _line(system: SystemAccount, figures: int) -> str:
    """Its external work and energies, but for what cancelling floats leave behind."""
    changes = system.energy_changes
    terms = (*(force.work for force in system.external), *changes.values())
    noise = _NOISE * sum(abs(term) for term in terms if term is not None)
    told = {
        kind: _amount(each, "J", figures)
        for kind, each in {"": system.external_work, **changes}.items()
        if each is None or abs(each) > noise
    }
    work = told.pop("", "0 J")
    energies = ", ".join(f"{kind} {amount}" for kind, amount in told.items())
    return f"external work {work}; {energies or 'no change of energy'}"


# ---- what follows from a student's values


def _given(word: str, known: Sequence[Symbol]) -> tuple[Symbol, float]:
    name, equals, text = word.partition("=")
    if not equals:
        raise CallError("no-equals", word=shown(word))
    symbol = named_by(name, known, one=True)[0]
    amount, unit = read_amount(text), symbol.unit.replace("·", " ")
    if amount.unit not in ("", unit):
        typed = shown(text.strip())
        raise CallError("other-unit", typed=typed, quantity=symbol.meaning, unit=unit)
    return symbol, amount.value


def _following_table(given: _Given, found: Sequence[Found], figures: int) -> list[str]:
    said = (f"{plain(symbol)} = {value:g} {symbol.unit}".strip() for symbol, value in given)
    lines = ["", f"What follows from {', '.join(said)}"]
    for one in found:
        value, right = (to_figures(each, figures) for each in (one.value, one.of.value or 0.0))
        lines.append(
            f"  {one.of.meaning}: {value} {one.of.unit}".rstrip()
            + f" (in the key {right}), from {plain(one.formula)}, step {one.step.id}"
        )
    return lines if found else [*lines, "  nothing"]


def _following_data(given: _Given, found: Sequence[Found]) -> dict[str, Any]:
    def about(symbol: Symbol, value: float) -> dict[str, Any]:
        return {"quantity": symbol.id, "value": value, "unit": symbol.unit}

    follows = [
        about(one.of, one.value) | {"formula": plain(one.formula), "step": one.step.id}
        for one in found
    ]
    return {"given": [about(*each) for each in given], "follows": follows}
