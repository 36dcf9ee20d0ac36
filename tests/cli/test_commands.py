"""What all commands share: help, no needless imports, errors without a traceback, and refusals
with what was found and what would be right. And what ``trace`` says of a number: ``traced.yaml``.
"""

import os
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest
import yaml

from democourse import Run, bytes_below, exchange

COMMANDS = ("check", "emit", "key", "preview", "publish", "simulate", "trace", "trials")
SCRIPT = "import sys; from fallwork.cli import main; main(sys.argv[1:], standalone_mode=False); "
HEAVY = "print(sorted({'matplotlib', 'mkdocs', 'scipy', 'sympy'} & set(sys.modules)))"


@pytest.mark.parametrize("words", [("--help",), ("key", "level"), ("key", "level", "--json")])
def test_what_is_not_needed_is_not_imported(folder: Path, words: tuple[str, ...]) -> None:
    result = subprocess.run(
        [sys.executable, "-c", SCRIPT + HEAVY, *words], capture_output=True, text=True, check=True
    )
    assert result.stdout.rstrip().rpartition("\n")[2] == "[]"


def test_every_command_explains_itself(run: Run) -> None:
    whole = run("--help")[1]
    for command in COMMANDS:
        assert f"\n  {command} " in whole
        status, output, messages = run(command, "--help")
        assert (status, messages) == (0, "")
        assert f"{command} [OPTIONS]" in output


@pytest.mark.parametrize(
    "call",
    ["chek", "key", "key level --jsn", "publish --edition parents", "emit", "trace 0.757 --tern 2"],
)
def test_a_wrong_call_gives_status_2_and_no_output(folder: Path, run: Run, call: str) -> None:
    status, output, messages = run(*call.split())
    assert (status, output) == (2, "")
    assert "Error: " in messages


@pytest.mark.parametrize("call", ["check", "emit out", "publish --to site", "preview", "key level"])
def test_a_spoiled_course_gives_status_2_and_its_problem(folder: Path, run: Run, call: str) -> None:
    exchange(folder / "site-data/scenarios/level.yaml", "kind: cart", "kind: cat")
    status, output, messages = run(*call.split())
    assert (status, output) == (2, "")
    assert messages.startswith("site-data/scenarios/level.yaml:3:")
    assert sorted(path.name for path in folder.iterdir()) == ["site-data"]


def alone(*words: str, **settings: str) -> tuple[int, bytes, bytes]:
    """A command in a process of its own."""
    command = [sys.executable, "-c", "from fallwork.cli import main; main()", *words]
    environment = {**os.environ, **settings}
    result = subprocess.run(command, capture_output=True, check=False, env=environment)
    return result.returncode, result.stdout, result.stderr


def test_a_spoiled_course_gives_no_traceback_in_a_process_of_its_own(folder: Path) -> None:
    (folder / "site-data/course.yaml").write_bytes(b"\x00\x01\x02")
    assert alone("check") == (
        2,
        b"",
        b"site-data/course.yaml:1:1: the invisible character <U+0000>; "
        b"take it out (if this is a text file at all)\n",
    )


def test_a_terminal_in_another_encoding_is_no_reason_to_stop(folder: Path) -> None:
    status, output, messages = alone("key", "level", PYTHONIOENCODING="latin-1")
    assert (status, messages) == (0, b"")
    assert "m/s²" in output.decode("latin-1")


REFUSED: dict[str, dict[str, Any]] = yaml.safe_load(
    (Path(__file__).parent / "refused.yaml").read_text("utf-8")
)


@pytest.mark.parametrize("name", REFUSED)
def test_a_call_is_refused_in_words_that_can_be_followed(name: str, folder: Path, run: Run) -> None:
    case = REFUSED[name]
    for file, content in case.get("files", {}).items():
        (folder / file).parent.mkdir(exist_ok=True)
        (folder / file).write_text(content, "latin-1")
    before = bytes_below(folder)
    status, output, messages = run(*case["call"].split())
    assert (status, output) == (2, "")
    if "says" in case:
        assert messages == f"{case['says']}\n"
    assert messages.startswith(case.get("begins", ""))
    assert bytes_below(folder) == before


# ---- what a number may be

TRACED: dict[str, dict[str, Any]] = yaml.safe_load(
    Path(__file__).with_name("traced.yaml").read_text("utf-8")
)


@pytest.fixture
def running(folder: Path) -> Path:
    """The course with its lab on now: the solution is far away."""
    term = folder / "site-data/terms/2027-spring.yaml"
    text = term.read_text("utf-8").replace("opens: 2027-02-01", "opens: 2020-02-01", 1)
    text = text.replace("due: 2027", "due: 2090").replace("n_opens: 2027", "n_opens: 2091")
    term.write_text(text, "utf-8")
    return folder


@pytest.mark.usefixtures("running")
@pytest.mark.parametrize("name", TRACED)
def test_a_number_is_told(name: str, run: Run) -> None:
    case = TRACED[name]
    status, output, messages = run(*case["call"].split())
    assert (status, messages) == (0, "")
    assert output == case.get("says", output)
    lines = [line for line in output.splitlines() if line in case.get("tells", ())]
    assert lines == case.get("tells", [])
    assert case.get("words", "") in output
    assert "not" not in case or case["not"] not in output


def test_own_numbers_are_put_into_the_labs_that_have_such_a_thing(running: Path, run: Run) -> None:
    scenario = (running / "site-data/scenarios/level.yaml").read_text("utf-8")
    other = scenario.replace("cart", "glider").replace("kind: glider", "kind: cart")
    (running / "site-data/scenarios/lone.yaml").write_text(other)
    term = running / "site-data/terms/2027-spring.yaml"
    lab = term.read_text("utf-8").split("labs:\n")[1].replace("level:", "lone:")
    term.write_text(term.read_text("utf-8") + lab.replace("cart.mass", "glider.mass"), "utf-8")
    output = run("trace", "0.763", "--set", "glider.mass=507g")[1]
    labs = [line for line in output.splitlines() if line[0] != " "]
    assert labs == ["lone in 2027-spring, glider.mass=507g"]
    assert run("trace", "0.763", "--set", "glidr.mass=507g")[2] == (
        '--set glidr.mass=507g:1:1: unknown name "glidr"; did you mean "glider"?\n'
    )


def test_the_address_is_whole_where_the_site_is_known(running: Path, run: Run) -> None:
    course = running / "site-data/course.yaml"
    course.write_text(course.read_text("utf-8") + "url: https://lab.example.org\n", "utf-8")
    address = "https://lab.example.org/2027-spring/level/example.html#tension\n"
    assert run("trace", "0.757")[1].endswith(address)
