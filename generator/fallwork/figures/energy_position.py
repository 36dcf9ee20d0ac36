"""Energies against the distance moved: takes a scene whose slot names a system, plots lines.

The distance is the path since the start of the phase, of what runs on a surface, or of the run's
object where that goes another distance.
"""

from collections.abc import Sequence

from fallwork.figures.canvas import WIDTH, Box
from fallwork.figures.charts import Panel, left_edge, with_room
from fallwork.figures.drawing import Drawing
from fallwork.figures.energies import Energies, EnergyLine, energies_of
from fallwork.figures.labels import Spot, Words, set_out, spread, wrapped
from fallwork.figures.motion import path_object
from fallwork.figures.scene import CannotDrawError, Plate, Scene, say, sentence
from fallwork.lesson.words import listing

HEIGHT = 195.0  # pt
RIGHT = 182.0  # pt, where the axes end at most
NAMES = 9.0  # pt from there to the names
BETWEEN = 7.0  # pt between two names
DASHES = ((), (7.0, 2.5), (3.0, 2.0), (7.0, 2.0, 1.5, 2.0), (1.5, 1.8))


def energy_position(scene: Scene) -> Plate:
    """A line for each energy, and one for their total."""
    energies = energies_of(scene)
    name = path_object(scene)
    path = abs(scene.phase.displacements.get(name) or 0.0)
    if not path:
        raise CannotDrawError(f"{name!r} doesn't move")
    total = EnergyLine(
        words=say("bars-total"),
        short=say("bars-total"),
        role="ink",
        start=energies.total(0.0),
        end=energies.total(1.0),
    )
    lines = (*energies.lines, total) if len(energies.lines) > 1 else energies.lines
    y_range = with_room([e for line in lines for e in (line.start, line.end)], 0.08)
    panel = Panel(
        box=Box(left=left_edge(y_range), bottom=0.0, right=_right_end(lines), top=HEIGHT),
        x_range=(0.0, path),
        y_range=y_range,
    )
    drawing = Drawing()
    panel.draw(
        drawing, x_title=say("work-distance", object=scene.the(name)), y_title=say("energy-axis")
    )
    for index, line in enumerate(lines):
        ends = (panel.at(0.0, line.start), panel.at(path, line.end))
        drawing.line(*ends, role=line.role, width=1.7, dash=DASHES[index % len(DASHES)])
    _name_lines(drawing, panel, lines, path)
    return Plate(
        sheet=drawing.sheet(),
        title=say("lines-title", system=energies.title),
        description=_description(scene, lines, path),
        caption=_caption(energies),
    )


def _name_lines(drawing: Drawing, panel: Panel, lines: Sequence[EnergyLine], path: float) -> None:
    """Names at the right ends, moved apart where lines end close together."""
    words = [_words(line) for line in lines]
    right = panel.box.right
    heights = [panel.at(path, line.end)[1] for line in lines]
    labels = [set_out(each) for each in words]
    middles = spread(heights, labels, lowest=panel.box.bottom - 3.0, gap=BETWEEN)
    for line, each, height, middle in zip(lines, words, heights, middles, strict=True):
        if abs(height - middle) > 2.0:
            drawing.line(
                (right + 1.0, height),
                (right + NAMES - 2.0, middle),
                role=line.role,
                width=0.7,
                in_the_way=False,
            )
        spot = Spot(at=(right + NAMES, middle), across=0.0, up=0.5)
        drawing.label(each, (spot,), role=line.role)


def _words(line: EnergyLine) -> Words:
    rows = wrapped(line.short, 12)
    return Words(lines=tuple((row,) for row in rows), align=0.0)


def _right_end(lines: Sequence[EnergyLine]) -> float:
    """Where the axes end, so that the longest word still has room beside them."""
    widest = max(set_out(_words(line)).box.right for line in lines)
    return min(RIGHT, WIDTH - NAMES - widest)


def _description(scene: Scene, lines: Sequence[EnergyLine], path: float) -> str:
    parts = [say("lines-intro", distance=scene.number(path, "m"))]
    for line in lines:
        same = abs(line.end - line.start) < 1e-9 * max(each.most for each in lines)
        parts.append(
            say(
                "lines-same" if same else "lines-change",
                energy=line.words,
                start=scene.number(line.start, "J"),
                end=scene.number(line.end, "J"),
            )
        )
    return " ".join(sentence(part) for part in parts)


def _caption(energies: Energies) -> str:
    parts = [say("lines-caption", system=energies.title)]
    if energies.came_in:
        parts.append(say("bars-grows", works=listing([line.words for line in energies.came_in])))
    if any(line.role == "accent-2" for line in energies.stored):
        parts.append(say("energy-zero"))
    return " ".join(parts)
