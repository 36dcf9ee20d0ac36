"""Arithmetic with floats and arrays mixed, in which a plain 0 or 1 costs nothing.

Takes and gives ``Number``; a float stands for the same value in every case of a batch.
"""

import numpy as np

from fallwork.mechanics.apparatus import Number


def is_plain(value: Number, wanted: float) -> bool:
    """Whether a number is the float ``wanted``, so that arithmetic with it can be left out."""
    return isinstance(value, float | int) and value == wanted


def given(value: Number) -> bool:
    """Whether a number differs from zero anywhere."""
    return bool(np.any(np.asarray(value) != 0))


def times(one: Number, other: Number) -> Number:
    """Product."""
    if is_plain(one, 0.0) or is_plain(other, 0.0):
        return 0.0
    if is_plain(one, 1.0):
        return other
    return one if is_plain(other, 1.0) else one * other


def plus(total: Number, factor: float, value: Number) -> Number:
    """total + factor × value."""
    if factor == 0 or is_plain(value, 0.0):
        return total
    if is_plain(total, 0.0):
        return value if factor == 1 else -value if factor == -1 else factor * value
    if factor == 1:
        return total + value
    return total - value if factor == -1 else total + factor * value
