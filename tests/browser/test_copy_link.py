"""The link beside a heading copies the whole address of the step, and offers it as Markdown."""

import pytest
from playwright.sync_api import Page

from browser.reading import DESK, PHONE, Place, Reader, Way, Window

STEP = "reading.html#digits"


def opened(window: Window) -> Page:
    window.page.context.grant_permissions(["clipboard-read", "clipboard-write"])
    window.page.goto(window.base + STEP.partition("#")[0])
    return window.page


def copied(page: Page) -> str:
    page.get_by_text("opied").first.wait_for()
    text: str = page.evaluate("navigator.clipboard.readText()")
    return text


@pytest.mark.parametrize(("place", "width"), [("folder", PHONE), ("server", DESK)])
def test_a_click_copies_the_address_and_says_so(reader: Reader, place: Place, width: int) -> None:
    with reader.window(Way(place=place, width=width)) as window:
        page = opened(window)
        page.locator("#digits + .fw-link").click()
        page.get_by_role("status").get_by_text("Link copied.").wait_for()
        assert copied(page) == window.base + STEP
        assert page.url == window.base + STEP
    assert (window.foreign, window.complaints) == ([], [])


def test_a_second_click_copies_it_as_markdown(reader: Reader) -> None:
    with reader.window(Way(place="server")) as window:
        page = opened(window)
        heading = page.locator("#digits").inner_text()
        page.locator("#digits + .fw-link").press("Enter")
        page.get_by_role("button", name="Copy as Markdown").press("Enter")
        page.get_by_role("status").get_by_text("Copied as Markdown.").wait_for()
        assert copied(page) == f"[{heading}]({window.base}{STEP})"


def test_where_nothing_may_be_copied_the_address_is_shown(reader: Reader) -> None:
    with reader.window(Way()) as window:
        page = opened(window)
        page.evaluate(
            "navigator.clipboard.writeText = () => Promise.reject();"
            "document.execCommand = () => false"
        )
        page.locator("#digits + .fw-link").click()
        page.get_by_role("status").get_by_text(f"Copy this: {window.base}{STEP}").wait_for()


def test_the_link_has_a_name_with_and_without_scripts(reader: Reader) -> None:
    for scripts, verb in ((True, "Copy link to: "), (False, "Link to: ")):
        with reader.window(Way(scripts=scripts)) as window:
            window.page.goto(window.base + "reading.html")
            heading = window.page.locator("#digits").inner_text()
            link = window.page.get_by_role("link", name=f"{verb}{heading}")
            assert link.get_attribute("href") == "#digits"
