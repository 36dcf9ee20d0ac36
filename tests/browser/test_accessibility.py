"""Anyone can read it: on a phone, in the dark, with the keyboard, with a screen reader."""

from typing import get_args

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Page

from browser.reading import DESK, PHONE, Reader, Scheme

SCHEMES = get_args(Scheme)
NAMES_OF_DRAWINGS = """
all => all.map(svg => svg.getAttribute('aria-labelledby').split(' ')
  .map(id => document.getElementById(id).textContent).join(' '))
"""
FONTS_LOADED = """
[...document.fonts]
  .filter(face => face.status === 'loaded').map(face => face.family.replaceAll('"', ''))
"""


def violations(page: Page) -> list[str]:
    """What axe-core finds, as ``rule: element``."""
    return [
        f"{violation['id']}: {node['html'][:200]}"
        for violation in Axe().run(page).response["violations"]
        for node in violation["nodes"]
    ]


@pytest.mark.parametrize("scheme", SCHEMES)
@pytest.mark.parametrize("width", [PHONE, DESK])
def test_axe_core_finds_nothing(reader: Reader, width: int, scheme: Scheme) -> None:
    for name, page in reader.every_page(width=width, scheme=scheme):
        assert violations(page) == [], name


def test_axe_core_would_find_something(reader: Reader) -> None:
    page = reader.window()
    page.goto(reader.site.base("folder") + "index.html")
    page.evaluate("document.querySelector('h1').style.color = '#ddd'")
    assert [found.split(":")[0] for found in violations(page)] == ["color-contrast"]


@pytest.mark.parametrize("scripts", [True, False])
def test_no_page_scrolls_sideways_on_a_phone(reader: Reader, scripts: bool) -> None:
    for name, page in reader.every_page(width=PHONE, scripts=scripts):
        widest = page.locator("html").evaluate("e => e.scrollWidth")
        assert widest <= PHONE, f"{name} is {widest} px wide"


def test_formulas_fit_a_phone(reader: Reader) -> None:
    wide = "all => all.filter(e => e.scrollWidth > e.clientWidth).map(e => e.textContent)"
    for name, page in reader.every_page(width=PHONE):
        page.evaluate("document.fonts.ready")
        assert page.locator("div.fw-formula").evaluate_all(wide) == [], name


def test_formulas_are_mathml_in_the_font_that_comes_along(reader: Reader) -> None:
    formulas = 0
    for name, page in reader.every_page():
        words = page.locator("article").inner_text()
        assert not any(code in words for code in ("\\", "$", "_{", "^{")), name
        formulas += page.locator("math").count()
        if page.locator("math").count():
            page.evaluate("document.fonts.ready")
            assert page.evaluate(FONTS_LOADED) == ["STIX Two Math"], name
    assert formulas > 500


def test_each_drawing_has_its_text_alternative(reader: Reader) -> None:
    drawings = 0
    for name, page in reader.every_page():
        shown = page.locator("figure.fw-figure svg[role=img]")
        texts = shown.evaluate_all(NAMES_OF_DRAWINGS)
        assert page.locator("article svg:not([role=img])").count() == 0, name
        assert all(len(text) > 40 for text in texts), name
        assert len(set(texts)) == len(texts), name
        drawings += len(texts)
    assert drawings > 20


def test_every_table_has_heads_and_a_name(reader: Reader) -> None:
    tables = 0
    for name, page in reader.every_page():
        for table in page.locator("article table").all():
            tables += 1
            assert table.locator("caption").inner_text().strip(), name
            assert table.locator("thead th[scope=col]").count() >= 2, name
            assert table.locator("tbody th[scope=row]").count() >= 1, name
    assert tables > 20


@pytest.mark.parametrize("width", [PHONE, DESK])
def test_the_keyboard_never_lands_out_of_sight(reader: Reader, width: int) -> None:
    page = reader.window(width=width)
    page.goto(reader.site.base("folder") + "reading.html")
    for _ in range(20):
        page.keyboard.press("Tab")
        page.wait_for_timeout(30)
        box = page.evaluate(
            "(() => { const e = document.activeElement, b = e.getBoundingClientRect();"
            " return [e.outerHTML.slice(0, 80), b.left, b.right, b.top, b.bottom]; })()"
        )
        html, left, right, top, bottom = box
        assert 0 <= left <= right <= width, html
        assert 0 <= top <= bottom <= 800, html


def test_the_first_stop_of_the_keyboard_is_the_way_past_the_header(reader: Reader) -> None:
    page = reader.window(width=PHONE)
    page.goto(reader.site.base("folder") + "reading.html")
    page.keyboard.press("Tab")
    assert page.evaluate("document.activeElement.textContent.trim()") == "Skip to content"
