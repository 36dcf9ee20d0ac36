"""The free-body diagram of one object: takes a scene, draws the object with the forces on it.

Where answers are held back (not ``to_scale``) all arrows are equally long and nothing but signs
of the motion is used; else lengths are proportional, with a bar for the scale.
"""

import math
import textwrap
from collections.abc import Sequence

from fallwork.figures import arrows as forces
from fallwork.figures.annotations import (
    acceleration_way,
    draw_acceleration,
    draw_components,
    draw_scale,
    draw_sense,
    positive_sense,
)
from fallwork.figures.arrows import ForceArrow
from fallwork.figures.canvas import WIDTH, Point
from fallwork.figures.drawing import Drawing, along, arc, turned
from fallwork.figures.geometry import NOWHERE, angle_of, kind_of, slope_of
from fallwork.figures.labels import Spot, Wish, Words, beside
from fallwork.figures.scene import CannotDrawError, Plate, Scene, say, sentence
from fallwork.lesson.words import listing, the
from fallwork.mechanics.solution import Interaction

NO_BREAK = "\u00a0"
GAP = 10.0  # pt between arrows that lie beside each other
SLIDER, WEIGHT, PULLEY = (26.0, 9.0), (14.0, 15.0), 17.0  # pt, half sizes and radius


def diagram(scene: Scene) -> Plate:
    """The forces on the slot's object."""
    name = scene.slot.subject
    if name not in scene.apparatus.bodies and name not in scene.apparatus.pulleys:
        raise CannotDrawError(f"a diagram shows a body or a pulley, not {name!r}")
    found = forces.arrows_of(scene)
    if not found:
        raise CannotDrawError(f"no force acts on {name!r}")
    drawing = Drawing(shift=(WIDTH / 2, 0.0))
    _draw_object(drawing, scene)
    starts = _starts(found, scene)
    for arrow, start in zip(found, starts, strict=True):
        _draw_arrow(drawing, arrow, start)
        if arrow.force.interaction is Interaction.GRAVITY:
            draw_components(drawing, scene, arrow, start)
    draw_acceleration(drawing, scene)
    draw_sense(drawing, scene)
    drawing.labels(
        [
            (Wish(words=_label(scene, arrow), spots=tuple(_spots(arrow, start))), arrow.role)
            for arrow, start in zip(found, starts, strict=True)
        ]
    )
    if scene.to_scale:
        draw_scale(drawing, found)
    return Plate(
        sheet=drawing.sheet(),
        title=say("diagram-title", object=the(name)),
        description=_description(scene, found),
        caption=_caption(scene, found),
    )


# The object.


def _draw_object(drawing: Drawing, scene: Scene) -> None:
    name = scene.slot.subject
    kind = kind_of(scene.apparatus, name)
    if kind in ("fixed", "moving"):
        drawing.disc((0.0, 0.0), PULLEY)
        drawing.disc((0.0, 0.0), 2.2, fill="ink")
    elif kind == "slider":
        on_wheels = scene.apparatus.bodies[name].kind == "cart"
        _draw_slider(drawing, slope_of(scene.apparatus, name), on_wheels)
    elif kind == "hanging":
        _draw_block(drawing, *WEIGHT, 0.0)


def _draw_block(drawing: Drawing, half_width: float, half_height: float, slope: float) -> None:
    corners = [
        (sx * half_width, sy * half_height) for sx, sy in ((-1, -1), (1, -1), (1, 1), (-1, 1))
    ]
    drawing.area((turned(corner, slope) for corner in corners), width=1.2)


def _draw_slider(drawing: Drawing, slope: float, on_wheels: bool) -> None:
    _draw_block(drawing, *SLIDER, slope)
    if on_wheels:
        for x in (-18.0, 18.0):
            drawing.disc(turned((x, -SLIDER[1] - 3.0), slope), 5.0, fill="paper")


# Forces.


def _starts(found: Sequence[ForceArrow], scene: Scene) -> tuple[Point, ...]:
    """Where the arrows start: on the outline, each in the direction in which it points."""
    slope = slope_of(scene.apparatus, scene.slot.subject)
    beside = forces.side_by_side(found, GAP, turned((0.0, 1.0), slope))
    return tuple(
        along(start, _reach(arrow.direction, scene), angle_of(arrow.direction))
        for arrow, start in zip(found, beside, strict=True)
    )


def _reach(way: Point, scene: Scene) -> float:
    """From the middle of the object to its outline."""
    name = scene.slot.subject
    kind = kind_of(scene.apparatus, name)
    if kind in ("fixed", "moving"):
        return PULLEY
    half_width, half_height = SLIDER if kind == "slider" else WEIGHT
    x, y = turned(way, -slope_of(scene.apparatus, name))
    return min(half_width / max(abs(x), 1e-9), half_height / max(abs(y), 1e-9))


def _draw_arrow(drawing: Drawing, arrow: ForceArrow, start: Point) -> None:
    if arrow.direction == NOWHERE:
        _draw_couple(drawing, arrow)
        return
    drawing.arrow(
        start,
        along(start, arrow.length, angle_of(arrow.direction)),
        role=arrow.role,
        open_head=arrow.stretched,
        width=1.2 if arrow.stretched else 1.8,
    )


def _draw_couple(drawing: Drawing, arrow: ForceArrow) -> None:
    """A bent arrow round the axle; positive turning is drawn clockwise, as a string runs over."""
    sense = -1.0 if (arrow.force.torque or 0.0) > 0 else 1.0
    line = arc((0.0, 0.0), 27.0, math.radians(90 - 50 * sense), math.radians(90 + 40 * sense))
    drawing.line(*line, role=arrow.role, width=1.8)
    tip = along(line[-1], 7.0, math.radians(90 + 40 * sense + 90 * sense))
    drawing.arrow(line[-1], tip, role=arrow.role)


def _label(scene: Scene, arrow: ForceArrow) -> Words:
    """The symbol, or the force in words; its value too where numbers are open."""
    symbol = scene.force_symbol(arrow.force.name)
    unit = "N" if arrow.force.vector else "N m"
    value = f"= {scene.number(arrow.force.size, unit)}" if arrow.force.size else ""
    shown = (value,) if scene.to_scale and value else ()
    if symbol:
        return Words(lines=((symbol, *shown),))
    lines = (*textwrap.wrap(forces.force_words(arrow.force), 16), *shown)
    return Words(lines=tuple((line,) for line in lines))


def _spots(arrow: ForceArrow, start: Point) -> Sequence[Spot]:
    """Beside the tip, above or on the right first; then further back, then beyond it."""
    if arrow.direction == NOWHERE:
        return [beside((0.0, 25.0), math.pi / 2)] + [
            Spot(at=(x, y), across=float(x < 0), up=up)
            for y, up, reach in ((30.0, 0.0, 14.0), (18.0, 0.5, 31.0))
            for x in (reach, -reach)
        ]
    angle = angle_of(arrow.direction)
    sides = [angle + math.pi / 2, angle - math.pi / 2]
    sides.sort(key=lambda side: -math.cos(side) - 0.5 * math.sin(side))
    tip = along(start, arrow.length, angle)
    along_it = [
        beside(along(start, part * arrow.length, angle), side)
        for part in (0.85, 0.98, 0.65, 0.5)
        for side in sides
    ]
    beyond = [beside(tip, angle)]
    beyond += [
        beside(along(tip, away, side), angle) for away in (5.0, 10.0, 15.0) for side in sides
    ]
    beyond += [beside(tip, angle + turn) for turn in (0.7, -0.7)]
    if arrow.length >= 30.0:
        return [*along_it, *beyond]
    around = [
        beside(along(tip, away, angle + turn), angle + turn)
        for away in (4.0, 12.0)
        for turn in (0.8, -0.8, 1.6, -1.6, 2.2, -2.2)
    ]
    return [*beyond, *along_it, *around]


def _description(scene: Scene, found: Sequence[ForceArrow]) -> str:
    name = scene.slot.subject
    parts = [
        say(
            "diagram-forces", forces="; ".join(_in_words(scene, a) for a in found), object=the(name)
        )
    ]
    if name in scene.phase.accelerations:
        way = acceleration_way(scene)
        key = "diagram-acceleration" if way else "diagram-no-acceleration"
        parts.append(say(key, way=forces.direction_words(way, scene) if way else ""))
        parts.append(say("diagram-sense", way=forces.direction_words(positive_sense(scene), scene)))
    return " ".join(sentence(part) for part in parts)


def _in_words(scene: Scene, arrow: ForceArrow) -> str:
    words = forces.force_words(arrow.force)
    unit = "N" if arrow.force.vector else "N m"
    size = scene.number(arrow.force.size, unit) if scene.to_scale and arrow.force.size else ""
    if arrow.direction == NOWHERE:
        return say("diagram-couple-size" if size else "diagram-couple", force=words, size=size)
    way = forces.direction_words(arrow.direction, scene)
    return say("diagram-force-size" if size else "diagram-force", force=words, size=size, way=way)


def _caption(scene: Scene, found: Sequence[ForceArrow]) -> str:
    name = the(scene.slot.subject)
    if not scene.to_scale:
        return say("diagram-caption", object=name)
    parts = [say("diagram-caption-scale", object=name)]
    stretched = [
        say(
            "diagram-stretched-force",
            force=forces.force_words(arrow.force),
            size=scene.number(arrow.force.size or 0.0, "N").replace(" ", NO_BREAK),
        )
        for arrow in found
        if arrow.stretched
    ]
    if stretched:
        parts.append(say("diagram-stretched", forces=listing(stretched)))
    return " ".join(sentence(part) for part in parts)
