"""Which column of a table holds what, for which trial.

Takes the rows of a file; gives a layout, and reports headings that can't be understood. What was
assumed stands in the layout's notes. Reading the numbers is left to ``records_rows``.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace

from fallwork.errors import Place
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
from fallwork.measurement.records_text import Row, Table
from fallwork.scenario.report import Report, closest, listed, shown
from fallwork.scenario.units import kinds_of_unit

EXAMPLE = 'a line such as "t (s),v (m/s),F (N)" above the numbers'


@dataclass(frozen=True, kw_only=True)
class Column:
    """One column that is read."""

    at: int  # from 0
    heading: str
    role: str
    factor: float  # SI units in one unit of the column
    trial: str  # "" where the heading names none


@dataclass(frozen=True, kw_only=True)
class Group:
    """The columns of one trial, or of all trials where these stand below each other."""

    trial: str  # "" where nothing names it
    columns: tuple[Column, ...]  # time first


@dataclass(frozen=True, kw_only=True)
class Layout:
    """How the rows of a file are to be read."""

    heading: Row
    first: int  # which of the table's rows holds the first numbers
    groups: tuple[Group, ...]
    trial_column: int | None
    source_columns: tuple[int, ...]  # which say whether a row was measured or simulated
    notes: tuple[str, ...]


@dataclass(frozen=True, kw_only=True)
class _Head:
    """The lines above the numbers."""

    names: int  # which row names the columns
    units: int | None
    titles: int | None  # a row that gives trials over columns
    first: int


def layout_of(table: Table, file: str, report: Report) -> Layout | None:
    """The layout of a table; None after reporting what is wrong."""
    head = _head(table, file, report)
    if head is None:
        return None
    before = len(report)
    row = table.rows[head.names]
    headings = _headings(table, head)
    notes = [*_passed_over(table, head, headings)]
    columns: list[Column] = []
    for at, heading in enumerate(headings):
        if heading.role in ROLES:
            place = Place(file=file, line=row.line, column=row.column(at, table.separator))
            column, note = _column(at, heading, place, report)
            notes += note
            columns += column
    trial_columns = [at for at, heading in enumerate(headings) if heading.role == TRIAL]
    start = Place(file=file, line=row.line, column=1)
    if len(report) > before:
        return None
    groups, note = _groups(columns, [h.text for h in headings if not h.role], start, report)
    if len(trial_columns) > 1 or (trial_columns and len(groups) > 1):
        report.malformed(
            start, "trials named in more than one way", "keep one column or the headings for it"
        )
    if len(report) > before:
        return None
    return Layout(
        heading=row,
        first=head.first,
        groups=groups,
        trial_column=trial_columns[0] if trial_columns else None,
        source_columns=tuple(at for at, heading in enumerate(headings) if heading.role == SOURCE),
        notes=(*notes, *note),
    )


def _head(table: Table, file: str, report: Report) -> _Head | None:
    rows = table.rows
    first = next((at for at, row in enumerate(rows) if sum(map(is_number, row.cells)) >= 2), None)
    if first is None:
        place = Place(file=file, line=rows[0].line, column=1)
        report.malformed(place, "no line with two numbers follows", "add the numbers of the record")
        return None
    if first == 0:
        place = Place(file=file, line=rows[0].line, column=1)
        report.malformed(place, "numbers without headings", f"put {EXAMPLE}")
        return None
    said = [sum(heading_of(cell).role is not None for cell in row.cells) for row in rows[:first]]
    names = max(range(first), key=lambda at: (said[at], at))
    if said[names] == 0:
        place = Place(file=file, line=rows[first - 1].line, column=1)
        _report_unknown(rows[first - 1].cells, place, report)
        return None
    units = names + 1 if names + 1 < first and _all_units(rows[names + 1]) else None
    stray = names + 1 + (units is not None)
    if stray < first:
        place = Place(file=file, line=rows[stray].line, column=1)
        report.malformed(
            place,
            "a line that is neither headings nor units nor numbers",
            "begin it with # to have it passed over",
        )
        return None
    titled = names > 0 and any(heading_of(cell).trial for cell in rows[names - 1].cells)
    return _Head(names=names, units=units, titles=names - 1 if titled else None, first=first)


def _report_unknown(cells: Sequence[str], place: Place, report: Report) -> None:
    words = [cell for cell in cells if cell]
    report.malformed(
        place,
        f"no heading here is known: {listed(shown(word) for word in words)}",
        _suggestion(words) or f"write {EXAMPLE}",
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


def _headings(table: Table, head: _Head) -> tuple[Heading, ...]:
    """What is said over each column by all lines of the head together."""
    headings = [heading_of(cell) for cell in table.rows[head.names].cells]
    if head.units is not None:
        units = [cell.strip("()[] ") for cell in table.rows[head.units].cells]
        headings = [
            replace(heading, unit=units[at]) if at < len(units) and not heading.unit else heading
            for at, heading in enumerate(headings)
        ]
    if head.titles is not None:
        trial, titled = "", []
        titles = table.rows[head.titles].cells
        for at, heading in enumerate(headings):
            trial = (heading_of(titles[at]).trial if at < len(titles) else "") or trial
            titled.append(replace(heading, trial=heading.trial or trial))
        headings = titled
    return tuple(headings)


def _passed_over(table: Table, head: _Head, headings: Sequence[Heading]) -> list[str]:
    notes = []
    above = table.rows[: head.names if head.titles is None else head.titles]
    if above:
        lines = f"line {above[0].line}"
        lines = lines if len(above) == 1 else f"lines {above[0].line} to {above[-1].line}"
        notes.append(f"{lines} above the headings passed over")
    unknown = [shown(heading.text) for heading in headings if heading.text and not heading.role]
    if unknown:
        notes.append(f"{'columns' if len(unknown) > 1 else 'column'} {listed(unknown)} passed over")
    return notes


def _column(
    at: int, heading: Heading, place: Place, report: Report
) -> tuple[list[Column], list[str]]:
    """The column and what was assumed; nothing after reporting a unit that can't be."""
    role = heading.role or ""
    kind = kind_of(role)
    scale = factor(role, heading.unit or kind.si_unit)
    if scale is None:
        found, near = f"unknown unit {shown(heading.unit)}", closest(heading.unit, [*kind.factors])
        others = kinds_of_unit(heading.unit)
        if others:
            found = f"{shown(heading.unit)} is the unit of {others[0].say}"
        hint = f"did you mean {near}? " if near and not others else ""
        report.malformed(
            place,
            f"{found} in the heading {shown(heading.text)}",
            f"{hint}{kind.say} is given in {listed(kind.factors, 'or')}",
        )
        return [], []
    notes = []
    if not heading.unit:
        notes.append(f"{shown(heading.text)} has no unit: taken as {kind.si_unit}")
    elif role_of_unit(heading.text.strip("()[] ")):
        notes.append(f"{shown(heading.text)} names a unit alone: taken as {role}")
    column = Column(at=at, heading=heading.text, role=role, factor=scale, trial=heading.trial)
    return [column], notes


def _groups(
    columns: Sequence[Column], unknown: Sequence[str], place: Place, report: Report
) -> tuple[tuple[Group, ...], list[str]]:
    """The columns trial by trial, and what was assumed."""
    if not any(column.role == "time" for column in columns):
        hint = _suggestion(unknown) or 'head one e.g. "t (s)"'
        report.malformed(place, "no column for the time", hint)
        return (), []
    if all(column.role == "time" for column in columns):
        hint = _suggestion(unknown) or 'head one e.g. "v (m/s)"'
        report.malformed(place, "no column for position, velocity or force", hint)
        return (), []
    labelled, notes = _labelled(columns)
    trials = tuple(dict.fromkeys(c.trial for c in labelled if c.role != "time" or c.trial))
    groups = tuple(_group(trial, labelled) for trial in trials)
    for group in groups:
        _check(group, several=len(trials) > 1, place=place, report=report)
    if len(trials) > 1:
        notes.append(f"side by side: trials {listed(trials)}, told apart by the headings")
    return groups, notes


def _labelled(columns: Sequence[Column]) -> tuple[list[Column], list[str]]:
    """Columns with a number each where the same headings come again without naming a trial."""
    texts = [column.heading for column in columns]
    if any(column.trial for column in columns) or len(set(texts)) == len(texts):
        return list(columns), []
    seen: dict[str, int] = {}
    numbered = []
    for column in columns:
        seen[column.heading] = seen.get(column.heading, 0) + 1
        shared = column.role == "time" and texts.count(column.heading) == 1
        trial = "" if shared else str(seen[column.heading])
        numbered.append(replace(column, trial=trial))
    return numbered, ["headings that come again taken for further trials, numbered from 1"]


def _group(trial: str, columns: Sequence[Column]) -> Group:
    """The columns of one trial; a time column that names no trial belongs to all of them."""
    own = [column for column in columns if column.trial == trial]
    if not any(column.role == "time" for column in own):
        own += [column for column in columns if column.role == "time" and not column.trial]
    return Group(trial=trial, columns=tuple(sorted(own, key=lambda c: (c.role != "time", c.at))))


def _check(group: Group, *, several: bool, place: Place, report: Report) -> None:
    if several and not group.trial:
        names = listed(shown(c.heading) for c in group.columns if c.role != "time")
        report.malformed(
            place, f"{names} without a trial, while other headings name one", "name it there too"
        )
        return
    for role in ROLES:
        same = [shown(column.heading) for column in group.columns if column.role == role]
        where = f" of trial {group.trial}" if several else ""
        if len(same) > 1:
            report.malformed(
                place,
                f"{len(same)} columns for {role}{where}: {listed(same)}",
                "keep one, or name the trial of each in its heading",
            )
        elif not same and role == "time":
            report.malformed(place, f"no column for the time{where}", "add it")
