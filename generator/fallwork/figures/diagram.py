"""The free-body diagram of one object: takes a scene, draws the object with the forces on it.

Where answers are held back (not ``to_scale``) nothing but signs of the motion is used; else lengths
are proportional, with a bar for each scale.
"""

import math
from collections.abc import Iterator, Sequence

from fallwork.figures import arrows as forces
from fallwork.figures import lengths
from fallwork.figures.annotations import (
    PULLEY,
    acceleration_way,
    draw_acceleration,
    draw_bend,
    draw_components,
    draw_scale,
    draw_sense,
    draw_spin,
    positive_sense,
    turns_left,
)
from fallwork.figures.arrows import ForceArrow
from fallwork.figures.drawing import WIDTH, Drawing, along, turned
from fallwork.figures.geometry import NOWHERE, angle_of, kind_of, slope_of
from fallwork.figures.lettering import Line, set_out, wrapped
from fallwork.figures.placing import Point, Spot, Wish, around
from fallwork.figures.scene import CannotDrawError, Plate, Scene, plate, say
from fallwork.lesson.words import listing
from fallwork.mechanics.solution import Interaction

NO_BREAK = "\u00a0"
GAP = 10.0  # pt between arrows that lie beside each other
SLIDER, WEIGHT = (26.0, 9.0), (14.0, 15.0)  # pt, half sizes


def diagram(scene: Scene) -> Plate:
    """The forces on the slot's object."""
    name = scene.slot.subject
    if name not in scene.apparatus.bodies and name not in scene.apparatus.pulleys:
        raise CannotDrawError(f"a diagram shows a body or a pulley, not {name!r}")
    found = lengths.with_lengths(scene, forces.arrows_of(scene))
    if not found:
        raise CannotDrawError(f"no force acts on {name!r}")
    drawing = Drawing(shift=(WIDTH / 2, 0.0))
    _draw_object(drawing, scene)
    _draw_forces(drawing, scene, found)
    if scene.to_scale:
        for bar in lengths.bars(found):
            draw_scale(drawing, scene, bar)
    said = _description(scene, found)
    return plate(drawing, "diagram", said, _caption(scene, found), object=_named(scene))


# The object.


def _draw_object(drawing: Drawing, scene: Scene) -> None:
    name = scene.slot.subject
    kind, slope = kind_of(scene.apparatus, name), slope_of(scene.apparatus, name)
    if kind in ("fixed", "moving"):
        drawing.disc((0.0, 0.0), PULLEY)
        drawing.disc((0.0, 0.0), 2.2, fill="ink")
        return
    x, y = SLIDER if kind == "slider" else WEIGHT
    corners = ((-x, -y), (x, -y), (x, y), (-x, y))
    drawing.area((turned(corner, slope) for corner in corners), width=1.2)
    if kind == "slider" and scene.apparatus.bodies[name].kind == "cart":
        for x in (-18.0, 18.0):
            drawing.disc(turned((x, -SLIDER[1] - 3.0), slope), 5.0, fill="paper")


# Forces.


def _draw_forces(drawing: Drawing, scene: Scene, found: Sequence[ForceArrow]) -> None:
    """Straight arrows first: bent ones and what else there is stand where these leave room."""
    starts = _starts(found, scene)
    for arrow, start in zip(found, starts, strict=True):
        if arrow.direction != NOWHERE:
            drawing.arrow(
                start,
                along(start, arrow.length, angle_of(arrow.direction)),
                role=arrow.role,
                open_head=arrow.stretched,
                width=1.2 if arrow.stretched else 1.8,
            )
        if arrow.force.interaction is Interaction.GRAVITY:
            draw_components(drawing, scene, arrow, start)
    bends = {
        arrow.name: draw_bend(
            drawing, turns_left(scene, arrow.force.torque or 0.0), role=arrow.role
        )
        for arrow in found
        if arrow.direction == NOWHERE
    }
    draw_spin(drawing, scene)
    draw_acceleration(drawing, scene)
    draw_sense(drawing, scene)
    wishes = []
    for arrow, start in zip(found, starts, strict=True):
        label = set_out(*_label(scene, arrow))
        line, spots = bends.get(arrow.name) or _of_straight(arrow, start)
        wishes.append(Wish(label=label, spots=spots, of=line, role=arrow.role))
    drawing.labels(wishes)


def _starts(found: Sequence[ForceArrow], scene: Scene) -> tuple[Point, ...]:
    """Where the arrows start: on the outline, each in the direction in which it points.

    A string's pull on a pulley starts where the string leaves the rim.
    """
    slope = slope_of(scene.apparatus, scene.slot.subject)
    beside = forces.side_by_side(found, GAP, turned((0.0, 1.0), slope))
    return tuple(
        along(start, _reach(arrow.direction, scene), angle_of(arrow.direction))
        if arrow.rim == NOWHERE
        else (PULLEY * arrow.rim[0], PULLEY * arrow.rim[1])
        for arrow, start in zip(found, beside, strict=True)
    )


def _reach(way: Point, scene: Scene) -> float:
    """From the middle of an object to its outline."""
    name = scene.slot.subject
    if name in scene.apparatus.pulleys:
        return PULLEY
    half_width, half_height = SLIDER if kind_of(scene.apparatus, name) == "slider" else WEIGHT
    x, y = turned(way, -slope_of(scene.apparatus, name))
    return min(half_width / max(abs(x), 1e-9), half_height / max(abs(y), 1e-9))


def _label(scene: Scene, arrow: ForceArrow) -> tuple[Line, ...]:
    """The symbol, or the force in words; its value too where numbers are open."""
    symbol = scene.label(arrow.name)
    unit = "N" if arrow.force.vector else "N·m"
    shown = scene.to_scale and arrow.size
    value = (f"= {scene.number(arrow.size or 0.0, unit)}",) if shown else ()
    if symbol is None:
        return (*wrapped(forces.force_words(arrow.force, scene), 16), *value)
    return (symbol, *value) if arrow.direction == NOWHERE else ((symbol, *value),)


def _of_straight(arrow: ForceArrow, start: Point) -> tuple[tuple[Point, ...], tuple[Spot, ...]]:
    """The line of an arrow, and spots beside the tip, above or on the right first; then further
    back, then beyond it."""
    angle = angle_of(arrow.direction)
    sides = [angle + math.pi / 2, angle - math.pi / 2]
    sides.sort(key=lambda side: -math.cos(side) - 0.5 * math.sin(side))
    tip, ahead = along(start, arrow.length, angle), math.degrees(angle)
    points = [along(start, part * arrow.length, angle) for part in (0.85, 0.98, 0.65, 0.5)]
    along_it = [*around(*points, angles=[math.degrees(side) for side in sides])]
    shifted = [along(tip, away, side) for away in (5.0, 10.0, 15.0) for side in sides]
    beyond = [*around(tip, *shifted, angles=[ahead])]
    beyond += around(tip, angles=[ahead + 40.0, ahead - 40.0])
    turns = (46.0, -46.0, 92.0, -92.0, 126.0, -126.0)
    far = around(tip, angles=[ahead + turn for turn in turns], gaps=(9.0, 17.0, 25.0))
    near = (along_it, beyond) if arrow.length >= 30.0 else (beyond, along_it)
    return (start, tip), (*near[0], *near[1], *far)


# Words.


def _description(scene: Scene, found: Sequence[ForceArrow]) -> Iterator[str]:
    name = scene.slot.subject
    said = "; ".join(_in_words(scene, arrow) for arrow in found)
    yield say("diagram-forces", forces=said, object=scene.the(name))
    gains = scene.phase.angular_accelerations.get(name)
    if gains:
        yield say("diagram-turning", way=forces.turning_words(scene, gains))
    way = acceleration_way(scene)
    if not scene.to_scale and name not in scene.phase.accelerations:
        if lengths.turning(scene):
            yield say("diagram-turned")
    elif not scene.to_scale and lengths.outweighing(scene) and way is not None:
        yield say("diagram-outweighing", way=forces.direction_words(way, scene))
    if name in scene.phase.accelerations:
        key = "diagram-acceleration" if way else "diagram-no-acceleration"
        yield say(key, way=forces.direction_words(way, scene) if way else "")
        yield say("diagram-sense", way=forces.direction_words(positive_sense(scene), scene))


def _in_words(scene: Scene, arrow: ForceArrow) -> str:
    words = forces.force_words(arrow.force, scene)
    unit = "N" if arrow.force.vector else "N·m"
    size = scene.number(arrow.size, unit) if scene.to_scale and arrow.size else ""
    way = forces.where_words(arrow, scene)
    return say("diagram-force-size" if size else "diagram-force", force=words, size=size, way=way)


def _named(scene: Scene) -> str:
    """The object, and which later stretch of the run it is."""
    name = scene.the(scene.slot.subject)
    if not scene.slot.phase:
        return name
    turned = scene.phase.role is scene.solution.phases[0].role
    return say("diagram-later" if turned else "diagram-after", object=name)


def _caption(scene: Scene, found: Sequence[ForceArrow]) -> Iterator[str]:
    name = _named(scene)
    if not scene.to_scale:
        known = lengths.are_compared(scene)
        yield say("diagram-caption" if known else "diagram-caption-directions", object=name)
        return
    yield say("diagram-caption-scale", object=name)
    if any(arrow.enlarged for arrow in found):
        yield say("diagram-own-scale", surface=scene.the(scene.surface))
    stretched = []
    for arrow in found:
        if arrow.stretched:
            size = scene.number(arrow.size or 0.0, "N").replace(" ", NO_BREAK)
            force = forces.force_words(arrow.force, scene)
            stretched.append(say("diagram-stretched-force", force=force, size=size))
    if stretched:
        key = "diagram-stretched" if len(stretched) == 1 else "diagram-stretched-several"
        yield say(key, forces=listing(stretched))
