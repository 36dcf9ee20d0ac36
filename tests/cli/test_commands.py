"""What all commands share; what ``trace`` says of a number, and ``check`` of a course."""

import json
import os
import shlex
import subprocess
import sys
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner

from cases import cases
from democourse import bytes_below, exchange
from fallwork.cli import main

SCRIPT = "import sys; from fallwork.cli import main; main(sys.argv[1:], standalone_mode=False); "
HEAVY = "print(sorted({'matplotlib', 'mkdocs', 'scipy', 'sympy'} & set(sys.modules)))"
REFUSED = cases(__file__, "refused")
TOLD = cases(__file__, "traced") | cases(__file__, "keys")
TERM = "site-data/terms/2027-spring.yaml"
CASES = cases(__file__, "checks")
IMPOSSIBLE = sorted((Path(__file__).parent / "impossible").glob("*.yaml"))


@pytest.mark.parametrize("words", [("--help",), ("key", "level"), ("key", "level", "--json")])
def test_what_is_not_needed_is_not_imported(folder, words):
    result = subprocess.run(
        [sys.executable, "-c", SCRIPT + HEAVY, *words], capture_output=True, text=True, check=True
    )
    assert result.stdout.rstrip().rpartition("\n")[2] == "[]"


@pytest.mark.parametrize(
    "call",
    ["chek", "key", "key level --jsn", "publish --edition parents", "emit", "trace 0.757 --tern 2"],
)
def test_a_wrong_call_gives_status_2_and_no_output(folder, run, call):
    status, output, messages = run(*call.split())
    assert (status, output) == (2, "")
    assert "Error: " in messages


@pytest.mark.parametrize("call", ["check", "emit out", "publish --to site", "preview", "key level"])
def test_a_spoiled_course_gives_status_2_and_its_problem(folder, run, call):
    settings = {"docs_dir": "site-data", "use_directory_urls": False, "plugins": ["fallwork"]}
    (folder / "mkdocs.yml").write_text(json.dumps({"site_name": "Labs", **settings}), "utf-8")
    exchange(folder / "site-data/scenarios/level.yaml", "kind: cart", "kind: cat")
    status, output, messages = run(*call.split())
    assert (status, output) == (2, "")
    assert messages.startswith("site-data/scenarios/level.yaml:3:")
    assert {path.name for path in folder.iterdir()} == {"mkdocs.yml", "site-data"}


def test_places_are_in_colour_on_a_terminal_and_shells_complete(folder):
    exchange(folder / "site-data/scenarios/level.yaml", "kind: cart", "kind: cat")
    for quiet, begins in (("", "\x1b[31m\x1b[1msite-data/"), ("1", "site-data/")):
        told = CliRunner(env={"NO_COLOR": quiet}).invoke(main, ["check"], color=True).stderr
        assert told.startswith(begins)
    typed = {"_FALLWORK_COMPLETE": "bash_complete", "COMP_WORDS": "fallwork ke", "COMP_CWORD": "1"}
    assert CliRunner(env=typed).invoke(main, prog_name="fallwork").stdout == "plain,key\n"


def alone(*words: str, **settings: str) -> tuple[int, bytes, bytes]:
    """A command in a process of its own."""
    command = [sys.executable, "-c", "from fallwork.cli import main; main()", *words]
    environment = {**os.environ, **settings}
    result = subprocess.run(command, capture_output=True, check=False, env=environment)
    return result.returncode, result.stdout, result.stderr


def test_no_traceback_and_no_stop_at_another_encoding(folder):
    status, output, messages = alone("key", "level", PYTHONIOENCODING="latin-1")
    assert (status, messages) == (0, b"")
    assert "m/s²" in output.decode("latin-1")
    (folder / "site-data/course.yaml").write_bytes(b"\x00\x01\x02")
    told = b"the invisible character <U+0000>; take it out (if this is a text file at all)"
    assert alone("check") == (2, b"", b"site-data/course.yaml:1:1: " + told + b"\n")


@pytest.mark.parametrize("name", REFUSED)
def test_a_call_is_refused_in_words_that_can_be_followed(name, folder, run):
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
@pytest.fixture
def running(folder) -> Path:
    """The course with its lab on now: the solution is far away."""
    term = folder / "site-data/terms/2027-spring.yaml"
    text = term.read_text("utf-8").replace("opens: 2027-02-01", "opens: 2020-02-01", 1)
    text = text.replace("due: 2027", "due: 2090").replace("n_opens: 2027", "n_opens: 2091")
    term.write_text(text, "utf-8")
    return folder


def prepare(data: Path, given: Mapping[str, Any]) -> None:
    """Copies of files, texts exchanged in them and other files, as a case of a table names them."""
    for file, (source, old, new) in given.get("copies", {}).items():
        (data / file).write_text((data / source).read_text("utf-8").replace(old, new), "utf-8")
    for file, (old, new) in given.get("edits", {}).items():
        exchange(data / file, old, new)
    for file, text in given.get("files", {}).items():
        (data / file).parent.mkdir(exist_ok=True)
        (data / file).write_text(text, "utf-8")


@pytest.mark.parametrize("name", TOLD)
def test_a_key_and_what_a_number_is_are_told(name, running, run):
    case = TOLD[name]
    prepare(running / "site-data", case)
    status, output, messages = run(*shlex.split(case["call"]))
    assert (status, messages) == (0, "")
    assert output == (case.get("says") or output)
    lines = [line for line in output.splitlines() if line in case.get("tells", ())]
    assert lines == case.get("tells", [])
    assert case.get("words", "") in output
    assert "not" not in case or case["not"] not in output


@pytest.mark.parametrize("call", ["check", "trace 0.757 N", "trace 1.466 --of a"])
def test_what_was_worked_out_before_changes_nothing(running, run, monkeypatch, tmp_path, call):
    """Nor do lines that are moved, which nothing is worked out anew for."""
    term, told = running / "site-data/terms/2027-spring.yaml", set[str]()
    moved, changed = ("labs:", "\n\nlabs:"), ("cart.mass: 512.0 g", "cart.mass: 2000.0 g")
    for old, new in (("labs:", "labs:"), moved, changed):
        term.write_text(term.read_text("utf-8").replace(old, new), "utf-8")
        found = []
        for kept in (tmp_path / "kept", tmp_path / "kept", ""):
            monkeypatch.setenv("FALLWORK_KEPT", str(kept))
            found.append(run(*shlex.split(call)))
        assert found[0] == found[1] == found[2]
        told.add(found[0][1])
    assert len(told) == (3 if call == "check" else 2)
    assert [*(tmp_path / "kept").rglob("*")]


def test_own_numbers_are_put_into_the_labs_that_have_such_a_thing(running, run):
    scenario = (running / "site-data/scenarios/level.yaml").read_text("utf-8")
    other = scenario.replace("cart", "glider").replace("kind: glider", "kind: cart")
    (running / "site-data/scenarios/lone.yaml").write_text(other)
    term = running / "site-data/terms/2027-spring.yaml"
    lab = term.read_text("utf-8").split("labs:\n")[1].replace("level:", "lone:")
    term.write_text(term.read_text("utf-8") + lab.replace("cart.mass", "glider.mass"), "utf-8")
    output = run("trace", "0.763", "--set", "glider.mass=507g")[1]
    labs = [line for line in output.splitlines() if line[0] != " "]
    assert labs == ["lone in 2027-spring, glider.mass=507g"]
    exchange(
        running / "site-data/terms/2027-spring.yaml", "glider.mass: 512.0 g", "glider.mass: 2 kg"
    )
    *hits, last = run("trace", "0.757")[1].splitlines()
    assert [line for line in hits if line[0] != " "] == ["level in 2027-spring"]
    assert last == "Nothing that is known gives this number: lone in 2027-spring"
    assert run("trace", "0.763", "--set", "glidr.mass=507g")[2] == (
        '--set glidr.mass=507g:1:1: unknown name "glidr"; did you mean "glider"?\n'
    )


# ---- ``fallwork check`` says what it read, or everything that is wrong
@pytest.mark.parametrize("case", CASES)
def test_a_course_with_texts_exchanged(case, folder, run):
    given = CASES[case]
    prepare(folder / "site-data", given)
    status, output, messages = run("check", *given.get("words", ()))
    assert (status, messages) == (2 if "messages" in given else 0, given.get("messages", ""))
    if "says" not in given:
        assert output == given.get("output", "" if status else output)
    assert [words for words in given.get("says", ()) if output.count(words) != 1] == []
    assert [words for words in given.get("silent about", ()) if words in output] == []
    assert given.get("notes") in (None, output.count(": note: level: "))


# ---- set-ups that can be read but can't be: a case is a scenario file and the message beside it
@pytest.mark.parametrize("case", IMPOSSIBLE, ids=lambda case: case.stem)
@pytest.mark.parametrize("command", ["check", "key"])
def test_it_is_refused_at_its_place(case, command, run, monkeypatch):
    monkeypatch.chdir(case.parent)
    assert run(command, case.name) == (2, "", case.with_suffix(".txt").read_text("utf-8"))


def test_a_number_of_the_command_line_is_refused_there(run, monkeypatch):
    monkeypatch.chdir(IMPOSSIBLE[0].parent)
    tied = "push-against-a-tied-string.yaml"
    said = "--set run.start=0.2 m/s:1:11: a: it is given a start speed, but the strings hold it; "
    assert run("key", tied, "--set", "run.start=0.2 m/s")[2].startswith(said)
