"""The forces on one object as arrows, one for each contact: takes a scene, gives their directions.

A string pulls a pulley at two points of its rim, so it has two arrows there. How long arrows are is
left to ``lengths``, drawing to ``diagram``.
"""

from collections.abc import Iterator
from dataclasses import dataclass

from fallwork.figures.geometry import NOWHERE, Point, dot, straights, turn_of, unit_of
from fallwork.figures.scene import Scene, of_force, say
from fallwork.lesson.document import piece
from fallwork.lesson.labels import segments_at
from fallwork.lesson.words import listing
from fallwork.mechanics.solution import Force, Interaction
from fallwork.scenario.nouns import BENCH

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
        return of_force(self.force, "colour")

    def along(self, way: Point) -> float:
        """The component of its direction along another."""
        return dot(self.direction, way)


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
                size=scene.phase.segment_tensions[string][at],
                direction=parts[at].pull_on(name),
                rim=parts[at].rim(turn_of(scene.apparatus, name)),
            )
        return
    way = unit_of(complex(*(force.vector or (0.0, 0.0))))
    couple = force.vector is None and force.torque is not None
    if couple or way != NOWHERE:
        yield ForceArrow(force=force, name=force.name, size=force.size, direction=way)


# Words.


def force_words(force: Force, scene: Scene) -> str:
    """A force in words, e.g. ``tension of the string``."""
    bearing = force.interaction is Interaction.AXLE and force.partner == BENCH
    if bearing:
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
    if slope and across > 0.999:
        return say("way-away", surface=scene.the(scene.surface))
    sides = {"way-up": y, "way-down": -y, "way-right": x, "way-left": -x}
    parts = [say(key) for key, size in sides.items() if size > 0.02]
    upright = len(parts) == 1 and abs(y) > 0.5
    return say("way-straight" if upright else "way", parts=listing(parts))


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
