"""What stands fixed in the room in a sketch: floor, table, tracks on supports, pulley brackets.

Takes a drawing and the places of a layout; draws into the drawing, in the layout's coordinates.
"""

import math

from fallwork.figures import layout as places
from fallwork.figures.canvas import Point
from fallwork.figures.drawing import Drawing, along, arc
from fallwork.figures.layout import Layout, Track

TRACK_THICKNESS = 5.0
TABLE_THICKNESS = 5.0
STEP = 9.0  # between the strokes under the floor


def draw_fixtures(drawing: Drawing, layout: Layout, floor: float) -> None:
    """Everything that never moves, but for the catch pads."""
    left, right = places.bounds_of(layout)
    draw_floor(drawing, floor, left - 6.0, right + 14.0)
    if layout.tracks:
        _draw_table(drawing, layout, floor)
    for surface, track in layout.tracks.items():
        _draw_track(drawing, track, table_top(layout))
        if surface in end_stops(layout):
            _draw_stop(drawing, track, front=end_stops(layout)[surface])
    for name in layout.wheels:
        _draw_bracket(drawing, layout, name)
    for name in layout.anchors:
        _draw_anchor(drawing, layout.anchors[name], layout)


def draw_floor(drawing: Drawing, level: float, left: float, right: float) -> None:
    """A level line with strokes on the side where the ground is."""
    drawing.line((left, level), (right, level), role="rule", width=1.2)
    places_of_strokes = (left + STEP * n for n in range(1, int((right - left) / STEP) + 1))
    drawing.strokes(((x, level), (x - 5.0, level - 5.0)) for x in places_of_strokes)


def table_top(layout: Layout) -> float:
    """The level of the table's top."""
    lowest = min(min(track.back[1], track.front[1]) for track in layout.tracks.values())
    return lowest - TRACK_THICKNESS - layout.foot


def table_span(layout: Layout) -> tuple[float, float]:
    """Left and right edge of the table: it keeps clear of what hangs at the tracks' ends."""
    ends = [x for track in layout.tracks.values() for x in (track.back[0], track.front[0])]
    left, right = min(ends), max(ends)
    hangs_left = any(x < left for x, _ in layout.hanging.values())
    hangs_right = any(x > right for x, _ in layout.hanging.values())
    return (left + 4.0 if hangs_left else left - 8.0, right - 4.0 if hangs_right else right + 8.0)


def _draw_table(drawing: Drawing, layout: Layout, floor: float) -> None:
    left, right = table_span(layout)
    top = table_top(layout)
    for x in (left + 0.27 * (right - left), right - 0.27 * (right - left)):
        drawing.line((x, top - TABLE_THICKNESS), (x, floor), role="rule", width=3.0)
    low = top - TABLE_THICKNESS
    drawing.area(((left, low), (right, low), (right, top), (left, top)), fill="paper", edge="rule")


def _draw_track(drawing: Drawing, track: Track, table: float) -> None:
    for part in (0.1, 0.9):
        head = track.at(part * track.length, -TRACK_THICKNESS)
        drawing.line(head, (head[0], table), role="rule", width=3.0)
        drawing.line(
            (head[0] - 6.0, table + 1.0), (head[0] + 6.0, table + 1.0), role="rule", width=2
        )
    length = track.length
    low = (track.at(length, -TRACK_THICKNESS), track.at(0.0, -TRACK_THICKNESS))
    drawing.area((track.back, track.front, *low), fill="fill")
    if abs(track.angle) > 1e-6:
        _draw_slope(drawing, track)


def slope_corner(track: Track) -> tuple[Point, float]:
    """The lower end of a track, and the direction of the level line from there."""
    if track.angle > 0:
        return track.at(0.0, -TRACK_THICKNESS), 0.0
    return track.at(track.length, -TRACK_THICKNESS), math.pi


SLOPE_RADIUS = 44.0
LEVEL_LINE = SLOPE_RADIUS + 10.0  # as long as the level line at a slope's lower end


def _draw_slope(drawing: Drawing, track: Track) -> None:
    """The level line and the angle at the lower end."""
    corner, level = slope_corner(track)
    drawing.line(corner, along(corner, LEVEL_LINE, level), role="quiet", width=0.8, dash=(4.0, 2.5))
    drawing.line(*arc(corner, SLOPE_RADIUS, level, level + track.angle), role="quiet", width=0.8)


def end_stops(layout: Layout) -> dict[str, bool]:
    """Surface → True for a stop at its front, where something runs towards that end."""
    stops = {}
    for name in layout.sliders:
        way = layout.way.get(name, 0)
        if way:
            stops[layout.apparatus.bodies[name].surface or ""] = way > 0
    return stops


def stop_at(track: Track, front: bool) -> float:
    """Where the middle of an end stop stands, from the back of the track."""
    return track.length - 5.5 if front else 5.5


def _draw_stop(drawing: Drawing, track: Track, front: bool) -> None:
    x = stop_at(track, front)
    corners = [track.at(x + dx, dy) for dx, dy in ((-2.5, 0), (2.5, 0), (2.5, 8), (-2.5, 8))]
    drawing.area(corners, fill="rule", edge="rule")


def draw_pad(drawing: Drawing, place: Point, floor: float, room: float) -> None:
    """A soft pad on the floor, or on a stand where the fall ends higher; ``room`` on each side."""
    x, top = place
    half, bottom = min(places.PAD_WIDTH / 2, room), top - places.PAD_HEIGHT
    if bottom > floor + 1.0:
        drawing.area(_rectangle(x, 0.7 * half, floor, bottom), fill="paper", edge="rule")
    drawing.area(_rectangle(x, half, bottom, top), fill="paper")
    drawing.strokes(
        ((x + part * half - 3.0, bottom + 1.5), (x + part * half + 3.0, top - 1.5))
        for part in (-0.66, -0.22, 0.22, 0.66)
    )


def _rectangle(x: float, half: float, bottom: float, top: float) -> tuple[Point, ...]:
    return ((x - half, bottom), (x + half, bottom), (x + half, top), (x - half, top))


def _draw_bracket(drawing: Drawing, layout: Layout, name: str) -> None:
    """A fixed pulley is held at the nearer end of a track, or from a beam above."""
    if layout.apparatus.pulleys[name].moving:
        return
    wheel = layout.wheels[name]
    ends = [end for track in layout.tracks.values() for end in _middles_of_ends(track)]
    nearest = min(ends, key=lambda end: math.dist(end, wheel.centre), default=None)
    if nearest and math.dist(nearest, wheel.centre) < 5 * wheel.radius:
        drawing.line(wheel.centre, nearest, role="rule", width=3.0)
        return
    x, y = wheel.centre[0], wheel.centre[1] + wheel.radius + 13.0
    drawing.line(wheel.centre, (x, y), role="rule", width=3.0)
    _draw_ceiling(drawing, x, y, 26.0)


def _middles_of_ends(track: Track) -> tuple[Point, Point]:
    return (
        track.at(1.5, -TRACK_THICKNESS / 2),
        track.at(track.length - 1.5, -TRACK_THICKNESS / 2),
    )


def _draw_ceiling(drawing: Drawing, x: float, y: float, half: float) -> None:
    drawing.line((x - half, y), (x + half, y), role="rule", width=1.2)
    starts = (x - half + 1.0 + STEP * count for count in range(int(2 * half / STEP) + 1))
    drawing.strokes(((start, y), (start + 5.0, y + 5.0)) for start in starts)


def _draw_anchor(drawing: Drawing, point: Point, layout: Layout) -> None:
    """A post at the end of a track, or a piece of ceiling or floor."""
    x, y = point
    ends = [end for track in layout.tracks.values() for end in (track.back, track.front)]
    if any(math.dist(point, end) < 2 * places.HOOK for end in ends):
        drawing.line((x, y - places.HOOK), (x, y + 7.0), role="rule", width=4.0)
    elif y > max(wheel.centre[1] for wheel in layout.wheels.values()):
        _draw_ceiling(drawing, x, y, 14.0)
    else:
        drawing.disc(point, 2.5, fill="rule", edge="rule")
