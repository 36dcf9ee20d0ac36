"""Words in figures can be read: nothing lies on them, and they are big enough on a phone."""

from typing import Any

import pytest

from fallwork.figures.canvas import WIDTH, WORD_SIZE, house_style, new_sheet
from figures.catalogue import ENTRIES, Entry, setup
from figures.inspect_sheet import collisions, crossed_words, sheet_of, words_of

EVERY = pytest.mark.parametrize("entry", ENTRIES, ids=str)


def sheet(entry: Entry) -> Any:
    scene = setup(entry.case).scene(entry.kind, entry.subject, to_scale=entry.to_scale)
    return sheet_of(scene)


@EVERY
def test_no_word_lies_on_another_or_on_a_line_or_off_the_sheet(entry: Entry) -> None:
    drawing = sheet(entry)
    assert collisions(drawing) == []
    assert crossed_words(drawing) == []
    assert [words for words, box in words_of(drawing) if box.left < 0 or box.right > WIDTH] == []


def test_words_are_about_11_pixels_high_on_a_phone() -> None:
    # A page 320 px wide leaves about 290 px (common practice: margins of 15 px).
    pixels = WORD_SIZE * 290 / WIDTH
    assert pixels == pytest.approx(11.0, abs=0.2)


def planted(*places: tuple[float, float], line: bool = False) -> Any:
    """A sheet with the same word at some places, and perhaps a line across."""
    from matplotlib.axes import Axes
    from matplotlib.patches import PathPatch
    from matplotlib.path import Path

    with house_style("planted"):
        drawing = new_sheet(100.0)
        axes = Axes(drawing, (0, 0, 1, 1), xlim=(0, WIDTH), ylim=(0, 100))
        drawing.add_axes(axes)
        axes.set_axis_off()
        for place in places:
            axes.text(*place, "cart")
        if line:
            axes.add_patch(PathPatch(Path([(0, 12), (WIDTH, 12)])))
    return drawing


def test_the_check_finds_words_on_words() -> None:
    assert collisions(planted((20, 20), (30, 22))) == [("cart", "cart")]
    assert collisions(planted((20, 20), (60, 20))) == []


def test_the_check_finds_lines_through_words() -> None:
    assert crossed_words(planted((20, 10), line=True)) == ["cart"]
    assert crossed_words(planted((20, 20), line=True)) == []
