"""Records in their many forms, as ``records.yaml`` has them: read alike; what was assumed is said.
A spoiled one is a CSV file with its message beside it, in ``spoiled`` or, with notes, ``doubtful``.
"""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from cases import cases
from fallwork.errors import BadInput, Place
from fallwork.measurement.analysis import analyse
from fallwork.measurement.model import Estimate, Record
from fallwork.measurement.records import of_one_kind, read_all
from fallwork.measurement.records_columns import ROLES, factor, heading_of
from fallwork.measurement.simulate import Behaviour, simulate
from fallwork.scenario import Scenario
from measurement.kit import STANDARD, STEADY

HERE = Path(__file__).parent
CASES = cases(__file__, "records")
SAME: dict[str, str] = CASES["same"]
PLAIN = SAME["plain"]
ENCODINGS = ("utf-8-sig", "utf-16", "utf-16-le", "utf-16-be")
LONG = SAME["a remark"].replace("wobbly", "wobbly " * 30_000)  # longer than any line of numbers
SPOILED = sorted((HERE / "spoiled").glob("*.csv"))
DOUBTFUL = sorted((HERE / "doubtful").glob("*.csv"))
WRONG = {"drag", "ends-while-driven", "milliseconds-called-seconds", "stops-at-once"}


def written(folder: Path, text: str, encoding: str = "utf-8", name: str = "trial-01.csv") -> Path:
    file = folder / name
    file.write_bytes(text.encode(encoding))
    return file


def read(folder: Path, text: str, encoding: str = "utf-8") -> tuple[Record, ...]:
    return read_all([written(folder, text, encoding)])


@pytest.mark.parametrize("form", [*SAME, *ENCODINGS, "a long remark"])
def test_every_form_and_encoding_reads_alike(form, tmp_path):
    text = LONG if form == "a long remark" else SAME.get(form, PLAIN)
    (record,) = read(tmp_path, text, form if form in ENCODINGS else "utf-8")
    assert record.name == "trial-01"
    assert record.time == pytest.approx([0.0, 0.01, 0.02])
    assert record.position == pytest.approx([0.2, 0.201, 0.203])
    assert record.velocity == pytest.approx([0.1, 0.13, np.nan], nan_ok=True)
    assert record.force == pytest.approx([0.66, 0.67, 0.65])


@pytest.mark.parametrize("case", CASES["notes"])
def test_what_is_assumed_or_missing_is_said_and_nothing_else(case, tmp_path):
    (record,) = read(tmp_path, case["text"], case.get("encoding", "utf-8"))
    assert list(record.notes) == case["notes"]


@pytest.mark.parametrize("case", CASES["several"])
def test_trials_of_one_file_are_told_apart(case, tmp_path):
    records = read(tmp_path, case["text"])
    assert {r.name: list(r.velocity) for r in records if r.velocity is not None} == case["trials"]


def test_trials_of_two_files_keep_apart(tmp_path):
    files = [written(tmp_path, CASES["twice"], name=name) for name in ("mon.csv", "tue.csv")]
    assert [record.name for record in read_all(files)] == [
        *("mon trial 1", "mon trial 2", "tue trial 1", "tue trial 2")
    ]


@pytest.mark.parametrize("comment", CASES["comments"])
def test_only_what_says_so_is_simulated(comment, tmp_path):
    (record,) = read(tmp_path, f"# bench 4\n# {comment}\n{PLAIN}")
    assert record.simulated is CASES["comments"][comment]
    assert (record.said and record.said.line) == (2 if record.simulated else None)
    assert str(record.place).endswith(":4:1")


def test_a_column_for_the_source_marks_the_trials_that_are_simulated(tmp_path):
    rows = [f"{said},0.{t},0.{t}" for said in ("1,simulated", "2,measured") for t in range(3)]
    records = read(tmp_path, "\n".join(["trial,source,t (s),v (m/s)", *rows]))
    assert [each.simulated for each in records] == [True, False]
    assert [each.notes for each in records] == [("the file says that the data are simulated",), ()]


@pytest.mark.parametrize("case", CASES["another kind"])
def test_simulated_and_measured_records_never_mix(case, tmp_path, monkeypatch):
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
def test_role_unit_and_trial_of_a_heading_are_understood(text):
    heading, (role, scale, trial) = heading_of(text), CASES["headings"][text]
    assert (heading.role, heading.trial) == (role, trial)
    assert role not in ROLES or factor(role, heading.unit) == scale


# ---- spoiled records
def expected(case: Path) -> str:
    return case.with_suffix(".txt").read_text("utf-8").rstrip("\n")


@pytest.mark.parametrize("case", SPOILED, ids=lambda case: case.stem)
def test_a_spoiled_record_brings_its_message(case, monkeypatch):
    monkeypatch.chdir(case.parent)
    with pytest.raises(BadInput) as caught:
        analyse(read_all([Path(case.name)]))
    assert str(caught.value) == expected(case)


@pytest.mark.parametrize("case", DOUBTFUL, ids=lambda case: case.stem)
def test_a_doubtful_record_is_not_analysed_without_a_word_and_put_right_where_it_can_be(
    case, monkeypatch
):
    monkeypatch.chdir(case.parent)
    analysis = analyse(read_all([Path(case.name)]))
    assert "\n".join(analysis.notes) == expected(case)
    found = analysis.trials[0].estimates["acceleration"]
    assert case.stem in WRONG or found.value == pytest.approx(1.5, abs=max(4 * found.u, 0.005))


def test_problems_of_several_files_come_together_and_what_can_not_be_read_says_so(tmp_path):
    with pytest.raises(BadInput, match=r"there is no such file; .* holds no files"):
        read_all([tmp_path / "none.csv"])
    with pytest.raises(
        BadInput, match=r"this is a folder; name the files in it, e\.g\. .*/\*\.csv"
    ):
        read_all([tmp_path])
    files = [written(tmp_path, "t (s),v (m)\n0,0\n1,1\n", name=f"{n}.csv") for n in ("b", "a")]
    with pytest.raises(BadInput) as caught:
        read_all(files)
    assert [Path(each.place.file).name for each in caught.value.problems] == ["b.csv", "a.csv"]


ROWS = "".join(f"{n},0,0\n{n},1,1\n" for n in range(1001))
MANY = {"1001 values in one line": "1," * 1000, "larger than 5 MiB": "1,1\n" * 1_400_000}
MANY |= {"1001 trials in one file": f"trial,t (s),v (m/s)\n{ROWS}"}


@pytest.mark.parametrize("many", MANY)
def test_what_no_class_records_is_refused_before_it_takes_long(many, tmp_path):
    with pytest.raises(BadInput, match=many):
        read(tmp_path, MANY[many])


# ---- simulated trials: the truth in them, their noise, and their marks
NONE = (
    *("position_noise", "position_step", "velocity_step", "position_scale_u", "force_noise"),
    *("force_step", "force_zero_u", "force_scale_u", "nudge_share", "landing_spike"),
)
SILENT = replace(STEADY, force_rate=50.0, **dict.fromkeys(NONE, 0.0))  # sensors without a flaw


class Seen:
    """A trial's record as arrays, when it is let go and when the driven part ends."""

    def __init__(self, scenario: Scenario, behaviour: Behaviour, seed: int = 3) -> None:
        trial = simulate(scenario, STANDARD, trials=1, seed=seed, behaviour=behaviour)[0]
        self.release, self.ends, record = trial.release, trial.driven_ends, trial.record
        columns = (record.time, record.position, record.velocity, record.force)
        every = [np.asarray(each, dtype=float) for each in columns]
        self.time, self.position, self.velocity, self.force = every
        self.moved = self.position - self.position[0]

    def within(self, start: float, end: float) -> np.ndarray:
        """Which readings lie between two times."""
        return (self.time > start) & (self.time < end)


def test_the_cart_coasts_to_the_end_of_the_track_and_comes_back(level):
    # The track ends 1.80 − 0.25 m ahead; −µg on the way there, a third of the speed back.
    record = Seen(level(), replace(SILENT, after=1.6))
    hit = record.time[np.argmax(record.moved)]
    coasting = record.within(record.ends + 0.06, hit - 0.06)
    slope, last = np.polyfit(record.time[coasting] - hit, record.velocity[coasting], 1)
    assert slope == pytest.approx(-0.008 * 9.80665, rel=1e-9)
    assert record.moved.max() == pytest.approx(1.55, abs=0.03)
    back = record.velocity[record.within(hit + 0.1, hit + 0.14)]
    assert back == pytest.approx(-0.3 * last, abs=0.02)


def test_velocities_are_correlated_slopes_and_readings_have_their_steps(level):
    # Least squares over five points: u = σ/(Δt √10), neighbours correlated by 4/10 (by hand).
    quiet = replace(SILENT, position_noise=0.0003, held=(40.0, 40.0))
    record = Seen(level(), quiet)
    rest = record.velocity[record.within(0.1, record.release - 0.1)]
    assert np.std(rest) == pytest.approx(0.0003 / (0.02 * np.sqrt(10)), rel=0.06)
    assert np.corrcoef(rest[1:], rest[:-1])[0, 1] == pytest.approx(0.4, abs=0.06)
    # Both for a moment.
    record = Seen(level(), replace(SILENT, landing_spike=0.6, nudge_share=1.0, force_rate=200.0))
    spans = [record.within(record.ends + t, record.ends + t + 0.03) for t in (0, 0.15)]
    first, later = (np.abs(record.force[span]).max() for span in spans)
    assert later < 0.01 < 0.2 < first
    moved, times = record.moved[::4], record.time[::4]  # the slower sensor's
    assert moved[times < record.release].max() == pytest.approx(0.002, rel=0.1)
    just = (times > record.release - 0.15) & (times < record.release)
    assert moved[just] == pytest.approx(0.0, abs=1e-12)
    record = Seen(level(), replace(Behaviour(), position_step=0.001, force_step=0.01))
    assert np.diff(record.time) == pytest.approx(0.01)
    assert np.all(np.isfinite(record.position) == (np.arange(len(record.time)) % 2 == 0))
    for readings, step in ((record.position[::2], 0.001), (record.force, 0.01)):
        assert np.round(readings / step) * step == pytest.approx(readings, abs=1e-12)


def test_a_force_sensor_may_be_off_in_zero_and_scale_alike_in_all_trials(level):
    """Held 0.784532 N, slack 0 N; zero and scale are normal with 0.02 N and 5 %."""
    wrong, scenario = replace(SILENT, force_zero_u=0.02, force_scale_u=0.05), level()
    zeros, scales = [], []
    for seed in range(40):
        one, other = simulate(scenario, STANDARD, trials=2, seed=seed, behaviour=wrong)
        force = np.asarray(one.record.force)
        assert force[-1] == np.asarray(other.record.force)[-1]
        zeros.append(force[-1])
        scales.append((force[0] - force[-1]) / 0.784532)
    assert np.std(zeros) == pytest.approx(0.02, rel=0.35)
    assert np.std(scales) == pytest.approx(0.05, rel=0.35)
    assert np.mean(scales) == pytest.approx(1.0, abs=0.025)


def test_truths_are_drawn_from_what_is_uncertain_of_them(level):
    """Friction by 8 % and the start by 0.5 mm from trial to trial, the givens once by their ±."""
    scenario = level(cart="420.0 g ± 5 g", distance="0.600 m")
    unsure = Estimate(value=9.80665, u=0.05)
    every = simulate(scenario, unsure, trials=40, seed=2)
    drawn = [simulate(scenario, unsure, trials=1, seed=s)[0].givens for s in range(40)]
    assert len({truth.givens["cart.mass"] for truth in every}) == 1
    for values, mean, u in (
        ([truth.givens["track.friction"] for truth in every], 0.008, 0.00064),
        ([truth.values["distance"] for truth in every], 0.6, 0.0005),
        ([each["cart.mass"] for each in drawn], 0.420, 0.005),
        ([each["gravity"] for each in drawn], 9.80665, 0.05),
    ):
        assert np.std(values) == pytest.approx(u, rel=0.35)
        assert np.mean(values) == pytest.approx(mean, abs=0.6 * u)


def test_a_run_that_nothing_ends_and_one_that_friction_holds_are_recorded_for_a_while(level):
    """No distance: the cart runs until it reaches the pulley at the end of the track."""
    scenario = level()
    record = Seen(replace(scenario, run=replace(scenario.run, distance=None)), SILENT)
    assert record.ends == pytest.approx(record.release + np.sqrt(2 * 1.55 / 1.503163312), rel=1e-9)
    assert record.time[-1] == pytest.approx(record.ends + 0.7, abs=0.02)
    still = Seen(level(friction="0.3"), replace(SILENT, longest=3.0))
    assert still.position == pytest.approx(still.position[0])
    assert still.force == pytest.approx(0.784532)
