"""Which column of a table holds what, for which trial.

Takes the table of a file; gives a layout, and reports headings that can't be understood. What was
assumed goes to the table's notes. Reading the numbers is left to ``records_series``.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from fallwork.measurement.records_headings import (
    ROLES,
    SOURCE,
    TRIAL,
    Heading,
    factor,
    heading_of,
    is_unit,
    kind_of,
    known_words,
    role_of_unit,
)
from fallwork.measurement.records_numbers import is_number
from fallwork.measurement.records_text import RecordTable, Row, refusal
from fallwork.scenario.report import closest, listed, shown
from fallwork.scenario.units import kinds_of_unit

EXAMPLE = 'a line such as "t (s),v (m/s),F (N)" above the numbers'
NOTHING = Row(0, "", ())


@dataclass(frozen=True, kw_only=True)
class Column:
    """One column that is read."""

    at: int  # from 0
    heading: str
    role: str
    factor: float  # SI units in one unit of the column
    trial: str  # "" where the heading names none


@dataclass(frozen=True, kw_only=True)
class Layout:
    """How the rows of a table are to be read."""

    heading: Row
    first: int  # which of the rows holds the first numbers
    trials: Mapping[str, Sequence[Column]]  # "" where no heading names one; time first
    trial_column: int | None
    source_columns: tuple[int, ...]  # which say whether a row was measured or simulated


@dataclass(frozen=True, kw_only=True)
class _Head:
    """The lines above the numbers."""

    above: Sequence[Row]  # which say nothing
    titles: Row  # trials over columns; NOTHING where there are none, as for units
    names: Row
    units: Row
    first: int


def layout_of(table: RecordTable) -> Layout:
    """The layout of a table; raises BadInput."""
    head = _head(table)
    headings = _headings(head)
    _note_what_is_passed_over(table, head, headings)
    known = enumerate(headings)
    columns = [_column(at, each, head, table) for at, each in known if each.role in ROLES]
    table.report.raise_if_any()
    unknown = [heading.text for heading in headings if not heading.role]
    trials = _trials([each for each in columns if each], unknown, head.names, table)
    trial_columns = [at for at, heading in enumerate(headings) if heading.role == TRIAL]
    if len(trial_columns) > 1 or (trial_columns and len(trials) > 1):
        found, expected = "trials named in more than one way", "keep one column or the headings"
        table.report.malformed(table.place(head.names), found, f"{expected} for it")
    table.report.raise_if_any()
    return Layout(
        heading=head.names,
        first=head.first,
        trials=trials,
        trial_column=trial_columns[0] if trial_columns else None,
        source_columns=tuple(at for at, heading in enumerate(headings) if heading.role == SOURCE),
    )


def _head(table: RecordTable) -> _Head:
    rows = table.rows
    first = next((at for at, row in enumerate(rows) if sum(map(is_number, row.cells)) >= 2), None)
    if first is None:
        found, expected = "no line with two numbers follows", "add the numbers of the record"
        raise refusal(table.place(rows[0]), found, expected)
    if first == 0:
        raise refusal(table.place(rows[0]), "numbers without headings", f"put {EXAMPLE}")
    said = [sum(heading_of(cell).role is not None for cell in row.cells) for row in rows[:first]]
    names = max(range(first), key=lambda at: (said[at], at))
    if said[names] == 0:
        words = [cell for cell in rows[first - 1].cells if cell]
        found = f"no heading here is known: {listed(shown(word) for word in words)}"
        expected = _suggestion(words) or f"write {EXAMPLE}"
        raise refusal(table.place(rows[first - 1]), found, expected)
    has_units = names + 1 < first and _all_units(rows[names + 1])
    below = names + 1 + has_units
    if below < first:
        found = "a line that is neither headings nor units nor numbers"
        raise refusal(table.place(rows[below]), found, "begin it with # to have it passed over")
    titled = names > 0 and any(heading_of(cell).trial for cell in rows[names - 1].cells)
    return _Head(
        above=rows[: names - titled],
        titles=rows[names - 1] if titled else NOTHING,
        names=rows[names],
        units=rows[names + 1] if has_units else NOTHING,
        first=first,
    )


def _suggestion(headings: Sequence[str]) -> str:
    """``did you mean …`` for the first heading that is close to a known word."""
    for heading in headings:
        word = heading.split("(")[0].split("[")[0].strip()
        near = closest(word, known_words()) if len(word) > 2 else None
        if near:
            return f"did you mean {shown(near)} by {shown(heading)}?"
    return ""


def _all_units(row: Row) -> bool:
    cells = [cell.strip("()[] ") for cell in row.cells if cell]
    return bool(cells) and all(is_unit(cell) for cell in cells)


def _headings(head: _Head) -> list[Heading]:
    """What is said over each column by all lines of the head together."""
    trial, headings = "", []
    for at, cell in enumerate(head.names.cells):
        heading = heading_of(cell)
        trial = heading_of(head.titles.cell(at)).trial or trial
        unit = heading.unit or head.units.cell(at).strip("()[] ")
        headings.append(replace(heading, unit=unit, trial=heading.trial or trial))
    return headings


def _note_what_is_passed_over(table: RecordTable, head: _Head, headings: Sequence[Heading]) -> None:
    lines = [row.line for row in head.above]
    if lines:
        which = f"lines {lines[0]} to {lines[-1]}" if len(lines) > 1 else f"line {lines[0]}"
        table.notes.append(f"{which} above the headings passed over")
    unknown = [shown(heading.text) for heading in headings if heading.text and not heading.role]
    if unknown:
        word = "columns" if len(unknown) > 1 else "column"
        table.notes.append(f"{word} {listed(unknown)} passed over")


def _column(at: int, heading: Heading, head: _Head, table: RecordTable) -> Column | None:
    """The column; None after reporting a unit that can't be."""
    role = heading.role or ""
    kind = kind_of(role)
    scale = factor(role, heading.unit or kind.si_unit)
    text, unit = shown(heading.text), shown(heading.unit)
    if scale is None:
        others, near = kinds_of_unit(heading.unit), closest(heading.unit, [*kind.factors])
        found = f"{unit} is the unit of {others[0].say}" if others else f"unknown unit {unit}"
        hint = f"did you mean {near}? " if near and not others else ""
        table.report.malformed(
            table.place(head.names, at),
            f"{found} in the heading {text}",
            f"{hint}{kind.say} is given in {listed(kind.factors, 'or')}",
        )
        return None
    if not heading.unit:
        table.notes.append(f"{text} has no unit: taken as {kind.si_unit}")
    elif role_of_unit(heading.text.strip("()[] ")):
        table.notes.append(f"{text} names a unit alone: taken as {role}")
    return Column(at=at, heading=heading.text, role=role, factor=scale, trial=heading.trial)


def _trials(
    columns: Sequence[Column], unknown: Sequence[str], names: Row, table: RecordTable
) -> dict[str, list[Column]]:
    """The columns trial by trial; a time column that names no trial belongs to all of them."""
    roles = {column.role for column in columns}
    for missing, which, example in (
        ("time" not in roles, "the time", "t (s)"),
        (roles == {"time"}, "position, velocity or force", "v (m/s)"),
    ):
        if missing:
            hint = _suggestion(unknown) or f'head one e.g. "{example}"'
            table.report.malformed(table.place(names), f"no column for {which}", hint)
            return {}
    columns = _told_apart(columns, table)
    trials = {}
    for trial in dict.fromkeys(c.trial for c in columns if c.role != "time" or c.trial):
        own = [column for column in columns if column.trial == trial]
        if not any(column.role == "time" for column in own):
            own += [column for column in columns if column.role == "time" and not column.trial]
        trials[trial] = sorted(own, key=lambda column: (column.role != "time", column.at))
    for trial, own in trials.items():
        _check(trial, own, len(trials) > 1, names, table)
    if len(trials) > 1:
        table.notes.append(f"side by side: trials {listed(trials)}, told apart by the headings")
    return trials


def _told_apart(columns: Sequence[Column], table: RecordTable) -> Sequence[Column]:
    """Columns with a number each where the same headings come again without naming a trial."""
    texts = [column.heading for column in columns]
    if any(column.trial for column in columns) or len(set(texts)) == len(texts):
        return columns
    table.notes.append("headings that come again taken for further trials, numbered from 1")
    return [
        column
        if column.role == "time" and texts.count(column.heading) == 1
        else replace(column, trial=str(texts[: at + 1].count(column.heading)))
        for at, column in enumerate(columns)
    ]


def _check(
    trial: str, columns: Sequence[Column], several: bool, names: Row, table: RecordTable
) -> None:
    place = table.place(names)
    if several and not trial:
        words = listed(shown(column.heading) for column in columns if column.role != "time")
        found = f"{words} without a trial, while other headings name one"
        table.report.malformed(place, found, "name it there too")
        return
    where = f" of trial {trial}" if several else ""
    for role in ROLES:
        same = [shown(column.heading) for column in columns if column.role == role]
        if len(same) > 1:
            found = f"{len(same)} columns for {role}{where}: {listed(same)}"
            expected = "keep one, or name the trial of each in its heading"
            table.report.malformed(place, found, expected)
        elif not same and role == "time":
            table.report.malformed(place, f"no column for the time{where}", "add it")
