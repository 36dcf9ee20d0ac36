"""What all commands share: help, speed, and errors without a traceback."""

import resource
import subprocess
import sys
from pathlib import Path

import pytest

from cli.runner import Run

COMMANDS = ("check", "emit", "key", "preview", "publish")
SCRIPT = "import sys; from fallwork.cli import main; main(sys.argv[1:], standalone_mode=False); "
HEAVY = "print(sorted({'matplotlib', 'mkdocs', 'scipy', 'sympy'} & set(sys.modules)))"


def spent(*words: str) -> tuple[float, str]:
    """CPU seconds of a command in a process of its own, and its output."""
    before = resource.getrusage(resource.RUSAGE_CHILDREN)
    call = "import sys; from fallwork.cli import main; main()"
    result = subprocess.run(
        [sys.executable, "-c", call, *words], capture_output=True, text=True, check=True
    )
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    return after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime, result.stdout


def test_help_names_every_command_and_takes_less_than_half_a_second_of_cpu() -> None:
    seconds, output = spent("--help")
    assert [name for name in COMMANDS if f"\n  {name} " in output] == list(COMMANDS)
    assert seconds < 0.5


def test_a_key_takes_less_than_a_second_and_a_half_of_cpu(folder: Path) -> None:
    seconds, output = spent("key", "level")
    assert "acceleration of the cart" in output
    assert seconds < 1.5


def test_a_key_needs_neither_plotting_nor_the_docs_builder(folder: Path) -> None:
    result = subprocess.run(
        [sys.executable, "-c", SCRIPT + HEAVY, "key", "level", "--json"],
        capture_output=True,
        text=True,
        check=True,
    )
    assert result.stdout.rstrip().rpartition("\n")[2] == "[]"


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
    scenario.write_text(scenario.read_text("utf-8").replace("kind: cart", "kind: cat"), "utf-8")
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
