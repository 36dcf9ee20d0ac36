"""Pages printed to PDF: the same bytes each time, with links that lead to the public site."""

import re
from pathlib import Path

import pytest

from browser.chromium import find
from fallwork.site.errors import PublicationError
from fallwork.site.handouts import NAMED_BY, print_all

PAGE = """<!doctype html><html lang="en"><title>Bench sheet</title><body>
<p><a href="../level/index.html">the lab</a> <a href="#here">below</a>
<a href="https://elsewhere.example.org/">elsewhere</a></p>
<table><tr><th>Trial</th><th>Speed</th></tr><tr><th>1</th><td></td></tr></table>
<h2 id="here">Here</h2></body></html>"""
LINKS = re.compile(rb"/URI \(([^)]*)\)")


@pytest.fixture(autouse=True)
def named(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv(NAMED_BY, str(find()))


def printed(folder: Path, address: str) -> bytes:
    folder.mkdir()
    (folder / "bench.html").write_text(PAGE, "utf-8")
    print_all(folder, ["bench.html"], address)
    assert sorted(path.name for path in folder.iterdir()) == ["bench.html", "bench.pdf"]
    return (folder / "bench.pdf").read_bytes()


def test_the_same_page_gives_the_same_bytes_wherever_it_is_printed(tmp_path: Path) -> None:
    first, second = (printed(tmp_path / name, "") for name in ("one", "two"))
    assert first[:5] == b"%PDF-"
    assert first == second
    assert LINKS.findall(first) == [b"https://elsewhere.example.org/"]
    assert b"file:" not in first


def test_links_lead_to_the_public_site(tmp_path: Path) -> None:
    found = LINKS.findall(printed(tmp_path / "known", "https://lab.example.org/mechanics/"))
    assert found == [b"https://lab.example.org/level/index.html", b"https://elsewhere.example.org/"]


def test_without_a_browser_nothing_is_printed(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv(NAMED_BY, "/nowhere/chromium")
    with pytest.raises(PublicationError, match=NAMED_BY):
        print_all(Path(), ["bench.html"], "")
