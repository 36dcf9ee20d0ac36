"""The forces on one object as arrows, one for each contact: takes a scene, gives all but places.

A string pulls a pulley at two points of its rim, so it has two arrows there. To scale, lengths are
in the ratio of the forces. Small forces along a track have a larger scale of their own, and
what is still too short to be seen is stretched, but never so that a larger force has the shorter
arrow. Not to scale, nothing is used but the set-up and the signs of motion and acceleration: where
an object's acceleration points, the arrows are longer together. On a slope, gravity's components
are arrows too. Drawing is left to ``diagram``.
"""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from fallwork.figures.geometry import DOWN, NOWHERE, Point, dot, scaled, straights, turn_of, unit_of
from fallwork.figures.scene import Scene, of_force, say
from fallwork.lesson.document import piece, segments_at
from fallwork.mechanics.solution import Force, Interaction
from fallwork.scenario.nouns import BENCH
from fallwork.scenario.report import listed

EQUAL = 60.0  # pt, not to scale: what balances or leads
LONGEST = 88.0  # pt, to scale
ALONG = 84.0  # pt, the longest of those with a scale of their own
SHORTEST = 6.5  # pt; a shorter arrow is drawn this long and marked
APART = 1.7  # at most so many times as long as the next smaller one is a stretched arrow
OWN_SCALE = 0.4  # of the other forces; smaller ones along a track get a scale of their own
HUB = 3.0  # pt, radius, at a pulley's axle
WEAKER = 0.7  # not to scale: what is outweighed, as a share of what leads
ON_SLOPE, ON_PULLEY = 42.0, 84.0  # pt, the same along a slope, and from the axle out of a pulley
MORE = 14.0  # pt for each further arrow on one side
RIM = {(-1, 0): "left", (1, 0): "right", (0, 1): "top", (0, -1): "bottom"}


@dataclass(frozen=True, kw_only=True)
class ForceArrow:
    """One force as it is drawn."""

    force: Force
    name: str  # of its symbol among the lesson's labels
    size: float  # N, or N m; 0 where the apparatus doesn't determine it
    direction: Point  # unit vector; NOWHERE for a couple
    part: str = ""  # "cos", "sin": of gravity, its component into a slope or down it
    rim: Point = NOWHERE  # where it acts, in radii from the middle of a pulley
    length: float = 0.0  # pt
    stretched: bool = False  # too short to be seen at the scale of the others
    enlarged: bool = False  # drawn to the larger scale of the direction of motion

    @property
    def role(self) -> str:
        """Its colour."""
        return of_force(self.force, "colour")

    def along(self, way: Point) -> float:
        """The component of its direction along another."""
        return dot(self.direction, way)


Arrows = Sequence[ForceArrow]


def arrows_of(scene: Scene) -> tuple[ForceArrow, ...]:
    """What acts on the slot's object in its phase, kind by kind, without lengths.

    A force of unknown direction has no arrow.
    """
    order = list(Interaction)
    found = [f for f in scene.phase.forces if f.on == scene.subject and f.size != 0.0]
    found.sort(key=lambda force: order.index(force.interaction))
    return tuple(arrow for force in found for arrow in _arrows(force, scene))


def _arrows(force: Force, scene: Scene) -> Iterator[ForceArrow]:
    name, string = force.on, force.partner
    wound = scene.kind == "fixed" and force.interaction is Interaction.TENSION
    if wound or force.interaction is Interaction.CONTACT:  # each straight piece, at the rim
        parts = straights(scene.apparatus, string)
        for at in segments_at(scene.apparatus.strings[string].path, name):
            yield ForceArrow(
                force=force,
                name=piece(force.name, at),
                size=scene.phase.segment_tensions[string][at] or 0.0,
                direction=parts[at].pull_on(name),
                rim=parts[at].rim(turn_of(scene.apparatus, name)),
            )
        return
    way, size = unit_of(complex(*(force.vector or (0.0, 0.0)))), force.size or 0.0
    if way != NOWHERE or (force.vector is None and force.torque is not None):
        yield ForceArrow(force=force, name=force.name, size=size, direction=way)
    if force.interaction is Interaction.GRAVITY:
        down = scaled(scene.ahead, dot(DOWN, scene.ahead))
        components = (("cos", DOWN - down), ("sin", down))
        for part, lies in components if min(abs(lies) for _, lies in components) > 1e-6 else ():
            named, along = f"{force.name}, {part}", size * abs(lies)
            yield ForceArrow(
                force=force, name=named, size=along, direction=unit_of(lies), part=part
            )


# Lengths.


def with_lengths(scene: Scene, arrows: Arrows) -> tuple[ForceArrow, ...]:
    """The arrows with their lengths, in the same order."""
    if scene.numbers:
        return _to_scale(scene, arrows)
    return _of_pulley(scene, arrows) if scene.kind == "fixed" else _weighed(scene, arrows)


def _to_scale(scene: Scene, arrows: Arrows) -> tuple[ForceArrow, ...]:
    """In the ratio of the forces; the smallest are stretched and keep their order.

    Those along a track have a scale of their own where all of them or one is small beside what
    acts across it.
    """
    rest = [arrow for arrow in arrows if arrow.direction != NOWHERE]
    small = [arrow for arrow in rest if scene.surface and abs(arrow.along(scene.ahead)) > 0.99]
    sizes = [arrow.size for arrow in small]
    across = max((arrow.size for arrow in rest if arrow not in small), default=0.0)
    unseen = small and min(sizes) * LONGEST < SHORTEST * across
    small = small if unseen or (small and max(sizes) < OWN_SCALE * across) else []
    rest = [arrow for arrow in rest if arrow not in small]
    shortest = SHORTEST + (2.0 * HUB if scene.kind == "moving" else 0.0)  # seen beside its axle
    found = {}
    for group, longest in ((small, ALONG), (rest, LONGEST)):
        before, size = 0.0, 0.0
        for arrow in sorted(group, key=lambda arrow: arrow.size):
            least = max(shortest, before * min(arrow.size / size, APART)) if size else shortest
            length = longest * arrow.size / max(arrow.size for arrow in group)
            before, size = max(length, least), arrow.size
            drawn = replace(arrow, length=before, enlarged=group is small)
            found[arrow.name] = replace(drawn, stretched=length < least * (1.0 - 1e-9))
    return tuple(found.get(arrow.name, replace(arrow, length=EQUAL)) for arrow in arrows)


def bars(arrows: Arrows) -> Iterator[tuple[float, float, bool]]:
    """Of each scale a round force in N, its length in pt, and whether it is that along a track."""
    for enlarged in (False, True):
        group = [a for a in arrows if a.enlarged is enlarged and a.direction != NOWHERE]
        true = [arrow for arrow in group if not arrow.stretched] or group
        if true:
            longest = max(true, key=lambda arrow: arrow.length)
            force = nice_length(longest.size)
            yield force, longest.length * force / longest.size, enlarged


def nice_length(longest: float) -> float:
    """A round force for the scale bar, 1, 2 or 5 times a power of ten, up to 0.6 of the longest."""
    power = 10.0 ** math.floor(math.log10(0.6 * longest))
    return max(step * power for step in (1.0, 2.0, 5.0) if step * power <= 0.6 * longest)


# Not to scale.


def outweighing(scene: Scene) -> int | None:
    """The sign of the resultant force along the object's path; None where that isn't known."""
    name = scene.subject
    unknown = any(force.size is None for force in scene.phase.forces if force.on == name)
    value = scene.phase.accelerations.get(name)
    if unknown or value is None:
        return None
    return (value > 0) - (value < 0) if scene.mass_kg(name) else 0


def _weighed(scene: Scene, arrows: Arrows) -> tuple[ForceArrow, ...]:
    """The side of the acceleration is longer in all, or both are equally long.

    On a slope gravity's components take part in its stead.
    """
    slopes = any(arrow.part for arrow in arrows)
    lengths = {arrow.name: EQUAL * math.cos(scene.slope) for arrow in arrows}
    lengths |= {arrow.force.name: EQUAL for arrow in arrows if arrow.part}
    way = outweighing(scene)
    if way is not None:
        ahead = scaled(scene.ahead, -1.0 if way < 0 else 1.0)
        first = [arrow for arrow in arrows if arrow.along(ahead) > 0.99]
        second = [arrow for arrow in arrows if arrow.along(ahead) < -0.99]
        base = ON_SLOPE if slopes else ON_PULLEY if scene.kind == "moving" else EQUAL
        whole = base + MORE * (max(len(first), len(second)) - 1)
        for side, length in ((first, whole), (second, WEAKER * whole if way else whole)):
            lengths |= {arrow.name: length / len(side) for arrow in side}
    return tuple(replace(arrow, length=lengths[arrow.name]) for arrow in arrows)


def _of_pulley(scene: Scene, arrows: Arrows) -> tuple[ForceArrow, ...]:
    """The tension that turns a pulley faster is the longer one; the axle balances what is drawn."""
    way, pull = turning(scene), NOWHERE
    found = []
    for arrow in arrows:
        weaker = dot(1j * arrow.rim, arrow.direction) * way < 0
        found.append(replace(arrow, length=EQUAL * (WEAKER if weaker else 1.0)))
        if arrow.force.interaction is not Interaction.AXLE:
            pull += found[-1].length * arrow.direction
    for at, arrow in enumerate(found):
        if arrow.force.interaction is Interaction.AXLE:
            found[at] = replace(arrow, direction=unit_of(-pull), length=abs(pull))
    return tuple(arrow for arrow in found if arrow.length > 1e-9)  # pulls may hold each other


def turning(scene: Scene) -> int:
    """The sense, counter-clockwise positive, in which the strings turn a pulley; 0 if unknown.

    Its inertia and the friction in its bearing both ask for it only where it turns faster.
    """
    name, phase, pulley = scene.subject, scene.phase, scene.pulleys[scene.subject]
    if not (pulley.inertia or pulley.bearing_torque):
        return 0
    gains = phase.angular_accelerations.get(name, 0.0)
    starts = phase.start_angular_velocities.get(name, 0.0) if pulley.bearing_torque else 0.0
    turns = (gains or starts) if starts * gains >= 0 else 0.0
    return -turn_of(scene.apparatus, name) * ((turns > 0) - (turns < 0))


# Words.


def force_words(arrow: ForceArrow, scene: Scene) -> str:
    """A force in words, e.g. ``tension of the string``."""
    force = arrow.force
    if arrow.part:
        return say("force-part")
    if force.interaction is Interaction.AXLE and force.partner == BENCH:
        return say("force-axle-bench")
    return of_force(force, "words").format(partner=scene.the(force.partner))


def direction_words(way: Point, scene: Scene) -> str:
    """A direction seen from the object: along its surface, or up, down and to a side."""
    x, y, slope = way.real, way.imag, scene.slope
    ahead, across = dot(way, scene.ahead), dot(way, 1j * scene.ahead)
    if scene.surface and abs(ahead) > 0.999:
        if slope and scene.ahead.real > 0.001:
            return say("way-up-slope" if ahead * slope > 0 else "way-down-slope")
        return say("way-forward" if ahead > 0 else "way-back")
    if slope and abs(across) > 0.999:
        return say("way-away" if across > 0 else "way-into", surface=scene.the(scene.surface))
    sides = {"way-up": y, "way-down": -y, "way-right": x, "way-left": -x}
    parts = [say(key) for key, size in sides.items() if size > 0.02]
    upright = len(parts) == 1 and abs(y) > 0.5
    return say("way-straight" if upright else "way", parts=listed(parts))


def where_words(arrow: ForceArrow, scene: Scene) -> str:
    """Its direction, and where on a pulley's rim it acts; which way round, for a couple."""
    if arrow.direction == NOWHERE:
        return turning_words(scene, arrow.force.torque or 0.0)
    way = direction_words(arrow.direction, scene)
    place = RIM.get((round(arrow.rim.real), round(arrow.rim.imag)))
    return say(f"rim-{place}", way=way) if place else way


def turning_words(scene: Scene, turning: float) -> str:
    """Which way round something with the sign of a pulley's positive turning goes."""
    clockwise = turning * turn_of(scene.apparatus, scene.subject) > 0
    return say("clockwise" if clockwise else "counter-clockwise")
