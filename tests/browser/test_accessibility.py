"""Anyone can read it: on a phone, in the dark, with the keyboard, with a screen reader."""

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Page

from browser.reading import DESK, PHONE, Reader, Scheme, Site, Way

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


def by_size(site: Site) -> list[str]:
    return sorted(site.pages, key=lambda name: (site.folder / name).stat().st_size)


def one_of_each_kind(site: Site) -> list[str]:
    """A page from each template, the fullest one: rules look at elements, not at numbers."""
    top = [name for name in site.pages if name.count("/") < 2]
    fullest = {name.rpartition("/")[2]: name for name in by_size(site) if name.count("/") == 2}
    others = ("prelab.html", "example.html", "report.html", "data.html") if site.whole else ()
    named = [fullest[name] for name in ("index.html", *others, "solution.html")]
    return [*top, "step/level-track/tension.html", *named]


@pytest.mark.parametrize(("width", "scheme"), [(PHONE, "light"), (DESK, "dark")])
def test_axe_core_finds_nothing(reader: Reader, width: int, scheme: Scheme) -> None:
    names = one_of_each_kind(reader.site)
    if scheme == "dark" and not reader.site.whole:  # only the colours are others
        solutions = [name for name in by_size(reader.site) if name.endswith("/solution.html")]
        names = ["index.html", solutions[0]]
    with reader.window(Way(width=width, scheme=scheme)) as window:
        for name in names:
            assert violations(window.open(name)) == [], name


def test_axe_core_would_find_something(reader: Reader) -> None:
    with reader.window(Way()) as window:
        page = window.open("index.html")
        page.evaluate("document.querySelector('h1').style.color = '#ddd'")
        assert [found.partition(":")[0] for found in violations(page)] == ["color-contrast"]


@pytest.mark.parametrize("scripts", [True, False])
def test_no_page_scrolls_sideways_on_a_phone(reader: Reader, scripts: bool) -> None:
    facts, _ = reader.tour(Way(width=PHONE, scripts=scripts))
    assert {name: seen["width"] for name, seen in facts.items()} == dict.fromkeys(facts, PHONE)


def test_formulas_drawings_and_tables_of_every_page_can_be_read(reader: Reader) -> None:
    """Formulas are MathML in the font that comes along and fit a phone; each drawing has a text
    alternative of its own and words that stand clear, each table a name and heads.
    """
    facts, _ = reader.tour(Way(width=PHONE, scripts=False))
    counts = [
        sum(len(seen[kind]) for seen in facts.values())
        for kind in ("formulas", "drawings", "tables")
    ]
    assert counts > [500, 20, 20]
    assert min(counts) > 20
    for name, seen in facts.items():
        assert not seen["formulas"] or seen["fonts"] == ["STIX Two Math"], name
        assert [code for code in ("\\", "$", "_{", "^{") if code in seen["words"]] == [], name
        assert (seen["wide_formulas"], seen["nameless_drawings"]) == ([], []), name
        assert seen["clashing_words"] == [], name
        texts = seen["drawings"]
        assert [text for text in texts if len(text) < 60] == [], name
        assert len(set(texts)) == len(texts), name
        for table in seen["tables"]:
            assert table["caption"], name
            assert table["columns"] >= 2, (name, table)
            assert table["rows"] >= 1, (name, table)


@pytest.mark.parametrize("width", [PHONE, DESK])
def test_the_keyboard_goes_past_the_header_and_never_out_of_sight(
    reader: Reader, width: int
) -> None:
    with reader.window(Way(width=width)) as window:
        page = window.open("reading.html")
        for stop in range(12):
            page.keyboard.press("Tab")
            if stop == 0:
                assert page.locator(":focus").inner_text().strip() == "Skip to content"
            page.wait_for_timeout(500)  # the theme lets its search box slide in
            assert page.evaluate(LOST_FOCUS) == ""
