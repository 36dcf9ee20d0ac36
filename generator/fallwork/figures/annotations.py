"""What stands beside the forces in a free-body diagram: acceleration, positive sense, scale bar,
and on a slope the components of gravity.

Takes a drawing with the object in the middle; draws into it. The forces are left to ``diagram``.
"""

import math

from fallwork.figures.arrows import ForceArrow
from fallwork.figures.canvas import Point
from fallwork.figures.drawing import Drawing, along, turned
from fallwork.figures.geometry import angle_of, forward, kind_of, minus, slope_of
from fallwork.figures.labels import Spot, Words, beside
from fallwork.figures.lengths import Bar
from fallwork.figures.scene import Scene, formula, say
from fallwork.lesson.expression import Function, Product, as_expression

SCALE_LEFT = -60.0  # pt, where scales begin: their words have room on the right
LENGTH = 40.0  # pt, of the arrow of acceleration


def draw_components(drawing: Drawing, scene: Scene, gravity: ForceArrow, tail: Point) -> None:
    """On a slope: gravity as its part into the surface and its part along it."""
    slope = slope_of(scene.apparatus, scene.slot.subject)
    if kind_of(scene.apparatus, scene.slot.subject) != "slider" or abs(slope) < 1e-6:
        return
    tip = (tail[0], tail[1] - gravity.length)
    corner = along(tail, gravity.length * math.cos(slope), slope - math.pi / 2)
    middle = ((tail[0] + tip[0]) / 2, (tail[1] + tip[1]) / 2)
    for start, end, part in ((tail, corner, "cos"), (corner, tip, "sin")):
        if math.dist(start, end) > 8.0:
            drawing.arrow(start, end, role="accent-2", width=1.1, head=6.0, dash=(3.5, 2.2))
        _write_component(drawing, scene, gravity, part, (start, end), middle)


def _write_component(
    drawing: Drawing,
    scene: Scene,
    gravity: ForceArrow,
    part: str,
    ends: tuple[Point, Point],
    inside: Point,
) -> None:
    """The component's symbol on the side of its arrow that lies away from gravity's."""
    label = scene.tree(gravity.force.name)
    surface = scene.apparatus.bodies[scene.slot.subject].surface or ""
    angle = next((s for s in scene.lesson.symbols if s.id == f"slope.{surface}"), None)
    if label is None or angle is None:
        return
    factors = (label, Function(name=part, argument=as_expression(angle)))
    x, y = ((a + b) / 2 for a, b in zip(*ends, strict=True))
    outward = angle_of((x - inside[0], y - inside[1]))
    spots = [beside(along((x, y), away, outward), outward) for away in (0.0, 6.0, 14.0)]
    drawing.label(Words(lines=((formula(Product(factors=factors)),),)), spots, role="accent-2")


def acceleration_way(scene: Scene) -> Point | None:
    """The direction of the acceleration; None where there is none."""
    value = scene.phase.accelerations.get(scene.slot.subject)
    if not value:
        return None
    ahead = forward(scene.apparatus, scene.slot.subject)
    return ahead if value > 0 else minus(ahead)


def draw_acceleration(drawing: Drawing, scene: Scene) -> None:
    """A dashed arrow with the symbol of the acceleration."""
    way = acceleration_way(scene)
    if way is None:
        return
    angle = angle_of(way)
    slides = kind_of(scene.apparatus, scene.slot.subject) == "slider"
    slope = slope_of(scene.apparatus, scene.slot.subject)
    ahead = math.copysign(1.0, way[0]) if slides else 0.0
    middle = turned((66.0 * ahead, 36.0), slope) if slides else (62.0, 0.0)
    tail, tip = along(middle, -LENGTH / 2, angle), along(middle, LENGTH / 2, angle)
    drawing.arrow(tail, tip, role="accent-5", width=1.4, open_head=True, dash=(5.0, 2.5))
    letter = scene.label(scene.slot.subject)
    words = Words(lines=((letter or say("acceleration"),),))
    spots = [
        beside(middle, angle + math.pi / 2),
        beside(middle, angle - math.pi / 2),
        beside(tip, angle),
    ]
    drawing.label(words, spots, role="accent-5", of=(tail, tip))


def positive_sense(scene: Scene) -> Point:
    """The direction that counts as positive."""
    ahead = forward(scene.apparatus, scene.slot.subject)
    return minus(ahead) if scene.senses[scene.slot.subject] < 0 else ahead


def draw_sense(drawing: Drawing, scene: Scene) -> None:
    """A small arrow with a plus sign."""
    name = scene.slot.subject
    if name not in scene.phase.accelerations:
        return
    sense = positive_sense(scene)
    slides = kind_of(scene.apparatus, name) == "slider"
    level = abs(slope_of(scene.apparatus, name)) < 1e-6
    middle = (-86.0, -42.0) if slides and level else (-104.0, -64.0) if slides else (-62.0, 22.0)
    angle = angle_of(sense)
    tail, tip = along(middle, -LENGTH / 3, angle), along(middle, LENGTH / 3, angle)
    drawing.arrow(tail, tip, role="quiet", width=1.0, head=6.0)
    drawing.label(Words(lines=(("+",),)), (beside(tip, angle),), role="quiet")


def draw_scale(drawing: Drawing, scene: Scene, bar: Bar) -> None:
    """A bar as long as a round force would be, below everything else."""
    left, right = SCALE_LEFT, SCALE_LEFT + bar.length
    y = drawing.extent()[0] - 14.0
    for x in (left, right):
        drawing.line((x, y - 3.0), (x, y + 3.0), role="quiet", width=1.0)
    drawing.line((left, y), (right, y), role="quiet", width=1.0)
    words = Words(lines=((f"{bar.force:g} N", *_of_scale(scene, bar)),))
    drawing.label(words, (Spot(at=(right + 7.0, y), across=0.0, up=0.5),), role="quiet")


def _of_scale(scene: Scene, bar: Bar) -> tuple[str, ...]:
    """Which arrows a scale is for, where there are two."""
    if not bar.enlarged:
        return ()
    surface = scene.apparatus.bodies[scene.slot.subject].surface or ""
    return (say("scale-along", surface=scene.the(surface)),)
