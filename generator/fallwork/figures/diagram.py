"""The free-body diagram of one object: takes a scene, draws the object with the forces on it.

Beside the forces stand acceleration, velocity after a push, positive sense, scale bars, bent
arrows round a pulley and, on a slope, dashed, gravity's components. Where answers are held back
(not ``numbers``) nothing but signs of the motion is used; else lengths are proportional, with a
bar for each scale.
"""

import cmath
import math
from collections.abc import Iterator, Sequence

import numpy as np

from fallwork.figures import arrows as forces
from fallwork.figures.arrows import HUB, ForceArrow
from fallwork.figures.drawing import WIDTH, Dash, Drawing
from fallwork.figures.geometry import NOWHERE, Point, arc, between, dot, turn_of
from fallwork.figures.lettering import Line, wrapped
from fallwork.figures.placing import Spot, around, beside, nearest, plane, wish
from fallwork.figures.scene import CannotDrawError, Figure, Scene, figure, say
from fallwork.lesson.expression import Function, Product
from fallwork.mechanics.solution import Interaction
from fallwork.scenario.report import listed

NO_BREAK = "\u00a0"
DASHED = (5.0, 2.5)  # of accelerations
PART = (3.5, 2.2)  # of components
GAP = 10.0  # pt between arrows that lie beside each other
NEAR = math.cos(math.radians(8))  # of two directions that are the same for the eye
AT_AXLE = (Interaction.GRAVITY, Interaction.AXLE)
SLIDER, WEIGHT = (26.0, 9.0), (14.0, 15.0)  # pt, half sizes
SCALE_LEFT = -60.0  # pt, where scales begin: their words have room on the right
LENGTH = 40.0  # pt, of the arrow of acceleration
PULLEY = 22.0  # pt, radius
BEND = 36.0  # pt, radius of bent arrows
HALF = 0.6  # rad, half of what they span
TIP = 7.0  # pt, of their straight end
PLACES = 16  # round the pulley where one may stand


def diagram(scene: Scene) -> Figure:
    """The forces on the slot's object."""
    name = scene.subject
    if name not in scene.bodies and name not in scene.pulleys:
        raise CannotDrawError(f"a diagram shows a body or a pulley, not {name!r}")
    found = forces.with_lengths(scene, forces.arrows_of(scene))
    if not found:
        raise CannotDrawError(f"no force acts on {name!r}")
    drawing = Drawing(shift=complex(WIDTH / 2))
    if name in scene.pulleys:
        drawing.disc(0j, PULLEY)
        drawing.disc(0j, HUB, fill="ink")
    else:
        corner = complex(*(SLIDER if scene.surface else WEIGHT))
        corners = (-corner, corner.conjugate(), corner, -corner.conjugate())
        drawing.area((scene.tilt * corner for corner in corners), width=1.2)
        cart = scene.surface and scene.bodies[name].kind == "cart"
        for x in (-18.0, 18.0) if cart else ():
            drawing.disc(scene.tilt * complex(x, -SLIDER[1] - 3.0), 5.0, fill="paper")
    _draw_forces(drawing, scene, found)
    for force, length, enlarged in forces.bars(found) if scene.numbers else ():  # below all else
        left = complex(SCALE_LEFT, drawing.extent()[0] - 14.0)
        right = left + length
        ends = [(end - 3j, end + 3j) for end in (left, right)]
        drawing.strokes([*ends, (left, right)], role="quiet", width=1.0)
        along = say("scale-along", surface=scene.the(scene.surface)) if enlarged else ""
        words = f"{force:g} N {along}".rstrip()
        drawing.label(words, at=[beside(right, 0.0, 7.0)], role="quiet")
    named = scene.the(name)
    if scene.slot.phase:  # which later stretch of the run it is
        turned = scene.phase.role is scene.solution.phases[0].role
        named = say("diagram-later" if turned else "diagram-after", object=named)
    caption = _caption(scene, found, named)
    return figure(scene, drawing, "diagram", _description(scene, found), caption, object=named)


# Forces.


def _draw_forces(drawing: Drawing, scene: Scene, found: Sequence[ForceArrow]) -> None:
    """Straight arrows first: bent ones and what else there is stand where these leave room."""
    lines: dict[str, tuple[tuple[Point, ...], tuple[Spot, ...]]] = {}
    for arrow, start in zip(found, starts_of(found, scene), strict=True):
        if arrow.direction != NOWHERE:
            tip, thin = start + arrow.length * arrow.direction, arrow.stretched or arrow.part
            dash, head = (PART, 6.0) if arrow.part else ((), 7.5)
            look = {"width": 1.2 if thin else 1.8, "dash": dash, "role": arrow.role}
            drawing.arrow(start, tip, head=head, open_head=arrow.stretched, **look)
            lines[arrow.name] = (start, tip), tuple(_spots(arrow, start, tip))
    for arrow in found:
        if arrow.direction == NOWHERE:
            torque = arrow.force.torque or 0.0
            lines[arrow.name] = _draw_bend(drawing, scene, torque, role=arrow.role)
    letter = scene.label(scene.subject) or say("acceleration")
    if gains := scene.phase.angular_accelerations.get(scene.subject):
        line, spots = _draw_bend(drawing, scene, gains, role="accent-5", dash=DASHED)
        drawing.label(letter, at=spots, role="accent-5", of=line)
    _draw_motion(drawing, scene, letter)
    wishes = []
    for arrow in found:
        line, spots = lines[arrow.name]
        wishes.append(wish(*_label(scene, arrow), at=spots, of=line, role=arrow.role))
    drawing.labels(wishes)


def starts_of(found: Sequence[ForceArrow], scene: Scene) -> Iterator[Point]:
    """Where the arrows start: on the outline, each in the direction in which it points.

    Those that point the same way lie beside each other, the longest furthest up. A string's pull
    on a pulley starts where the string leaves the rim, what acts at its axle in the middle.
    """
    half_width, half_height = SLIDER if scene.surface else WEIGHT
    for arrow in found:
        if arrow.rim != NOWHERE:
            yield PULLEY * arrow.rim
            continue
        same = [o for o in found if o.rim == NOWHERE and o.along(arrow.direction) > NEAR]
        peers = sorted(same or [arrow], key=lambda peer: peer.length)
        across, way = 1j * arrow.direction, arrow.direction / scene.tilt
        reach = min(half_width / max(abs(way.real), 1e-9), half_height / max(abs(way.imag), 1e-9))
        if scene.subject in scene.pulleys:
            reach = 0.0 if arrow.force.interaction in AT_AXLE else PULLEY
        gap = GAP if reach else 2.0 * HUB
        side = -gap if dot(across, 1j * scene.tilt) < 0 else gap
        place = side * (peers.index(arrow) - (len(peers) - 1) / 2)
        yield place * across + reach * arrow.direction


def _size(scene: Scene, arrow: ForceArrow) -> str:
    """Its value with the unit, where numbers are open and the apparatus determines it."""
    unit = "N" if arrow.force.vector else "N·m"
    return scene.number(arrow.size, unit) if scene.numbers and arrow.size else ""


def _label(scene: Scene, arrow: ForceArrow) -> tuple[Line, ...]:
    """The symbol, or the force in words; its value too where numbers are open."""
    symbol, size = scene.label(arrow.force.name if arrow.part else arrow.name), _size(scene, arrow)
    angle = scene.symbol(f"slope.{scene.surface}") if arrow.part else None
    if symbol and angle:
        symbol = Product(factors=(symbol, Function(name=arrow.part, argument=angle)))
    value = (f"= {size}",) if size else ()
    if symbol is None:
        return (*wrapped(forces.force_words(arrow, scene), 16), *value)
    in_two = arrow.direction == NOWHERE or arrow.part
    return (symbol, *value) if in_two else ((symbol, *value),)


def _sides(ahead: float) -> list[float]:
    """The directions of the two sides of an arrow, in degrees: above or on the right first."""
    sides = (ahead + 90.0, ahead - 90.0)
    return sorted(sides, key=lambda side: -dot(cmath.rect(1.0, math.radians(side)), 1 + 1.5j))


def _spots(arrow: ForceArrow, start: Point, tip: Point) -> Iterator[Spot]:
    """Beside the tip, above or on the right first; then further back, then beyond it."""
    ahead = math.degrees(cmath.phase(arrow.direction))
    sides = _sides(ahead)
    points = [between(start, tip, part) for part in (0.85, 0.98, 0.65, 0.5)]
    along_it = [*around(*points, angles=sides, steep=8.0)]
    shifts = [cmath.rect(away, math.radians(s)) for away in (5.0, 10.0, 15.0) for s in sides]
    beyond = [*around(tip, *(tip + shift for shift in shifts), angles=[ahead])]
    beyond += around(tip, angles=[ahead + 40.0, ahead - 40.0])
    yield from (*along_it, *beyond) if arrow.length >= 30.0 else (*beyond, *along_it)
    turns = (46.0, -46.0, 92.0, -92.0, 126.0, -126.0)
    yield from around(tip, angles=[ahead + turn for turn in turns], gaps=(9.0, 17.0, 25.0))


# What stands beside them.


def _draw_motion(drawing: Drawing, scene: Scene, letter: Line) -> None:
    """Dashed the acceleration with its symbol, whole the velocity, small the positive sense."""
    arrows: tuple[tuple[Point | None, Line, Dash, Point, float], ...] = (
        (scene.acceleration, letter, DASHED, 62 + 0j, 36.0),
        (scene.velocity, say("velocity"), (), -62 - 30j, 58.0),
    )
    for way, words, dash, middle, height in arrows:
        if way is None:
            continue
        if scene.surface:
            middle = scene.tilt * complex(math.copysign(66.0, way.real), height)
        tail, tip = (middle + part * LENGTH / 2 * way for part in (-1, 1))
        drawing.arrow(tail, tip, role="accent-5", width=1.4, open_head=True, dash=dash)
        angle = math.degrees(cmath.phase(way))
        spots = (*around(middle, angles=_sides(angle)), *around(tip, angles=[angle]))
        drawing.label(words, at=spots, role="accent-5", of=(tail, tip))
    if scene.subject in scene.phase.accelerations:
        middle, positive = -62 + 22j, scene.positive
        if scene.surface:
            middle = -86 - 42j if abs(scene.slope) < 1e-6 else -104 - 64j
        tail, tip = (middle + part * LENGTH / 3 * positive for part in (-1, 1))
        drawing.arrow(tail, tip, role="quiet", width=1.0, head=6.0)
        beyond = around(tip, angles=[math.degrees(cmath.phase(positive))])
        drawing.label("+", at=beyond, role="quiet")


def _draw_bend(
    drawing: Drawing, scene: Scene, turning: float, *, role: str, dash: Dash = ()
) -> tuple[tuple[Point, ...], tuple[Spot, ...]]:
    """An arrow bent as something with this sign of a pulley's positive turning goes, where it is
    furthest from all strokes: its line, and the spots for its label.
    """
    left = math.copysign(1.0, -turn_of(scene.apparatus, scene.subject) * turning)
    lines = plane(drawing.segments).reshape(1, -1, 4)

    def room(middle: float) -> float:
        """How near anything comes to an arrow there, and to its label."""
        parts = (-1.3, -0.7, 0.0, 0.7, 1.3)
        points = [cmath.rect(BEND, middle + part * HALF) for part in parts]
        points.append(cmath.rect(BEND + 14.0, middle))
        on_sheet = plane([drawing.on_sheet(point) for point in points])[:, None]
        away = nearest(on_sheet, lines) - on_sheet
        return round(float(np.hypot(away[..., 0], away[..., 1]).min()), 3)

    middle = max((math.tau * place / PLACES for place in range(PLACES)), key=room)
    line = arc(0j, BEND, middle - left * HALF, middle + left * HALF)
    drawing.line(*line, role=role, width=1.4 if dash else 1.8, dash=dash)
    tip = line[-1] + cmath.rect(TIP, middle + left * (HALF + math.pi / 2))
    drawing.arrow(line[-1], tip, role=role, open_head=bool(dash), width=1.4)
    angles = [math.degrees(middle) + turn for turn in (0.0, 23.0, -23.0)]
    return line, tuple(around(0j, angles=angles, gaps=(BEND + 5.0, BEND + 13.0)))


# Words.


def _description(scene: Scene, found: Sequence[ForceArrow]) -> Iterator[str]:
    name = scene.subject
    parts = ((arrow, _size(scene, arrow), forces.where_words(arrow, scene)) for arrow in found)
    told = {arrow: f"{size}, {where}" if size else where for arrow, size, where in parts}
    whole = [f"{forces.force_words(a, scene)}, {where}" for a, where in told.items() if not a.part]
    yield say("diagram-forces", forces="; ".join(whole), object=scene.the(name))
    if lie := "; ".join(where for arrow, where in told.items() if arrow.part):
        yield say("diagram-parts", parts=lie)
    if gains := scene.phase.angular_accelerations.get(name):
        yield say("diagram-turning", way=forces.turning_words(scene, gains))
    if scene.velocity:
        yield say("diagram-velocity", way=forces.direction_words(scene.velocity, scene))
    accelerated, way = name in scene.phase.accelerations, scene.acceleration
    said = forces.direction_words(way, scene) if way else ""
    if not scene.numbers and not accelerated and forces.turning(scene):
        yield say("diagram-turned")
    if not scene.numbers and way and forces.outweighing(scene):
        if any(arrow.along(way) < -0.01 for arrow in found):
            yield say("diagram-outweighing", way=said)
        else:
            yield say("diagram-unopposed", way=forces.direction_words(-way, scene))
    if accelerated:
        yield say("diagram-acceleration" if way else "diagram-no-acceleration", way=said)
        yield say("diagram-sense", way=forces.direction_words(scene.positive, scene))


def _caption(scene: Scene, found: Sequence[ForceArrow], named: str) -> Iterator[str]:
    if not scene.numbers:
        if scene.kind == "fixed":  # lengths say which side outweighs the other, if any
            pulley = scene.pulleys[scene.subject]
            resisting = pulley.inertia or pulley.bearing_torque
            way = forces.turning(scene) or (None if resisting else 0)
        else:
            way = forces.outweighing(scene)
        form = "-directions" if way is None else "" if way else "-balance"
        yield say(f"diagram-caption{form}", object=named)
        return
    yield say("diagram-caption-scale", object=named)
    if any(arrow.enlarged for arrow in found):
        yield say("diagram-own-scale", surface=scene.the(scene.surface))
    stretched = []
    for arrow in (arrow for arrow in found if arrow.stretched):
        size, force = _size(scene, arrow).replace(" ", NO_BREAK), forces.force_words(arrow, scene)
        stretched.append(say("diagram-stretched-force", force=force, size=size))
    if stretched:
        key = "diagram-stretched" if len(stretched) == 1 else "diagram-stretched-several"
        yield say(key, forces=listed(stretched))
