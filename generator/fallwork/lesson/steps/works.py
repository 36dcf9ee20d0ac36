"""The work of each force as a tree: its component along the motion of its point, times the path.

Takes a context and a force; gives the signed tree, or None where no short formula exists.
"""

from collections.abc import Callable, Mapping

from fallwork.lesson.context import Context
from fallwork.lesson.expression import Expression, as_expression
from fallwork.lesson.trees import product, signed
from fallwork.mechanics.solution import Force, Interaction


def work_tree(context: Context, force: Force) -> Expression | None:
    """The work of a force over the phase; its sign is that of the solver."""
    if not force.work:
        return None
    if force.on in context.setting.movers:
        size = _along(context, force)
        return _signed(force, product(size, context.motion.distance_tree(force.on)))
    special = _SPECIAL.get(force.interaction)
    return special(context, force) if special is not None else None


def _along(context: Context, force: Force) -> Expression:
    size = context.motion.size(force)
    sine = context.motion.sine(force.on)
    if force.interaction is Interaction.GRAVITY and sine is not None:
        return product(size, sine)
    return size


def _signed(force: Force, size: Expression) -> Expression:
    return signed(-1 if (force.work or 0.0) < 0 else 1, size)


def _end_of_string(context: Context, force: Force) -> Expression | None:
    """What an object at its end does to a string: minus what the string does to the object."""
    if force.partner not in context.setting.movers:
        return None
    tension = as_expression(context.names.tension(force.on, force.partner))
    return _signed(force, product(tension, context.motion.distance_tree(force.partner)))


def _rim(context: Context, force: Force) -> Expression | None:
    """String and a pulley that takes a torque: the difference of the two tensions."""
    setting = context.setting
    pulley, string = (
        (force.on, force.partner) if force.on in setting.pulleys else (force.partner, force.on)
    )
    if pulley in setting.movers or not setting.tied:
        return None
    path = setting.apparatus.strings[string].path
    distance = context.motion.rim_distance(pulley)
    before = as_expression(context.names.tension(string, pulley))
    if pulley in (path[0], path[-1]):
        return _signed(force, product(before, distance))
    after = as_expression(context.names.tension(string, pulley, after=True))
    stretches = [context.names.stretch(string, pulley, after=late) for late in (False, True)]
    larger, smaller = (
        (after, before) if stretches[1].tension >= stretches[0].tension else (before, after)
    )
    return _signed(force, product(larger - smaller, distance))


def _bearing(context: Context, force: Force) -> Expression | None:
    drag = context.motion.rotor_drag(force.on)
    if drag is None or not context.setting.tied:
        return None
    return _signed(force, product(drag, context.motion.rim_distance(force.on)))


_SPECIAL: Mapping[Interaction, Callable[[Context, Force], Expression | None]] = {
    Interaction.TENSION: _end_of_string,
    Interaction.CONTACT: _rim,
    Interaction.BEARING_TORQUE: _bearing,
}
