"""The staff's pages: a step is found by a word or a number, and its link copied."""

import shutil
from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Browser, Page

from browser.reading import DESK, PHONE, Reader, Scheme, Site, Way
from fallwork.site.publication import publish

TESTS = Path(__file__).parents[1]
STEPS, NOTES = "2027-spring/level/steps.html", "2027-spring/level/notes.html"


@pytest.fixture(scope="module")
def staff(chromium: Browser, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Reader]:
    """The staff edition of the tests' own course, while its lab runs."""
    root = tmp_path_factory.mktemp("staff")
    shutil.copytree(TESTS / "pages" / "course", root / "site-data")
    (root / "content").mkdir()
    settings = (TESTS.parent / "mkdocs.yml").read_text("utf-8")
    start, end = settings.index("nav:"), settings.index("validation:")
    (root / "mkdocs.yml").write_text(settings[:start] + settings[end:], "utf-8")
    now = datetime(2027, 2, 3, tzinfo=UTC)
    site = publish(root / "mkdocs.yml", edition="staff", as_of=now, now=now).site
    yield Reader(browser=chromium, site=Site(folder=site, address=""), notes=site)
    shutil.rmtree(root)


def shown(page: Page) -> tuple[list[str], int]:
    """The headings of the entries that are left, and the number of rows."""
    entries = page.locator(".fw-entry:visible h3").all_inner_texts()
    return entries, page.locator("article tbody tr:visible").count()


def test_a_word_of_a_question_leaves_the_steps_that_answer_it(staff: Reader) -> None:
    with staff.window(Way()) as window:
        window.page.goto(window.base + STEPS)
        every, _ = shown(window.page)
        window.page.get_by_label("Find a question, a step or a number").fill("table Earth move")
        left, rows = shown(window.page)
        assert (len(every) > 20, left, rows) == (True, ["Objects and interactions"], 0)
        window.page.get_by_role("status").get_by_text("Found: 1 step and 0 numbers.").wait_for()
        window.page.get_by_label("Find a question").fill("")
        assert shown(window.page)[0] == every
    assert (window.foreign, window.complaints) == ([], [])


def test_the_site_s_own_search_finds_a_question(staff: Reader) -> None:
    typed, heading, step = "curve bends spike", "Where the run begins and ends", "window"
    with staff.window(Way(width=DESK)) as window:
        window.page.goto(window.base + "index.html")
        window.page.get_by_role("textbox", name="Search").press_sequentially(typed)
        found = window.page.get_by_role("dialog", name="Search")
        hit = found.locator(f"a[href*='{STEPS}#{step}']").first
        hit.wait_for(state="attached")
        for more in found.locator("summary").all():  # further places on the same page
            more.click()
        assert heading in hit.inner_text()
        hit.click()
        window.page.wait_for_url(f"**/{STEPS}#{step}")
    assert (window.foreign, window.complaints) == ([], [])


@pytest.mark.parametrize("typed", ["0.883", "0,883"])
def test_a_number_leaves_the_slips_that_give_it(staff: Reader, typed: str) -> None:
    # T = m g = 0.090 kg x 9.80665 m/s2 = 0.883 N by hand
    with staff.window(Way()) as window:
        window.page.goto(window.base + STEPS)
        window.page.get_by_label("Find a question").fill(typed)
        rows = window.page.locator("article tbody tr:visible").all_inner_texts()
        assert any("The tension set equal to gravity on the hanging mass" in row for row in rows)
        assert len(rows) < 4


def test_an_address_is_copied_as_it_stands_and_as_markdown(staff: Reader) -> None:
    with staff.window(Way()) as window:
        page = window.page
        page.context.grant_permissions(["clipboard-read", "clipboard-write"])
        page.goto(window.base + STEPS)
        page.get_by_role("button", name="Copy 2027-spring/level/prelab.html#tension").click()
        page.get_by_role("status").get_by_text("Link copied.").wait_for()
        address = "2027-spring/level/prelab.html#tension"
        assert page.evaluate("navigator.clipboard.readText()") == address
        page.get_by_role("button", name="Copy as Markdown").click()
        page.get_by_role("status").get_by_text("Copied as Markdown.").wait_for()
        assert page.evaluate("navigator.clipboard.readText()") == f"[The tension]({address})"


def copied(page: Page, words: str) -> str:
    page.get_by_role("status").get_by_text(words, exact=True).wait_for()
    text: str = page.evaluate("navigator.clipboard.readText()")
    return text


ROOT = "Put the address of the students’ site before it."
LATER = "Students can’t open it before Monday 15 February 2027, 00:00."


def test_a_heading_s_link_is_that_of_the_students_page(staff: Reader) -> None:
    with staff.window(Way()) as window:
        page = window.page
        page.context.grant_permissions(["clipboard-read", "clipboard-write"])
        page.goto(window.base + "2027-spring/level/prelab.html")
        page.locator("#tension + .fw-link").click()
        address = "2027-spring/level/prelab.html#tension"
        assert copied(page, f"Link copied. {ROOT}") == address
        page.get_by_role("button", name="Copy as Markdown").click()
        assert copied(page, f"Copied as Markdown. {ROOT}") == f"[The tension]({address})"


def test_the_link_of_a_page_that_is_held_back_says_so(staff: Reader) -> None:
    with staff.window(Way()) as window:
        page = window.page
        page.context.grant_permissions(["clipboard-read", "clipboard-write"])
        page.goto(window.base + "2027-spring/level/solution.html")
        notice = "Students can’t open this page before Monday 15 February 2027, 00:00."
        assert page.get_by_text(notice).is_visible()
        page.locator("#tension + .fw-link").click()
        address = "2027-spring/level/solution.html#tension"
        assert copied(page, f"Link copied. {ROOT} {LATER}") == address
        page.goto(window.base + STEPS)
        page.get_by_role("button", name=f"Copy {address}").click()
        assert copied(page, f"Link copied. {ROOT} {LATER}") == address


@pytest.mark.parametrize(("name", "heading"), [(NOTES, "answers"), (STEPS, "tension")])
@pytest.mark.parametrize("scripts", [True, False])
def test_no_heading_of_a_page_that_only_staff_have_offers_a_link(
    staff: Reader, name: str, heading: str, scripts: bool
) -> None:
    with staff.window(Way(scripts=scripts)) as window:
        window.page.goto(window.base + name)
        assert window.page.locator(f"#{heading}").is_visible()
        assert window.page.locator(".fw-link").count() == 0


def test_without_scripts_everything_is_there_and_nothing_is_empty(staff: Reader) -> None:
    with staff.window(Way(scripts=False)) as window:
        window.page.goto(window.base + STEPS)
        entries, rows = shown(window.page)
        assert (len(entries) > 20, rows > 20) == (True, True)
        assert window.page.locator("input[type=search]:visible").count() == 0
        summary = window.page.get_by_text("The same links in Markdown").first
        summary.click()
        text = "[Objects and interactions](2027-spring/level/prelab.html#objects)"
        assert window.page.get_by_text(text).is_visible()


@pytest.mark.parametrize(("name", "scheme"), [(STEPS, "light"), (NOTES, "dark")])
def test_anyone_can_read_the_staff_s_pages_on_a_phone(
    staff: Reader, name: str, scheme: Scheme
) -> None:
    with staff.window(Way(width=PHONE, scheme=scheme)) as window:
        window.page.goto(window.base + name)
        if name == STEPS:  # its entries are alike: some of them
            window.page.get_by_label("Find a question").fill("gravity potential")
            assert 0 < len(shown(window.page)[0]) < 8
        found = [each["id"] for each in Axe().run(window.page).response["violations"]]
        assert found == []
        assert window.page.evaluate("document.documentElement.scrollWidth") == PHONE


@pytest.mark.parametrize("name", [STEPS, NOTES])
def test_the_staff_s_pages_say_whom_they_are_for(staff: Reader, name: str) -> None:
    with staff.window(Way(width=DESK)) as window:
        window.page.goto(window.base + name)
        assert window.page.title().startswith("Staff: ")
        assert window.page.get_by_role("note").get_by_text("Staff edition.").is_visible()
