"""Reads the records of sensors from CSV files in all their forms.

Takes paths; gives records in SI units, with a note on everything that was assumed. Raises BadInput
with every problem of the files at once. Nothing is corrected here: signs, zero offsets and the run
itself are left to the analysis.
"""

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from pathlib import Path

from fallwork.errors import BadInput, Place, Problem
from fallwork.measurement.model import Record
from fallwork.measurement.records_columns import layout_of
from fallwork.measurement.records_series import records_of
from fallwork.measurement.records_text import LARGEST_FILE, refusal, table_of
from fallwork.scenario.report import Report, holding, meant

SIMULATION = "simulation"  # one of the words for whose trials they are


def read_all(paths: Iterable[Path]) -> tuple[Record, ...]:
    """The records of several files, each with a name of its own; raises BadInput.

    A file of one record gives it its name; trials of a file are named ``trial 3``, with the
    file's name before it where two files have the same trials.
    """
    report = Report()
    found: list[tuple[Path, Record]] = []
    for path in paths:
        try:
            table = table_of(_content(path), str(path))
            found += [(path, record) for record in records_of(table, layout_of(table))]
        except BadInput as error:
            for problem in sorted(error.problems, key=lambda problem: problem.place):
                report.add(problem)
    report.raise_if_any()
    return _with_names(found)


def of_one_kind(
    records: Sequence[Record], whose: str = "", places: Mapping[str, Place] | None = None
) -> Sequence[Record]:
    """The records, all measured or all simulated, as ``whose`` has it; raises BadInput otherwise.

    ``places`` are those of the lab in its term file.
    """
    made, real = ([r for r in records if r.simulated is simulated] for simulated in (True, False))
    wrong, at = [], None
    if made and real:
        wrong, others = sorted((made, real), key=len)
        said = ("says", "doesn't") if wrong is made else ("doesn't say", "does")
        found = f"{said[0]} that it is simulated, and {others[0].name} {said[1]}"
        expected = "take out the ones or the others: simulated and measured trials never mix"
    elif records and whose and bool(made) != (whose == SIMULATION):
        wrong, at = [records[0]], (places or {}).get("measured.whose")
        says = "says" if made else "doesn't say"
        found = f"{says} that it is simulated, and the term has whose: {whose}"
        expected = "say whose trials they are, or begin the file with # Simulated data"
        if made:
            expected = f"write whose: {SIMULATION}, or give the records that were measured"
    if wrong:
        raise BadInput(tuple(_problem(record, found, expected, at) for record in wrong))
    return records


def _problem(record: Record, found: str, expected: str, at: Place | None) -> Problem:
    said = record.said or record.place or Place(file=record.source, line=1, column=1)
    name = f"{record.name} ({said})" if at else record.name
    return Problem(place=at or said, found=f"{name} {found}", expected=expected)


def _content(path: Path) -> bytes:
    start = Place(file=str(path), line=1, column=1)
    if path.is_dir():
        raise refusal(start, "this is a folder", f"name the files in it, e.g. {path}/*.csv")
    if not path.is_file():
        raise refusal(start, "there is no such file", _neighbours(path))
    try:
        with path.open("rb") as file:
            content = file.read(LARGEST_FILE + 1)
    except OSError as error:
        reason = (error.strerror or "system error").lower()
        raise refusal(start, f"the file can't be read ({reason})", "make it readable") from error
    if len(content) > LARGEST_FILE:
        raise refusal(start, "the file is larger than 64 MiB", "cut it into smaller ones")
    if not content.strip():
        raise refusal(start, "the file is empty", "save the record into it as CSV")
    return content


def _neighbours(path: Path) -> str:
    """What there is instead."""
    if not path.parent.is_dir():
        return f"the folder {path.parent} does not exist either"
    names = sorted(other.name for other in path.parent.iterdir() if other.is_file())
    return meant(path.name, names, holding(path.parent, names, "no files"))


def _with_names(found: Sequence[tuple[Path, Record]]) -> tuple[Record, ...]:
    """Every record with a name that no other has: the file's, the trial's (a number alone gets the
    word), or as much of both as it takes.
    """
    labels = [r.name and f"{'trial ' * r.name[0].isdigit()}{r.name}" for _, r in found]
    named = [label or path.stem for label, (path, _) in zip(labels, found, strict=True)]
    for prefix in ("{0.stem}", "{0.parent.name}/{0.stem}", "{0}"):
        names = Counter(named)
        named = [
            name if names[name] == 1 else f"{prefix.format(path)} {label}".strip()
            for name, label, (path, _) in zip(named, labels, found, strict=True)
        ]
    return tuple(replace(record, name=name) for name, (_, record) in zip(named, found, strict=True))
