"""``fallwork check`` says what it read, or everything that is wrong."""

from datetime import UTC, datetime
from pathlib import Path

from cli.runner import Run
from fallwork.commands.records import write_records
from fallwork.scenario import load_course


def edit(path: Path, old: str, new: str) -> None:
    text = path.read_text("utf-8")
    assert old in text
    path.write_text(text.replace(old, new), "utf-8")


TERM = "site-data/terms/2027-spring.yaml"


def test_a_course_in_order(folder: Path, run: Run) -> None:
    edit(folder / TERM, "example: {weight.mass: 120.0 g}", "example: auto")
    assert run("check") == (0, "site-data: 1 scenario, 1 term, 1 lab: nothing wrong\n", "")


def test_a_scenario_file_in_order(folder: Path, run: Run) -> None:
    path = "site-data/scenarios/level.yaml"
    assert run("check", path) == (0, f"{path}: nothing wrong\n", "")


def test_every_problem_of_every_file_is_told_on_the_error_stream(folder: Path, run: Run) -> None:
    edit(folder / "site-data/scenarios/level.yaml", "mass: 80.0 g ± 0.1 g", "mass: 80.0 s")
    edit(folder / "site-data/course.yaml", "time_zone: Europe/Berlin", "time_zone: Europe/Berlim")
    status, output, messages = run("check")
    assert (status, output) == (2, "")
    assert messages == (
        'site-data/course.yaml:3:12: unknown time zone "Europe/Berlim"; '
        'did you mean "Europe/Berlin"?\n'
        'site-data/scenarios/level.yaml:4:33: "80.0 s" is a time; a mass is given in kg, g or mg\n'
    )


def test_a_good_path_is_told_beside_a_bad_one(folder: Path, run: Run) -> None:
    good, bad = "site-data/scenarios/level.yaml", "site-data/scenarios/levle.yaml"
    status, output, messages = run("check", bad, good)
    assert (status, output) == (2, f"{good}: nothing wrong\n")
    assert messages == f"{bad}:1:1: there is no such file; site-data/scenarios holds level.yaml\n"


def test_without_a_course_it_says_where_it_looked(
    tmp_path: Path, run: Run, monkeypatch: object
) -> None:
    status, output, messages = run("check", str(tmp_path))
    assert (status, output) == (2, "")
    assert messages == (
        f"{tmp_path}/course.yaml:1:1: there is no such file; {tmp_path} holds no YAML files\n"
    )


def test_an_end_that_is_not_watched_is_worth_a_note(folder: Path, run: Run) -> None:
    edit(folder / "site-data/scenarios/level.yaml", ", starts_at: 0.25 m", "")
    status, output, _ = run("check")
    assert status == 0
    assert output.split("\n")[1] == (
        "site-data/scenarios/level.yaml: note: without starts_at of cart, "
        "nothing tells whether cart reaches the end of track"
    )


def test_results_that_the_example_shows_too_are_worth_a_note(folder: Path, run: Run) -> None:
    # The example changes the hanging weight alone, so the cart presses and rubs as before.
    status, output, _ = run("check")
    assert status == 0
    assert output.split("\n")[1] == (
        f"{TERM}: note: the worked example of level shows results of the lab itself: "
        "driven, size of friction of track on cart; driven, size of normal of track on cart; "
        "driven, work of friction of track on cart in cart-alone; …"
    )


def test_two_labs_of_one_title_are_worth_a_note(folder: Path, run: Run) -> None:
    term = folder / TERM
    lab = term.read_text("utf-8").split("labs:\n")[1].replace("level:", "make-up:", 1)
    again = lab.replace("make-up:", "make-up:\n    scenario: level", 1)
    term.write_text(term.read_text("utf-8") + again, "utf-8")
    assert (
        f"{TERM}: note: make-up has the title of another lab, so pages add its id; "
        "give it a title of its own\n"
    ) in run("check")[1]


def test_a_published_number_that_changed_is_told(folder: Path, run: Run) -> None:
    edit(folder / TERM, "opens: 2027-02-01", "opens: 2020-02-01")
    data = load_course(folder / "site-data")
    write_records(data, datetime(2021, 1, 1, tzinfo=UTC))
    edit(folder / TERM, "cart.mass: 512.0 g", "cart.mass: 507.3 g")
    status, output, messages = run("check")
    assert (status, output) == (2, "")
    assert messages.startswith(
        "2027-spring/level: cart.mass was published as 512.0 g ± 0.1 g and would now be 507.3 g"
    )


def test_an_address_that_would_be_lost_is_told_before_anything_is_built(
    folder: Path, run: Run
) -> None:
    edit(folder / TERM, "opens: 2027-02-01", "opens: 2020-02-01")
    record = folder / "site-data/published/addresses.yaml"
    record.parent.mkdir()
    known = ["2027-spring/level/prelab.html#tension", "step/level/tension.html", "mine.html#there"]
    since = "- since: '2021-01-01T00:00:00+00:00'\n  addresses: "
    record.write_text(f"{since}{known}\n", "utf-8")
    assert run("check")[0] == 0
    record.write_text(f"{since}{[*known, '2027-spring/level/prelab.html#pull']}\n", "utf-8")
    assert run("check") == (
        2,
        "",
        "2027-spring/level/prelab.html#pull has been published and would lead nowhere; declare "
        'the step under former_steps in its scenario, or leave <span id="pull"></span> where a '
        "heading of your own stood\n",
    )


def test_a_record_that_is_spoiled_is_told(folder: Path, run: Run) -> None:
    record = folder / "site-data/published/addresses.yaml"
    record.parent.mkdir()
    record.write_text("{", "utf-8")
    assert run("check")[2] == (
        "site-data/published/addresses.yaml is not as the program wrote it; "
        "restore it from version control\n"
    )


# ---- the design of the numbers


def test_numbers_that_give_poor_data_are_worth_a_note(folder: Path, run: Run) -> None:
    # By hand: a = (0.012 - 0.008 x 0.512) x 9.80665 / 0.524 = 0.1479 m/s2, 1 - T/mg = a/g = 1.5 %;
    # without friction 0.2246 m/s2, so friction takes 34 %.
    edit(folder / TERM, "weight.mass: 90.0 g", "weight.mass: 12.0 g")
    notes = [line for line in run("check")[1].split("\n") if ": note: level: " in line]
    told = [line.removeprefix(f"{TERM}: note: level: ") for line in notes]
    assert told[0].startswith("Friction takes away 34 % of the acceleration of the cart, so ")
    assert told[1].startswith(
        "The pull of the string differs from gravity on the weight by only 1.5 %, so "
    )
    assert told[2].startswith("The predicted acceleration is uncertain by ")
    assert len(told) == 3


def test_a_scenario_file_alone_is_reviewed_too(folder: Path, run: Run) -> None:
    path = "site-data/scenarios/level.yaml"
    edit(folder / path, "length: 1.20 m", "length: 0.90 m")  # 0.90 - 0.25 - 0.60 = 0.05
    assert run("check", path)[1] == (
        f"{path}: nothing wrong\n{path}: note: When the driven part ends, the cart has only "
        "0.050 m left in front of it: let it start farther back, or shorten the distance.\n"
    )
