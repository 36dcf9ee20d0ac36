"""A site is published whole or not at all, and never where it doesn't belong."""

import re
from dataclasses import replace
from datetime import timedelta
from pathlib import Path

import pytest

from democourse import NOW, Pages, bytes_below, exchange
from fallwork.pages import GENERAL
from fallwork.site import plugin, publication
from fallwork.site.publication import publish


@pytest.fixture
def at_home(config_file: Path, pages: Pages, monkeypatch: pytest.MonkeyPatch) -> None:
    """The course knows where its site stands."""
    data = plugin.load_course(config_file.parent / "site-data")
    course = replace(data.course, url="https://example.org/mechanics/")
    pages["dates.md"] = "# Links and dates\n"
    monkeypatch.setattr(plugin, "load_course", lambda root: replace(data, course=course))


def test_the_pages_of_the_course_and_those_written_by_hand_are_built(
    config_file: Path, pages: Pages
) -> None:
    result = publish(config_file, now=NOW)
    assert result.site == config_file.parent / "site"
    assert result.pages == 3 + len(GENERAL)
    for page in ("index.html", "term/lab.html", "room.html", "safety.html"):
        text = (result.site / page).read_text()
        assert " - Falling weights</title>" in text
        assert "Questions? Ask the office, on &lt;floor 3&gt;." in text
    for name in ("404.html", "sitemap.xml"):  # they would have to know where the site stands
        assert not (result.site / name).exists()
    names = sorted(path.name for path in config_file.parent.iterdir())
    assert names == ["content", "mkdocs.yml", "site", "site-data"]
    assert staff_address(publish(config_file, edition="staff", now=NOW).site) == ["room.html"]


def staff_address(site: Path) -> list[str]:
    page = (site / "room.html").read_text("utf-8")
    return re.findall(r'name="fw-address" content="(.*?)"', page)


@pytest.mark.parametrize("nav", ["- room.md", "- safety.md\n  - room.md"])
def test_a_page_of_the_author_takes_the_place_of_a_general_one(
    nav: str, config_file: Path, pages: Pages
) -> None:
    (config_file.parent / "content/safety.md").write_text("# Our rules\n\nAsk first.\n", "utf-8")
    exchange(config_file, "- room.md", nav)
    site = publish(config_file, now=NOW).site
    assert "Ask first." in (site / "safety.html").read_text("utf-8")
    foot = (site / "index.html").read_text("utf-8").partition('<nav aria-label="Site">')[2]
    links = re.findall(r'href="([^"]+)"[^>]*>([^<]+)', foot)
    assert [title for page, title in links if page == "safety.html"] == ["Our rules"]
    assert links[-1] == ("room.html", "The lab room")


def test_a_site_that_knows_its_address_says_so(config_file: Path, at_home: None) -> None:
    site = publish(config_file, now=NOW).site
    assert 'href="/mechanics/assets/fallwork/text.css"' in (site / "404.html").read_text()
    assert staff_address(site) == []
    staff = publish(config_file, edition="staff", now=NOW).site
    assert staff_address(staff) == ["https://example.org/mechanics/room.html"]


def test_what_stops_a_build_reaches_the_caller_as_it_is_and_changes_nothing(
    config_file: Path, published: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def stopped(config: object) -> None:
        raise KeyboardInterrupt

    before = bytes_below(published.parent)
    monkeypatch.setattr(publication, "build", stopped)
    with pytest.raises(KeyboardInterrupt):
        publish(config_file, now=NOW)
    assert bytes_below(published.parent) == before


def test_a_moment_to_come_is_shown_elsewhere(config_file: Path, pages: Pages) -> None:
    elsewhere = config_file.parent / "look"
    soon = NOW + timedelta(seconds=1)
    assert publish(config_file, now=NOW, as_of=soon, to=elsewhere).site == elsewhere
    assert (elsewhere / "index.html").is_file()


def test_a_record_behind_a_link_stays_where_it_is(
    config_file: Path, pages: Pages, tmp_path_factory: pytest.TempPathFactory
) -> None:
    kept = tmp_path_factory.mktemp("kept") / "record"
    record = config_file.parent / "site-data/published"
    record.symlink_to(kept)
    page = config_file.parent / "content/room.md"
    for heading in ("One", "Two"):
        page.write_text(f"{page.read_text('utf-8')}\n## {heading}\n", "utf-8")
        publish(config_file, now=NOW)
    assert record.is_symlink()
    assert "room.html#two" in (kept / "addresses.yaml").read_text("utf-8")
    there = [path.name for path in (*kept.parent.iterdir(), *record.parent.iterdir())]
    assert there == ["record", "published"]


def test_hidden_files_that_servers_ask_for_go_along(content: Path) -> None:
    asked = {".nojekyll", ".htaccess", ".well-known/security.txt"}
    for name in (*asked, ".git/config", ".notes"):
        (content / name).parent.mkdir(exist_ok=True)
        (content / name).write_text("a")
    for _ in range(2):
        site = publish(content.parent / "mkdocs.yml", now=NOW).site
    assert {name for name in bytes_below(site) if name.startswith(".")} == {*asked, ".fallwork"}


def test_the_staff_edition_stands_beside_it_and_says_so_on_every_page(
    config_file: Path, published: Path
) -> None:
    before = bytes_below(published)
    staff = publish(config_file, edition="staff", now=NOW).site
    assert staff == published.with_name("site-staff")
    pages = sorted(staff.rglob("*.html"))
    assert len(pages) == 3 + len(GENERAL)
    for page in pages:
        text = page.read_text("utf-8")
        assert "<title>Staff: " in text
        assert '<meta name="robots" content="noindex, nofollow">' in text
        assert "<strong>Staff edition.</strong>" in text
    assert bytes_below(published) == before
