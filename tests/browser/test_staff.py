"""The staff's pages: links to send are copied, and anyone can read them."""

from itertools import product

import pytest
from playwright.sync_api import Browser

from browser.reading import PHONE, Reader, Site, Way
from browser.test_accessibility import EVERY, SHARE, violations
from democourse import own_course
from fallwork.site.publication import publish
from pages.history import RUNNING

LAB = "2027-spring/level"
STEPS, NOTES, MARKING = (f"{LAB}/{name}.html" for name in ("steps", "notes", "marking"))
ROOT = "Put the address of the students’ site before it."
LATER = "Students can’t open it before Monday 15 February 2027, 00:00."


@pytest.fixture(scope="module")
def staff(chromium: Browser, tmp_path_factory: pytest.TempPathFactory) -> Reader:
    """The staff edition of the tests' own course, while its lab runs."""
    settings = own_course(tmp_path_factory.mktemp("staff"), written=False)
    with (settings.parent / "site-data/course.yaml").open("a", encoding="utf-8") as course:
        course.write("guide: staff\n")
    site = publish(settings, edition="staff", as_of=RUNNING, now=RUNNING).site
    return Reader(browser=chromium, site=Site(folder=site), notes=site)


@pytest.mark.parametrize("listed", [True, False])
@pytest.mark.parametrize(("kind", "later"), [("prelab", ""), ("solution", f" {LATER}")])
def test_the_students_address_is_copied_as_it_stands_and_as_markdown(staff, kind, later, listed):
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
def test_no_heading_of_a_page_that_only_staff_have_offers_a_link(staff, name, heading, scripts):
    with staff.window(Way(scripts=scripts)) as window:
        page = window.open(name)
        assert page.locator(f"#{heading}").is_visible()
        assert page.locator(".fw-link").count() == 0


def test_without_scripts_everything_is_there(staff):
    with staff.window(Way(scripts=False)) as window:
        page = window.open(STEPS)
        entries, rows = (page.locator(each).count() for each in (".fw-entry h3", "tbody tr"))
        assert min(entries, rows) > 20
        for address in (f"{LAB}/prelab.html#objects", f"{LAB}/prelab.html#q-does-earth-move"):
            assert page.get_by_text(address, exact=True).is_visible()


def test_anyone_can_read_the_staff_s_pages(staff, thorough):
    """Of the steps, whose entries are alike, some."""
    few = [(STEPS, SHARE[0]), (MARKING, SHARE[0]), (NOTES, ("dark", PHONE, True))]
    few += [(f"guide/{name}.html", ("dark", PHONE, True)) for name in ("trials", "files")]
    pages = [name for name in staff.site.pages if not name.startswith("step/")]
    for name, (scheme, width, unfolded) in product(pages, EVERY) if thorough else few:
        with staff.window(Way(width=width, scheme=scheme)) as window:
            page = window.open(name)
            assert violations(page, unfolded=unfolded) == [], (name, scheme, width, unfolded)
            assert page.evaluate("document.documentElement.scrollWidth") == width, name
