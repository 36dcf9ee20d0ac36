"""Words beside what they name: takes words, wished places and what is in the way, gives a place.

A label stands at the first wished place where it touches nothing; failing that, where it touches
least. Points throughout, y up.
"""

import math
import textwrap
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise

from fallwork.figures.canvas import SYMBOL_SIZE, WORD_SIZE, Box, Point, measure

Segment = tuple[Point, Point]
Phrase = tuple[str, ...]  # words and formulas ("$…$") one after another

NEAR = 5.0  # pt from a thing to its label
LINE_GAP = 3.0  # pt between the lines of a label
RUN_GAP = 3.5  # pt between words and a formula
CLEARANCE = 1.5  # pt around a label that stay empty
APART = 4.0  # pt between two labels
FAR = 8.5  # pt from a thing to a label that needs a leader


@dataclass(frozen=True, kw_only=True)
class Words:
    """A label of one or more lines, centred on one another or flush at one side."""

    lines: tuple[Phrase, ...]
    align: float = 0.5  # 0 left, 0.5 centred, 1 right
    scale: float = 1.0

    def run_size(self, run: str) -> float:
        """The font size of one run in points."""
        return self.scale * (SYMBOL_SIZE if run.startswith("$") else WORD_SIZE)


@dataclass(frozen=True, kw_only=True)
class Run:
    """One piece of text where it stands: left end of its base line."""

    text: str
    size: float
    at: Point


@dataclass(frozen=True, kw_only=True)
class Spot:
    """A wished place: the label's fraction (``across``, ``up``) of its box stands at ``at``."""

    at: Point
    across: float  # 0: the label begins at the point, 1: it ends there
    up: float  # 0: the label stands on the point, 1: it hangs from it


@dataclass(frozen=True, kw_only=True)
class Label:
    """Words with their place."""

    runs: tuple[Run, ...]
    box: Box


def beside(at: Point, angle: float, gap: float = NEAR) -> Spot:
    """A spot a little away from a point in a direction, nearest edge or corner first."""
    x, y = math.cos(angle), math.sin(angle)
    return Spot(at=(at[0] + gap * x, at[1] + gap * y), across=0.5 - 0.5 * x, up=0.5 - 0.5 * y)


def set_out(words: Words) -> Label:
    """The label with its lower left corner at the origin."""
    lines = [_line(phrase, words) for phrase in words.lines]
    width = max(line.box.right for line in lines)
    runs: list[Run] = []
    base = 0.0
    for line in reversed(lines):
        shift = words.align * (width - line.box.right)
        runs += [_moved(run, shift, base - line.box.bottom) for run in line.runs]
        base += line.box.top - line.box.bottom + LINE_GAP
    return Label(runs=tuple(runs), box=Box(left=0, bottom=0, right=width, top=base - LINE_GAP))


def _line(phrase: Phrase, words: Words) -> Label:
    """One line from x = 0; its box reaches below the base line."""
    x = above = below = 0.0
    runs = []
    for text in phrase:
        size = words.run_size(text)
        width, height, depth = measure(text, size)
        runs.append(Run(text=text, size=size, at=(x, 0.0)))
        x += width + RUN_GAP
        above, below = max(above, height), max(below, depth)
    return Label(runs=tuple(runs), box=Box(left=0, bottom=-below, right=x - RUN_GAP, top=above))


def _moved(run: Run, dx: float, dy: float) -> Run:
    return Run(text=run.text, size=run.size, at=(run.at[0] + dx, run.at[1] + dy))


def wrapped(words: str, width: int) -> list[str]:
    """Lines of at most that many characters; a longer word stays whole."""
    return textwrap.wrap(words, width, break_long_words=False)


def stand(label: Label, spot: Spot) -> Label:
    """The label at a spot."""
    dx = spot.at[0] - spot.across * label.box.right
    dy = spot.at[1] - spot.up * label.box.top
    return Label(runs=tuple(_moved(run, dx, dy) for run in label.runs), box=label.box.moved(dx, dy))


@dataclass(frozen=True, kw_only=True)
class Wish:
    """Words and the spots where they may stand, the best first."""

    words: Words
    spots: tuple[Spot, ...]
    of: tuple[Point, ...] = ()  # the line that they name: far from it they need a leader


def place(
    wishes: Sequence[Wish],
    *,
    boxes: Iterable[Box],
    segments: Iterable[Segment],
    sides: tuple[float, float],
) -> tuple[Label, ...]:
    """Labels at spots where they are free, between the sheet's two ``sides``.

    Each takes the first spot that costs least; of several orders in which they may choose, the
    one that costs least in all is taken.
    """
    free = [set_out(wish.words) for wish in wishes]
    candidates = [
        [_pushed_in(stand(label, spot), sides) for spot in wish.spots]
        for label, wish in zip(free, wishes, strict=True)
    ]
    taken, lines = tuple(boxes), tuple(segments)
    alone = [
        list(_costs(spots, wish.of, taken, lines, all_of_them=len(wishes) > 1))
        for wish, spots in zip(wishes, candidates, strict=True)
    ]
    tried = [_in_order(order, candidates, alone) for order in _orders(len(wishes))]
    return min(tried, key=lambda found: found[0])[1]


def _orders(count: int) -> Iterator[tuple[int, ...]]:
    numbers = tuple(range(count))
    for first in range(count):
        yield numbers[first:] + numbers[:first]
    yield numbers[::-1]


def _in_order(
    order: Sequence[int],
    candidates: Sequence[Sequence[Label]],
    alone: Sequence[Sequence[int]],  # what each spot costs without the other labels
) -> tuple[int, tuple[Label, ...]]:
    """The whole cost and the labels, if they choose in this order."""
    chosen: dict[int, Label] = {}
    whole = 0
    for index in order:
        others = [label.box for label in chosen.values()]
        costs = [
            cost + _overlaps(label.box, others)
            for label, cost in zip(candidates[index], alone[index], strict=False)
        ]
        whole += min(costs)
        chosen[index] = candidates[index][costs.index(min(costs))]
    return whole, tuple(chosen[index] for index in range(len(candidates)))


def _pushed_in(label: Label, sides: tuple[float, float]) -> Label:
    left, right = sides
    dx = max(left - label.box.left, 0.0) or min(right - label.box.right, 0.0)
    if not dx:
        return label
    return Label(
        runs=tuple(_moved(run, dx, 0.0) for run in label.runs), box=label.box.moved(dx, 0.0)
    )


def _costs(
    spots: Sequence[Label],
    of: Sequence[Point],
    boxes: Sequence[Box],
    segments: Sequence[Segment],
    *,
    all_of_them: bool,
) -> Iterator[int]:
    """What each spot costs; for a label that has no others beside it, up to the first free one."""
    for label in spots:
        cost = _cost(label.box, of, boxes, segments)
        yield cost
        if not cost and not all_of_them:
            return


def _cost(box: Box, of: Sequence[Point], boxes: Sequence[Box], segments: Sequence[Segment]) -> int:
    """Two words on each other are worse than a line through a word."""
    room = Box(
        left=box.left - CLEARANCE,
        bottom=box.bottom - CLEARANCE,
        right=box.right + CLEARANCE,
        top=box.top + CLEARANCE,
    )
    ends = leader(box, of) if of else None
    led = 0 if ends is None else sum(crosses(other, ends) for other in boxes)
    return led + _overlaps(box, boxes) + sum(crosses(room, segment) for segment in segments)


def distance(point: Point, segment: Segment) -> float:
    """How far a point is from a straight line."""
    return math.dist(point, nearest(point, segment))


def nearest(point: Point, segment: Segment) -> Point:
    """The point of a straight line that is nearest to another point."""
    (x0, y0), (x1, y1) = segment
    square = (x1 - x0) ** 2 + (y1 - y0) ** 2
    part = ((point[0] - x0) * (x1 - x0) + (point[1] - y0) * (y1 - y0)) / square if square else 0.0
    part = min(1.0, max(0.0, part))
    return (x0 + part * (x1 - x0), y0 + part * (y1 - y0))


def leader(box: Box, line: Sequence[Point]) -> Segment | None:
    """A line from a label to what it names, where it stands too far from it to be seen as its."""
    segments = list(pairwise(line)) or [(point, point) for point in line]
    tries = []
    for segment in segments:
        middle = ((box.left + box.right) / 2, (box.bottom + box.top) / 2)
        end = nearest(middle, segment)
        for _ in range(3):  # from the middle of the label to its edge and back
            start = (
                min(max(end[0], box.left), box.right),
                min(max(end[1], box.bottom), box.top),
            )
            end = nearest(start, segment)
        tries.append((math.dist(start, end), (start, end)))
    far, found = min(tries, default=(0.0, None))
    return found if far > FAR else None


def _overlaps(box: Box, boxes: Sequence[Box]) -> int:
    return sum(5 for other in boxes if box.meets(other, APART))


def crosses(box: Box, segment: Segment) -> bool:
    """Whether a straight line passes through a box (clipping by Liang and Barsky)."""
    (x0, y0), (x1, y1) = segment
    enter, leave = 0.0, 1.0
    for step, low, high in (
        (x1 - x0, box.left - x0, box.right - x0),
        (y1 - y0, box.bottom - y0, box.top - y0),
    ):
        if step == 0.0:
            if low > 0.0 or high < 0.0:
                return False
            continue
        first, last = sorted((low / step, high / step))
        enter, leave = max(enter, first), min(leave, last)
    return enter < leave


def spread(
    wished: Sequence[float],
    labels: Sequence[Label],
    *,
    lowest: float = -math.inf,
    highest: float = math.inf,
    gap: float = LINE_GAP,
) -> tuple[float, ...]:
    """Middles of labels in one column, near the wished ones, none touching the next one.

    Neighbours that touch are joined to a block, which stands at the mean of their wishes; none
    reaches below ``lowest``, nor above ``highest`` where there is room for all. ``gap`` stays empty
    between two.
    """
    order = sorted(range(len(wished)), key=lambda index: wished[index])
    blocks: list[list[int]] = []
    for index in order:
        blocks.append([index])
        while len(blocks) > 1 and _touch(blocks[-2], blocks[-1], wished, labels, gap):
            last = blocks.pop()
            blocks[-1] += last
    places = {}
    for index, middle in (
        pair for block in blocks for pair in _stacked(block, wished, labels, gap)
    ):
        half = labels[index].box.top / 2
        places[index] = max(middle, lowest + half)
        lowest = places[index] + half + gap
    for index in reversed(order):
        half = labels[index].box.top / 2
        places[index] = min(places[index], highest - half)
        highest = places[index] - half - gap
    return tuple(places[index] for index in range(len(wished)))


def _stacked(
    block: Sequence[int], wished: Sequence[float], labels: Sequence[Label], gap: float
) -> list[tuple[int, float]]:
    """The middles of a block's labels, from below."""
    heights = [labels[index].box.top + gap for index in block]
    offsets = [sum(heights[:n]) + heights[n] / 2 for n in range(len(block))]
    shift = sum(wished[i] - offset for i, offset in zip(block, offsets, strict=True)) / len(block)
    return [(i, offset + shift) for i, offset in zip(block, offsets, strict=True)]


def _touch(
    lower: Sequence[int],
    upper: Sequence[int],
    wished: Sequence[float],
    labels: Sequence[Label],
    gap: float,
) -> bool:
    below, above = _stacked(lower, wished, labels, gap)[-1], _stacked(upper, wished, labels, gap)[0]
    reach = (labels[below[0]].box.top + labels[above[0]].box.top) / 2 + gap
    return above[1] - below[1] < reach
