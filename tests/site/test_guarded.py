"""The docs builder's own ways to build a site and to put it on the web give the audited student
edition too. The remote repository is a folder of this machine.
"""

import os
import subprocess
import sys
from pathlib import Path

import pytest

from democourse import bytes_below, exchange, own_course

WHO = {
    f"GIT_{role}_{key}": value
    for role in ("AUTHOR", "COMMITTER")
    for key, value in (("NAME", "lab"), ("EMAIL", "lab@example.org"))
}
MKDOCS = (sys.executable, "-m", "mkdocs")
BRANCH = "gh-pages"  # the builder's own name for it
ENVIRONMENT = {**os.environ, **WHO, "NO_MKDOCS_2_WARNING": "1"}
STAFF = "the staff edition holds the answers; it is not for the open web"


def run(folder: Path, *words: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        words, cwd=folder, env=ENVIRONMENT, capture_output=True, text=True, check=False
    )


def git(folder: Path, *words: str) -> str:
    done = run(folder, "git", *words)
    assert done.returncode == 0, done.stderr
    return done.stdout


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
    done = run(course, *MKDOCS, "gh-deploy")
    assert done.returncode == 0, done.stderr
    files = git(course.with_name("remote"), "ls-tree", "-r", "--name-only", BRANCH).splitlines()
    assert {"index.html", "calendar.ics", "2027-spring/level/prelab.html"} < set(files)
    assert [name for name in files if "solution" in name or "site-data" in name] == []
    done = run(course, *MKDOCS, "build", "--strict")
    assert (done.returncode, "WARNING -" in done.stderr) == (0, False), done.stderr


@pytest.mark.parametrize(
    ("word", "file", "old", "new", "told"),
    [
        # By hand: a = (0.090 - 0.008 x 0.512) x 9.80665 / 0.602 = 1.399 m/s2
        *(
            (word, "content/room.md", "# ", "You get 1.399 m/s².\n\n# ", "held back: the ")
            for word in ("gh-deploy", "build")
        ),
        ("gh-deploy", "mkdocs.yml", "- fallwork:", "- fallwork:\n      edition: staff", STAFF),
        (
            "build",
            "mkdocs.yml",
            "- fallwork:",
            "- fallwork:\n      as_of: soon",
            "as_of is 'soon'; ",
        ),
        ("build", "site-data/scenarios/level.yaml", "80.0 g", "80.0 s", "scenarios/level.yaml:4:"),
    ],
)
def test_what_may_not_be_is_neither_built_nor_deployed(
    course: Path, word: str, file: str, old: str, new: str, told: str
) -> None:
    before, right = (
        git(course.with_name("remote"), "rev-parse", BRANCH),
        (course / file).read_text(),
    )
    files = bytes_below(course / "site")
    exchange(course / file, old, new)
    done = run(course, *MKDOCS, word)
    (course / file).write_text(right, "utf-8")
    assert done.returncode == 1
    assert told in done.stderr
    assert "Traceback" not in done.stderr
    assert git(course.with_name("remote"), "rev-parse", BRANCH) == before
    assert bytes_below(course / "site") == files
    left = {path.name for path in course.iterdir() if path.name.startswith(".")}
    assert left == {".git"}
