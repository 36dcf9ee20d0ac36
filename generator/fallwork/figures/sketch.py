"""The sketch of a set-up: takes the apparatus and which way it moves, draws it with its names.

Not to scale but for slopes; nothing computed is shown. Places come from ``positions``. Each kind of
thing has a function that draws all of it and gives its names, which are placed once everything
stands, what has little choice first. What only helps (table, pad, stop) stands in a quieter colour.
Angles in degrees, counter-clockwise from the right.
"""

import cmath
import math
from collections.abc import Iterator, Sequence
from itertools import pairwise, product

from fallwork.figures import positions as sizes
from fallwork.figures.drawing import WIDTH, Drawing, Shape
from fallwork.figures.geometry import Point, arc, between
from fallwork.figures.lettering import Line, set_out, wrapped
from fallwork.figures.placing import NEAR, Box, Spot, Wish, around, wish
from fallwork.figures.positions import HOOK, THICKNESS, Positions
from fallwork.figures.scene import Figure, Scene, figure, say
from fallwork.scenario.nouns import EARTH
from fallwork.scenario.report import listed

NARROW, BROAD = 8, 12  # characters of a line of a name: close, beside
ABOVE = 22.0  # pt from a track to the names of what runs on it
UP, DOWN, LEFT, RIGHT = 90.0, -90.0, 180.0, 0.0
FARTHER = (NEAR, 11.0, 17.0, 25.0, 35.0, 50.0, 65.0, 85.0)  # pt
STEP = 9.0  # between the strokes under the floor


def sketch(scene: Scene) -> Figure:
    """The set-up with its objects, the distance of the run, catch pad and end stop."""
    places = Positions(scene.apparatus, scene.solution)
    left, right = places.bounds()
    rooms = {-1.0: 10.0, 1.0: 18.0}  # left and right of what hangs, for names
    for name, top in places.hanging.items():
        side, needed = places.outside(top), set_out(*_named(scene, name)).width
        rooms[side] = max(rooms[side], needed + NEAR + 2.0)
    free = WIDTH - sum(rooms.values())
    scale = min(1.1, free / (right - left))
    places.settle(sizes.FOOT / min(1.0, scale))
    spare = (free - scale * (right - left)) / 2
    drawing = Drawing(scale=scale, shift=complex(rooms[-1.0] + spare - scale * left))
    names = {kind: [*kind(drawing, places, scene)] for kind in DRAWN}
    for each in (each for kind in NAMED for each in names[kind]):
        drawing.labels([each])
    key = f"sketch-{scene.subject}" if scene.subject else "sketch"
    if scene.subject:
        _earth(drawing, scene)
    return figure(scene, drawing, key, _description(scene, places))


def _description(scene: Scene, places: Positions) -> Iterator[str]:
    apparatus, the = scene.apparatus, scene.the
    for surface, track in places.tracks.items():
        riders = [the(n) for n in places.sliders if apparatus.bodies[n].surface == surface]
        slope = "level" if abs(track.angle) < 1e-6 else "up" if track.angle > 0 else "down"
        if riders:
            key = "sketch-riders" if len(riders) > 1 else "sketch-rider"
            yield say(key, objects=listed(riders), track=the(surface), slope=say(slope))
    for string in apparatus.strings.values():
        first, *over, last = map(the, string.path)
        key, name = "sketch-string-over" if over else "sketch-string", the(string.name)
        yield say(key, string=name, first=first, over=listed(over), last=last)
    for name, holder in scene.carried.items():
        yield say("sketch-hangs", object=the(name), holder=the(holder))
    if places.marked:
        yield say("sketch-distance", object=the(places.marked))
    if places.pushed:
        ahead = scene.solution.phases[0].start_velocities[places.pushed] > 0
        way = say("way-forward" if ahead else "way-back")
        yield say("sketch-push", object=the(places.pushed), way=way)
        if places.pushed in places.sliders and places.turns(places.pushed):
            yield say("sketch-turn")
    for name, top in places.pads().items():
        key = "sketch-pad" if name == places.lands else "sketch-pad-below"
        on = say("floor" if top.imag - sizes.PAD_HEIGHT < places.floor() + 1.0 else "stand")
        yield say(key, object=the(name), on=on)


def _earth(drawing: Drawing, scene: Scene) -> None:
    """A bar below everything else, where a reader chooses what belongs to a system."""
    low, _ = drawing.extent()
    bar = Box(left=9.0, bottom=low - 26.0, right=WIDTH - 9.0, top=low - 9.0)
    drawing.shapes.append(Shape(lines=(bar.corners,), fill="fill", closed=True, about=EARTH))
    middle = complex(WIDTH / 2, low - 17.5) - drawing.shift
    drawing.labels([wish(EARTH, at=[Spot(middle / drawing.scale, 0.5, 0.5)], about=EARTH)])


# What stands fixed.


def _draw_ground(drawing: Drawing, left: Point, width: float, side: float) -> None:
    """A level line with strokes on the side where the ground or the ceiling is."""
    drawing.line(left, left + width, role="rule", width=1.2)
    first = 1.0 if side > 0 else STEP
    feet = [left + first + STEP * n for n in range(int((width - first) / STEP) + 1)]
    drawing.strokes((foot, foot + complex(side, side)) for foot in feet)


def _floor(drawing: Drawing, places: Positions, scene: Scene) -> Iterator[Wish]:
    """The floor, and the table under tracks."""
    (left, right), floor = places.bounds(), places.floor()
    _draw_ground(drawing, complex(left - 6.0, floor), right - left + 20.0, -5.0)
    if places.tracks:
        table = places.table()
        low, end, *_ = table.corners
        *legs, a, b, c = (between(low, end, part) for part in (0.27, 0.73, 0.5, 0.35, 0.65))
        for foot in legs:
            drawing.line(foot, complex(foot.real, floor), role="rule", width=3.0)
        drawing.area(table.corners, fill="paper", role="rule")
        yield wish(say("table"), at=around(a, b, c, angles=[DOWN]), role="quiet")


def _tracks(drawing: Drawing, places: Positions, scene: Scene) -> Iterator[Wish]:
    """Tracks on their supports, at a slope with its angle and a level line; and their stops."""
    for surface, track in places.tracks.items():
        back, front = (track.at(x, -THICKNESS) for x in (0.0, track.length))
        for part in (0.1, 0.9):
            top = track.at(part * track.length, -THICKNESS)
            foot = complex(top.real, places.table().top)
            drawing.line(top, foot, role="rule", width=3.0)
            drawing.line(foot - 6.0 + 1j, foot + 6.0 + 1j, role="rule", width=2)
        drawing.area((track.back, track.front, front, back), about=surface)
        if abs(track.angle) > 1e-6:
            corner, level = (back, 0.0) if track.angle > 0 else (front, math.pi)
            end = corner + cmath.rect(sizes.LEVEL_LINE, level)
            drawing.line(corner, end, role="quiet", width=0.8, dash=(4.0, 2.5))
            bow = arc(corner, sizes.SLOPE_RADIUS, level, level + track.angle)
            drawing.line(*bow, role="quiet", width=0.8)
            inside = corner + cmath.rect(sizes.SLOPE_RADIUS, level + track.angle / 2)
            beyond = around(end, angles=[-150.0 if level else -30.0])
            if letter := scene.symbol(f"slope.{surface}"):
                at = (*around(inside, end, angles=[math.degrees(level)]), *beyond)
                yield wish(letter, at=at)
        riders = (n for n, b in places.apparatus.bodies.items() if b.surface == surface)
        if way := sum(places.way.get(name, 0) for name in riders):  # to an end of the track
            x = track.length - 5.5 if way > 0 else 5.5
            drawing.area(track.block(x - 2.5, 5.0, 0.0, 8.0), fill="rule", role="rule")
            below, above = track.at(x, -THICKNESS), track.at(x, HOOK)
            spots = [*around(below, angles=(-120.0, -60.0, -140.0, -40.0), gaps=(NEAR, 11.0))]
            spots += around(above, angles=(150.0, 120.0, 60.0, 30.0, UP), gaps=FARTHER)
            spots += around(track.at(x, 4.0), angles=[RIGHT if way > 0 else LEFT], gaps=[9.0])
            yield wish(say("end-stop"), at=spots, role="quiet", of=(below, above))
        sloping, noun = abs(track.angle) > 0.05, scene.noun(surface)
        parts = (0.4, 0.3, 0.5, 0.2, 0.6) if track.angle >= 0 else (0.6, 0.7, 0.5, 0.8, 0.4)
        inner = (-45.0 if track.angle > 0 else -135.0) if sloping else DOWN
        points = [between(back, front, part) for part in parts]
        under = around(*points, angles=(DOWN, inner, -60.0, -120.0), gaps=(NEAR, 13.0, 21.0))
        lines = noun.split() if sloping else [noun]
        yield wish(*lines, at=under, role="quiet", of=(back, front), about=surface)


def _holders(drawing: Drawing, places: Positions, scene: Scene) -> Iterator[Wish]:
    """A bracket of a fixed pulley, at the nearer end of a track or from a beam above; an anchor
    is a post at the end of a track, or a piece of ceiling or floor.
    """
    tracks = places.tracks.values()
    ends = [track.at(x, -THICKNESS / 2) for track in tracks for x in (1.5, track.length - 1.5)]
    fixed = (w for n, w in places.wheels.items() if not places.apparatus.pulleys[n].moving)
    for wheel in fixed:
        near = [end for end in ends if abs(end - wheel.centre) < 5 * wheel.radius]
        beam = wheel.centre + 1j * (wheel.radius + 13.0)
        holder = min(near, key=lambda end: abs(end - wheel.centre), default=beam)
        drawing.line(wheel.centre, holder, role="rule", width=3.0)
        if not near:
            _draw_ground(drawing, beam - 26.0, 52.0, 5.0)
    for name, point in places.anchors.items():
        if any(abs(point - end) < 2 * HOOK for end in places.ends):
            drawing.line(point - HOOK * 1j, point + 7j, role="rule", width=4.0)
        elif point.imag > places.top():
            _draw_ground(drawing, point - 14.0, 28.0, 5.0)
        else:
            drawing.disc(point, 2.5, fill="rule", role="rule")
        spots = around(point, angles=(UP, DOWN, RIGHT, LEFT), gaps=(NEAR, 15.0, 19.0))
        yield wish(scene.noun(name), at=spots, role="quiet")


def _pads(drawing: Drawing, places: Positions, scene: Scene) -> Iterator[Wish]:
    """A soft pad where the fall ends, clear of what hangs; one of them bears the name of all."""
    floor, hanging = places.floor(), places.hanging.values()
    spots: list[Spot] = []
    for top in places.pads().values():
        lower = [each for each in hanging if each.imag - sizes.WEIGHT_HEIGHT < top.imag + 2.0]
        away = [abs(each.real - top.real) for each in lower if each.real != top.real]
        room = min(away, default=math.inf) - sizes.WEIGHT_WIDTH / 2 - 3.0
        half, x, bottom = min(sizes.PAD_WIDTH / 2, room), top.real, top.imag - sizes.PAD_HEIGHT
        if bottom > floor + 1.0:
            stand = Box(left=x - 0.7 * half, bottom=floor, right=x + 0.7 * half, top=bottom)
            drawing.area(stand.corners, fill="paper", role="rule")
        pad = Box(left=x - half, bottom=bottom, right=x + half, top=top.imag)
        drawing.area(pad.corners, fill="paper")
        middles = [top + part * half for part in (-0.66, -0.22, 0.22, 0.66)]
        low, high = complex(-3.0, 1.5 - sizes.PAD_HEIGHT), complex(3.0, -1.5)
        drawing.strokes((middle + low, middle + high) for middle in middles)
        out, reach = places.outside(top), sizes.PAD_WIDTH / 2 + NEAR
        spots += (Spot(top - 6j + s * reach, 0.5 - 0.5 * s, 0.0) for s in (out, -out))
        spots.append(Spot(complex(x, floor - 8.0), 0.5, 1.0))
    if spots:
        yield wish(say("catch-pad"), at=spots, role="quiet")


# What moves.


def _strings(drawing: Drawing, places: Positions, scene: Scene) -> Iterator[Wish]:
    """Named at one of their longest parts; where that is too crowded, above with a line to it."""
    for name in places.apparatus.strings:
        line = places.string_line(name)
        drawing.line(*line, width=1.3, about=name)
        pairs = sorted(pairwise(line), key=lambda pair: -abs(pair[1] - pair[0]))
        spots: list[Spot] = []
        for parts, pair in product(((0.5, 0.4, 0.6), (0.3, 0.7, 0.8, 0.2)), pairs[:3]):
            points = [between(*pair, part) for part in parts]
            spots += around(*points, angles=(UP, RIGHT, LEFT, 120.0, 60.0))
        points = [between(*pairs[0], part) for part in (0.5, 0.3, 0.7, 0.9, 0.1)]
        spots += around(*points, angles=(135.0, 45.0), gaps=[12.0])
        spots += around(*points, angles=[UP], gaps=range(24, 97, 12))
        yield wish(scene.noun(name), at=spots, of=line, about=name)


def _wheels(drawing: Drawing, places: Positions, scene: Scene) -> Iterator[Wish]:
    for name, wheel in places.wheels.items():
        for load in scene.loads_of([name]):
            drawing.line(wheel.centre, places.hanging[load], width=1.6, about=name)
        drawing.disc(wheel.centre, wheel.radius - 0.6, fill="paper", about=name)
        drawing.disc(wheel.centre, 1.8, fill="ink", about=name)
        angles = (45.0, UP, 135.0, RIGHT, LEFT, -45.0, -135.0, 60.0, 120.0)
        spots = around(wheel.centre, angles=angles, gaps=[wheel.radius + gap for gap in FARTHER])
        rim = arc(wheel.centre, wheel.radius, 0.0, math.tau)
        yield wish(*wrapped(scene.noun(name), NARROW), at=spots, of=rim, about=name)


def _named(scene: Scene, name: str) -> Sequence[Line]:
    """The noun and the symbol of the mass; of what is alone on a track in one line."""
    bodies, mass = scene.bodies, scene.symbol(f"mass.{name}")
    surface, marks = bodies[name].surface, [mass] if mass else []
    if surface and sum(body.surface == surface for body in bodies.values()) == 1:
        return [[scene.noun(name), *marks]]
    return [*wrapped(scene.noun(name), NARROW if surface else BROAD), *marks]


def _sliders(drawing: Drawing, places: Positions, scene: Scene) -> Iterator[Wish]:
    for name, under in places.sliders.items():
        kind = places.apparatus.bodies[name].kind
        drawing.area(under.block(0.0, sizes.CART, *sizes.HEIGHTS[kind]), width=1.3, about=name)
        for part in (0.2, 0.8) if kind == "cart" else ():
            axle = under.at(part * sizes.CART, sizes.WHEEL)
            drawing.disc(axle, sizes.WHEEL, fill="paper", about=name)
        middle, *ends = (under.at(part * sizes.CART, ABOVE) for part in (0.5, 0.2, 0.8))
        tops = [middle + dx for dx in (0.0, -12.0, 12.0)]
        spots = around(*tops, angles=[UP], gaps=FARTHER)
        yield wish(*_named(scene, name), at=spots, of=ends, about=name)


def _hanging(drawing: Drawing, places: Positions, scene: Scene) -> Iterator[Wish]:
    """Named beside on the outer side, else below, else on the inner side."""
    half, height = sizes.WEIGHT_WIDTH / 2, sizes.WEIGHT_HEIGHT
    heights = ((-0.42 * height, 0.5), (4.0 - height, 0.0), (12.0 - height, 0.0))
    for name, top in places.hanging.items():
        out = places.outside(top)
        drawing.line(top, top - sizes.NECK * 1j, width=1.6, about=name)
        corners = Box(left=-half, bottom=-height, right=half, top=-sizes.NECK).corners
        drawing.area((top + corner for corner in corners), width=1.3, about=name)
        outer, inner = (
            [Spot(top + complex(s * (half + NEAR), y), 0.5 - 0.5 * s, up) for y, up in heights]
            for s in (out, -out)
        )
        below = around(top - 1j * height, angles=[DOWN])
        yield wish(*_named(scene, name), at=(*outer, *below, *inner), about=name)


def _distance(drawing: Drawing, places: Positions, scene: Scene) -> Iterator[Wish]:
    """Of the run: along the track, above what runs; beside what hangs, on the outer side."""
    way = places.way.get(places.marked, 0)
    if not way:
        return
    if under := places.sliders.get(places.marked):
        start = sizes.CART if way > 0 else 0.0
        first, last = (under.at(start + step, 22.0) for step in (0.0, way * sizes.DROP))
        ticks = [(under.at(start, 16.0), under.at(start, 26.0))]
        side = math.degrees(under.angle) + UP
    else:
        top = places.hanging[places.marked]
        out = places.outside(top)
        edge = top + complex(out * sizes.WEIGHT_WIDTH / 2, -sizes.WEIGHT_HEIGHT)
        low = edge - way * sizes.DROP * 1j
        first, last = edge + out * 10.0, low + out * 10.0
        ticks = [(edge + out * 2.0, edge + out * 14.0), (low + out * 6.0, low + out * 14.0)]
        side = RIGHT if out > 0 else LEFT
    drawing.strokes(ticks, role="quiet")
    for tail, tip in ((first, last), (last, first)):  # each clear of the other head
        drawing.arrow(between(tail, tip, 0.2), tip, role="quiet", width=0.9, head=5.5)
    letter = scene.symbol("run-distance") or scene.symbol("distance") or say("distance")
    yield wish(letter, at=around(between(first, last, 0.5), angles=[side]))


def _push(drawing: Drawing, places: Positions, scene: Scene) -> Iterator[Wish]:
    """An arrow for the speed at the start, above a name; and where what is pushed turns round."""
    if under := places.sliders.get(places.pushed):
        reach = math.copysign(20.0, scene.solution.phases[0].start_velocities[places.pushed])
        height = ABOVE + 2 * NEAR + set_out(*_named(scene, places.pushed)).height + 4.0
        tail, tip = (under.at(sizes.CART / 2 + step, height) for step in (-reach, reach))
        drawing.arrow(tail, tip, role="accent-5", width=1.4, open_head=True)
        ahead = math.degrees(under.angle) + (RIGHT if reach > 0 else LEFT)
        yield wish(say("push"), at=around(tip, angles=[ahead]), role="accent-5")
        if places.turns(places.pushed):
            x = sizes.CART + sizes.TURN if reach > 0 else -sizes.TURN
            foot, top = under.at(x, 0.0), under.at(x, 10.0)
            drawing.line(foot, top, role="quiet", width=1.2, dash=(3.0, 2.0))
            spots = around(top, angles=(UP, 120.0, 60.0, LEFT, RIGHT), gaps=FARTHER)
            yield wish(*say("turning-point").split(), at=spots, role="quiet", of=(foot, top))


DRAWN = (_floor, _tracks, _holders, _pads, _strings, _wheels, _sliders, _hanging, _distance, _push)
NAMED = (_distance, _push, _sliders, _hanging, _wheels, _tracks, _holders, _strings, _floor, _pads)
