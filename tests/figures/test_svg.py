"""Every figure is an inline SVG that asks for nothing and clashes with nothing on its page."""

import re
from xml.etree import ElementTree

import pytest

from fallwork.figures import palette
from fallwork.figures.svg import ForeignColourError, inline_svg
from figures.catalogue import ENTRIES, Entry, drawn

EVERY = pytest.mark.parametrize("entry", ENTRIES, ids=str)
SVG = "{http://www.w3.org/2000/svg}"
BYTES = 45_000  # the most that a figure may weigh; half of them weigh less than a third of it


def parsed(entry: Entry) -> ElementTree.Element:
    return ElementTree.fromstring(drawn(entry).svg)


@EVERY
def test_every_id_is_unique_and_begins_with_the_figure_s(entry: Entry) -> None:
    ids = [element.get("id") for element in parsed(entry).iter() if element.get("id")]
    assert len(set(ids)) == len(ids)
    assert all(
        name == drawn(entry).id or f"{name}".startswith(f"{drawn(entry).id}-") for name in ids
    )


@EVERY
def test_every_reference_is_to_something_inside(entry: Entry) -> None:
    svg = drawn(entry).svg
    ids = {element.get("id") for element in parsed(entry).iter()}
    targets = re.findall(r'href="#([^"]+)"|url\(#([^)]+)\)', svg)
    assert {one or other for one, other in targets} <= ids
    assert len(re.findall("href=", svg)) == len(re.findall('href="#', svg))


@EVERY
def test_every_colour_is_a_role_of_the_palette(entry: Entry) -> None:
    svg = drawn(entry).svg
    roles = {role.css for role in palette().values()}
    assert set(re.findall(r"var\([^)]*\)", svg)) <= roles
    without_roles = re.sub(r"var\([^)]*\)", "", svg)
    assert not re.search(
        r"#[0-9a-fA-F]{3,8}\b(?!-)|rgb|hsl", re.sub(r'(id|href)="[^"]*"', "", without_roles)
    )
    assert not re.search(r'(fill|stroke)="', svg)


@EVERY
def test_a_figure_bends_to_the_page_and_keeps_to_itself(entry: Entry) -> None:
    root = parsed(entry)
    assert root.tag == f"{SVG}svg"
    assert root.get("width") is root.get("height") is None
    assert root.get("viewBox", "").startswith("0 0 259.2 ")
    assert {element.tag for element in root.iter()}.isdisjoint(
        {f"{SVG}{name}" for name in ("script", "style", "image", "metadata", "foreignObject", "a")}
    )


@EVERY
def test_title_and_description_stand_for_the_drawing(entry: Entry) -> None:
    figure, root = drawn(entry), parsed(entry)
    assert root.get("role") == "img"
    assert root.get("aria-labelledby") == f"{figure.id}-title {figure.id}-desc"
    assert (root[0].tag, root[0].text) == (f"{SVG}title", figure.title)
    assert (root[1].tag, root[1].text) == (f"{SVG}desc", figure.description)


@EVERY
def test_a_figure_is_small_and_has_no_date_or_blank_line(entry: Entry) -> None:
    svg = drawn(entry).svg
    assert len(svg.encode()) < BYTES
    assert "\n\n" not in svg
    assert not re.search(r"20\d\d-\d\d|<\?xml|<!", svg)


def test_half_of_the_figures_weigh_less_than_15_kilobytes() -> None:
    sizes = sorted(len(drawn(entry).svg.encode()) for entry in ENTRIES)
    assert sizes[len(sizes) // 2] < 15_000


def test_a_colour_without_a_role_is_a_fault() -> None:
    raw = (
        '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 9 9">'
        '<path d="M 0 0 L 1 1" style="stroke: #123456"/></svg>'
    )
    with pytest.raises(ForeignColourError, match="#123456"):
        inline_svg(raw, figure_id="x", title="t", description="d")


def test_letters_keep_their_shape_on_the_coarser_grid() -> None:
    from fallwork.figures.svg import _short_glyph

    # Absolute steps of 64ths become relative steps of 8/64: (80, 160) → (10, 20), and so on.
    assert _short_glyph("M 80 160 L 240 160 Q 240 80 160 80 z") == "m10 20l20 0q0-10-10-10z"
