"""Directions of forces in words: along a track or a slope, up and down."""

from collections.abc import Iterator

from fallwork.lesson.context import Context
from fallwork.lesson.document import Text
from fallwork.lesson.expression import Expression, as_expression
from fallwork.lesson.words import join, sentence
from fallwork.mechanics.rigging import Element
from fallwork.mechanics.solution import Force, Interaction


def direction(context: Context, force: Force) -> str:
    """A key of the directions' words for a force on a mover."""
    setting = context.setting
    sloping = bool(setting.slope(force.on))
    if force.interaction is Interaction.NORMAL:
        return "away" if sloping else "up"
    if force.interaction is Interaction.GRAVITY:
        return "down"
    along = setting.along(force)
    if along is None:
        return "open"
    if force.on not in setting.sliders:
        return "up" if along < 0 else "down"
    return _along(context, force.on, along > 0)


def _along(context: Context, name: str, ahead: bool) -> str:
    slope = context.setting.slope(name)
    if context.setting.upright(name):
        return "up" if ahead == (slope > 0) else "down"
    if slope:
        return "up-slope" if ahead == (slope > 0) else "down-slope"
    return "forward" if ahead else "back"


def short_direction(context: Context, force: Force) -> str:
    """A direction in a word or two, for the middle of a sentence."""
    return sentence(f"directions.short.{direction(context, force)}")


def push_on_string(context: Context, force: Force) -> Text | None:
    """The push of a pulley on a string: against the pulls of both its parts; None if unclear."""
    line = context.setting.rigging.strings[force.on]
    if force.partner not in line.path:
        return None
    at = line.path.index(force.partner)
    if not 0 < at < len(line.path) - 1:
        return None
    names = context.names
    sides = [
        (as_expression(names.tension(force.on, force.partner, after=after)), way)
        for after, way in zip((False, True), _ways(context, force.on, at), strict=True)
    ]
    if any(way is None for _, way in sides):
        return None
    return _both(sides)


def _both(sides: list[tuple[Expression, str | None]]) -> Text:
    (first, one), (second, other) = sides
    if one == other and first == second:
        return (first, f" {one} on each side")
    if one == other:
        return (first + second, f" {one}")
    return join((first, f" {one} and"), (second, f" {other}"))


def push_words(context: Context) -> tuple[str, str] | None:
    """Where the first pulley pushes the first string, in two words."""
    line = context.setting.rigging.strings[context.string]
    ways = tuple(_ways(context, context.string, line.path.index(context.pulley)))
    return (ways[0], ways[1]) if ways[0] and ways[1] else None


def _ways(context: Context, string: str, at: int) -> Iterator[str | None]:
    """Against the direction in which each of the two parts leaves the pulley."""
    line = context.setting.rigging.strings[string]
    for segment, neighbour in ((at - 1, at - 1), (at, at + 1)):
        piece = line.segments[segment]
        name = line.path[neighbour]
        outward = 1 if neighbour > at else -1
        if piece.along is not None and line.elements[neighbour] is Element.SLIDER:
            # The part leaves the pulley along the track; the push is the other way.
            way = _along(context, name, outward < 0)
            yield sentence(f"directions.short.{way}")
        elif piece.upright:
            yield sentence(
                "directions.short.down" if piece.upright * outward > 0 else "directions.short.up"
            )
        else:
            yield None
