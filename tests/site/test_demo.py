"""The demo course itself: it builds strictly, gives the same bytes everywhere, names no machine.

What may differ between two machines and must not show: folder, time zone, locale, the seed of
hashes, the rights of new files, the day of the build.
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

from democourse import PROJECT, bytes_below, copy_of_the_course
from fallwork.site.preview import on_top

START = f"""
import sys
sys.path.insert(0, {str(PROJECT / "tests")!r})
from datetime import datetime
from pathlib import Path
import frames
from fallwork.cli import main
from fallwork.site.preview import preview
from fallwork.site.publication import publish
frames.hang()
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


def run(code: str, folder: Path, settings: dict[str, str], umask: int = 0o022) -> None:
    environment = {**os.environ, **settings}
    subprocess.run(
        [sys.executable, "-c", code], cwd=folder, env=environment, umask=umask, check=True
    )


def test_same_input_gives_the_same_bytes_and_names_no_folder_of_this_machine(
    tmp_path: Path, thorough: bool
) -> None:
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


def test_a_lab_that_returns_leaves_its_old_pages_in_place(everything_open: Path) -> None:
    old, new = (
        (everything_open / term / "level-track/solution.html").read_text("utf-8")
        for term in ("2026-spring", "2026-autumn")
    )
    assert 'href="../../2026-autumn/level-track/index.html">The same lab in its present form' in old
    assert ("noindex" in old, "noindex" in new) == (True, False)
    places = (everything_open / "step/level-track/tension.html").read_text("utf-8")
    now, earlier = places.split("Earlier terms, with other numbers:")
    assert "2026-autumn/level-track/solution.html#tension" in now
    assert "2026-spring" not in now.partition("This step stands on these pages:")[2]
    assert "2026-spring/level-track/solution.html#tension" in earlier


def test_staff_get_an_edition_of_every_kind_of_set_up(tmp_path: Path, thorough: bool) -> None:
    """Strictly: a link without its place is an error."""
    course = copy_of_the_course(tmp_path / "course", whole=thorough, labs=(*KINDS, "level-track"))
    run(STAFF, course, PLAIN)
    notes = {path.parent.name for path in (course / "site-staff").rglob("notes.html")}
    assert {*KINDS, "level-track"} < notes


def test_the_preview_follows_the_course_and_tells_its_mistakes(tmp_path: Path) -> None:
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


def test_a_message_stands_on_top_of_a_page_and_is_no_markup() -> None:
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
