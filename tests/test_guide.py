"""The guide is its own test: its blocks are run in order, in years that are over."""

import re
import shlex
from pathlib import Path

import pytest
from click.testing import CliRunner

from fallwork import reference
from fallwork.cli import main
from fallwork.measurement.records import read_all
from fallwork.pages.build import GUIDE
from fallwork.pages.schedule import OVERVIEW, SUB_PAGES

TEXTS = {page.stem: page.read_text("utf-8") for page in GUIDE.glob("*.md")}
BLOCKS = re.compile(r"^```(\w+)\n(.*?)^```", re.DOTALL | re.MULTILINE)
NOT_HERE = ("mkdir ", "cd ", "python3 -m ", ". .venv/", "fallwork preview ")
OURS = ("site-data/", "content/", "schedule/", "site/", "mkdocs.yml", "requirements.txt")


def run(line: str) -> str:
    """What a command says; it ends with 0, or with 2 where the guide says so behind it."""
    call, _, comment = line.partition("  #")
    result = CliRunner().invoke(main, shlex.split(call)[1:])
    assert result.exit_code == (2 if "refused" in comment else 0), (line, result.output)
    return result.output


def put(block: str) -> None:
    """Write what a block says where its first line says: ``file, below key``."""
    head, _, body = block.partition("\n")
    name, _, where = head.strip("{#} ").partition(", ")
    path, (way, _, key) = Path(name), where.rpartition(" ")
    path.parent.mkdir(exist_ok=True)
    text = path.read_text("utf-8") if where else ""
    place = re.search(rf"^( *){key}:.*\n(?:\1 +.*\n)*", text, re.MULTILINE) if where else None
    begin, end = place.span() if place else (0, 0)
    path.write_text(text[: end if way == "below" else begin] + body + text[end:], "utf-8")


def check_named(page: str) -> None:
    """Files, commands and options within sentences are there."""
    for code in re.findall(r"`([^`\n]+)`", page):
        if code.startswith(OURS):
            assert Path(code).exists(), code
        if code.startswith("fallwork ") and code.split()[1] != "--version":
            command = main.commands[code.split()[1]]
            known = {opt for each in command.params for opt in each.opts}
            assert {*re.findall(r"--[\w-]+", code)} <= known, code


@pytest.mark.parametrize("name", sorted(name for name in TEXTS if name not in reference.pages()))
def test_a_page_comes_out_as_it_is_told(name, tmp_path, monkeypatch):
    page, first = (
        TEXTS[each].replace("2027", "2025").replace("2028", "2026") for each in (name, "index")
    )
    (tmp_path / "mechanics").mkdir()
    monkeypatch.chdir(tmp_path)
    if name not in ("index", "first-lab"):
        run(BLOCKS.findall(first)[0][1].strip())
    if name != "index":
        monkeypatch.chdir("mechanics")
    said = ""
    for kind, block in BLOCKS.findall(page):
        if kind in ("yaml", "jinja"):
            put(block)
        elif kind == "csv":
            Path("shown.csv").write_text(block, "utf-8")
            notes = [note for each in read_all([Path("shown.csv")]) for note in each.notes]
            assert not re.search("passed over|taken as|no value", "; ".join(notes)), notes
        elif kind == "text":
            for line in block.splitlines():
                assert re.search(".*".join(map(re.escape, line.split())), said), line
        else:
            lines = [line for line in block.splitlines() if not line.startswith(NOT_HERE)]
            said = "".join(map(run, lines))
    check_named(page)
    if Path("site-staff").exists():  # it stands in that edition alone
        assert {each.stem for each in Path("site-staff/guide").iterdir()} == {*TEXTS}
        assert not Path("site/guide").exists()
    rows = re.findall(r"^\| `(\w+\.html)`", page, re.MULTILINE)
    assert not rows or rows == [f"{sub.name}.html" for sub in (OVERVIEW, *SUB_PAGES)]


def test_the_reference_is_that_of_this_version():
    assert {name: TEXTS[name] for name in reference.pages()} == reference.pages()
