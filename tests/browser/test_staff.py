"""The staff's pages: a step is found by a word or a number, and its link copied."""

from itertools import product

import pytest
from playwright.sync_api import Browser, Page

from browser.reading import DESK, PHONE, Reader, Site, Way
from browser.test_accessibility import EVERY, SHARE, violations
from democourse import own_course
from fallwork.site.publication import publish
from pages.history import RUNNING

LAB = "2027-spring/level"
STEPS, NOTES, MARKING = (f"{LAB}/{name}.html" for name in ("steps", "notes", "marking"))
FIND = "Find a question, a step or a number"
ROOT = "Put the address of the students’ site before it."
LATER = "Students can’t open it before Monday 15 February 2027, 00:00."


@pytest.fixture(scope="module")
def staff(chromium: Browser, tmp_path_factory: pytest.TempPathFactory) -> Reader:
    """The staff edition of the tests' own course, while its lab runs."""
    settings = own_course(tmp_path_factory.mktemp("staff"), written=False)
    site = publish(settings, edition="staff", as_of=RUNNING, now=RUNNING).site
    return Reader(browser=chromium, site=Site(folder=site), notes=site)


def shown(page: Page) -> tuple[list[str], int]:
    """The headings of the entries that are left, and the number of rows."""
    entries = page.locator(".fw-entry:visible h3").all_inner_texts()
    return entries, page.locator("article tbody tr:visible").count()


def test_a_word_of_a_question_leaves_the_steps_that_answer_it(staff: Reader) -> None:
    with staff.window(Way()) as window:
        page = window.open(STEPS)
        every, _ = shown(page)
        page.get_by_label(FIND).fill("table Earth move")
        left, rows = shown(page)
        assert (len(every) > 20, left, rows) == (True, ["Objects and interactions"], 0)
        window.status("Found: 1 step and 0 numbers.").wait_for()
        page.get_by_label(FIND).fill("")
        assert shown(page)[0] == every
    assert window.trouble == []


def test_the_site_s_own_search_finds_a_question(staff: Reader) -> None:
    typed, heading, step = "curve bends spike", "Where the run begins and ends", "window"
    with staff.window(Way(width=DESK)) as window:
        page = window.open("index.html")
        page.get_by_role("textbox", name="Search").press_sequentially(typed)
        found = page.get_by_role("dialog", name="Search")
        hit = found.locator(f"a[href*='{STEPS}#{step}']").first
        hit.wait_for(state="attached")
        for more in found.locator("summary").all():  # further places on the same page
            more.click()
        assert heading in hit.inner_text()
        hit.click()
        page.wait_for_url(f"**/{STEPS}#{step}")
    assert window.trouble == []


@pytest.mark.parametrize("typed", ["0.883", "0,883"])
def test_a_number_leaves_the_slips_that_give_it(staff: Reader, typed: str) -> None:
    # T = m g = 0.090 kg x 9.80665 m/s2 = 0.883 N by hand
    with staff.window(Way()) as window:
        page = window.open(STEPS)
        page.get_by_label(FIND).fill(typed)
        rows = page.locator("article tbody tr:visible").all_inner_texts()
        assert any("The tension set equal to gravity on the hanging mass" in row for row in rows)
        assert len(rows) < 4


@pytest.mark.parametrize("listed", [True, False])
@pytest.mark.parametrize(("kind", "later"), [("prelab", ""), ("solution", f" {LATER}")])
def test_the_students_address_is_copied_as_it_stands_and_as_markdown(
    staff: Reader, kind: str, later: str, listed: bool
) -> None:
    """By an entry of the list or beside a heading; for a page that is held back it says so."""
    address = f"{LAB}/{kind}.html#tension"
    with staff.window(Way()) as window:
        page = window.open(STEPS if listed else f"{LAB}/{kind}.html")
        if listed:
            page.get_by_role("button", name=f"Copy {address}").click()
        else:
            notice = LATER.replace("it", "this page", 1)
            assert page.get_by_text(notice).is_visible() == bool(later)
            page.locator("#tension + .fw-link").click()
        assert window.copied(f"Link copied. {ROOT}{later}") == address
        page.get_by_role("button", name="Copy as Markdown").click()
        assert window.copied(f"Copied as Markdown. {ROOT}{later}") == f"[The tension]({address})"


@pytest.mark.parametrize(("name", "heading"), [(NOTES, "review"), (STEPS, "tension")])
@pytest.mark.parametrize("scripts", [True, False])
def test_no_heading_of_a_page_that_only_staff_have_offers_a_link(
    staff: Reader, name: str, heading: str, scripts: bool
) -> None:
    with staff.window(Way(scripts=scripts)) as window:
        page = window.open(name)
        assert page.locator(f"#{heading}").is_visible()
        assert page.locator(".fw-link").count() == 0


def test_without_scripts_everything_is_there_and_nothing_is_empty(staff: Reader) -> None:
    with staff.window(Way(scripts=False)) as window:
        page = window.open(STEPS)
        entries, rows = shown(page)
        assert min(len(entries), rows) > 20
        assert page.locator("input[type=search]:visible").count() == 0
        for address in (f"{LAB}/prelab.html#objects", f"{LAB}/prelab.html#q-does-earth-move"):
            assert page.get_by_text(address, exact=True).is_visible()


def test_anyone_can_read_the_staff_s_pages(staff: Reader, thorough: bool) -> None:
    """Of the steps, whose entries are alike, some."""
    few = [(STEPS, SHARE[0]), (MARKING, SHARE[0]), (NOTES, ("dark", PHONE, True))]
    pages = [name for name in staff.site.pages if not name.startswith("step/")]
    for name, (scheme, width, unfolded) in product(pages, EVERY) if thorough else few:
        with staff.window(Way(width=width, scheme=scheme)) as window:
            page = window.open(name)
            if name == STEPS:
                page.get_by_label(FIND).fill("gravity potential")
                assert 0 < len(shown(page)[0]) < 8
            assert violations(page, unfolded=unfolded) == [], (name, scheme, width, unfolded)
            assert page.evaluate("document.documentElement.scrollWidth") == width, name
