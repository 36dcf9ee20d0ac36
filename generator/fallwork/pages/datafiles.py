"""Files to download: the values of the trials and the records, as CSV with a description.

Takes evidence; gives CSV text (RFC 4180) and for each a Table Schema (Frictionless, version 2) in
JSON. Names of columns are those that ``fallwork trials`` reads. A text that a spreadsheet would
take for a formula is made harmless.
"""

import csv
import json
import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from io import StringIO
from typing import Any

from fallwork.lesson.measured import Evidence
from fallwork.lesson.measured.words import UNITS, quantity_words
from fallwork.lesson.words import upper_first
from fallwork.measurement import Measurand, Trial
from fallwork.pages.environment import PageFile

PROFILE = "https://datapackage.org/profiles/2.0/tableschema.json"
FORMULA_SIGNS = ("=", "+", "-", "@", "\t", "\r")  # a cell that begins so may be run (OWASP; memory)
FOLDER = "data"
CHANNELS = {"position": "m", "velocity": "m/s", "force": "N"}


@dataclass(frozen=True, kw_only=True)
class Field:
    """One column: how a Table Schema describes it."""

    name: str
    type: str
    about: str
    required: bool = False
    unique: bool = False
    choices: tuple[str, ...] = ()
    least: float | None = None

    def schema(self) -> dict[str, Any]:
        """The field descriptor."""
        constraints: dict[str, Any] = {}
        if self.required:
            constraints["required"] = True
        if self.unique:
            constraints["unique"] = True
        if self.choices:
            constraints["enum"] = list(self.choices)
        if self.least is not None:
            constraints["minimum"] = self.least
        found = {"name": self.name, "type": self.type, "description": self.about}
        return found | ({"constraints": constraints} if constraints else {})


@dataclass(frozen=True, kw_only=True)
class DataTable:
    """A file: its columns, its rows, and what tells rows apart."""

    name: str  # "trials", "records"
    title: str
    fields: tuple[Field, ...]
    rows: tuple[tuple[str, ...], ...]
    key: tuple[str, ...]

    def csv(self) -> str:
        """The text, with a line of headings."""
        out = StringIO()
        writer = csv.writer(out, lineterminator="\r\n")
        writer.writerow([field.name for field in self.fields])
        texts = [field.type == "string" for field in self.fields]
        for row in self.rows:
            writer.writerow(
                [harmless(cell) if text else cell for cell, text in zip(row, texts, strict=True)]
            )
        return out.getvalue()

    def schema(self) -> str:
        """The description, in JSON."""
        described = {
            "$schema": PROFILE,
            "title": self.title,
            "fields": [field.schema() for field in self.fields],
            "missingValues": [""],
            "primaryKey": list(self.key),
        }
        return json.dumps(described, indent=2, ensure_ascii=False) + "\n"

    def files(self, folder: str) -> Iterator[PageFile]:
        """The text and its description, in the folder of a lab."""
        yield PageFile(path=f"{folder}/{FOLDER}/{self.name}.csv", content=self.csv())
        yield PageFile(path=f"{folder}/{FOLDER}/{self.name}.schema.json", content=self.schema())


def harmless(text: str) -> str:
    """The text with an apostrophe before a sign that would make it a formula."""
    return f"'{text}" if text.startswith(FORMULA_SIGNS) else text


def tables_of(evidence: Evidence) -> tuple[DataTable, ...]:
    """The values of all trials, and the records where there are any."""
    found = [values_table(evidence)] if evidence.analysis.trials else []
    return (*found, *([records_table(evidence)] if evidence.recorded else []))


# ---- values


def values_table(evidence: Evidence) -> DataTable:
    """One row a trial: every value with its standard uncertainty."""
    trials = evidence.analysis.trials
    quantities = [q for q in Measurand if any(q in trial.estimates for trial in trials)]
    fields = [
        Field(name="trial", type="string", about="Name of the trial", required=True, unique=True),
        _source_field(),
        Field(
            name="counts",
            type="string",
            about="Whether the trial counts for the mean",
            required=True,
            choices=("yes", "no"),
        ),
        Field(name="because", type="string", about="Why it doesn't count"),
        Field(name="release (s)", type="number", about="Release, on the record's clock"),
        Field(name="end (s)", type="number", about="End of the run, on the record's clock"),
    ]
    for quantity in quantities:
        fields += _fields_of(quantity)
    return DataTable(
        name="trials",
        title="Values of the trials",
        fields=tuple(fields),
        rows=tuple(_values(evidence, trial, quantities) for trial in trials),
        key=("trial",),
    )


def _source_field() -> Field:
    return Field(
        name="source",
        type="string",
        about="Whether a model made the data or a sensor measured them",
        required=True,
        choices=("simulated", "measured"),
    )


def _source(evidence: Evidence) -> str:
    """Of all rows: simulated and measured trials never stand together."""
    return "simulated" if evidence.simulated else "measured"


def _fields_of(quantity: Measurand) -> tuple[Field, Field]:
    unit = UNITS[quantity]
    words = quantity_words(quantity)
    name = quantity.value.replace("_", " ")
    return (
        Field(name=f"{name} ({unit})", type="number", about=f"{upper_first(words)}, in {unit}"),
        Field(
            name=f"u of {name} ({unit})",
            type="number",
            about=f"Standard uncertainty of this value of the {words}, in {unit}",
            least=0,
        ),
    )


def _values(evidence: Evidence, trial: Trial, quantities: Sequence[Measurand]) -> tuple[str, ...]:
    window = ("", "") if trial.window is None else tuple(_number(t, 6) for t in trial.window)
    cells = [
        trial.name,
        _source(evidence),
        "yes" if trial.excluded is None else "no",
        trial.excluded or "",
        *window,
    ]
    for quantity in quantities:
        estimate = trial.estimates.get(quantity)
        cells += ["", ""] if estimate is None else [_number(estimate.value, 7), _u(estimate.u)]
    return tuple(cells)


def _u(u: float | None) -> str:
    return _number(u, 3) if u else ""


def _number(value: float, digits: int) -> str:
    """Digits that a spreadsheet reads as a number; nothing for what is missing."""
    return f"{value + 0.0:.{digits}g}" if math.isfinite(value) else ""


# ---- records


def records_table(evidence: Evidence) -> DataTable:
    """All records one below the other, in SI units, as the sensors gave them."""
    present = [
        channel
        for channel in CHANNELS
        if any(getattr(trial.record, channel) is not None for trial in evidence.recorded)
    ]
    fields = [
        Field(name="trial", type="string", about="Name of the trial", required=True),
        _source_field(),
        Field(name="time (s)", type="number", about="Time on the record's clock", required=True),
    ]
    fields += [
        Field(
            name=f"{channel} ({CHANNELS[channel]})",
            type="number",
            about=f"{upper_first(channel)} as the sensor gave it, in {CHANNELS[channel]}",
        )
        for channel in present
    ]
    return DataTable(
        name="records",
        title="Records of the trials",
        fields=tuple(fields),
        rows=tuple(row for trial in evidence.recorded for row in _rows(evidence, trial, present)),
        key=("trial", "time (s)"),
    )


def _rows(evidence: Evidence, trial: Trial, present: Iterable[str]) -> Iterator[tuple[str, ...]]:
    record = trial.record
    assert record is not None  # as ``recorded`` has seen
    columns = [getattr(record, channel) for channel in present]
    source = _source(evidence)
    for index, time in enumerate(record.time):
        values = ["" if c is None else _number(float(c[index]), 6) for c in columns]
        yield (trial.name, source, _number(float(time), 7), *values)
