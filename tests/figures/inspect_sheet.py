"""Looks at drawings as they are written: where words stand and lines run, in points, y down."""

import re
from collections import defaultdict
from collections.abc import Iterable, Iterator
from itertools import combinations, pairwise
from xml.etree.ElementTree import Element, fromstring

from fallwork.figures import Scene, draw, lettering, placing

Point = tuple[float, float]
SVG = "{http://www.w3.org/2000/svg}"
SLACK = 0.3  # pt that boxes may share: less than the eye can see
ABOVE, BELOW = 0.70, 0.19  # of the font size: capitals and digits; a comma, and half of a "g"


def sheet_of(scene: Scene) -> Element:
    return fromstring(draw(scene).svg)


def words_of(sheet: Element) -> list[tuple[str, placing.Box]]:
    """Every text with the box of its ink; the pieces of a formula in one."""
    found = []
    for text in sheet.iter(f"{SVG}text"):
        left, bottom, right, top = zip(*map(_ink, list(text) or [text]), strict=True)
        box = placing.Box(left=min(left), bottom=min(bottom), right=max(right), top=max(top))
        found.append(("".join(text.itertext()), box))
    return found


def _ink(piece: Element) -> tuple[float, float, float, float]:
    """Words have their width beside them; letters of a formula are nearly half as wide as high."""
    x, y, size = (float(piece.get(name, lettering.WORD_SIZE)) for name in ("x", "y", "font-size"))
    words = piece.text or ""
    width = float(piece.get("textLength", 0.45 * size * len(words)))
    deep = BELOW * size if re.search("[gjpqy,()𝑓]", words) else 0.0
    return x, y - ABOVE * size, x + width, y + deep


def strokes_of(sheet: Element) -> list[tuple[Element, list[list[Point]]]]:
    """Every path with its lines; a closed one comes back to its start."""
    return [(path, [*_lines(path.get("d", ""))]) for path in sheet.iter(f"{SVG}path")]


def _lines(data: str) -> Iterator[list[Point]]:
    for part in data.split("M")[1:]:
        points = [(float(x), float(y)) for x, y in re.findall(r"(-?[\d.]+) (-?[\d.]+)", part)]
        yield [*points, points[0]] if part.endswith("z") else points


def collisions(sheet: Element) -> list[tuple[str, str]]:
    return [
        (one, other)
        for (one, box), (other, second) in combinations(words_of(sheet), 2)
        if box.left + SLACK < second.right
        and second.left + SLACK < box.right
        and box.bottom + SLACK < second.top
        and second.bottom + SLACK < box.top
    ]


def crossed_words(sheet: Element, among: Iterable[tuple[str, placing.Box]] = ()) -> list[str]:
    segments = [pair for _, lines in strokes_of(sheet) for line in lines for pair in pairwise(line)]
    return [
        words
        for words, box in among or words_of(sheet)
        if any(_passes(start, end, box) for start, end in segments)
    ]


def _passes(start: Point, end: Point, box: placing.Box) -> bool:
    """Whether a point of a fine row along a straight line lies inside a box."""
    left, bottom, right, top = box
    (x0, y0), (x1, y1) = start, end
    if max(x0, x1) < left or min(x0, x1) > right or max(y0, y1) < bottom or min(y0, y1) > top:
        return False
    steps = int(max(abs(x1 - x0), abs(y1 - y0)) / SLACK) + 1
    row = ((x0 + (x1 - x0) * n / steps, y0 + (y1 - y0) * n / steps) for n in range(steps + 1))
    return any(
        left + SLACK < x < right - SLACK and bottom + SLACK < y < top - SLACK for x, y in row
    )


def area_of(sheet: Element) -> tuple[float, float]:
    """Width and height of the first filled shape without an outline."""
    for path, ((*points, _), *_) in strokes_of(sheet):
        if "stroke" not in path.get("style", ""):
            xs, ys = zip(*points, strict=True)
            return max(xs) - min(xs), max(ys) - min(ys)
    raise AssertionError("no area")


def unit_of(sheet: Element, *, upright: bool) -> float:
    """How long one unit of an axis is, by its numbers: those flush right, or in one row."""
    places: dict[float, list[tuple[float, float]]] = defaultdict(list)
    for words, box in words_of(sheet):
        if re.fullmatch(r"−?[\d.]+", words):
            edge, along = (
                (box.right, -box.bottom) if upright else (box.bottom, box.left + box.right)
            )
            value = float(words.replace("−", "-"))
            places[round(edge, 1)].append((value, along if upright else along / 2))
    (low, start), *_, (high, end) = max(places.values(), key=len)
    return (end - start) / (high - low)
