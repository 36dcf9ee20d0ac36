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
    return _rate_after(signed_start(context, name), acceleration_in(context, name), time)


def path_after(context: Context, name: str, time: Symbol) -> Expression:
    """v₀ t + ½ a t²."""
    steady = context.setting.phase.accelerations[name] == 0
    start, gain = signed_start(context, name), acceleration_in(context, name)
    return _amount_after(start, None if start is not None and steady else gain, time)


def spin_after(context: Context, pulley: str, time: Symbol) -> Expression:
    """ω₀ + α t."""
    gain = context.names.angular_acceleration(pulley)
    return _rate_after(_signed_spin(context, pulley), gain, time)


def angle_after(context: Context, pulley: str, time: Symbol) -> Expression:
    """ω₀ t + ½ α t²."""
    gain = context.names.angular_acceleration(pulley)
    return _amount_after(_signed_spin(context, pulley), gain, time)


def _rate_after(start: Expression | None, gain: Symbol, time: Symbol) -> Expression:
    grown = product(gain, time)
    return grown if start is None else total([start, grown])


def _amount_after(start: Expression | None, gain: Symbol | None, time: Symbol) -> Expression:
    """From a rate at the start, a minus sign of it in front, and what the rate gains."""
    terms: list[Expression] = []
    if start is not None:
        sign, size = (-1, -start) if isinstance(start, Negative) else (1, start)
        terms.append(signed(sign, product(size, time)))
    if gain is not None:
        terms.append(half(gain, as_expression(time) ** 2))
    return terms[0] if len(terms) == 1 else total(terms)


def _signed_spin(context: Context, pulley: str) -> Expression | None:
    """The angular velocity at the start, in the sense in which the pulley turns in the end."""
    spin = context.setting.phase.start_angular_velocities.get(pulley, 0.0)
    if not spin:
        return None
    start = as_expression(context.names.start_spin(pulley))
    return -start if spin * context.setting.spins[pulley] < 0 else start
