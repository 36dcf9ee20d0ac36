"""Records in their many forms: one content, read alike; what was assumed is said.

A record that is spoiled brings its whole message, at its place, and never a traceback. Its case is
a CSV file and the text beside it: in ``spoiled`` what refuses it, in ``doubtful`` the notes with
which it is analysed all the same.
"""

from pathlib import Path

import numpy as np
import pytest

from fallwork.errors import BadInput, Place
from fallwork.measurement.analysis import analyse
from fallwork.measurement.model import Record
from fallwork.measurement.records import of_one_kind, read_all
from fallwork.measurement.records_headings import factor, heading_of

PLAIN = "t (s),x (m),v (m/s),F (N)\n0.00,0.200,0.10,0.66\n0.01,0.201,0.13,0.67\n0.02,0.203,,0.65\n"
REMARKED = (
    "t (s),x (m),v (m/s),F (N),remark\n"
    "0.00,0.200,0.10,0.66,\n0.01,0.201,0.13,0.67,{}\n0.02,0.203,,0.65,\n"
)
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
    "a quote that nobody closes": REMARKED.format('"wobbly'),
    "a remark longer than any line of numbers": REMARKED.format(f'"{"wobbly " * 30_000}"'),
    "exponents and a true minus": (
        "t (s),x (m),v (m/s),F (N)\n−0,2e-1,1e-1,.66\n1E-2,0.201,.13,0.67\n0.02,+0.203,?,65e−2\n"
    ),
}
SHORT = "0.0,0.1\n0.1,0.2\n0.2,0.3\n"


def below(**trials: str) -> str:
    """Trials below each other: a row of each for every line of ``SHORT``, after what is given."""
    return "".join(f"{said},{row}\n" for said in trials.values() for row in SHORT.split())


def written(folder: Path, text: str, encoding: str = "utf-8", name: str = "trial-01.csv") -> Path:
    file = folder / name
    file.write_bytes(text.encode(encoding))
    return file


def read(folder: Path, text: str, encoding: str = "utf-8") -> tuple[Record, ...]:
    return read_all([written(folder, text, encoding)])


ENCODINGS = ("utf-8-sig", "utf-16", "utf-16-le", "utf-16-be")


@pytest.mark.parametrize("form", [*SAME, *ENCODINGS])
def test_every_form_and_encoding_reads_alike(form: str, tmp_path: Path) -> None:
    (record,) = read(tmp_path, SAME.get(form, PLAIN), form if form in ENCODINGS else "utf-8")
    assert record.name == "trial-01"
    assert record.time == pytest.approx([0.0, 0.01, 0.02])
    assert record.position == pytest.approx([0.2, 0.201, 0.203])
    assert record.velocity == pytest.approx([0.1, 0.13, np.nan], nan_ok=True)
    assert record.force == pytest.approx([0.66, 0.67, 0.65])


SLOW = "".join(f"{0.01 * k:.2f},{k if k % 2 == 0 else ''},0.7\n" for k in range(12))
GONE = "1 of 3 values of velocity missing"
SLOWER = "velocity at one in 2 of the times: a slower sensor"
ASSUMED = (
    "the file is UTF-16 with a byte order mark",
    "semicolons between the values",
    '"F" has no unit: taken as N',
    "decimal commas",
    GONE,
)
NOTES = [
    (PLAIN, "utf-8", (GONE,)),
    ("t (s),v (cm/s),F (N)\n" + SLOW, "utf-8", (SLOWER,)),
    (SAME["semicolons and decimal commas"].replace("F (N)", "F"), "utf-16", ASSUMED),
]


@pytest.mark.parametrize(("text", "encoding", "notes"), NOTES)
def test_what_is_assumed_or_missing_is_said_and_nothing_else(
    text: str, encoding: str, notes: tuple[str, ...], tmp_path: Path
) -> None:
    (record,) = read(tmp_path, text, encoding)
    assert record.notes == notes


ROWS = "0.0,0.1,0.0,0.5\n0.1,0.2,0.1,0.6\n0.2,0.3,,\n"
SEVERAL = {
    "a column": (
        "trial,t (s),v (m/s)\n" + below(first="7", second="1"),
        {"trial 7": [0.1, 0.2, 0.3], "trial 1": [0.1, 0.2, 0.3]},
    ),
    "the headings again": (
        f"t (s),v (m/s)\n{SHORT}" * 2,
        {"trial 1": [0.1, 0.2, 0.3], "trial 2": [0.1, 0.2, 0.3]},
    ),
    "one time for both": (
        "t (s),v1 (m/s),v2 (m/s)\n0.0,0.1,0.5\n0.1,0.2,0.6\n",
        {"trial 1": [0.1, 0.2], "trial 2": [0.5, 0.6]},
    ),
} | {
    head: (f"{head}\n{ROWS}", {"trial 1": [0.1, 0.2, 0.3], "trial 2": [0.5, 0.6]})
    for head in (
        "t1 (s),v1 (m/s),t2 (s),v2 (m/s)",
        "t (s),v (m/s),t (s),v (m/s)",
        "Trial 1,,Trial 2,\nt (s),v (m/s),t (s),v (m/s)",
        "Trial 1: t (s),Trial 1: v (m/s),Run 2: t (s),Run 2: v (m/s)",
    )
}


@pytest.mark.parametrize("case", SEVERAL)
def test_trials_of_one_file_are_told_apart(case: str, tmp_path: Path) -> None:
    text, speeds = SEVERAL[case]
    found = {r.name: list(r.velocity) for r in read(tmp_path, text) if r.velocity is not None}
    assert found == speeds


def test_trials_of_two_files_keep_apart(tmp_path: Path) -> None:
    text = SEVERAL["the headings again"][0]
    files = [written(tmp_path, text, name=name) for name in ("mon.csv", "tue.csv")]
    assert [record.name for record in read_all(files)] == [
        *("mon trial 1", "mon trial 2", "tue trial 1", "tue trial 2")
    ]


# ---- simulated or measured


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
    (record,) = read(tmp_path, f"# bench 4\n{comment}\n{PLAIN}")
    assert record.simulated is simulated
    assert (record.said and record.said.line) == (2 if simulated else None)
    assert str(record.place).endswith(":4:1")


def test_a_column_for_the_source_marks_the_trials_that_are_simulated(tmp_path: Path) -> None:
    text = "trial,source,t (s),v (m/s)\n" + below(first="1,simulated", second="2,measured")
    records = read(tmp_path, text)
    assert [each.simulated for each in records] == [True, False]
    assert [each.notes for each in records] == [("the file says that the data are simulated",), ()]


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
    files = [written(Path(), text, name=f"{n}.csv") for n, text in zip("abc", texts, strict=False)]
    places = {"measured.whose": Place(file="term.yaml", line=7, column=5)}
    with pytest.raises(BadInput) as caught:
        of_one_kind(read_all(files), whose, places)
    assert str(caught.value) == message
    for text, rightly in ((MADE, ""), (MADE, "simulation"), (PLAIN, ""), (PLAIN, "class")):
        records = read(tmp_path, text)
        assert of_one_kind(records, rightly) == records


# ---- headings

HEADINGS = [
    ("t (s)", "time", 1.0, ""),
    ("Time [ms]", "time", 0.001, ""),
    ("Elapsed Time (seconds)", "time", 1.0, ""),
    ("time_s", "time", 1.0, ""),
    ("position_m", "position", 1.0, ""),
    ("x/m", "position", 1.0, ""),
    ("s / mm", "position", 0.001, ""),
    ("x_2 / mm", "position", 0.001, "2"),
    ("v / (cm/s)", "velocity", 0.01, ""),
    ("velocity/cm/s", "velocity", 0.01, ""),
    ("v m/s", "velocity", 1.0, ""),
    ("v (m·s⁻¹)", "velocity", 1.0, ""),
    ("v (m s^-1)", "velocity", 1.0, ""),
    ("speed in cm/s", "velocity", 0.01, ""),
    ("v [m/s] (smoothed)", "velocity", 1.0, ""),
    ("Velocity (m/s), trial 2", "velocity", 1.0, "2"),
    ("run 2 (m/s)", "velocity", 1.0, "2"),
    ("Trial 3: t (s)", "time", 1.0, "3"),
    ("Force (mN)", "force", 0.001, ""),
    ("Force (MN)", "force", None, ""),
    ("Tension, N", "force", 1.0, ""),
]
NO_ROLE = dict.fromkeys(["a (m/s²)", "temperature (K)", "remarks", "", "Trial 2"])
NAMES_TRIALS = dict.fromkeys(["Trial", "run no.", "Run #"], "trial")


@pytest.mark.parametrize(("text", "role", "scale", "trial"), HEADINGS)
def test_role_unit_and_trial_of_a_heading_are_understood(
    text: str, role: str, scale: float | None, trial: str
) -> None:
    heading = heading_of(text)
    assert (heading.role, heading.trial) == (role, trial)
    assert factor(role, heading.unit) == scale


def test_other_headings_have_no_role_or_name_the_trial() -> None:
    roles = NO_ROLE | NAMES_TRIALS
    assert {text: heading_of(text).role for text in roles} == roles


# ---- spoiled records

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
