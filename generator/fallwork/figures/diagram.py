"""The free-body diagram of one object: takes a scene, draws the object with the forces on it.

Beside the forces stand acceleration, positive sense, scale bars, bent arrows round a pulley and, on
a slope, dashed, gravity's components. Where answers are held back (not ``to_scale``) nothing but
signs of the motion is used; else lengths are proportional, with a bar for each scale.
"""

import cmath
import math
from collections.abc import Iterator, Sequence
from typing import Any

import numpy as np

from fallwork.figures import arrows as forces
from fallwork.figures.arrows import HUB, ForceArrow
from fallwork.figures.drawing import WIDTH, Dash, Drawing
from fallwork.figures.geometry import NOWHERE, Point, arc, between, dot, turn_of
from fallwork.figures.lettering import Line, set_out, wrapped
from fallwork.figures.placing import Spot, Wish, around, beside, nearest, plane
from fallwork.figures.scene import CannotDrawError, Plate, Scene, plate, say
from fallwork.lesson.expression import Function, Product
from fallwork.lesson.words import listing
from fallwork.mechanics.solution import Interaction

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


def diagram(scene: Scene) -> Plate:
    """The forces on the slot's object."""
    name = scene.subject
    if name not in scene.apparatus.bodies and name not in scene.apparatus.pulleys:
        raise CannotDrawError(f"a diagram shows a body or a pulley, not {name!r}")
    found = forces.with_lengths(scene, forces.arrows_of(scene))
    if not found:
        raise CannotDrawError(f"no force acts on {name!r}")
    drawing = Drawing(shift=complex(WIDTH / 2))
    _draw_object(drawing, scene)
    _draw_forces(drawing, scene, found)
    if scene.to_scale:
        for bar in forces.bars(found):
            _draw_scale(drawing, scene, bar)
    named = scene.the(name)
    if scene.slot.phase:  # which later stretch of the run it is
        turned = scene.phase.role is scene.solution.phases[0].role
        named = say("diagram-later" if turned else "diagram-after", object=named)
    caption = _caption(scene, found, named)
    return plate(drawing, "diagram", _description(scene, found), caption, object=named)


def _draw_object(drawing: Drawing, scene: Scene) -> None:
    if scene.subject in scene.apparatus.pulleys:
        drawing.disc(0j, PULLEY)
        drawing.disc(0j, HUB, fill="ink")
        return
    corner = complex(*(SLIDER if scene.surface else WEIGHT))
    corners = (-corner, corner.conjugate(), corner, -corner.conjugate())
    drawing.area((scene.tilt * corner for corner in corners), width=1.2)
    if scene.surface and scene.apparatus.bodies[scene.subject].kind == "cart":
        for x in (-18.0, 18.0):
            drawing.disc(scene.tilt * complex(x, -SLIDER[1] - 3.0), 5.0, fill="paper")


# Forces.


def _draw_forces(drawing: Drawing, scene: Scene, found: Sequence[ForceArrow]) -> None:
    """Straight arrows first: bent ones and what else there is stand where these leave room."""
    lines: dict[str, tuple[tuple[Point, ...], tuple[Spot, ...]]] = {}
    for arrow, start in zip(found, starts_of(found, scene), strict=True):
        if arrow.direction != NOWHERE:
            tip = start + arrow.length * arrow.direction
            look: dict[str, Any] = {"role": arrow.role, "open_head": arrow.stretched}
            look |= {"dash": PART, "head": 6.0} if arrow.part else {}
            width = 1.2 if arrow.stretched or arrow.part else 1.8
            drawing.arrow(start, tip, width=width, **look)
            lines[arrow.name] = (start, tip), tuple(_spots(arrow, start, tip))
    for arrow in found:
        if arrow.direction == NOWHERE:
            torque = arrow.force.torque or 0.0
            lines[arrow.name] = _draw_bend(drawing, scene, torque, role=arrow.role)
    if gains := scene.phase.angular_accelerations.get(scene.subject):
        line, spots = _draw_bend(drawing, scene, gains, role="accent-5", dash=DASHED)
        letter = scene.label(scene.subject) or say("acceleration")
        drawing.label(letter, at=spots, role="accent-5", of=line)
    _draw_acceleration(drawing, scene)
    wishes = []
    for arrow in found:
        line, spots = lines[arrow.name]
        label = set_out(*_label(scene, arrow))
        wishes.append(Wish(label=label, spots=spots, of=line, role=arrow.role))
    drawing.labels(wishes)


def starts_of(found: Sequence[ForceArrow], scene: Scene) -> Iterator[Point]:
    """Where the arrows start: on the outline, each in the direction in which it points.

    Those that point the same way lie beside each other, the longest furthest up. A string's pull
    on a pulley starts where the string leaves the rim, what acts at its axle in the middle.
    """
    up = 1j * scene.tilt
    for arrow in found:
        if arrow.rim != NOWHERE:
            yield PULLEY * arrow.rim
            continue
        same = [o for o in found if o.rim == NOWHERE and o.along(arrow.direction) > NEAR]
        peers = sorted(same or [arrow], key=lambda peer: peer.length)
        across, reach = 1j * arrow.direction, _reach(arrow, scene)
        gap = GAP if reach else 2.0 * HUB
        side = -gap if dot(across, up) < 0 else gap
        place = side * (peers.index(arrow) - (len(peers) - 1) / 2)
        yield place * across + reach * arrow.direction


def _reach(arrow: ForceArrow, scene: Scene) -> float:
    """From the middle of an object to where a force acts: on its outline, or at a pulley's axle."""
    if scene.subject in scene.apparatus.pulleys:
        return 0.0 if arrow.force.interaction in AT_AXLE else PULLEY
    half_width, half_height = SLIDER if scene.surface else WEIGHT
    way = arrow.direction / scene.tilt
    return min(half_width / max(abs(way.real), 1e-9), half_height / max(abs(way.imag), 1e-9))


def _size(scene: Scene, arrow: ForceArrow) -> str:
    """Its value with the unit, where numbers are open and the apparatus determines it."""
    unit = "N" if arrow.force.vector else "N·m"
    return scene.number(arrow.size, unit) if scene.to_scale and arrow.size else ""


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


def _spots(arrow: ForceArrow, start: Point, tip: Point) -> Iterator[Spot]:
    """Beside the tip, above or on the right first; then further back, then beyond it."""
    angle = cmath.phase(arrow.direction)
    ahead = math.degrees(angle)
    sides = sorted((ahead + 90.0, ahead - 90.0), key=_below)
    points = [between(start, tip, part) for part in (0.85, 0.98, 0.65, 0.5)]
    along_it = [*around(*points, angles=sides)]
    shifted = [tip + cmath.rect(away, math.radians(s)) for away in (5.0, 10.0, 15.0) for s in sides]
    beyond = [*around(tip, *shifted, angles=[ahead])]
    beyond += around(tip, angles=[ahead + 40.0, ahead - 40.0])
    yield from (*along_it, *beyond) if arrow.length >= 30.0 else (*beyond, *along_it)
    turns = (46.0, -46.0, 92.0, -92.0, 126.0, -126.0)
    yield from around(tip, angles=[ahead + turn for turn in turns], gaps=(9.0, 17.0, 25.0))


def _below(degrees: float) -> float:
    """Orders the two sides of an arrow: above or on the right first."""
    return -math.cos(math.radians(degrees)) - 1.5 * math.sin(math.radians(degrees))


# What stands beside them.


def _draw_acceleration(drawing: Drawing, scene: Scene) -> None:
    """A dashed arrow with the symbol of the acceleration, and a small one with a plus sign."""
    way, middle = scene.acceleration, 62 + 0j
    if way is not None:
        if scene.surface:
            middle = scene.tilt * complex(math.copysign(66.0, way.real), 36.0)
        tip, angle = middle + LENGTH / 2 * way, math.degrees(cmath.phase(way))
        tail = middle - LENGTH / 2 * way
        drawing.arrow(tail, tip, role="accent-5", width=1.4, open_head=True, dash=DASHED)
        sides = sorted((angle + 90.0, angle - 90.0), key=_below)
        spots = (*around(middle, angles=sides), *around(tip, angles=[angle]))
        letter = scene.label(scene.subject) or say("acceleration")
        drawing.label(letter, at=spots, role="accent-5", of=(tail, tip))
    if scene.subject in scene.phase.accelerations:
        middle, positive = -62 + 22j, scene.positive
        if scene.surface:
            middle = -86 - 42j if abs(scene.slope) < 1e-6 else -104 - 64j
        tail, tip = middle - LENGTH / 3 * positive, middle + LENGTH / 3 * positive
        drawing.arrow(tail, tip, role="quiet", width=1.0, head=6.0)
        spots = (*around(tip, angles=[math.degrees(cmath.phase(positive))]),)
        drawing.label("+", at=spots, role="quiet")


def _draw_scale(drawing: Drawing, scene: Scene, bar: forces.Bar) -> None:
    """A bar as long as a round force would be, below everything else."""
    left = complex(SCALE_LEFT, drawing.extent()[0] - 14.0)
    right = left + bar.length
    ends = [(end - 3j, end + 3j) for end in (left, right)]
    drawing.strokes([*ends, (left, right)], role="quiet", width=1.0)
    words = f"{bar.force:g} N"
    if bar.enlarged:  # one of two scales
        words += " " + say("scale-along", surface=scene.the(scene.surface))
    drawing.label(words, at=[beside(right, 0.0, 7.0)], role="quiet")


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
    shown = [arrow for arrow in found if not arrow.part]
    whole = [f"{forces.force_words(arrow, scene)}, {_told(scene, arrow)}" for arrow in shown]
    yield say("diagram-forces", forces="; ".join(whole), object=scene.the(name))
    if parts := "; ".join(_told(scene, arrow) for arrow in found if arrow.part):
        yield say("diagram-parts", parts=parts)
    if gains := scene.phase.angular_accelerations.get(name):
        yield say("diagram-turning", way=forces.turning_words(scene, gains))
    accelerated, way = name in scene.phase.accelerations, scene.acceleration
    said = forces.direction_words(way, scene) if way else ""
    if not scene.to_scale and not accelerated and forces.turning(scene):
        yield say("diagram-turned")
    if not scene.to_scale and way and forces.outweighing(scene):
        if any(arrow.along(way) < -0.01 for arrow in found):
            yield say("diagram-outweighing", way=said)
        else:
            yield say("diagram-unopposed", way=forces.direction_words(-way, scene))
    if accelerated:
        yield say("diagram-acceleration" if way else "diagram-no-acceleration", way=said)
        yield say("diagram-sense", way=forces.direction_words(scene.positive, scene))


def _told(scene: Scene, arrow: ForceArrow) -> str:
    return ", ".join(filter(None, (_size(scene, arrow), forces.where_words(arrow, scene))))


def _caption(scene: Scene, found: Sequence[ForceArrow], named: str) -> Iterator[str]:
    if not scene.to_scale:
        known = forces.are_compared(scene)
        yield say("diagram-caption" if known else "diagram-caption-directions", object=named)
        return
    yield say("diagram-caption-scale", object=named)
    if any(arrow.enlarged for arrow in found):
        yield say("diagram-own-scale", surface=scene.the(scene.surface))
    stretched = []
    for arrow in found:
        if arrow.stretched:
            size = _size(scene, arrow).replace(" ", NO_BREAK)
            force = forces.force_words(arrow, scene)
            stretched.append(say("diagram-stretched-force", force=force, size=size))
    if stretched:
        key = "diagram-stretched" if len(stretched) == 1 else "diagram-stretched-several"
        yield say(key, forces=listing(stretched))
