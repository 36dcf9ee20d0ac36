"""The forces on one object as arrows, one for each contact: takes a scene, gives their directions.

A string pulls a pulley at two points of its rim, so it has two arrows there. How long arrows are is
left to ``lengths``, drawing to ``diagram``.
"""

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from fallwork.figures.geometry import (
    NOWHERE,
    forward,
    kind_of,
    slope_of,
    straights,
    turn_of,
    unit_of,
)
from fallwork.figures.placing import Point
from fallwork.figures.scene import Scene, say
from fallwork.lesson.document import piece
from fallwork.lesson.labels import segments_at
from fallwork.lesson.words import listing
from fallwork.mechanics.solution import Force, Interaction
from fallwork.scenario.nouns import BENCH

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
RIM = {(-1, 0): "left", (1, 0): "right", (0, 1): "top", (0, -1): "bottom"}


@dataclass(frozen=True, kw_only=True)
class ForceArrow:
    """One force as it is drawn."""

    force: Force
    name: str  # of its symbol among the lesson's labels
    size: float | None  # N, or N m; None where the apparatus doesn't determine it
    direction: Point  # unit vector; NOWHERE for a couple
    rim: Point = NOWHERE  # where it acts, in radii from the middle of a pulley
    length: float = 0.0  # pt
    stretched: bool = False  # too short to be seen at the scale of the others
    enlarged: bool = False  # drawn to the larger scale of the direction of motion

    @property
    def role(self) -> str:
        """Its colour."""
        return ROLES[self.force.interaction]


def arrows_of(scene: Scene) -> tuple[ForceArrow, ...]:
    """What acts on the slot's object in its phase, kind by kind, without lengths.

    A force of unknown direction has no arrow.
    """
    order = list(Interaction)
    found = [f for f in scene.phase.forces if f.on == scene.slot.subject and f.size != 0.0]
    found.sort(key=lambda force: order.index(force.interaction))
    return tuple(arrow for force in found for arrow in _arrows(force, scene))


def _arrows(force: Force, scene: Scene) -> Iterator[ForceArrow]:
    wound = force.interaction is Interaction.TENSION and force.on in scene.apparatus.pulleys
    at_rim = wound and not scene.apparatus.pulleys[force.on].moving
    if at_rim or force.interaction is Interaction.CONTACT:
        yield from _pieces(force, scene)
    elif force.vector is not None or force.torque is not None:
        way = unit_of(force.vector or NOWHERE)
        yield ForceArrow(force=force, name=force.name, size=force.size, direction=way)


def _pieces(force: Force, scene: Scene) -> Iterator[ForceArrow]:
    """The pulls of the straight pieces of a string, each where it leaves the rim."""
    name, string = force.on, force.partner
    parts = straights(scene.apparatus, string)
    for at in segments_at(scene.apparatus.strings[string].path, name):
        yield ForceArrow(
            force=force,
            name=piece(force.name, at),
            size=scene.phase.segment_tensions[string][at],
            direction=parts[at].pull_on(name),
            rim=parts[at].rim(turn_of(scene.apparatus, name)),
        )


def side_by_side(arrows: Sequence[ForceArrow], gap: float, up: Point) -> tuple[Point, ...]:
    """Where each arrow starts: those that point the same way lie beside each other.

    The longest lies furthest to the side that ``up`` points to.
    """
    starts = []
    for arrow in arrows:
        peers = sorted(
            (o for o in arrows if o is arrow or _in_line(arrow, o)),
            key=lambda other: other.length,
        )
        x, y = -arrow.direction[1], arrow.direction[0]
        side = -1.0 if x * up[0] + y * up[1] < 0 else 1.0
        place = side * gap * (peers.index(arrow) - (len(peers) - 1) / 2)
        starts.append((place * x, place * y))
    return tuple(starts)


def _in_line(one: ForceArrow, other: ForceArrow) -> bool:
    """Whether two arrows would lie on each other: the same way within 8°, neither at a rim."""
    (x0, y0), (x1, y1) = one.direction, other.direction
    return one.rim == other.rim == NOWHERE and x0 * x1 + y0 * y1 > math.cos(math.radians(8))


# Words.


def force_words(force: Force, scene: Scene) -> str:
    """A force in words, e.g. ``tension of the string``."""
    bearing = force.interaction is Interaction.AXLE and force.partner == BENCH
    key = "axle-bench" if bearing else force.interaction.key
    return say(f"force-{key}", partner=scene.the(force.partner))


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
            return say("way-away", surface=scene.the(scene.surface))
    parts = [
        say(key)
        for key, size in (("way-up", y), ("way-down", -y), ("way-right", x), ("way-left", -x))
        if size > 0.02
    ]
    upright = len(parts) == 1 and abs(y) > 0.5
    return say("way-straight" if upright else "way", parts=listing(parts))


def where_words(arrow: ForceArrow, scene: Scene) -> str:
    """Its direction, and where on a pulley's rim it acts; which way round, for a couple."""
    if arrow.direction == NOWHERE:
        return turning_words(scene, arrow.force.torque or 0.0)
    way = direction_words(arrow.direction, scene)
    place = RIM.get((round(arrow.rim[0]), round(arrow.rim[1])))
    return say(f"rim-{place}", way=way) if place else way


def turning_words(scene: Scene, turning: float) -> str:
    """Which way round something with the sign of a pulley's positive turning goes."""
    clockwise = turning * turn_of(scene.apparatus, scene.slot.subject) > 0
    return say("clockwise" if clockwise else "counter-clockwise")
