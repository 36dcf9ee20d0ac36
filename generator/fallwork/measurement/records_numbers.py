"""Numbers as they stand in cells: decimal point or comma, signs, marks for a missing value.

Takes texts; gives floats, NaN for what is missing.
"""

import re
from collections.abc import Sequence
from math import nan

import numpy as np

from fallwork.measurement.model import Array

MISSING = frozenset(
    ["", "nan", "n/a", "na", "#n/a", "null", "none", "-", "–", "—", "--", "---", "?"]
)
_BODY = r"(?:[0-9]+(?:[.,][0-9]*)?|[.,][0-9]+)(?:[eE][+\-−]?[0-9]+)?"
_NUMBER = re.compile(rf"[+\-−]?(?:{_BODY}|inf|∞)", re.I)


def is_number(text: str) -> bool:
    """Whether a cell holds a number, with a decimal point or a comma."""
    return _NUMBER.fullmatch(text) is not None


def is_missing(text: str) -> bool:
    """Whether a cell says that there is no value."""
    return text.lower() in MISSING


def number(text: str, *, comma: bool) -> float:
    """The value of a cell; NaN where it is missing; raises ValueError for anything else.

    ``comma`` says which decimal sign the file uses; a number with the other one gives NaN, for
    a file that mixes them is refused as a whole.
    """
    if is_missing(text):
        return nan
    if not is_number(text):
        raise ValueError(text)
    if ("." if comma else ",") in text:
        return nan
    return float(text.replace("−", "-").replace(",", ".").replace("∞", "inf"))


def plain_numbers(cells: Sequence[str]) -> Array | None:
    """All cells at once where they are plain numbers or empty; None where one needs a look."""
    if "_" in " ".join(cells):  # which Python would read as 1_000
        return None
    try:
        return np.array([float(cell or "nan") for cell in cells])
    except ValueError:
        return None
