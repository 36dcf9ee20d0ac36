"""Spoiled record files: each brings its whole message, at its place, and never a traceback.

A case is a CSV file and the text beside it: in ``spoiled`` what refuses it, in ``doubtful`` the
notes with which it is analysed all the same.
"""

from pathlib import Path

import pytest

from fallwork.errors import BadInput
from fallwork.measurement.analysis import analyse
from fallwork.measurement.records import read_all

HERE = Path(__file__).parent
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
    for name in ("b", "a"):
        (tmp_path / f"{name}.csv").write_text("t (s),v (m)\n0,0\n1,1\n", encoding="utf-8")
    with pytest.raises(BadInput) as caught:
        read_all([tmp_path / "b.csv", tmp_path / "a.csv"])
    assert [Path(each.place.file).name for each in caught.value.problems] == ["b.csv", "a.csv"]


def test_files_that_cannot_be_read_say_so(tmp_path: Path) -> None:
    with pytest.raises(BadInput, match=r"there is no such file; .* holds no files"):
        read_all([tmp_path / "none.csv"])
    with pytest.raises(BadInput, match=r"this is a folder; name the files in it, e.g\. .*/\*\.csv"):
        read_all([tmp_path])
