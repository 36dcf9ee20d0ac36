"""What is wrong with pages, files and settings of the author's own, or gives an answer away, is
told with its place and a remedy, and changes nothing. The cases stand in ``refused.yaml``.
"""

import os
import re
from pathlib import Path
from typing import Any

import pytest
import yaml

from democourse import NOW, Pages, exchange, refusal
from fallwork.site import addresses
from fallwork.site.errors import PublicationError
from fallwork.site.publication import publish
from fallwork.site.reading import in_markup, require_nothing_fetched

CASES: dict[str, dict[str, Any]] = yaml.safe_load(
    Path(__file__).with_name("refused.yaml").read_text("utf-8")
)
HOME = "---\ntitle: Home\nnav: true\n---\n\n# Home\n\n{}\n"


def place(root: Path, file: str, text: str) -> str:
    content = (root / file).read_text("utf-8")
    before = content[: content.index(text)]
    return f"{root / file}:{before.count(chr(10)) + 1}:{len(before) - before.rfind(chr(10))}"


@pytest.mark.parametrize("name", CASES)
@pytest.mark.usefixtures("held")
def test_it_is_told_and_changes_nothing(
    name: str, config_file: Path, pages: Pages, published: Path
) -> None:
    case, root = CASES[name], config_file.parent
    pages |= {page: HOME.format(text) for page, text in case.get("course", {}).items()}
    for file, text in case.get("written", {}).items():
        (root / file).parent.mkdir(parents=True, exist_ok=True)
        (root / file).write_text(text, "utf-8")
    for file, (old, new) in case.get("exchanged", {}).items():
        exchange(root / file, old, new.replace("{folder}", str(root)))
    for file, text in case.get("added", {}).items():
        (root / file).write_text(f"{(root / file).read_text('utf-8')}{text}", "utf-8")
    for file in case.get("removed", ()):
        (root / file).unlink()
    asked = {"to": root / case["to"]} if "to" in case else {}
    told = refusal(config_file, **asked, **case.get("asked", {}))
    expected = [
        re.sub(r"<(\S+\.\w+) ([^>]+)>", lambda found: place(root, *found.groups()), each).replace(
            "{folder}", str(root)
        )
        for each in case.get("tells") or [case["says"]]
    ]
    if "says" in case:
        assert {*told.splitlines()} == {*expected[0].splitlines()}
    else:
        assert [each for each in expected if each not in told] == []


@pytest.mark.usefixtures("held")
def test_an_answer_that_is_none_is_declared_and_one_for_staff_is_none(
    config_file: Path, published: Path
) -> None:
    page = config_file.parent / "content" / "room.md"
    page.write_text(page.read_text("utf-8") + "\nYou get 0.664 N.\n", "utf-8")
    publish(config_file, edition="staff", now=NOW)
    said, _, entry = refusal(config_file).splitlines()[-1].partition(": harmless: ")
    assert said.endswith(", below fallwork, in place of the entry harmless that stands there")
    text = config_file.read_text("utf-8")
    before, after = text.index("harmless:"), text.index("markdown_extensions:")
    config_file.write_text(f"{text[:before]}harmless: {entry}\n\n{text[after:]}", "utf-8")
    publish(config_file, now=NOW)


def test_what_is_fetched_may_be_allowed(config_file: Path, published: Path) -> None:
    page = config_file.parent / "content/room.md"
    page.write_text(f"{page.read_text('utf-8')}\n![A cart](https://a.example.org/a)\n", "utf-8")
    exchange(config_file, "harmless:", "elsewhere: [https://a.example]\n      harmless:")
    publish(config_file, now=NOW)


def test_a_draft_may_say_what_is_held_back(content: Path, held: None) -> None:
    draft, settings = content / "later.md", content.parent / "mkdocs.yml"
    draft.write_text("# Later\n\nThe tension is 0.664 N.\n", "utf-8")
    assert "0.664 N" in refusal(settings)
    settings.write_text(f"draft_docs: later.md\n{settings.read_text('utf-8')}", "utf-8")
    assert not (publish(settings, now=NOW).site / "later.html").exists()


# ---- whatever lies in the folder, a publication ends, with a message or with a site

LATIN = "# Über\n".encode("latin-1")
BYTE = "the byte 0xDC is not UTF-8 text; save the file as UTF-8"


@pytest.mark.parametrize(
    ("name", "put", "why"),
    [
        *((f"x{kind}", LATIN, BYTE) for kind in (".md", ".html", ".svg", ".css", ".js")),
        *(
            (name, None, "this is not a regular file; take it out of the folder")
            for name in ("x.md", "x.svg", "pipe.txt")
        ),
        (os.fsdecode(b"\xfcbung.pdf"), b"", "its name holds the end of a line or isn't in UTF-8; "),
        ("two\nlines.txt", b"", "its name holds the end of a line or isn't in UTF-8; "),
    ],
)
def test_what_cannot_be_read_or_copied_is_named(
    content: Path, name: str, put: bytes | None, why: str
) -> None:
    if put is None:
        os.mkfifo(content / name)
    else:
        (content / name).write_bytes(put)
    shown = os.fsencode(name).decode(errors="replace")
    assert refusal(content.parent / "mkdocs.yml").startswith(f"{content}/{shown}: {why}")


def test_odd_files_go_along(content: Path) -> None:
    """A page for wrong addresses is given to nobody; names may hold other ends of a line."""
    (content / "sub").mkdir()
    for page in ("404.md", "sub/404.md"):
        (content / page).write_text("# Gone\n\n## Here\n", "utf-8")
    for name in ("a\u2028b.txt", "a\x85b.txt", "a\rb.txt"):
        (content / name).write_bytes(b"")
    for _ in range(2):  # the second knows the files of the first again
        site = publish(content.parent / "mkdocs.yml", now=NOW).site
    record = addresses.record_path(content.parent / "site-data").read_text("utf-8")
    assert "sub/404.html#here" in record
    assert "- 404.html" not in record
    assert (site / "a\u2028b.txt").is_file()


@pytest.mark.parametrize("page", ["x.html", "x.md"])
@pytest.mark.parametrize("text", ["<![x y>", "<div><![", "<svg><![if x>a</svg>"])
def test_what_is_no_markup_stops_nothing(content: Path, page: str, text: str) -> None:
    """The docs builder can't read some of it in Markdown."""
    (content / page).write_text(f"# Mine\n\n{text}\n", "utf-8")
    if page == "x.md" and "if" not in text:
        assert refusal(content.parent / "mkdocs.yml").startswith("Error reading page 'x.md': ")
        return
    assert (publish(content.parent / "mkdocs.yml", now=NOW).site / "x.html").is_file()


def test_settings_nested_too_deep_are_refused(content: Path) -> None:
    settings = content.parent / "mkdocs.yml"
    settings.write_text(f"{settings.read_text('utf-8')}\nextra_css: {'[' * 5000}", "utf-8")
    assert refusal(content.parent / "mkdocs.yml").startswith(
        f"{settings}: thousands of brackets inside one another; "
    )


# ---- what a page would fetch from another host

A = "https://pictures.example.org/a"
LEAKS = yaml.safe_load(Path(__file__).with_name("leaks.yaml").read_text("utf-8"))


@pytest.mark.parametrize(("kind", "found"), [("fetched", True), ("followed", False)])
def test_what_is_fetched_is_found_and_not_what_is_only_followed_or_said(
    kind: str, found: bool
) -> None:
    for text in LEAKS[kind]:
        assert bool([*in_markup(text)]) == found, text


@pytest.mark.parametrize(
    ("name", "text"),
    [
        ("a.css", f"@import url({A});"),
        ("a.svg", f"<svg><image href='{A}'/></svg>"),
        ("a.html", f"<img src={A}>"),
        ("a.js", f"importScripts('{A}')"),
    ],
)
def test_files_beside_the_pages_are_looked_at(tmp_path: Path, name: str, text: str) -> None:
    (tmp_path / name).write_text(text)
    with pytest.raises(PublicationError, match="would be fetched from elsewhere"):
        require_nothing_fetched((), tmp_path / name)
    require_nothing_fetched([A], tmp_path / name)
