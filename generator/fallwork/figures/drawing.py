"""A drawing as a list of shapes and labels by role, and as an ``<svg>`` fit to stand in a page.

Coordinates in points, y up, from any origin: the sheet is cut to what was drawn. Every stroke and
label is remembered as being in the way of later labels. In the SVG colours are the page's
variables, of which the site's style sheet is made too (``palette.yaml``), and words are text that
fits whatever face the reader has.
"""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cache
from html import escape
from itertools import pairwise
from typing import Any

import numpy as np

from fallwork.errors import table
from fallwork.figures.geometry import Point, arc, between
from fallwork.figures.lettering import WORD_SIZE, Line
from fallwork.figures.placing import FAR, Box, Segment, Spot, Wish, leaders_of, place, wish

WIDTH = 259.2  # pt; 3.6 inches: words stay near 11 px on a screen of 320 px
HEAD = 7.5  # pt, length of an arrow's head
MARGIN = 3.0  # pt, above and below
PIXELS_PER_POINT = 1.55  # widest display: words then stand about 15 px high
WORDS = "var(--md-text-font-family, system-ui, Helvetica, Arial, sans-serif)"
FORMULAS = "'STIX Two Math', 'Cambria Math', math, serif"

Dash = tuple[float, ...]  # pt of line and gap


@dataclass(frozen=True, kw_only=True)
class Role:
    """One colour of the figures; values are ``#rrggbb`` in lower case."""

    name: str
    use: str  # "text", "graphic", "ground": decides the contrast that it needs
    light: str
    dark: str
    meaning: str

    @property
    def css(self) -> str:
        """The colour in an SVG: the page's variable, with the light value to fall back on."""
        return f"var(--fw-{self.name}, {self.light})"


@cache
def palette() -> Mapping[str, Role]:
    """All roles by name, in the order of the file."""
    roles = table("figures", "palette").items()
    return {name: Role(name=name, **each) for name, each in roles}


@dataclass(frozen=True, kw_only=True)
class Shape:
    """One or more lines of one look, open or closed; roles give the colours."""

    lines: tuple[tuple[Point, ...], ...]
    role: str | None = "ink"  # of the outline
    fill: str | None = None
    closed: bool = False
    width: float = 1.1  # pt
    dash: Dash = ()
    about: str = ""  # the object, surface or string that it belongs to, by its name


class Drawing:
    """Collects shapes and labels, later ones on top. A ``look`` is of the fields of ``Shape``."""

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

    def line(self, *points: Point, in_the_way: bool = True, **look: Any) -> None:
        """A line through points."""
        self.strokes([points], in_the_way=in_the_way, **{"role": "ink", "width": 1.1, **look})

    def area(self, points: Iterable[Point], **look: Any) -> None:
        """A filled outline."""
        look = {"role": "ink", "width": 1.1, "fill": "fill", **look}
        self.strokes([points], closed=True, **look)

    def disc(self, centre: Point, radius: float, **look: Any) -> None:
        """A filled circle."""
        self.area(arc(centre, radius, 0.0, 2 * np.pi)[:-1], **look)

    def strokes(
        self, lines: Iterable[Iterable[Point]], *, in_the_way: bool = True, **look: Any
    ) -> None:
        """Many lines of one look, thin ones as of ticks by default; none is fine too."""
        drawn = tuple(tuple(map(self.on_sheet, line)) for line in lines)
        shape = Shape(lines=drawn, **{"role": "rule", "width": 0.8, **look})
        self.shapes += [shape] if drawn else []
        for line in drawn if in_the_way else ():
            self.segments += pairwise((*line, line[0]) if shape.closed else line)

    def arrow(
        self, tail: Point, tip: Point, *, head: float = HEAD, open_head: bool = False, **look: Any
    ) -> None:
        """A straight arrow; an open head is an angle, a closed one a filled triangle."""
        length, look = abs(tip - tail), {"width": 1.8, **look}
        head = min(head, 0.85 * length)
        foot = between(tip, tail, head / length)
        side = 0.36j * (tip - foot)
        barbs = (foot + side, tip, foot - side)
        if open_head or length > head:
            self.line(tail, tip if open_head else foot, **look)
        if open_head:
            self.line(*barbs, **{**look, "dash": ()})
        else:
            self.area(barbs, fill=look["role"], role=None)

    def label(self, *lines: Line, at: Iterable[Spot], **more: Any) -> Box:
        """Words at the best of their spots, as in ``wish``; gives the box that they take up."""
        return self.labels([wish(*lines, at=at, **more)])[0]

    def labels(self, wishes: Sequence[Wish]) -> tuple[Box, ...]:
        """Several labels, placed with regard to each other.

        Those that had to be pushed aside get a line to what they name.
        """
        here = []
        for each in wishes:
            spots = tuple(Spot(self.on_sheet(at), *shares) for at, *shares in each.spots)
            here.append(replace(each, spots=spots, of=tuple(map(self.on_sheet, each.of))))
        taken, lines = tuple(box for _, box in self.labelled), tuple(self.segments)
        boxes = place(tuple(here), boxes=taken, segments=lines, sides=(1.0, WIDTH - 1.0))
        self.labelled += zip(here, boxes, strict=True)
        for each, box in zip(here, boxes, strict=True):
            leaders, lengths = leaders_of(np.array([box]), each.of)
            for x0, y0, x1, y1 in leaders[lengths > FAR].tolist():
                self.segments.append((complex(x0, y0), complex(x1, y1)))
                self.shapes.append(Shape(lines=(self.segments[-1],), role=each.role, width=0.6))
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
            f'<g style="font: {WORD_SIZE}px {WORDS}; white-space: pre">',
            *(text for each, box in self.labelled for text in _texts(each, box, top)),
            "</g>",
            "</svg>",
        ]
        return "\n".join(lines)


def _path(shape: Shape, top: float) -> str:
    """All lines of a shape; ends are round where nothing else shapes them."""
    styles = [f"fill: {palette()[shape.fill].css}"] if shape.fill else []
    if shape.role:
        styles += [f"stroke: {palette()[shape.role].css}", f"stroke-width: {shape.width:g}"]
    if shape.dash:
        styles.append(f"stroke-dasharray: {' '.join(f'{part:g}' for part in shape.dash)}")
    elif not shape.closed and shape.width < 2.5:
        styles.append("stroke-linecap: round")
    pairs = [[f"{_places(p.real)} {_places(top - p.imag)}" for p in line] for line in shape.lines]
    end = "z" if shape.closed else ""
    data = "".join(f"M{'L'.join(line)}{end}" for line in pairs)
    about = f' data-object="{shape.about}"' if shape.about else ""
    return f'<path d="{data}"{about} style="{"; ".join(styles)}"/>'


def _texts(label: Wish, box: Box, top: float) -> Iterator[str]:
    """Words are stretched to the width that was reckoned with; a formula has its own font."""
    colour = f"fill: {palette()[label.role].css}"
    about = f' data-object="{label.about}"' if label.about else ""
    for part in label.label.parts:
        shown = []
        for piece in part:
            x, y = _places(box.left + piece.x), _places(top - box.bottom - piece.y)
            fit = f'textLength="{_places(piece.width)}" lengthAdjust="spacingAndGlyphs"'
            size = f'font-size="{_places(piece.size)}"' if piece.formula else fit
            shown.append((f'x="{x}" y="{y}" {size}', escape(piece.text, quote=False)))
        if part[0].formula:
            pieces = "".join(f"<tspan {look}>{text}</tspan>" for look, text in shown)
            yield f'<text{about} style="{colour}; font-family: {FORMULAS}">{pieces}</text>'
        else:
            yield from (
                f'<text{about} {look} style="{colour}">{text}</text>' for look, text in shown
            )


def _places(number: float) -> str:
    """To a hundredth of a point."""
    text = f"{number:.2f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text
