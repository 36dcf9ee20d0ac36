"""``fallwork simulate`` makes records that say what they are; ``fallwork trials`` reads them."""

import json
from pathlib import Path
from typing import Any

import pytest

from cli.runner import Run

LEVEL = "site-data/scenarios/level.yaml"
ESTIMATES = {
    *("acceleration", "final_speed", "travel_time"),
    *("distance", "mean_tension", "work_of_tension"),
}


@pytest.fixture
def records(folder: Path, run: Run) -> list[str]:
    """Four simulated trials of the course's scenario, each in a file of its own."""
    assert run("simulate", "level", "--trials", "4", "--seed", "5", "--to", "records")[0] == 0
    return [str(path) for path in sorted((folder / "records").glob("*.csv"))]


def trials_json(run: Run, *words: str) -> dict[str, Any]:
    status, output, messages = run("trials", *words, "--json")
    assert (status, messages) == (0, "")
    return json.loads(output)


# ---- simulate


def test_a_simulated_file_says_so_first_of_all(folder: Path, run: Run) -> None:
    status, output, _ = run("simulate", "level", "--trials", "2", "--seed", "7")
    assert status == 0
    assert output.startswith("# Simulated data, scenario level, seed 7: made by a model, not meas")
    assert output.splitlines()[1] == "trial,time (s),position (m),velocity (m/s),force (N)"


def test_the_same_seed_gives_the_same_bytes(folder: Path, run: Run) -> None:
    first, second, other = (
        run("simulate", "level", "--trials", "1", "--seed", seed)[1] for seed in ("3", "3", "4")
    )
    assert first == second != other


def test_one_file_or_a_folder_of_files(folder: Path, run: Run) -> None:
    status, output, _ = run("simulate", "level", "--trials", "2", "--to", "all.csv")
    assert (status, output) == (0, "all.csv: 2 simulated trials in 1 file, seed 1\n")
    run("simulate", "level", "--trials", "2", "--to", "each")
    assert [path.name for path in sorted((folder / "each").iterdir())] == [
        *("trial-01.csv", "trial-02.csv")
    ]
    assert all("# Simulated" in path.read_text() for path in (folder / "each").iterdir())


def test_the_records_that_a_term_names_can_be_made_before_they_are_there(
    folder: Path, run: Run
) -> None:
    with (folder / "site-data/terms/2027-spring.yaml").open("a", encoding="utf-8") as term:
        term.write("    measured: {files: 2027-spring/level/*.csv, whose: simulation}\n")
    assert run("check")[0] == 2
    words = ("level", "--term", "2027-spring", "--to", "site-data/trials/2027-spring/level")
    assert run("simulate", *words, "--trials", "3")[0] == 0
    assert run("check")[0] == 0


def test_a_file_that_is_there_stays_as_it_is(folder: Path, run: Run) -> None:
    (folder / "kept.csv").write_text("mine")
    status, output, messages = run("simulate", "level", "--to", "kept.csv")
    assert (status, output) == (2, "")
    assert messages == (
        "kept.csv is there already; take it away, or name another place with --to\n"
    )
    assert (folder / "kept.csv").read_text() == "mine"


def test_other_numbers_and_a_term_s_numbers_are_taken(folder: Path, run: Run) -> None:
    plain, lighter, term = (
        run("simulate", "level", "--trials", "1", *more)[1]
        for more in ((), ("--set", "weight.mass=40g"), ("--term", "2027-spring"))
    )
    assert len({plain, lighter, term}) == 3


def test_readings_come_at_the_rate_that_was_asked_for(folder: Path, run: Run) -> None:
    lines = run("simulate", "level", "--trials", "1", "--rate", "20")[1].splitlines()
    assert [line.split(",")[0] for line in lines[2:5]] == ["0.000", "0.050", "0.100"]


# ---- trials


def test_json_has_the_agreed_layout(records: list[str], run: Run) -> None:
    found = trials_json(run, *records)
    assert list(found) == ["trials", "summary", "notes"]
    first = found["trials"][0]
    assert first["name"] == "trial-01"
    assert len(first["window"]) == 2
    assert set(first) >= ESTIMATES
    assert set(first["acceleration"]) >= {"value", "u"}
    summary = found["summary"]["acceleration"]
    assert summary["n"] == 4
    assert list(summary)[:5] == ["n", "mean", "standard_deviation", "u", "interval_95"]
    assert all(isinstance(note, str) for note in found["notes"])


def test_the_mean_is_near_what_the_closed_form_gives(records: list[str], run: Run) -> None:
    """The scenario: 420 g and 80 g, friction 0.008: a = 1.503 m/s², give or take what was drawn."""
    summary = trials_json(run, *records, "--scenario", "level")["summary"]
    assert summary["acceleration"]["mean"] == pytest.approx(1.503, abs=0.08)
    assert summary["final_speed"]["mean"] == pytest.approx(1.343, abs=0.05)


def test_a_table_for_people_has_trials_means_and_notes(records: list[str], run: Run) -> None:
    status, output, messages = run("trials", *records)
    assert (status, messages) == (0, "")
    blocks = output.split("\n\n")
    assert blocks[0] == "The data are simulated."
    assert blocks[1].splitlines()[1].split()[0] == "trial-01"
    assert blocks[2].startswith("Mean over the trials")
    assert "Against the prediction" not in output
    assert blocks[-1].startswith("Notes\n  ")


def test_with_a_scenario_the_means_are_set_against_the_prediction(
    records: list[str], run: Run
) -> None:
    output = run("trials", *records, "--scenario", LEVEL)[1]
    block = next(b for b in output.split("\n\n") if b.startswith("Against the prediction"))
    rows = [line.split()[0] for line in block.splitlines()[1:]]
    assert rows == ["acceleration", "mean", "final"]
    assert all(line.endswith(("agree", "differ")) for line in block.splitlines()[1:])


def test_the_zero_of_the_force_is_told(records: list[str], run: Run) -> None:
    notes = trials_json(run, *records, "--scenario", "level")["notes"]
    assert any("force zeroed by" in note for note in notes)


def test_a_file_that_is_no_record_is_told_with_its_place(folder: Path, run: Run) -> None:
    (folder / "words.csv").write_text("nothing,to\nsee,here\n")
    status, output, messages = run("trials", "words.csv")
    assert (status, output) == (2, "")
    assert messages.startswith("words.csv:1:1: ")
    assert "Traceback" not in messages


# ---- trials of a course


def with_records(folder: Path, run: Run, more: str = "") -> None:
    """The course's lab with the records of four simulated trials."""
    target = "site-data/trials/2027-spring/level"
    made = ("--term", "2027-spring", "--trials", "4", "--to", target)
    assert run("simulate", "level", *made)[0] == 0
    term = folder / "site-data/terms/2027-spring.yaml"
    said = f"    data_opens: 2027-02-08\n    measured: {{files: 2027-spring/level/*.csv{more}}}\n"
    term.write_text(term.read_text("utf-8").rstrip("\n") + "\n" + said, "utf-8")


def test_check_reads_the_records_and_tells_what_is_wrong_with_them(folder: Path, run: Run) -> None:
    with_records(folder, run)
    assert run("check")[0] == 0
    spoilt = folder / "site-data/trials/2027-spring/level/trial-02.csv"
    spoilt.write_text("time (s),velocity (m/s)\n0.0,zero\n0.02,nought\n", "utf-8")
    status, _, messages = run("check")
    assert status == 2
    assert messages.startswith("site-data/trials/2027-spring/level/trial-02.csv:")


def test_a_trial_that_is_left_out_has_to_be_there(folder: Path, run: Run) -> None:
    with_records(folder, run, ", exclude: [{trial: 9, because: it fell down}]")
    record = "site-data/trials/2027-spring/level/trial-01.csv"
    message = (
        'site-data/terms/2027-spring.yaml:10:66: unknown trial "9"; the trials of level are '
        "trial-01, trial-02, trial-03 and trial-04\n"
    )
    for words in (("check",), ("trials", *LAB), ("trials", record, *LAB)):
        assert run(*words) == (2, "", message)


def test_a_trial_that_is_left_out_by_its_number_stands_on_the_page(folder: Path, run: Run) -> None:
    with_records(folder, run, ", exclude: [{trial: 3, because: the cable dragged}]")
    assert run("emit", "out", "--as-of", "2027-02-09")[0] == 0
    page = (folder / "out/2027-spring/level/data.md").read_text("utf-8")
    assert "Trial-03: the cable dragged." in page
    assert "{#exclusions" in page


LAB = ("--scenario", "level", "--term", "2027-spring")


def test_a_lab_s_own_trials_are_analysed_as_for_its_pages(folder: Path, run: Run) -> None:
    with_records(folder, run, ", whose: simulation, exclude: [{trial: 3, because: it dragged}]")
    found = trials_json(run, *LAB)
    assert [trial.get("excluded") for trial in found["trials"]] == [None, None, "it dragged", None]
    assert found["summary"]["acceleration"]["n"] == 3
    assert found["summary_with_excluded"]["acceleration"]["n"] == 4


def test_files_are_read_as_the_lab_s_term_says(folder: Path, run: Run) -> None:
    said = "signs: {force: -1}, zero: none, windows: [{trial: 2, from: 1.5 s, to: 2.0 s}]"
    with_records(folder, run, f", {said}")
    files = sorted(str(f) for f in (folder / "site-data/trials/2027-spring/level").glob("*.csv"))
    named, own = trials_json(run, *files, *LAB), trials_json(run, *LAB)
    assert named == own
    assert named["trials"][1]["window"] == pytest.approx([1.5, 2.0])
    assert all(trial["mean_tension"]["value"] < 0 for trial in named["trials"])


def test_trials_that_the_term_names_and_that_are_not_among_the_files_are_told(
    folder: Path, run: Run
) -> None:
    with_records(folder, run, ", exclude: [{trial: 3, because: it dragged}]")
    notes = trials_json(run, "site-data/trials/2027-spring/level/trial-01.csv", *LAB)["notes"]
    assert notes[0] == NOT_AMONG_THESE


NOT_AMONG_THESE = "what the term says of trial 3 is not applied: its record isn't among these"


def test_what_is_said_of_a_trial_is_not_said_of_another_file_of_that_name(
    folder: Path, run: Run
) -> None:
    said = "exclude: [{trial: 3, because: it dragged}], windows: [{trial: 3, from: 1 s, to: 2 s}]"
    with_records(folder, run, f", {said}")
    made = ("--term", "2027-spring", "--trials", "4", "--seed", "9", "--to", "others")
    run("simulate", "level", *made)
    others = [str(file) for file in sorted((folder / "others").glob("*.csv"))]
    found = trials_json(run, *others, *LAB)
    assert not any("excluded" in trial for trial in found["trials"])
    assert found["summary"]["acceleration"]["n"] == 4
    assert found["notes"][0] == NOT_AMONG_THESE
    among = trials_json(run, *others, "site-data/trials/2027-spring/level/trial-03.csv", *LAB)
    assert [trial["name"] for trial in among["trials"] if "excluded" in trial] == ["level/trial-03"]


def split(folder: Path, target: str, behind: float) -> list[str]:
    """The records of a folder again, motion and force each in a file and on a clock of its own."""
    Path(target).mkdir()
    for number, file in enumerate(sorted(folder.glob("*.csv")), start=1):
        head, _, *lines = file.read_text("utf-8").splitlines()
        rows = [line.split(",") for line in lines]
        motion = [f"{row[0]},{row[1]}" for row in rows if row[1]]
        force = [f"{float(row[0]) - behind:.3f},{row[3]}" for row in rows if row[3]]
        for name, heading, values in (
            (f"motion-{number:02}", "time (s),position (m)", motion),
            (f"force-{number}", "time (s),force (N)", force),
        ):
            text = "\n".join([head, heading, *values])
            Path(target, f"{name}.csv").write_text(f"{text}\n", "utf-8")
    return [str(file) for file in sorted(Path(target).glob("*.csv"))]


@pytest.mark.parametrize("behind", [0.0, 0.75, -1.3])
def test_motion_and_force_of_a_trial_may_lie_in_two_files(
    records: list[str], folder: Path, run: Run, behind: float
) -> None:
    known = ("--scenario", "level")
    whole = trials_json(run, *records, *known)
    apart = trials_json(run, *split(folder / "records", "apart", behind), *known)
    assert [trial["name"] for trial in apart["trials"]] == [f"trial 0{n}" for n in (1, 2, 3, 4)]
    for quantity in ("acceleration", "mean_tension", "work_of_tension"):
        one, two = (found["summary"][quantity] for found in (whole, apart))
        assert two["mean"] == pytest.approx(one["mean"], abs=0.5 * one["u"])
    clock = "with one clock" if not behind else f"of the force is {abs(behind):.2f} s "
    assert any(clock in note for note in apart["notes"])


def test_in_a_term_they_need_no_word(folder: Path, run: Run) -> None:
    with_records(folder, run, ", exclude: [{trial: 3, because: it dragged}]")
    own = folder / "site-data/trials/2027-spring/level"
    split(own, "apart", 0.4)
    for file in own.iterdir():
        file.unlink()
    for file in Path("apart").iterdir():
        file.rename(own / file.name)
    found = trials_json(run, *LAB)
    assert [trial["name"] for trial in found["trials"] if "excluded" in trial] == ["trial 03"]
    assert found["summary"]["mean_tension"]["n"] == 3


def test_typed_values_of_a_lab_are_analysed_too(folder: Path, run: Run) -> None:
    term = folder / "site-data/terms/2027-spring.yaml"
    said = "    measured: {final_speed: [130.5 cm/s, 1.310 m/s, 1.3 m/s]}\n"
    term.write_text(term.read_text("utf-8").rstrip("\n") + "\n" + said, "utf-8")
    output = run("trials", *LAB)[1]
    values = [line.split()[-1] for line in output.split("\n\n")[0].splitlines()[1:]]
    assert values == ["1.305", "1.310", "1.3"]


@pytest.mark.parametrize(
    ("words", "message"),
    [
        ((), "name CSV files"),
        (("--term", "2027-spring"), "name the lab too, with --scenario"),
        (
            ("--scenario", "level"),
            "name CSV files, or with --term the lab whose trials are wanted",
        ),
        (LAB, "level has no trials in its term; name CSV files"),
    ],
)
def test_what_names_no_trials_is_told_what_is_missing(
    folder: Path, run: Run, words: tuple[str, ...], message: str
) -> None:
    assert run("trials", *words) == (2, "", f"{message}\n")


def test_a_run_without_a_landing_ends_with_the_distance(folder: Path, run: Run) -> None:
    """The cart has 0.4 m behind it long before the stop: final speed √(2 × 1.503 × 0.4) m/s."""
    scenario = folder / "site-data/scenarios/far.yaml"
    scenario.write_text(
        "title: Cart over a distance\n"
        "objects:\n"
        "  cart: {kind: cart, mass: 420 g, runs_on: track, starts_at: 0.25 m}\n"
        "  weight: {kind: hanging, mass: 80 g}\n"
        "  pulley: {kind: pulley}\n"
        "surfaces: {track: {slope: 0 deg, friction: 0.008, length: 1.8 m}}\n"
        "strings: {string: [cart, pulley, weight]}\n"
        "run: {start: rest, object: cart, distance: 0.400 m}\n"
        "systems: {cart-alone: {title: The cart, members: [cart]}}\n",
        "utf-8",
    )
    assert run("simulate", "far", "--trials", "3", "--seed", "4", "--to", "far")[0] == 0
    files = [str(file) for file in sorted((folder / "far").glob("*.csv"))]
    found = trials_json(run, *files, "--scenario", "far")
    assert found["summary"]["final_speed"]["mean"] == pytest.approx((2 * 1.503 * 0.4) ** 0.5, 0.02)
