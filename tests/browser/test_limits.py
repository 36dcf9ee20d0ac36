"""How long pages are, on a screen with all folds closed and on paper; how folds open.

The limits are the project's own: a page is read on a phone the evening before, or in the lab on a
few sheets. Every lab of one term is looked at.
"""

import re
from typing import Any

import pytest
from playwright.sync_api import Page

from browser.reading import PHONE, Reader, Way

WORDS = {"prelab": 2000, "example": 1200, "report": 1500, "data": 1000, "solution": 1500}
WITH_TRIALS = 2500  # words of a solution that compares
SHEETS = {"prelab": 8, "solution": 14, "bench": 2}
NODES = 8000
TERM = "2026-autumn/"
_SHEET = re.compile(rb"/Type\s*/Page\b")  # ISO 32000-1, 7.7.3.3

# Words that are to be seen (a formula is one), elements, and how many folds are open.
_MEASURED = """() => {
  const words = node => {
    if (node.nodeType === 3) return (node.nodeValue.match(/[\\p{L}\\p{N}]\\S*/gu) ?? []).length
    if (node.nodeType !== 1 || node.matches("script, style, template, svg")) return 0
    if (!node.checkVisibility({checkVisibilityCSS: true})) return 0
    if (node.matches("math, .fw-formula")) return 1
    return [...node.childNodes].reduce((sum, each) => sum + words(each), 0)
  }
  return {words: words(document.querySelector("article")),
          nodes: document.querySelectorAll("*").length,
          open: document.querySelectorAll("article details.fw-fold[open]").length}
}"""
# What may be cut though it would fit on a sheet, and headings that may stand at its foot.
_CUT = """() => {
  const wrong = (selector, name, value) => [...document.querySelectorAll(selector)]
    .filter(e => e.checkVisibility() && getComputedStyle(e)[name] !== value)
    .map(e => `${name}: ${e.outerHTML.slice(0, 100)}`)
  return [
    ...wrong("article .fw-card, article figure.fw-figure, article tr, article div.fw-formula",
      "breakInside", "avoid"),
    ...wrong("article :is(h1, h2, h3), article .fw-card > header", "breakAfter", "avoid"),
  ]
}"""


def of_term(reader: Reader, *names: str) -> list[str]:
    """Its pages of these names, every lab's."""
    ends = tuple(f"/{name}.html" for name in names)
    return [page for page in reader.site.pages if page.startswith(TERM) and page.endswith(ends)]


def limit(page: str, pages: tuple[str, ...]) -> int:
    folder, _, name = page.removesuffix(".html").rpartition("/")
    return WITH_TRIALS if name == "solution" and f"{folder}/data.html" in pages else WORDS[name]


def test_pages_are_short_with_all_folds_closed(reader: Reader) -> None:
    pages = of_term(reader, *WORDS)
    assert {page.rpartition("/")[2] for page in pages} == {f"{name}.html" for name in WORDS}
    with reader.window(Way(width=PHONE, scripts=False)) as window:
        seen: dict[str, Any] = {page: window.open(page).evaluate(_MEASURED) for page in pages}
    too_long = {
        page: (found["words"], most)
        for page, found in seen.items()
        if not 150 < found["words"] <= (most := limit(page, reader.site.pages))
    }
    assert too_long == {}
    assert [page for page, found in seen.items() if found["open"]] == []
    assert {page: n["nodes"] for page, n in seen.items() if n["nodes"] > NODES} == {}


@pytest.mark.parametrize("name", SHEETS)
def test_pages_take_few_sheets_and_nothing_that_fits_one_is_cut(reader: Reader, name: str) -> None:
    """Where all is wanted, every lab; else those whose pages are longest or differ in kind."""
    pages = of_term(reader, name)
    if not reader.site.whole:
        size = {page: (reader.site.folder / page).stat().st_size for page in pages}
        pages = sorted(pages, key=lambda page: -size[page])[: 3 if name == "bench" else 2]
    sheets: dict[str, int] = {}
    with reader.window(Way()) as window:
        for page in pages:
            printed = window.open(page).pdf(prefer_css_page_size=True)
            sheets[page] = len(_SHEET.findall(printed))
            window.page.emulate_media(media="print")
            assert window.page.evaluate(_CUT) == [], page
            window.page.emulate_media(media="null")
    assert min(sheets.values()) >= 1
    assert {page: n for page, n in sheets.items() if n > SHEETS[name]} == {}


def test_a_bench_sheet_has_a_table_for_the_trials_of_each_lab(reader: Reader) -> None:
    for page in of_term(reader, "bench"):
        assert ">My trials</caption>" in (reader.site.folder / page).read_text("utf-8"), page


# ---- folds open when their address is followed, all at once, and as they are they are printed

PRELAB = f"{TERM}level-track/prelab.html"
FOLD = "article .fw-card details.fw-fold"


def shown_on_paper(page: Page) -> list[bool]:
    page.emulate_media(media="print")
    seen: list[bool] = page.eval_on_selector_all(
        f"{FOLD} > div", "all => all.map(e => e.checkVisibility({contentVisibilityAuto: true}))"
    )
    page.emulate_media(media="screen")
    return seen


@pytest.mark.parametrize("scripts", [True, False])
def test_a_fold_opens_when_its_address_is_followed(reader: Reader, scripts: bool) -> None:
    with reader.window(Way(width=PHONE, scripts=scripts)) as window:
        page = window.open(PRELAB)
        question = page.locator(f"{FOLD} [id^=q-]").first
        assert not question.is_visible()
        address = question.get_attribute("id")
        page.goto(f"{window.base}{PRELAB}#{address}")
        question.locator("strong").wait_for(state="visible")
        assert page.locator(f"{FOLD}[open]").count() == 1


def test_all_folds_open_at_once_and_only_open_ones_are_printed(reader: Reader) -> None:
    with reader.window(Way(width=PHONE)) as window:
        page = window.open(PRELAB)
        assert not any(shown_on_paper(page))
        page.locator(f"{FOLD} summary").first.click()
        assert sum(shown_on_paper(page)) == 1
        page.get_by_role("button", name="Open all folds").click()
        assert all(shown_on_paper(page))
        page.get_by_role("button", name="Close all folds").click()
        assert not any(shown_on_paper(page))
    assert window.trouble == []


def test_text_may_be_twice_as_large(reader: Reader) -> None:
    """WCAG 2.2, success criterion 1.4.4 (from memory)."""
    with reader.window(Way(width=2 * PHONE)) as window:
        for name in ("index.html", PRELAB):
            page = window.open(name)
            page.add_style_tag(content="html { font-size: 200% !important }")
            assert page.evaluate("document.documentElement.scrollWidth") == 2 * PHONE, name
