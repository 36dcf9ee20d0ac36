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
from fallwork.measurement.records_text import LARGEST_FILE, refused, table_of
from fallwork.scenario.report import Report, holding, meant, refusal

SIMULATION = "simulation"  # one of the words for whose trials they are


def read_all(paths: Iterable[Path]) -> tuple[Record, ...]:
    """The records of several files, each with a name of its own; raises BadInput.

    A file of one record gives it its name; trials of a file are named ``trial 3``, with the
    file's name before it where two files have the same trials.
    """
    report, found = Report(), list[tuple[Path, Record]]()
    for path in paths:
        try:
            table = table_of(_content(path), str(path))
            found += [(path, record) for record in records_of(table, layout_of(table))]
        except BadInput as error:
            report += sorted(error.problems, key=lambda problem: problem.place)
    report.raise_if_any()
    return _with_names(found)


def of_one_kind(
    records: Sequence[Record], whose: str = "", places: Mapping[str, Place] | None = None
) -> Sequence[Record]:
    """The records, all measured or all simulated, as ``whose`` has it; raises BadInput otherwise.

    ``places`` are those of the lab in its term file.
    """
    made, real = ([r for r in records if r.simulated is simulated] for simulated in (True, False))
    wrong, others = sorted((made, real), key=len)
    at, than = None, "others"
    if not wrong and others and whose and bool(made) != (whose == SIMULATION):
        wrong, at, than = others[:1], (places or {}).get("measured.whose"), "said"
    problems = []
    for record in wrong:
        said = record.said or record.place or Place(file=record.source)
        name = f"{record.name} ({said})" if at else record.name
        kind = "simulated" if record.simulated else "measured"
        words = refusal(f"{kind}-than-{than}", name=name, other=others[0].name, whose=whose)
        problems.append(Problem(at or said, *words))
    if problems:
        raise BadInput(tuple(problems))
    return records


def _content(path: Path) -> bytes:
    start, folder = Place(file=str(path)), path.parent
    if path.is_dir():
        raise refused(start, "folder-not-record", folder=path)
    if not path.is_file():
        there = f"the folder {folder} does not exist either"
        if folder.is_dir():
            names = sorted(other.name for other in folder.iterdir() if other.is_file())
            there = meant(path.name, names, holding(folder, names, "no files"))
        raise refused(start, "no-file", there=there)
    try:
        with path.open("rb") as file:
            content = file.read(LARGEST_FILE + 1)
    except OSError as error:
        why = (error.strerror or "system error").lower()
        raise refused(start, "not-readable", why=why) from error
    if len(content) > LARGEST_FILE or not content.strip():
        raise refused(start, "record-too-large" if content.strip() else "record-empty")
    return content


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
