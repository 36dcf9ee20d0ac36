"""Pages open from a folder and from a server, and ask nobody for anything."""

import pytest
from playwright.sync_api import Page

from browser.reading import DESK, PHONE, Scheme, Way, script
from fallwork.figures import palette

PLACES = [("folder", PHONE), ("server", DESK)]


@pytest.mark.parametrize(
    "way", [Way(width=PHONE), Way(width=PHONE, scripts=False), Way(place="server")], ids=str
)
def test_pages_open_without_a_complaint_or_a_foreign_request(reader, way):
    facts, trouble = reader.tour(way)
    assert len(facts) >= 12
    assert trouble == []


def test_a_foreign_request_and_a_script_error_would_be_noticed(reader):
    with reader.window(Way()) as window:
        page = window.open("index.html")
        page.evaluate("fetch('http://192.0.2.1/').catch(() => 0); setTimeout('nosuch()')")
        page.wait_for_timeout(200)
    assert window.trouble[0] == "http://192.0.2.1/"  # TEST-NET-1, RFC 5737 (from memory)
    assert any("nosuch" in complaint for complaint in window.trouble)


@pytest.mark.parametrize("scripts", [True, False])
@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_the_page_follows_the_readers_colour_scheme_and_a_link_has_a_name(reader, scheme, scripts):
    with reader.window(Way(scheme=scheme, scripts=scripts)) as window:
        page = window.open("reading.html")
        assert colours(page) == expected_colours(scheme)
        verb = "Copy link to: " if scripts else "Link to: "
        link = page.get_by_role("link", name=f"{verb}{page.locator('#digits').inner_text()}")
        assert link.get_attribute("href") == "#digits"


@pytest.mark.parametrize("place", ["folder", "server"])
def test_the_switch_changes_the_colours_and_is_remembered(reader, place):
    with reader.window(Way(place=place)) as window:
        window.open("index.html").get_by_title("Switch to the dark page").click()
        assert colours(window.open("reading.html")) == expected_colours("dark")
    assert window.trouble == []


def colours(page: Page) -> list[str]:
    """Ground and ink of the page, e.g. ``rgb(255, 255, 255)``."""
    found: list[str] = page.locator("body").evaluate(
        "e => [getComputedStyle(e).backgroundColor, getComputedStyle(e).color]"
    )
    return found


def expected_colours(scheme: Scheme) -> list[str]:
    codes = [getattr(palette()[role], scheme) for role in ("paper", "ink")]
    return [f"rgb({', '.join(str(part) for part in bytes.fromhex(code[1:]))})" for code in codes]


# ---- where a link leads to is seen, below what stays at the top of the window

PRELAB = "2026-autumn/level-track/prelab.html"
LED_TO = ("tension", "q-why-not-the-weight", "tension-mistakes", "tension-t8")
LED_TO += ("contents", "symbol-list")
NEAR = script("near")
SEEN = script("seen")


@pytest.mark.parametrize("scripts", [True, False])
@pytest.mark.parametrize("width", [PHONE, DESK])
def test_what_a_link_leads_to_is_open_and_in_view(reader, width, scripts):
    """From the top of the page and from its end, where a heading that stays in view misleads."""
    with reader.window(Way(width=width, scripts=scripts)) as window:
        for part in LED_TO:
            for start in ("", "#symbols"):
                page = window.open(f"{PRELAB}{start}")
                page.wait_for_function(NEAR, arg=start[1:])  # and then somebody follows a link
                page.evaluate("part => { location.hash = part }", part)
                page.wait_for_function(
                    "part => document.querySelector(':target')?.id == part", arg=part
                )
                assert page.locator(f"#{part}").is_visible()
                page.wait_for_function(SEEN, arg=part)


def test_a_step_is_named_at_the_top_while_it_is_read(reader):
    with reader.window(Way(width=PHONE)) as window:
        page = window.open(f"{PRELAB}#tension-mistakes")
        page.wait_for_function(SEEN, arg="tension-mistakes")
        named = [
            place.evaluate("e => getComputedStyle(e, '::after').content")
            for place in page.locator(".fw-place").all()
        ]
    assert [name for name in named if name != "none"][-1] == '" · The tension"'


# ---- the link beside a heading copies the whole address of the step, and offers it as Markdown

STEP = "reading.html#digits"


PARTS = [("tension", "The tension"), ("tension-mistakes", "The tension: Common mistakes")]
PARTS += [("tension-t3", "The tension: Gravity on the hanging mass left out.")]
PARTS += [("q-why-not-the-weight", "Why isn’t the tension equal to gravity on the hanging mass?")]


@pytest.mark.parametrize(("part", "words"), PARTS)
@pytest.mark.parametrize(("place", "width"), PLACES)
def test_a_link_is_copied_and_then_as_markdown(reader, place, width, part, words):
    """Of a step, and of a fold, a mistake and a question, which all have to be open."""
    with reader.window(Way(place=place, width=width)) as window:
        page = window.open(f"{PRELAB}#{part}")
        page.locator(f".fw-link[href='#{part}']").press("Enter")
        address = f"{window.base}{PRELAB}#{part}"
        assert window.copied(f"Link copied.{window.reach}") == page.url == address
        page.get_by_role("button", name="Copy as Markdown").press("Enter")
        assert window.copied(f"Copied as Markdown.{window.reach}") == f"[{words}]({address})"
    assert window.trouble == []


def test_where_nothing_may_be_copied_the_address_is_shown(reader):
    with reader.window(Way()) as window:
        page = window.open("reading.html")
        page.evaluate(
            "navigator.clipboard.writeText = () => Promise.reject();"
            "document.execCommand = () => false"
        )
        page.locator("#digits + .fw-link").click()
        window.status(f"Copy this: {window.base}{STEP}").wait_for()
