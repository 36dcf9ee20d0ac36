"""A new course is whole: it passes, builds, is known to editors; the wheel alone is enough."""

import json
import os
import re
import shutil
import subprocess
import sys
from datetime import date, timedelta
from importlib.metadata import version
from pathlib import Path

import pytest
from jsonschema import Draft202012Validator

from cases import as_an_editor_reads
from democourse import PROJECT

DAY = ("--first-day", "2027-02-01")
SCHEMA_LINE = "# yaml-language-server: $schema="


@pytest.fixture
def course(tmp_path, monkeypatch, run) -> Path:
    folder = tmp_path / "mechanics"
    (folder / ".venv").mkdir(parents=True)  # the program may be there already
    monkeypatch.chdir(folder)
    status, said, _ = run("start", ".", "--title", 'Lab: "one"', "--time-zone", "Asia/Tokyo", *DAY)
    assert (status, "2027-spring" in said) == (0, True)
    return folder


def test_editors_find_a_schema_that_each_file_keeps_to(course, run):
    """The next term too, for which numbers are chosen out of its inventory."""
    assert run("vary", "--term", "2028-spring", "--after", "2027-spring", "--write")[0] == 0
    files = sorted(Path("site-data").rglob("*.yaml"))
    assert len(files) == 6
    for each in files:
        named = each.read_text("utf-8").splitlines()[0].removeprefix(SCHEMA_LINE)
        schema = json.loads((each.parent / named).resolve().read_text("utf-8"))
        assert schema["title"] == f"Fallwork {Path(named).name.split('.')[0]} file"
        Draft202012Validator(schema).validate(as_an_editor_reads(each))


def test_a_new_version_renews_the_schemas_and_what_is_asked_for(course, run, monkeypatch):
    schema, wanted = Path("schema/term.schema.json"), Path("requirements.txt")
    before, asked = schema.read_bytes(), "# ours\nfallwork == {}\nother == 1\n"
    schema.write_text("{}", "utf-8")
    wanted.write_text(asked.format("0.0.1"), "utf-8")
    status, said, _ = run("upgrade")
    assert (status, version("fallwork") in said, schema.read_bytes()) == (0, True, before)
    assert wanted.read_text("utf-8") == asked.format(version("fallwork"))
    assert run("--version")[1] == f"{version('fallwork')}\n"
    monkeypatch.chdir("content")  # where there is no course
    assert run("upgrade")[0] == 2


def test_without_a_first_day_it_begins_on_a_monday_to_come(tmp_path, run):
    assert run("start", str(tmp_path / "a/new"), "--set-up", "two-weights")[0] == 0
    (term,) = tmp_path.glob("a/new/site-data/terms/*")
    assert [path.stem for path in tmp_path.glob("a/new/site-data/scenarios/*")] == ["two-weights"]
    opens = date.fromisoformat(re.findall(r"opens: (\S+)", term.read_text("utf-8"))[0])
    assert opens.weekday() == 0
    assert timedelta(7) <= opens - date.today() < timedelta(15)


def test_the_wheel_alone_makes_and_builds_a_course(tmp_path):
    """Installed apart from the project; what it depends on comes from where tests run."""
    clone, apart, course = (tmp_path / name for name in ("clone", "apart", "course"))
    shutil.copytree(PROJECT / "generator", clone / "generator")
    for name in ("pyproject.toml", "README.md", "LICENSE"):
        shutil.copy(PROJECT / name, clone)
    pip = [sys.executable, "-m", "pip", "--quiet", "--disable-pip-version-check"]
    build = ["wheel", "--no-deps", "--no-build-isolation", "--wheel-dir", tmp_path, clone]
    subprocess.run([*pip, *build], check=True)
    (wheel,) = tmp_path.glob("*.whl")
    subprocess.run([*pip, "install", "--no-deps", "--target", apart, wheel], check=True)
    shutil.rmtree(clone)
    env = {**os.environ, "PYTHONPATH": str(apart), "NO_MKDOCS_2_WARNING": "1"}

    def said(call: str, *words: str) -> str:
        call = f"import fallwork; print(fallwork.__file__); {call}"
        words = (sys.executable, "-c", call, *words)
        return subprocess.check_output(words, cwd=course, env=env, text=True)

    run = "from fallwork.cli import main; main()"
    course.mkdir()
    assert said(run, "start", ".", *DAY).startswith(str(apart))
    assert "2 scenarios, 1 term, 2 labs: nothing wrong" in said(run, "check")
    assert "Opens next" in said(run, "publish", "--as-of", "2027-02-15", "--to", "seen")
    labs = ("level-track", "two-weights")
    open_ = [(course / f"seen/2027-spring/{lab}/solution.html").is_file() for lab in labs]
    said("from mkdocs.__main__ import cli; cli()", "build", "--strict", "--quiet")
    assert (open_, (course / "site/room.html").is_file()) == ([True, False], True)


def test_words_of_its_own_are_read_with_it_and_tell_nothing_early(tmp_path, monkeypatch, run):
    monkeypatch.chdir(tmp_path)
    asked = "--title Lab --time-zone Asia/Tokyo --set-up level-track --first-day 2025-02-03"
    assert run("start", "course", *asked.split())[0] == 0
    monkeypatch.chdir("course")
    own = Path("site-data/words/tension.more.md.j2")
    own.parent.mkdir()
    for text, line, says in (
        ("So.\nThe {{ the_wieght }}.", 2, 'unknown word "the_wieght"; did you mean "the_weight"?'),
        ("The string pulls with 0.645\nN.", 1, '"0.645 N", which is tension of the string'),
    ):
        own.write_text(text, "utf-8")
        status, _, said = run("publish", "--as-of", "2025-02-16")
        assert (status, f"{own}:{line}:" in said, says in said) == (2, True, True)
    own.with_name("tension.txt").write_text("", "utf-8")
    status, _, said = run("check", str(own))
    assert (status, said.startswith(f"{own.parent}/tension.txt:1:1: no step's file")) == (2, True)
