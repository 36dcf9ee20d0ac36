"""Pages open from a folder and from a server, and ask nobody for anything."""

import pytest
from playwright.sync_api import Page

from browser.reading import DESK, PHONE, Place, Reader, Scheme, Way
from fallwork.figures.palette import palette

WAYS = [Way(width=PHONE), Way(width=PHONE, scripts=False), Way(place="server")]


@pytest.mark.parametrize("way", WAYS, ids=str)
def test_pages_open_without_a_complaint_or_a_foreign_request(reader: Reader, way: Way) -> None:
    tour = reader.tour(way)
    assert len(tour.visits) >= 12
    assert tour.foreign == ()
    assert tour.complaints == ()


def test_a_foreign_request_and_a_script_error_would_be_noticed(reader: Reader) -> None:
    with reader.window(Way()) as window:
        window.page.goto(window.base + "index.html")
        window.page.evaluate("fetch('http://192.0.2.1/').catch(() => 0); setTimeout('nosuch()')")
        window.page.wait_for_timeout(200)
    assert window.foreign == ["http://192.0.2.1/"]  # TEST-NET-1, RFC 5737 (from memory)
    assert any("nosuch" in complaint for complaint in window.complaints)


@pytest.mark.parametrize("scripts", [True, False])
@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_the_page_follows_the_readers_colour_scheme(
    reader: Reader, scheme: Scheme, scripts: bool
) -> None:
    with reader.window(Way(scheme=scheme, scripts=scripts)) as window:
        window.page.goto(window.base + "reading.html")
        assert colours(window.page) == expected_colours(scheme)


@pytest.mark.parametrize("place", ["folder", "server"])
def test_the_switch_changes_the_colours_and_is_remembered(reader: Reader, place: Place) -> None:
    with reader.window(Way(place=place)) as window:
        window.page.goto(window.base + "index.html")
        window.page.get_by_title("Switch to the dark page").click()
        window.page.goto(window.base + "reading.html")
        assert colours(window.page) == expected_colours("dark")
    assert (window.foreign, window.complaints) == ([], [])


@pytest.mark.parametrize(("place", "width"), [("folder", PHONE), ("server", DESK)])
def test_the_search_finds_a_step(reader: Reader, place: Place, width: int) -> None:
    with reader.window(Way(place=place, width=width)) as window:
        window.page.goto(window.base + "index.html")
        if width == PHONE:
            window.page.locator("label.md-header__button[for='__search']").click()
        window.page.get_by_role("textbox", name="Search").press_sequentially("frayed")
        found = window.page.get_by_role("dialog", name="Search")
        found.get_by_role("heading", name="Before the first run").click()
        window.page.wait_for_url("**/safety.html#before")
    assert (window.foreign, window.complaints) == ([], [])


def colours(page: Page) -> list[str]:
    """Ground and ink of the page, e.g. ``rgb(255, 255, 255)``."""
    found: list[str] = page.locator("body").evaluate(
        "e => [getComputedStyle(e).backgroundColor, getComputedStyle(e).color]"
    )
    return found


def expected_colours(scheme: Scheme) -> list[str]:
    codes = [getattr(palette()[role], scheme) for role in ("paper", "ink")]
    return [f"rgb({', '.join(str(part) for part in bytes.fromhex(code[1:]))})" for code in codes]
