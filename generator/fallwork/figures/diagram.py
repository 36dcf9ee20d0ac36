"""The free-body diagram of one object: takes a scene, draws the object with the forces on it.

Where answers are held back (not ``to_scale``) all arrows are equally long and nothing but signs
of the motion is used; else lengths are proportional, with a bar for the scale.
"""

import math
import textwrap
from collections.abc import Sequence

from fallwork.figures import arrows as forces
from fallwork.figures.arrows import LONGEST, ForceArrow
from fallwork.figures.canvas import WIDTH, Point
from fallwork.figures.drawing import Drawing, along, arc
from fallwork.figures.geometry import NOWHERE, angle_of, forward, kind_of, minus, slope_of
from fallwork.figures.labels import Spot, Words
from fallwork.figures.scene import CannotDrawError, Plate, Scene, formula, say, sentence
from fallwork.lesson.expression import Function, Product, as_expression
from fallwork.lesson.words import listing, the
from fallwork.mechanics.solution import Interaction

GAP = 10.0  # pt between arrows that lie beside each other
SLIDER, WEIGHT, PULLEY = (26.0, 9.0), (14.0, 15.0), 17.0  # pt, half sizes and radius
NEAR = 5.0  # from an arrow to its label
ASIDE = 40.0  # pt, length of the arrows of acceleration and positive sense


def diagram(scene: Scene) -> Plate:
    """The forces on the slot's object."""
    found = forces.arrows_of(scene)
    if not found:
        raise CannotDrawError(f"no force on {scene.slot.subject!r} has a direction")
    drawing = Drawing(shift=(WIDTH / 2, 0.0))
    _draw_object(drawing, scene)
    starts = _starts(found, scene)
    for arrow, start in zip(found, starts, strict=True):
        _draw_arrow(drawing, arrow, start)
    _draw_components(drawing, scene, found)
    _draw_acceleration(drawing, scene)
    _draw_sense(drawing, scene)
    for arrow, start in zip(found, starts, strict=True):
        _write_label(drawing, scene, arrow, start)
    if scene.to_scale:
        _draw_scale(drawing, found)
    return Plate(
        sheet=drawing.sheet(),
        title=say("diagram-title", object=the(scene.slot.subject)),
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
    drawing.area((_turned(corner, slope) for corner in corners), width=1.2)


def _draw_slider(drawing: Drawing, slope: float, on_wheels: bool) -> None:
    _draw_block(drawing, *SLIDER, slope)
    if on_wheels:
        for x in (-18.0, 18.0):
            drawing.disc(_turned((x, -SLIDER[1] - 3.0), slope), 5.0, fill="paper")


def _turned(point: Point, angle: float) -> Point:
    x, y = point
    return (
        x * math.cos(angle) - y * math.sin(angle),
        x * math.sin(angle) + y * math.cos(angle),
    )


# Forces.


def _starts(found: Sequence[ForceArrow], scene: Scene) -> tuple[Point, ...]:
    """Where the arrows start: on the outline, each in the direction in which it points."""
    beside = forces.side_by_side(found, GAP)
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
    x, y = _turned(way, -slope_of(scene.apparatus, name))
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
    )


def _draw_couple(drawing: Drawing, arrow: ForceArrow) -> None:
    """A bent arrow round the axle; positive turning is drawn clockwise, as a string runs over."""
    sense = -1.0 if (arrow.force.torque or 0.0) > 0 else 1.0
    line = arc((0.0, 0.0), 27.0, math.radians(90 - 50 * sense), math.radians(90 + 40 * sense))
    drawing.line(*line, role=arrow.role, width=1.8)
    tip = along(line[-1], 7.0, math.radians(90 + 40 * sense + 90 * sense))
    drawing.arrow(line[-1], tip, role=arrow.role)


def _write_label(drawing: Drawing, scene: Scene, arrow: ForceArrow, start: Point) -> None:
    words = _label(scene, arrow)
    if arrow.direction == NOWHERE:
        spots = [
            Spot(at=(x, 30.0), across=across, up=0.0)
            for x, across in ((0.0, 0.5), (14.0, 0.0), (-14.0, 1.0))
        ]
        spots += [
            Spot(at=(x, 18.0), across=across, up=0.5) for x, across in ((31.0, 0.0), (-31.0, 1.0))
        ]
        drawing.label(words, spots, role=arrow.role)
        return
    drawing.label(words, _spots(arrow, start), role=arrow.role)


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
    angle = angle_of(arrow.direction)
    sides = [angle + math.pi / 2, angle - math.pi / 2]
    sides.sort(key=lambda side: -math.cos(side) - 0.5 * math.sin(side))
    tip = along(start, arrow.length, angle)
    parts = (0.85, 0.98, 0.65, 0.5)
    beside = [
        _beside(along(start, part * arrow.length, angle), side) for part in parts for side in sides
    ]
    beyond = [_beside(tip, angle)]
    beyond += [_beside(along(tip, away, side), angle) for away in (5.0, 10.0) for side in sides]
    beyond += [_beside(tip, angle + turn) for turn in (0.7, -0.7)]
    return [*beyond, *beside] if arrow.length < 30.0 else [*beside, *beyond]


def _beside(at: Point, angle: float) -> Spot:
    """A label whose nearest edge or corner is a little away from a point."""
    x, y = math.cos(angle), math.sin(angle)
    return Spot(at=along(at, NEAR, angle), across=0.5 - 0.5 * x, up=0.5 - 0.5 * y)


def _draw_components(drawing: Drawing, scene: Scene, found: Sequence[ForceArrow]) -> None:
    """On a slope: gravity as its part into the surface and its part along it."""
    slope = slope_of(scene.apparatus, scene.slot.subject)
    gravity = next((a for a in found if a.force.interaction is Interaction.GRAVITY), None)
    if kind_of(scene.apparatus, scene.slot.subject) != "slider" or abs(slope) < 1e-6 or not gravity:
        return
    tail = (0.0, -_reach(gravity.direction, scene))
    tip = (0.0, tail[1] - gravity.length)
    corner = along(tail, gravity.length * math.cos(slope), slope - math.pi / 2)
    for start, end in ((tail, corner), (corner, tip)):
        if math.dist(start, end) > 8.0:
            drawing.arrow(start, end, role="accent-2", width=1.1, head=6.0, dash=(3.5, 2.2))
    _write_component(drawing, scene, gravity, "cos", tail, corner)
    _write_component(drawing, scene, gravity, "sin", corner, tip)


def _write_component(
    drawing: Drawing, scene: Scene, gravity: ForceArrow, part: str, tail: Point, head: Point
) -> None:
    label = scene.lesson.labels.get(gravity.force.name)
    surface = scene.apparatus.bodies[scene.slot.subject].surface or ""
    angle = next((s for s in scene.lesson.symbols if s.id == f"slope.{surface}"), None)
    if label is None or angle is None:
        return
    factors = (label, Function(name=part, argument=as_expression(angle)))
    middle = ((tail[0] + head[0]) / 2, (tail[1] + head[1]) / 2)
    outward = angle_of((middle[0], middle[1] - _gravity_middle(scene, gravity)))
    spots = [_beside(along(middle, away, outward), outward) for away in (0.0, 6.0, 14.0)]
    drawing.label(Words(lines=((formula(Product(factors=factors)),),)), spots, role="accent-2")


def _gravity_middle(scene: Scene, gravity: ForceArrow) -> float:
    return -_reach(gravity.direction, scene) - gravity.length / 2


# Acceleration, positive sense, scale.


def _way(scene: Scene) -> Point | None:
    """The direction of the acceleration; None where there is none."""
    value = scene.phase.accelerations.get(scene.slot.subject)
    if not value:
        return None
    ahead = forward(scene.apparatus, scene.slot.subject)
    return ahead if value > 0 else minus(ahead)


def _draw_acceleration(drawing: Drawing, scene: Scene) -> None:
    way = _way(scene)
    if way is None:
        return
    angle = angle_of(way)
    slides = kind_of(scene.apparatus, scene.slot.subject) == "slider"
    slope = slope_of(scene.apparatus, scene.slot.subject)
    ahead = math.copysign(1.0, way[0]) if slides else 0.0
    middle = _turned((66.0 * ahead, 36.0), slope) if slides else (62.0, 0.0)
    tail, tip = along(middle, -ASIDE / 2, angle), along(middle, ASIDE / 2, angle)
    drawing.arrow(tail, tip, role="accent-5", width=1.4, open_head=True, dash=(5.0, 2.5))
    letter = scene.first_symbol(f"acceleration.{scene.slot.subject}", "acceleration")
    words = Words(lines=((letter or say("acceleration"),),))
    spots = [
        _beside(middle, angle + math.pi / 2),
        _beside(middle, angle - math.pi / 2),
        _beside(tip, angle),
    ]
    drawing.label(words, spots, role="accent-5")


def _sense(scene: Scene) -> Point:
    """The direction that counts as positive: the way the object goes, else its fixed one."""
    ahead = forward(scene.apparatus, scene.slot.subject)
    return minus(ahead) if (scene.phase.displacements.get(scene.slot.subject) or 0.0) < 0 else ahead


def _draw_sense(drawing: Drawing, scene: Scene) -> None:
    name = scene.slot.subject
    if name not in scene.phase.accelerations:
        return
    sense = _sense(scene)
    slides = kind_of(scene.apparatus, name) == "slider"
    slope = slope_of(scene.apparatus, name)
    middle = _turned((-86.0, -42.0), slope) if slides else (-62.0, 22.0)
    angle = angle_of(sense)
    tail, tip = along(middle, -ASIDE / 3, angle), along(middle, ASIDE / 3, angle)
    drawing.arrow(tail, tip, role="quiet", width=1.0, head=6.0)
    drawing.label(Words(lines=(("+",),)), (_beside(tip, angle),), role="quiet")


def _draw_scale(drawing: Drawing, found: Sequence[ForceArrow]) -> None:
    sizes = [arrow.force.size for arrow in found if arrow.force.vector and arrow.force.size]
    longest = max(sizes)
    force = forces.nice_length(longest)
    half = LONGEST * force / longest / 2
    y = drawing.extent()[0] - 14.0
    for x in (-half, half):
        drawing.line((x, y - 3.0), (x, y + 3.0), role="quiet", width=1.0)
    drawing.line((-half, y), (half, y), role="quiet", width=1.0)
    words = Words(lines=((f"{force:g} N",),))
    drawing.label(words, (Spot(at=(half + NEAR + 2.0, y), across=0.0, up=0.5),), role="quiet")


# Words.


def _description(scene: Scene, found: Sequence[ForceArrow]) -> str:
    name = scene.slot.subject
    parts = [
        say(
            "diagram-forces", forces="; ".join(_in_words(scene, a) for a in found), object=the(name)
        )
    ]
    if name in scene.phase.accelerations:
        way = _way(scene)
        key = "diagram-acceleration" if way else "diagram-no-acceleration"
        parts.append(say(key, way=forces.direction_words(way, scene) if way else ""))
        parts.append(say("diagram-sense", way=forces.direction_words(_sense(scene), scene)))
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
            size=scene.number(arrow.force.size or 0.0, "N"),
        )
        for arrow in found
        if arrow.stretched
    ]
    if stretched:
        parts.append(say("diagram-stretched", forces=listing(stretched)))
    return " ".join(sentence(part) for part in parts)
