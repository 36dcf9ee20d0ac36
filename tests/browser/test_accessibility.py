"""Anyone can read it: on a phone, in the dark, with the keyboard, with a screen reader."""

import re
from itertools import product

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Page

from browser.reading import DESK, PHONE, Scheme, Site, Way, script

LOST_FOCUS = script("lost-focus")


# The rules see no colour through the shadow that shows that a table scrolls.
BARE = ".fw-scroll { background: none !important }"
UNFOLD = "for (const fold of document.querySelectorAll('article details')) fold.open = true"
SHIFT = script("shift")
MOST_SHIFT = 0.02
MIDDLE = (390, 768)  # px
EVERY = tuple(product(("light", "dark"), (PHONE, *MIDDLE, DESK), (True, False)))
SHARE: tuple[tuple[Scheme, int, bool], ...] = (("light", PHONE, True), ("dark", DESK, True))


def violations(page: Page, *, unfolded: bool = False) -> list[str]:
    """What axe-core finds, as ``rule: element``."""
    page.add_style_tag(content=BARE)
    if unfolded:
        page.evaluate(UNFOLD)
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
    others = ("example.html", "bench.html", "data.html") if site.whole else ()
    kept = ("index.html", "prelab.html", "report.html", *others, "solution.html")
    named = [fullest[name] for name in kept]
    return [*top, "step/level-track/tension.html", *named]


def test_axe_core_finds_nothing(reader):
    """On a page of each kind, in each scheme, width and state of folds, or a share of these."""
    whole, names = reader.site.whole, one_of_each_kind(reader.site)
    solutions = [name for name in by_size(reader.site) if name.endswith("/solution.html")]
    for scheme, width, unfolded in EVERY if whole else SHARE:
        some = names if whole or scheme == "light" else ["index.html", solutions[0]]
        with reader.window(Way(width=width, scheme=scheme)) as window:
            for name in some:
                found = violations(window.open(name), unfolded=unfolded)
                assert found == [], (name, scheme, width, unfolded)


@pytest.mark.parametrize("width", [PHONE, 390, DESK])
def test_nothing_moves_while_a_page_comes_up(reader, width):
    """Cumulative Layout Shift; the limit is a fifth of what web.dev calls good (from memory)."""
    names = one_of_each_kind(reader.site)
    with reader.window(Way(width=width)) as window:
        moved = {name: window.open(name).evaluate(SHIFT) for name in names}
    assert {name: far for name, far in moved.items() if far > MOST_SHIFT} == {}


@pytest.mark.parametrize("scripts", [True, False])
def test_no_page_scrolls_sideways_on_a_phone(reader, scripts):
    facts, _ = reader.tour(Way(width=PHONE, scripts=scripts))
    assert {name: seen["width"] for name, seen in facts.items()} == dict.fromkeys(facts, PHONE)


def test_text_may_be_twice_as_large(reader):
    """WCAG 2.2, success criterion 1.4.4 (from memory)."""
    with reader.window(Way(width=2 * PHONE)) as window:
        for name in one_of_each_kind(reader.site):
            page = window.open(name)
            page.add_style_tag(content="html { font-size: 250% !important }")  # of 125 %
            page.evaluate(UNFOLD)
            assert page.evaluate("document.documentElement.scrollWidth") == 2 * PHONE, name


def test_formulas_drawings_and_tables_of_every_page_can_be_read(reader):
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
        assert re.findall(r".*[a-z]'[a-z].*", seen["words"]) == [], name  # one kind of apostrophe
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
def test_the_keyboard_goes_past_the_header_and_never_out_of_sight(reader, width):
    with reader.window(Way(width=width)) as window:
        page = window.open("reading.html")
        for stop in range(12):
            page.keyboard.press("Tab")
            if stop == 0:
                assert page.locator(":focus").inner_text().strip() == "Skip to content"
            assert page.evaluate(LOST_FOCUS) == ""
