"""The demo course builds strictly, names no machine and gives the same bytes anywhere; the docs
builder's own commands give the audited student edition too.
"""

import html
import os
import re
import shutil
import socket
import subprocess
import sys
import time
import urllib.request
from pathlib import Path

import pytest

from cases import cases
from democourse import PROJECT, bytes_below, copy_of_the_course, exchange, own_course
from fallwork.site.preview import on_top

START = f"""
import sys
sys.path.insert(0, {str(PROJECT / "tests")!r})
from datetime import datetime
from pathlib import Path
from democourse import hang
from fallwork.cli import main
from fallwork.site.preview import preview
from fallwork.site.publication import publish
hang()
moment = datetime.fromisoformat("2026-11-24T12:00+00:00")
"""
PUBLISH = START + 'publish(Path("mkdocs.yml"), as_of=moment, now=moment)'
STAFF = START + 'main(["publish", "--edition", "staff"])'
PREVIEW = START + 'preview(Path("mkdocs.yml"), port=int(sys.argv[1]))'
KINDS = ("incline-held", "pulley-on-a-string", "push-away")  # in an everyday run
PLAIN = {"TZ": "UTC", "LC_ALL": "C.UTF-8", "PYTHONHASHSEED": "1"}
ODD = {
    "TZ": "Pacific/Kiritimati",
    "LC_ALL": "C",
    "PYTHONUTF8": "0",
    "PYTHONCOERCECLOCALE": "0",
    "PYTHONHASHSEED": "4711",
    "SOURCE_DATE_EPOCH": "86400",
}
MKDOCS = (sys.executable, "-m", "mkdocs")
BRANCH = "gh-pages"  # the builder's own name for it


def run(code: str, folder: Path, settings: dict[str, str], umask: int = 0o022) -> None:
    environment = {**os.environ, **settings}
    subprocess.run(
        [sys.executable, "-c", code], cwd=folder, env=environment, umask=umask, check=True
    )


def test_same_input_gives_the_same_bytes_and_names_no_folder_of_this_machine(tmp_path, thorough):
    """Drawings are compared among the tests of figures."""
    labs = ("level-track", *KINDS)
    one = copy_of_the_course(tmp_path / "course", whole=thorough, labs=labs)
    other = copy_of_the_course(tmp_path / "deeper" / "Übung 1", whole=thorough, labs=labs)
    run(PUBLISH, one, PLAIN)
    run(PUBLISH, other, ODD, umask=0o077)
    files, others = bytes_below(one / "site"), bytes_below(other / "site")
    assert list(files) == list(others)
    assert [name for name in files if files[name] != others[name]] == []
    names = {str(one), str(PROJECT), str(Path.home()), sys.prefix}
    for file, content in files.items():
        assert [name for name in sorted(names) if name.encode() in content] == [], file
    pages = {"index", "prelab", "example", "solution"}
    lab = {page for page in pages if f"2026-autumn/level-track/{page}.html" in files}
    assert lab == pages - {"solution"}  # held back; the audit agrees
    own = {"index.html", "reading.html", "safety.html", "room.html"}
    assert own | {"2026-autumn/level-track-frictionless/solution.html"} < {*files}
    menu = files["reading.html"].decode()  # the short navigation
    assert ("2026-autumn/level-track/index.html" in menu, "prelab.html" in menu) == (True, False)


def test_staff_get_an_edition_of_every_kind_of_set_up(tmp_path, thorough):
    """Strictly: a link without its place is an error."""
    course = copy_of_the_course(tmp_path / "course", whole=thorough, labs=(*KINDS, "level-track"))
    run(STAFF, course, PLAIN)
    notes = {path.parent.name for path in (course / "site-staff").rglob("notes.html")}
    assert {*KINDS, "level-track"} < notes


def test_the_preview_follows_the_course_and_tells_its_mistakes(tmp_path):
    course = copy_of_the_course(tmp_path / "course")
    shutil.rmtree(course / "site-data" / "terms")  # labs take seconds to build
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    command = [sys.executable, "-c", PREVIEW, str(port)]
    before = set(course.rglob("*"))
    process = subprocess.Popen(command, cwd=course, stdout=subprocess.PIPE, text=True)
    try:
        assert served(port, "Introductory mechanics lab")
        settings = course / "site-data" / "course.yaml"
        right = settings.read_text("utf-8")
        settings.write_text(right.replace("title:", "titel:"), "utf-8")
        page = served(port, 'did you mean "title"?')
        assert '<div role="alert"' in page
        assert "Introductory mechanics lab" in page  # what could be built last goes on
        settings.write_text(right.replace("mechanics lab", "changed title"), "utf-8")
        assert "alert" not in served(port, "Introductory changed title")
    finally:
        process.terminate()
        told, _ = process.communicate()
    assert told.startswith("The student edition, for you alone: http://127.0.0.1:")
    assert 'did you mean "title"?' in told
    assert set(course.rglob("*")) == before  # nothing published, nothing recorded


def test_a_message_stands_on_top_of_a_page_and_is_no_markup():
    page = on_top(b"<html><body class='a'><p>Text</p></body></html>", "a < b").decode()
    assert re.fullmatch(r".*<body class='a'><div role=.*\na &lt; b</div><p>.*", page, re.DOTALL)


def served(port: int, words: str) -> str:
    """The home page once it holds these words; nothing if it doesn't within a minute."""
    for _ in range(240):
        try:
            with urllib.request.urlopen(f"http://127.0.0.1:{port}/index.html", timeout=60) as page:
                text: str = html.unescape(page.read().decode())
                if words in text:
                    return text
        except OSError:
            pass  # not up yet
        time.sleep(0.25)
    return ""


# ---- the docs builder's own ways to build a site give the audited student edition too
WHO = {
    f"GIT_{role}_{key}": value
    for role in ("AUTHOR", "COMMITTER")
    for key, value in (("NAME", "lab"), ("EMAIL", "lab@example.org"))
}
ENVIRONMENT = {**os.environ, **WHO, "NO_MKDOCS_2_WARNING": "1"}


def ran(folder: Path, *words: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        words, cwd=folder, env=ENVIRONMENT, capture_output=True, text=True, check=False
    )


def git(folder: Path, *words: str) -> str:
    done = ran(folder, "git", *words)
    assert done.returncode == 0, done.stderr
    return done.stdout


@pytest.fixture(scope="module")
def course(tmp_path_factory) -> Path:
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


def test_what_is_open_is_put_on_the_branch_and_nothing_else(course):
    done = ran(course, *MKDOCS, "gh-deploy")
    assert done.returncode == 0, done.stderr
    files = git(course.with_name("remote"), "ls-tree", "-r", "--name-only", BRANCH).splitlines()
    assert {"index.html", "calendar.ics", "2027-spring/level/prelab.html"} < set(files)
    assert [name for name in files if "solution" in name or "site-data" in name] == []
    done = ran(course, *MKDOCS, "build", "--strict")
    assert (done.returncode, "WARNING -" in done.stderr) == (0, False), done.stderr


@pytest.mark.parametrize(("word", "file", "old", "new", "told"), cases(__file__, "guarded"))
def test_what_may_not_be_is_neither_built_nor_deployed(course, word, file, old, new, told):
    before = git(course.with_name("remote"), "rev-parse", BRANCH)
    right = (course / file).read_text("utf-8")
    files = bytes_below(course / "site")
    exchange(course / file, old, new)
    done = ran(course, *MKDOCS, word)
    (course / file).write_text(right, "utf-8")
    assert done.returncode == 1
    assert told in done.stderr
    assert "Traceback" not in done.stderr
    assert git(course.with_name("remote"), "rev-parse", BRANCH) == before
    assert bytes_below(course / "site") == files
    left = {path.name for path in course.iterdir() if path.name.startswith(".")}
    assert left == {".git"}
