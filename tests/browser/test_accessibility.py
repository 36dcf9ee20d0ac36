"""Anyone can read it: on a phone, in the dark, with the keyboard, with a screen reader."""

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Page

from browser.reading import DESK, PHONE, Reader, Scheme, Site, Way

ON_A_PHONE = Way(width=PHONE)
EVERY_PAGE = Way(width=PHONE, scripts=False)
# The element that has the focus and isn't in view, by the start of its HTML; nothing if it is.
LOST_FOCUS = """() => {
  const { left, right, top, bottom } = document.activeElement.getBoundingClientRect()
  const inside = left >= -1 && right <= innerWidth + 1 && top >= 0 && bottom <= innerHeight
  return inside ? "" : document.activeElement.outerHTML.slice(0, 200)
}"""


def violations(page: Page) -> list[str]:
    """What axe-core finds, as ``rule: element``."""
    return [
        f"{violation['id']}: {node['html'][:200]}"
        for violation in Axe().run(page).response["violations"]
        for node in violation["nodes"]
    ]


def one_of_each_kind(site: Site) -> list[str]:
    """A page from each template, the fullest one: rules look at elements, not at numbers."""
    top = [name for name in site.pages if name.count("/") < 2]
    labs = [name for name in site.pages if name.count("/") == 2]
    by_size = sorted(labs, key=lambda name: (site.folder / name).stat().st_size)
    fullest = {name.rpartition("/")[2]: name for name in by_size}
    others = ("prelab.html", "example.html", "report.html", "data.html") if site.whole else ()
    named = [fullest[name] for name in ("index.html", *others, "solution.html")]
    return [*top, "step/level-track/tension.html", *named]


@pytest.mark.parametrize(("width", "scheme"), [(PHONE, "light"), (DESK, "dark")])
def test_axe_core_finds_nothing(reader: Reader, width: int, scheme: Scheme) -> None:
    names = one_of_each_kind(reader.site)
    if scheme == "dark" and not reader.site.whole:  # only the colours are others
        solutions = [name for name in reader.site.pages if name.endswith("/solution.html")]
        shortest = min(solutions, key=lambda name: (reader.site.folder / name).stat().st_size)
        names = ["index.html", shortest]
    with reader.window(Way(width=width, scheme=scheme)) as window:
        for name in names:
            window.page.goto(window.base + name)
            assert violations(window.page) == [], name


def test_axe_core_would_find_something(reader: Reader) -> None:
    with reader.window(Way()) as window:
        window.page.goto(window.base + "index.html")
        window.page.evaluate("document.querySelector('h1').style.color = '#ddd'")
        assert [found.partition(":")[0] for found in violations(window.page)] == ["color-contrast"]


@pytest.mark.parametrize("scripts", [True, False])
def test_no_page_scrolls_sideways_on_a_phone(reader: Reader, scripts: bool) -> None:
    visits = reader.tour(Way(width=PHONE, scripts=scripts)).visits
    assert {visit.name: visit.facts["width"] for visit in visits} == {
        visit.name: PHONE for visit in visits
    }


def test_every_formula_fits_a_phone(reader: Reader) -> None:
    for visit in reader.tour(EVERY_PAGE).visits:
        assert visit.facts["wide_formulas"] == [], visit.name


def test_formulas_are_mathml_in_the_font_that_comes_along(reader: Reader) -> None:
    visits = reader.tour(EVERY_PAGE).visits
    assert sum(len(visit.facts["formulas"]) for visit in visits) > 500
    for visit in visits:
        heights = visit.facts["formulas"]
        assert not heights or visit.facts["fonts"] == ["STIX Two Math"], visit.name
        assert [code for code in ("\\", "$", "_{", "^{") if code in visit.facts["words"]] == []


def test_each_drawing_has_a_text_alternative_of_its_own(reader: Reader) -> None:
    visits = reader.tour(EVERY_PAGE).visits
    assert sum(len(visit.facts["drawings"]) for visit in visits) > 20
    for visit in visits:
        texts = visit.facts["drawings"]
        assert visit.facts["nameless_drawings"] == [], visit.name
        assert [text for text in texts if len(text) < 60] == [], visit.name
        assert len(set(texts)) == len(texts), visit.name


def test_every_table_has_a_name_and_heads(reader: Reader) -> None:
    tables = [
        (visit.name, table)
        for visit in reader.tour(EVERY_PAGE).visits
        for table in visit.facts["tables"]
    ]
    assert len(tables) > 20
    for name, table in tables:
        assert table["caption"], name
        assert table["columns"] >= 2, (name, table)
        assert table["rows"] >= 1, (name, table)


@pytest.mark.parametrize("width", [PHONE, DESK])
def test_the_keyboard_never_lands_out_of_sight(reader: Reader, width: int) -> None:
    with reader.window(Way(width=width)) as window:
        window.page.goto(window.base + "reading.html")
        for _ in range(12):
            window.page.keyboard.press("Tab")
            window.page.wait_for_timeout(500)  # the theme lets its search box slide in
            assert window.page.evaluate(LOST_FOCUS) == ""


def test_the_first_stop_of_the_keyboard_is_the_way_past_the_header(reader: Reader) -> None:
    with reader.window(ON_A_PHONE) as window:
        window.page.goto(window.base + "reading.html")
        window.page.keyboard.press("Tab")
        assert window.page.locator(":focus").inner_text().strip() == "Skip to content"
