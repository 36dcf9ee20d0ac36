"""Every page opens from everywhere and asks nobody for anything."""

from typing import get_args

import pytest
from playwright.sync_api import Page

from browser.reading import DESK, PHONE, Place, Reader, Scheme
from fallwork.figures.palette import palette

PLACES = get_args(Place)
# The index of a folder's page is loaded as a script, the search's worker from memory.
OWN = ("data:", "blob:", "about:")


@pytest.mark.parametrize("scripts", [True, False])
@pytest.mark.parametrize("place", PLACES)
def test_pages_open_without_a_complaint_or_a_foreign_request(
    reader: Reader, place: Place, scripts: bool
) -> None:
    for name, page in reader.every_page(place=place, scripts=scripts):
        assert page.locator("h1").first.is_visible(), name
        page.wait_for_load_state("networkidle")
    base = reader.site.base(place)
    assert [url for url in reader.requests if not url.startswith((base, *OWN))] == []
    assert reader.complaints == []


def test_a_foreign_request_and_a_script_error_would_be_noticed(reader: Reader) -> None:
    page = reader.window()
    page.goto(reader.site.base("folder") + "index.html")
    page.evaluate("fetch('http://192.0.2.1/').catch(() => 0); setTimeout(() => nosuch(), 0)")
    page.wait_for_timeout(200)
    assert "http://192.0.2.1/" in reader.requests  # TEST-NET-1, RFC 5737 (from memory)
    assert any("nosuch" in complaint for complaint in reader.complaints)


@pytest.mark.parametrize("scripts", [True, False])
def test_every_link_within_the_site_leads_somewhere(reader: Reader, scripts: bool) -> None:
    places: dict[str, set[str]] = {}
    links: set[tuple[str, str]] = set()
    for name, page in reader.every_page(place="server", scripts=scripts):
        places[reader.site.address + name] = set(_all(page, "[id]", "e => e.id"))
        links |= {(name, href) for href in _all(page, "a[href]", "e => e.href")}
    assert len(links) > 100
    for name, href in sorted(links):
        address, _, anchor = href.partition("#")
        assert address in places, f"{name}: {href}"
        assert not anchor or anchor in places[address], f"{name}: {href}"


@pytest.mark.parametrize("scheme", get_args(Scheme))
@pytest.mark.parametrize("scripts", [True, False])
def test_the_page_follows_the_readers_colour_scheme(
    reader: Reader, scheme: Scheme, scripts: bool
) -> None:
    page = reader.window(scheme=scheme, scripts=scripts)
    page.goto(reader.site.base("folder") + "reading.html")
    colours = page.locator("body").evaluate(
        "e => [getComputedStyle(e).backgroundColor, getComputedStyle(e).color]"
    )
    paper, ink = palette()["paper"], palette()["ink"]
    assert colours == [_rgb(getattr(role, scheme)) for role in (paper, ink)]


@pytest.mark.parametrize("place", PLACES)
def test_the_switch_changes_the_colours_and_is_remembered(reader: Reader, place: Place) -> None:
    page = reader.window()
    page.goto(reader.site.base(place) + "index.html")
    page.get_by_title("Switch to the dark page").click()
    page.goto(reader.site.base(place) + "reading.html")
    assert page.locator("body").get_attribute("data-md-color-scheme") == "slate"
    assert reader.complaints == []


@pytest.mark.parametrize("width", [PHONE, DESK])
@pytest.mark.parametrize("place", PLACES)
def test_the_search_finds_a_step(reader: Reader, place: Place, width: int) -> None:
    page = reader.window(width=width)
    page.goto(reader.site.base(place) + "index.html")
    if width == PHONE:
        page.locator("label.md-header__button[for='__search']").click()
    page.get_by_role("textbox", name="Search").press_sequentially("frayed string")
    page.get_by_role("link", name="Before the first run").first.click()
    page.wait_for_url("**/safety.html*")
    base = reader.site.base(place)
    assert [url for url in reader.requests if not url.startswith((base, *OWN))] == []
    assert reader.complaints == []


def _rgb(code: str) -> str:
    return f"rgb({', '.join(str(int(code[at : at + 2], 16)) for at in (1, 3, 5))})"


def _all(page: Page, selector: str, what: str) -> list[str]:
    found: list[str] = page.locator(selector).evaluate_all(f"all => all.map({what})")
    return found
