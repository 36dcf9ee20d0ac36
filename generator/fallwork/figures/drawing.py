"""A drawing as a list of shapes and labels by role: takes strokes, arrows and words.

Coordinates in points, y up, from any origin: the sheet is cut to what was drawn. Every stroke and
label is remembered as being in the way of later labels.
"""

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np

from fallwork.figures.lettering import Line, set_out
from fallwork.figures.placing import FAR, Box, Point, Segment, Spot, Wish, leaders_of, place

WIDTH = 259.2  # pt; 3.6 inches: words stay near 11 px on a screen of 320 px
HEAD = 7.5  # pt, length of an arrow's head

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

    def __init__(self, *, scale: float = 1.0, shift: Point = (0.0, 0.0)) -> None:
        self.scale = scale  # of all coordinates that come in, not of words and line widths
        self.shift = shift  # added after scaling
        self.shapes: list[Shape] = []
        self.labelled: list[tuple[Wish, Box]] = []
        self.segments: list[Segment] = []  # in the way of labels

    def add(self, shape: Shape, *, in_the_way: bool = True) -> None:
        """One more shape."""
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
        self.add(shape, in_the_way=in_the_way)

    def strokes(self, lines: Iterable[Segment], *, role: str = "rule", width: float = 0.8) -> None:
        """Many short lines of one kind: ticks, hatching; none is fine too."""
        if drawn := tuple(lines):
            self.add(Shape(lines=drawn, edge=role, width=width))

    def area(
        self,
        points: Iterable[Point],
        *,
        fill: str = "fill",
        edge: str | None = "ink",
        width: float = 1.1,
    ) -> None:
        """A filled outline."""
        self.add(Shape(lines=(tuple(points),), edge=edge, fill=fill, closed=True, width=width))

    def disc(self, centre: Point, radius: float, *, fill: str = "fill", edge: str = "ink") -> None:
        """A filled circle."""
        self.area(arc(centre, radius, 0.0, 2 * math.pi)[:-1], fill=fill, edge=edge)

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
        length = math.dist(tail, tip)
        head = min(head, 0.85 * length)
        foot = between(tip, tail, head / length)
        x, y = 0.36 * (tip[0] - foot[0]), 0.36 * (tip[1] - foot[1])
        barbs = ((foot[0] - y, foot[1] + x), tip, (foot[0] + y, foot[1] - x))
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
            leaders, lengths = leaders_of(np.array([box.edges]), wish.of)
            for x0, y0, x1, y1 in leaders[lengths > FAR].tolist():
                self.segments.append(((x0, y0), (x1, y1)))
                self.shapes.append(Shape(lines=(self.segments[-1],), edge=wish.role, width=0.6))
        return boxes

    def on_sheet(self, point: Point) -> Point:
        """Where a point of the drawing's own coordinates stands."""
        return (self.scale * point[0] + self.shift[0], self.scale * point[1] + self.shift[1])

    def extent(self) -> tuple[float, float]:
        """The lowest and the highest y of all that was drawn."""
        heights = [y for shape in self.shapes for line in shape.lines for _, y in line]
        heights += [y for _, box in self.labelled for y in (box.bottom, box.top)]
        return min(heights), max(heights)


def arc(centre: Point, radius: float, start: float, end: float) -> tuple[Point, ...]:
    """Points on a circle between two angles in rad, close enough to look round."""
    steps = max(2, math.ceil(abs(end - start) / math.radians(12)))
    angles = (start + (end - start) * step / steps for step in range(steps + 1))
    return tuple(along(centre, radius, angle) for angle in angles)


def along(start: Point, length: float, angle: float) -> Point:
    """The point at a distance in a direction, in rad from the x axis."""
    return (start[0] + length * math.cos(angle), start[1] + length * math.sin(angle))


def between(start: Point, end: Point, part: float) -> Point:
    """The point after a part of the way from one point to another."""
    return (start[0] + part * (end[0] - start[0]), start[1] + part * (end[1] - start[1]))


def turned(point: Point, angle: float) -> Point:
    """A point turned about the origin by an angle in rad."""
    (x, y), cosine, sine = point, math.cos(angle), math.sin(angle)
    return (x * cosine - y * sine, x * sine + y * cosine)
