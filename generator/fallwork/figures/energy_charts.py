"""Energies of a choice of system as bars on top of each other, and as lines against the distance.

Takes a scene whose slot names a system. A column holds what the system has and what has left it,
so that a total that stays, or grows by the work done on the system, can be seen. The distance is
the path since the start of the phase, of what runs on a surface, or of the run's object where that
goes another distance.
"""

import math
from collections.abc import Iterator, Mapping, Sequence

from fallwork.figures.charts import Panel, hatching, panels, with_room
from fallwork.figures.drawing import WIDTH, Drawing
from fallwork.figures.energies import Energies, EnergyLine, energies_of
from fallwork.figures.lettering import LINE_GAP, WORD_SIZE, set_out, wrapped
from fallwork.figures.motion import path_object
from fallwork.figures.placing import Box, Spot, Wish, around, beside, spread
from fallwork.figures.scene import CannotDrawError, Plate, Scene, plate, say
from fallwork.lesson.words import listing

BARS_HEIGHT, LINES_HEIGHT = 150.0, 195.0  # pt
CLEAR = 2.5  # pt between the line of the total and the values below it
NEAR = 3.0  # pt from a column to its values
ASIDE = 8.0  # pt from a column to a value that couldn't stand beside its own piece
BAR = 26.0  # pt, width of a column
SMALLEST = 0.001  # J; a smaller value would be written with a power of ten
ROW = 15.0  # of the key below
KEY_LETTERS, NAME_LETTERS = 44, 12  # in one line of the key, and of the names of lines
PARTS: Mapping[str, float] = {"start": 0.0, "half-way": 0.5, "end": 1.0}
HATCHES = ((0.7, 9.0), (-0.7, 9.0), (0.0, 7.0), (2.2, 14.0), (-2.2, 14.0))  # rise, step in pt
RIGHT = 182.0  # pt, where the axes of lines end at most
NAMES, GAP = 29.0, 6.0  # pt from there to the names; before and after a piece of the line
BETWEEN = 7.0  # pt between two names
DASHES = (
    *((), (7.0, 2.5), (3.0, 2.0), (7.0, 2.0, 1.5, 2.0), (1.5, 1.8)),
    *((1.5, 4.0), (4.0, 1.5, 1.5, 1.5, 1.5, 1.5), (5.0, 5.0)),
)


def energy_bars(scene: Scene) -> Plate:
    """Columns at the start, half way and at the end, with a key."""
    energies = energies_of(scene)
    drawing = Drawing()
    y_range = with_room([energies.total(part) for part in PARTS.values()], 0.14)
    (panel,) = panels((0.0, 3.0), y_range, height=BARS_HEIGHT, right=WIDTH - 2.0)
    panel.draw(drawing, y_title=say("energy-axis"), x_ticks=False)
    path = abs(scene.phase.displacements.get(path_object(scene)) or 0.0)
    for column, (key, part) in enumerate(PARTS.items()):
        middle = panel.at(column + 0.2, 0.0)[0]
        _draw_column(drawing, scene, panel, energies, middle, part)
        words = (say(f"bars-{key}"), scene.number(part * path, "m"))
        drawing.label(*words, at=around((middle, 0.0), angles=[-90.0], gaps=[6.0]))
    _draw_total(drawing, scene, panel, energies)
    y = drawing.extent()[0] - 12.0
    for index, line in reversed(list(enumerate(energies.lines))):  # the key, as in a column
        draw_bar(drawing, Box(left=2.0, bottom=y - 8.0, right=20.0, top=y + 2.0), line.role, index)
        rows = wrapped(line.words, KEY_LETTERS)
        drawing.label(*rows, at=[Spot(at=(26.0, y + 2.0), across=0.0, up=1.0)], align=0.0)
        y -= ROW + (len(rows) - 1) * (WORD_SIZE + LINE_GAP)
    total = _of_total(energies) or say("bars-same")
    said, caption = (*_of_columns(scene, energies), total), _caption("bars", energies, total)
    return plate(drawing, "bars", said, caption, system=energies.title)


def _draw_column(
    drawing: Drawing, scene: Scene, panel: Panel, energies: Energies, middle: float, part: float
) -> None:
    """The pieces from below, and their values to the right, moved apart where pieces are thin."""
    bottom = 0.0
    boxes, labels, roles = [], [], []
    for index, line in enumerate(energies.lines):
        value = line.at(part)
        _, low, _, top = panel.part((0.0, bottom), (0.0, bottom + value)).edges
        bottom += value
        if value > 0.0:
            boxes.append(Box(left=middle - BAR / 2, bottom=low, right=middle + BAR / 2, top=top))
            draw_bar(drawing, boxes[-1], line.role, index)
            labels.append(set_out(scene.number(value) if value >= SMALLEST else f"< {SMALLEST}"))
            roles.append(line.role)
    own = [(box.bottom + box.top) / 2 for box in boxes]
    highest = max((box.top for box in boxes), default=0.0) - CLEAR
    middles = spread(own, [label.height for label in labels], LINE_GAP, 0.0, highest)
    pairs = zip(boxes, middles, strict=True)
    aside = [not box.bottom - 1.0 < y < box.top + 1.0 for box, y in pairs]
    x, gap = middle + BAR / 2, ASIDE if any(aside) else NEAR
    for label, role, start, y, far in zip(labels, roles, own, middles, aside, strict=True):
        drawing.labels([Wish(label=label, spots=[beside((x, y), 0.0, gap)], role=role)])
        if far:
            ends = ((x, start), (x + gap - 1.0, y))
            drawing.line(*ends, role=role, width=0.6, in_the_way=False)


def draw_bar(drawing: Drawing, box: Box, role: str, index: int) -> None:
    """A filled rectangle in the colours of a role, hatched by its place in the column."""
    drawing.area(box.corners, fill=role.replace("accent", "tint"), edge=role, width=1.0)
    drawing.strokes(hatching(box, *HATCHES[index % len(HATCHES)]), role=role, width=0.6)


def _draw_total(drawing: Drawing, scene: Scene, panel: Panel, energies: Energies) -> None:
    """A broken line where the total stays; a number on each column where it grows."""
    for column, part in enumerate(PARTS.values() if energies.came_in else ()):
        top = panel.at(column + 0.2, energies.total(part))
        words = scene.number(energies.total(part), "J")
        drawing.label(words, at=around(top, angles=[90.0], gaps=[4.0]))
    if not energies.came_in:
        y = panel.at(0.0, energies.total(0.0))[1]
        ends = ((panel.box.left, y), (panel.box.right, y))
        drawing.line(*ends, width=1.0, dash=(4.0, 2.5))
        words = f"{say('bars-total')} {scene.number(energies.total(0.0), 'J')}"
        drawing.label(words, at=[Spot(at=(ends[0][0] + 5.0, y + 4.0), across=0.0, up=0.0)])


def _of_columns(scene: Scene, energies: Energies) -> Iterator[str]:
    yield say("bars-columns", system=energies.title)
    for key, part in PARTS.items():
        there = [(line.words, line.at(part)) for line in energies.lines if line.at(part) > 0.0]
        some = listing([f"{words} {scene.number(value, 'J')}" for words, value in there])
        total, when = scene.number(energies.total(part), "J"), say(f"bars-{key}")
        yield say("bars-column", when=when, energies=some or say("bars-nothing"), total=total)


def _of_total(energies: Energies) -> str:
    """By which work the total grows, if any."""
    works = listing([line.words for line in energies.came_in])
    return say("bars-grows", works=works) if works else ""


def _caption(kind: str, energies: Energies, total: str) -> Iterator[str]:
    yield from filter(None, (say(f"{kind}-caption", system=energies.title), total))
    if any(line.role == "accent-2" for line in energies.lines):
        yield say("energy-zero")


def energy_position(scene: Scene) -> Plate:
    """A line for each energy, and one for their total; at the right a piece of each and its name.

    Names stand in the order of the ends. Leaders to ends that lie close together can't be followed.
    """
    energies, name = energies_of(scene), path_object(scene)
    path = abs(scene.phase.displacements.get(name) or 0.0)
    if not path:
        raise CannotDrawError(f"{name!r} doesn't move")
    lines, total = energies.lines, say("bars-total")
    if len(lines) > 1:
        ends = {"start": energies.total(0.0), "end": energies.total(1.0)}
        lines = (*lines, EnergyLine(words=total, short=total, role="ink", **ends))
    y_range = with_room([e for line in lines for e in (line.start, line.end)], 0.08)
    names = [set_out(*wrapped(line.short, NAME_LETTERS), align=0.0) for line in lines]
    right = min(RIGHT, WIDTH - NAMES - max(label.width for label in names))
    (panel,) = panels((0.0, path), y_range, height=LINES_HEIGHT, right=right)
    drawing = Drawing()
    distance = say("work-distance", object=scene.the(name))
    panel.draw(drawing, x_title=distance, y_title=say("energy-axis"))
    heights = [panel.at(path, line.end)[1] for line in lines]
    for index, (line, end) in enumerate(zip(lines, heights, strict=True)):
        dash = DASHES[index % len(DASHES)]
        points = (panel.at(0.0, line.start), (right, end))
        drawing.line(*points, role=line.role, width=1.7, dash=dash)
    sizes = [label.height for label in names]
    middles = spread(heights, sizes, BETWEEN, panel.box.bottom - 3.0, math.inf)
    for index, (line, label, middle) in enumerate(zip(lines, names, middles, strict=True)):
        sample = ((right + GAP, middle), (right + NAMES - GAP, middle))
        drawing.line(*sample, role=line.role, width=1.7, dash=DASHES[index % len(DASHES)])
        spot = beside((right, middle), 0.0, NAMES)
        drawing.labels([Wish(label=label, spots=[spot], role=line.role)])
    said, caption = _of_lines(scene, lines, path), _caption("lines", energies, _of_total(energies))
    return plate(drawing, "lines", said, caption, system=energies.title)


def _of_lines(scene: Scene, lines: Sequence[EnergyLine], path: float) -> Iterator[str]:
    yield say("lines-intro", distance=scene.number(path, "m"))
    most = max(line.most for line in lines)
    for line in lines:
        key = "same" if abs(line.end - line.start) < 1e-9 * most else "change"
        start, end = (scene.number(value, "J") for value in (line.start, line.end))
        yield say(f"lines-{key}", energy=line.words, start=start, end=end)
