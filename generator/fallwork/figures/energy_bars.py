"""Energies at the start, half way and at the end as bars on top of each other.

Takes a scene whose slot names a system; each column holds what the system has and what has left
it, so that a total that stays, or grows by the work done on the system, can be seen.
"""

from collections.abc import Mapping, Sequence

from fallwork.figures.canvas import WIDTH, WORD_SIZE, Box
from fallwork.figures.charts import Panel, hatching, left_edge, with_room
from fallwork.figures.drawing import Drawing
from fallwork.figures.energies import Energies, EnergyLine, energies_of
from fallwork.figures.labels import LINE_GAP, Spot, Words, set_out, spread, wrapped
from fallwork.figures.motion import path_object
from fallwork.figures.scene import Plate, Scene, say, sentence
from fallwork.lesson.words import listing

HEIGHT = 150.0  # pt
CLEAR = 2.5  # pt between the line of the total and the values below it
NEAR = 3.0  # pt from a column to its values
ASIDE = 8.0  # pt from a column to a value that couldn't stand beside its own piece
BAR = 26.0  # pt, width of a column
SMALLEST = 0.001  # J; a smaller value would be written with a power of ten
ROW = 15.0  # of the key below
KEY_LETTERS = 44  # of the key, in one line
PARTS: Mapping[str, float] = {"start": 0.0, "half-way": 0.5, "end": 1.0}
HATCHES = ((0.7, 9.0), (-0.7, 9.0), (0.0, 7.0), (2.2, 14.0), (-2.2, 14.0))  # rise, step in pt


def energy_bars(scene: Scene) -> Plate:
    """Three columns with a key."""
    energies = energies_of(scene)
    drawing = Drawing()
    totals = [energies.total(part) for part in PARTS.values()]
    y_range = with_room(totals, 0.14)
    panel = Panel(
        box=Box(left=left_edge(y_range), bottom=0.0, right=WIDTH - 2.0, top=HEIGHT),
        x_range=(0.0, 3.0),
        y_range=y_range,
    )
    panel.draw(drawing, x_title="", y_title=say("energy-axis"), x_ticks=False)
    for column, (key, part) in enumerate(PARTS.items()):
        _draw_column(drawing, scene, panel, energies, column, part)
        _name_column(drawing, scene, panel, column, key, part)
    _draw_total(drawing, scene, panel, energies)
    _draw_key(drawing, energies)
    system = energies.title
    return Plate(
        sheet=drawing.sheet(),
        title=say("bars-title", system=system),
        description=_description(scene, energies),
        caption=_caption(energies),
    )


def _draw_column(
    drawing: Drawing, scene: Scene, panel: Panel, energies: Energies, column: int, part: float
) -> None:
    bottom = 0.0
    middle = _middle(panel, column)
    numbered: list[tuple[EnergyLine, Box]] = []
    for index, line in enumerate(energies.lines):
        top = bottom + line.at(part)
        box = Box(
            left=middle - BAR / 2,
            bottom=panel.at(0.0, bottom)[1],
            right=middle + BAR / 2,
            top=panel.at(0.0, top)[1],
        )
        if line.at(part) > 0.0:
            draw_bar(drawing, box, line.role, HATCHES[index % len(HATCHES)])
            numbered.append((line, box))
        bottom = top
    _write_numbers(drawing, scene, numbered, part)


def _middle(panel: Panel, column: int) -> float:
    return panel.at(column + 0.2, 0.0)[0]


def _write_numbers(
    drawing: Drawing, scene: Scene, bars: Sequence[tuple[EnergyLine, Box]], part: float
) -> None:
    """The values to the right of a column, moved apart where bars are thin."""
    words = [Words(lines=((_number(scene, line.at(part)),),)) for line, _ in bars]
    wished = [(box.bottom + box.top) / 2 for _, box in bars]
    labels = [set_out(each) for each in words]
    top = max((box.top for _, box in bars), default=0.0) - CLEAR
    middles = spread(wished, labels, lowest=0.0, highest=top)
    aside = [_is_aside(box, middle) for (_, box), middle in zip(bars, middles, strict=True)]
    gap = ASIDE if any(aside) else NEAR
    for (line, box), each, middle, far in zip(bars, words, middles, aside, strict=True):
        end = (box.right + gap, middle)
        drawing.label(each, (Spot(at=end, across=0.0, up=0.5),), role=line.role)
        if far:
            own = (box.right, (box.bottom + box.top) / 2)
            drawing.line(own, (end[0] - 1.0, middle), role=line.role, width=0.6, in_the_way=False)


def _is_aside(box: Box, middle: float) -> bool:
    """Whether a value stands beside another piece than its own, so that it needs a line to it."""
    return not box.bottom - 1.0 < middle < box.top + 1.0


def _number(scene: Scene, value: float) -> str:
    """Digits that have room beside a bar; the text alternative has the small ones in full."""
    return scene.digits(value) if value >= SMALLEST else f"< {SMALLEST}"


def draw_bar(drawing: Drawing, box: Box, role: str, hatch: tuple[float, float]) -> None:
    """A filled and hatched rectangle in the colours of a role."""
    corners = (
        (box.left, box.bottom),
        (box.right, box.bottom),
        (box.right, box.top),
        (box.left, box.top),
    )
    tint = role.replace("accent", "tint") if role.startswith("accent") else "fill"
    drawing.area(corners, fill=tint, edge=role, width=1.0)
    drawing.strokes(hatching(box, *hatch), role=role, width=0.6)


def _name_column(
    drawing: Drawing, scene: Scene, panel: Panel, column: int, key: str, part: float
) -> None:
    path = abs(scene.phase.displacements.get(path_object(scene)) or 0.0)
    words = Words(lines=((say(f"bars-{key}"),), (scene.number(part * path, "m"),)))
    drawing.label(words, (Spot(at=(_middle(panel, column), -6.0), across=0.5, up=1.0),))


def _draw_total(drawing: Drawing, scene: Scene, panel: Panel, energies: Energies) -> None:
    """A broken line where the total stays; a number on each column where it grows."""
    if energies.came_in:
        for column, part in enumerate(PARTS.values()):
            x, y = _middle(panel, column), panel.at(0.0, energies.total(part))[1]
            words = Words(lines=((scene.number(energies.total(part), "J"),),))
            drawing.label(words, (Spot(at=(x, y + 4.0), across=0.5, up=0.0),))
        return
    y = panel.at(0.0, energies.total(0.0))[1]
    drawing.line((panel.box.left, y), (panel.box.right, y), role="ink", width=1.0, dash=(4.0, 2.5))
    words = Words(lines=((say("bars-total"), scene.number(energies.total(0.0), "J")),))
    drawing.label(words, (Spot(at=(panel.box.left + 5.0, y + 4.0), across=0.0, up=0.0),))


def _draw_key(drawing: Drawing, energies: Energies) -> None:
    """The pieces in the order of a column, the uppermost first."""
    y = drawing.extent()[0] - 12.0
    for index, line in reversed(list(enumerate(energies.lines))):
        box = Box(left=2.0, bottom=y - 8.0, right=20.0, top=y + 2.0)
        draw_bar(drawing, box, line.role, HATCHES[index % len(HATCHES)])
        rows = wrapped(line.words, KEY_LETTERS)
        spot = Spot(at=(26.0, y + 3.0), across=0.0, up=1.0)
        drawing.label(Words(lines=tuple((row,) for row in rows), align=0.0), (spot,))
        y -= ROW + (len(rows) - 1) * (WORD_SIZE + LINE_GAP)


def _description(scene: Scene, energies: Energies) -> str:
    parts = [say("bars-columns", system=energies.title)]
    parts += [
        say(
            "bars-column",
            when=say(f"bars-{key}"),
            energies=_amounts(scene, energies.lines, part),
            total=scene.number(energies.total(part), "J"),
        )
        for key, part in PARTS.items()
    ]
    parts.append(_of_total(energies))
    return " ".join(sentence(part) for part in parts)


def _amounts(scene: Scene, lines: Sequence[EnergyLine], part: float) -> str:
    """What there is at a point of the path, in words."""
    some = [line for line in lines if line.at(part) > 0.0]
    return listing([f"{line.words} {scene.number(line.at(part), 'J')}" for line in some]) or say(
        "bars-nothing"
    )


def _of_total(energies: Energies) -> str:
    if not energies.came_in:
        return say("bars-same")
    return say("bars-grows", works=listing([line.words for line in energies.came_in]))


def _caption(energies: Energies) -> str:
    parts = [say("bars-caption", system=energies.title), _of_total(energies)]
    if any(line.role == "accent-2" for line in energies.stored):
        parts.append(say("energy-zero"))
    return " ".join(parts)
