"""A reader's own numbers on built pages: checked against each other, and put into the working."""

import re
from collections.abc import Iterator

import pytest
from playwright.sync_api import Page, expect

from browser.reading import Reader, Site, Way, script
from browser.test_accessibility import violations

LAB = "2026-autumn/level-track"
RIGHT = ("420 g", "80.0 g", "0.0080", "60.0 cm", "9.80665", "0.664", "0.0330", "1.50")
COVERED = script("covered")


@pytest.fixture
def page(reader: Reader) -> Iterator[Page]:
    """A phone that has read nothing yet."""
    with reader.window(Way(place="server", width=320)) as window:
        yield window.open(f"{LAB}/prelab.html#own-numbers-check")
    assert window.trouble == []


def test_numbers_are_checked_against_each_other(page: Page, site: Site) -> None:
    """Kept for the next visit and for the report, until they are cleared."""
    fields, said = page.locator("#own-numbers-check input"), page.get_by_role("status")
    waiting = page.locator(".fw-untold")
    assert waiting.count() > 10
    expect(waiting.first).to_be_visible()
    for number, typed in enumerate(RIGHT):
        fields.nth(number).fill(typed)
    told = "Equations that hold: {} of 4. {} wait for more numbers."
    expect(said).to_have_text(told.format(4, waiting.count()))
    expect(waiting.first).to_be_hidden()
    assert page.locator(".fw-fails").count() == 0
    fields.nth(7).fill("1.60")
    expect(fields.nth(7)).to_have_accessible_name(re.compile("Yours: acceleration of the cart"))
    expect(said).to_have_text(told.format(0, waiting.count()))
    page.get_by_role("link", name="Show the first").press("Enter")
    assert page.evaluate("location.hash") == "#own-line-0"
    expect(page.locator("#own-line-0.fw-fails")).to_be_in_viewport()
    assert violations(page) == []
    assert page.evaluate("document.documentElement.scrollWidth") == 320
    page.goto(f"{site.address}{LAB}/report.html")
    expect(fields.nth(7)).to_be_visible()
    expect(fields.nth(7)).to_have_value("1.60")
    assert page.locator(".fw-fails").count() == 4
    page.get_by_role("button", name="Clear what I typed").click()
    page.reload()
    expect(fields.nth(7)).to_have_value("")


def test_no_field_is_covered_by_what_stays_in_sight_above(page: Page) -> None:
    fields = page.locator("#own-numbers-check input")
    for number, typed in enumerate(RIGHT):
        fields.nth(number).fill(typed)
    fields.last.focus()
    for _ in range(fields.count() - 1):
        page.keyboard.press("Shift+Tab")
        assert not page.evaluate(COVERED)


def test_what_cant_be_read_is_told_at_its_field(page: Page) -> None:
    field = page.locator("#own-numbers-check input").first
    field.fill("420 N")
    expect(field).to_have_attribute("aria-invalid", "true")
    expect(field).to_have_accessible_description("No number, or a unit other than kg, g, mg.")
    field.fill("420 g")
    expect(field).to_have_attribute("aria-invalid", "false")


def test_the_working_is_done_with_own_numbers_in_its_place(page: Page, site: Site) -> None:
    page.goto(f"{site.address}{LAB}/solution.html#own-givens")
    card = page.locator(".fw-card:has(#acceleration)")
    before = card.inner_text()
    page.get_by_text("Put in your own numbers").click()
    cart, weight = (page.locator("#own-givens input").nth(number) for number in (0, 1))
    cart.fill("512 g")
    changed, said = page.locator(".fw-yours"), page.get_by_role("status")
    assert "0.512" in changed.all_text_contents()
    expect(said).to_contain_text("with your numbers")
    expect(card.locator(".fw-yours-note")).to_contain_text("With your numbers")
    shown = card.locator("math:visible").all_text_contents()
    assert "=0.582kg" in shown  # exact: not rounded once more
    assert "≈0.582kg" not in shown
    assert violations(page) == []
    weight.fill("1 g")
    expect(said).to_contain_text("another kind")
    expect(changed).to_have_count(0)
    page.get_by_role("button", name="Back to the numbers of the lab").click()
    assert card.inner_text() == before
    assert not re.search("[\U000f0000-\U000ffffd]", page.content())
