"""Names in a sketch: takes a drawing of a set-up, writes what each thing is called beside it.

Objects carry the symbol of their mass; what only helps (table, pad, stop) stands in a quieter
colour. Angles in degrees, counter-clockwise from the right.
"""

import math
from collections.abc import Sequence
from itertools import pairwise

from fallwork.figures import positions as sizes
from fallwork.figures.drawing import Drawing, along, arc, between
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
from fallwork.figures.lettering import Line, set_out, wrapped
from fallwork.figures.placing import NEAR, Point, Spot, around
from fallwork.figures.positions import Positions
from fallwork.figures.scene import Scene, say

NARROW, BROAD = 8, 12  # characters of a line of a name: where names stand close, and beside
UP, DOWN, LEFT, RIGHT = 90.0, -90.0, 180.0, 0.0
FARTHER = (NEAR, 11.0, 17.0, 25.0, 35.0, 50.0, 65.0, 85.0)  # pt


def write_names(drawing: Drawing, places: Positions, scene: Scene) -> None:
    """All names; those with the least choice of place come first."""
    for name in places.sliders:
        _name_slider(drawing, places, scene, name)
    for name in places.hanging:
        _name_hanging(drawing, places, scene, name)
    for name in places.wheels:
        _name_wheel(drawing, places, scene, name)
    for surface in places.tracks:
        _name_slope(drawing, places, scene, surface)
        _name_stop(drawing, places, surface)
        _name_track(drawing, places, scene, surface)
    for name, point in places.anchors.items():
        spots = around(point, angles=(UP, DOWN, RIGHT, LEFT), gaps=(NEAR, 15.0, 19.0))
        drawing.label(scene.noun(name), at=spots, role="quiet")
    for name in scene.apparatus.strings:
        _name_string(drawing, places, scene, name)
    if places.tracks:
        left, right = table_span(places)
        low = table_top(places) - TABLE_THICKNESS
        points = [(left + part * (right - left), low) for part in (0.5, 0.35, 0.65)]
        drawing.label(say("table"), at=around(*points, angles=[DOWN]), role="quiet")
    if pad := places.pad():
        _name_pad(drawing, places, pad)


def side_room(places: Positions, scene: Scene) -> tuple[float, float]:
    """The width in points that names need left and right of what hangs."""
    room = {True: 10.0, False: 18.0}
    for name, (x, _) in places.hanging.items():
        left = places.is_left(x)
        room[left] = max(room[left], set_out(*_stacked(scene, name)).width + NEAR + 2.0)
    return room[True], room[False]


def _stacked(scene: Scene, name: str, width: int = BROAD) -> Sequence[Line]:
    """The noun, and below it the symbol of the mass."""
    mass = scene.symbol(f"mass.{name}")
    return [*wrapped(scene.noun(name), width), *([mass] if mass else [])]


def _name_slider(drawing: Drawing, places: Positions, scene: Scene, name: str) -> None:
    track, x = places.track_of(name), places.sliders[name]
    crowded = sum(places.track_of(other) == track for other in places.sliders) > 1
    lines = _stacked(scene, name, NARROW) if crowded else [_stacked(scene, name, 1000)]
    middle = track.at(x + sizes.CART / 2, 22.0)
    tops = [(middle[0] + dx, middle[1]) for dx in (0.0, -12.0, 12.0)]
    spots = around(*tops, angles=[UP], gaps=FARTHER)
    ends = [track.at(x + part * sizes.CART, 22.0) for part in (0.2, 0.8)]
    drawing.label(*lines, at=spots, of=ends)


def _name_hanging(drawing: Drawing, places: Positions, scene: Scene, name: str) -> None:
    """Beside it on the outer side, else below, else on the inner side."""
    x, y = places.hanging[name]
    half, foot = sizes.WEIGHT_WIDTH / 2 + NEAR, y - sizes.WEIGHT_HEIGHT
    heights = ((y - sizes.WEIGHT_HEIGHT * 0.42, 0.5), (foot + 4.0, 0.0), (foot + 12.0, 0.0))
    left = [Spot(at=(x - half, at), across=1.0, up=up) for at, up in heights]
    right = [Spot(at=(x + half, at), across=0.0, up=up) for at, up in heights]
    outer, inner = (left, right) if places.is_left(x) else (right, left)
    spots = [*outer, *around((x, foot), angles=[DOWN]), *inner]
    drawing.label(*_stacked(scene, name), at=spots)


def _name_slope(drawing: Drawing, places: Positions, scene: Scene, surface: str) -> None:
    track = places.tracks[surface]
    letter = scene.symbol(f"slope.{surface}")
    if abs(track.angle) < 1e-6 or letter is None:
        return
    corner, level = slope_corner(track)
    inside = along(corner, SLOPE_RADIUS, level + track.angle / 2)
    behind = along(corner, LEVEL_LINE, level)
    spots = around(inside, behind, angles=[math.degrees(level)])
    drawing.label(letter, at=(*spots, *around(behind, angles=[-30.0 if level == 0.0 else -150.0])))


def _name_stop(drawing: Drawing, places: Positions, surface: str) -> None:
    front = end_stops(places).get(surface)
    if front is None:
        return
    track = places.tracks[surface]
    x = stop_at(track, front)
    below, above = track.at(x, -TRACK_THICKNESS), track.at(x, sizes.HOOK)
    spots = [
        *around(below, angles=(-120.0, -60.0, -140.0, -40.0), gaps=(NEAR, 11.0)),
        *around(above, angles=(150.0, 120.0, 60.0, 30.0, UP), gaps=FARTHER),
        *around(track.at(x, 4.0), angles=[RIGHT if front else LEFT], gaps=[9.0]),
    ]
    drawing.label(say("end-stop"), at=spots, role="quiet", of=(below, above))


def _name_track(drawing: Drawing, places: Positions, scene: Scene, surface: str) -> None:
    track = places.tracks[surface]
    sloping = abs(track.angle) > 0.05
    parts = (0.4, 0.3, 0.5, 0.2, 0.6) if track.angle >= 0 else (0.6, 0.7, 0.5, 0.8, 0.4)
    under = [track.at(part * track.length, -TRACK_THICKNESS) for part in (*parts, 0.0, 1.0)]
    inner = (-45.0 if track.angle > 0 else -135.0) if sloping else DOWN
    spots = around(*under[:-2], angles=(DOWN, inner, -60.0, -120.0), gaps=(NEAR, 13.0, 21.0))
    noun = scene.noun(surface)
    lines = noun.split() if sloping else [noun]
    drawing.label(*lines, at=spots, role="quiet", of=under[-2:])


def _name_wheel(drawing: Drawing, places: Positions, scene: Scene, name: str) -> None:
    wheel = places.wheels[name]
    rim = arc(wheel.centre, wheel.radius, 0.0, math.tau)
    angles = (45.0, UP, 135.0, RIGHT, LEFT, -45.0, -135.0, 60.0, 120.0)
    gaps = [wheel.radius + gap for gap in FARTHER]
    spots = around(wheel.centre, angles=angles, gaps=gaps)
    drawing.label(*wrapped(scene.noun(name), NARROW), at=spots, of=rim)


def _name_string(drawing: Drawing, places: Positions, scene: Scene, name: str) -> None:
    """Beside one of its longest parts; where that is too crowded, above with a line to it."""
    line = places.string_line(name)
    pairs = sorted(pairwise(line), key=lambda pair: -math.dist(*pair))
    spots: list[Spot] = []
    for parts in ((0.5, 0.4, 0.6), (0.3, 0.7, 0.8, 0.2)):
        for pair in pairs[:3]:
            points = [between(*pair, part) for part in parts]
            spots += around(*points, angles=(UP, RIGHT, LEFT, 120.0, 60.0))
            spots += around(*points, angles=(135.0, 45.0), gaps=[12.0])
    points = [between(*pairs[0], part) for part in (0.5, 0.3, 0.7, 0.9, 0.1)]
    spots += around(*points, angles=[UP], gaps=range(24, 97, 12))
    drawing.label(scene.noun(name), at=spots, of=line)


def _name_pad(drawing: Drawing, places: Positions, pad: Point) -> None:
    x, top = pad
    half = sizes.PAD_WIDTH / 2 + NEAR
    left = Spot(at=(x - half, top - 6.0), across=1.0, up=0.0)
    right = Spot(at=(x + half, top - 6.0), across=0.0, up=0.0)
    below = Spot(at=(x, places.floor() - 8.0), across=0.5, up=1.0)
    spots = (right, left, below) if places.is_left(x) else (left, right, below)
    drawing.label(say("catch-pad"), at=spots, role="quiet")
