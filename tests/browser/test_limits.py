"""How long and heavy pages are on screen and paper, by limits of our own; how folds open."""

import re
from pathlib import Path
from typing import Any
from urllib.parse import unquote, urlsplit

import pytest
from playwright.sync_api import Page

from browser.reading import PHONE, Reader, Way, script

WORDS = {"prelab": 2000, "example": 1200, "report": 1500, "data": 1000, "solution": 1500}
WITH_TRIALS = 2500  # words of a solution that compares
SHEETS = {"prelab": 8, "solution": 14, "bench": 2}
NODES = 8000
BYTES = 900_000  # as they are, none packed for the way
TERM = "2026-autumn/"
_MEASURED, _MARK = script("measured"), script("marked")
_SHEET = re.compile(rb"/Type\s*/Page\b")  # ISO 32000-1, 7.7.3.3
_AT = re.compile(rb"/([\w.-]+) \[(\d+) 0 R /XYZ ([-\d.]+) ([-\d.]+) 0\]")  # ISO 32000-1, 12.3.2
# A sign of MathML with the variant that it asks for, or of a drawing.
_SIGN = re.compile(r'<(m[ions]|mtext|tspan)( mathvariant="\w+")?[^>]*>([^<]+)</')
_MIDDLE = 258  # pt: half of what A4 leaves between the margins
PRELAB = f"{TERM}level-track/prelab.html"
FOLD = "article .fw-card details.fw-fold"


def cut(pdf: bytes, marked: dict[str, Any]) -> list[str]:
    """Cards and figures that go on elsewhere than they begin, headings at the foot of a column."""
    found = {each[1].decode(): each.groups()[1:] for each in _AT.finditer(pdf)}
    place = {id_: (page, float(x) > _MIDDLE) for id_, (page, x, _) in found.items()}
    top: dict[Any, float] = {}
    for id_, (_, _, y) in found.items():
        top[place[id_]] = max(float(y), top.get(place[id_], 0))
    wrong = [
        f"cut: {card}"
        for card, parts in marked["cards"]
        if any(place[part] != place[card] for part in parts)
        and float(found[card][2]) < top[place[card]] - 1
    ]
    return wrong + [f"foot: {head}" for head, then in marked["heads"] if place[head] != place[then]]


def of_term(reader: Reader, *names: str) -> list[str]:
    """Its pages of these names, every lab's."""
    ends = tuple(f"/{name}.html" for name in names)
    return [page for page in reader.site.pages if page.startswith(TERM) and page.endswith(ends)]


def limit(page: str, pages: tuple[str, ...]) -> int:
    folder, _, name = page.removesuffix(".html").rpartition("/")
    return WITH_TRIALS if name == "solution" and f"{folder}/data.html" in pages else WORDS[name]


def test_pages_are_short_with_all_folds_closed_and_no_table_scrolls(reader):
    """On a phone of usual width; tables on the narrowest too."""
    sheets, pages = of_term(reader, "bench"), of_term(reader, *WORDS)
    assert {page.rpartition("/")[2] for page in pages} == {f"{name}.html" for name in WORDS}
    seen: dict[str, Any] = {}
    with reader.window(Way(width=390, scripts=False)) as window:
        for page in pages + sheets:
            seen[page] = window.open(page).evaluate(_MEASURED)
            window.page.set_viewport_size({"width": PHONE, "height": 800})
            seen[page]["wide"] += window.page.evaluate(_MEASURED)["wide"]
            window.page.set_viewport_size({"width": 390, "height": 800})
    assert {page: found["wide"] for page, found in seen.items() if found["wide"]} == {}
    too_long = {
        page: (words, most)
        for page in pages
        if not 150 < (words := seen[page]["words"]) <= (most := limit(page, reader.site.pages))
    }
    assert too_long == {}
    assert [page for page, found in seen.items() if found["open"]] == []
    assert {page: n["nodes"] for page, n in seen.items() if n["nodes"] > NODES} == {}


@pytest.mark.parametrize("name", SHEETS)
def test_pages_take_few_sheets_and_nothing_that_fits_one_is_cut(reader, name):
    """Where all is wanted, every lab; else those whose pages are longest or differ in kind."""
    pages = of_term(reader, name)
    if not reader.site.whole:
        size = {page: (reader.site.folder / page).stat().st_size for page in pages}
        pages = sorted(pages, key=lambda page: -size[page])[: 3 if name == "bench" else 2]
    sheets: dict[str, int] = {}
    with reader.window(Way()) as window:
        for page in pages:
            window.open(page).emulate_media(media="print")
            marked = window.page.evaluate(_MARK)
            printed = window.page.pdf(prefer_css_page_size=True)
            window.page.emulate_media(media="null")
            sheets[page] = len(_SHEET.findall(printed))
            assert cut(printed, marked) == [], page
    assert min(sheets.values()) >= 1
    assert {page: n for page, n in sheets.items() if n > SHEETS[name]} == {}


# ---- folds open when their address is followed, all at once, and as they are they are printed
def shown_on_paper(page: Page) -> list[bool]:
    page.emulate_media(media="print")
    seen: list[bool] = page.eval_on_selector_all(
        f"{FOLD} > div", "all => all.map(e => e.checkVisibility({contentVisibilityAuto: true}))"
    )
    page.emulate_media(media="screen")
    return seen


def test_all_folds_open_at_once_and_only_open_ones_are_printed(reader):
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


# ---- what a page loads by itself
def test_a_page_with_all_that_it_loads_by_itself_is_light(reader):
    """The largest page of each kind."""
    size = {name: (reader.site.folder / name).stat().st_size for name in reader.site.pages}
    kinds = {
        "step" if name.startswith("step/") else name.rpartition("/")[2]: name
        for name in sorted(size, key=lambda name: size[name])
    }
    weights = {}
    for name in kinds.values():
        with reader.window(Way()) as window:
            window.open(name).evaluate("document.fonts.ready.then(() => 0)")
            files = {unquote(urlsplit(url).path) for url in window.requests if url[:4] == "file"}
        weights[name] = sum(Path(file).stat().st_size for file in files)
    assert min(weights.values()) > 200_000  # the theme alone
    assert {name: bytes_ for name, bytes_ in weights.items() if bytes_ >= BYTES} == {}


def fonts_of(page: Page, formula: str) -> list[str]:
    """Those that the browser takes the signs of a formula from."""
    page.locator("article").evaluate("(all, html) => { all.innerHTML = html }", formula)
    page.evaluate("document.fonts.ready.then(() => 0)")
    tools = page.context.new_cdp_session(page)
    for domain in ("DOM", "CSS"):
        tools.send(f"{domain}.enable")
    root = tools.send("DOM.getDocument")["root"]["nodeId"]
    asked = {"nodeId": root, "selector": "article math"}
    node = tools.send("DOM.querySelector", asked)
    return [font["familyName"] for font in tools.send("CSS.getPlatformFontsForNode", node)["fonts"]]


def test_every_sign_of_a_formula_is_in_the_font_that_comes_along(reader):
    """On pages, in drawings and in what scripts show; one left out comes from another font."""
    signs: set[tuple[str | None, ...]] = set()
    for name in reader.site.pages:
        text = (reader.site.folder / name).read_text("utf-8")
        for escaped, sign in (("\\u003c", "<"), ("\\u003e", ">"), ('\\"', '"')):
            text = text.replace(escaped, sign)
        signs |= {found.groups() for found in _SIGN.finditer(text)}
    assert len(signs) > 500
    every = "".join(f"<{kind}{look or ''}>{text}</{kind}>" for kind, look, text in signs)
    every = every.replace("tspan", "mtext")
    with reader.window(Way()) as window:
        page = window.open("reading.html")
        assert fonts_of(page, f"<math>{every}</math>") == ["STIX Two Math"]
        assert len(fonts_of(page, "<math><mi>𝔄</mi></math>")) == 1
        assert fonts_of(page, "<math><mi>𝔄</mi></math>") != ["STIX Two Math"]
