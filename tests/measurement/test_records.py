"""Records in their many forms: one content, read alike; what was assumed is said.

The forms stand in ``records.yaml``. A record that is spoiled brings its whole message, at its
place, and never a traceback. Its case is a CSV file and the text beside it: in ``spoiled`` what
refuses it, in ``doubtful`` the notes with which it is analysed all the same.
"""

from pathlib import Path
from typing import Any

import numpy as np
import pytest
import yaml

from fallwork.errors import BadInput, Place
from fallwork.measurement.analysis import analyse
from fallwork.measurement.model import Record
from fallwork.measurement.records import of_one_kind, read_all
from fallwork.measurement.records_columns import ROLES, factor, heading_of

HERE = Path(__file__).parent
CASES: dict[str, Any] = yaml.safe_load((HERE / "records.yaml").read_text("utf-8"))
SAME: dict[str, str] = CASES["same"]
PLAIN = SAME["plain"]
ENCODINGS = ("utf-8-sig", "utf-16", "utf-16-le", "utf-16-be")
LONG = SAME["a remark"].replace("wobbly", "wobbly " * 30_000)  # longer than any line of numbers


def written(folder: Path, text: str, encoding: str = "utf-8", name: str = "trial-01.csv") -> Path:
    file = folder / name
    file.write_bytes(text.encode(encoding))
    return file


def read(folder: Path, text: str, encoding: str = "utf-8") -> tuple[Record, ...]:
    return read_all([written(folder, text, encoding)])


@pytest.mark.parametrize("form", [*SAME, *ENCODINGS, "a long remark"])
def test_every_form_and_encoding_reads_alike(form: str, tmp_path: Path) -> None:
    text = LONG if form == "a long remark" else SAME.get(form, PLAIN)
    (record,) = read(tmp_path, text, form if form in ENCODINGS else "utf-8")
    assert record.name == "trial-01"
    assert record.time == pytest.approx([0.0, 0.01, 0.02])
    assert record.position == pytest.approx([0.2, 0.201, 0.203])
    assert record.velocity == pytest.approx([0.1, 0.13, np.nan], nan_ok=True)
    assert record.force == pytest.approx([0.66, 0.67, 0.65])


@pytest.mark.parametrize("case", CASES["notes"])
def test_what_is_assumed_or_missing_is_said_and_nothing_else(
    case: dict[str, Any], tmp_path: Path
) -> None:
    (record,) = read(tmp_path, case["text"], case.get("encoding", "utf-8"))
    assert list(record.notes) == case["notes"]


@pytest.mark.parametrize("case", CASES["several"])
def test_trials_of_one_file_are_told_apart(case: dict[str, Any], tmp_path: Path) -> None:
    records = read(tmp_path, case["text"])
    assert {r.name: list(r.velocity) for r in records if r.velocity is not None} == case["trials"]


def test_trials_of_two_files_keep_apart(tmp_path: Path) -> None:
    files = [written(tmp_path, CASES["twice"], name=name) for name in ("mon.csv", "tue.csv")]
    assert [record.name for record in read_all(files)] == [
        *("mon trial 1", "mon trial 2", "tue trial 1", "tue trial 2")
    ]


COMMENTS = {
    True: ("Simulated data, seed 1", "these data are simulated"),
    False: (
        "measured, not simulated",
        "these aren't simulated data",
        "simulation is for next week",
    ),
}


@pytest.mark.parametrize("simulated", COMMENTS)
def test_only_what_says_so_is_simulated(simulated: bool, tmp_path: Path) -> None:
    for comment in COMMENTS[simulated]:
        (record,) = read(tmp_path, f"# bench 4\n# {comment}\n{PLAIN}")
        assert record.simulated is simulated, comment
        assert (record.said and record.said.line) == (2 if simulated else None)
        assert str(record.place).endswith(":4:1")


def test_a_column_for_the_source_marks_the_trials_that_are_simulated(tmp_path: Path) -> None:
    rows = [f"{said},0.{t},0.{t}" for said in ("1,simulated", "2,measured") for t in range(3)]
    records = read(tmp_path, "\n".join(["trial,source,t (s),v (m/s)", *rows]))
    assert [each.simulated for each in records] == [True, False]
    assert [each.notes for each in records] == [("the file says that the data are simulated",), ()]


@pytest.mark.parametrize("case", CASES["another kind"])
def test_simulated_and_measured_records_never_mix(
    case: dict[str, Any], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    texts = {"plain": PLAIN, "made": f"# Simulated data\n{PLAIN}"}
    named = zip("abc", case["files"], strict=False)
    records = read_all([written(Path(), texts[kind], name=f"{n}.csv") for n, kind in named])
    places = {"measured.whose": Place(file="term.yaml", line=7, column=5)}
    found = None
    try:
        assert of_one_kind(records, case.get("whose", ""), places) == records
    except BadInput as error:
        found = str(error)
    assert found == case.get("refused")


@pytest.mark.parametrize("text", CASES["headings"])
def test_role_unit_and_trial_of_a_heading_are_understood(text: str) -> None:
    heading, (role, scale, trial) = heading_of(text), CASES["headings"][text]
    assert (heading.role, heading.trial) == (role, trial)
    assert role not in ROLES or factor(role, heading.unit) == scale


# ---- spoiled records

SPOILED = sorted((HERE / "spoiled").glob("*.csv"))
DOUBTFUL = sorted((HERE / "doubtful").glob("*.csv"))


def expected(case: Path) -> str:
    return case.with_suffix(".txt").read_text("utf-8").rstrip("\n")


@pytest.mark.parametrize("case", SPOILED, ids=lambda case: case.stem)
def test_a_spoiled_record_brings_its_message(case: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(case.parent)
    with pytest.raises(BadInput) as caught:
        analyse(read_all([Path(case.name)]))
    assert str(caught.value) == expected(case)


WRONG = {"drag", "ends-while-driven", "milliseconds-called-seconds", "stops-at-once"}


@pytest.mark.parametrize("case", DOUBTFUL, ids=lambda case: case.stem)
def test_a_doubtful_record_is_not_analysed_without_a_word_and_put_right_where_it_can_be(
    case: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(case.parent)
    analysis = analyse(read_all([Path(case.name)]))
    assert "\n".join(analysis.notes) == expected(case)
    found = analysis.trials[0].estimates["acceleration"]
    assert case.stem in WRONG or found.value == pytest.approx(1.5, abs=max(4 * found.u, 0.005))


def test_problems_of_several_files_come_together(tmp_path: Path) -> None:
    files = [written(tmp_path, "t (s),v (m)\n0,0\n1,1\n", name=f"{n}.csv") for n in ("b", "a")]
    with pytest.raises(BadInput) as caught:
        read_all(files)
    assert [Path(each.place.file).name for each in caught.value.problems] == ["b.csv", "a.csv"]


def test_files_that_cannot_be_read_say_so(tmp_path: Path) -> None:
    with pytest.raises(BadInput, match=r"there is no such file; .* holds no files"):
        read_all([tmp_path / "none.csv"])
    with pytest.raises(BadInput, match=r"this is a folder; name the files in it, e.g\. .*/\*\.csv"):
        read_all([tmp_path])
