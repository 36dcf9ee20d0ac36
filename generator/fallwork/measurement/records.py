"""Reads the records of sensors from CSV files in all their forms.

Takes paths; gives records in SI units, with a note on everything that was assumed. Raises BadInput
with every problem of the files at once. Nothing is corrected here: signs, zero offsets and the run
itself are left to the analysis.
"""

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from pathlib import Path

import numpy as np

from fallwork.errors import BadInput, Place, Problem
from fallwork.measurement.model import Array, Record
from fallwork.measurement.records_columns import layout_of
from fallwork.measurement.records_rows import Block, blocks_of, says_simulated
from fallwork.measurement.records_series import Series, series_of
from fallwork.measurement.records_text import (
    LARGEST_FILE,
    Table,
    UnreadableTextError,
    decoded,
    table_of,
)
from fallwork.scenario.report import Report, meant

SIMULATION = "simulation"  # one of the words for whose trials they are
SAID = "the file says that the data are simulated"


def read_records(path: Path) -> tuple[Record, ...]:
    """The records of one file, in its order; raises BadInput."""
    return read_all([path])


def read_all(paths: Iterable[Path]) -> tuple[Record, ...]:
    """The records of several files, each with a name of its own; raises BadInput.

    A file of one record gives it its name; trials of a file are named ``trial 3``, with the
    file's name before it where two files have the same trials.
    """
    report = Report()
    found: list[tuple[Path, tuple[Record, ...]]] = []
    for path in paths:
        before = len(report)
        records = _read(path, report)
        report.sort_from(before)
        found.append((path, records))
    report.raise_if_any()
    return _with_names(found)


def of_one_kind(
    records: Sequence[Record], whose: str = "", places: Mapping[str, Place] | None = None
) -> Sequence[Record]:
    """The records, all measured or all simulated, as ``whose`` has it; raises BadInput otherwise.

    ``places`` are those of the lab in its term file.
    """
    made = [record for record in records if record.simulated]
    real = [record for record in records if not record.simulated]
    at = (places or {}).get("measured.whose")
    problems = []
    if made and real:
        fewer, others = sorted((made, real), key=len)
        said = ("says", "doesn't") if fewer is made else ("doesn't say", "does")
        found = f"{said[0]} that it is simulated, and {others[0].name} {said[1]}"
        expected = "take out the ones or the others: simulated and measured trials never mix"
        problems = [_problem(record, found, expected) for record in fewer]
    elif made and whose not in ("", SIMULATION):
        found = f"says that it is simulated, and the term has whose: {whose}"
        expected = f"write whose: {SIMULATION}, or give the records that were measured"
        problems = [_problem(made[0], found, expected, at)]
    elif real and whose == SIMULATION:
        found = f"doesn't say that it is simulated, and the term has whose: {SIMULATION}"
        expected = "say whose trials they are, or begin the file with # Simulated data"
        problems = [_problem(real[0], found, expected, at)]
    if problems:
        raise BadInput(tuple(problems))
    return records


def _problem(record: Record, found: str, expected: str, at: Place | None = None) -> Problem:
    said = record.said or record.place or Place(file=record.source, line=1, column=1)
    name = f"{record.name} ({said})" if at else record.name
    return Problem(place=at or said, found=f"{name} {found}", expected=expected)


def _read(path: Path, report: Report) -> tuple[Record, ...]:
    start = Place(file=str(path), line=1, column=1)
    content = _content(path, start, report)
    if content is None:
        return ()
    try:
        text, encoding = decoded(content)
    except UnreadableTextError as error:
        report.malformed(start, error.found, error.expected)
        return ()
    table = table_of(text)
    if not table.rows:
        empty = "nothing but blank lines and comments" if not _has_lines(text) else None
        report.malformed(
            start,
            empty or "no line is cut into values by commas, semicolons or tabs",
            "save the record as CSV, with a line of headings above the numbers",
        )
        return ()
    return _records(table, path, [encoding] if encoding else [], report)


def _content(path: Path, start: Place, report: Report) -> bytes | None:
    if not path.is_file():
        if path.is_dir():
            report.malformed(start, "this is a folder", f"name the files in it, e.g. {path}/*.csv")
        else:
            report.malformed(start, "there is no such file", _neighbours(path))
        return None
    try:
        with path.open("rb") as file:
            content = file.read(LARGEST_FILE + 1)
    except OSError as error:
        reason = (error.strerror or "system error").lower()
        report.malformed(start, f"the file can't be read ({reason})", "make it readable")
        return None
    if len(content) > LARGEST_FILE:
        report.malformed(start, "the file is larger than 64 MiB", "cut it into smaller ones")
        return None
    if not content.strip():
        report.malformed(start, "the file is empty", "save the record into it as CSV")
        return None
    return content


def _neighbours(path: Path) -> str:
    """What there is instead."""
    if not path.parent.is_dir():
        return f"the folder {path.parent} does not exist either"
    names = sorted(other.name for other in path.parent.iterdir() if other.is_file())
    there = f"{path.parent} holds {', '.join(names[:8]) or 'no files'}"
    return meant(path.name, names, there + (", …" if len(names) > 8 else ""))


def _has_lines(text: str) -> bool:
    return any(
        line.strip() and not line.lstrip().startswith(("#", "%", "//")) for line in text.split("\n")
    )


def _records(table: Table, path: Path, notes: Sequence[str], report: Report) -> tuple[Record, ...]:
    file = str(path)
    layout = layout_of(table, file, report)
    if layout is None:
        return ()
    blocks, more = blocks_of(table, layout, file, report)
    of_file = (*notes, *table.notes, *layout.notes, *more)
    lines = [line for line, comment in table.comments if says_simulated(comment)]
    said = Place(file=file, line=lines[0], column=1) if lines else None
    records = []
    for block in blocks:
        series = series_of(block, report)
        if series is not None:
            records.append(_record(block, series, of_file, file, said or block.simulated))
    return tuple(records)


def _record(
    block: Block, series: Series, notes: Sequence[str], file: str, said: Place | None
) -> Record:
    columns: Mapping[str, Array] = series.columns
    return Record(
        name=block.trial,
        time=series.time,
        position=columns.get("position"),
        velocity=columns.get("velocity"),
        force=columns.get("force"),
        notes=(*((SAID,) if said else ()), *notes, *series.notes),
        source=f"{file}, trial {block.trial}" if block.trial else file,
        simulated=said is not None,
        said=said,
        place=block.first,
    )


def _with_names(found: Sequence[tuple[Path, tuple[Record, ...]]]) -> tuple[Record, ...]:
    """Every record with a name that no other has."""
    named = [
        (path, record, _own_name(path, record)) for path, records in found for record in records
    ]
    for prefix in (_stem, _stem_in_folder, str):
        names = Counter(name for _, _, name in named)
        named = [
            (path, record, name if names[name] == 1 else f"{prefix(path)} {_label(record)}".strip())
            for path, record, name in named
        ]
    return tuple(replace(record, name=name) for _, record, name in named)


def _own_name(path: Path, record: Record) -> str:
    return _label(record) or path.stem


def _label(record: Record) -> str:
    """The trial as a file names it: a number alone gets the word."""
    return f"trial {record.name}" if np.char.isdigit(record.name[:1]) else record.name


def _stem(path: Path) -> str:
    return path.stem


def _stem_in_folder(path: Path) -> str:
    return f"{path.parent.name}/{path.stem}"
