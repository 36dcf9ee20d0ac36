"""The forces on one object as arrows: takes a scene, gives direction, length and words of each.

Not to scale: directions from the set-up, all lengths equal. To scale: lengths from the solution.
Drawing is left to ``diagram``.
"""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from fallwork.figures.canvas import Point
from fallwork.figures.geometry import (
    NOWHERE,
    direction,
    forward,
    kind_of,
    slope_of,
    unit_of,
)
from fallwork.figures.scene import Scene, say
from fallwork.lesson.words import listing, the
from fallwork.mechanics.solution import Force, Interaction

EQUAL = 60.0  # pt; the length of all arrows that are not to scale
LONGEST = 88.0  # pt, to scale
SHORTEST = 6.5  # pt; a shorter arrow is drawn this long and marked

ROLES: Mapping[Interaction, str] = {
    Interaction.GRAVITY: "accent-2",
    Interaction.NORMAL: "accent-3",
    Interaction.FRICTION: "accent-4",
    Interaction.ROLLING: "accent-4",
    Interaction.TENSION: "accent-1",
    Interaction.CONTACT: "accent-1",
    Interaction.AXLE: "accent-3",
    Interaction.BEARING_TORQUE: "accent-4",
    Interaction.LANDING: "accent-3",
}


@dataclass(frozen=True, kw_only=True)
class ForceArrow:
    """One force as it is drawn."""

    force: Force
    direction: Point  # unit vector; NOWHERE for a couple
    length: float  # pt
    stretched: bool = False  # too short to be seen at the scale of the others

    @property
    def role(self) -> str:
        """Its colour."""
        return ROLES[self.force.interaction]


def forces_on(scene: Scene) -> tuple[Force, ...]:
    """What acts on the slot's object in the first phase, in the order of the kinds."""
    order = list(Interaction)
    found = [f for f in scene.phase.forces if f.on == scene.slot.subject and f.size != 0.0]
    return tuple(sorted(found, key=lambda force: order.index(force.interaction)))


def arrows_of(scene: Scene) -> tuple[ForceArrow, ...]:
    """The arrows and couples; a force of unknown direction has no arrow."""
    forces = forces_on(scene)
    longest = max((f.size or 0.0 for f in forces if f.vector), default=0.0)
    found = []
    for force in forces:
        if force.vector is None and force.torque is not None:
            found.append(ForceArrow(force=force, direction=NOWHERE, length=EQUAL))
            continue
        arrow = _to_scale(force, longest) if scene.to_scale else _sketched(force, scene)
        if arrow.direction != NOWHERE:
            found.append(arrow)
    return tuple(found)


def _sketched(force: Force, scene: Scene) -> ForceArrow:
    way = direction(force, scene.apparatus, scene.phase)
    return ForceArrow(force=force, direction=way, length=EQUAL)


def _to_scale(force: Force, longest: float) -> ForceArrow:
    if force.vector is None or not force.size:
        return ForceArrow(force=force, direction=NOWHERE, length=0.0)
    length = LONGEST * force.size / longest
    return ForceArrow(
        force=force,
        direction=unit_of(force.vector),
        length=max(length, SHORTEST),
        stretched=length < SHORTEST,
    )


def side_by_side(arrows: Sequence[ForceArrow], gap: float, up: Point) -> tuple[Point, ...]:
    """Where each arrow starts: those that point the same way lie beside each other.

    The longest lies furthest to the side that ``up`` points to.
    """
    starts = []
    for arrow in arrows:
        peers = sorted(
            (o for o in arrows if o is arrow or _same_way(arrow.direction, o.direction)),
            key=lambda other: other.length,
        )
        x, y = -arrow.direction[1], arrow.direction[0]
        side = -1.0 if x * up[0] + y * up[1] < 0 else 1.0
        place = side * gap * (peers.index(arrow) - (len(peers) - 1) / 2)
        starts.append((place * x, place * y))
    return tuple(starts)


def _same_way(one: Point, other: Point) -> bool:
    return one[0] * other[0] + one[1] * other[1] > math.cos(math.radians(8))


def nice_length(longest: float) -> float:
    """A round force for the scale bar, 1, 2 or 5 times a power of ten, up to 0.6 of the longest."""
    power = 10.0 ** math.floor(math.log10(0.6 * longest))
    return max(step * power for step in (1.0, 2.0, 5.0) if step * power <= 0.6 * longest)


# Words.


def force_words(force: Force) -> str:
    """A force in words, e.g. ``tension of the string``."""
    key = f"force-{force.interaction.value.replace(' ', '-')}"
    return say(key, partner=the(force.partner))


def direction_words(way: Point, scene: Scene) -> str:
    """A direction seen from the object: along its surface, or up, down and to a side."""
    name = scene.slot.subject
    x, y = way
    if kind_of(scene.apparatus, name) == "slider":
        ahead_x, ahead_y = forward(scene.apparatus, name)
        ahead = x * ahead_x + y * ahead_y
        slope = slope_of(scene.apparatus, name)
        if abs(ahead) > 0.999 and slope and ahead_x > 0.001:
            return say("way-up-slope" if ahead * slope > 0 else "way-down-slope")
        if abs(ahead) > 0.999:
            return say("way-forward" if ahead > 0 else "way-back")
        if slope and y * ahead_x - x * ahead_y > 0.999:
            surface = scene.apparatus.bodies[name].surface or ""
            return say("way-away", surface=the(surface))
    parts = [
        say(key)
        for key, size in (("way-up", y), ("way-down", -y), ("way-right", x), ("way-left", -x))
        if size > 0.02
    ]
    upright = len(parts) == 1 and abs(y) > 0.5
    return say("way-straight" if upright else "way", parts=listing(parts))
