"""The forces on one object as arrows, one for each contact: takes a scene, gives their directions.

A string pulls a pulley at two points of its rim, so it has two arrows there. How long arrows are is
left to ``lengths``, drawing to ``diagram``.
"""

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from fallwork.figures.canvas import Point
from fallwork.figures.geometry import (
    NOWHERE,
    direction,
    forward,
    kind_of,
    slope_of,
    straights,
    touch,
    turn_of,
    unit_of,
)
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


def forces_on(scene: Scene) -> tuple[Force, ...]:
    """What acts on the slot's object in its phase, in the order of the kinds."""
    order = list(Interaction)
    found = [f for f in scene.phase.forces if f.on == scene.slot.subject and f.size != 0.0]
    return tuple(sorted(found, key=lambda force: order.index(force.interaction)))


def arrows_of(scene: Scene) -> tuple[ForceArrow, ...]:
    """The arrows and couples, without lengths; a force of unknown direction has no arrow."""
    return tuple(arrow for force in forces_on(scene) for arrow in _arrows(force, scene))


def _arrows(force: Force, scene: Scene) -> Iterator[ForceArrow]:
    if force.vector is None and force.torque is not None:
        yield ForceArrow(force=force, name=force.name, size=force.size, direction=NOWHERE)
    elif _acts_at_the_rim(force, scene):
        yield from _pieces(force, scene)
    elif scene.to_scale:
        if force.vector is not None and force.size:
            way = unit_of(force.vector)
            yield ForceArrow(force=force, name=force.name, size=force.size, direction=way)
    elif (way := direction(force, scene.apparatus, scene.phase)) != NOWHERE:
        yield ForceArrow(force=force, name=force.name, size=force.size, direction=way)


def _acts_at_the_rim(force: Force, scene: Scene) -> bool:
    """Whether a string runs over a pulley or is wound on it, rather than holding its axle."""
    kind = kind_of(scene.apparatus, force.on)
    wound = kind == "fixed" and force.interaction is Interaction.TENSION
    return force.interaction is Interaction.CONTACT or wound


def _pieces(force: Force, scene: Scene) -> Iterator[ForceArrow]:
    """The pulls of the straight pieces of a string, each where it leaves the rim."""
    name, string = force.on, force.partner
    parts = straights(scene.apparatus, string)
    pulls = scene.phase.segment_tensions[string]
    for at in segments_at(scene.apparatus.strings[string].path, name):
        sense = 1.0 if parts[at].start == name else -1.0
        x, y = parts[at].direction
        yield ForceArrow(
            force=force,
            name=piece(force.name, at),
            size=pulls[at],
            direction=(sense * x + 0.0, sense * y + 0.0),
            rim=touch(scene.apparatus, name, parts[at]),
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
    """Whether two arrows would lie on each other: same direction, neither at a rim."""
    return one.rim == other.rim == NOWHERE and parallel(one.direction, other.direction)


def parallel(one: Point, other: Point) -> bool:
    """Whether two directions are the same within 8 degrees."""
    return one[0] * other[0] + one[1] * other[1] > math.cos(math.radians(8))


# Words.


def force_words(force: Force, scene: Scene) -> str:
    """A force in words, e.g. ``tension of the string``."""
    kind = force.interaction
    key = f"force-{kind.value.replace(' ', '-')}"
    if kind is Interaction.AXLE and force.partner == BENCH:
        key = "force-axle-bench"
    return say(key, partner=scene.the(force.partner))


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
            return say("way-away", surface=scene.the(surface))
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
    places = {(-1, 0): "left", (1, 0): "right", (0, 1): "top", (0, -1): "bottom"}
    place = places.get((round(arrow.rim[0]), round(arrow.rim[1])))
    return say(f"rim-{place}", way=way) if place else way


def turning_words(scene: Scene, turning: float) -> str:
    """Which way round something with the sign of a pulley's positive turning goes."""
    clockwise = turning * turn_of(scene.apparatus, scene.slot.subject) > 0
    return say("clockwise" if clockwise else "counter-clockwise")
