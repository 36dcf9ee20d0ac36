"""A drawing as a list of shapes and labels by role, and as an ``<svg>`` fit to stand in a page.

Coordinates in points, y up, from any origin: the sheet is cut to what was drawn. Every stroke and
label is remembered as being in the way of later labels. In the SVG colours are the page's
variables, and words are text that fits whatever face the reader has.
"""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from html import escape
from itertools import pairwise

import numpy as np

from fallwork.figures.geometry import Point, arc, between
from fallwork.figures.lettering import WORD_SIZE, Line, set_out
from fallwork.figures.palette import palette
from fallwork.figures.placing import FAR, Box, Segment, Spot, Wish, leaders_of, place

WIDTH = 259.2  # pt; 3.6 inches: words stay near 11 px on a screen of 320 px
HEAD = 7.5  # pt, length of an arrow's head
MARGIN = 3.0  # pt, above and below
PIXELS_PER_POINT = 1.55  # widest display: words then stand about 15 px high
WORDS = "var(--md-text-font-family, system-ui, Helvetica, Arial, sans-serif)"
FORMULAS = "'STIX Two Math', 'Cambria Math', math, serif"

Dash = tuple[float, ...]  # pt of line and gap


@dataclass(frozen=True, kw_only=True)
class Shape:
    """One or more lines, open or closed, by roles."""

    lines: tuple[tuple[Point, ...], ...]
    edge: str | None = "ink"
    fill: str | None = None
    closed: bool = False
    width: float = 1.1
    dash: Dash = ()


class Drawing:
    """Collects shapes and labels, later ones on top."""

    def __init__(self, *, scale: float = 1.0, shift: Point = 0j) -> None:
        self.scale = scale  # of all coordinates that come in, not of words and line widths
        self.shift = shift  # added after scaling
        self.shapes: list[Shape] = []
        self.labelled: list[tuple[Wish, Box]] = []
        self.segments: list[Segment] = []  # in the way of labels

    def on_sheet(self, point: Point) -> Point:
        """Where a point of the drawing's own coordinates stands."""
        return self.scale * point + self.shift

    def extent(self) -> tuple[float, float]:
        """The lowest and the highest y of all that was drawn."""
        heights = [point.imag for shape in self.shapes for line in shape.lines for point in line]
        heights += [y for _, box in self.labelled for y in (box.bottom, box.top)]
        return min(heights), max(heights)

    def _add(self, shape: Shape, *, in_the_way: bool = True) -> None:
        lines = tuple(tuple(map(self.on_sheet, line)) for line in shape.lines)
        self.shapes.append(replace(shape, lines=lines))
        for line in lines if in_the_way else ():
            self.segments += pairwise((*line, line[0]) if shape.closed else line)

    def line(
        self,
        *points: Point,
        role: str = "ink",
        width: float = 1.1,
        dash: Dash = (),
        in_the_way: bool = True,
    ) -> None:
        """A line through points."""
        shape = Shape(lines=(points,), edge=role, width=width, dash=dash)
        self._add(shape, in_the_way=in_the_way)

    def strokes(self, lines: Iterable[Segment], *, role: str = "rule", width: float = 0.8) -> None:
        """Many short lines of one kind: ticks, hatching; none is fine too."""
        if drawn := tuple(lines):
            self._add(Shape(lines=drawn, edge=role, width=width))

    def area(
        self,
        points: Iterable[Point],
        *,
        fill: str = "fill",
        edge: str | None = "ink",
        width: float = 1.1,
    ) -> None:
        """A filled outline."""
        self._add(Shape(lines=(tuple(points),), edge=edge, fill=fill, closed=True, width=width))

    def disc(self, centre: Point, radius: float, *, fill: str = "fill", edge: str = "ink") -> None:
        """A filled circle."""
        self.area(arc(centre, radius, 0.0, 2 * np.pi)[:-1], fill=fill, edge=edge)

    def arrow(
        self,
        tail: Point,
        tip: Point,
        *,
        role: str,
        width: float = 1.8,
        head: float = HEAD,
        dash: Dash = (),
        open_head: bool = False,
    ) -> None:
        """A straight arrow; an open head is an angle, a closed one a filled triangle."""
        length = abs(tip - tail)
        head = min(head, 0.85 * length)
        foot = between(tip, tail, head / length)
        side = 0.36j * (tip - foot)
        barbs = (foot + side, tip, foot - side)
        if open_head or length > head:
            self.line(tail, tip if open_head else foot, role=role, width=width, dash=dash)
        if open_head:
            self.line(*barbs, role=role, width=width)
        else:
            self.area(barbs, fill=role, edge=None)

    def label(
        self,
        *lines: Line,
        at: Iterable[Spot],
        role: str = "ink",
        of: Sequence[Point] = (),
        align: float = 0.5,
    ) -> Box:
        """Words at the best of their spots; gives the box that they take up."""
        label = set_out(*lines, align=align)
        return self.labels([Wish(label=label, spots=tuple(at), of=of, role=role)])[0]

    def labels(self, wishes: Sequence[Wish]) -> tuple[Box, ...]:
        """Several labels, placed with regard to each other.

        Those that had to be pushed aside get a line to what they name.
        """
        here = []
        for wish in wishes:
            spots = [replace(spot, at=self.on_sheet(spot.at)) for spot in wish.spots]
            here.append(replace(wish, spots=spots, of=[self.on_sheet(point) for point in wish.of]))
        taken, sides = [box for _, box in self.labelled], (1.0, WIDTH - 1.0)
        boxes = place(here, boxes=taken, segments=self.segments, sides=sides)
        self.labelled += zip(here, boxes, strict=True)
        for wish, box in zip(here, boxes, strict=True):
            leaders, lengths = leaders_of(np.array([box]), wish.of)
            for x0, y0, x1, y1 in leaders[lengths > FAR].tolist():
                self.segments.append((complex(x0, y0), complex(x1, y1)))
                self.shapes.append(Shape(lines=(self.segments[-1],), edge=wish.role, width=0.6))
        return boxes

    def svg(self, figure_id: str, title: str, description: str) -> str:
        """One element whose ids all begin with ``figure_id``; the words stand for it."""
        low, high = self.extent()
        top, height = high + MARGIN, high - low + 2 * MARGIN
        lines = [
            f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {WIDTH:g} {_places(height)}" '
            f'role="img" id="{figure_id}" aria-labelledby="{figure_id}-title {figure_id}-desc" '
            f'style="width: 100%; max-width: {WIDTH * PIXELS_PER_POINT:.0f}px; height: auto; '
            'fill: none; stroke-linejoin: round">',
            f'<title id="{figure_id}-title">{escape(title, quote=False)}</title>',
            f'<desc id="{figure_id}-desc">{escape(description, quote=False)}</desc>',
            *(_path(shape, top) for shape in self.shapes),
            f'<g data-search-exclude="" style="font: {WORD_SIZE}px {WORDS}; white-space: pre">',
            *(text for wish, box in self.labelled for text in _texts(wish, box, top)),
            "</g>",
            "</svg>",
        ]
        return "\n".join(lines)


def _path(shape: Shape, top: float) -> str:
    """All lines of a shape; ends are round where nothing else shapes them."""
    styles = [f"fill: {palette()[shape.fill].css}"] if shape.fill else []
    if shape.edge:
        styles += [f"stroke: {palette()[shape.edge].css}", f"stroke-width: {shape.width:g}"]
    if shape.dash:
        styles.append(f"stroke-dasharray: {' '.join(f'{part:g}' for part in shape.dash)}")
    elif not shape.closed and shape.width < 2.5:
        styles.append("stroke-linecap: round")
    pairs = [[f"{_places(p.real)} {_places(top - p.imag)}" for p in line] for line in shape.lines]
    end = "z" if shape.closed else ""
    data = "".join(f"M{'L'.join(line)}{end}" for line in pairs)
    return f'<path d="{data}" style="{"; ".join(styles)}"/>'


def _texts(wish: Wish, box: Box, top: float) -> Iterator[str]:
    """Words are stretched to the width that was reckoned with; a formula has its own font."""
    colour = f"fill: {palette()[wish.role].css}"
    for part in wish.label.parts:
        shown = []
        for piece in part:
            x, y = _places(box.left + piece.x), _places(top - box.bottom - piece.y)
            fit = f'textLength="{_places(piece.width)}" lengthAdjust="spacingAndGlyphs"'
            size = f'font-size="{_places(piece.size)}"' if piece.formula else fit
            shown.append((f'x="{x}" y="{y}" {size}', escape(piece.text, quote=False)))
        if part[0].formula:
            pieces = "".join(f"<tspan {look}>{text}</tspan>" for look, text in shown)
            yield f'<text style="{colour}; font-family: {FORMULAS}">{pieces}</text>'
        else:
            yield from (f'<text {look} style="{colour}">{text}</text>' for look, text in shown)


def _places(number: float) -> str:
    """To a hundredth of a point."""
    text = f"{number:.2f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text
