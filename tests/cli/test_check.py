"""``fallwork check`` says what it read, or everything that is wrong."""

import shutil
from datetime import UTC, datetime
from pathlib import Path

import pytest
import yaml

from democourse import Run, exchange
from fallwork.planning.published import published_by
from fallwork.scenario import frozen_path, frozen_text, load_course

TERM = "site-data/terms/2027-spring.yaml"
CASES = yaml.safe_load(Path(__file__).with_name("checks.yaml").read_text("utf-8"))


@pytest.mark.parametrize("case", CASES)
def test_a_course_with_texts_exchanged(case: str, folder: Path, run: Run) -> None:
    given, data = CASES[case], folder / "site-data"
    for file, (source, old, new) in given.get("copies", {}).items():
        (data / file).write_text((data / source).read_text("utf-8").replace(old, new), "utf-8")
    for file, (old, new) in given.get("edits", {}).items():
        exchange(data / file, old, new)
    for file, text in given.get("files", {}).items():
        (data / file).parent.mkdir(exist_ok=True)
        (data / file).write_text(text, "utf-8")
    status, output, messages = run("check", *given.get("words", ()))
    assert (status, messages) == (2 if "messages" in given else 0, given.get("messages", ""))
    if "says" not in given:
        assert output == given.get("output", "" if status else output)
    assert [words for words in given.get("says", ()) if output.count(words) != 1] == []
    assert [words for words in given.get("silent about", ()) if words in output] == []
    assert given.get("notes") in (None, output.count(": note: level: "))


def test_a_published_number_that_changed_is_told(folder: Path, run: Run) -> None:
    exchange(folder / TERM, "opens: 2027-02-01", "opens: 2020-02-01")
    data = load_course(folder / "site-data")
    ((_, frozen),) = published_by(data, datetime(2021, 1, 1, tzinfo=UTC)).items()
    record = frozen_path(data.root, "2027-spring", "level")
    record.parent.mkdir(parents=True)
    record.write_text(frozen_text(frozen), "utf-8")
    exchange(folder / TERM, "cart.mass: 512.0 g", "cart.mass: 507.3 g")
    status, output, messages = run("check")
    assert (status, output.splitlines()[0]) == (
        2,
        "site-data: 1 scenario, 1 term, 1 lab: nothing wrong, but not as it was published",
    )
    assert messages.startswith(
        f"{TERM}:4:26: level: cart.mass was published as 512.0 g ± 0.1 g and would now be 507.3 g"
    )
    record.write_text("{", "utf-8")  # told by check alone
    assert run("key", "level", "--term", "2027-spring")[0] == 0
    assert run("check")[2].startswith(f"{record.relative_to(folder)}:1:2: ")


def test_an_address_that_would_be_lost_is_told_before_anything_is_built(
    folder: Path, run: Run
) -> None:
    exchange(folder / TERM, "opens: 2027-02-01", "opens: 2020-02-01")
    record = folder / "site-data/published/addresses.yaml"
    record.parent.mkdir()
    known = ["2027-spring/level/prelab.html#tension", "step/level/tension.html", "mine.html#there"]
    since = "- since: '2021-01-01T00:00:00+00:00'\n  addresses: "
    record.write_text(f"{since}{known}\n", "utf-8")
    assert run("check")[0] == 0
    record.write_text(f"{since}{[*known, '2027-spring/level/prelab.html#pull']}\n", "utf-8")
    assert (run("check")[0], run("check")[2]) == (
        2,
        "2027-spring/level/prelab.html#pull has been published and would lead nowhere; declare "
        'the step under former_steps in its scenario, or leave <span id="pull"></span> where a '
        "heading of your own stood\n",
    )


def test_trials_copied_from_another_lab_are_told(folder: Path, run: Run) -> None:
    speeds = "\n    measured: {final_speed: [1.24 m/s, 1.26 m/s, 1.25 m/s, 1.23 m/s]}"
    exchange(folder / TERM, "\n    opens: 2027-02-01", f"\n    opens: 2027-02-01{speeds}")
    later = (folder / TERM).read_text("utf-8").replace("2027", "2028")
    other = folder / "site-data/terms/2028-spring.yaml"
    other.write_text(later.replace("512.0 g", "522.0 g").replace("120.0 g", "130.0 g"), "utf-8")
    words = (
        "site-data/terms/2028-spring.yaml:7:15: note: level: the values of final_speed are those "
        "of level in 2027-spring; were they measured in this lab too?\n"
    )
    assert words in run("check")[1]
    exchange(other, "1.26 m/s", "1.27 m/s")
    assert "are those of level" not in run("check")[1]


# ---- set-ups that can be read but can't be: a case is a scenario file and the message beside it

IMPOSSIBLE = sorted((Path(__file__).parent / "impossible").glob("*.yaml"))


@pytest.mark.parametrize("case", IMPOSSIBLE, ids=lambda case: case.stem)
@pytest.mark.parametrize("command", ["check", "key"])
def test_it_is_refused_at_its_place(
    case: Path, command: str, run: Run, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(case.parent)
    assert run(command, case.name) == (2, "", case.with_suffix(".txt").read_text("utf-8"))


def test_those_of_a_course_are_told_at_once(folder: Path, run: Run) -> None:
    cases = [case for case in IMPOSSIBLE if "loop" in case.stem]
    for case in cases:
        shutil.copy(case, "site-data/scenarios")
    messages = "".join(
        f"site-data/scenarios/{case.with_suffix('.txt').read_text('utf-8')}" for case in cases
    )
    assert run("check") == (2, "", messages)


def test_a_number_of_the_command_line_is_told_there(
    run: Run, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(IMPOSSIBLE[0].parent)
    tied = "push-against-a-tied-string.yaml"
    assert run("key", tied, "--set", "run.start=0.2 m/s") == (
        2,
        "",
        "--set run.start=0.2 m/s:1:11: a: it is given a start speed, but the strings hold it; "
        "let it start at rest, or choose a set-up in which it can move\n",
    )
