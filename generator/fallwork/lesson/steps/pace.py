"""Speed and path of each mover, and spin and angle of each pulley, after a time: as trees.

Takes a context, a name and the symbol of the time; signs are in the lesson's sense of motion.
"""

from fallwork.lesson.context import Context
from fallwork.lesson.expression import Expression, Negative, Symbol, as_expression
from fallwork.lesson.trees import half, product, signed, total


def start_of(context: Context, name: str) -> Symbol | None:
    """The speed at the start of a mover; None where that is zero."""
    if not context.setting.first_speed(name):
        return None
    return context.names.start_speed_of(name)


def signed_start(context: Context, name: str) -> Expression | None:
    """The velocity at the start in the lesson's sense: minus the speed if it leads back."""
    start = start_of(context, name)
    if start is None:
        return None
    return -as_expression(start) if context.setting.starts_back(name) else as_expression(start)


def acceleration_in(context: Context, name: str) -> Symbol:
    """The acceleration of a mover; the common one where it shares that."""
    if context.setting.tied and context.setting.ratio(name) == 1:
        return context.names.acceleration
    return context.names.acceleration_of(name)


def speed_after(context: Context, name: str, time: Symbol) -> Expression:
    """v₀ + a t."""
    start, grown = signed_start(context, name), product(acceleration_in(context, name), time)
    return grown if start is None else total([start, grown])


def path_after(context: Context, name: str, time: Symbol) -> Expression:
    """v₀ t + ½ a t²."""
    start = start_of(context, name)
    grown = half(acceleration_in(context, name), as_expression(time) ** 2)
    if start is None:
        return grown
    sign = -1 if context.setting.starts_back(name) else 1
    way = signed(sign, product(start, time))
    return way if context.setting.phase.accelerations[name] == 0 else total([way, grown])


def spin_after(context: Context, pulley: str, time: Symbol) -> Expression:
    """ω₀ + α t."""
    grown = product(context.names.angular_acceleration(pulley), time)
    start = _signed_spin(context, pulley)
    return grown if start is None else total([start, grown])


def angle_after(context: Context, pulley: str, time: Symbol) -> Expression:
    """ω₀ t + ½ α t²."""
    grown = half(context.names.angular_acceleration(pulley), as_expression(time) ** 2)
    start = _signed_spin(context, pulley)
    if start is None:
        return grown
    sign, size = (-1, -start) if isinstance(start, Negative) else (1, start)
    return total([signed(sign, product(size, time)), grown])


def _signed_spin(context: Context, pulley: str) -> Expression | None:
    """The angular velocity at the start, in the sense in which the pulley turns in the end."""
    spin = context.setting.phase.start_angular_velocities.get(pulley, 0.0)
    if not spin:
        return None
    start = as_expression(context.names.start_spin(pulley))
    return -start if spin * context.setting.spins[pulley] < 0 else start
