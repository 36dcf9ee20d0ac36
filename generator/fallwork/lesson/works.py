"""The work of each force as a tree: its component along the motion of its point, times the path.

Takes a context and a force; gives the signed tree, or None where no short formula exists.
"""

from collections.abc import Callable, Mapping

from fallwork.lesson.context import Context
from fallwork.lesson.expression import Expression, as_expression
from fallwork.lesson.trees import ZERO, opposite, product, scaled, signed, total
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


def _on_mover(context: Context, force: Force) -> Expression:
    along = context.setting.along(force)
    sign = 1 if (along or 0.0) * context.setting.ways[force.on] > 0 else -1
    moving = signed(sign, product(_along(context, force), context.motion.distance_tree(force.on)))
    if turns_as_well(context, force):
        return total([moving, _turning(context, force.on)])
    return moving


def gathered(context: Context, force: Force) -> Expression | None:
    """The work of a force by the common distance, each tension only once."""
    setting, motion = context.setting, context.motion
    if not (setting.tied and turns_as_well(context, force)):
        return work_tree(context, force)
    along = setting.along(force) or 0.0
    moved = setting.ratio(force.on) * (1 if along * setting.ways[force.on] > 0 else -1)
    turned = setting.rim(force.on)
    shares = [
        (moved + setting.onward * sign * turned, pull) for sign, pull in motion.rim_pulls(force.on)
    ]
    distance = context.names.distance
    return total(scaled(share, product(pull, distance)) for share, pull in shares if share)


def _along(context: Context, force: Force) -> Expression:
    """The size of the component along the motion."""
    size = context.motion.size(force)
    sine = context.motion.sine(force.on)
    if force.interaction is Interaction.GRAVITY and sine is not None:
        return product(size, sine)
    return size


def turns_as_well(context: Context, force: Force) -> bool:
    """Whether a force is that of a string on a moving pulley which takes a torque to turn."""
    return force.on in context.setting.rotors and force.interaction is Interaction.CONTACT


def _turning(context: Context, pulley: str) -> Expression:
    """What the difference of the tensions does by turning a moving pulley."""
    pulls = context.motion.rim_pulls(pulley)
    onward = context.setting.onward
    difference = total(signed(onward * sign, tension) for sign, tension in pulls)
    return product(difference, context.motion.rim_distance(pulley))


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
    if pulley in setting.movers:
        return _back_from(context, force)
    if pulley not in setting.rotors:
        return None
    path = setting.apparatus.strings[string].path
    distance = context.motion.rim_distance(pulley)
    if pulley in (path[0], path[-1]):
        tension = as_expression(names.tension(string, pulley, after=pulley == path[0]))
        return _signed(force, product(tension, distance))
    before, after = (names.tension(string, pulley, after=late) for late in (False, True))
    pulls = [names.stretch(string, pulley, after=late).tension or 0.0 for late in (False, True)]
    larger, smaller = (after, before) if pulls[1] >= pulls[0] else (before, after)
    return _signed(force, product(total([larger, -smaller]), distance))


def _back_from(context: Context, force: Force) -> Expression | None:
    """What a moving pulley does to the string that passes it: minus what the string does to it."""
    for other in context.setting.phase.forces:
        both_ways = (other.on, other.partner) == (force.partner, force.on)
        if both_ways and other.interaction is force.interaction and other.work:
            return opposite(_on_mover(context, other))
    return None


def _signed(force: Force, size: Expression) -> Expression:
    return signed(-1 if (force.work or 0.0) < 0 else 1, size)


def _bearing(context: Context, force: Force) -> Expression | None:
    """τ times the angle, which is the length of string over the radius."""
    torque = as_expression(context.names.bearing_torque(force.on))
    angle = context.motion.rim_distance(force.on) / context.names.radius(force.on)
    return _signed(force, product(torque, angle))


_SPECIAL: Mapping[Interaction, Callable[[Context, Force], Expression | None]] = {
    Interaction.TENSION: _end_of_string,
    Interaction.CONTACT: _rim,
    Interaction.BEARING_TORQUE: _bearing,
}
