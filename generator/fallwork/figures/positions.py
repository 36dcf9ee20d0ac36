"""Where everything of a set-up stands in a sketch: takes an apparatus, gives places in points.

Follows the strings: tracks at their slope, pulleys at their ends, what hangs below. Sizes and
lengths are the drawing's own; only slopes and which way things move are taken over. Drawing is
left to ``sketch``.
"""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from itertools import pairwise

from fallwork.figures.geometry import (
    Point,
    Straight,
    Track,
    Wheel,
    kind_of,
    straights,
    turn_of,
    turned,
)
from fallwork.mechanics.apparatus import Apparatus

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


@dataclass(kw_only=True)
class Positions:
    """Places by name; grows while the strings are followed."""

    apparatus: Apparatus
    way: Mapping[str, int]  # +1, -1 or 0: how each object moves along its positive sense
    tracks: dict[str, Track] = field(default_factory=dict)
    sliders: dict[str, float] = field(default_factory=dict)  # back end, from the track's back
    wheels: dict[str, Wheel] = field(default_factory=dict)
    hanging: dict[str, Point] = field(default_factory=dict)  # middle of the top
    anchors: dict[str, Point] = field(default_factory=dict)
    foot: float = FOOT

    def surface_of(self, slider: str) -> str:
        """The surface on which something runs."""
        return self.apparatus.bodies[slider].surface or ""

    def track_of(self, slider: str) -> Track:
        """The same as it is drawn."""
        return self.tracks[self.surface_of(slider)]

    @property
    def ends(self) -> list[Point]:
        """Those of all tracks."""
        return [end for track in self.tracks.values() for end in (track.back, track.front)]

    # ---- strings

    def end(self, straight: Straight, name: str) -> Point:
        """Where a straight part of a string begins or ends at an object."""
        if name in self.sliders:
            front = CART if name == straight.start else 0.0
            return self.track_of(name).at(self.sliders[name] + front, HOOK)
        if name not in self.wheels:
            return self.hanging[name] if name in self.hanging else self.anchors[name]
        wheel = self.wheels[name]
        rim = straight.rim(wheel.turn)
        if self.apparatus.pulleys[name].moving and self.is_tied(straight, name):
            rim = complex(0.0, straight.pull_on(name).imag)  # to its top or its bottom
        return wheel.centre + wheel.radius * rim

    def is_tied(self, straight: Straight, name: str) -> bool:
        """Whether a string ends on a pulley rather than passing it."""
        ends = {straight.start, straight.end}
        paths = (string.path for string in self.apparatus.strings.values())
        return any(name in (path[0], path[-1]) and ends <= set(path) for path in paths)

    def string_line(self, string: str) -> tuple[Point, ...]:
        """A string as it runs, round its pulleys."""
        points: list[Point] = []
        before = None
        for part in straights(self.apparatus, string):
            if before and part.start in self.wheels:
                points += self.wheels[part.start].wrap(before, part)
            points += [self.end(part, part.start), self.end(part, part.end)]
            before = part
        return tuple(points)

    # ---- the whole

    def bounds(self) -> tuple[float, float]:
        """The leftmost and rightmost x of all that stands."""
        stands = [*self.ends, *self.anchors.values()]
        for name, start in self.sliders.items():
            stands += [self.track_of(name).at(start + dx, 2 * HOOK) for dx in (0.0, CART)]
        for wheel in self.wheels.values():
            stands += [wheel.centre - wheel.radius, wheel.centre + wheel.radius]
        for top in self.hanging.values():
            stands += [top - WEIGHT_WIDTH / 2, top + WEIGHT_WIDTH / 2]
        xs = [point.real for point in stands]
        return min(xs, default=0.0), max(xs, default=-COLUMN)

    def floor(self) -> float:
        """A floor below all that hangs and falls, and below a table under the tracks."""
        levels = [self._under_tracks(), self._under_hanging()]
        levels += [wheel.centre.imag - wheel.radius - 8.0 for wheel in self.wheels.values()]
        return min(*levels, *(point.imag for point in self.anchors.values()))

    def _under_tracks(self) -> float:
        return min((end.imag for end in self.ends), default=math.inf) - self.foot - TABLE

    def _under_hanging(self) -> float:
        falls = {name for name, way in self.way.items() if way > 0}
        room = {name: DROP + PAD_HEIGHT if name in falls else 8.0 for name in self.hanging}
        lowest = (top.imag - room[name] for name, top in self.hanging.items())
        return min(lowest, default=math.inf) - WEIGHT_HEIGHT

    def settle(self, foot: float) -> None:
        """Sets the height of the supports; where a table asks for it, all that hangs comes down."""
        self.foot = foot
        gap = self._under_hanging() - self._under_tracks()
        if 0.0 < gap < math.inf:
            self.hanging = {name: top - gap * 1j for name, top in self.hanging.items()}
            for name, wheel in self.wheels.items():
                if self.apparatus.pulleys[name].moving:
                    self.wheels[name] = replace(wheel, centre=wheel.centre - gap * 1j)

    def is_left(self, place: Point) -> bool:
        """Whether the name of what hangs there belongs to its left: on the outer side."""
        if self.tracks:
            return place.real < sum(end.real for end in self.ends) / len(self.ends)
        return place.real < min(wheel.centre.real for wheel in self.wheels.values())

    def pads(self) -> Mapping[str, Point]:
        """What falls → the middle of the top of its catch pad, where the run ends with a landing.

        The run's object ends its fall on one; what else falls has its pad on the floor.
        """
        run, fallers = self.apparatus.run, {n for n in self.hanging if self.way.get(n, 0) > 0}
        if run.object not in fallers or run.distance is None:
            return {}
        tops = {name: self.floor() + PAD_HEIGHT for name in fallers}
        tops[run.object] = self.hanging[run.object].imag - WEIGHT_HEIGHT - DROP
        below = {name: top.real for name, top in self.hanging.items() if name in fallers}
        return {name: complex(x, tops[name]) for name, x in below.items()}

    def room_beside(self, pad: Point) -> float:
        """How far a pad may reach sideways: what hangs beside it keeps clear."""
        others = [t for t in self.hanging.values() if t.imag - WEIGHT_HEIGHT < pad.imag + 2.0]
        away = [abs(other.real - pad.real) for other in others if other.real != pad.real]
        return min(away, default=math.inf) - WEIGHT_WIDTH / 2 - 3.0

    def top(self) -> float:
        """The level of pulleys that nothing else places."""
        return max((wheel.centre.imag for wheel in self.wheels.values()), default=0.0)

    def put_wheel(self, name: str, centre: Point, radius: float) -> None:
        """A pulley at its place."""
        turn = turn_of(self.apparatus, name)
        self.wheels[name] = Wheel(centre=centre, radius=radius, turn=turn)


def lay_out(apparatus: Apparatus, way: Mapping[str, int]) -> Positions:
    """The places of a set-up; heights above table and floor are left to ``settle``."""
    places = Positions(apparatus=apparatus, way=way)
    for surface in apparatus.surfaces:
        _place_track(places, surface)
    _follow_strings(places)
    for name, pulley in apparatus.pulleys.items():
        if not pulley.moving and name not in places.wheels:  # nor does a track carry it
            centre = complex(places.bounds()[1] + COLUMN, places.top())
            places.put_wheel(name, centre, OVERHEAD_RADIUS["moving" in _joined(apparatus, name)])
            _follow_strings(places)
    return places


# Tracks and what runs on them.


def _place_track(places: Positions, surface: str) -> None:
    apparatus = places.apparatus
    riders = _riders(apparatus, surface)
    slope = float(apparatus.surfaces[surface].slope)
    back = complex(places.bounds()[1] + COLUMN)  # right of all, if no string reaches this track
    for string in apparatus.strings.values():
        *_, pulley, last = string.path
        if last in riders and pulley in places.wheels:  # beyond that pulley
            wheel = places.wheels[pulley]
            back = wheel.centre + turned(complex(AXLE_OUT, wheel.radius - HOOK), slope)
    block = CART * len(riders) + COUPLING * max(0, len(riders) - 1)
    front = back + turned(complex(block + ROOM_BEHIND + ROOM_AHEAD), slope)
    places.tracks[surface] = Track(back=back, front=front)
    way = sum(places.way.get(name, 0) or _drawn_way(apparatus, name) for name in riders)
    x = ROOM_BEHIND if way > 0 else ROOM_AHEAD if way < 0 else (ROOM_BEHIND + ROOM_AHEAD) / 2
    for number, name in enumerate(riders):
        places.sliders[name] = x + number * (CART + COUPLING)
    for string in apparatus.strings.values():
        _place_ends(places, string.path, riders)


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
    paths = [string.path for string in apparatus.strings.values()]
    ahead = sum(path[0] == name and kind_of(apparatus, path[1]) == "fixed" for path in paths)
    return ahead - sum(p[-1] == name and kind_of(apparatus, p[-2]) == "fixed" for p in paths)


def _place_ends(places: Positions, path: Sequence[str], riders: Sequence[str]) -> None:
    """Pulleys and anchors at the two ends of a track."""
    for slider, neighbour, front in ((path[0], path[1], True), (path[-1], path[-2], False)):
        if slider not in riders or neighbour in places.wheels or neighbour in riders:
            continue
        track = places.track_of(slider)
        end, way = (track.length, 1) if front else (0.0, -1)
        there = [abs(track.at(end) - wheel.centre) for wheel in places.wheels.values()]
        same_end = sum(distance < 4 * AXLE_OUT for distance in there)
        out = AXLE_OUT + same_end * (WEIGHT_WIDTH + 4 * RADIUS)
        if kind_of(places.apparatus, neighbour) == "anchor":
            places.anchors[neighbour] = track.at(end, HOOK)
        else:
            height = HOOK + same_end * 0.8 * RADIUS - RADIUS
            places.put_wheel(neighbour, track.at(end + way * out, height), RADIUS)


# What hangs.


def _follow_strings(places: Positions) -> None:
    """Places the neighbours of what is placed, along all strings.

    Goes as many rounds as the longest way from string to string.
    """
    strings = places.apparatus.strings
    for string in (*strings,) * len(strings):
        parts = straights(places.apparatus, string)
        for part in (*parts, *reversed(parts)):
            for known, new in ((part.start, part.end), (part.end, part.start)):
                placed = {*places.sliders, *places.wheels, *places.hanging, *places.anchors}
                if known in placed and new not in placed:
                    _place_beside(places, part, known, new)


def _place_beside(places: Positions, part: Straight, known: str, new: str) -> None:
    """What hangs below a pulley or beside it; what rises starts low, what falls starts high."""
    apparatus, upright = places.apparatus, part.direction.imag
    place, pull = places.end(part, known), part.pull_on(known)
    fall = STRING + {1: 0.0, -1: DROP}.get(places.way.get(new, 0), DROP / 2)
    kind, top, joined = kind_of(apparatus, new), places.top(), _joined(apparatus, new)
    if kind == "hanging":
        places.hanging[new] = place - 1j * fall
    elif kind == "anchor":
        low = place.imag - STRING - DROP
        places.anchors[new] = complex(place.real, low if pull.imag < 0 else top + ANCHOR_RISE)
    elif upright == 0.0:
        centre = complex(place.real + pull.real * COLUMN, places.wheels[known].centre.imag)
        places.put_wheel(new, centre, RADIUS)
    elif kind == "fixed":
        radius = OVERHEAD_RADIUS["moving" in joined]
        x = place.real + turn_of(apparatus, new) * radius * upright
        places.put_wheel(new, complex(x, top), radius)
    else:
        hang = joined.count("hanging") > 1  # they pass each other
        radius = OVERHEAD_RADIUS[0] if hang else MOVING_RADIUS
        place -= 0.0 if places.is_tied(part, new) else radius * upright
        places.put_wheel(new, place - 1j * (fall + radius), radius)
        for load, body in apparatus.bodies.items():
            if body.hangs_from == new:
                places.hanging[load] = place - 1j * (fall + 2 * radius + ROD)


def _joined(apparatus: Apparatus, name: str) -> list[str]:
    """The kinds of all that the strings of a pulley reach, itself left out."""
    paths = [string.path for string in apparatus.strings.values() if name in string.path]
    return [kind_of(apparatus, other) for path in paths for other in path if other != name]
