"""A new course is whole: it passes, it builds, editors find its schemas; the wheel alone is enough."""

import json
import os
import re
import subprocess
import sys
from datetime import date, datetime, timedelta
from importlib.metadata import version
from pathlib import Path

import pytest
import yaml
from jsonschema import Draft202012Validator

from democourse import PROJECT

ZONE = ("--time-zone", "Europe/Zurich")
SCHEMA_LINE = "# yaml-language-server: $schema={}"
DAY = ("--first-day", "2027-02-01")


@pytest.fixture
def course(tmp_path, monkeypatch, run) -> Path:
    folder = tmp_path / "mechanics"
    status, said, _ = run("start", str(folder), "--title", 'Lab: "one"', *ZONE, *DAY)
    assert (status, said.splitlines()[0].count("2027-spring")) == (0, 1)
    monkeypatch.chdir(folder)
    return folder


def test_a_new_course_passes_and_gives_answers(course, run):
    status, said, _ = run("check")
    assert status == 0
    first, *labs = said.splitlines()
    assert first == "site-data: 2 scenarios, 1 term, 2 labs: nothing wrong"
    assert [line.split(":")[0] for line in labs] == [
        "2027-spring/level-track",
        "2027-spring/two-weights",
    ]
    assert run("key", "level-track", "--term", "2027-spring")[0] == 0


def test_a_new_course_is_published_with_what_is_open(course, run):
    status, said, _ = run("publish", "--as-of", "2027-02-15T08:00", "--to", "looked-at")
    assert (status, "Opens next" in said) == (0, True)
    pages = {str(p.relative_to("looked-at")) for p in Path("looked-at/2027-spring").rglob("*.html")}
    assert "2027-spring/level-track/solution.html" in pages
    assert "2027-spring/two-weights/solution.html" not in pages
    assert Path("looked-at/room.html").is_file()


def test_next_term_is_chosen_out_of_its_inventory(course, run):
    status, *_ = run("vary", "--term", "2028-spring", "--after", "2027-spring", "--write")
    first, *rest = Path("site-data/terms/2028-spring.yaml").read_text("utf-8").splitlines()
    assert (status, first) == (0, SCHEMA_LINE.format("../../schema/term.schema.json"))
    assert {"  level-track:", "  two-weights:"} <= set(rest)
    assert run("check")[0] == 0


def test_editors_find_a_schema_that_each_file_keeps_to(course):
    files = sorted(Path("site-data").rglob("*.yaml"))
    assert len(files) == 5
    for each in files:
        text = each.read_text("utf-8")
        named = each.parent / text.splitlines()[0].removeprefix(SCHEMA_LINE.format(""))
        schema = json.loads(named.resolve().read_text("utf-8"))
        assert schema["title"] == f"Fallwork {named.name.split('.')[0]} file"
        Draft202012Validator(schema).validate(yaml.load(text, EDITORS))


def test_a_new_version_renews_the_schemas_and_what_is_asked_for(course, run):
    schema, wanted = Path("schema/term.schema.json"), Path("requirements.txt")
    before = schema.read_bytes()
    schema.write_text("{}", "utf-8")
    wanted.write_text("# ours\nfallwork == 0.0.1\nother == 1\n", "utf-8")
    status, said, _ = run("upgrade")
    assert (status, version("fallwork") in said) == (0, True)
    assert schema.read_bytes() == before
    assert wanted.read_text("utf-8") == f"# ours\nfallwork == {version('fallwork')}\nother == 1\n"


@pytest.mark.parametrize(
    ("words", "reason"),
    [
        (("--time-zone", "Mars/Base"), "unknown time zone"),
        (("--title", " "), "course.yaml:2"),
    ],
)
def test_what_can_be_no_course_leaves_nothing(tmp_path, run, words, reason):
    status, _, said = run("start", str(tmp_path / "new"), *words)
    assert (status, reason in said, [*tmp_path.iterdir()]) == (2, True, [])


def test_a_folder_that_holds_something_is_left_alone(tmp_path, run):
    (tmp_path / "mine.txt").write_text("mine", "utf-8")
    status, _, said = run("start", str(tmp_path))
    assert (status, "isn't empty" in said) == (2, True)
    assert [each.name for each in tmp_path.iterdir()] == ["mine.txt"]


def test_without_a_first_day_it_begins_on_a_monday_to_come(tmp_path, run):
    assert run("start", str(tmp_path / "new"), "--set-up", "two-weights")[0] == 0
    (term,) = (tmp_path / "new/site-data/terms").iterdir()
    assert [p.stem for p in (tmp_path / "new/site-data/scenarios").iterdir()] == ["two-weights"]
    opens = date.fromisoformat(re.findall(r"opens: (\S+)", term.read_text("utf-8"))[0])
    away = opens - datetime.now().date()
    assert (opens.weekday(), timedelta(7) < away < timedelta(22)) == (0, True)


def test_the_version_is_that_of_the_package(run):
    assert run("--version")[1] == f"{version('fallwork')}\n"


def test_the_wheel_alone_makes_and_builds_a_course(tmp_path):
    """Installed apart from the project; what it depends on comes from where tests run."""
    pip = [sys.executable, "-m", "pip", "--quiet", "--disable-pip-version-check"]
    build = ["wheel", "--no-deps", "--no-build-isolation", "--wheel-dir", tmp_path, PROJECT]
    subprocess.run([*pip, *build], check=True)
    (wheel,) = tmp_path.glob("*.whl")
    apart, course = tmp_path / "apart", tmp_path / "course"
    subprocess.run([*pip, "install", "--no-deps", "--target", apart, wheel], check=True)
    env = {**os.environ, "PYTHONPATH": str(apart), "NO_MKDOCS_2_WARNING": "1"}

    def said(module: str, *words: str, at: Path = tmp_path) -> str:
        work = f"import fallwork, {module} as m; print(fallwork.__file__); m.{words[0]}"
        call = [sys.executable, "-c", work, *words[1:]]
        return subprocess.run(call, cwd=at, env=env, check=True, stdout=subprocess.PIPE, text=True).stdout

    run = ("fallwork.cli", "main()")
    assert said(*run, "start", str(course), *DAY).startswith(str(apart))
    assert "nothing wrong" in said(*run, "check", at=course)
    assert "pages of" in said(*run, "publish", "--as-of", "2027-02-15", "--to", "seen", at=course)
    said("mkdocs.__main__", "cli()", "build", "--strict", "--quiet", at=course)
    assert (course / "site/index.html").is_file()
