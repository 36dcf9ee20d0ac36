"""What stands fixed in the room in a sketch: floor, table, tracks on supports, pulley brackets.

Takes a drawing and the positions of a set-up; draws into the drawing, in their coordinates.
"""

import math
from collections.abc import Mapping

from fallwork.figures import positions as sizes
from fallwork.figures.drawing import Drawing, along, arc
from fallwork.figures.placing import Box, Point
from fallwork.figures.positions import Positions, Track

TRACK_THICKNESS = 5.0
TABLE_THICKNESS = 5.0
STEP = 9.0  # between the strokes under the floor
SLOPE_RADIUS = 44.0
LEVEL_LINE = SLOPE_RADIUS + 10.0  # as long as the level line at a slope's lower end


def draw_fixtures(drawing: Drawing, places: Positions, floor: float) -> None:
    """Everything that never moves, but for the catch pads."""
    left, right = places.bounds()
    drawing.line((left - 6.0, floor), (right + 14.0, floor), role="rule", width=1.2)
    _hatch(drawing, left - 6.0, right + 14.0, floor, -5.0)
    if places.tracks:
        _draw_table(drawing, places, floor)
    stops = end_stops(places)
    for surface, track in places.tracks.items():
        _draw_track(drawing, track, table_top(places))
        if surface in stops:
            x = stop_at(track, stops[surface])
            corners = ((x - 2.5, 0.0), (x + 2.5, 0.0), (x + 2.5, 8.0), (x - 2.5, 8.0))
            drawing.area((track.at(*corner) for corner in corners), fill="rule", edge="rule")
    for name, pulley in places.apparatus.pulleys.items():
        if not pulley.moving:
            _draw_bracket(drawing, places, name)
    for point in places.anchors.values():
        _draw_anchor(drawing, point, places)


def _hatch(drawing: Drawing, left: float, right: float, level: float, side: float) -> None:
    """Strokes on the side of a level line where the ground or the ceiling is."""
    feet = (left + STEP * count for count in range(1, int((right - left) / STEP) + 1))
    drawing.strokes(((x, level), (x + side, level + side)) for x in feet)


def table_top(places: Positions) -> float:
    """The level of the table's top."""
    lowest = min(min(track.back[1], track.front[1]) for track in places.tracks.values())
    return lowest - TRACK_THICKNESS - places.foot


def table_span(places: Positions) -> tuple[float, float]:
    """Left and right edge of the table: it keeps clear of what hangs at the tracks' ends."""
    ends = [x for track in places.tracks.values() for x in (track.back[0], track.front[0])]
    left, right = min(ends), max(ends)
    hangs_left = any(x < left for x, _ in places.hanging.values())
    hangs_right = any(x > right for x, _ in places.hanging.values())
    return (left + 4.0 if hangs_left else left - 8.0, right - 4.0 if hangs_right else right + 8.0)


def _draw_table(drawing: Drawing, places: Positions, floor: float) -> None:
    left, right = table_span(places)
    top = table_top(places)
    low = top - TABLE_THICKNESS
    for x in (left + 0.27 * (right - left), right - 0.27 * (right - left)):
        drawing.line((x, low), (x, floor), role="rule", width=3.0)
    board = Box(left=left, bottom=low, right=right, top=top)
    drawing.area(board.corners, fill="paper", edge="rule")


def _draw_track(drawing: Drawing, track: Track, table: float) -> None:
    length = track.length
    for part in (0.1, 0.9):
        x, y = track.at(part * length, -TRACK_THICKNESS)
        drawing.line((x, y), (x, table), role="rule", width=3.0)
        drawing.line((x - 6.0, table + 1.0), (x + 6.0, table + 1.0), role="rule", width=2)
    low = (track.at(length, -TRACK_THICKNESS), track.at(0.0, -TRACK_THICKNESS))
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
        return track.at(0.0, -TRACK_THICKNESS), 0.0
    return track.at(track.length, -TRACK_THICKNESS), math.pi


def end_stops(places: Positions) -> Mapping[str, bool]:
    """Surface → True for a stop at its front, where something runs towards that end."""
    ways = {places.surface_of(name): places.way.get(name, 0) for name in places.sliders}
    return {surface: way > 0 for surface, way in ways.items() if way}


def stop_at(track: Track, front: bool) -> float:
    """Where the middle of an end stop stands, from the back of the track."""
    return track.length - 5.5 if front else 5.5


def draw_pad(drawing: Drawing, place: Point, floor: float, room: float) -> None:
    """A soft pad on the floor, or on a stand where the fall ends higher; ``room`` on each side."""
    x, top = place
    half, bottom = min(sizes.PAD_WIDTH / 2, room), top - sizes.PAD_HEIGHT
    if bottom > floor + 1.0:
        stand = Box(left=x - 0.7 * half, bottom=floor, right=x + 0.7 * half, top=bottom)
        drawing.area(stand.corners, fill="paper", edge="rule")
    pad = Box(left=x - half, bottom=bottom, right=x + half, top=top)
    drawing.area(pad.corners, fill="paper")
    drawing.strokes(
        ((x + part * half - 3.0, bottom + 1.5), (x + part * half + 3.0, top - 1.5))
        for part in (-0.66, -0.22, 0.22, 0.66)
    )


def _draw_bracket(drawing: Drawing, places: Positions, name: str) -> None:
    """A fixed pulley is held at the nearer end of a track, or from a beam above."""
    wheel = places.wheels[name]
    inside = -TRACK_THICKNESS / 2
    ends = [
        track.at(x, inside) for track in places.tracks.values() for x in (1.5, track.length - 1.5)
    ]
    nearest = min(ends, key=lambda end: math.dist(end, wheel.centre), default=None)
    if nearest and math.dist(nearest, wheel.centre) < 5 * wheel.radius:
        drawing.line(wheel.centre, nearest, role="rule", width=3.0)
        return
    x, y = wheel.centre[0], wheel.centre[1] + wheel.radius + 13.0
    drawing.line(wheel.centre, (x, y), role="rule", width=3.0)
    _draw_ceiling(drawing, x, y, 26.0)


def _draw_ceiling(drawing: Drawing, x: float, y: float, half: float) -> None:
    drawing.line((x - half, y), (x + half, y), role="rule", width=1.2)
    _hatch(drawing, x - half - STEP + 1.0, x + half, y, 5.0)


def _draw_anchor(drawing: Drawing, point: Point, places: Positions) -> None:
    """A post at the end of a track, or a piece of ceiling or floor."""
    x, y = point
    ends = [end for track in places.tracks.values() for end in (track.back, track.front)]
    if any(math.dist(point, end) < 2 * sizes.HOOK for end in ends):
        drawing.line((x, y - sizes.HOOK), (x, y + 7.0), role="rule", width=4.0)
    elif y > max(wheel.centre[1] for wheel in places.wheels.values()):
        _draw_ceiling(drawing, x, y, 14.0)
    else:
        drawing.disc(point, 2.5, fill="rule", edge="rule")
