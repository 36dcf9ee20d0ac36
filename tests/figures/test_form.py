"""Every figure can be read, and is an inline SVG that keeps to itself, whatever the set-up."""

import re
from pathlib import Path
from typing import Any
from xml.etree import ElementTree

import pytest

from fallwork.figures import Figure, palette
from fallwork.figures.canvas import WIDTH, WORD_SIZE, house_style, new_sheet
from fallwork.figures.svg import ForeignColourError, _short_glyph, inline_svg
from fallwork.lesson.document import FigureSlot
from figures.inspect_sheet import collisions, crossed_words, sheet_of, words_of
from figures.setups import NAMES, Setup, drawn, drawn_on, entries, setup
from lesson.kit import DEMO, ZOO, everything, lesson_of, solved

CASES = (*NAMES, "trials")
SVG = "{http://www.w3.org/2000/svg}"
BYTES = 45_000  # the most that a figure may weigh; half of them weigh less than a third of it
SHARE = 10  # of the lessons' set-ups one in so many, and the one whose block stays


def slots(given: Setup) -> set[FigureSlot]:
    """What a lesson asks for."""
    return {part for part in everything(given.lesson.steps) if isinstance(part, FigureSlot)}


@pytest.mark.parametrize("case", CASES)
def test_a_figure_can_be_read_and_is_an_svg_that_keeps_to_itself(case: str) -> None:
    for entry in entries(case):
        figure, sheet = drawn_on(entry)
        assert_readable(sheet, entry)
        root = ElementTree.fromstring(figure.svg)
        assert_named_apart(figure, root)
        assert_coloured_by_role(figure.svg)
        assert root.tag == f"{SVG}svg", entry
        assert root.get("width") is root.get("height") is None, entry
        assert root.get("viewBox", "").startswith("0 0 259.2 "), entry
        foreign = ("script", "style", "image", "metadata", "foreignObject", "a")
        tags = {element.tag for element in root.iter()}
        assert tags.isdisjoint(f"{SVG}{name}" for name in foreign), entry
        assert len(figure.svg.encode()) < BYTES, entry
        assert not re.search(r"\n\n|20\d\d-\d\d|<\?xml|<!", figure.svg), entry


@pytest.mark.parametrize("path", sorted(DEMO.glob("*.yaml")), ids=lambda path: path.stem)
def test_every_figure_of_the_demo_course_can_be_read(path: Path) -> None:
    given = setup(f"demo/{path.stem}")
    for slot in slots(given):
        assert_readable(sheet_of(given.scene(slot)), slot)


def assert_readable(sheet: Any, about: object) -> None:
    """No word lies on another, on a line, or off the sheet."""
    outside = [words for words, box in words_of(sheet) if box.left < 0 or box.right > WIDTH]
    assert (about, collisions(sheet), crossed_words(sheet), outside) == (about, [], [], [])


def test_words_are_about_11_pixels_high_on_a_phone() -> None:
    # A page 320 px wide leaves about 290 px (common practice: margins of 15 px).
    assert pytest.approx(11.0, abs=0.2) == WORD_SIZE * 290 / WIDTH


def assert_named_apart(figure: Figure, root: ElementTree.Element) -> None:
    """Ids are unique and begin with the figure's; what is referred to is inside; words stand."""
    ids = [element.get("id", "") for element in root.iter() if element.get("id")]
    assert len(set(ids)) == len(ids)
    assert all(name == figure.id or name.startswith(f"{figure.id}-") for name in ids)
    targets = re.findall(r'href="#([^"]+)"|url\(#([^)]+)\)', figure.svg)
    assert {one or other for one, other in targets} <= set(ids)
    assert figure.svg.count("href=") == figure.svg.count('href="#')
    assert root.get("role") == "img"
    assert root.get("aria-labelledby") == f"{figure.id}-title {figure.id}-desc"
    assert (root[0].tag, root[0].text) == (f"{SVG}title", figure.title)
    assert (root[1].tag, root[1].text) == (f"{SVG}desc", figure.description)


def assert_coloured_by_role(svg: str) -> None:
    assert set(re.findall(r"var\([^)]*\)", svg)) <= {role.css for role in palette().values()}
    rest = re.sub(r'(id|href)="[^"]*"|var\([^)]*\)', "", svg)
    assert not re.search(r'#[0-9a-fA-F]{3,8}\b(?!-)|rgb|hsl|(fill|stroke)="', rest)


def test_half_of_the_figures_weigh_less_than_15_kilobytes() -> None:
    every = [entry for case in NAMES for entry in entries(case)]
    sizes = sorted(len(drawn(entry).svg.encode()) for entry in every)
    assert sizes[len(sizes) // 2] < 15_000


def test_a_colour_without_a_role_is_a_fault() -> None:
    raw = (
        '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 9 9">'
        '<path d="M 0 0 L 1 1" style="stroke: #123456"/></svg>'
    )
    with pytest.raises(ForeignColourError, match="#123456"):
        inline_svg(raw, figure_id="x", title="t", description="d")


def test_letters_keep_their_shape_on_the_coarser_grid() -> None:
    # Absolute steps of 64ths become relative steps of 8/64: (80, 160) → (10, 20), and so on.
    assert _short_glyph("M 80 160 L 240 160 Q 240 80 160 80 z") == "m10 20l20 0q0-10-10-10z"


def test_every_figure_that_a_lesson_asks_for_is_drawn(thorough: bool) -> None:
    files = sorted(ZOO.glob("*.yaml"))
    for path in files if thorough else (*files[::SHARE], ZOO / "compound-stuck.yaml"):
        given = Setup(*solved(path), lesson_of(path, numbers=True))
        assert all(given.draw(slot).svg.startswith("<svg") for slot in slots(given)), path


# ---- the checks find what is planted


def planted(*places: tuple[float, float], line: bool = False) -> Any:
    """A sheet with the same word at some places, and perhaps a line across."""
    from matplotlib.axes import Axes
    from matplotlib.patches import PathPatch
    from matplotlib.path import Path as Line

    with house_style("planted"):
        drawing = new_sheet(100.0)
        axes = Axes(drawing, (0, 0, 1, 1), xlim=(0, WIDTH), ylim=(0, 100))
        drawing.add_axes(axes)
        axes.set_axis_off()
        for place in places:
            axes.text(*place, "cart")
        if line:
            axes.add_patch(PathPatch(Line([(0, 12), (WIDTH, 12)])))
    return drawing


def test_words_on_words_and_lines_through_words_are_found() -> None:
    assert collisions(planted((20, 20), (30, 22))) == [("cart", "cart")]
    assert collisions(planted((20, 20), (60, 20))) == []
    assert crossed_words(planted((20, 10), line=True)) == ["cart"]
    assert crossed_words(planted((20, 20), line=True)) == []
