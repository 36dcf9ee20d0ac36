"""Records in their many forms: one content, read alike; what was assumed is said."""

from pathlib import Path

import numpy as np
import pytest

from fallwork.errors import BadInput, Place
from fallwork.measurement.records import of_one_kind, read_all, read_records

PLAIN = "t (s),x (m),v (m/s),F (N)\n0.00,0.200,0.10,0.66\n0.01,0.201,0.13,0.67\n0.02,0.203,,0.65\n"
SAME = {
    "semicolons and decimal commas": (
        "t (s);x (m);v (m/s);F (N)\n0,00;0,200;0,10;0,66\n0,01;0,201;0,13;0,67\n0,02;0,203;;0,65\n"
    ),
    "tabs": PLAIN.replace(",", "\t"),
    "other units": (
        "Time [ms],position_cm,v / (cm/s),Force (mN)\n"
        "0,20.0,10,660\n10,20.1,13,670\n20,20.3,NaN,650\n"
    ),
    "names and units in two lines": (
        "t,x,v,F\ns,m,m/s,N\n0.00,0.200,0.10,0.66\n0.01,0.201,0.13,0.67\n0.02,0.203,-,0.65\n"
    ),
    "other order and a column more": (
        "F (N),a (m/s²),v (m/s),t (s),x (m)\n"
        "0.66,1,0.10,0.00,0.200\n0.67,1,0.13,0.01,0.201\n0.65,1,,0.02,0.203\n"
    ),
    "comments and a preamble": "# bench 4\nLab 3,,,\n" + PLAIN.replace("0.01,", "% later\n0.01,"),
    "carriage returns": PLAIN.replace("\n", "\r\n"),
    "quotes": '"t (s)","x (m)","v (m/s)","F (N)"\n"0,00","0,200","0,10","0,66"\n'
    '"0,01","0,201","0,13","0,67"\n"0,02","0,203","","0,65"\n',
    "exponents and a true minus": (
        "t (s),x (m),v (m/s),F (N)\n−0,2e-1,1e-1,.66\n1E-2,0.201,.13,0.67\n0.02,+0.203,?,65e−2\n"
    ),
}
SHORT = "0.0,0.1\n0.1,0.2\n0.2,0.3\n"


def written(folder: Path, text: str, encoding: str = "utf-8", name: str = "trial-01.csv") -> Path:
    file = folder / name
    file.write_bytes(text.encode(encoding))
    return file


def names_and_speeds(folder: Path, text: str) -> dict[str, list[float]]:
    records = read_records(written(folder, text))
    return {each.name: list(each.velocity) for each in records if each.velocity is not None}


@pytest.mark.parametrize("form", SAME)
def test_every_form_reads_alike(form: str, tmp_path: Path) -> None:
    (record,) = read_records(written(tmp_path, SAME[form]))
    assert record.name == "trial-01"
    assert record.time == pytest.approx([0.0, 0.01, 0.02])
    assert record.position == pytest.approx([0.2, 0.201, 0.203])
    assert record.velocity == pytest.approx([0.1, 0.13, np.nan], nan_ok=True)
    assert record.force == pytest.approx([0.66, 0.67, 0.65])


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "utf-16-le", "utf-16-be"])
def test_every_encoding_reads_alike(encoding: str, tmp_path: Path) -> None:
    (record,) = read_records(written(tmp_path, PLAIN, encoding))
    assert record.force == pytest.approx([0.66, 0.67, 0.65])


def test_a_plain_file_needs_no_word_but_on_what_is_missing(tmp_path: Path) -> None:
    (record,) = read_records(written(tmp_path, PLAIN))
    assert record.notes == ("1 of 3 values of velocity missing",)


def test_assumptions_are_said(tmp_path: Path) -> None:
    text = SAME["semicolons and decimal commas"].replace("F (N)", "F")
    (record,) = read_records(written(tmp_path, text, "utf-16"))
    assert record.notes == (
        "the file is UTF-16 with a byte order mark",
        "semicolons between the values",
        '"F" has no unit: taken as N',
        "decimal commas",
        "1 of 3 values of velocity missing",
    )


def test_trials_below_each_other_are_told_apart_by_a_column(tmp_path: Path) -> None:
    text = "trial,t (s),v (m/s)\n" + "".join(f"{k},{row}\n" for k in "71" for row in SHORT.split())
    assert names_and_speeds(tmp_path, text) == {
        "trial 7": [0.1, 0.2, 0.3],
        "trial 1": [0.1, 0.2, 0.3],
    }


@pytest.mark.parametrize(
    "head",
    [
        "t1 (s),v1 (m/s),t2 (s),v2 (m/s)",
        "t (s),v (m/s),t (s),v (m/s)",
        "Trial 1,,Trial 2,\nt (s),v (m/s),t (s),v (m/s)",
        "Trial 1: t (s),Trial 1: v (m/s),Run 2: t (s),Run 2: v (m/s)",
    ],
)
def test_trials_side_by_side(head: str, tmp_path: Path) -> None:
    text = f"{head}\n0.0,0.1,0.0,0.5\n0.1,0.2,0.1,0.6\n0.2,0.3,,\n"
    assert names_and_speeds(tmp_path, text) == {"trial 1": [0.1, 0.2, 0.3], "trial 2": [0.5, 0.6]}


def test_trials_side_by_side_may_share_the_time(tmp_path: Path) -> None:
    text = "t (s),v1 (m/s),v2 (m/s)\n0.0,0.1,0.5\n0.1,0.2,0.6\n"
    assert names_and_speeds(tmp_path, text) == {"trial 1": [0.1, 0.2], "trial 2": [0.5, 0.6]}


def test_headings_that_come_again_begin_a_trial(tmp_path: Path) -> None:
    text = f"t (s),v (m/s)\n{SHORT}t (s),v (m/s)\n{SHORT}"
    assert list(names_and_speeds(tmp_path, text)) == ["trial 1", "trial 2"]


def test_a_slower_sensor_is_no_loss(tmp_path: Path) -> None:
    rows = "".join(f"{0.01 * k:.2f},{k if k % 2 == 0 else ''},0.7\n" for k in range(12))
    (record,) = read_records(written(tmp_path, "t (s),v (cm/s),F (N)\n" + rows))
    assert record.notes == ("velocity at one in 2 of the times: a slower sensor",)


def test_simulated_records_know_that_they_are(tmp_path: Path) -> None:
    marked = read_records(written(tmp_path, "# Simulated data, seed 1\n" + PLAIN))
    assert [marked[0].simulated, read_records(written(tmp_path, PLAIN))[0].simulated] == [
        True,
        False,
    ]


@pytest.mark.parametrize(
    ("comment", "simulated"),
    [
        ("# Simulated data, seed 1", True),
        ("# these data are simulated", True),
        ("# measured, not simulated", False),
        ("# these aren't simulated data", False),
        ("# simulation is taught next week", False),
    ],
)
def test_only_what_says_so_is_simulated(comment: str, simulated: bool, tmp_path: Path) -> None:
    (record,) = read_records(written(tmp_path, f"# bench 4\n{comment}\n{PLAIN}"))
    assert record.simulated is simulated
    assert (record.said and record.said.line) == (2 if simulated else None)


def test_rows_of_one_trial_are_of_one_kind(tmp_path: Path) -> None:
    text = "source,t (s),v (m/s)\n" + "".join(
        f"{source},{line}\n"
        for source, line in zip(("measured", "simulated", ""), SHORT.split(), strict=True)
    )
    with pytest.raises(BadInput, match="simulated and measured rows in one trial") as caught:
        read_records(written(tmp_path, text))
    assert caught.value.problems[0].place.line == 3


MADE = "# Simulated data\n" + PLAIN
ANOTHER_KIND = {
    "mixed": (
        (MADE, PLAIN, PLAIN),
        "",
        "a.csv:1:1: a says that it is simulated, and b doesn't; take out the ones or the others: "
        "simulated and measured trials never mix",
    ),
    "mixed, most of them simulated": (
        (MADE, MADE, PLAIN),
        "simulation",
        "c.csv:2:1: c doesn't say that it is simulated, and a does; take out the ones or the "
        "others: simulated and measured trials never mix",
    ),
    "simulated and called measured": (
        (MADE,),
        "class",
        "term.yaml:7:5: a (a.csv:1:1) says that it is simulated, and the term has whose: class; "
        "write whose: simulation, or give the records that were measured",
    ),
    "measured and called simulated": (
        (PLAIN,),
        "simulation",
        "term.yaml:7:5: a (a.csv:2:1) doesn't say that it is simulated, and the term has whose: "
        "simulation; say whose trials they are, or begin the file with # Simulated data",
    ),
}


@pytest.mark.parametrize("case", ANOTHER_KIND)
def test_simulated_and_measured_records_never_mix(
    case: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    texts, whose, message = ANOTHER_KIND[case]
    monkeypatch.chdir(tmp_path)
    files = [Path(f"{name}.csv") for name in "abc"[: len(texts)]]
    for file, text in zip(files, texts, strict=True):
        file.write_text(text, encoding="utf-8")
    places = {"measured.whose": Place(file="term.yaml", line=7, column=5)}
    with pytest.raises(BadInput) as caught:
        of_one_kind(read_all(files), whose, places)
    assert str(caught.value) == message


def test_records_of_one_kind_pass(tmp_path: Path) -> None:
    for text, whose in ((MADE, ""), (MADE, "simulation"), (PLAIN, ""), (PLAIN, "class")):
        records = read_records(written(tmp_path, text))
        assert of_one_kind(records, whose) == records


def test_a_column_for_the_source_marks_the_trials_that_are_simulated(tmp_path: Path) -> None:
    text = (
        "trial,source,t (s),v (m/s)\n"
        + "".join(f"1,simulated,{line}\n" for line in SHORT.split())
        + "".join(f"2,measured,{line}\n" for line in SHORT.split())
    )
    records = read_records(written(tmp_path, text))
    assert [each.simulated for each in records] == [True, False]
    assert [each.notes for each in records] == [
        ("the file says that the data are simulated",),
        (),
    ]


def test_trials_of_two_files_keep_apart(tmp_path: Path) -> None:
    text = f"t (s),v (m/s)\n{SHORT}t (s),v (m/s)\n{SHORT}"
    files = [written(tmp_path, text, name=name) for name in ("mon.csv", "tue.csv")]
    assert [record.name for record in read_all(files)] == [
        *("mon trial 1", "mon trial 2", "tue trial 1", "tue trial 2")
    ]


def test_a_record_knows_its_place(tmp_path: Path) -> None:
    (record,) = read_records(written(tmp_path, "# a\n\n" + PLAIN))
    assert record.place is not None
    assert (record.place.line, record.place.column) == (4, 1)
