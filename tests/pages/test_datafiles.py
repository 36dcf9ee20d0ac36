"""Files to download: CSV by RFC 4180, each with a Table Schema, and no cell that runs."""

import csv
import json
from io import StringIO

import numpy as np
import pytest

from fallwork.lesson.measured import Evidence
from fallwork.measurement.model import Analysis, Estimate, Record, Trial
from fallwork.measurement.summaries import summaries
from fallwork.pages.datafiles import DataTable, harmless, tables_of

TIME = np.array([0.0, 0.02, 0.04])
RECORD = Record(
    name="@first",
    time=TIME,
    position=np.array([0.2, np.nan, 0.2013]),
    velocity=np.array([-0.001, 0.5, 1.25e-5]),
)


def evidence() -> Evidence:
    trials = (
        Trial(
            name="@first",
            estimates={"acceleration": Estimate(value=1.4951234, u=0.0032)},
            window=(0.52, 1.4),
            record=RECORD,
        ),
        Trial(
            name="second",
            estimates={"acceleration": Estimate(value=-1.5, u=0.0)},
            excluded='=cmd|"/c calc"!A1, and more',
        ),
    )
    return Evidence(analysis=Analysis(trials=trials, summary=summaries(trials[:1])), whose="bench")


def table(name: str) -> DataTable:
    return {each.name: each for each in tables_of(evidence())}[name]


def rows(found: DataTable) -> list[dict[str, str]]:
    return list(csv.DictReader(StringIO(found.csv())))


def test_the_text_is_csv_with_values_as_numbers() -> None:
    """RFC 4180: lines end in CR LF, each with as many cells; a missing value is an empty one."""
    text = table("trials").csv()
    assert text.count("\r\n") == text.count("\n") == 3
    assert len({len(row) for row in csv.reader(StringIO(text))}) == 1
    first, second = rows(table("trials"))
    assert first["acceleration (m/s²)"] == "1.495123"
    assert first["u of acceleration (m/s²)"] == "0.0032"
    assert (first["release (s)"], first["end (s)"]) == ("0.52", "1.4")
    assert second["acceleration (m/s²)"] == "-1.5"
    assert second["u of acceleration (m/s²)"] == ""
    found = rows(table("records"))
    assert [row["position (m)"] for row in found] == ["0.2", "", "0.2013"]
    assert [row["velocity (m/s)"] for row in found] == ["-0.001", "0.5", "1.25e-05"]
    assert "force (N)" not in found[0]


def test_a_text_that_a_spreadsheet_would_run_is_made_harmless() -> None:
    """The signs are those of OWASP's page on CSV injection (from memory)."""
    for sign in ("=", "+", "-", "@", "\t", "\r"):
        assert harmless(f"{sign}1+1") == f"'{sign}1+1"
        assert harmless(f"a{sign}") == f"a{sign}"
    first, second = rows(table("trials"))
    assert first["trial"] == rows(table("records"))[0]["trial"] == "'@first"
    assert second["because"] == '\'=cmd|"/c calc"!A1, and more'


@pytest.mark.parametrize("name", ["trials", "records"])
def test_a_schema_describes_the_columns_and_the_rows_keep_to_it(name: str) -> None:
    """Table Schema v2 (read): ``fields`` with ``name``, ``missingValues``, ``primaryKey``."""
    found = table(name)
    schema = json.loads(found.schema())
    header = next(csv.reader(StringIO(found.csv())))
    assert [field["name"] for field in schema["fields"]] == header
    assert {field["type"] for field in schema["fields"]} <= {"string", "number"}
    assert all(field["description"] for field in schema["fields"])
    assert schema["missingValues"] == [""]
    assert schema["$schema"].endswith("2.0/tableschema.json")
    keys = [tuple(row[key] for key in schema["primaryKey"]) for row in rows(found)]
    assert len(set(keys)) == len(keys)
    for field in schema["fields"]:
        limits = field.get("constraints", {})
        cells = [row[field["name"]] for row in rows(found)]
        assert all(cells) or not limits.get("required")
        assert set(cells) <= set(limits.get("enum", cells))
        if field["type"] == "number":
            numbers = [float(cell) for cell in cells if cell]
            assert all(number >= limits.get("minimum", number) for number in numbers)
