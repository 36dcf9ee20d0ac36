"""A site that would give something away is not published, whoever builds it."""

import os
import subprocess
import sys
from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path

import pytest

from democourse import copy_of_the_course, postpone
from fallwork.pages import Answer, HeldBack
from fallwork.site import plugin
from fallwork.site.audit import AuditError
from fallwork.site.publication import publish

NOW = datetime(2027, 3, 1, 12, tzinfo=UTC)
Pages = dict[str, str]
FilesOf = Callable[[Path], dict[str, bytes]]
HELD = HeldBack(
    what="solution of level in term",
    lab="term/level",
    paths=("term/level/solution",),
    ids=(),
    answers=(Answer(quantity="tension", value=0.66427893499, unit="N"),),
)


@pytest.fixture
def published(config_file: Path, pages: Pages, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setattr(plugin, "held_back", lambda data, now, known: (HELD,))
    return publish(config_file, now=NOW).site


LEAKS = {
    "a sentence": "You should get $0.664\\,\\mathrm{N}$.",
    "a comment": "<!-- 664 mN -->",
    "a hidden heading": '## 0.66 N {data-search-exclude style="display:none"}',
    "a text alternative": '<img src="assets/fallwork/logo.svg" alt="0.6643 N">',
}


@pytest.mark.parametrize("leak", LEAKS)
def test_a_leak_leaves_the_published_site_as_it_was(
    config_file: Path, published: Path, files_of: FilesOf, leak: str
) -> None:
    before = files_of(config_file.parent)
    page = config_file.parent / "content" / "reading.md"
    right = page.read_bytes()
    page.write_bytes(right + f"\n\n{LEAKS[leak]}\n".encode())
    with pytest.raises(AuditError) as caught:
        publish(config_file, now=NOW)
    page.write_bytes(right)
    assert caught.value.findings[0].file == "reading.html"
    assert files_of(config_file.parent) == before


def test_a_leak_shows_in_the_search_index_too(config_file: Path, published: Path) -> None:
    page = config_file.parent / "content" / "reading.md"
    page.write_text(page.read_text("utf-8") + "\nYou get 0.664 N.\n", "utf-8")
    with pytest.raises(AuditError) as caught:
        publish(config_file, now=NOW)
    files = {finding.file for finding in caught.value.findings}
    assert files == {"reading.html", "search/search_index.json", "search/search_index.js"}
    line = page.read_text("utf-8").splitlines().index("You get 0.664 N.") + 1
    assert str(caught.value) == (
        "The site would give away what is held back, so it isn't published:\n"
        f'{page}:{line}:9: "0.664 N", which is tension; the solution of level in term is held '
        "back\nTake it out there, or publish again once it is open."
    )


def test_a_file_beside_the_pages_is_read(config_file: Path, published: Path) -> None:
    (config_file.parent / "content" / "notes.csv").write_text("tension / N\n0.664\n", "utf-8")
    with pytest.raises(AuditError) as caught:
        publish(config_file, now=NOW)
    assert str(caught.value.findings[0]) == (
        'notes.csv, line 2: "0.664", which is tension; the solution of level in term is held back'
    )


def test_the_staff_may_read_it(config_file: Path, published: Path) -> None:
    page = config_file.parent / "content" / "reading.md"
    page.write_text(page.read_text("utf-8") + "\nYou get 0.664 N.\n", "utf-8")
    publish(config_file, edition="staff", now=NOW)


def test_the_plain_builder_refuses_too_and_leaves_the_site(
    tmp_path: Path, files_of: FilesOf
) -> None:
    course = copy_of_the_course(tmp_path / "course")
    postpone(course, 2099)
    site = course / "site"
    site.mkdir()
    (site / ".fallwork").write_text("student\n")
    (site / "index.html").write_text("old")
    page = course / "content" / "reading.md"
    page.write_text(page.read_text("utf-8") + "\nThe weight pulls with 0.609 N.\n", "utf-8")
    before = files_of(site)
    result = subprocess.run(
        [sys.executable, "-m", "mkdocs", "build"],
        cwd=course,
        env={**os.environ, "NO_MKDOCS_2_WARNING": "1"},
        capture_output=True,
        text=True,
        check=False,
    )
    assert result.returncode == 1
    told = [line for line in result.stderr.splitlines() if line.endswith(" is held back")]
    assert '"0.609 N", which is' in told[0]
    assert {line.partition(",")[0] for line in told} == {
        "reading.html",
        "search/search_index.js",
        "search/search_index.json",
    }
    assert "Traceback" not in result.stderr
    assert files_of(site) == before
    assert [path.name for path in course.iterdir() if path.name.startswith(".")] == []
