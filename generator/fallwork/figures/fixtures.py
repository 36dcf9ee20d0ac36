"""What stands fixed in the room in a sketch: floor, table, tracks on supports, pulley brackets.

Takes a drawing and the positions of a set-up; draws into the drawing, in their coordinates.
"""

import math
from collections.abc import Mapping

from fallwork.figures import positions as sizes
from fallwork.figures.drawing import Drawing, along, arc
from fallwork.figures.placing import Box, Point
from fallwork.figures.positions import Positions, Track

THICKNESS = 5.0  # of a track, and of the table's top
STEP = 9.0  # between the strokes under the floor
SLOPE_RADIUS = 44.0
LEVEL_LINE = SLOPE_RADIUS + 10.0  # as long as the level line at a slope's lower end


def draw_fixtures(drawing: Drawing, places: Positions) -> None:
    """Everything that never moves, but for the catch pads."""
    (left, right), floor = places.bounds(), places.floor()
    _draw_ground(drawing, left - 6.0, right + 14.0, floor, -5.0)
    if places.tracks:
        table = table_of(places)
        for part in (0.27, 0.73):
            x = table.left + part * (table.right - table.left)
            drawing.line((x, table.bottom), (x, floor), role="rule", width=3.0)
        drawing.area(table.corners, fill="paper", edge="rule")
    for surface, track in places.tracks.items():
        _draw_track(drawing, track, table.top)
        if stop := end_stops(places).get(surface):
            corners = Box(left=stop - 2.5, bottom=0.0, right=stop + 2.5, top=8.0).corners
            drawing.area((track.at(*corner) for corner in corners), fill="rule", edge="rule")
    for name, pulley in places.apparatus.pulleys.items():
        if not pulley.moving:
            _draw_bracket(drawing, places, name)
    for point in places.anchors.values():
        _draw_anchor(drawing, point, places)


def _draw_ground(drawing: Drawing, left: float, right: float, level: float, side: float) -> None:
    """A level line with strokes on the side where the ground or the ceiling is."""
    drawing.line((left, level), (right, level), role="rule", width=1.2)
    first = 1.0 if side > 0 else STEP
    feet = (left + first + STEP * n for n in range(int((right - left - first) / STEP) + 1))
    drawing.strokes(((x, level), (x + side, level + side)) for x in feet)


def table_of(places: Positions) -> Box:
    """The table's top: it keeps clear of what hangs at the tracks' ends."""
    ends = [end for track in places.tracks.values() for end in (track.back, track.front)]
    left, right = min(x for x, _ in ends), max(x for x, _ in ends)
    hangs_left = any(x < left for x, _ in places.hanging.values())
    hangs_right = any(x > right for x, _ in places.hanging.values())
    top = min(y for _, y in ends) - THICKNESS - places.foot
    left, right = left + (4.0 if hangs_left else -8.0), right - (4.0 if hangs_right else -8.0)
    return Box(left=left, bottom=top - THICKNESS, right=right, top=top)


def _draw_track(drawing: Drawing, track: Track, table: float) -> None:
    length = track.length
    for part in (0.1, 0.9):
        x, y = track.at(part * length, -THICKNESS)
        drawing.line((x, y), (x, table), role="rule", width=3.0)
        drawing.line((x - 6.0, table + 1.0), (x + 6.0, table + 1.0), role="rule", width=2)
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


def draw_pad(drawing: Drawing, place: Point, floor: float, room: float) -> None:
    """A soft pad on the floor, or on a stand where the fall ends higher; ``room`` on each side."""
    x, top = place
    half, bottom = min(sizes.PAD_WIDTH / 2, room), top - sizes.PAD_HEIGHT
    if bottom > floor + 1.0:
        stand = Box(left=x - 0.7 * half, bottom=floor, right=x + 0.7 * half, top=bottom)
        drawing.area(stand.corners, fill="paper", edge="rule")
    pad = Box(left=x - half, bottom=bottom, right=x + half, top=top)
    drawing.area(pad.corners, fill="paper")
    middles = [x + part * half for part in (-0.66, -0.22, 0.22, 0.66)]
    drawing.strokes(((mid - 3.0, bottom + 1.5), (mid + 3.0, top - 1.5)) for mid in middles)


def _draw_bracket(drawing: Drawing, places: Positions, name: str) -> None:
    """A fixed pulley is held at the nearer end of a track, or from a beam above."""
    wheel, tracks = places.wheels[name], places.tracks.values()
    ends = [track.at(x, -THICKNESS / 2) for track in tracks for x in (1.5, track.length - 1.5)]
    nearest = min(ends, key=lambda end: math.dist(end, wheel.centre), default=None)
    if nearest and math.dist(nearest, wheel.centre) < 5 * wheel.radius:
        drawing.line(wheel.centre, nearest, role="rule", width=3.0)
        return
    x, y = wheel.centre[0], wheel.centre[1] + wheel.radius + 13.0
    drawing.line(wheel.centre, (x, y), role="rule", width=3.0)
    _draw_ground(drawing, x - 26.0, x + 26.0, y, 5.0)


def _draw_anchor(drawing: Drawing, point: Point, places: Positions) -> None:
    """A post at the end of a track, or a piece of ceiling or floor."""
    x, y = point
    ends = [end for track in places.tracks.values() for end in (track.back, track.front)]
    if any(math.dist(point, end) < 2 * sizes.HOOK for end in ends):
        drawing.line((x, y - sizes.HOOK), (x, y + 7.0), role="rule", width=4.0)
    elif y > max(wheel.centre[1] for wheel in places.wheels.values()):
        _draw_ground(drawing, x - 14.0, x + 14.0, y, 5.0)
    else:
        drawing.disc(point, 2.5, fill="rule", edge="rule")
