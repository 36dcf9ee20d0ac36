"""Whatever lies in the folder of the hand-written pages, a publication ends, with a message or with
a site; never in a traceback, nor waiting for ever.
"""

import os
from pathlib import Path

import pytest

from democourse import NOW
from fallwork.site import addresses, folder
from fallwork.site.errors import PublicationError
from fallwork.site.publication import publish

LATIN = "# Über\n".encode("latin-1")
BYTE = "the byte 0xDC is not UTF-8 text; save the file as UTF-8"


def refused(content: Path) -> str:
    with pytest.raises(PublicationError) as caught:
        publish(content.parent / "mkdocs.yml", now=NOW)
    return str(caught.value)


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
    assert refused(content).startswith(f"{content}/{shown}: {why}")


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
        assert refused(content).startswith("Error reading page 'x.md': ")
        return
    assert (publish(content.parent / "mkdocs.yml", now=NOW).site / "x.html").is_file()


def test_settings_nested_too_deep_are_refused(content: Path) -> None:
    settings = content.parent / "mkdocs.yml"
    settings.write_text(f"{settings.read_text('utf-8')}\nextra_css: {'[' * 5000}", "utf-8")
    assert refused(content).startswith(f"{settings}: thousands of brackets inside one another; ")


def test_a_record_that_a_killed_process_had_moved_aside_is_put_back(content: Path) -> None:
    """Between two renamings, where the system can't swap; here by a process of our own number."""
    config_file, record = content.parent / "mkdocs.yml", content.parent / "site-data/published"
    publish(config_file, now=NOW)
    before = (record / addresses.RECORD).read_bytes()
    record.rename(record.with_name(f".published.building-{os.getpid()}-old"))
    publish(config_file, now=NOW)
    assert (record / addresses.RECORD).read_bytes() == before
    assert [path.name for path in record.parent.iterdir()] == ["published"]


def test_a_mark_that_is_spoiled_is_no_traceback(tmp_path: Path) -> None:
    (tmp_path / folder.MARK).write_bytes(b"\xff\xfe")
    with pytest.raises(PublicationError):
        folder.require_ours(tmp_path, "student")
