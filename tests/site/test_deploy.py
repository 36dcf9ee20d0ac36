"""The docs builder's own way to put a site on the web gives the audited student edition too.

The remote repository is a folder of this machine.
"""

import os
import subprocess
import sys
from pathlib import Path

import pytest

from democourse import own_course

WHO = {
    f"GIT_{role}_{key}": value
    for role in ("AUTHOR", "COMMITTER")
    for key, value in (("NAME", "lab"), ("EMAIL", "lab@example.org"))
}
BRANCH = "gh-pages"  # the builder's own name for it


def git(folder: Path, *words: str) -> str:
    command = ["git", *words]
    done = subprocess.run(
        command, cwd=folder, env={**os.environ, **WHO}, capture_output=True, text=True, check=True
    )
    return done.stdout


def deploy(course: Path) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, "-m", "mkdocs", "gh-deploy"],
        cwd=course,
        env={**os.environ, **WHO, "NO_MKDOCS_2_WARNING": "1"},
        capture_output=True,
        text=True,
        check=False,
    )


def deployed(course: Path) -> list[str]:
    return git(course.with_name("remote"), "ls-tree", "-r", "--name-only", BRANCH).splitlines()


@pytest.fixture(scope="module")
def course(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The tests' own course in a repository; its lab has opened, its solution will much later."""
    root = tmp_path_factory.mktemp("deploy")
    git(root, "init", "--quiet", "--bare", "remote")
    folder = root / "course"
    own_course(folder)
    term = folder / "site-data" / "terms" / "2027-spring.yaml"
    text = term.read_text("utf-8").replace("opens: 2027-02-01", "opens: 2020-02-01", 1)
    term.write_text(text.replace("2027-02", "2099-02"), "utf-8")
    git(folder, "init", "--quiet")
    git(folder, "remote", "add", "origin", "../remote")
    git(folder, "commit", "--quiet", "--allow-empty", "--message", "Start")
    return folder


def test_what_is_open_is_put_on_the_branch_and_nothing_else(course: Path) -> None:
    done = deploy(course)
    assert done.returncode == 0, done.stderr
    files = deployed(course)
    assert {"index.html", "calendar.ics", "2027-spring/level/prelab.html"} < set(files)
    assert [name for name in files if "solution" in name or "site-data" in name] == []


def test_a_page_that_gives_an_answer_away_is_not_deployed(course: Path) -> None:
    # By hand: a = (0.090 - 0.008 x 0.512) x 9.80665 / 0.602 = 1.399 m/s2
    before = git(course.with_name("remote"), "rev-parse", BRANCH)
    page = course / "content" / "reading.md"
    right = page.read_text("utf-8")
    page.write_text(f"{right}\nYou should get 1.399 m/s².\n", "utf-8")
    done = deploy(course)
    page.write_text(right, "utf-8")
    assert done.returncode == 1
    assert "held back: the solution of level in 2027-spring" in done.stderr
    assert git(course.with_name("remote"), "rev-parse", BRANCH) == before


def test_the_staff_edition_is_not_deployed(course: Path) -> None:
    before = git(course.with_name("remote"), "rev-parse", BRANCH)
    settings = course / "mkdocs.yml"
    right = settings.read_text("utf-8")
    settings.write_text(right.replace("- fallwork:", "- fallwork:\n      edition: staff"), "utf-8")
    done = deploy(course)
    settings.write_text(right, "utf-8")
    assert done.returncode == 1
    assert "the staff edition holds the answers; it is not for the open web" in done.stderr
    assert git(course.with_name("remote"), "rev-parse", BRANCH) == before
