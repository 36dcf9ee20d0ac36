"""Where everything of a set-up stands in a sketch: takes an apparatus, gives places in points.

Follows the strings: tracks at their slope, pulleys at their ends, what hangs below. Sizes and
lengths are the drawing's own; only slopes and which way things move are taken over. Drawing is
left to ``sketch``.
"""

import cmath
import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from itertools import pairwise

from fallwork.figures.geometry import (
    Point,
    Straight,
    Track,
    Wheel,
    arc,
    kind_of,
    straights,
    turn_of,
)
from fallwork.figures.placing import Box
from fallwork.mechanics.apparatus import Apparatus
from fallwork.mechanics.solution import Solution

CART = 46.0  # pt, length of a cart or block
COUPLING = 30.0  # between two that are coupled
HOOK = 13.0  # height of the string above the track
ROOM_BEHIND, ROOM_AHEAD = 16.0, 74.0  # free track
TURN = 34.0  # the drawn way to where it turns round
THICKNESS = 5.0  # of a track, and of the table's top
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
SLOPE_RADIUS = 44.0
LEVEL_LINE = SLOPE_RADIUS + 10.0  # as long as the level line at a slope's lower end
WHEEL = 4.5  # radius of a cart's wheels
NECK = 4.0  # of a weight's hook
HEIGHTS = {"cart": (6.0, 20.0), "glider": (2.5, 20.0), "block": (0.0, 22.0)}  # above a track


@dataclass
class Positions:
    """Places by name; heights above table and floor are left to ``settle``."""

    apparatus: Apparatus
    solution: Solution  # nothing of it is seen but signs of the motion
    tracks: dict[str, Track] = field(default_factory=dict)
    sliders: dict[str, Track] = field(default_factory=dict)  # the part under each
    wheels: dict[str, Wheel] = field(default_factory=dict)
    hanging: dict[str, Point] = field(default_factory=dict)  # middle of the top
    anchors: dict[str, Point] = field(default_factory=dict)
    foot: float = FOOT

    def __post_init__(self) -> None:
        for surface in self.apparatus.surfaces:
            self._place_track(surface)
        self._follow_strings()
        for name, pulley in self.apparatus.pulleys.items():
            if not pulley.moving and name not in self.wheels:  # nor does a track carry it
                centre = complex(self.bounds()[1] + COLUMN, self.top())
                self._put_wheel(name, centre, OVERHEAD_RADIUS["moving" in self._joined(name)])
                self._follow_strings()

    @cached_property
    def way(self) -> Mapping[str, int]:
        """+1, -1 or 0: how each object moves along its positive sense in the driven part."""
        first = self.solution.phases[0]
        paths = [p.displacements for p in self.solution.phases if p.role is first.role]
        sums = {name: sum(path.get(name) or 0.0 for path in paths) for name in first.displacements}
        return {name: (value > 0) - (value < 0) for name, value in sums.items()}

    @property
    def marked(self) -> str:
        """The run's object, where an arrow marks the distance that it moves; else ""."""
        run, stands = self.apparatus.run, {**self.sliders, **self.hanging}
        moves = run.object in stands and self.way.get(run.object) and run.distance is not None
        return run.object if moves else ""

    @property
    def pushed(self) -> str:
        """What gets a push: the run's object, or what runs on a track and is tied to it; or ""."""
        run, speeds = self.apparatus.run, self.solution.phases[0].start_velocities
        riders = [name for name in self.sliders if speeds.get(name)]
        first = run.object if run.object in self.sliders or not riders else riders[0]
        return first if run.speed else ""

    def turns(self, name: str) -> bool:
        """Whether an object that is pushed turns round before the end of the run."""
        return self.solution.phases[0].start_velocities.get(name, 0.0) * self.way.get(name, 0) < 0

    # ---- strings

    def end(self, straight: Straight, name: str) -> Point:
        """Where a straight part of a string begins or ends at an object."""
        if name in self.sliders:
            return self.sliders[name].at(CART if name == straight.start else 0.0, HOOK)
        if name not in self.wheels:
            return self.hanging[name] if name in self.hanging else self.anchors[name]
        wheel = self.wheels[name]
        rim = straight.rim(wheel.turn)
        if self.apparatus.pulleys[name].moving and name in straight.ties:
            rim = complex(0.0, straight.pull_on(name).imag)  # to its top or its bottom
        return wheel.centre + wheel.radius * rim

    def string_line(self, string: str) -> tuple[Point, ...]:
        """A string as it runs, round its pulleys."""
        points: list[Point] = []
        before = None
        for part in straights(self.apparatus, string):
            if before and (wheel := self.wheels.get(part.start)):
                first, last = (cmath.phase(each.direction) for each in (before, part))
                sweep = ((last - first) * -wheel.turn + 1e-9) % math.tau  # straight on stays so
                start = first + wheel.turn * math.pi / 2
                points += arc(wheel.centre, wheel.radius, start, start - wheel.turn * sweep)
            points += [self.end(part, part.start), self.end(part, part.end)]
            before = part
        return tuple(points)

    # ---- the whole

    @property
    def ends(self) -> list[Point]:
        """Those of all tracks."""
        return [end for track in self.tracks.values() for end in (track.back, track.front)]

    def bounds(self) -> tuple[float, float]:
        """The leftmost and rightmost x of all that stands."""
        stands = [*self.ends, *self.anchors.values()]
        stands += [each.at(dx, 2 * HOOK) for each in self.sliders.values() for dx in (0.0, CART)]
        reaches = [(wheel.centre, wheel.radius) for wheel in self.wheels.values()]
        reaches += [(top, WEIGHT_WIDTH / 2) for top in self.hanging.values()]
        stands += [middle + side * reach for middle, reach in reaches for side in (-1, 1)]
        xs = [point.real for point in stands]
        return min(xs, default=0.0), max(xs, default=-COLUMN)

    def top(self) -> float:
        """The level of pulleys that nothing else places."""
        return max((wheel.centre.imag for wheel in self.wheels.values()), default=0.0)

    def table(self) -> Box:
        """The table's top, under tracks: it keeps clear of what hangs at their ends."""
        xs, hangs = [end.real for end in self.ends], [top.real for top in self.hanging.values()]
        left, right = min(xs), max(xs)
        left += 4.0 if any(x < left for x in hangs) else -8.0
        right -= 4.0 if any(x > right for x in hangs) else -8.0
        top = min(end.imag for end in self.ends) - THICKNESS - self.foot
        return Box(left=left, bottom=top - THICKNESS, right=right, top=top)

    def floor(self) -> float:
        """A floor below all that hangs and falls, and below a table under the tracks."""
        levels = [wheel.centre.imag - wheel.radius - 8.0 for wheel in self.wheels.values()]
        levels += [point.imag for point in self.anchors.values()]
        return min(self._under_tracks(), self._under_hanging(), *levels)

    def _under_tracks(self) -> float:
        return min((end.imag for end in self.ends), default=math.inf) - self.foot - TABLE

    def _under_hanging(self) -> float:
        room = {name: DROP if self.way.get(name, 0) > 0 else 8.0 for name in self.hanging}
        lowest = (top.imag - room[name] for name, top in self.hanging.items())
        return min(lowest, default=math.inf) - WEIGHT_HEIGHT - PAD_HEIGHT

    def settle(self, foot: float) -> None:
        """Sets the height of the supports; where a table asks for it, all that hangs comes down."""
        self.foot = foot
        gap = self._under_hanging() - self._under_tracks()
        if 0.0 < gap < math.inf:
            self.hanging = {name: top - gap * 1j for name, top in self.hanging.items()}
            for name, wheel in self.wheels.items():
                if self.apparatus.pulleys[name].moving:
                    self.wheels[name] = wheel._replace(centre=wheel.centre - gap * 1j)

    def outside(self, place: Point) -> float:
        """-1 or 1: the side on which what hangs there has its name, left or right."""
        ends = [end.real for end in self.ends]
        middles = (wheel.centre.real for wheel in self.wheels.values())
        return -1.0 if place.real < (sum(ends) / len(ends) if ends else min(middles)) else 1.0

    def pads(self) -> Mapping[str, Point]:
        """What hangs → the middle of the top of its pad: on the floor, or where the fall ends."""
        tops = dict.fromkeys(self.hanging, self.floor() + PAD_HEIGHT)
        if self.lands:
            tops[self.lands] = self.hanging[self.lands].imag - WEIGHT_HEIGHT - DROP
        return {name: complex(top.real, tops[name]) for name, top in self.hanging.items()}

    @property
    def lands(self) -> str:
        """What ends the run by its landing; empty if nothing does."""
        falls = self.marked in self.hanging and self.way[self.marked] > 0
        return self.marked if falls else ""

    # ---- laying out

    def _put_wheel(self, name: str, centre: Point, radius: float) -> None:
        self.wheels[name] = Wheel(centre, radius, turn_of(self.apparatus, name))

    def _joined(self, name: str) -> list[str]:
        """The kinds of all that the strings of a pulley reach, itself left out."""
        paths = [s.path for s in self.apparatus.strings.values() if name in s.path]
        return [kind_of(self.apparatus, each) for path in paths for each in path if each != name]

    def _place_track(self, surface: str) -> None:
        """A track, and what runs on it from back to front as strings join it, else as it starts."""
        bodies, paths = self.apparatus.bodies, [s.path for s in self.apparatus.strings.values()]
        riders = [name for name, body in bodies.items() if body.surface == surface]
        riders.sort(key=lambda name: float(bodies[name].starts_at or 0.0))
        for rear, front in (pair for path in paths for pair in pairwise(path)):
            if rear in riders and front in riders and riders.index(rear) > riders.index(front):
                riders.remove(front)
                riders.insert(riders.index(rear) + 1, front)
        ahead = cmath.rect(1.0, float(self.apparatus.surfaces[surface].slope))
        back = complex(self.bounds()[1] + COLUMN)  # right of all, if no string reaches this track
        for *_, pulley, last in paths:
            if last in riders and (wheel := self.wheels.get(pulley)):  # beyond that pulley
                back = wheel.centre + complex(AXLE_OUT, wheel.radius - HOOK) * ahead
        turn = TURN if any(map(self.turns, riders)) else 0.0
        block = CART * len(riders) + COUPLING * max(0, len(riders) - 1)
        end = back + complex(block + ROOM_BEHIND + ROOM_AHEAD + turn) * ahead
        self.tracks[surface] = Track(back, end)
        self._place_riders(self.tracks[surface], riders, turn)

    def _place_riders(self, track: Track, riders: Sequence[str], turn: float) -> None:
        """What runs on a track, with most room on the side to which it runs, or to which strings
        lead, and room to ``turn`` on the other; then pulleys and anchors at the track's ends.
        """
        paths = [s.path for s in self.apparatus.strings.values()]
        pairs = [end for p in paths for end in ((p[0], p[1], 1), (p[-1], p[-2], -1))]
        ends = [(*end, kind_of(self.apparatus, end[1])) for end in pairs if end[0] in riders]
        leads = dict.fromkeys(riders, 0)
        for rider, _, ahead, kind in ends:
            leads[rider] += ahead if kind == "fixed" else 0
        way = sum(self.way.get(name, 0) or leads[name] for name in riders)
        middle = (ROOM_BEHIND + ROOM_AHEAD) / 2
        x = ROOM_BEHIND + turn if way > 0 else ROOM_AHEAD if way < 0 else middle
        for number, name in enumerate(riders):
            start = x + number * (CART + COUPLING)
            self.sliders[name] = Track(track.at(start), track.at(start + CART))
        for _, neighbour, ahead, kind in ends:
            end = track.length if ahead > 0 else 0.0
            there = [abs(track.at(end) - wheel.centre) for wheel in self.wheels.values()]
            same_end = sum(distance < 4 * AXLE_OUT for distance in there)
            out = end + ahead * (AXLE_OUT + same_end * (WEIGHT_WIDTH + 4 * RADIUS))
            height = HOOK + same_end * 0.8 * RADIUS - RADIUS
            if kind == "anchor":
                self.anchors[neighbour] = track.at(end, HOOK)
            elif neighbour not in self.wheels and neighbour not in riders:
                self._put_wheel(neighbour, track.at(out, height), RADIUS)

    def _follow_strings(self) -> None:
        """Places the neighbours of what is placed, along all strings.

        Goes as many rounds as the longest way from string to string.
        """
        strings = self.apparatus.strings
        for string in (*strings,) * len(strings):
            parts = straights(self.apparatus, string)
            for part in (*parts, *reversed(parts)):
                for known, new in ((part.start, part.end), (part.end, part.start)):
                    placed = {*self.sliders, *self.wheels, *self.hanging, *self.anchors}
                    if known in placed and new not in placed:
                        self._place_beside(part, known, new)

    def _place_beside(self, part: Straight, known: str, new: str) -> None:
        """What hangs below a pulley or beside it; what rises starts low, what falls starts high."""
        place, pull, upright = self.end(part, known), part.pull_on(known), part.direction.imag
        fall = STRING + {1: 0.0, -1: DROP}.get(self.way.get(new, 0), DROP / 2)
        kind, top, joined = kind_of(self.apparatus, new), self.top(), self._joined(new)
        if kind == "hanging":
            self.hanging[new] = place - 1j * fall
        elif kind == "anchor":
            low = place.imag - STRING - DROP
            self.anchors[new] = complex(place.real, low if pull.imag < 0 else top + ANCHOR_RISE)
        elif upright == 0.0:
            centre = complex(place.real + pull.real * COLUMN, self.wheels[known].centre.imag)
            self._put_wheel(new, centre, RADIUS)
        elif kind == "fixed":
            radius = OVERHEAD_RADIUS["moving" in joined]
            x = place.real + turn_of(self.apparatus, new) * radius * upright
            self._put_wheel(new, complex(x, top), radius)
        else:
            hang = joined.count("hanging") > 1  # they pass each other
            radius = OVERHEAD_RADIUS[0] if hang else MOVING_RADIUS
            place -= 0.0 if new in part.ties else radius * upright
            self._put_wheel(new, place - 1j * (fall + radius), radius)
            for load, body in self.apparatus.bodies.items():
                if body.hangs_from == new:
                    self.hanging[load] = place - 1j * (fall + 2 * radius + ROD)
