"""Axes to plot in: takes ranges in the units that the axis titles name, gives panels that draw.

Boxes in points.
"""

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any

from fallwork.figures.drawing import Drawing
from fallwork.figures.geometry import Point
from fallwork.figures.lettering import set_out
from fallwork.figures.placing import Box, Spot, around, beside
from fallwork.lesson.rounding import MINUS

TICK = 3.0  # pt
NEAR = 3.0  # pt between a tick and its number
RIGHT = 251.0  # pt; where axes end on a sheet of full width
DOT = 1.9  # pt, of a reading
DASHES = (3.5, 2.5)  # of what leads from a curve to an axis

Range = tuple[float, float]
Pair = Sequence[float]  # a point in the units of the axes


@dataclass(frozen=True, kw_only=True)
class Panel:
    """A pair of axes in a box of a sheet."""

    drawing: Drawing
    box: Box
    x_range: Range
    y_range: Range

    def at(self, x: float, y: float) -> Point:
        """The place on the sheet of a point in the units of the axes."""
        (x0, x1), (y0, y1), box = self.x_range, self.y_range, self.box
        return complex(
            box.left + (x - x0) / (x1 - x0) * (box.right - box.left),
            box.bottom + (y - y0) / (y1 - y0) * (box.top - box.bottom),
        )

    def line(self, *points: Pair, **look: Any) -> None:
        """A line through points in the units of the axes."""
        self.drawing.line(*(self.at(*point) for point in points), **look)

    def dots(self, readings: Iterable[Pair]) -> None:
        """Readings: lines so short that their round ends make a dot."""
        ends = ((place, place + 0.01j) for place in (self.at(*each) for each in readings))
        self.drawing.strokes(ends, role="quiet", width=DOT)

    def shade(self, start: Pair, end: Pair, role: str) -> None:
        """A tinted rectangle between two points in the units of the axes."""
        (x0, y0), (x1, y1) = start, end
        corners = ((x0, y0), (x1, y0), (x1, y1), (x0, y1))
        self.drawing.area((self.at(*corner) for corner in corners), fill=role, role=None)

    def axes(
        self, y_title: str, x_title: str = "", *, x: bool = True, x_numbers: bool = True
    ) -> None:
        """Axes with ticks; the upright axis has its title above it, the other one below."""
        (left, bottom, right, top), draw = self.box, self.drawing
        foot = complex(left, bottom)
        draw.line(complex(left, top), foot, complex(right, bottom), role="quiet", width=0.8)
        upright, level = ticks(*self.y_range), ticks(*self.x_range) if x else ()
        for way, values, feet in (
            (180, upright, [self.at(self.x_range[0], y) for y in upright]),
            (-90, level, [self.at(x, self.y_range[0]) for x in level]),
        ):
            outer = [beside(at, math.radians(way), TICK).at for at in feet]
            draw.strokes(zip(outer, feet, strict=True), role="quiet")
            texts = tick_labels(values) if way == 180 or x_numbers else ()
            for at, text in zip(feet, texts, strict=False):
                spots = around(at, angles=[way], gaps=[TICK + NEAR])
                draw.label(text, at=spots, role="quiet")
        if self.y_range[0] < 0.0 < self.y_range[1]:
            self.line(*((x, 0.0) for x in self.x_range), role="quiet", width=0.6)
        draw.label(y_title, at=[Spot(complex(0.0, top + 6.0), 0.0, 0.0)])
        if x_title:
            below = complex(right, bottom - TICK - NEAR - 13.0)
            draw.label(x_title, at=[Spot(below, 1.0, 1.0)])


def ticks(low: float, high: float, most: int = 5) -> tuple[float, ...]:
    """Round values from ``low`` to ``high``, at most so many steps, of 1, 2 or 5 times 10ⁿ."""
    power = 10.0 ** math.floor(math.log10((high - low) / most))
    step = next(s * power for s in (1, 2, 5, 10, 20) if (high - low) / (s * power) <= most)
    first, last = math.ceil(low / step - 1e-9), math.floor(high / step + 1e-9)
    return tuple(round(count * step, 12) for count in range(first, last + 1))


def tick_labels(values: Sequence[float]) -> tuple[str, ...]:
    """The values with as many decimals as the step needs."""
    if not values:
        return ()
    step = values[1] - values[0] if len(values) > 1 else values[0] or 1.0
    decimals = max(0, -math.floor(math.log10(abs(step)) + 1e-9))
    return tuple(f"{value:.{decimals}f}".replace("-", MINUS) for value in values)


def panels(
    x_range: Range, *y_ranges: Range, height: float, between: float = 0.0, right: float = RIGHT
) -> tuple[Panel, ...]:
    """Axes on a new sheet, of one height below each other, from the top, ``between`` apart in pt.

    They begin where the numbers of all have room.
    """
    labels = [text for y_range in y_ranges for text in tick_labels(ticks(*y_range))]
    left = max(set_out(text).width for text in labels) + TICK + NEAR + 2.0
    drawing, found = Drawing(), []
    for index, y_range in enumerate(y_ranges, start=1):
        bottom = (height + between) * (len(y_ranges) - index)
        box = Box(left=left, bottom=bottom, right=right, top=bottom + height)
        found.append(Panel(drawing=drawing, box=box, x_range=x_range, y_range=y_range))
    return tuple(found)


def with_room(values: Iterable[float], room: float = 0.15) -> Range:
    """A range from 0 that holds all values, with some room beyond the furthest on each side."""
    found = [0.0, *values]
    low, high = min(found), max(found)
    spread = (high - low) or 1.0
    return (low - room * spread if low < 0 else 0.0, high + room * spread if high > 0 else 0.0)
