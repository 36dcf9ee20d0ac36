"""The sketch of a set-up: takes the apparatus and which way it moves, draws it with its names.

Not to scale but for slopes; nothing computed is shown. Places come from ``positions``, what is
drawn there from ``fixtures``. Objects carry the symbol of their mass; what only helps (table, pad,
stop) stands in a quieter colour. Angles in degrees, counter-clockwise from the right.
"""

import math
from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from itertools import pairwise

from fallwork.figures import fixtures
from fallwork.figures import positions as sizes
from fallwork.figures.drawing import WIDTH, Drawing
from fallwork.figures.fixtures import draw_fixtures, draw_objects
from fallwork.figures.geometry import along, arc, between
from fallwork.figures.lettering import Line, set_out, wrapped
from fallwork.figures.placing import NEAR, Spot, around
from fallwork.figures.positions import Positions, lay_out
from fallwork.figures.scene import Plate, Scene, plate, say
from fallwork.lesson.words import listing
from fallwork.mechanics.solution import Solution

NARROW, BROAD = 8, 12  # characters of a line of a name: close, beside
ABOVE = 22.0  # pt from a track to the names of what runs on it
UP, DOWN, LEFT, RIGHT = 90.0, -90.0, 180.0, 0.0
FARTHER = (NEAR, 11.0, 17.0, 25.0, 35.0, 50.0, 65.0, 85.0)  # pt


def sketch(scene: Scene) -> Plate:
    """The set-up with its objects, the distance of the run, catch pad and end stop."""
    places = lay_out(scene.apparatus, directions_of_motion(scene.solution))
    left, right = places.bounds()
    room_left, room_right = _side_room(places, scene)  # that the names need
    free = WIDTH - room_left - room_right
    scale = min(1.1, free / (right - left))
    places.settle(sizes.FOOT / min(1.0, scale))
    spare = (free - scale * (right - left)) / 2
    drawing = Drawing(scale=scale, shift=complex(room_left + spare - scale * left))
    draw_fixtures(drawing, places)
    draw_objects(drawing, places)
    if _is_marked(places):
        _mark_distance(drawing, places, scene)
    _mark_push(drawing, places, scene)
    _write_names(drawing, places, scene)
    return plate(drawing, "sketch", _description(scene, places))


def directions_of_motion(solution: Solution) -> Mapping[str, int]:
    """The signs of the displacements in the driven part: all that a sketch knows of the motion."""
    ways: dict[str, float] = defaultdict(float)
    for phase in solution.phases:
        for name, value in phase.displacements.items():
            ways[name] += (value or 0.0) if phase.role is solution.phases[0].role else 0.0
    return {name: (value > 0) - (value < 0) for name, value in ways.items()}


def _is_marked(places: Positions) -> bool:
    """Whether an arrow marks the distance of the run's object."""
    run = places.apparatus.run
    stands = run.object in places.sliders or run.object in places.hanging
    return stands and bool(places.way.get(run.object)) and run.distance is not None


def _mark_distance(drawing: Drawing, places: Positions, scene: Scene) -> None:
    """Along the track, above what runs; beside what hangs, on the outer side."""
    name = scene.apparatus.run.object
    way = places.way[name]
    if name in places.sliders:
        track = places.track_of(name)
        start = places.sliders[name] + (sizes.CART if way > 0 else 0.0)
        first, last = (track.at(start + step, 22.0) for step in (0.0, way * sizes.DROP))
        ticks = [(track.at(start, 16.0), track.at(start, 26.0))]
        side = math.degrees(track.angle) + 90.0
    else:
        top = places.hanging[name]
        out = -1.0 if places.is_left(top) else 1.0
        edge = top + complex(out * sizes.WEIGHT_WIDTH / 2, -sizes.WEIGHT_HEIGHT)
        low = edge - way * sizes.DROP * 1j
        first, last = edge + out * 10.0, low + out * 10.0
        ticks = [(edge + out * 2.0, edge + out * 14.0), (low + out * 6.0, low + out * 14.0)]
        side = 0.0 if out > 0 else 180.0
    drawing.strokes(ticks, role="quiet")
    for tail, tip in ((first, last), (last, first)):
        inside = between(tail, tip, 0.2)  # clear of the other head
        drawing.arrow(inside, tip, role="quiet", width=0.9, head=5.5)
    letter = scene.symbol("run-distance") or scene.symbol("distance") or say("distance")
    drawing.label(letter, at=around(between(first, last, 0.5), angles=[side]))


def _pushed(scene: Scene, places: Positions) -> str:
    """What gets the push: the run's object, or what runs on a track and is tied to it; or ""."""
    run, speeds = scene.apparatus.run, scene.solution.phases[0].start_velocities
    if not run.speed:
        return ""
    riders = (name for name in places.sliders if speeds.get(name))
    return run.object if run.object in places.sliders else next(riders, run.object)


def _mark_push(drawing: Drawing, places: Positions, scene: Scene) -> None:
    """An arrow for the speed with which the run starts, above the name of what is pushed."""
    name = _pushed(scene, places)
    if name not in places.sliders:
        return
    track, x = places.track_of(name), places.sliders[name] + sizes.CART / 2
    reach = math.copysign(20.0, scene.solution.phases[0].start_velocities[name])
    height = _name_top(places, scene, name) + 4.0
    tip = track.at(x + reach, height)
    drawing.arrow(track.at(x - reach, height), tip, role="accent-5", width=1.4, open_head=True)
    ahead = math.degrees(track.angle) + (0.0 if reach > 0 else 180.0)
    drawing.label(say("push"), at=around(tip, angles=[ahead]), role="accent-5")


def _description(scene: Scene, places: Positions) -> Iterator[str]:
    apparatus, the = scene.apparatus, scene.the
    for surface, track in places.tracks.items():
        riders = [the(name) for name in places.sliders if places.surface_of(name) == surface]
        slope = "level" if abs(track.angle) < 1e-6 else "up" if track.angle > 0 else "down"
        if riders:
            key = "sketch-riders" if len(riders) > 1 else "sketch-rider"
            yield say(key, objects=listing(riders), track=the(surface), slope=say(slope))
    for string in apparatus.strings.values():
        first, *over, last = map(the, string.path)
        key, name = "sketch-string-over" if over else "sketch-string", the(string.name)
        yield say(key, string=name, first=first, over=listing(over), last=last)
    for name, body in apparatus.bodies.items():
        if body.hangs_from:
            yield say("sketch-hangs", object=the(name), holder=the(body.hangs_from))
    if _is_marked(places):
        yield say("sketch-distance", object=the(apparatus.run.object))
    if pushed := _pushed(scene, places):
        ahead = scene.solution.phases[0].start_velocities[pushed] > 0
        way = say("way-forward" if ahead else "way-back")
        yield say("sketch-push", object=the(pushed), way=way)
    for name in places.pads():
        key = "sketch-pad" if name == apparatus.run.object else "sketch-pad-below"
        yield say(key, object=the(name))


# Names.


def _write_names(drawing: Drawing, places: Positions, scene: Scene) -> None:
    """All names; those with the least choice of place come first."""
    _name_bodies(drawing, places, scene)
    for name, wheel in places.wheels.items():
        angles = (45.0, UP, 135.0, RIGHT, LEFT, -45.0, -135.0, 60.0, 120.0)
        gaps = [wheel.radius + gap for gap in FARTHER]
        spots = around(wheel.centre, angles=angles, gaps=gaps)
        rim = arc(wheel.centre, wheel.radius, 0.0, math.tau)
        drawing.label(*wrapped(scene.noun(name), NARROW), at=spots, of=rim)
    for surface in places.tracks:
        _name_track(drawing, places, scene, surface)
    for name, point in places.anchors.items():
        spots = around(point, angles=(UP, DOWN, RIGHT, LEFT), gaps=(NEAR, 15.0, 19.0))
        drawing.label(scene.noun(name), at=spots, role="quiet")
    for name in scene.apparatus.strings:
        _name_string(drawing, places, scene, name)
    if places.tracks:
        low, right, *_ = fixtures.table_of(places).corners
        points = [between(low, right, part) for part in (0.5, 0.35, 0.65)]
        drawing.label(say("table"), at=around(*points, angles=[DOWN]), role="quiet")
    for top in places.pads().values():
        half = sizes.PAD_WIDTH / 2 + NEAR
        sides = [Spot(top - 6j + s * half, 0.5 - 0.5 * s, 0.0) for s in (-1.0, 1.0)]
        below = Spot(complex(top.real, places.floor() - 8.0), 0.5, 1.0)
        beside = sides if places.is_left(top) else sides[::-1]
        drawing.label(say("catch-pad"), at=(*beside, below), role="quiet")


def _side_room(places: Positions, scene: Scene) -> tuple[float, float]:
    """The width in points that names need left and right of what hangs."""
    room = {True: 10.0, False: 18.0}
    for name, top in places.hanging.items():
        left = places.is_left(top)
        room[left] = max(room[left], set_out(*_with_mass(scene, name, BROAD)).width + NEAR + 2.0)
    return room[True], room[False]


def _with_mass(scene: Scene, name: str, width: int) -> Sequence[Line]:
    """The noun, and below it the symbol of the mass."""
    mass = scene.symbol(f"mass.{name}")
    return [*wrapped(scene.noun(name), width), *([mass] if mass else [])]


def _above(places: Positions, scene: Scene, name: str) -> Sequence[Line]:
    """What stands above what runs on a track: in one line where it is alone there."""
    track, noun = places.track_of(name), scene.noun(name)
    if sum(places.track_of(other) == track for other in places.sliders) > 1:
        return _with_mass(scene, name, NARROW)
    mass = scene.symbol(f"mass.{name}")
    return [[noun, mass] if mass else noun]


def _name_top(places: Positions, scene: Scene, name: str) -> float:
    """How high above its track the name of what runs there reaches, with some room."""
    return ABOVE + 2 * NEAR + set_out(*_above(places, scene, name)).height


def _name_bodies(drawing: Drawing, places: Positions, scene: Scene) -> None:
    """Above what runs; beside what hangs on the outer side, else below, else on the inner side."""
    for name, start in places.sliders.items():
        track = places.track_of(name)
        middle, *ends = (track.at(start + p * sizes.CART, ABOVE) for p in (0.5, 0.2, 0.8))
        tops = [middle + dx for dx in (0.0, -12.0, 12.0)]
        spots = around(*tops, angles=[UP], gaps=FARTHER)
        drawing.label(*_above(places, scene, name), at=spots, of=ends)
    for name, top in places.hanging.items():
        half, height = sizes.WEIGHT_WIDTH / 2 + NEAR, sizes.WEIGHT_HEIGHT
        heights = ((-0.42 * height, 0.5), (4.0 - height, 0.0), (12.0 - height, 0.0))
        left = [Spot(top + complex(-half, y), 1.0, up) for y, up in heights]
        right = [Spot(top + complex(half, y), 0.0, up) for y, up in heights]
        outer, inner = (left, right) if places.is_left(top) else (right, left)
        beside = (*outer, *around(top - 1j * height, angles=[DOWN]), *inner)
        drawing.label(*_with_mass(scene, name, BROAD), at=beside)


def _name_track(drawing: Drawing, places: Positions, scene: Scene, surface: str) -> None:
    """The angle of its slope, its end stop, and itself below it."""
    track = places.tracks[surface]
    letter = scene.symbol(f"slope.{surface}")
    if abs(track.angle) > 1e-6 and letter is not None:
        corner, level = fixtures.slope_corner(track)
        inside = along(corner, fixtures.SLOPE_RADIUS, level + track.angle / 2)
        behind = along(corner, fixtures.LEVEL_LINE, level)
        spots = [*around(inside, behind, angles=[math.degrees(level)])]
        spots += around(behind, angles=[-30.0 if level == 0.0 else -150.0])
        drawing.label(letter, at=spots)
    if x := fixtures.end_stops(places).get(surface):
        below, above = track.at(x, -fixtures.THICKNESS), track.at(x, sizes.HOOK)
        spots = [*around(below, angles=(-120.0, -60.0, -140.0, -40.0), gaps=(NEAR, 11.0))]
        spots += around(above, angles=(150.0, 120.0, 60.0, 30.0, UP), gaps=FARTHER)
        out = RIGHT if x > track.length / 2 else LEFT
        spots += around(track.at(x, 4.0), angles=[out], gaps=[9.0])
        drawing.label(say("end-stop"), at=spots, role="quiet", of=(below, above))
    sloping, noun = abs(track.angle) > 0.05, scene.noun(surface)
    parts = (0.4, 0.3, 0.5, 0.2, 0.6) if track.angle >= 0 else (0.6, 0.7, 0.5, 0.8, 0.4)
    back, front = (track.at(part * track.length, -fixtures.THICKNESS) for part in (0.0, 1.0))
    inner = (-45.0 if track.angle > 0 else -135.0) if sloping else DOWN
    points = [between(back, front, part) for part in parts]
    under = around(*points, angles=(DOWN, inner, -60.0, -120.0), gaps=(NEAR, 13.0, 21.0))
    lines = noun.split() if sloping else [noun]
    drawing.label(*lines, at=under, role="quiet", of=(back, front))


def _name_string(drawing: Drawing, places: Positions, scene: Scene, name: str) -> None:
    """Beside one of its longest parts; where that is too crowded, above with a line to it."""
    line = places.string_line(name)
    pairs = sorted(pairwise(line), key=lambda pair: -abs(pair[1] - pair[0]))
    spots: list[Spot] = []
    for parts in ((0.5, 0.4, 0.6), (0.3, 0.7, 0.8, 0.2)):
        for pair in pairs[:3]:
            points = [between(*pair, part) for part in parts]
            spots += around(*points, angles=(UP, RIGHT, LEFT, 120.0, 60.0))
    points = [between(*pairs[0], part) for part in (0.5, 0.3, 0.7, 0.9, 0.1)]
    spots += around(*points, angles=(135.0, 45.0), gaps=[12.0])
    spots += around(*points, angles=[UP], gaps=range(24, 97, 12))
    drawing.label(scene.noun(name), at=spots, of=line)
