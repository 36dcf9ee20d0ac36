"""Energies of a choice of system as bars on top of each other, and as lines against the distance.

Takes a scene whose slot names a system. Within a phase every force is constant, so each energy
changes in proportion to the path: a start and an end say all. A column holds what the system has
and what has left it, so that a total that stays, or grows by the work done on the system, can be
seen. Joule; zero of potential energy: each object's lowest place in the phase. The distance is the
path since the start of the phase (see ``path_object``).
"""

import math
from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from itertools import cycle
from typing import Any, NamedTuple

from fallwork.figures.charts import Panel, panels, with_room
from fallwork.figures.drawing import WIDTH, Drawing
from fallwork.figures.lettering import LINE_GAP, WORD_SIZE, set_out, wrapped
from fallwork.figures.motion import path_object
from fallwork.figures.placing import Box, Segment, Spot, Wish, around, beside, spread
from fallwork.figures.scene import CannotDrawError, Figure, Scene, figure, of_force, say
from fallwork.mechanics import account
from fallwork.scenario.nouns import EARTH
from fallwork.scenario.report import listed

_NEGLIGIBLE = 1e-9  # of the largest energy
BARS_HEIGHT, LINES_HEIGHT = 150.0, 195.0  # pt; lines: at least
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


class Energy(NamedTuple):
    """One energy, or what work has brought in or taken away since the start; J."""

    words: str  # "kinetic energy of the cart"
    short: str  # "kinetic, cart"
    role: str
    start: float
    end: float

    @property
    def most(self) -> float:
        """The largest value on the way."""
        return max(abs(self.start), abs(self.end))

    def at(self, part: float) -> float:
        """After a part of the path, from 0 to 1; both ends exact."""
        return (1.0 - part) * self.start + part * self.end


class Energies(NamedTuple):
    """``lines`` together grow by just what ``came_in``."""

    title: str
    lines: tuple[Energy, ...]  # inside; then what negative external work took, as positive
    came_in: tuple[Energy, ...]  # brought in by positive external work

    @property
    def growth(self) -> str:
        """By which work the total grows, in words; "" where it stays."""
        works = listed([line.words for line in self.came_in])
        return say("bars-grows", works=works) if works else ""

    def total(self, part: float) -> float:
        """The sum of all lines in J."""
        return sum(line.at(part) for line in self.lines)


def energies_of(scene: Scene) -> Energies:
    """The energies of the slot's system in its phase: one of the scenario's by its id, or names
    with commas between, by default all that has energy.
    """
    apparatus, systems = scene.apparatus, {each.id: each for each in scene.scenario.systems}
    if choice := systems.get(scene.subject):
        title, members = choice.title, choice.members
    else:
        members = tuple(name.strip() for name in scene.subject.split(",") if name.strip())
        turning = [name for name, p in apparatus.pulleys.items() if p.moving or p.inertia]
        members = members or (*apparatus.bodies, *turning, *apparatus.strings, EARTH)
        title = scene.scenario.nouns.listed(members)
    whole = account(apparatus, scene.phase, members)
    if whole.external_work is None or whole.energy_change is None:
        raise CannotDrawError(f"the energies of {title!r} can't be told")
    lines = [*_of_members(scene, "kinetic", members), *_of_members(scene, "rotational", members)]
    lines.append(_energy("thermal", 0.0, whole.energy_changes.get("thermal") or 0.0))
    if EARTH in members:
        lines += _of_members(scene, "potential", members)
    works: dict[str, float] = defaultdict(float)  # external, by kind of interaction
    for force in whole.external:
        works[of_force(force, "by")] += force.work or 0.0
    came_in = [_energy("came-in", 0.0, work, by=by) for by, work in works.items() if work >= 0]
    lines += [_energy("left", 0.0, -work, by=by) for by, work in works.items() if work < 0]
    least = _NEGLIGIBLE * max((line.most for line in (*lines, *came_in)), default=0.0)
    seen, brought = (tuple(line for line in e if line.most > least) for e in (lines, came_in))
    if not seen and not brought:
        raise CannotDrawError(f"no energy of {title!r} changes")
    return Energies(title, seen, brought)


def _energy(kind: str, start: float, end: float, role: str = "accent-4", **names: str) -> Energy:
    words, short = (say(f"energy-{kind}{form}", **names) for form in ("", "-short"))
    return Energy(words, short, role, start, end)


def _of_members(scene: Scene, kind: str, members: Sequence[str]) -> Iterator[Energy]:
    """One kind of energy of each member, with the change that its account has."""
    phase = scene.phase
    for name in (name for name in members if name in {**scene.bodies, **scene.pulleys}):
        group = (name, EARTH)[: 1 + (kind == "potential")]
        change = account(scene.apparatus, phase, group).energy_changes.get(kind) or 0.0
        speed = phase.start_velocities.get(name, 0.0)
        if kind == "potential":
            start, role = max(0.0, -change), "accent-2"
        elif kind == "kinetic":
            role = "accent-1" if name in scene.sliders else "accent-3"
            start = scene.mass_kg(name) * speed**2 / 2
        else:  # wheels are uniform discs that roll
            spin, pulley = phase.start_angular_velocities.get(name, 0.0), scene.pulleys.get(name)
            inertia = float(pulley.inertia) * spin**2 / 2 if pulley else 0.0
            start, role = scene.wheels_kg(name) * speed**2 / 4 + inertia, "accent-5"
        if start or change:
            names = {"by": scene.the(name), "noun": scene.noun(name)}
            yield _energy(kind, start, start + change, role, **names)


def _caption(kind: str, energies: Energies, total: str) -> Iterator[str]:
    yield from filter(None, (say(f"{kind}-caption", system=energies.title), total))
    if any(line.role == "accent-2" for line in energies.lines):
        yield say("energy-zero")


# Bars.


def energy_bars(scene: Scene) -> Figure:
    """Columns at the start, half way and at the end, with a key."""
    energies = energies_of(scene)
    y_range = with_room([energies.total(part) for part in PARTS.values()], 0.14)
    (panel,) = panels((0.0, 3.0), y_range, height=BARS_HEIGHT, right=WIDTH - 2.0)
    drawing = panel.drawing
    panel.axes(say("energy-axis"), x=False)
    path = abs(scene.phase.displacements.get(path_object(scene)) or 0.0)
    for column, (key, part) in enumerate(PARTS.items()):
        foot, top = (panel.at(column + 0.2, y) for y in (0.0, energies.total(part)))
        _draw_column(scene, panel, energies, foot.real + BAR / 2, part)
        words = (say(f"bars-{key}"), scene.number(part * path, "m"))
        drawing.label(*words, at=around(foot, angles=[-90.0], gaps=[6.0]))
        if energies.came_in:
            whole = scene.number(energies.total(part), "J")
            drawing.label(whole, at=around(top, angles=[90.0], gaps=[4.0]))
    if not energies.came_in:  # a broken line where the total stays
        total = energies.total(0.0)
        panel.line((0.0, total), (panel.x_range[1], total), width=1.0, dash=(4.0, 2.5))
        said = f"{say('bars-total')} {scene.number(total, 'J')}"
        drawing.label(said, at=[Spot(panel.at(0.0, total) + 5 + 4j, 0.0, 0.0)])
    y = drawing.extent()[0] - 12.0
    for index, line in reversed(list(enumerate(energies.lines))):  # the key, as in a column
        _draw_bar(drawing, Box(left=2.0, bottom=y - 8.0, right=20.0, top=y + 2.0), line.role, index)
        rows = wrapped(line.words, KEY_LETTERS)
        drawing.label(*rows, at=[Spot(complex(26.0, y + 2.0), 0.0, 1.0)], align=0.0)
        y -= ROW + (len(rows) - 1) * (WORD_SIZE + LINE_GAP)
    caption = _caption("bars", energies, energies.growth or say("bars-same"))
    columns = _of_columns(scene, energies)
    return figure(scene, drawing, "bars", columns, caption, system=energies.title)


def _draw_column(scene: Scene, panel: Panel, energies: Energies, x: float, part: float) -> None:
    """The pieces, left of ``x``; their values to the right, moved apart where pieces are thin."""
    drawing, bottom = panel.drawing, 0.0
    pieces: list[tuple[Box, str, str]] = []
    for index, line in enumerate(energies.lines):
        value = line.at(part)
        low, high = (panel.at(0.0, y).imag for y in (bottom, bottom + value))
        bottom += value
        if value > 0.0:
            said = scene.number(value) if value >= SMALLEST else f"< {SMALLEST}"
            pieces.append((Box(left=x - BAR, bottom=low, right=x, top=high), line.role, said))
            _draw_bar(drawing, pieces[-1][0], line.role, index)
    own = [(box.bottom + box.top) / 2 for box, *_ in pieces]
    highest = max((box.top for box, *_ in pieces), default=0.0) - CLEAR
    heights = [set_out(said).height for *_, said in pieces]
    middles = spread(own, heights, LINE_GAP, 0.0, highest)
    rows = [*zip(pieces, own, middles, strict=True)]
    aside = [not box.bottom - 1.0 < y < box.top + 1.0 for (box, *_), _, y in rows]
    gap = ASIDE if any(aside) else NEAR
    for ((_, role, said), start, y), far in zip(rows, aside, strict=True):
        drawing.label(said, at=[beside(complex(x, y), 0.0, gap)], role=role)
        if far:
            ends = (complex(x, start), complex(x + gap - 1.0, y))
            drawing.line(*ends, role=role, width=0.6, in_the_way=False)


def _draw_bar(drawing: Drawing, box: Box, role: str, index: int) -> None:
    """A filled rectangle in the colours of a role, hatched by its place in the column."""
    drawing.area(box.corners, fill=role.replace("accent", "tint"), role=role, width=1.0)
    drawing.strokes(hatching(box, *HATCHES[index % len(HATCHES)]), role=role, width=0.6)


def hatching(box: Box, rise: float, step: float) -> Iterator[Segment]:
    """Lines of one slope across a rectangle, cut at its edges; ``rise`` 0 gives level ones."""
    width, height = box.right - box.left, box.top - box.bottom
    start = step - (math.floor(abs(rise) * width / step) * step if rise > 0 else 0.0)
    while start < height - min(0.0, rise) * width:
        cuts = sorted((edge - start) / (rise or 1e-12) for edge in (0.0, height))
        first, last = max(0.0, cuts[0]), min(width, cuts[1])
        if last - first > 1e-6:
            foot, way = complex(box.left, box.bottom + start), complex(1.0, rise)
            yield foot + first * way, foot + last * way
        start += step


def _of_columns(scene: Scene, energies: Energies) -> Iterator[str]:
    yield say("bars-columns", system=energies.title)
    for key, part in PARTS.items():
        there = [(line.words, line.at(part)) for line in energies.lines if line.at(part) > 0.0]
        some = listed([f"{words} {scene.number(value, 'J')}" for words, value in there])
        total, when = scene.number(energies.total(part), "J"), say(f"bars-{key}")
        yield say("bars-column", when=when, energies=some or say("bars-nothing"), total=total)
    yield energies.growth or say("bars-same")


# Lines.


def energy_position(scene: Scene) -> Figure:
    """A line for each energy, and one for their total; at the right a piece of each and its name.

    Names stand in the order of the ends. Leaders to ends that lie close together can't be followed.
    """
    energies, name = energies_of(scene), path_object(scene)
    path = abs(scene.phase.displacements.get(name) or 0.0)
    if not path:
        raise CannotDrawError(f"{name!r} doesn't move")
    lines, total = energies.lines, say("bars-total")
    if len(lines) > 1:
        lines = (*lines, Energy(total, total, "ink", energies.total(0.0), energies.total(1.0)))
    most = max(line.most for line in lines)
    y_range = with_room([e for line in lines for e in (line.start, line.end)], 0.08)
    names = [set_out(*wrapped(line.short, NAME_LETTERS), align=0.0) for line in lines]
    right = min(RIGHT, WIDTH - 1.0 - NAMES - max(label.width for label in names))
    sizes = [label.height for label in names]
    height = max(LINES_HEIGHT, sum(sizes) + BETWEEN * (len(sizes) - 1))  # as the names ask
    (panel,) = panels((0.0, path), y_range, height=height, right=right)
    panel.axes(say("energy-axis"), say("work-distance", object=scene.the(name)))
    ends = [panel.at(path, line.end).imag for line in lines]
    middles = spread(ends, sizes, BETWEEN, -3.0, height)
    said = [say("lines-intro", distance=scene.number(path, "m"))]
    for line, label, middle, dash in zip(lines, names, middles, cycle(DASHES), strict=False):
        look: dict[str, Any] = {"role": line.role, "width": 1.7, "dash": dash}
        panel.line((0.0, line.start), (path, line.end), **look)
        place = complex(right, middle)
        panel.drawing.line(place + GAP, place + NAMES - GAP, **look)
        spots = (beside(place, 0.0, NAMES),)
        panel.drawing.labels([Wish(label=label, spots=spots, role=line.role)])
        key = "same" if abs(line.end - line.start) < 1e-9 * most else "change"
        first, last = (scene.number(value, "J") for value in (line.start, line.end))
        said.append(say(f"lines-{key}", energy=line.words, start=first, end=last))
    caption = _caption("lines", energies, energies.growth)
    return figure(scene, panel.drawing, "lines", said, caption, system=energies.title)
