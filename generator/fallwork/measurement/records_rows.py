"""The numbers of a table, trial by trial.

Takes rows and the layout of their columns; gives arrays in SI units, and reports every cell that
is no number at its place. What can be said of a record's times and gaps is left to ``records``.
"""

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from fallwork.errors import Place
from fallwork.measurement.model import Array
from fallwork.measurement.records_columns import Column, Group, Layout
from fallwork.measurement.records_numbers import is_number, number, plain_numbers
from fallwork.measurement.records_text import Row, Table
from fallwork.scenario.report import Report, shown

# A comment or a source with this word, not denied, marks what it is about.
_SIMULATED = re.compile(r"(?<!not )(?<!n't )(?<!no )(?<!never )\bsimulated\b", re.I)
LARGEST = 1e20  # in the units of the file, of what may be a reading
MOST_PROBLEMS = 20  # of one file: a file that is no record at all has one in every line


@dataclass(frozen=True, kw_only=True)
class Block:
    """The numbers of one trial as they stand in the file."""

    trial: str  # "" where nothing names it
    lines: tuple[int, ...]  # the line of each row
    values: Mapping[str, Array]  # role → SI values, (n,), NaN where missing
    first: Place  # of its first time
    simulated: Place | None  # of the first row that names a simulation as its source


def blocks_of(
    table: Table, layout: Layout, file: str, report: Report
) -> tuple[tuple[Block, ...], list[str]]:
    """Every trial in the order of the file, with what was assumed; none after reporting."""
    before = len(report)
    rows = table.rows[layout.first :]
    notes = _check_widths(rows, table, layout, file, report)
    if len(report) > before:
        return (), []
    comma, note = _decimal_comma(rows, table, layout, file, report)
    parts = list(_parts(rows, layout, table, file, report))
    blocks = [
        _block(part, trial, group, layout, table, file, comma, report)
        for trial, part in parts
        for group in layout.groups
    ]
    if len(report) > before:
        return (), []
    if len(parts) > 1 and layout.trial_column is None:
        note = [*note, "headings in the middle of the file taken for the begin of a further trial"]
    return tuple(block for block in blocks if block.lines), [*notes, *note]


def _check_widths(
    rows: Sequence[Row], table: Table, layout: Layout, file: str, report: Report
) -> list[str]:
    """Report rows with more values than headings; a note on rows that end early."""
    width = len(layout.heading.cells)
    for row in rows:
        if len(row.cells) > width and any(row.cells[width:]) and len(report) < MOST_PROBLEMS:
            place = Place(file=file, line=row.line, column=row.column(width, table.separator))
            report.malformed(
                place,
                f"{len(row.cells)} values under {width} headings",
                "with decimal commas, put semicolons or tabs between the values"
                if table.separator == ","
                else "give each value a heading",
            )
    needed = 1 + max(column.at for group in layout.groups for column in group.columns)
    short = [row.line for row in rows if len(row.cells) < needed]
    if not short:
        return []
    return [f"{_times(len(short), 'line')} too short, the first line {short[0]}: values missing"]


def _times(number: int, word: str) -> str:
    return f"{number} {word}" if number == 1 else f"{number} {word}s"


def _cells_with(
    sign: str, rows: Sequence[Row], layout: Layout, separator: str
) -> list[tuple[Row, int]]:
    """The numbers that have this decimal sign: row and cell."""
    columns = [column.at for column in _columns(layout)]
    return [
        (row, at)
        for row in rows
        if row.text.count(sign) >= len(row.cells) or (sign != separator and sign in row.text)
        for at in columns
        if at < len(row.cells) and sign in row.cells[at] and is_number(row.cells[at])
    ]


def _columns(layout: Layout) -> list[Column]:
    unique = {column.at: column for group in layout.groups for column in group.columns}
    return [unique[at] for at in sorted(unique)]


def _decimal_comma(
    rows: Sequence[Row], table: Table, layout: Layout, file: str, report: Report
) -> tuple[bool, list[str]]:
    """Whether decimals stand after a comma; reports files that mix both signs."""
    commas = _cells_with(",", rows, layout, table.separator)
    points = _cells_with(".", rows, layout, table.separator) if commas else []
    if not points:
        return bool(commas), ["decimal commas"] if commas else []
    few, other = (commas, "point") if len(commas) <= len(points) else (points, "comma")
    row, at = few[0]
    place = Place(file=file, line=row.line, column=row.column(at, table.separator))
    report.malformed(
        place,
        f"{shown(row.cells[at])} where other numbers have a decimal {other}",
        "use one decimal sign throughout, and none between thousands",
    )
    return other == "comma", []


def _parts(
    rows: Sequence[Row], layout: Layout, table: Table, file: str, report: Report
) -> Iterator[tuple[str, list[Row]]]:
    """Rows by trial: from the trial column, or between headings that come again."""
    if layout.trial_column is None:
        yield from _between_headings(rows, layout)
        return
    at, parts = layout.trial_column, dict[str, list[Row]]()
    for row in rows:
        trial = row.cells[at] if at < len(row.cells) else ""
        if not trial:
            place = Place(file=file, line=row.line, column=row.column(at, table.separator))
            report.malformed(place, "no trial named", "name the trial in every line")
        parts.setdefault(trial, []).append(row)
    yield from parts.items()


def _between_headings(rows: Sequence[Row], layout: Layout) -> Iterator[tuple[str, list[Row]]]:
    parts: list[list[Row]] = [[]]
    for row in rows:
        if row.cells == layout.heading.cells:
            parts.append([])
        else:
            parts[-1].append(row)
    filled = [part for part in parts if part]
    for at, part in enumerate(filled, start=1):
        yield ("" if len(filled) == 1 else str(at)), part


def _block(
    rows: Sequence[Row],
    trial: str,
    group: Group,
    layout: Layout,
    table: Table,
    file: str,
    comma: bool,
    report: Report,
) -> Block:
    """One trial; rows in which none of its columns says anything are left out."""
    values = {
        column.role: _values(rows, column, table, file, comma, report) for column in group.columns
    }
    said = np.any([np.isfinite(column) for column in values.values()], axis=0)
    kept = np.flatnonzero(said)
    start = int(kept[0]) if len(kept) else 0
    name = " ".join(word for word in (trial, group.trial) if word)
    time = group.columns[0].at
    return Block(
        trial=name,
        lines=tuple(rows[int(at)].line for at in kept),
        values={role: column[kept] for role, column in values.items()},
        first=Place(
            file=file,
            line=rows[start].line,
            column=rows[start].column(time, table.separator),
        ),
        simulated=_simulated(rows, layout, table, file, report),
    )


def says_simulated(text: str) -> bool:
    """Whether a comment or a source says that a program made the data."""
    return _SIMULATED.search(text) is not None


def _simulated(
    rows: Sequence[Row], layout: Layout, table: Table, file: str, report: Report
) -> Place | None:
    """Where the rows of a trial say that they are simulated; reports rows that say otherwise."""
    told = [
        (says_simulated(row.cells[at]), row, at)
        for at in layout.source_columns
        for row in rows
        if at < len(row.cells)
    ]
    places = {
        said: Place(file=file, line=row.line, column=row.column(at, table.separator))
        for said, row, at in reversed(told)
    }
    if len(places) > 1:
        report.impossible(
            max(places.values()),
            "simulated and measured rows in one trial",
            "give simulated and measured trials files of their own",
        )
    return places.get(True)


def _values(
    rows: Sequence[Row], column: Column, table: Table, file: str, comma: bool, report: Report
) -> Array:
    at = column.at
    cells = [row.cells[at] if at < len(row.cells) else "" for row in rows]
    plain = None if comma else plain_numbers(cells)
    if plain is not None:
        return _meant(plain) * column.factor
    values = np.full(len(cells), np.nan)
    for index, (row, cell) in enumerate(zip(rows, cells, strict=True)):
        try:
            values[index] = number(cell, comma=comma)
        except ValueError:
            if len(report) < MOST_PROBLEMS:
                place = Place(file=file, line=row.line, column=row.column(at, table.separator))
                report.malformed(place, f"{shown(cell)} is not a number", _hint(cell, comma))
    return _meant(values) * column.factor


def _meant(values: Array) -> Array:
    """Sizes that nobody measures become infinite, or nothing: no sum or square is beyond floats."""
    size = np.abs(values)
    beyond = np.where(size > LARGEST, np.copysign(np.inf, values), values)
    return np.where(size < 1 / LARGEST, 0.0, beyond)


def _hint(cell: str, comma: bool) -> str:
    if "." in cell and "," in cell:
        return "leave out the sign between thousands"
    if ":" in cell and cell.replace(":", "").replace(".", "").isdigit():
        return "give times in seconds, as one number"
    return "write a number, or nothing where a value is missing"
