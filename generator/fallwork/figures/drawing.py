"""A drawing as a list of shapes: takes strokes, arrows and labels by role, gives a sheet.

Coordinates in points, y up, from any origin: the sheet is cut to what was drawn. Every stroke and
label is remembered as being in the way of later labels.
"""

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import TYPE_CHECKING

from fallwork.figures.canvas import WIDTH, Box, Point, new_sheet
from fallwork.figures.labels import Label, Segment, Spot, Wish, Words, leader, place
from fallwork.figures.palette import colour

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure as Sheet

MARGIN = 3.0  # pt, above and below
HEAD = 7.5  # pt, length of an arrow's head


@dataclass(frozen=True, kw_only=True)
class Shape:
    """One or more lines, open or closed, by roles; ``dash`` in points of line and gap."""

    lines: tuple[tuple[Point, ...], ...]
    edge: str | None = "ink"
    fill: str | None = None
    closed: bool = False
    width: float = 1.1
    dash: tuple[float, ...] = ()


@dataclass(frozen=True, kw_only=True)
class Lettering:
    """A label with its colour."""

    label: Label
    role: str


class Drawing:
    """Collects shapes and labels; ``sheet`` draws them, later ones on top."""

    def __init__(
        self, *, width: float = WIDTH, scale: float = 1.0, shift: Point = (0.0, 0.0)
    ) -> None:
        self.width = width
        self.scale = scale  # of all coordinates that come in, not of words and line widths
        self.shift = shift  # added after scaling
        self.shapes: list[Shape] = []
        self.letterings: list[Lettering] = []
        self.segments: list[Segment] = []

    def add(self, shape: Shape, *, in_the_way: bool = True) -> None:
        """One more shape."""
        lines = tuple(tuple(map(self.on_sheet, line)) for line in shape.lines)
        self.shapes.append(replace(shape, lines=lines))
        if in_the_way:
            for line in lines:
                points = (*line, line[0]) if shape.closed else line
                self.segments += pairwise(points)

    def line(
        self,
        *points: Point,
        role: str = "ink",
        width: float = 1.1,
        dash: tuple[float, ...] = (),
        in_the_way: bool = True,
    ) -> None:
        """A line through points."""
        shape = Shape(lines=(points,), edge=role, width=width, dash=dash)
        self.add(shape, in_the_way=in_the_way)

    def strokes(
        self, lines: Iterable[tuple[Point, Point]], *, role: str = "rule", width: float = 0.8
    ) -> None:
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
        dash: tuple[float, ...] = (),
        open_head: bool = False,
    ) -> None:
        """A straight arrow; an open head is an angle, a closed one a filled triangle."""
        x, y = unit(tail, tip)
        head = min(head, 0.85 * math.dist(tail, tip))
        foot = (tip[0] - head * x, tip[1] - head * y)
        barbs = [(foot[0] - s * 0.36 * head * y, foot[1] + s * 0.36 * head * x) for s in (1, -1)]
        if open_head:
            self.line(tail, tip, role=role, width=width, dash=dash)
            self.line(barbs[0], tip, barbs[1], role=role, width=width)
            return
        if math.dist(tail, tip) > head:
            self.line(tail, foot, role=role, width=width, dash=dash)
        self.area((barbs[0], tip, barbs[1]), fill=role, edge=None)

    def label(
        self, words: Words, spots: Sequence[Spot], *, role: str = "ink", of: Sequence[Point] = ()
    ) -> Box:
        """Words at the best of their spots; gives the box that they take up."""
        return self.labels([(Wish(words=words, spots=tuple(spots), of=tuple(of)), role)])[0]

    def labels(self, wishes: Sequence[tuple[Wish, str]]) -> tuple[Box, ...]:
        """Several words with their roles, placed with regard to each other.

        Words that had to be pushed aside get a line to what they name.
        """
        placed = place(
            [
                Wish(
                    words=wish.words,
                    spots=tuple(replace(spot, at=self.on_sheet(spot.at)) for spot in wish.spots),
                    of=tuple(map(self.on_sheet, wish.of)),
                )
                for wish, _ in wishes
            ],
            boxes=[lettering.label.box for lettering in self.letterings],
            segments=self.segments,
            sides=(1.0, self.width - 1.0),
        )
        self.letterings += [
            Lettering(label=label, role=role)
            for label, (_, role) in zip(placed, wishes, strict=True)
        ]
        for label, (wish, role) in zip(placed, wishes, strict=True):
            ends = leader(label.box, [self.on_sheet(point) for point in wish.of])
            if ends is not None:
                self.shapes.append(Shape(lines=(ends,), edge=role, width=0.6))
                self.segments.append(ends)
        return tuple(label.box for label in placed)

    def on_sheet(self, point: Point) -> Point:
        """Where a point of the drawing's own coordinates stands."""
        return (
            self.scale * point[0] + self.shift[0],
            self.scale * point[1] + self.shift[1],
        )

    def extent(self) -> tuple[float, float]:
        """The lowest and the highest y of all that was drawn."""
        heights = [y for shape in self.shapes for line in shape.lines for _, y in line]
        boxes = [lettering.label.box for lettering in self.letterings]
        heights += [y for box in boxes for y in (box.bottom, box.top)]
        return min(heights), max(heights)

    def sheet(self) -> "Sheet":
        """The drawing on a sheet as high as it needs."""
        from matplotlib.axes import Axes

        low, high = self.extent()
        bottom, top = low - MARGIN, high + MARGIN
        sheet = new_sheet(top - bottom, self.width)
        axes = Axes(sheet, (0, 0, 1, 1), xlim=(0, self.width), ylim=(bottom, top))
        axes.set_axis_off()
        sheet.add_axes(axes)
        for shape in self.shapes:
            _draw(shape, axes)
        for lettering in self.letterings:
            _write(lettering, axes)
        return sheet


def _draw(shape: Shape, axes: "Axes") -> None:
    from matplotlib.patches import PathPatch
    from matplotlib.path import Path

    points: list[Point] = []
    codes = []
    for line in shape.lines:
        points += (*line, line[0]) if shape.closed else line
        codes += [Path.MOVETO] + [Path.LINETO] * (len(line) - 1)
        codes += [Path.CLOSEPOLY] if shape.closed else []
    patch = PathPatch(
        Path(points, codes),
        facecolor=colour(shape.fill) if shape.fill else "none",
        edgecolor=colour(shape.edge) if shape.edge else "none",
        linewidth=shape.width if shape.edge else 0.0,
        linestyle=(0, shape.dash) if shape.dash else "solid",
        capstyle="butt" if shape.dash or shape.closed or shape.width >= 2.5 else "round",
        joinstyle="round",
        clip_on=False,
    )
    axes.add_patch(patch)


def _write(lettering: Lettering, axes: "Axes") -> None:
    for run in lettering.label.runs:
        axes.text(*run.at, run.text, size=run.size, color=colour(lettering.role), clip_on=False)


def unit(start: Point, end: Point) -> Point:
    """The direction from one point to another as a vector of length 1."""
    length = math.dist(start, end)
    return ((end[0] - start[0]) / length, (end[1] - start[1]) / length)


def arc(centre: Point, radius: float, start: float, end: float) -> tuple[Point, ...]:
    """Points on a circle between two angles in rad, close enough to look round."""
    steps = max(2, math.ceil(abs(end - start) / math.radians(12)))
    angles = (start + (end - start) * step / steps for step in range(steps + 1))
    return tuple(along(centre, radius, angle) for angle in angles)


def along(start: Point, length: float, angle: float) -> Point:
    """The point at a distance in a direction, in rad from the x axis."""
    return (start[0] + length * math.cos(angle), start[1] + length * math.sin(angle))


def turned(point: Point, angle: float) -> Point:
    """A point turned about the origin by an angle in rad."""
    x, y = point
    return (
        x * math.cos(angle) - y * math.sin(angle),
        x * math.sin(angle) + y * math.cos(angle),
    )
