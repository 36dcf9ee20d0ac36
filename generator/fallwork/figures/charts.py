"""Axes to plot in: takes ranges and a box on the sheet, draws axes with ticks, gives positions.

Boxes in points; ranges in the units that the axis titles name.
"""

import math
from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from fallwork.figures.canvas import WORD_SIZE, Box, Point, measure
from fallwork.figures.drawing import Drawing
from fallwork.figures.labels import Segment, Spot, Words
from fallwork.lesson.rounding import MINUS

TICK = 3.0  # pt
NEAR = 3.0  # pt between a tick and its number
RIGHT = 251.0  # pt; where axes end on a sheet of full width


@dataclass(frozen=True, kw_only=True)
class Panel:
    """A pair of axes in a box of the sheet."""

    box: Box
    x_range: tuple[float, float]
    y_range: tuple[float, float]

    def at(self, x: float, y: float) -> Point:
        """The place on the sheet of a point in the units of the axes."""
        return (
            _between(x, self.x_range, (self.box.left, self.box.right)),
            _between(y, self.y_range, (self.box.bottom, self.box.top)),
        )

    def draw(
        self,
        drawing: Drawing,
        *,
        x_title: str,
        y_title: str,
        x_ticks: bool = True,
        numbers: bool = True,
    ) -> None:
        """Axes with ticks; the upright axis has its title above it, the other one below."""
        corner, base = (self.box.left, self.box.top), (self.box.left, self.box.bottom)
        drawing.line(corner, base, (self.box.right, self.box.bottom), role="quiet", width=0.8)
        self._draw_y_ticks(drawing)
        if x_ticks:
            self._draw_x_ticks(drawing, numbers=numbers)
        if self.y_range[0] < 0.0 < self.y_range[1]:
            ends = (self.at(self.x_range[0], 0.0), self.at(self.x_range[1], 0.0))
            drawing.line(*ends, role="quiet", width=0.6)
        above = Spot(at=(0.0, self.box.top + 6.0), across=0.0, up=0.0)
        drawing.label(Words(lines=((y_title,),)), (above,))
        if x_title:
            y = self.box.bottom - TICK - NEAR - 13.0
            below = Spot(at=(self.box.right, y), across=1.0, up=1.0)
            drawing.label(Words(lines=((x_title,),)), (below,))

    def _draw_y_ticks(self, drawing: Drawing) -> None:
        values = ticks(*self.y_range)
        points = [self.at(self.x_range[0], value) for value in values]
        drawing.strokes((((x - TICK, y), (x, y)) for x, y in points), role="quiet")
        for (x, y), text in zip(points, tick_labels(values), strict=True):
            spot = Spot(at=(x - TICK - NEAR, y), across=1.0, up=0.5)
            drawing.label(Words(lines=((text,),)), (spot,), role="quiet")

    def _draw_x_ticks(self, drawing: Drawing, *, numbers: bool) -> None:
        values = ticks(*self.x_range)
        points = [self.at(value, self.y_range[0]) for value in values]
        drawing.strokes((((x, y - TICK), (x, y)) for x, y in points), role="quiet")
        for (x, y), text in zip(points, tick_labels(values), strict=True):
            if numbers:
                spot = Spot(at=(x, y - TICK - NEAR), across=0.5, up=1.0)
                drawing.label(Words(lines=((text,),)), (spot,), role="quiet")


def _between(value: float, source: tuple[float, float], target: tuple[float, float]) -> float:
    part = (value - source[0]) / (source[1] - source[0])
    return target[0] + part * (target[1] - target[0])


def ticks(low: float, high: float, most: int = 5) -> tuple[float, ...]:
    """Round values from ``low`` to ``high``, at most so many steps, of 1, 2 or 5 times 10ⁿ."""
    power = 10.0 ** math.floor(math.log10((high - low) / most))
    step = next(s * power for s in (1, 2, 5, 10, 20) if (high - low) / (s * power) <= most)
    first, last = math.ceil(low / step - 1e-9), math.floor(high / step + 1e-9)
    return tuple(round(count * step, 12) for count in range(first, last + 1))


def tick_labels(values: tuple[float, ...]) -> tuple[str, ...]:
    """The values with as many decimals as the step needs."""
    step = values[1] - values[0] if len(values) > 1 else values[0] or 1.0
    decimals = max(0, -math.floor(math.log10(abs(step)) + 1e-9))
    return tuple(f"{value:.{decimals}f}".replace("-", MINUS) for value in values)


def left_edge(*y_ranges: tuple[float, float]) -> float:
    """Where axes have to begin so that the numbers of all these ranges have room, in pt."""
    labels = [text for y_range in y_ranges for text in tick_labels(ticks(*y_range))]
    return max(measure(text, WORD_SIZE)[0] for text in labels) + TICK + NEAR + 2.0


def with_room(values: Iterable[float], room: float = 0.15) -> tuple[float, float]:
    """A range from 0 that holds all values, with some room beyond the furthest on each side."""
    found = [0.0, *values]
    low, high = min(found), max(found)
    spread = (high - low) or 1.0
    return (low - room * spread if low < 0 else 0.0, high + room * spread if high > 0 else 0.0)


def hatching(box: Box, rise: float, step: float) -> Iterator[Segment]:
    """Lines of one slope across a rectangle, cut at its edges; ``rise`` 0 gives level ones."""
    width, height = box.right - box.left, box.top - box.bottom
    reach = abs(rise) * width
    count = int((height + reach) / step)
    for number in range(1, count + 1):
        start = number * step - (reach if rise > 0 else 0.0)
        piece = _clipped(start, rise, width, height)
        if piece:
            (x0, y0), (x1, y1) = piece
            yield (box.left + x0, box.bottom + y0), (box.left + x1, box.bottom + y1)


def _clipped(start: float, rise: float, width: float, height: float) -> Segment | None:
    """The part of y = start + rise x that lies in a rectangle at the origin."""
    if rise == 0.0:
        return ((0.0, start), (width, start)) if 0.0 < start < height else None
    edges = sorted((-start / rise, (height - start) / rise))
    x0, x1 = max(0.0, edges[0]), min(width, edges[1])
    if x1 - x0 < 1e-6:
        return None
    return (x0, start + rise * x0), (x1, start + rise * x1)
