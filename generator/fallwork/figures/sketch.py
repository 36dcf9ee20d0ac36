"""The sketch of a set-up: takes the apparatus and which way it moves, draws it with its names.

Not to scale but for slopes; nothing computed is shown. Places come from ``layout``.
"""

import math

from fallwork.figures import layout as places
from fallwork.figures.canvas import WIDTH, Point
from fallwork.figures.drawing import Drawing, along
from fallwork.figures.fixtures import draw_fixtures, draw_pad
from fallwork.figures.labels import NEAR, Spot, Words
from fallwork.figures.layout import Layout
from fallwork.figures.names import is_left, pads, side_room, write_names
from fallwork.figures.scene import Plate, Scene, say, sentence
from fallwork.lesson.words import listing

WHEEL = 4.5  # pt, radius of a cart's wheels


def sketch(scene: Scene) -> Plate:
    """The set-up with its objects, the distance of the run, catch pad and end stop."""
    way = places.directions_of_motion(scene.solution)
    layout = places.lay_out(scene.apparatus, way)
    drawing = _sheet_for(layout, scene)
    floor = places.floor_of(layout)
    draw_fixtures(drawing, layout, floor)
    for pad in pads(layout, scene):
        draw_pad(drawing, pad, floor, places.room_beside(layout, pad))
    for string in scene.apparatus.strings:
        drawing.line(*layout.string_line(string), width=1.3)
    for name in layout.wheels:
        _draw_wheel(drawing, layout, name)
    for name in layout.sliders:
        _draw_slider(drawing, layout, name)
    for name in layout.hanging:
        _draw_weight(drawing, layout, name)
    marked = _mark_distance(drawing, layout, scene)
    _mark_push(drawing, layout, scene)
    write_names(drawing, layout, scene, floor)
    return Plate(
        sheet=drawing.sheet(),
        title=say("sketch-title"),
        description=_description(scene, layout, marked),
        caption=say("sketch-caption"),
    )


def _sheet_for(layout: Layout, scene: Scene) -> Drawing:
    """A sheet on which the set-up and the names beside it have room."""
    left, right = places.bounds_of(layout)
    room_left, room_right = side_room(layout, scene)
    scale = min(1.1, (WIDTH - room_left - room_right) / (right - left))
    places.settle(layout, places.FOOT / min(1.0, scale))
    spare = WIDTH - room_left - room_right - scale * (right - left)
    return Drawing(scale=scale, shift=(room_left + spare / 2 - scale * left, 0.0))


def _draw_wheel(drawing: Drawing, layout: Layout, name: str) -> None:
    wheel = layout.wheels[name]
    for load, body in layout.apparatus.bodies.items():
        if body.hangs_from == name:
            drawing.line(wheel.centre, layout.hanging[load], width=1.6)
    drawing.disc(wheel.centre, wheel.radius - 0.6, fill="paper")
    drawing.disc(wheel.centre, 1.8, fill="ink")


def _draw_slider(drawing: Drawing, layout: Layout, name: str) -> None:
    track, x = layout.track_of(name), layout.sliders[name]
    kind = layout.apparatus.bodies[name].kind
    low, high = {"cart": (6.0, 20.0), "glider": (2.5, 20.0)}.get(kind, (0.0, 22.0))
    corners = ((x, low), (x + places.CART, low), (x + places.CART, high), (x, high))
    drawing.area((track.at(*corner) for corner in corners), fill="fill", width=1.3)
    if kind == "cart":
        for part in (0.2, 0.8):
            hub = track.at(x + part * places.CART, WHEEL)
            drawing.disc(hub, WHEEL, fill="paper")


def _draw_weight(drawing: Drawing, layout: Layout, name: str) -> None:
    x, y = layout.hanging[name]
    half, neck = places.WEIGHT_WIDTH / 2, 4.0
    drawing.line((x, y), (x, y - neck), width=1.6)
    low = y - places.WEIGHT_HEIGHT
    outline = ((x - half, low), (x + half, low), (x + half, y - neck), (x - half, y - neck))
    drawing.area(outline, fill="fill", width=1.3)


# The distance of the run.


def _mark_distance(drawing: Drawing, layout: Layout, scene: Scene) -> str:
    """Marks the path of the run's object; gives its name, or "" where there is none."""
    name = scene.apparatus.run.object
    way = layout.way.get(name, 0)
    if not way or scene.apparatus.run.distance is None:
        return ""
    if name in layout.sliders:
        _mark_along_track(drawing, layout, scene, name, way)
    elif name in layout.hanging:
        _mark_drop(drawing, layout, scene, name, way)
    else:
        return ""
    return name


def _mark_along_track(drawing: Drawing, layout: Layout, scene: Scene, name: str, way: int) -> None:
    track, x = layout.track_of(name), layout.sliders[name]
    start = x + (places.CART if way > 0 else 0.0)
    first, last = (track.at(start + step, 22.0) for step in (0.0, way * places.DROP))
    drawing.line(track.at(start, 16.0), track.at(start, 26.0), role="quiet", width=0.8)
    _dimension(drawing, scene, first, last, track.angle + math.pi / 2)


def _mark_push(drawing: Drawing, layout: Layout, scene: Scene) -> None:
    """An arrow for the speed with which the run starts."""
    name = _pushed(scene, layout)
    if name not in layout.sliders:
        return
    track, x = layout.track_of(name), layout.sliders[name] + places.CART / 2
    reach = math.copysign(20.0, scene.solution.phases[0].start_velocities[name])
    tail, tip = track.at(x - reach, 30.0), track.at(x + reach, 30.0)
    drawing.arrow(tail, tip, role="accent-5", width=1.4, open_head=True)
    beside = along(tip, NEAR, track.angle + (0.0 if reach > 0 else math.pi))
    spot = Spot(at=beside, across=0.0 if reach > 0 else 1.0, up=0.5)
    drawing.label(Words(lines=((say("push"),),)), (spot,), role="accent-5")


def _pushed(scene: Scene, layout: Layout) -> str:
    """What gets the push: the run's object, or what runs on a track and is tied to it; or ""."""
    run, speeds = scene.apparatus.run, scene.solution.phases[0].start_velocities
    if not run.speed:
        return ""
    riders = (name for name in layout.sliders if speeds.get(name))
    return run.object if run.object in layout.sliders else next(riders, run.object)


def _mark_drop(drawing: Drawing, layout: Layout, scene: Scene, name: str, way: int) -> None:
    x, y = layout.hanging[name]
    outward = -1.0 if is_left(layout, x) else 1.0
    edge = x + outward * places.WEIGHT_WIDTH / 2
    start = y - places.WEIGHT_HEIGHT
    end = start - way * places.DROP
    beside = edge + outward * 10.0
    for near, level in ((edge + outward * 2.0, start), (beside - outward * 4.0, end)):
        drawing.line((near, level), (beside + outward * 4.0, level), role="quiet", width=0.8)
    _dimension(drawing, scene, (beside, start), (beside, end), 0.0 if outward > 0 else math.pi)


def _dimension(drawing: Drawing, scene: Scene, start: Point, end: Point, label_side: float) -> None:
    """A double arrow with the distance's symbol on the side that the angle points to."""
    middle = ((start[0] + end[0]) / 2, (start[1] + end[1]) / 2)
    for tip in (start, end):
        drawing.arrow(middle, tip, role="quiet", width=0.9, head=5.5)
    letter = scene.first_symbol("run-distance", "distance") or say("distance")
    beside = along(middle, NEAR, label_side)
    across, up = 0.5 - 0.5 * math.cos(label_side), 0.5 - 0.5 * math.sin(label_side)
    drawing.label(Words(lines=((letter,),)), (Spot(at=beside, across=across, up=up),))


# The text alternative.


def _description(scene: Scene, layout: Layout, marked: str) -> str:
    parts = [*_on_tracks(layout, scene), *_strings(scene), *_hung(layout, scene)]
    if marked:
        parts.append(say("sketch-distance", object=scene.the(marked)))
    pushed = _pushed(scene, layout)
    if pushed:
        ahead = scene.solution.phases[0].start_velocities[pushed] > 0
        way = say("way-forward" if ahead else "way-back")
        parts.append(say("sketch-push", object=scene.the(pushed), way=way))
    if pads(layout, scene):
        parts.append(say("sketch-pad", object=scene.the(scene.apparatus.run.object)))
    return " ".join(sentence(part) for part in parts)


def _on_tracks(layout: Layout, scene: Scene) -> list[str]:
    parts = []
    for surface, track in layout.tracks.items():
        riders = [
            scene.the(n) for n in layout.sliders if layout.apparatus.bodies[n].surface == surface
        ]
        slope = "level" if abs(track.angle) < 1e-6 else "up" if track.angle > 0 else "down"
        key = "sketch-riders" if len(riders) > 1 else "sketch-rider"
        if riders:
            parts.append(
                say(key, objects=listing(riders), track=scene.the(surface), slope=say(slope))
            )
    return parts


def _strings(scene: Scene) -> list[str]:
    parts = []
    for string in scene.apparatus.strings.values():
        first, *between, last = (scene.the(name) for name in string.path)
        key = "sketch-string-over" if between else "sketch-string"
        parts.append(
            say(key, string=scene.the(string.name), first=first, over=listing(between), last=last)
        )
    return parts


def _hung(layout: Layout, scene: Scene) -> list[str]:
    return [
        say("sketch-hangs", object=scene.the(name), holder=scene.the(body.hangs_from))
        for name, body in layout.apparatus.bodies.items()
        if body.hangs_from
    ]
