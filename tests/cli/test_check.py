"""``fallwork check`` says what it read, or everything that is wrong."""

from pathlib import Path

from cli.runner import Run


def edit(path: Path, old: str, new: str) -> None:
    text = path.read_text("utf-8")
    assert old in text
    path.write_text(text.replace(old, new), "utf-8")


def test_a_course_in_order(folder: Path, run: Run) -> None:
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
