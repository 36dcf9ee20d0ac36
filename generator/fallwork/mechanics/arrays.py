"""Arithmetic with floats and arrays mixed, in which a plain 0 or 1 costs nothing.

Takes and gives ``Number``; a float stands for the same value in every case of a batch. Rows have
one number a coordinate or a span: an array of floats for a single case, else a tuple.
"""

from collections.abc import Iterable, Sequence
from typing import Any

import numpy as np

from fallwork.mechanics.apparatus import Number
from fallwork.mechanics.bounded import Array

Rows = Any  # an array with one axis, or where there are many cases a tuple of numbers and arrays


def is_plain(value: Number, wanted: float) -> bool:
    """Whether a number is the float ``wanted``, so that arithmetic with it can be left out."""
    return isinstance(value, float | int) and value == wanted


def given(value: Number) -> bool:
    """Whether a number differs from zero anywhere."""
    values = np.ravel(value)
    return bool(values[0] != 0 or np.any(values))


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


def combined(factors: Iterable[float], rows: Iterable[Number]) -> Number:
    """The sum of factors × rows."""
    total: Number = 0.0
    for factor, row in zip(factors, rows, strict=True):
        total = plus(total, float(factor), row)
    return total


def as_rows(values: Sequence[Number]) -> Rows:
    """Rows of numbers: an array where all of them are single ones."""
    if any(np.ndim(value) for value in values):
        return tuple(values)
    return np.array(values, dtype=float)


def first_of(rows: Rows) -> Array:
    """The numbers of the first case."""
    return np.array([row if np.ndim(row) == 0 else np.ravel(row)[0] for row in rows], dtype=float)


def some_of(rows: Rows, cases: Any) -> Rows:
    """Some of the cases, by an index as NumPy takes it."""
    return as_rows([np.asarray(row)[cases] if np.ndim(row) else row for row in rows])
