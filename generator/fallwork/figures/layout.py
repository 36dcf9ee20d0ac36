"""Where everything of a set-up stands in a sketch: takes an apparatus, gives places in points.

Follows the strings: tracks at their slope, pulleys at their ends, what hangs below. Sizes and
lengths are the drawing's own; only slopes and which way things move are taken over. Drawing is
left to ``sketch``.
"""

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from itertools import pairwise

from fallwork.figures.canvas import Point
from fallwork.figures.drawing import along, arc
from fallwork.figures.geometry import (
    Straight,
    angle_of,
    is_hung,
    kind_of,
    slope_of,
    straights,
    turn_of,
)
from fallwork.mechanics.apparatus import Apparatus
from fallwork.mechanics.solution import Solution

CART = 46.0  # pt, length of a cart or block
COUPLING = 30.0  # between two that are coupled
HOOK = 13.0  # height of the string above the track
ROOM_BEHIND, ROOM_AHEAD = 16.0, 74.0  # free track
AXLE_OUT = 17.0  # from the end of a track to the axle of its pulley
RADIUS, MOVING_RADIUS = 10.0, 12.0
OVERHEAD_RADIUS = (18.0, 32.0)  # with weights, and with moving pulleys, at its two sides
WEIGHT_WIDTH, WEIGHT_HEIGHT = 24.0, 26.0
STRING = 34.0  # from a pulley down to what falls
DROP = 58.0  # the drawn distance of the run
ANCHOR_RISE = 22.0  # of an anchor overhead, above the pulleys' axles
ROD = 9.0  # from a moving pulley to what hangs from it
PAD_WIDTH, PAD_HEIGHT = 34.0, 9.0
FOOT = 18.0  # on the sheet: of the lower end of a track above the table
TABLE = 56.0  # least height of the table
COLUMN = 70.0  # between parts that no string joins


@dataclass(frozen=True, kw_only=True)
class Track:
    """The top line of a surface."""

    back: Point
    front: Point

    @property
    def angle(self) -> float:
        """Its slope in rad."""
        return math.atan2(self.front[1] - self.back[1], self.front[0] - self.back[0])

    def at(self, length: float, height: float = 0.0) -> Point:
        """A point so far from the back, and so high above the surface."""
        return along(along(self.back, length, self.angle), height, self.angle + math.pi / 2)

    @property
    def length(self) -> float:
        """From back to front."""
        return math.dist(self.back, self.front)


@dataclass(frozen=True, kw_only=True)
class Wheel:
    """A pulley."""

    centre: Point
    radius: float
    turn: int  # +1: the string passes over it, -1: under it

    def touch(self, straight: Straight) -> Point:
        """Where a straight part of a string leaves the rim."""
        x, y = straight.direction
        reach = self.turn * self.radius
        return (self.centre[0] - reach * y, self.centre[1] + reach * x)


@dataclass(kw_only=True)
class Layout:
    """Places by name; grows while the strings are followed."""

    apparatus: Apparatus
    way: Mapping[str, int]  # +1, -1 or 0: how each object moves along its positive sense
    tracks: dict[str, Track] = field(default_factory=dict)
    sliders: dict[str, float] = field(default_factory=dict)  # back end, from the track's back
    wheels: dict[str, Wheel] = field(default_factory=dict)
    hanging: dict[str, Point] = field(default_factory=dict)  # middle of the top
    anchors: dict[str, Point] = field(default_factory=dict)
    foot: float = FOOT

    def track_of(self, slider: str) -> Track:
        """The track on which something runs."""
        return self.tracks[self.apparatus.bodies[slider].surface or ""]

    def hook(self, slider: str, front: bool) -> Point:
        """Where a string is tied to a slider."""
        return self.track_of(slider).at(self.sliders[slider] + (CART if front else 0.0), HOOK)

    def end(self, straight: Straight, name: str) -> Point:
        """Where a straight part of a string begins or ends at an object."""
        if name in self.sliders:
            return self.hook(name, front=name == straight.start)
        if name in self.hanging:
            return self.hanging[name]
        if name in self.anchors:
            return self.anchors[name]
        wheel = self.wheels[name]
        if kind_of(self.apparatus, name) == "moving" and self._ends_here(straight, name):
            return (wheel.centre[0], wheel.centre[1] + wheel.radius * self._side(straight, name))
        return wheel.touch(straight)

    def _ends_here(self, straight: Straight, name: str) -> bool:
        return any(
            name in (string.path[0], string.path[-1])
            and {straight.start, straight.end} <= set(string.path)
            for string in self.apparatus.strings.values()
        )

    def _side(self, straight: Straight, name: str) -> float:
        """+1: the string is tied to the pulley's top, -1: to its bottom."""
        return straight.direction[1] if name == straight.start else -straight.direction[1]

    def string_line(self, string: str) -> tuple[Point, ...]:
        """A string as it runs, round its pulleys."""
        parts = straights(self.apparatus, string)
        points = [self.end(parts[0], parts[0].start), self.end(parts[0], parts[0].end)]
        for before, after in pairwise(parts):
            if before.end in self.wheels:
                points += _round(self.wheels[before.end], before, after)
            points += [self.end(after, after.start), self.end(after, after.end)]
        return tuple(points)


def _round(wheel: Wheel, before: Straight, after: Straight) -> tuple[Point, ...]:
    """The part of a string that lies on a pulley."""
    start = angle_of(before.direction) + wheel.turn * math.pi / 2
    change = (angle_of(after.direction) - angle_of(before.direction)) * -wheel.turn
    sweep = (change + 1e-9) % (2 * math.pi)  # straight on stays straight, whatever the rounding
    return arc(wheel.centre, wheel.radius, start, start - wheel.turn * sweep)


def lay_out(apparatus: Apparatus, way: Mapping[str, int]) -> Layout:
    """The places of a set-up; heights above table and floor are left to ``settle``."""
    layout = Layout(apparatus=apparatus, way=way)
    for surface in apparatus.surfaces:
        _place_track(layout, surface)
    for _ in apparatus.strings:  # as many rounds as the longest way from string to string
        for string in apparatus.strings:
            _follow(layout, string)
    for name in _unplaced_tops(layout):
        place = (_right_end(layout) + COLUMN, _top(layout))
        _place_wheel(layout, name, place, _overhead_radius(apparatus, name))
        for _ in apparatus.strings:
            for string in apparatus.strings:
                _follow(layout, string)
    return layout


def settle(layout: Layout, foot: float) -> None:
    """Sets the height of the supports; where a table asks for it, all that hangs comes down."""
    layout.foot = foot
    gap = min(_levels_of_hanging(layout), default=0.0) - min(_levels_of_tracks(layout), default=0.0)
    if not layout.tracks or not layout.hanging or gap <= 0.0:
        return
    for name, (x, y) in layout.hanging.items():
        layout.hanging[name] = (x, y - gap)
    for name, wheel in layout.wheels.items():
        if layout.apparatus.pulleys[name].moving:
            x, y = wheel.centre
            layout.wheels[name] = replace(wheel, centre=(x, y - gap))


# Tracks and what runs on them.


def _place_track(layout: Layout, surface: str) -> None:
    apparatus = layout.apparatus
    riders = _riders(apparatus, surface)
    block = CART * len(riders) + COUPLING * max(0, len(riders) - 1)
    length = block + ROOM_BEHIND + ROOM_AHEAD
    slope = slope_of(apparatus, surface)
    back = _back_of_track(layout, surface, riders)
    layout.tracks[surface] = Track(back=back, front=along(back, length, slope))
    x = _first_place(sum(layout.way.get(n, 0) or _drawn_way(apparatus, n) for n in riders))
    for name in riders:
        layout.sliders[name] = x
        x += CART + COUPLING
    for string in apparatus.strings.values():
        _place_ends(layout, string.path, riders)


def _first_place(way: int) -> float:
    """The room behind what runs on a track, so that there is room ahead the way it goes."""
    if way == 0:
        return (ROOM_BEHIND + ROOM_AHEAD) / 2
    return ROOM_BEHIND if way > 0 else ROOM_AHEAD


def _riders(apparatus: Apparatus, surface: str) -> list[str]:
    """What runs on a surface, from back to front: as the strings join it, else as it starts."""
    names = [name for name, body in apparatus.bodies.items() if body.surface == surface]
    names.sort(key=lambda name: float(apparatus.bodies[name].starts_at or 0.0))
    for string in apparatus.strings.values():
        for rear, front in pairwise(string.path):
            if rear in names and front in names and names.index(rear) > names.index(front):
                names.remove(front)
                names.insert(names.index(rear) + 1, front)
    return names


def _drawn_way(apparatus: Apparatus, name: str) -> int:
    """+1 where strings lead from the front to a pulley only, -1 from the back only, else 0."""
    way = 0
    for string in apparatus.strings.values():
        path = string.path
        way += path[0] == name and kind_of(apparatus, path[1]) == "fixed"
        way -= path[-1] == name and kind_of(apparatus, path[-2]) == "fixed"
    return way


def _back_of_track(layout: Layout, surface: str, riders: list[str]) -> Point:
    """Beyond the pulley over which a string reaches this track; else to the right of all."""
    for string in layout.apparatus.strings.values():
        *_, pulley, last = string.path
        if last in riders and pulley in layout.wheels:
            wheel = layout.wheels[pulley]
            slope = slope_of(layout.apparatus, surface)
            top = along(wheel.centre, wheel.radius - HOOK, slope + math.pi / 2)
            return along(top, AXLE_OUT, slope)
    return (_right_end(layout) + COLUMN, 0.0) if layout.tracks else (0.0, 0.0)


def _place_ends(layout: Layout, path: tuple[str, ...], riders: list[str]) -> None:
    """Pulleys and anchors at the two ends of a track."""
    for slider, neighbour, front in ((path[0], path[1], True), (path[-1], path[-2], False)):
        if slider not in riders or neighbour in layout.wheels or neighbour in riders:
            continue
        track = layout.track_of(slider)
        same_end = sum(1 for wheel in layout.wheels.values() if _near(track, wheel.centre, front))
        out = AXLE_OUT + same_end * (WEIGHT_WIDTH + 4 * RADIUS)
        height = HOOK + same_end * 0.8 * RADIUS
        x = track.length + out if front else -out
        if kind_of(layout.apparatus, neighbour) == "anchor":
            layout.anchors[neighbour] = track.at(track.length if front else 0.0, HOOK)
        else:
            _place_wheel(layout, neighbour, track.at(x, height - RADIUS), RADIUS)


def _near(track: Track, centre: Point, front: bool) -> bool:
    end = track.front if front else track.back
    return math.dist(end, centre) < 4 * AXLE_OUT


# What hangs.


def _follow(layout: Layout, string: str) -> None:
    """Places the neighbours of what is placed, along one string."""
    parts = straights(layout.apparatus, string)
    for part in (*parts, *reversed(parts)):
        for known, new in ((part.start, part.end), (part.end, part.start)):
            if _is_placed(layout, known) and not _is_placed(layout, new):
                _place_beside(layout, part, known, new)


def _place_beside(layout: Layout, part: Straight, known: str, new: str) -> None:
    x, y = layout.end(part, known)
    sign = 1.0 if known == part.start else -1.0
    down = sign * part.direction[1] < 0
    kind = kind_of(layout.apparatus, new)
    if kind == "hanging":
        layout.hanging[new] = (x, y - _length(layout, new))
    elif kind == "anchor":
        layout.anchors[new] = (x, y - STRING - DROP) if down else (x, _top(layout) + ANCHOR_RISE)
    elif part.direction[1] == 0.0:
        _place_wheel(layout, new, (x + sign * COLUMN, layout.wheels[known].centre[1]), RADIUS)
    elif kind == "fixed":
        radius = _overhead_radius(layout.apparatus, new)
        shift = turn_of(layout.apparatus, new) * radius * part.direction[1]
        _place_wheel(layout, new, (x + shift, _top(layout)), radius)
    else:
        _place_moving(layout, part, new, (x, y))


def _overhead_radius(apparatus: Apparatus, name: str) -> float:
    neighbours = [other for s in apparatus.strings.values() if name in s.path for other in s.path]
    return OVERHEAD_RADIUS[any(kind_of(apparatus, other) == "moving" for other in neighbours)]


def _place_moving(layout: Layout, part: Straight, name: str, known: Point) -> None:
    tied = is_hung(layout.apparatus, name)
    shift = 0.0 if tied else -MOVING_RADIUS * part.direction[1]
    y = known[1] - _length(layout, name) - MOVING_RADIUS
    _place_wheel(layout, name, (known[0] + shift, y), MOVING_RADIUS)
    for load, body in layout.apparatus.bodies.items():
        if body.hangs_from == name:
            x = layout.wheels[name].centre[0]
            layout.hanging[load] = (x, y - MOVING_RADIUS - ROD)


def _length(layout: Layout, name: str) -> float:
    """What rises starts low, what falls starts high."""
    return STRING + {1: 0.0, -1: DROP}.get(layout.way.get(name, 0), DROP / 2)


def _place_wheel(layout: Layout, name: str, centre: Point, radius: float) -> None:
    layout.wheels[name] = Wheel(centre=centre, radius=radius, turn=turn_of(layout.apparatus, name))


def _is_placed(layout: Layout, name: str) -> bool:
    return any(
        name in places for places in (layout.sliders, layout.wheels, layout.hanging, layout.anchors)
    )


def _unplaced_tops(layout: Layout) -> Iterable[str]:
    """Fixed pulleys that no track carries, one after another as long as there are any."""
    while True:
        free = [
            name
            for name, pulley in layout.apparatus.pulleys.items()
            if not pulley.moving and name not in layout.wheels
        ]
        if not free:
            return
        yield free[0]


def _right_end(layout: Layout) -> float:
    points = [track.front for track in layout.tracks.values()]
    points += [(wheel.centre[0] + wheel.radius, 0.0) for wheel in layout.wheels.values()]
    points += [*layout.hanging.values(), *layout.anchors.values()]
    return max((x for x, _ in points), default=-COLUMN)


def _top(layout: Layout) -> float:
    """The level of pulleys that nothing else places."""
    return max((wheel.centre[1] for wheel in layout.wheels.values()), default=0.0)


def floor_of(layout: Layout) -> float:
    """A floor below all that hangs and falls, and below a table under the tracks."""
    levels = [*_levels_of_tracks(layout), *_levels_of_hanging(layout)]
    levels += [wheel.centre[1] - wheel.radius - 8.0 for wheel in layout.wheels.values()]
    levels += [y for _, y in layout.anchors.values()]
    return min(levels)


def _levels_of_tracks(layout: Layout) -> list[float]:
    return [min(t.back[1], t.front[1]) - layout.foot - TABLE for t in layout.tracks.values()]


def _levels_of_hanging(layout: Layout) -> list[float]:
    return [
        y - WEIGHT_HEIGHT - (DROP + PAD_HEIGHT if layout.way.get(name, 0) > 0 else 8.0)
        for name, (_, y) in layout.hanging.items()
    ]


def room_beside(layout: Layout, pad: Point) -> float:
    """How far a pad under something may reach sideways: what hangs beside it keeps clear."""
    x, top = pad
    low = [other for other, y in layout.hanging.values() if y - WEIGHT_HEIGHT < top + 2.0]
    free = [abs(other - x) - WEIGHT_WIDTH / 2 - 3.0 for other in low if other != x]
    return min(free, default=PAD_WIDTH)


def bounds_of(layout: Layout) -> tuple[float, float]:
    """The leftmost and rightmost x of all that stands."""
    xs = [x for track in layout.tracks.values() for x in (track.back[0], track.front[0])]
    for name, start in layout.sliders.items():
        track = layout.track_of(name)
        xs += [track.at(start + dx, 2 * HOOK)[0] for dx in (0.0, CART)]
    for wheel in layout.wheels.values():
        xs += [wheel.centre[0] - wheel.radius, wheel.centre[0] + wheel.radius]
    for x, _ in layout.hanging.values():
        xs += [x - WEIGHT_WIDTH / 2, x + WEIGHT_WIDTH / 2]
    xs += [x for x, _ in layout.anchors.values()]
    return min(xs), max(xs)


def directions_of_motion(solution: Solution) -> Mapping[str, int]:
    """The signs of the displacements in the driven part: all that a sketch knows of the motion."""
    ways: dict[str, float] = {}
    for phase in solution.phases:
        if phase.role is solution.phases[0].role:
            for name, value in phase.displacements.items():
                ways[name] = ways.get(name, 0.0) + (value or 0.0)
    return {name: (value > 0) - (value < 0) for name, value in ways.items()}
