"""What stands beside the forces in a free-body diagram: acceleration, positive sense, scale bar,
bent arrows round a pulley, and on a slope the components of gravity.

Takes a drawing with the object in the middle; draws into it. The forces are left to ``diagram``.
"""

import cmath
import math

import numpy as np

from fallwork.figures.arrows import Bar, ForceArrow
from fallwork.figures.drawing import Dash, Drawing
from fallwork.figures.geometry import Point, along, arc, between, scaled, turn_of, turned
from fallwork.figures.placing import Spot, around, beside, nearest, plane
from fallwork.figures.scene import Scene, say
from fallwork.lesson.expression import Function, Product

SCALE_LEFT = -60.0  # pt, where scales begin: their words have room on the right
LENGTH = 40.0  # pt, of the arrow of acceleration
PULLEY = 22.0  # pt, radius
BEND = 36.0  # pt, radius of bent arrows
HALF = 0.6  # rad, half of what they span
TIP = 7.0  # pt, of their straight end
PLACES = 16  # round the pulley where one may stand

Bend = tuple[tuple[Point, ...], tuple[Spot, ...]]  # its line, and the spots for its label


def draw_components(drawing: Drawing, scene: Scene, gravity: ForceArrow, tail: Point) -> None:
    """On a slope: gravity as its part into the surface and its part along it."""
    slope = scene.slope
    if abs(slope) < 1e-6:
        return
    tip = tail - 1j * gravity.length
    corner = along(tail, gravity.length * math.cos(slope), slope - math.pi / 2)
    weight, angle = scene.label(gravity.force.name), scene.symbol(f"slope.{scene.surface}")
    for start, end, part in ((tail, corner, "cos"), (corner, tip, "sin")):
        if abs(end - start) > 8.0:
            drawing.arrow(start, end, role="accent-2", width=1.1, head=6.0, dash=(3.5, 2.2))
        if weight is None or angle is None:
            continue
        label = Product(factors=(weight, Function(name=part, argument=angle)))
        middle = between(start, end, 0.5)
        outward = cmath.phase(middle - between(tail, tip, 0.5))  # away from gravity
        spots = around(middle, angles=[math.degrees(outward)], gaps=(5.0, 11.0, 19.0))
        drawing.label(label, at=spots, role="accent-2")


def acceleration_way(scene: Scene) -> Point | None:
    """The direction of the acceleration; None where there is none."""
    value = scene.phase.accelerations.get(scene.subject)
    return scaled(scene.ahead, math.copysign(1.0, value)) if value else None


def positive_sense(scene: Scene) -> Point:
    """The direction that counts as positive."""
    return scaled(scene.ahead, scene.senses[scene.subject])


def draw_acceleration(drawing: Drawing, scene: Scene) -> None:
    """A dashed arrow with the symbol of the acceleration, and a small one with a plus sign."""
    way, middle = acceleration_way(scene), 62 + 0j
    if way is not None:
        if scene.surface:
            middle = turned(complex(math.copysign(66.0, way.real), 36.0), scene.slope)
        tail, tip, angle = _arrow_at(middle, way, LENGTH / 2)
        drawing.arrow(tail, tip, role="accent-5", width=1.4, open_head=True, dash=(5.0, 2.5))
        spots = (*around(middle, angles=(angle + 90.0, angle - 90.0)), *around(tip, angles=[angle]))
        letter = scene.label(scene.subject) or say("acceleration")
        drawing.label(letter, at=spots, role="accent-5", of=(tail, tip))
    if scene.subject in scene.phase.accelerations:
        middle = -62 + 22j
        if scene.surface:
            middle = -86 - 42j if abs(scene.slope) < 1e-6 else -104 - 64j
        tail, tip, angle = _arrow_at(middle, positive_sense(scene), LENGTH / 3)
        drawing.arrow(tail, tip, role="quiet", width=1.0, head=6.0)
        drawing.label("+", at=around(tip, angles=[angle]), role="quiet")


def _arrow_at(middle: Point, way: Point, half: float) -> tuple[Point, Point, float]:
    """Tail and tip of an arrow, and its angle in degrees."""
    return middle - half * way, middle + half * way, math.degrees(cmath.phase(way))


def draw_scale(drawing: Drawing, scene: Scene, bar: Bar) -> None:
    """A bar as long as a round force would be, below everything else."""
    left = complex(SCALE_LEFT, drawing.extent()[0] - 14.0)
    right = left + bar.length
    ends = [(end - 3j, end + 3j) for end in (left, right)]
    drawing.strokes([*ends, (left, right)], role="quiet", width=1.0)
    words = f"{bar.force:g} N"
    if bar.enlarged:  # one of two scales
        words += " " + say("scale-along", surface=scene.the(scene.surface))
    drawing.label(words, at=[beside(right, 0.0, 7.0)], role="quiet")


# Bent arrows.


def draw_spin(drawing: Drawing, scene: Scene) -> None:
    """The angular acceleration of a pulley that has one, dashed."""
    gains = scene.phase.angular_accelerations.get(scene.subject)
    if gains:
        line, spots = draw_bend(drawing, scene, gains, role="accent-5", dash=(5.0, 2.5))
        letter = scene.label(scene.subject) or say("acceleration")
        drawing.label(letter, at=spots, role="accent-5", of=line)


def draw_bend(
    drawing: Drawing, scene: Scene, turning: float, *, role: str, dash: Dash = ()
) -> Bend:
    """An arrow bent as something with this sign of a pulley's positive turning goes.

    It stands where it is furthest from all strokes.
    """
    left = math.copysign(1.0, -turn_of(scene.apparatus, scene.subject) * turning)
    middles = (math.tau * place / PLACES for place in range(PLACES))
    middle = max(middles, key=lambda angle: _room(drawing, angle))
    line = arc(0j, BEND, middle - left * HALF, middle + left * HALF)
    drawing.line(*line, role=role, width=1.4 if dash else 1.8, dash=dash)
    tip = along(line[-1], TIP, middle + left * (HALF + math.pi / 2))
    drawing.arrow(line[-1], tip, role=role, open_head=bool(dash), width=1.4)
    angles = [math.degrees(middle) + turn for turn in (0.0, 23.0, -23.0)]
    return line, tuple(around(0j, angles=angles, gaps=(BEND + 5.0, BEND + 13.0)))


def _room(drawing: Drawing, middle: float) -> float:
    """How near anything comes to an arrow there, and to its label."""
    points = [along(0j, BEND, middle + part * HALF) for part in (-1.3, -0.7, 0.0, 0.7, 1.3)]
    points.append(along(0j, BEND + 14.0, middle))
    on_sheet = plane([drawing.on_sheet(point) for point in points])[:, None]
    away = nearest(on_sheet, plane(drawing.segments).reshape(1, -1, 4)) - on_sheet
    return round(float(np.hypot(away[..., 0], away[..., 1]).min()), 3)
