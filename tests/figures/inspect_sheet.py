"""Looks at drawn sheets with matplotlib's own renderer: where words stand and lines run."""

from collections.abc import Iterator
from itertools import combinations
from typing import Any

from fallwork.figures.canvas import Box, house_style
from fallwork.figures.scene import Scene
from fallwork.figures.table import plate_of

SLACK = 0.3  # pt that boxes may share: less than the eye can see


def sheet_of(scene: Scene) -> Any:
    """The matplotlib figure of a scene, before it is written."""
    with house_style("checked"):
        return plate_of(scene).sheet


def words_of(sheet: Any) -> list[tuple[str, Box]]:
    """Every visible text with its ink box in points, as the SVG renderer measures it."""
    from matplotlib.text import Text

    with house_style("checked"):
        renderer = sheet._get_renderer()
        found = [text for text in sheet.findobj(Text) if text.get_visible() and text.get_text()]
        return [(text.get_text(), _box(text, renderer)) for text in found]


def _box(text: Any, renderer: Any) -> Box:
    content = text.get_text()
    width, height, depth = renderer.get_text_width_height_descent(
        content, text.get_fontproperties(), ismath="$" in content
    )
    x, y = text.get_transform().transform(text.get_position())
    return Box(left=x, bottom=y - depth, right=x + width, top=y - depth + height)


def collisions(sheet: Any) -> list[tuple[str, str]]:
    """Pairs of texts that lie on each other."""
    return [
        (one, other)
        for (one, box), (other, second) in combinations(words_of(sheet), 2)
        if box.meets(second, -SLACK)
    ]


def strokes_of(sheet: Any) -> Iterator[Any]:
    """The paths of all lines and outlines in points."""
    from matplotlib.patches import PathPatch

    for patch in sheet.findobj(PathPatch):
        yield patch.get_transform().transform_path(patch.get_path())


def crossed_words(sheet: Any) -> list[str]:
    """Texts through which a line runs."""
    from matplotlib.transforms import Bbox

    strokes = list(strokes_of(sheet))
    found = []
    for words, box in words_of(sheet):
        ink = Bbox.from_extents(
            box.left + SLACK, box.bottom + SLACK, box.right - SLACK, box.top - SLACK
        )
        if any(path.intersects_bbox(ink, filled=False) for path in strokes):
            found.append(words)
    return found


def ends_of(ticks: Any, axis: int) -> list[float]:
    """Where the strokes of an axis's ticks stand, across (0) or up (1)."""
    return sorted({float(place[axis]) for place in ticks.get_path().vertices})
