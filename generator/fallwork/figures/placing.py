"""Where labels stand: takes labels, wished places and what is in the way, gives boxes.

A label stands at the first wished place where it touches nothing; failing that, where it touches
least. Points throughout, y up.
"""

import cmath
import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache
from operator import itemgetter
from statistics import fmean
from typing import Any, NamedTuple

import numpy as np

from fallwork.figures.geometry import Point
from fallwork.figures.lettering import Label, Line, set_out

Segment = tuple[Point, Point]
Array = np.ndarray[Any, Any]
Flags = np.ndarray[Any, np.dtype[np.bool]]

NEAR = 5.0  # pt from a thing to its label
CLEARANCE = 1.5  # pt around a label that stay empty
APART = 4.0  # pt between two labels
LIKE_ONE = np.array([12.0, 0.0])  # pt across and up: two labels that would be read as one
FAR = 8.5  # pt from a thing to a label that needs a leader
CUT = 1.5  # pt at each end of a leader: there it may touch
WORSE, BAD, POOR = 40, 8, 2  # two words on each other, a line through a word, one over a leader


class Box(NamedTuple):
    """An upright rectangle in points."""

    left: float
    bottom: float
    right: float
    top: float

    @property
    def corners(self) -> tuple[Point, Point, Point, Point]:
        """From the lower left one counter-clockwise."""
        low, high = complex(self.left, self.bottom), complex(self.right, self.top)
        return (low, complex(self.right, self.bottom), high, complex(self.left, self.top))


class Spot(NamedTuple):
    """A wished place: the label's fraction (``across``, ``up``) of its box stands at ``at``."""

    at: Point
    across: float  # 0: the label begins at the point, 1: it ends there
    up: float  # 0: the label stands on the point, 1: it hangs from it


@dataclass(frozen=True, kw_only=True)
class Wish:
    """A label and the spots where it may stand, the best first."""

    label: Label
    spots: tuple[Spot, ...]
    of: tuple[Point, ...] = ()  # the line that it names: far from it, it needs a leader
    role: str = "ink"
    about: str = ""  # the object, surface or string that it names


def wish(*lines: Line, at: Iterable[Spot], align: float = 0.5, **more: Any) -> Wish:
    """A wish for words or formulas in lines; ``more`` as in ``Wish``."""
    return Wish(label=set_out(*lines, align=align), spots=tuple(at), **more)


def beside(at: Point, angle: float, gap: float = NEAR, steep: float = math.sqrt(2)) -> Spot:
    """A spot a little away from a point in a direction (rad), nearest edge or corner first; the
    larger ``steep``, the sooner a corner, as a slanted line through the point needs it.
    """
    parts = (math.cos(angle), math.sin(angle))
    across, up = (0.5 - 0.5 * max(-1.0, min(1.0, steep * part)) for part in parts)
    return Spot(at + cmath.rect(gap, angle), across, up)


def around(
    *points: Point, angles: Sequence[float], gaps: Sequence[float] = (NEAR,), **steep: float
) -> Iterator[Spot]:
    """Spots beside points in several directions (degrees), near ones first."""
    for gap in gaps:
        for point in points:
            yield from (beside(point, math.radians(angle), gap, **steep) for angle in angles)


@lru_cache(maxsize=1000)  # many labs have the same drawings, and so have pages of a lab
def place(
    wishes: tuple[Wish, ...],
    *,
    boxes: tuple[Box, ...],
    segments: tuple[Segment, ...],
    sides: tuple[float, float],
) -> tuple[Box, ...]:
    """Boxes of labels at spots where they are free, between the sheet's two ``sides``.

    Each takes the first spot that costs least; of several orders in which they may choose, the
    one that costs least in all is taken.
    """
    taken, lines = np.array(boxes).reshape(-1, 4), plane(segments).reshape(-1, 4)
    candidates, alone = [], []
    for wish in wishes:
        size = np.array([wish.label.width, wish.label.height])
        shares = np.array([(spot.across, spot.up) for spot in wish.spots])
        low = plane([spot.at for spot in wish.spots]) - shares * size
        low[:, 0] = np.maximum(np.minimum(low[:, 0], sides[1] - size[0]), sides[0])
        candidates.append(np.hstack([low, low + size]))
        alone.append(_costs(candidates[-1], wish, wishes, taken, lines))
    numbers, tried = tuple(range(len(wishes))), []
    for order in [numbers[first:] + numbers[:first] for first in numbers] + [numbers[::-1]]:
        chosen: dict[int, Box] = {}
        whole = 0
        for number in order:
            others = np.array([*chosen.values()]).reshape(-1, 4)
            costs = alone[number] + _beside_words(candidates[number], others)
            best = int(np.argmin(costs))
            chosen[number] = Box(*candidates[number][best].tolist())
            whole += int(costs[best])
        tried.append((whole, chosen))
        if not whole:
            break
    chosen = min(tried, key=itemgetter(0))[1]
    return tuple(chosen[number] for number in numbers)


def plane(points: Sequence[Point] | Sequence[Segment]) -> Array:
    """(..., 2): the two coordinates of points."""
    return np.array(points, dtype=complex)[..., None].view(float)


def _costs(spots: Array, wish: Wish, wishes: Sequence[Wish], boxes: Array, lines: Array) -> Array:
    """What each spot costs without the words that are placed with it, but for being nearer to what
    another one of them names than to its own.
    """
    if len(spots) == 1:  # nothing to choose
        return np.zeros(1)
    room = spots + CLEARANCE * np.array([-1, -1, 1, 1])
    costs = _beside_words(spots, boxes) + BAD * crossing(room, lines).sum(axis=1)
    leaders, lengths = leaders_of(spots, wish.of)
    others = [leaders_of(spots, other.of)[1] for other in wishes if other is not wish and other.of]
    costs += np.min([lengths, *others], axis=0) < lengths
    if (far := lengths > FAR).any():
        leaders, lengths = leaders[far], lengths[far]
        inner = leaders + (CUT / lengths)[:, None] * (np.roll(leaders, 2, axis=1) - leaders)
        costs[far] += BAD * crossing(boxes, leaders).sum(axis=0)
        costs[far] += POOR * cutting(inner, lines).sum(axis=1)
    return np.asarray(costs)


def _beside_words(spots: Array, boxes: Array) -> Array:
    """What each spot costs for other words: on it, or so near in its line that both are one."""
    one, other = spots[:, None], boxes[None]

    def met(apart: Array | float) -> Any:
        near = (one[..., :2] < other[..., 2:] + apart) & (other[..., :2] < one[..., 2:] + apart)
        return near.all(axis=-1).sum(axis=1)

    return np.asarray((WORSE - 1) * met(APART) + met(LIKE_ONE))


def cutting(some: Array, lines: Array) -> Flags:
    """(some, lines): whether two straight lines cross each other."""
    a, b = (some[:, None, part] for part in (slice(0, 2), slice(2, 4)))
    c, d = (lines[None, :, part] for part in (slice(0, 2), slice(2, 4)))

    def side(start: Array, end: Array, point: Array) -> Array:
        one, other = end - start, point - start
        return np.asarray(np.sign(one[..., 0] * other[..., 1] - one[..., 1] * other[..., 0]))

    apart = side(a, b, c) * side(a, b, d) < 0
    return np.logical_and(apart, side(c, d, a) * side(c, d, b) < 0)


def crossing(boxes: Array, lines: Array) -> Flags:
    """(boxes, lines): whether a straight line passes through a box.

    It does where neither an upright or level line nor the straight line itself parts the two.
    """
    left, bottom, right, top = (edge[:, None] for edge in boxes.T)
    x0, y0, x1, y1 = (end[None] for end in lines.T)
    apart = (np.maximum(x0, x1) <= left) | (np.minimum(x0, x1) >= right)
    apart |= (np.maximum(y0, y1) <= bottom) | (np.minimum(y0, y1) >= top)
    corners = ((left, bottom), (right, bottom), (right, top), (left, top))
    sides = [(x1 - x0) * (y - y0) - (y1 - y0) * (x - x0) for x, y in corners]
    return np.asarray(~apart & (np.min(sides, axis=0) <= 0) & (np.max(sides, axis=0) >= 0))


def nearest(points: Array, lines: Array) -> Array:
    """(..., 2): the points of straight lines that are nearest to ``points``, one line for each."""
    start, step = lines[..., :2], lines[..., 2:] - lines[..., :2]
    square = (step**2).sum(axis=-1)
    part = ((points - start) * step).sum(axis=-1) / np.where(square, square, 1.0)
    return np.asarray(start + np.clip(part, 0.0, 1.0)[..., None] * step)


def leaders_of(boxes: Array, line: Sequence[Point]) -> tuple[Array, Array]:
    """(boxes, 4), (boxes,): the shortest way from each label to the line that it names, if any."""
    if not line:
        return boxes, np.zeros(len(boxes))
    ends = plane(line)
    lines = np.hstack([ends[:-1], ends[1:]])[None]
    low, high = boxes[:, None, :2], boxes[:, None, 2:]
    end = nearest((low + high) / 2, lines)
    for _ in range(3):  # from the middle of the label to its edge and back
        start = np.clip(end, low, high)
        end = nearest(start, lines)
    lengths = np.hypot(*(start - end).T)
    rows, best = np.arange(len(boxes)), np.argmin(lengths, axis=0)
    return np.hstack([start[rows, best], end[rows, best]]), lengths[best, rows]


def spread(
    wished: Sequence[float], heights: Sequence[float], gap: float, lowest: float, highest: float
) -> tuple[float, ...]:
    """Middles of labels in one column, near the wished ones, with ``gap`` between two.

    Neighbours that would touch stand as a block at the mean of their wishes (least squares for an
    ordered column); all stand between ``lowest`` and ``highest`` where these leave room.
    """
    order = sorted(range(len(wished)), key=lambda index: wished[index])
    middles, stacked = {}, 0.0  # from the bottom, if all touch
    blocks: list[list[float]] = []  # what each label rises above the stack
    for index in order:
        middles[index] = stacked + heights[index] / 2
        stacked += heights[index] + gap
        blocks.append([wished[index] - middles[index]])
        while len(blocks) > 1 and fmean(blocks[-2]) >= fmean(blocks[-1]):
            blocks[-2:] = [blocks[-2] + blocks[-1]]
    rises = [fmean(block) for block in blocks for _ in block]
    most = max(lowest, highest - (stacked - gap))
    placed = dict(zip(order, (min(max(rise, lowest), most) for rise in rises), strict=True))
    return tuple(middles[index] + placed[index] for index in range(len(wished)))
