"""How long the arrows of a diagram are: takes a scene with its arrows, gives them their lengths.

To scale, lengths are in the ratio of the forces. Small forces along a level track have a larger
scale of their own, and what is still too short to be seen is stretched, but never so that a larger
force has the shorter arrow. Not to scale, nothing is used but the set-up and the signs of motion
and acceleration: on the side to which the acceleration points the arrows are longer together.
"""

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

from fallwork.figures.arrows import ForceArrow
from fallwork.figures.geometry import NOWHERE, forward, kind_of, minus, slope_of, turn_of, unit_of
from fallwork.figures.placing import Point
from fallwork.figures.scene import Scene
from fallwork.mechanics.solution import Interaction

EQUAL = 60.0  # pt, not to scale: what balances or leads
LONGEST = 88.0  # pt, to scale
ALONG = 84.0  # pt, the longest of those with a scale of their own
SHORTEST = 7.0  # pt; a shorter arrow is drawn this long and marked
APART = 1.7  # at most so many times as long as the next smaller one is a stretched arrow
OWN_SCALE = 0.5  # of the other forces; smaller ones along a level track get a scale of their own
WEAKER = 0.7  # not to scale: what is outweighed, as a share of what leads
SMALL = 12.0  # pt, of a force along a slope that is outweighed
MORE = 14.0  # pt for each further arrow on one side
STEEPEST = 110.0  # pt, of gravity on a gentle slope, so that its component can be seen


@dataclass(frozen=True, kw_only=True)
class Bar:
    """A scale: so many newtons are so long."""

    force: float  # N
    length: float  # pt
    enlarged: bool  # that of the direction of motion


def with_lengths(scene: Scene, arrows: Sequence[ForceArrow]) -> tuple[ForceArrow, ...]:
    """The arrows with their lengths, in the same order."""
    if not scene.to_scale:
        return _sketched(scene, arrows)
    straight = [arrow for arrow in arrows if arrow.direction != NOWHERE]
    small = _with_own_scale(scene, straight)
    rest = [arrow for arrow in straight if arrow not in small]
    found = {arrow.name: replace(arrow, enlarged=True) for arrow in _to_scale(small, ALONG)}
    found |= {arrow.name: arrow for arrow in _to_scale(rest, LONGEST)}
    return tuple(found.get(arrow.name, replace(arrow, length=EQUAL)) for arrow in arrows)


def bars(arrows: Sequence[ForceArrow]) -> Iterator[Bar]:
    """The scales of a diagram, each by a round force."""
    for enlarged in (False, True):
        group = [a for a in arrows if a.enlarged is enlarged and a.direction != NOWHERE]
        true = [arrow for arrow in group if not arrow.stretched] or group
        if true:
            longest = max(true, key=lambda arrow: arrow.length)
            size = longest.size or 0.0
            force = nice_length(size)
            yield Bar(force=force, length=longest.length * force / size, enlarged=enlarged)


def nice_length(longest: float) -> float:
    """A round force for the scale bar, 1, 2 or 5 times a power of ten, up to 0.6 of the longest."""
    power = 10.0 ** math.floor(math.log10(0.6 * longest))
    return max(step * power for step in (1.0, 2.0, 5.0) if step * power <= 0.6 * longest)


# To scale.


def _with_own_scale(scene: Scene, arrows: Sequence[ForceArrow]) -> list[ForceArrow]:
    """Those along a level track, where they are small beside what acts across it."""
    name = scene.slot.subject
    if kind_of(scene.apparatus, name) != "slider" or slope_of(scene.apparatus, name):
        return []
    small = [arrow for side in _sides(arrows, forward(scene.apparatus, name), 1) for arrow in side]
    across = max((a.size or 0.0 for a in arrows if a not in small), default=0.0)
    along = max((a.size or 0.0 for a in small), default=0.0)
    return small if along < OWN_SCALE * across else []


def _to_scale(arrows: Sequence[ForceArrow], longest: float) -> Iterator[ForceArrow]:
    """In the ratio of the forces; the smallest are stretched and keep their order."""
    most = max((arrow.size or 0.0 for arrow in arrows), default=0.0)
    before, size = 0.0, 0.0
    for arrow in sorted(arrows, key=lambda arrow: arrow.size or 0.0):
        own = arrow.size or 0.0
        least = max(SHORTEST, before * min(own / size, APART)) if size else SHORTEST
        length = longest * own / most
        before, size = max(length, least), own
        yield replace(arrow, length=before, stretched=length < least * (1.0 - 1e-9))


# Not to scale.


def _sketched(scene: Scene, arrows: Sequence[ForceArrow]) -> tuple[ForceArrow, ...]:
    name, apparatus = scene.slot.subject, scene.apparatus
    lengths: Mapping[str, float] = {}
    if kind_of(apparatus, name) == "fixed":
        return _of_pulley(scene, arrows)
    way = outweighing(scene)
    if way is not None:
        ahead = forward(apparatus, name)
        slope = slope_of(apparatus, name) if kind_of(apparatus, name) == "slider" else 0.0
        if 1e-6 < abs(math.sin(slope)) < 1.0 - 1e-6:
            lengths = _on_slope(arrows, ahead, way, slope)
        else:
            lengths = _weighed(_sides(arrows, ahead, way), balanced=way == 0)
    return tuple(replace(arrow, length=lengths.get(arrow.name, EQUAL)) for arrow in arrows)


def outweighing(scene: Scene) -> int | None:
    """The sign of the resultant force along the object's path; None where that isn't known."""
    name, apparatus = scene.slot.subject, scene.apparatus
    thing = apparatus.bodies.get(name) or apparatus.pulleys[name]
    unknown = any(force.size is None for force in scene.phase.forces if force.on == name)
    if unknown or name not in scene.phase.accelerations:
        return None
    value = scene.phase.accelerations[name] if thing.mass else 0.0
    return (value > 0) - (value < 0)


def are_compared(scene: Scene) -> bool:
    """Whether lengths that aren't to scale say which side outweighs the other, if any."""
    pulley = scene.apparatus.pulleys.get(scene.slot.subject)
    if pulley is None or pulley.moving:
        return outweighing(scene) is not None
    return bool(turning(scene)) or not (pulley.inertia or pulley.bearing_torque)


Sides = tuple[list[ForceArrow], list[ForceArrow]]


def _sides(arrows: Sequence[ForceArrow], ahead: Point, way: int) -> Sides:
    """The arrows along the path that point the way of the acceleration, and those against it."""
    x, y = ahead if way >= 0 else minus(ahead)
    along = [(arrow, arrow.direction[0] * x + arrow.direction[1] * y) for arrow in arrows]
    return [a for a, part in along if part > 0.5], [a for a, part in along if part < -0.5]


def _weighed(sides: Sides, *, balanced: bool) -> dict[str, float]:
    """Lengths by name: the first side is longer in all, or both are equally long."""
    first, second = sides
    whole = EQUAL + MORE * (max(len(first), len(second)) - 1)
    lengths = {arrow.name: whole / len(first) for arrow in first}
    rest = whole if balanced else WEAKER * whole
    return lengths | {arrow.name: rest / len(second) for arrow in second}


def _on_slope(
    arrows: Sequence[ForceArrow], ahead: Point, way: int, slope: float
) -> dict[str, float]:
    """On a slope gravity has a part along it, and the normal force is as long as the other part."""
    gravity = [a for a in arrows if a.force.interaction is Interaction.GRAVITY]
    others = [a for a in arrows if a not in gravity]
    first, second = _sides(others, ahead, way)
    drives = (slope > 0) != (way >= 0)  # gravity's part points the way of the acceleration
    wanted = SMALL * len(second) / WEAKER if drives else 0.0  # of that part, for the others' sake
    weight = min(max(EQUAL, wanted / abs(math.sin(slope))), STEEPEST)
    part = weight * abs(math.sin(slope))
    lengths = {arrow.name: weight for arrow in gravity}
    lengths |= {a.name: weight * math.cos(slope) for a in others if a not in (*first, *second)}
    if drives:
        lengths |= {arrow.name: 2.0 * SMALL for arrow in first}
        rest = part + 2.0 * SMALL * len(first)
        rest *= 1.0 if way == 0 else WEAKER
        return lengths | {arrow.name: rest / len(second) for arrow in second}
    lengths |= {arrow.name: SMALL for arrow in second}
    rest = part + SMALL * len(second)
    rest = rest if way == 0 else max(rest / WEAKER, EQUAL)
    return lengths | {arrow.name: rest / len(first) for arrow in first}


def _of_pulley(scene: Scene, arrows: Sequence[ForceArrow]) -> tuple[ForceArrow, ...]:
    """The tension that turns a pulley faster is the longer one; the axle balances what is drawn."""
    way = turning(scene)
    drawn = {}
    x = y = 0.0
    for arrow in arrows:
        if arrow.force.interaction is not Interaction.AXLE:
            torque = arrow.rim[0] * arrow.direction[1] - arrow.rim[1] * arrow.direction[0]
            length = EQUAL * (WEAKER if torque * way < 0 else 1.0)
            x, y = x + length * arrow.direction[0], y + length * arrow.direction[1]
            drawn[arrow.name] = replace(arrow, length=length)
    way_back, length = unit_of((-x, -y)), math.hypot(x, y)
    return tuple(
        drawn.get(arrow.name) or replace(arrow, direction=way_back, length=length)
        for arrow in arrows
    )


def turning(scene: Scene) -> int:
    """The sense, counter-clockwise positive, in which the strings turn a pulley; 0 if unknown.

    Its inertia and the friction in its bearing both ask for it only where it turns faster.
    """
    name = scene.slot.subject
    pulley = scene.apparatus.pulleys[name]
    gains = scene.phase.angular_accelerations.get(name, 0.0)
    starts = scene.phase.start_angular_velocities.get(name, 0.0)
    if starts * gains < 0 and pulley.bearing_torque:
        return 0
    turns = gains or (starts if pulley.bearing_torque else 0.0)
    if not (pulley.inertia or pulley.bearing_torque):
        return 0
    return -turn_of(scene.apparatus, name) * ((turns > 0) - (turns < 0))
