"""What all commands share: help, no needless imports, and errors without a traceback."""

import os
import subprocess
import sys
from pathlib import Path

import pytest

from cli.runner import Run
from democourse import exchange

COMMANDS = ("check", "emit", "key", "preview", "publish")
SCRIPT = "import sys; from fallwork.cli import main; main(sys.argv[1:], standalone_mode=False); "
HEAVY = "print(sorted({'matplotlib', 'mkdocs', 'scipy', 'sympy'} & set(sys.modules)))"


@pytest.mark.parametrize("words", [("--help",), ("key", "level"), ("key", "level", "--json")])
def test_what_is_not_needed_is_not_imported(folder: Path, words: tuple[str, ...]) -> None:
    result = subprocess.run(
        [sys.executable, "-c", SCRIPT + HEAVY, *words], capture_output=True, text=True, check=True
    )
    assert result.stdout.rstrip().rpartition("\n")[2] == "[]"


def test_help_names_every_command(run: Run) -> None:
    output = run("--help")[1]
    assert [name for name in COMMANDS if f"\n  {name} " in output] == list(COMMANDS)


@pytest.mark.parametrize("command", COMMANDS)
def test_every_command_explains_itself(run: Run, command: str) -> None:
    status, output, messages = run(command, "--help")
    assert (status, messages) == (0, "")
    assert f"{command} [OPTIONS]" in output


@pytest.mark.parametrize(
    "words",
    [
        ["chek"],
        ["key"],
        ["key", "level", "--jsn"],
        ["publish", "--edition", "parents"],
        ["emit"],
    ],
)
def test_a_wrong_call_gives_status_2_and_no_output(
    folder: Path, run: Run, words: list[str]
) -> None:
    status, output, messages = run(*words)
    assert (status, output) == (2, "")
    assert "Error: " in messages


@pytest.mark.parametrize(
    "words",
    [["check"], ["emit", "out"], ["publish", "--to", "site"], ["preview"], ["key", "level"]],
)
def test_a_spoiled_course_gives_status_2_and_its_problem(
    folder: Path, run: Run, words: list[str]
) -> None:
    scenario = folder / "site-data/scenarios/level.yaml"
    exchange(scenario, "kind: cart", "kind: cat")
    status, output, messages = run(*words)
    assert (status, output) == (2, "")
    assert messages.startswith("site-data/scenarios/level.yaml:3:")
    assert sorted(path.name for path in folder.iterdir()) == ["site-data"]


@pytest.mark.parametrize("command", ["publish", "preview"])
def test_without_the_docs_builder_s_settings_nothing_is_built(
    folder: Path, run: Run, command: str
) -> None:
    message = "there is no mkdocs.yml here; run this command in the folder that holds it\n"
    assert run(command) == (2, "", message)


def test_a_spoiled_course_gives_no_traceback_in_a_process_of_its_own(folder: Path) -> None:
    (folder / "site-data/course.yaml").write_bytes(b"\x00\x01\x02")
    result = subprocess.run(
        [sys.executable, "-c", "from fallwork.cli import main; main()", "check"],
        capture_output=True,
        text=True,
        check=False,
    )
    assert (result.returncode, result.stdout) == (2, "")
    assert result.stderr == (
        "site-data/course.yaml:1:1: the invisible character <U+0000>; "
        "take it out (if this is a text file at all)\n"
    )


def test_a_terminal_in_another_encoding_is_no_reason_to_stop(folder: Path) -> None:
    result = subprocess.run(
        [sys.executable, "-c", "from fallwork.cli import main; main()", "key", "level"],
        capture_output=True,
        check=False,
        env={**os.environ, "PYTHONIOENCODING": "latin-1"},
    )
    assert (result.returncode, result.stderr) == (0, b"")
    assert "m/s²" in result.stdout.decode("latin-1")
