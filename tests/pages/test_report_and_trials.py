"""Report, trials and comparison as pages, and their files; what is said: ``told.yaml``."""

import csv
import json
import re
from datetime import datetime
from io import StringIO
from pathlib import Path

import numpy as np
import pytest

from cases import cases
from fallwork.lesson.measured import Evidence
from fallwork.measurement.model import Analysis, Estimate, Record, Trial
from fallwork.measurement.records import read_all
from fallwork.measurement.simulate import csv_of, simulate
from fallwork.measurement.summaries import summaries
from fallwork.mechanics import apparatus_of, solve
from fallwork.pages.datafiles import DataTable, harmless, tables_of
from fallwork.pages.worked import evidence_of
from fallwork.scenario import CourseData, Excluded, Lab, Measured, load_scenario
from pages.history import DAY, anchors, in_spring, lab, listed, pages, start, taken
from pages.test_told import RECORDED

DEMO = Path(__file__).parents[2] / "site-data/scenarios"
GRAVITY = Estimate(value=9.80665, u=0.0)  # m/s², 3rd CGPM (1901)
FOLDER = "2027-spring/level"
RUNS = cases(__file__, "runs")
OPENS, DATA_OPENS = start(2), start(2) + 5 * DAY
SOLUTION_OPENS = OPENS + 14 * DAY
DRAGGED = Excluded(trial="2", because="=HYPERLINK the cable dragged")
VALUES = taken("acceleration", "1.38 m/s²", "1.40 m/s²", "1.41 m/s²", "1.39 m/s²")
TYPED = Measured(acceleration=VALUES, excluded=(DRAGGED,), whose="bench")
SIMULATED = in_spring(RECORDED)
TIME = np.array([0.0, 0.02, 0.04])


def given(
    measured: Measured | None, data_opens: datetime | None = DATA_OPENS, mass: str = "512.0 g"
) -> CourseData:
    return in_spring(lab("level", OPENS, mass, data_opens=data_opens, measured=measured))


TYPED_IN = given(TYPED)


# ---- what is held back
def test_the_trials_page_knows_no_prediction():
    """Other masses shift every prediction; of trials that can be the lab's nothing may change."""
    before, after = (pages(of, DATA_OPENS) for of in (TYPED_IN, given(TYPED, mass="530.0 g")))
    mine = [path for path in before if "/data" in path]
    assert len(mine) > 3
    assert {path: after[path] for path in mine} == {path: before[path] for path in mine}


# ---- what they hold
@pytest.mark.drawn
def test_simulated_data_are_named_as_such_wherever_they_are():
    built = pages(SIMULATED, SOLUTION_OPENS)
    drawn = [path for path in built if re.search(r"-(record|scatter).*\.svg$", path)]
    assert len(drawn) > 6
    assert all("The data are simulated." in built[path] for path in drawn)
    for name in ("trials", "records"):
        rows = built[f"{FOLDER}/data/{name}.csv"].splitlines()[1:]
        assert {row.split(",")[1] for row in rows} == {"simulated"}


def test_measured_data_are_not_called_simulated_and_downloads_can_be_read_again(tmp_path):
    built = pages(TYPED_IN, SOLUTION_OPENS)
    named = [path for path in built if "simulated" in built[path]]
    # The two words that a row may have, and what the word means.
    assert named == [f"{FOLDER}/data/trials.schema.json", "uncertainty.md"]
    rows = built[f"{FOLDER}/data/trials.csv"].splitlines()[1:]
    assert {row.split(",")[1] for row in rows} == {"measured"}
    file, built = tmp_path / "records.csv", pages(SIMULATED, DATA_OPENS)
    file.write_text(built[f"{FOLDER}/data/records.csv"], "utf-8")
    records = read_all([file])
    assert [record.name for record in records] == ["trial-01", "trial-02", "trial-03"]
    assert all(record.simulated for record in records)
    assert {note for record in records for note in record.notes} >= {
        "the file says that the data are simulated"
    }


def test_every_step_of_the_contents_is_on_its_page_and_pages_share_their_ids():
    built, ids = pages(SIMULATED, SOLUTION_OPENS), {}
    for name in ("prelab", "example", "report", "data", "solution"):
        page = built[f"{FOLDER}/{name}.md"]
        headings = re.findall(r"^## .* \{#([a-z0-9-]+)\}$", page, re.MULTILINE)
        assert [each for each in listed(page) if each not in headings] == anchors(page)
        assert len(set(anchors(page))) == len(anchors(page)) > 6
        ids[name] = {*anchors(page)}
    assert ids["prelab"] <= ids["example"] <= ids["solution"]
    assert {"how-acceleration", "how-tension", "summary", "window"} <= ids["report"] & ids["data"]
    assert {"verdict", "discrepancy", "influences"} <= ids["report"] & ids["solution"]


def test_what_is_to_be_done_in_a_step_is_numbered_once():
    """A formula between two items would begin the numbers again."""
    report = pages(SIMULATED, SOLUTION_OPENS)[f"{FOLDER}/report.md"]
    steps = [re.findall(r"(?<!\n)\n\n1\. ", step) for step in report.split("<section")]
    assert max(map(len, steps)) == 1


# ---- trials of every set-up of the demo course
def with_trials(name: str, folder: Path) -> Lab:
    """A lab of the scenario's own numbers with the records of three simulated trials."""
    scenario = load_scenario(DEMO / f"{name}.yaml")
    records = folder / "trials.csv"
    records.write_text(csv_of(simulate(scenario, GRAVITY, trials=3, seed=6)), encoding="utf-8")
    measured = Measured(pattern="trials.csv", files=(records,))
    numbers = {"scenario": scenario, "variant": scenario, "example": scenario}
    return lab("level", start(2), data_opens=start(2), measured=measured, **numbers)


def made(name: str, folder: Path) -> tuple[str, str]:
    """Its data and its solution."""
    built = pages(in_spring(with_trials(name, folder)), start(12))
    data, solution = (built[f"{FOLDER}/{page}.md"] for page in ("data", "solution"))
    assert "The trials are simulated." in data
    assert "{#verdict" in solution
    assert f"{FOLDER}/data/records.csv" in built
    return data, solution


def test_trials_of_every_kind_of_run_make_pages(tmp_path, thorough):
    """Formulas hold, since printing checks both sides."""
    everyday = ["heavy-pulley", "train", "pulley-on-a-string"]  # and those that are read below
    names = sorted(file.stem for file in DEMO.glob("*.yaml")) if thorough else everyday
    for name in names:
        if solve(apparatus_of(load_scenario(DEMO / f"{name}.yaml"), GRAVITY.value)).moves:
            made(name, tmp_path)


@pytest.mark.in_full
@pytest.mark.parametrize("name", RUNS)
def test_runs_without_a_landing_and_back_again_say_so(name, tmp_path):
    data, solution = made(name, tmp_path)
    assert [words for words in RUNS[name]["in data"] if words not in data] == []
    assert [words for words in RUNS[name]["nowhere"] if words in data + solution] == []


def test_where_nothing_slackens_the_force_is_zeroed_by_the_known_pull(tmp_path):
    notes = evidence_of(with_trials("two-weights", tmp_path), GRAVITY).analysis.notes
    assert any("force zeroed by" in note and "before release" in note for note in notes)


# ---- files to download: CSV by RFC 4180, each with a Table Schema, and no cell that runs
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


def test_files_are_csv_with_values_as_numbers_and_no_cell_that_runs():
    # RFC 4180: lines end in CR LF, each with as many cells; a missing value is an empty one.
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
    # The signs are those of OWASP's page on CSV injection (from memory).
    for sign in ("=", "+", "-", "@", "\t", "\r"):
        assert harmless(f"{sign}1+1") == f"'{sign}1+1"
        assert harmless(f"a{sign}") == f"a{sign}"
    first, second = rows(table("trials"))
    assert first["trial"] == rows(table("records"))[0]["trial"] == "'@first"
    assert second["because"] == '\'=cmd|"/c calc"!A1, and more'


@pytest.mark.parametrize("name", ["trials", "records"])
def test_a_schema_describes_the_columns_and_the_rows_keep_to_it(name):
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
