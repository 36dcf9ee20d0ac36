"""Files to download: the values of the trials and the records, as CSV with a description.

Takes evidence; gives CSV text (RFC 4180) and for each a Table Schema (Frictionless, version 2) in
JSON. Names of columns are those that ``fallwork trials`` reads. A text that a spreadsheet would
take for a formula is made harmless.
"""

import csv
import json
import math
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from io import StringIO
from itertools import chain
from typing import Any

from fallwork.lesson.measured import Evidence
from fallwork.lesson.measured.words import UNITS, quantity_words
from fallwork.lesson.words import upper_first
from fallwork.measurement.model import Measurand
from fallwork.pages.markdown import PageFile

PROFILE = "https://datapackage.org/profiles/2.0/tableschema.json"
FORMULA_SIGNS = ("=", "+", "-", "@", "\t", "\r")  # a cell that begins so may be run (OWASP; memory)
FOLDER = "data"
CHANNELS = {"position": "m", "velocity": "m/s", "force": "N"}


@dataclass(frozen=True)
class Column:
    """One column: its field descriptor in a Table Schema, and its cells."""

    field: dict[str, Any]
    cells: list[str]


def _column(
    name: str, about: str, cells: Iterable[str | float | None], digits: int = 0, **constraints: Any
) -> Column:
    """Texts; or, with ``digits``, numbers that a spreadsheet reads, nothing for what is missing."""

    def text(cell: str | float | None) -> str:
        if isinstance(cell, str):
            return harmless(cell)
        return "" if cell is None or not math.isfinite(cell) else f"{cell + 0.0:.{digits}g}"

    field = {"name": name, "type": "number" if digits else "string", "description": about}
    limits = {"constraints": constraints} if constraints else {}
    return Column(field | limits, [*map(text, cells)])


def harmless(text: str) -> str:
    """The text with an apostrophe before a sign that would make it a formula."""
    return f"'{text}" if text.startswith(FORMULA_SIGNS) else text


@dataclass(frozen=True, kw_only=True)
class DataTable:
    """A file: its columns, and the names of those that tell rows apart."""

    name: str  # "trials", "records"
    title: str
    columns: tuple[Column, ...]
    key: tuple[str, ...]

    @property
    def rows(self) -> list[tuple[str, ...]]:
        """The cells row by row."""
        return list(zip(*(column.cells for column in self.columns), strict=True))

    def csv(self) -> str:
        """The text, with a line of headings."""
        out, heads = StringIO(), [column.field["name"] for column in self.columns]
        csv.writer(out, lineterminator="\r\n").writerows([heads, *self.rows])
        return out.getvalue()

    def schema(self) -> str:
        """The description, in JSON."""
        described = {
            "$schema": PROFILE,
            "title": self.title,
            "fields": [column.field for column in self.columns],
            "missingValues": [""],
            "primaryKey": list(self.key),
        }
        return json.dumps(described, indent=2, ensure_ascii=False) + "\n"

    def files(self, folder: str) -> Iterator[PageFile]:
        """The text and its description, in the folder of a lab."""
        yield PageFile(path=f"{folder}/{FOLDER}/{self.name}.csv", body=self.csv())
        yield PageFile(path=f"{folder}/{FOLDER}/{self.name}.schema.json", body=self.schema())


def tables_of(evidence: Evidence) -> tuple[DataTable, ...]:
    """The values of all trials, and the records where there are any."""
    values, records = tuple(_values(evidence)), tuple(_records(evidence))
    keys, title = ("trial", "time (s)"), "Values of the trials"
    found = (
        DataTable(name="trials", title=title, columns=values, key=keys[:1]),
        DataTable(name="records", title="Records of the trials", columns=records, key=keys),
    )
    return tuple(table for table in found if table.columns[0].cells)


def _source(evidence: Evidence, rows: int) -> Column:
    """Of all rows: simulated and measured trials never stand together."""
    return _column(
        "source",
        "Whether a model made the data or a sensor measured them",
        ["simulated" if evidence.simulated else "measured"] * rows,
        required=True,
        enum=["simulated", "measured"],
    )


def _values(evidence: Evidence) -> Iterator[Column]:
    """One row a trial: every value with its standard uncertainty."""
    trials = evidence.analysis.trials
    names = [trial.name for trial in trials]
    yield _column("trial", "Name of the trial", names, required=True, unique=True)
    yield _source(evidence, len(trials))
    counts = ["yes" if trial.excluded is None else "no" for trial in trials]
    about = "Whether the trial counts for the mean"
    yield _column("counts", about, counts, required=True, enum=["yes", "no"])
    yield _column("because", "Why it doesn't count", [trial.excluded or "" for trial in trials])
    for at, (name, what) in enumerate((("release", "Release"), ("end", "End of the run"))):
        times = [trial.window and trial.window[at] for trial in trials]
        yield _column(f"{name} (s)", f"{what}, on the record's clock", times, 6)
    for quantity in Measurand:
        found = [trial.estimates.get(quantity) for trial in trials]
        if any(found):
            name, unit = quantity.value.replace("_", " "), UNITS[quantity]
            words = quantity_words(quantity)
            values = [each.value if each else None for each in found]
            yield _column(f"{name} ({unit})", f"{upper_first(words)}, in {unit}", values, 7)
            about = f"Standard uncertainty of this value of the {words}, in {unit}"
            us = [each.u or None if each else None for each in found]
            yield _column(f"u of {name} ({unit})", about, us, 3, minimum=0)


def _records(evidence: Evidence) -> Iterator[Column]:
    """All records one below the other, in SI units, as the sensors gave them."""
    pairs = [(trial.name, trial.record) for trial in evidence.recorded if trial.record]
    names = [name for name, record in pairs for _ in record.time]
    yield _column("trial", "Name of the trial", names, required=True)
    yield _source(evidence, len(names))
    times = [float(time) for _, record in pairs for time in record.time]
    yield _column("time (s)", "Time on the record's clock", times, 7, required=True)
    for channel, unit in CHANNELS.items():
        found = [(getattr(record, channel), len(record.time)) for _, record in pairs]
        if any(values is not None for values, _ in found):
            about = f"{upper_first(channel)} as the sensor gave it, in {unit}"
            columns = ([None] * n if values is None else map(float, values) for values, n in found)
            yield _column(f"{channel} ({unit})", about, chain.from_iterable(columns), 6)
