"""Set-ups that can be read but can't be: refused with the reason and the place in the file.

A case is a scenario file and the message beside it.
"""

import shutil
from pathlib import Path

import pytest

from democourse import Run

CASES = sorted((Path(__file__).parent / "impossible").glob("*.yaml"))


@pytest.mark.parametrize("case", CASES, ids=lambda case: case.stem)
@pytest.mark.parametrize("command", ["check", "key"])
def test_it_is_refused_at_its_place(
    case: Path, command: str, run: Run, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(case.parent)
    assert run(command, case.name) == (2, "", case.with_suffix(".txt").read_text("utf-8"))


def test_those_of_a_course_are_told_at_once(folder: Path, run: Run) -> None:
    cases = [case for case in CASES if "loop" in case.stem]
    for case in cases:
        shutil.copy(case, "site-data/scenarios")
    messages = "".join(
        f"site-data/scenarios/{case.with_suffix('.txt').read_text('utf-8')}" for case in cases
    )
    assert run("check") == (2, "", messages)


def test_a_number_of_the_command_line_is_told_there(
    run: Run, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(CASES[0].parent)
    tied = "push-against-a-tied-string.yaml"
    assert run("key", tied, "--set", "run.start=0.2 m/s") == (
        2,
        "",
        "--set run.start=0.2 m/s:1:11: a: it is given a start speed, but the strings hold it; "
        "let it start at rest, or choose a set-up in which it can move\n",
    )
