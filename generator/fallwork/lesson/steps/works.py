"""The work of each force as a tree: its component along the motion of its point, times the path.

Takes a context and a force; gives the signed tree, or None where no short formula exists.
"""

from collections.abc import Callable, Mapping

from fallwork.lesson.context import Context
from fallwork.lesson.expression import Expression, as_expression
from fallwork.lesson.trees import ZERO, product, signed, total
from fallwork.mechanics.solution import Force, Interaction


def work_tree(context: Context, force: Force) -> Expression | None:
    """The work of a force over the phase; its sign is that of the solver."""
    if force.work == 0:
        return None
    if force.on in context.setting.movers:
        return _on_mover(context, force)
    special = _SPECIAL.get(force.interaction)
    return special(context, force) if special is not None and force.work is not None else None


def potential_tree(context: Context, name: str) -> Expression:
    """The change of potential energy of an object and Earth: minus the work of gravity."""
    gravity = context.setting.force(Interaction.GRAVITY, name)
    assert gravity is not None
    return -(work_tree(context, gravity) or ZERO)


def _on_mover(context: Context, force: Force) -> Expression | None:
    size = _along(context, force)
    if size is None:
        return None
    along = context.setting.along(force)
    sign = 1 if (along or 0.0) * context.setting.senses[force.on] > 0 else -1
    return signed(sign, product(size, context.motion.distance_tree(force.on)))


def _along(context: Context, force: Force) -> Expression | None:
    """The size of the component along the motion; None for a turning pulley's two pulls."""
    size = context.motion.size(force)
    sine = context.motion.sine(force.on)
    if force.interaction is Interaction.GRAVITY and sine is not None:
        return product(size, sine)
    rolls = force.on in context.setting.rotors and force.interaction is Interaction.CONTACT
    return None if rolls else size


def _end_of_string(context: Context, force: Force) -> Expression | None:
    """What an object at its end does to a string: minus what the string does to the object."""
    setting = context.setting
    if force.partner not in setting.movers:
        return _rim(context, force) if _is_pulley(context, force) else None
    tension = as_expression(context.names.tension(force.on, force.partner))
    return _signed(force, product(tension, context.motion.distance_tree(force.partner)))


def _is_pulley(context: Context, force: Force) -> bool:
    return force.partner in context.setting.pulleys or force.on in context.setting.pulleys


def _rim(context: Context, force: Force) -> Expression | None:
    """String and a pulley that takes a torque: the difference of the two tensions."""
    setting, names = context.setting, context.names
    pulley, string = (
        (force.on, force.partner) if force.on in setting.pulleys else (force.partner, force.on)
    )
    if pulley in setting.movers or pulley not in setting.rotors or not setting.tied:
        return None
    path = setting.apparatus.strings[string].path
    distance = context.motion.rim_distance(pulley)
    if pulley in (path[0], path[-1]):
        tension = as_expression(names.tension(string, pulley, after=pulley == path[0]))
        return _signed(force, product(tension, distance))
    before, after = (names.tension(string, pulley, after=late) for late in (False, True))
    pulls = [names.stretch(string, pulley, after=late).tension or 0.0 for late in (False, True)]
    larger, smaller = (after, before) if pulls[1] >= pulls[0] else (before, after)
    return _signed(force, product(total([larger, -as_expression(smaller)]), distance))


def _signed(force: Force, size: Expression) -> Expression:
    return signed(-1 if (force.work or 0.0) < 0 else 1, size)


def _bearing(context: Context, force: Force) -> Expression | None:
    """τ times the angle, which is the length of string over the radius."""
    if not context.setting.tied:
        return None
    torque = as_expression(context.names.bearing_torque(force.on))
    angle = context.motion.rim_distance(force.on) / context.names.radius(force.on)
    return _signed(force, product(torque, angle))


_SPECIAL: Mapping[Interaction, Callable[[Context, Force], Expression | None]] = {
    Interaction.TENSION: _end_of_string,
    Interaction.CONTACT: _rim,
    Interaction.BEARING_TORQUE: _bearing,
}
