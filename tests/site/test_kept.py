"""A build with what was worked out before gives the bytes of one without, no page early or late."""

import os
import subprocess
import sys
import threading
from datetime import timedelta
from pathlib import Path

import pytest

from democourse import bytes_below, copy_of_the_course, exchange
from fallwork import once
from fallwork.scenario import load_course
from fallwork.site.publication import built as built_by_builder
from fallwork.site.publication import configuration, plugin_of, publish

pytestmark = [pytest.mark.drawn, pytest.mark.in_full]
LAB = "2026-autumn/level-track-frictionless"


@pytest.fixture(scope="module")
def course(tmp_path_factory) -> Path:
    return copy_of_the_course(tmp_path_factory.mktemp("kept") / "course")


@pytest.fixture(autouse=True)
def kept(course, monkeypatch) -> Path:
    """The folder where answers are kept, here the same for all tests."""
    monkeypatch.setenv(once.NAMED_BY, str(course.parent / "answers"))
    return course.parent / "answers"


def built(course: Path, days: int = 0) -> dict[str, bytes]:
    """The site so many days after the first lab's trials open."""
    (lab, *_) = load_course(course / "site-data").terms[0].labs
    moment = lab.trials_open + timedelta(days=days)
    return bytes_below(publish(course / "mkdocs.yml", now=moment, to=course / "look").site)


@pytest.fixture(scope="module")
def plain(course) -> dict[str, bytes]:
    """The same as it is built where nothing is kept."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv(once.NAMED_BY, "")
        return built(course)


def test_cold_warm_and_in_one_process(course, plain, kept, monkeypatch):
    assert built(course) == plain
    answers = bytes_below(kept)
    assert built(course) == plain
    assert bytes_below(kept) == answers != {}
    monkeypatch.setattr(threading, "active_count", lambda: 2)  # nothing may be forked
    monkeypatch.setenv(once.NAMED_BY, str(kept / "other"))
    assert built(course) == plain


@pytest.mark.parametrize("spoil", [lambda old: old[:-9], lambda old: old[:40] + b"0" + old[41:]])
def test_what_was_spoiled_is_worked_out_again(course, plain, kept, spoil):
    assert built(course) == plain
    for path in [path for path in kept.rglob("*") if path.is_file()][::2]:
        path.write_bytes(spoil(path.read_bytes()))
    assert built(course) == plain
    for path in [path for path in kept.rglob("*") if path.is_file()][::3]:
        path.unlink()
    assert built(course) == plain


def test_another_version_knows_nothing_of_it(course, plain, kept, monkeypatch):
    built(course)
    before = {*kept.iterdir()}
    monkeypatch.setattr(once, "_program", lambda: "another")
    assert built(course) == plain
    assert {*kept.iterdir()} - before == {kept / "another"}


def test_a_page_that_stands_already_is_taken_over_unless_somebody_changed_it(course, plain):
    built(course)
    pages = [course / f"look/{LAB}/{name}.html" for name in ("prelab", "example")]
    before = pages[0].stat().st_ino
    pages[1].write_text("Something else.", "utf-8")
    assert built(course) == plain
    assert pages[0].stat().st_ino == before
    assert pages[0].stat().st_nlink == 1


def test_no_page_comes_early_or_late(course, kept, monkeypatch):
    data = load_course(course / "site-data")
    days = sorted({(event - data.terms[0].labs[0].trials_open).days for event in dates(data)})
    warm = [built(course, day + late) for day in days for late in (-1, 0, 1)]
    monkeypatch.setenv(once.NAMED_BY, "")
    assert warm[1::3] == [built(course, day) for day in days]


def dates(data):
    lab = data.terms[0].labs[0]
    return [lab.opens_first, lab.trials_open, lab.solution_opens]


def test_a_number_that_changes_shows_at_once_and_a_comment_changes_nothing(
    course, plain, tmp_path, monkeypatch
):
    other = copy_of_the_course(tmp_path / "course")
    path = other / "site-data/terms/2026-autumn.yaml"
    path.write_text(f"# a line more\n{path.read_text('utf-8')}", "utf-8")
    assert built(other) == plain
    exchange(path, "cart.mass: 318.4 g", "cart.mass: 319.4 g")
    warm = built(other)
    assert f"{LAB}/solution.html" not in warm
    monkeypatch.setenv(once.NAMED_BY, "")
    assert built(other) == warm != plain


def test_builds_that_run_at_once_do_no_harm(course, plain, tmp_path):
    call = "from fallwork.cli import main; main()"
    moment = load_course(course / "site-data").terms[0].labs[0].trials_open.isoformat()
    env = {**os.environ, once.NAMED_BY: str(tmp_path / "answers")}
    words = ["publish", "--as-of", moment, "--to"]
    runs = [
        subprocess.Popen([sys.executable, "-c", call, *words, name], cwd=course, env=env)
        for name in ("one", "two")
    ]
    assert [run.wait() for run in runs] == [0, 0]
    assert bytes_below(course / "one") == bytes_below(course / "two") == plain


def test_a_terminal_is_told_how_far_work_has_come(capsys, monkeypatch):
    monkeypatch.setattr(once, "_PATIENCE", -1.0)
    assert [*once.for_each(abs, [1, -2, 3], "labs")] == [1, 2, 3]
    assert capsys.readouterr().err == ""
    monkeypatch.setattr("sys.stderr.isatty", lambda: True)
    assert [*once.for_each(abs, [1, -2, 3], "labs")] == [1, 2, 3]
    assert capsys.readouterr().err.lstrip("\r").startswith("1 of 3 labs, about 0 s left")


def test_a_preview_may_show_one_lab(course, tmp_path):
    config = configuration(course / "mkdocs.yml", strict=False, site=tmp_path / "look")
    plugin_of(config).only = "level-track"
    built_by_builder(config, command="serve")
    labs = {path.parent.name for path in (tmp_path / "look/2026-autumn").rglob("*.html")}
    assert labs == {"2026-autumn", "level-track"}
    assert plugin_of(config).only is None  # the builder has the same plugin for the next build
