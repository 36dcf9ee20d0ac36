"""What stands in a sketch: floor, table, tracks on supports, pulleys on brackets, carts, weights.

Takes a drawing and the positions of a set-up; draws into the drawing, in their coordinates.
"""

import math
from collections.abc import Iterator, Mapping

from fallwork.figures import positions as sizes
from fallwork.figures.drawing import Drawing
from fallwork.figures.geometry import Point, Track, along, arc
from fallwork.figures.placing import Box
from fallwork.figures.positions import Positions

THICKNESS = 5.0  # of a track, and of the table's top
STEP = 9.0  # between the strokes under the floor
SLOPE_RADIUS = 44.0
LEVEL_LINE = SLOPE_RADIUS + 10.0  # as long as the level line at a slope's lower end
WHEEL = 4.5  # pt, radius of a cart's wheels
NECK = 4.0  # pt, of a weight's hook
HEIGHTS = {"cart": (6.0, 20.0), "glider": (2.5, 20.0), "block": (0.0, 22.0)}  # pt, above a track


def draw_fixtures(drawing: Drawing, places: Positions) -> None:
    """Everything that never moves."""
    (left, right), floor = places.bounds(), places.floor()
    _draw_ground(drawing, complex(left - 6.0, floor), right - left + 20.0, -5.0)
    if places.tracks:
        table = table_of(places)
        for part in (0.27, 0.73):
            x = table.left + part * (table.right - table.left)
            drawing.line(complex(x, table.bottom), complex(x, floor), role="rule", width=3.0)
        drawing.area(table.corners, fill="paper", edge="rule")
    for surface, track in places.tracks.items():
        _draw_track(drawing, track, table.top)
        if stop := end_stops(places).get(surface):
            drawing.area(_block(track, stop - 2.5, 5.0, 0.0, 8.0), fill="rule", edge="rule")
    for name, pulley in places.apparatus.pulleys.items():
        if not pulley.moving:
            _draw_bracket(drawing, places, name)
    for point in places.anchors.values():
        _draw_anchor(drawing, point, places)
    for pad in places.pads().values():
        _draw_pad(drawing, pad, floor, places.room_beside(pad))


def _draw_ground(drawing: Drawing, left: Point, width: float, side: float) -> None:
    """A level line with strokes on the side where the ground or the ceiling is."""
    drawing.line(left, left + width, role="rule", width=1.2)
    first = 1.0 if side > 0 else STEP
    feet = [left + first + STEP * n for n in range(int((width - first) / STEP) + 1)]
    drawing.strokes((foot, foot + complex(side, side)) for foot in feet)


def table_of(places: Positions) -> Box:
    """The table's top: it keeps clear of what hangs at the tracks' ends."""
    xs, hangs = [end.real for end in places.ends], [top.real for top in places.hanging.values()]
    left, right = min(xs), max(xs)
    left, right = (
        left + (4.0 if any(x < left for x in hangs) else -8.0),
        right - (4.0 if any(x > right for x in hangs) else -8.0),
    )
    top = min(end.imag for end in places.ends) - THICKNESS - places.foot
    return Box(left=left, bottom=top - THICKNESS, right=right, top=top)


def _draw_track(drawing: Drawing, track: Track, table: float) -> None:
    length = track.length
    for part in (0.1, 0.9):
        top = track.at(part * length, -THICKNESS)
        foot = complex(top.real, table)
        drawing.line(top, foot, role="rule", width=3.0)
        drawing.line(foot - 6.0 + 1j, foot + 6.0 + 1j, role="rule", width=2)
    low = (track.at(length, -THICKNESS), track.at(0.0, -THICKNESS))
    drawing.area((track.back, track.front, *low), fill="fill")
    if abs(track.angle) > 1e-6:  # the level line and the angle at the lower end
        corner, level = slope_corner(track)
        end = along(corner, LEVEL_LINE, level)
        drawing.line(corner, end, role="quiet", width=0.8, dash=(4.0, 2.5))
        bow = arc(corner, SLOPE_RADIUS, level, level + track.angle)
        drawing.line(*bow, role="quiet", width=0.8)


def slope_corner(track: Track) -> tuple[Point, float]:
    """The lower end of a track, and the direction of the level line from there."""
    if track.angle > 0:
        return track.at(0.0, -THICKNESS), 0.0
    return track.at(track.length, -THICKNESS), math.pi


def end_stops(places: Positions) -> Mapping[str, float]:
    """Surface → where a stop stands, from its back: at the end to which something runs."""
    ways = {places.surface_of(name): places.way.get(name, 0) for name in places.sliders}
    ends = {surface: places.tracks[surface].length - 5.5 for surface in ways}
    return {surface: ends[surface] if way > 0 else 5.5 for surface, way in ways.items() if way}


def _block(track: Track, x: float, width: float, low: float, high: float) -> Iterator[Point]:
    """The corners of a rectangle on a track."""
    corners = ((x, low), (x + width, low), (x + width, high), (x, high))
    return (track.at(*corner) for corner in corners)


def _draw_pad(drawing: Drawing, top: Point, floor: float, room: float) -> None:
    """A soft pad on the floor, or on a stand where the fall ends higher; ``room`` on each side."""
    half, x, bottom = min(sizes.PAD_WIDTH / 2, room), top.real, top.imag - sizes.PAD_HEIGHT
    if bottom > floor + 1.0:
        stand = Box(left=x - 0.7 * half, bottom=floor, right=x + 0.7 * half, top=bottom)
        drawing.area(stand.corners, fill="paper", edge="rule")
    pad = Box(left=x - half, bottom=bottom, right=x + half, top=top.imag)
    drawing.area(pad.corners, fill="paper")
    middles = [top + part * half for part in (-0.66, -0.22, 0.22, 0.66)]
    low, high = complex(-3.0, 1.5 - sizes.PAD_HEIGHT), complex(3.0, -1.5)
    drawing.strokes((middle + low, middle + high) for middle in middles)


def _draw_bracket(drawing: Drawing, places: Positions, name: str) -> None:
    """A fixed pulley is held at the nearer end of a track, or from a beam above."""
    wheel, tracks = places.wheels[name], places.tracks.values()
    ends = [track.at(x, -THICKNESS / 2) for track in tracks for x in (1.5, track.length - 1.5)]
    nearest = min(ends, key=lambda end: abs(end - wheel.centre), default=None)
    if nearest is not None and abs(nearest - wheel.centre) < 5 * wheel.radius:
        drawing.line(wheel.centre, nearest, role="rule", width=3.0)
        return
    beam = wheel.centre + 1j * (wheel.radius + 13.0)
    drawing.line(wheel.centre, beam, role="rule", width=3.0)
    _draw_ground(drawing, beam - 26.0, 52.0, 5.0)


def _draw_anchor(drawing: Drawing, point: Point, places: Positions) -> None:
    """A post at the end of a track, or a piece of ceiling or floor."""
    if any(abs(point - end) < 2 * sizes.HOOK for end in places.ends):
        drawing.line(point - sizes.HOOK * 1j, point + 7j, role="rule", width=4.0)
    elif point.imag > places.top():
        _draw_ground(drawing, point - 14.0, 28.0, 5.0)
    else:
        drawing.disc(point, 2.5, fill="rule", edge="rule")


def draw_objects(drawing: Drawing, places: Positions) -> None:
    """Strings, pulleys, what runs and what hangs."""
    bodies = places.apparatus.bodies
    for string in places.apparatus.strings:
        drawing.line(*places.string_line(string), width=1.3)
    for name, wheel in places.wheels.items():
        for load in (load for load, body in bodies.items() if body.hangs_from == name):
            drawing.line(wheel.centre, places.hanging[load], width=1.6)
        drawing.disc(wheel.centre, wheel.radius - 0.6, fill="paper")
        drawing.disc(wheel.centre, 1.8, fill="ink")
    for name, x in places.sliders.items():
        track, kind = places.track_of(name), bodies[name].kind
        drawing.area(_block(track, x, sizes.CART, *HEIGHTS[kind]), width=1.3)
        for part in (0.2, 0.8) if kind == "cart" else ():
            drawing.disc(track.at(x + part * sizes.CART, WHEEL), WHEEL, fill="paper")
    for top in places.hanging.values():
        drawing.line(top, top - NECK * 1j, width=1.6)
        half, low, high = sizes.WEIGHT_WIDTH / 2, top.imag - sizes.WEIGHT_HEIGHT, top.imag - NECK
        body = Box(left=top.real - half, bottom=low, right=top.real + half, top=high)
        drawing.area(body.corners, width=1.3)
