"""The sketch of a set-up: takes the apparatus and which way it moves, draws it with its names.

Not to scale but for slopes; nothing computed is shown. Places come from ``positions``.
"""

import math
from collections.abc import Iterator

from fallwork.figures import positions as sizes
from fallwork.figures.drawing import WIDTH, Drawing
from fallwork.figures.fixtures import draw_fixtures, draw_objects
from fallwork.figures.geometry import between
from fallwork.figures.names import name_top, side_room, write_names
from fallwork.figures.placing import around
from fallwork.figures.positions import Positions, directions_of_motion, lay_out
from fallwork.figures.scene import Plate, Scene, plate, say
from fallwork.lesson.words import listing


def sketch(scene: Scene) -> Plate:
    """The set-up with its objects, the distance of the run, catch pad and end stop."""
    places = lay_out(scene.apparatus, directions_of_motion(scene.solution))
    left, right = places.bounds()
    room_left, room_right = side_room(places, scene)  # that the names need
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
    write_names(drawing, places, scene)
    return plate(drawing, "sketch", _description(scene, places))


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
    height = name_top(places, scene, name) + 4.0
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
