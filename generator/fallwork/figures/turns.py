"""Bent arrows round a pulley: the torque of its bearing, and its angular acceleration.

Takes a drawing of a pulley with its forces; draws each bent arrow where there is most room.
"""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from fallwork.figures.arrows import ForceArrow
from fallwork.figures.canvas import Point
from fallwork.figures.drawing import Drawing, along, arc
from fallwork.figures.geometry import turn_of
from fallwork.figures.labels import Spot, Words, beside, distance
from fallwork.figures.scene import Scene, say

PULLEY = 22.0  # pt, radius
RADIUS = 36.0  # of bent arrows
HALF = 0.6  # rad, half of what they span
TIP = 7.0  # pt, of their straight end
PLACES = 16  # round the pulley where one may stand


@dataclass(frozen=True, kw_only=True)
class Bend:
    """A bent arrow as drawn, with the places for its label."""

    line: tuple[Point, ...]
    spots: tuple[Spot, ...]


def draw_turns(drawing: Drawing, scene: Scene, couples: Sequence[ForceArrow]) -> Mapping[str, Bend]:
    """The couples by name; and, dashed, the angular acceleration of a pulley that has one."""
    sense = -float(
        turn_of(scene.apparatus, scene.slot.subject)
    )  # +1: positive turning is counter-clockwise
    found = {
        couple.name: _draw(
            drawing, math.copysign(sense, sense * (couple.force.torque or 0.0)), couple.role
        )
        for couple in couples
    }
    gains = scene.phase.angular_accelerations.get(scene.slot.subject)
    if gains:
        bend = _draw(drawing, math.copysign(1.0, sense * gains), "accent-5", dash=(5.0, 2.5))
        words = Words(lines=((scene.label(scene.slot.subject) or say("acceleration"),),))
        drawing.label(words, bend.spots, role="accent-5", of=bend.line)
    return found


def _draw(drawing: Drawing, sense: float, role: str, dash: tuple[float, ...] = ()) -> Bend:
    """An arrow in a sense (+1 counter-clockwise), where it is furthest from all strokes."""
    middles = (math.tau * place / PLACES for place in range(PLACES))
    middle = max(middles, key=lambda angle: _room(drawing, angle))
    line = arc((0.0, 0.0), RADIUS, middle - sense * HALF, middle + sense * HALF)
    drawing.line(*line, role=role, width=1.4 if dash else 1.8, dash=dash)
    tip = along(line[-1], TIP, middle + sense * (HALF + math.pi / 2))
    drawing.arrow(line[-1], tip, role=role, open_head=bool(dash), width=1.4)
    spots = [
        beside(along((0.0, 0.0), RADIUS + away, middle + turn), middle + turn)
        for away in (0.0, 8.0)
        for turn in (0.0, 0.4, -0.4)
    ]
    return Bend(line=line, spots=tuple(spots))


def _room(drawing: Drawing, middle: float) -> float:
    """How near anything comes to an arrow there, and to its label."""
    points = [
        along((0.0, 0.0), RADIUS, middle + part * HALF) for part in (-1.3, -0.7, 0.0, 0.7, 1.3)
    ]
    points.append(along((0.0, 0.0), RADIUS + 14.0, middle))
    on_sheet = [drawing.on_sheet(point) for point in points]
    return round(min(distance(p, segment) for p in on_sheet for segment in drawing.segments), 3)
