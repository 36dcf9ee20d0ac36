"""What diagrams write beside their arrows: the symbols of forces and accelerations, by phase.

Takes a context and its steps; gives trees by the names that figures know: of a force, of one
string's pull on a pulley (``piece``), of an object or pulley for its acceleration.
"""

from collections.abc import Iterator, Mapping

from fallwork.lesson.context import Context
from fallwork.lesson.document import FigureSlot, Step, piece
from fallwork.lesson.expression import Expression, as_expression
from fallwork.lesson.trees import product
from fallwork.mechanics.solution import Interaction


def labels_of(context: Context, steps: tuple[Step, ...]) -> Mapping[int, Mapping[str, Expression]]:
    """The labels of the first phase and of each other one that a figure shows."""
    blocks = (block for step in steps for block in step.blocks)
    shown = {0} | {block.phase for block in blocks if isinstance(block, FigureSlot)}
    return {phase: dict(_labels(context, context.at(phase))) for phase in sorted(shown)}


def _labels(first: Context, context: Context) -> Iterator[tuple[str, Expression]]:
    setting = context.setting
    for name in setting.movers:
        for force in filter(setting.acts, setting.forces_on(name)):
            if force.interaction is Interaction.LANDING:
                continue  # the model has no letter for it
            yield force.name, context.motion.size(force)
        if name in setting.phase.accelerations and not setting.rests(name):
            yield name, _acceleration(first, context, name)
    for pulley in setting.pulleys:
        yield from _pieces(context, pulley)
    for pulley in setting.spinning:
        yield from _turning(context, pulley)


def _acceleration(first: Context, context: Context, name: str) -> Expression:
    """By the letter that the phase's equation of motion has for it."""
    setting = context.setting
    if setting.index == 0:
        return as_expression(context.motion.own_acceleration(name))
    if setting.index in setting.driven:
        return context.motion.acceleration_tree(name)
    if first.coasts:
        return as_expression(first.names.coasting_acceleration)
    return as_expression(context.names.acceleration_of(name))


def _pieces(context: Context, pulley: str) -> Iterator[tuple[str, Expression]]:
    """The tension of each straight piece of string that pulls at a pulley's rim."""
    for force in context.setting.forces_on(pulley):
        wound = force.interaction is Interaction.TENSION and pulley not in context.setting.movers
        if force.interaction is Interaction.CONTACT or wound:
            path = context.setting.apparatus.strings[force.partner].path
            for at in segments_at(path, pulley):
                tension = context.names.tension_at(force.partner, at)
                yield piece(force.name, at), as_expression(tension)


def segments_at(path: tuple[str, ...], name: str) -> Iterator[int]:
    """The straight pieces of a string that meet an object, counted along its path."""
    for at, end in enumerate(path):
        if end == name:
            yield from (segment for segment in (at - 1, at) if 0 <= segment < len(path) - 1)


def _turning(context: Context, pulley: str) -> Iterator[tuple[str, Expression]]:
    force = context.setting.force(Interaction.BEARING_TORQUE, pulley)
    if force is not None and context.setting.pulleys[pulley].bearing_torque:
        yield force.name, as_expression(context.names.bearing_torque(pulley))
    weighs = context.setting.force(Interaction.GRAVITY, pulley)
    if weighs is not None and pulley not in context.setting.movers:
        yield weighs.name, product(context.names.pulley_mass(pulley), context.names.gravity)
    if context.setting.pulleys[pulley].inertia:
        yield pulley, as_expression(context.names.angular_acceleration(pulley))
