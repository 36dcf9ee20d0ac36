"""The free-body diagram of one object: takes a scene, draws the object with the forces on it.

Where answers are held back (not ``to_scale``) nothing but signs of the motion is used; else lengths
are proportional, with a bar for each scale.
"""

import math
from collections.abc import Iterator, Mapping, Sequence

from fallwork.figures import arrows as forces
from fallwork.figures import lengths, turns
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
from fallwork.figures.drawing import Drawing, along, turned
from fallwork.figures.geometry import NOWHERE, angle_of, kind_of, slope_of
from fallwork.figures.labels import Spot, Wish, Words, beside, wrapped
from fallwork.figures.scene import CannotDrawError, Plate, Scene, say, sentence
from fallwork.figures.turns import PULLEY, Bend
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
    starts = _starts(found, scene)
    for arrow, start in zip(found, starts, strict=True):
        if arrow.direction != NOWHERE:
            _draw_arrow(drawing, arrow, start)
        if arrow.force.interaction is Interaction.GRAVITY:
            draw_components(drawing, scene, arrow, start)
    couples = [arrow for arrow in found if arrow.direction == NOWHERE]
    bends = turns.draw_turns(drawing, scene, couples)
    draw_acceleration(drawing, scene)
    draw_sense(drawing, scene)
    drawing.labels(
        [
            (_wish(scene, arrow, start, bends), arrow.role)
            for arrow, start in zip(found, starts, strict=True)
        ]
    )
    if scene.to_scale:
        for bar in lengths.bars(found):
            draw_scale(drawing, scene, bar)
    return Plate(
        sheet=drawing.sheet(),
        title=say("diagram-title", object=_named(scene)),
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


def _draw_arrow(drawing: Drawing, arrow: ForceArrow, start: Point) -> None:
    drawing.arrow(
        start,
        along(start, arrow.length, angle_of(arrow.direction)),
        role=arrow.role,
        open_head=arrow.stretched,
        width=1.2 if arrow.stretched else 1.8,
    )


def _wish(scene: Scene, arrow: ForceArrow, start: Point, bends: Mapping[str, Bend]) -> Wish:
    """The label of an arrow, with the places where it may stand and what it belongs to."""
    words = _label(scene, arrow)
    if arrow.direction == NOWHERE:
        bend = bends[arrow.name]
        return Wish(words=words, spots=bend.spots, of=bend.line)
    tip = along(start, arrow.length, angle_of(arrow.direction))
    return Wish(words=words, spots=tuple(_spots(arrow, start)), of=(start, tip))


def _label(scene: Scene, arrow: ForceArrow) -> Words:
    """The symbol, or the force in words; its value too where numbers are open."""
    symbol = scene.label(arrow.name)
    unit = "N" if arrow.force.vector else "N·m"
    value = f"= {scene.number(arrow.size, unit)}" if arrow.size else ""
    shown = (value,) if scene.to_scale and value else ()
    if symbol and arrow.direction == NOWHERE:
        return Words(lines=((symbol,), *((line,) for line in shown)))
    if symbol:
        return Words(lines=((symbol, *shown),))
    lines = (*wrapped(forces.force_words(arrow.force, scene), 16), *shown)
    return Words(lines=tuple((line,) for line in lines))


def _spots(arrow: ForceArrow, start: Point) -> Iterator[Spot]:
    """Beside the tip, above or on the right first; then further back, then beyond it."""
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
    around = [
        beside(along(tip, away, angle + turn), angle + turn)
        for away in (4.0, 12.0, 20.0)
        for turn in (0.8, -0.8, 1.6, -1.6, 2.2, -2.2)
    ]
    yield from (*along_it, *beyond) if arrow.length >= 30.0 else (*beyond, *along_it)
    yield from around


def _description(scene: Scene, found: Sequence[ForceArrow]) -> str:
    name = scene.slot.subject
    parts = [
        say(
            "diagram-forces",
            forces="; ".join(_in_words(scene, a) for a in found),
            object=scene.the(name),
        )
    ]
    parts += _turning(scene)
    parts += [] if scene.to_scale else list(_outweighing(scene))
    if name in scene.phase.accelerations:
        way = acceleration_way(scene)
        key = "diagram-acceleration" if way else "diagram-no-acceleration"
        parts.append(say(key, way=forces.direction_words(way, scene) if way else ""))
        parts.append(say("diagram-sense", way=forces.direction_words(positive_sense(scene), scene)))
    return " ".join(sentence(part) for part in parts)


def _outweighing(scene: Scene) -> Iterator[str]:
    """Which side is drawn longer in all, where no size is told."""
    if scene.slot.subject not in scene.phase.accelerations:
        if lengths.turning(scene):
            yield say("diagram-turned")
    elif lengths.outweighing(scene):
        way = acceleration_way(scene)
        if way is not None:
            yield say("diagram-outweighing", way=forces.direction_words(way, scene))


def _turning(scene: Scene) -> Iterator[str]:
    gains = scene.phase.angular_accelerations.get(scene.slot.subject)
    if gains:
        yield say("diagram-turning", way=forces.turning_words(scene, gains))


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


def _caption(scene: Scene, found: Sequence[ForceArrow]) -> str:
    name = _named(scene)
    if not scene.to_scale:
        known = lengths.are_compared(scene)
        return say("diagram-caption" if known else "diagram-caption-directions", object=name)
    parts = [say("diagram-caption-scale", object=name)]
    if any(arrow.enlarged for arrow in found):
        surface = scene.apparatus.bodies[scene.slot.subject].surface or ""
        parts.append(say("diagram-own-scale", surface=scene.the(surface)))
    stretched = [
        say(
            "diagram-stretched-force",
            force=forces.force_words(arrow.force, scene),
            size=scene.number(arrow.size or 0.0, "N").replace(" ", NO_BREAK),
        )
        for arrow in found
        if arrow.stretched
    ]
    if stretched:
        key = "diagram-stretched" if len(stretched) == 1 else "diagram-stretched-several"
        parts.append(say(key, forces=listing(stretched)))
    return " ".join(sentence(part) for part in parts)
