"""Names in a sketch: takes a drawing of a set-up, writes what each thing is called beside it.

Objects carry the symbol of their mass; what only helps (table, pad, stop) stands in a quieter
colour.
"""

import math
from itertools import pairwise

from fallwork.figures import layout as places
from fallwork.figures.canvas import Point
from fallwork.figures.drawing import Drawing, along, arc
from fallwork.figures.fixtures import (
    LEVEL_LINE,
    SLOPE_RADIUS,
    TABLE_THICKNESS,
    TRACK_THICKNESS,
    end_stops,
    slope_corner,
    stop_at,
    table_span,
    table_top,
)
from fallwork.figures.labels import NEAR, Spot, Words, set_out, wrapped
from fallwork.figures.layout import Layout
from fallwork.figures.scene import Scene, say

NARROW, BROAD = 8, 12  # characters of a line of a name: where names stand close, and beside


def write_names(drawing: Drawing, layout: Layout, scene: Scene, floor: float) -> None:
    """All names; those with the least choice of place come first."""
    for name in layout.sliders:
        _name_slider(drawing, layout, scene, name)
    for name in layout.hanging:
        _name_hanging(drawing, layout, scene, name)
    for surface in layout.tracks:
        _name_slope(drawing, layout, scene, surface)
        _name_stop(drawing, layout, surface)
        _name_track(drawing, layout, scene, surface)
    for name in layout.anchors:
        _name_anchor(drawing, layout, scene, name)
    for name in layout.wheels:
        _name_wheel(drawing, layout, scene, name)
    for name in scene.apparatus.strings:
        _name_string(drawing, layout, scene, name)
    if layout.tracks:
        _name_table(drawing, layout)
    for pad in pads(layout, scene):
        _name_pad(drawing, layout, pad, floor)


def is_left(layout: Layout, x: float) -> bool:
    """Whether a hanging object's name belongs to its left: on the outer side."""
    if layout.tracks:
        ends = [end[0] for track in layout.tracks.values() for end in (track.back, track.front)]
        return x < sum(ends) / len(ends)
    wheels = [wheel.centre[0] for wheel in layout.wheels.values()]
    return x < min(wheels)


def side_room(layout: Layout, scene: Scene) -> tuple[float, float]:
    """The width in points that names need left and right of what hangs."""
    room = {True: 10.0, False: 18.0}
    for name, (x, _) in layout.hanging.items():
        left = is_left(layout, x)
        room[left] = max(room[left], set_out(_stacked(scene, name)).box.right + NEAR + 2.0)
    return room[True], room[False]


def pads(layout: Layout, scene: Scene) -> list[Point]:
    """The middle of the top of each catch pad: where the run's object ends its fall."""
    name = scene.apparatus.run.object
    if name not in layout.hanging or layout.way.get(name, 0) <= 0:
        return []
    x, y = layout.hanging[name]
    low = y - places.WEIGHT_HEIGHT - places.DROP
    return [(x, low)] if scene.apparatus.run.distance is not None else []


def _with_mass(scene: Scene, name: str) -> tuple[str, ...]:
    mass = scene.symbol(f"mass.{name}")
    return (scene.noun(name), mass) if mass else (scene.noun(name),)


def _stacked(scene: Scene, name: str, width: int = BROAD) -> Words:
    noun, *mass = _with_mass(scene, name)
    return Words(lines=tuple((part,) for part in (*wrapped(noun, width), *mass)))


def _name_slider(drawing: Drawing, layout: Layout, scene: Scene, name: str) -> None:
    track = layout.track_of(name)
    x, y = track.at(layout.sliders[name] + places.CART / 2, 22.0 + NEAR)
    crowded = sum(layout.track_of(other) == track for other in layout.sliders) > 1
    words = _stacked(scene, name, NARROW) if crowded else Words(lines=(_with_mass(scene, name),))
    spots = [
        Spot(at=(x + dx, y + dy), across=0.5, up=0.0)
        for dy in (0.0, 6.0, 12.0, 18.0, 24.0)
        for dx in (0.0, -12.0, 12.0)
    ]
    ends = (track.at(layout.sliders[name] + part * places.CART, 22.0) for part in (0.2, 0.8))
    drawing.label(words, spots, of=tuple(ends))


def _name_hanging(drawing: Drawing, layout: Layout, scene: Scene, name: str) -> None:
    x, y = layout.hanging[name]
    half, foot = places.WEIGHT_WIDTH / 2 + NEAR, y - places.WEIGHT_HEIGHT
    heights = ((y - places.WEIGHT_HEIGHT * 0.42, 0.5), (foot + 4.0, 0.0), (foot + 12.0, 0.0))
    left = [Spot(at=(x - half, at), across=1.0, up=up) for at, up in heights]
    right = [Spot(at=(x + half, at), across=0.0, up=up) for at, up in heights]
    below = [Spot(at=(x, foot - NEAR), across=0.5, up=1.0)]
    outer, inner = (left, right) if is_left(layout, x) else (right, left)
    drawing.label(_stacked(scene, name), [*outer, *below, *inner])


def _name_slope(drawing: Drawing, layout: Layout, scene: Scene, surface: str) -> None:
    track = layout.tracks[surface]
    letter = scene.symbol(f"slope.{surface}")
    if abs(track.angle) < 1e-6 or not letter:
        return
    corner, level = slope_corner(track)
    across = 0.0 if level == 0.0 else 1.0
    inside = along(corner, SLOPE_RADIUS + NEAR, level + track.angle / 2)
    behind = along(corner, LEVEL_LINE + NEAR, level)
    spots = (
        Spot(at=inside, across=across, up=0.5),
        Spot(at=behind, across=across, up=0.5),
        Spot(at=behind, across=across, up=0.8),
    )
    drawing.label(Words(lines=((letter,),)), spots)


def _name_stop(drawing: Drawing, layout: Layout, surface: str) -> None:
    front = end_stops(layout).get(surface)
    if front is None:
        return
    track = layout.tracks[surface]
    x = stop_at(track, front)
    below = track.at(x, -TRACK_THICKNESS - NEAR)
    above = track.at(x, places.HOOK + NEAR)
    spots = [
        *(Spot(at=below, across=across, up=1.0) for across in (0.75, 0.25, 1.1, -0.1)),
        *(
            Spot(at=(above[0], above[1] + dy), across=across, up=0.0)
            for across in (1.0, 0.8, 0.0)
            for dy in (0.0, 6.0, 12.0, 20.0, 30.0, 45.0, 60.0, 80.0)
        ),
        Spot(at=track.at(x + (9.0 if front else -9.0), 4.0), across=float(not front), up=0.5),
    ]
    stop = (track.at(x, -TRACK_THICKNESS), track.at(x, places.HOOK))
    drawing.label(Words(lines=((say("end-stop"),),)), spots, role="quiet", of=stop)


def _name_track(drawing: Drawing, layout: Layout, scene: Scene, surface: str) -> None:
    track = layout.tracks[surface]
    inner = 0.5 if abs(track.angle) < 0.05 else 0.0 if track.angle > 0 else 1.0
    parts = (0.4, 0.3, 0.5, 0.2, 0.6) if track.angle >= 0 else (0.6, 0.7, 0.5, 0.8, 0.4)
    below = [
        Spot(at=(x, y - dy), across=across, up=1.0)
        for dy in (0.0, 8.0, 16.0)
        for across in (0.5, inner, 0.25, 0.75)
        for part in parts
        for x, y in (track.at(part * track.length, -TRACK_THICKNESS - NEAR),)
    ]
    words = scene.noun(surface).split() if inner != 0.5 else [scene.noun(surface)]
    under = (track.at(part * track.length, -TRACK_THICKNESS) for part in (0.0, 1.0))
    lines = tuple((word,) for word in words)
    drawing.label(Words(lines=lines), below, role="quiet", of=tuple(under))


def _name_wheel(drawing: Drawing, layout: Layout, scene: Scene, name: str) -> None:
    wheel = layout.wheels[name]
    x, y = wheel.centre
    reach = wheel.radius + NEAR
    corner = 0.75 * reach
    spots = [
        Spot(at=(x + corner, y + corner), across=0.0, up=0.2),
        Spot(at=(x, y + reach), across=0.5, up=0.0),
        Spot(at=(x - corner, y + corner), across=1.0, up=0.2),
        *(Spot(at=(x + reach + dx, y), across=0.0, up=0.5) for dx in (0.0, 5.0)),
        *(Spot(at=(x - reach - dx, y), across=1.0, up=0.5) for dx in (0.0, 5.0)),
        Spot(at=(x + corner, y - corner), across=0.0, up=0.8),
        Spot(at=(x - corner, y - corner), across=1.0, up=0.8),
        *(
            Spot(at=(x + corner, y + reach + dy), across=across, up=0.0)
            for dy in (12.0, 20.0, 28.0, 40.0)
            for across in (0.0, 0.2, 1.0, 0.8)
        ),
    ]
    lines = tuple((part,) for part in wrapped(scene.noun(name), NARROW))
    drawing.label(Words(lines=lines), spots, of=arc((x, y), wheel.radius, 0.0, math.tau))


def _name_anchor(drawing: Drawing, layout: Layout, scene: Scene, name: str) -> None:
    x, y = layout.anchors[name]
    spots = [
        Spot(at=(x, y + NEAR), across=0.5, up=0.0),
        Spot(at=(x, y - NEAR), across=0.5, up=1.0),
        Spot(at=(x, y + 10.0 + NEAR), across=0.5, up=0.0),
        Spot(at=(x + 14.0 + NEAR, y), across=0.0, up=0.5),
        Spot(at=(x - 14.0 - NEAR, y), across=1.0, up=0.5),
    ]
    drawing.label(Words(lines=((scene.noun(name),),)), spots, role="quiet")


def _name_string(drawing: Drawing, layout: Layout, scene: Scene, name: str) -> None:
    """Beside one of its longest parts; where that is too crowded, above with a line to it."""
    line = layout.string_line(name)
    pairs = sorted(pairwise(line), key=lambda pair: -math.dist(*pair))
    spots = []
    for start, end in pairs[:3]:
        for part in (0.5, 0.4, 0.6, 0.3, 0.7, 0.8, 0.2):
            x, y = (a + part * (b - a) for a, b in zip(start, end, strict=True))
            spots += [
                Spot(at=(x, y + NEAR), across=0.5, up=0.0),
                Spot(at=(x + NEAR, y), across=0.0, up=0.5),
                Spot(at=(x - NEAR, y), across=1.0, up=0.5),
                Spot(at=(x - 2.0, y + 4.0), across=1.0, up=0.0),
                Spot(at=(x + 2.0, y + 4.0), across=0.0, up=0.0),
                Spot(at=(x - 10.0, y + 10.0), across=1.0, up=0.0),
                Spot(at=(x + 10.0, y + 10.0), across=0.0, up=0.0),
            ]
    (x0, y0), (x1, y1) = pairs[0]
    far = [
        Spot(at=(x0 + part * (x1 - x0), y0 + part * (y1 - y0) + up), across=0.5, up=0.0)
        for part in (0.5, 0.3, 0.7, 0.9, 0.1)
        for up in range(24, 97, 12)
    ]
    drawing.label(Words(lines=((scene.noun(name),),)), [*spots, *far], of=line)


def _name_table(drawing: Drawing, layout: Layout) -> None:
    left, right = table_span(layout)
    low = table_top(layout) - TABLE_THICKNESS - NEAR
    spots = [
        Spot(at=(left + part * (right - left), low), across=0.5, up=1.0)
        for part in (0.5, 0.35, 0.65)
    ]
    drawing.label(Words(lines=((say("table"),),)), spots, role="quiet")


def _name_pad(drawing: Drawing, layout: Layout, pad: Point, floor: float) -> None:
    x, top = pad
    half = places.PAD_WIDTH / 2 + NEAR
    left = Spot(at=(x - half, top - 6.0), across=1.0, up=0.0)
    right = Spot(at=(x + half, top - 6.0), across=0.0, up=0.0)
    below = Spot(at=(x, floor - 8.0), across=0.5, up=1.0)
    spots = (right, left, below) if is_left(layout, x) else (left, right, below)
    drawing.label(Words(lines=((say("catch-pad"),),)), spots, role="quiet")
