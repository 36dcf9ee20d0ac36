"""``fallwork simulate`` makes records that say what they are; ``fallwork trials`` reads them."""

import json
from pathlib import Path
from typing import Any

import pytest

from democourse import Run

ESTIMATES = [
    *("acceleration", "final_speed", "travel_time", "distance", "mean_tension", "work_of_tension"),
    *("mean_tension_over_time", "coasting_acceleration", "force_held"),
]
LAB = ("--scenario", "level", "--term", "2027-spring")
TERM = "site-data/terms/2027-spring.yaml"
OWN = "site-data/trials/2027-spring/level"
DRAGGED = "exclude: [{trial: 3, because: it dragged}]"
NOT_AMONG_THESE = "what the term says of trial 3 is not applied: its record isn't among these"


def files(folder: Path, name: str) -> list[str]:
    return [str(path) for path in sorted((folder / name).glob("*.csv"))]


@pytest.fixture
def records(folder, run) -> list[str]:
    """Four simulated trials of the course's scenario, each in a file of its own."""
    assert run("simulate", "level", "--trials", "4", "--seed", "5", "--to", "records")[0] == 0
    return files(folder, "records")


def trials_json(run: Run, *words: str) -> dict[str, Any]:
    status, output, messages = run("trials", *words, "--json")
    assert (status, messages) == (0, "")
    return json.loads(output)


# ---- simulate
def test_simulated_files_say_so_and_depend_on_seed_numbers_and_rate_alone(folder, run):
    ways = ("", "--seed 1", "--seed 4", "--set weight.mass=40g", "--term 2027-spring", "--rate 20")
    first, again, *others = (run("simulate", "level", "--trials", "2", *w.split())[1] for w in ways)
    assert first == again
    assert len({first, *others}) == 5
    assert first.startswith("# Simulated data, scenario level, seed 1: made by a model, not meas")
    assert first.splitlines()[1] == "trial,time (s),position (m),velocity (m/s),force (N)"
    times = [line.split(",")[1] for line in others[-1].splitlines()[2:5]]
    assert times == ["0.000", "0.050", "0.100"]
    status, output, _ = run("simulate", "level", "--trials", "2", "--to", "all.csv")
    assert (status, output) == (0, "all.csv: 2 simulated trials in 1 file, seed 1\n")
    run("simulate", "level", "--trials", "2", "--to", "each")
    assert [Path(each).stem for each in files(folder, "each")] == ["trial-01", "trial-02"]
    assert all("# Simulated" in Path(path).read_text() for path in files(folder, "each"))


def test_the_records_that_a_term_names_can_be_made_before_they_are_there_and_are_checked(
    folder, run
):
    say(folder, "files: 2027-spring/level/*.csv, whose: simulation")
    assert run("check")[0] == 2
    words = ("level", "--term", "2027-spring", "--to", OWN)
    assert run("simulate", *words, "--trials", "3")[0] == 0
    assert run("check")[0] == 0
    spoilt = folder / OWN / "trial-02.csv"
    spoilt.write_text("time (s),velocity (m/s)\n0.0,zero\n0.02,nought\n", "utf-8")
    status, _, messages = run("check")
    assert status == 2
    assert messages.startswith(f"{OWN}/trial-02.csv:")


# ---- trials
def test_json_has_the_agreed_layout_and_a_table_for_people_trials_means_and_notes(records, run):
    # The scenario: 420 g and 80 g, friction 0.008: a = 1.503 m/s², give or take what was drawn.
    found = trials_json(run, *records, "--scenario", "level")
    assert list(found) == ["trials", "summary", "notes"]
    first, summary = found["trials"][0], found["summary"]["acceleration"]
    assert (first["name"], len(first["window"])) == ("trial-01", 2)
    assert [name for name in first if name in ESTIMATES] == ESTIMATES
    assert set(first["acceleration"]) >= {"value", "u"}
    assert list(summary)[:5] == ["n", "mean", "standard_deviation", "u", "interval_95"]
    assert (summary["n"], summary["mean"]) == (4, pytest.approx(1.503, abs=0.08))
    assert found["summary"]["final_speed"]["mean"] == pytest.approx(1.343, abs=0.05)
    assert any("force zeroed by" in note for note in found["notes"])
    status, output, messages = run("trials", *records)
    assert (status, messages) == (0, "")
    blocks = output.split("\n\n")
    assert blocks[0] == "The data are simulated."
    assert blocks[1].splitlines()[1].split()[0] == "trial-01"
    assert blocks[2].startswith("Mean over the trials")
    assert blocks[-1].startswith("Notes\n  ")
    assert "Against the prediction" not in output
    output = run("trials", *records, "--scenario", "site-data/scenarios/level.yaml")[1]
    (block,) = (b for b in output.split("\n\n") if b.startswith("Against the prediction"))
    _, *rows = block.splitlines()
    assert [line.split()[0] for line in rows] == ["acceleration", "mean", "final"]
    assert all(line.endswith(("agree", "differ")) for line in rows)


# ---- trials of a course
def say(folder: Path, said: str) -> None:
    """What the term says of its lab."""
    term = folder / TERM
    term.write_text(f"{term.read_text('utf-8').rstrip()}\n    measured: {{{said}}}\n", "utf-8")


def with_records(folder: Path, run: Run, more: str = "") -> list[str]:
    """The course's lab with the records of four simulated trials."""
    made = ("--term", "2027-spring", "--trials", "4", "--to", OWN)
    assert run("simulate", "level", *made)[0] == 0
    say(folder, f"files: 2027-spring/level/*.csv{more}")
    with (folder / TERM).open("a", encoding="utf-8") as term:
        term.write("    data_opens: 2027-02-08\n")
    return files(folder, OWN)


def excluded(found: dict[str, Any]) -> list[str]:
    return [trial["name"] for trial in found["trials"] if "excluded" in trial]


def test_a_trial_that_is_left_out_has_to_be_there(folder, run):
    record = with_records(folder, run, ", exclude: [{trial: 9, because: it fell down}]")[0]
    message = (
        f'{TERM}:9:66: unknown trial "9"; the trials of level are '
        "trial-01, trial-02, trial-03 and trial-04\n"
    )
    for words in (("check",), ("trials", *LAB), ("trials", record, *LAB)):
        assert run(*words) == (2, "", message)


def test_a_lab_s_own_trials_are_analysed_as_for_its_pages(folder, run):
    with_records(folder, run, f", whose: simulation, {DRAGGED}")
    found = trials_json(run, *LAB)
    assert excluded(found) == ["trial-03"]
    assert found["summary"]["acceleration"]["n"] == 3
    assert found["summary_with_excluded"]["acceleration"]["n"] == 4
    assert run("emit", "out", "--as-of", "2027-02-09")[0] == 0
    page = (folder / "out/2027-spring/level/data.md").read_text("utf-8")
    assert "Trial-03: it dragged." in page
    assert 'id="exclusions' in page


def test_files_are_read_as_the_lab_s_term_says(folder, run):
    said = "signs: {force: -1}, zero: none, windows: [{trial: 2, from: 1.5 s, to: 2.0 s}]"
    records = with_records(folder, run, f", {said}")
    named, own = trials_json(run, *records, *LAB), trials_json(run, *LAB)
    assert named == own
    assert named["trials"][1]["window"] == pytest.approx([1.5, 2.0])
    assert all(trial["mean_tension"]["value"] < 0 for trial in named["trials"])


def test_trials_that_do_not_fit_the_scenario_s_numbers_may_fit_others(folder, run):
    records = with_records(folder, run)
    hint = "judged by the scenario's own numbers; for those of a lab add --term 2027-spring"
    output = run("trials", *records, "--scenario", "level")[1]
    assert (hint in output, output.count("doesn't count:")) == (True, 4)
    lab = ("cart.mass=512.0g", "weight.mass=90.0g", "run.distance=0.550m")
    own = [word for number in lab for word in ("--set", number)]
    for words in (("--scenario", "level", *own), LAB):
        output = run("trials", *records, *words)[1]
        assert "judged by the scenario" not in output
        assert output.count(" agree\n") == 3
    output = run("trials", *LAB, "--set", "cart.mass=1500g")[1]  # also of the lab's own trials
    assert output.count("doesn't count:") == 4


def test_what_is_said_of_a_trial_is_not_said_of_another_file_of_that_name(folder, run):
    records = with_records(folder, run, f", {DRAGGED}, windows: [{{trial: 3, from: 1 s, to: 2 s}}]")
    assert trials_json(run, records[0], *LAB)["notes"][0] == NOT_AMONG_THESE
    made = ("--term", "2027-spring", "--trials", "4", "--seed", "9", "--to", "others")
    run("simulate", "level", *made)
    others = files(folder, "others")
    found = trials_json(run, *others, *LAB)
    assert excluded(found) == []
    assert found["summary"]["acceleration"]["n"] == 4
    assert found["notes"][0] == NOT_AMONG_THESE
    assert excluded(trials_json(run, *others, records[2], *LAB)) == ["level/trial-03"]
