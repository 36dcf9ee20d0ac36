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
    page="term/level/solution.html",
    files=(),
    answers=(Answer(quantity="tension", value=0.66427893499, unit="N"),),
)


@pytest.fixture(autouse=True)
def _held(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(plugin, "held_back", lambda data, now: (HELD,))


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
    assert caught.value.findings[0].file == "content/reading.md"
    assert files_of(config_file.parent) == before


def test_the_message_names_the_line_and_what_to_do(config_file: Path, published: Path) -> None:
    page = config_file.parent / "content" / "reading.md"
    page.write_text(page.read_text("utf-8") + "\nYou get 0.664 N.\n", "utf-8")
    with pytest.raises(AuditError) as caught:
        publish(config_file, now=NOW)
    line = page.read_text("utf-8").splitlines().index("You get 0.664 N.") + 1
    *told, remedy = str(caught.value).splitlines()
    assert told == [
        "The site would give away what is held back, so it isn't published:",
        f'{page}:{line}:9: "0.664 N", which is tension; held back: the solution of level in term',
        "Take it out there, or publish again once it is open.",
    ]
    said, _, entry = remedy.partition(": harmless: ")
    assert said.endswith(", below fallwork, in place of the entry harmless that stands there")
    text = config_file.read_text("utf-8")
    before, after = text.index("harmless:"), text.index("markdown_extensions:")
    config_file.write_text(f"{text[:before]}harmless: {entry}\n\n{text[after:]}", "utf-8")
    publish(config_file, now=NOW)


PULLED_IN = {
    "a number": ("The tension is 0.66\nN, or so.\n", "{page}, as it is built: "),
    "a file": (
        "labs:\n  level:\n" + "".join(f"    x{n}: {n} mm\n" for n in range(9)),
        "{page}: a copy",
    ),
}


@pytest.mark.parametrize("leak", PULLED_IN)
def test_what_an_extension_pulls_into_a_page_is_read(
    config_file: Path, published: Path, leak: str
) -> None:
    text, told = PULLED_IN[leak]
    (config_file.parent / "site-data/term.yaml").write_text(text, "utf-8")
    settings = config_file.read_text("utf-8")
    extension = f"  - pymdownx.snippets: {{base_path: {config_file.parent}/site-data}}\n"
    config_file.write_text(settings.replace("  - tables\n", f"  - tables\n{extension}"), "utf-8")
    page = config_file.parent / "content/reading.md"
    page.write_text(f'{page.read_text("utf-8")}\n--8<-- "term.yaml"\n', "utf-8")
    with pytest.raises(AuditError) as caught:
        publish(config_file, now=NOW)
    assert str(caught.value.findings[0]).startswith(told.format(page=page))


ELSEWHERE = {
    "a file beside the pages": ("content/notes.csv", "tension / N\n0.664\n"),
    "a title in the settings": ("mkdocs.yml", "reading.md"),
    "a file of the author's own theme": ("theme/partials/note.html", "<p>0.664 N</p>"),
}


@pytest.mark.parametrize("leak", ELSEWHERE)
def test_other_words_of_the_author_are_read(config_file: Path, published: Path, leak: str) -> None:
    name, text = ELSEWHERE[leak]
    path = config_file.parent / name
    path.parent.mkdir(parents=True, exist_ok=True)
    settings = config_file.read_text("utf-8")
    if name == "mkdocs.yml":
        text = settings.replace("- reading.md", "- It pulls with 0.664 N: reading.md")
    elif name.startswith("theme"):
        config_file.write_text(settings.replace("theme:", "theme:\n  custom_dir: theme"), "utf-8")
    path.write_text(text, "utf-8")
    with pytest.raises(AuditError) as caught:
        publish(config_file, now=NOW)
    assert [each.file for each in caught.value.findings] == [name]


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
    told = [line for line in result.stderr.splitlines() if "; held back: the " in line]
    assert '"0.609 N", which is' in told[0]
    assert {line.partition(":")[0] for line in told} == {"content/reading.md"}
    assert "Traceback" not in result.stderr
    assert files_of(site) == before
    assert [path.name for path in course.iterdir() if path.name.startswith(".")] == []
