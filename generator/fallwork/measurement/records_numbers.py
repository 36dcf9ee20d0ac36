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
_SIGNS = str.maketrans({"−": "-", ",": ".", "∞": "inf"})


def is_number(text: str) -> bool:
    """Whether a cell holds a number, with a decimal point or a comma."""
    return _NUMBER.fullmatch(text) is not None


def numbers(cells: Sequence[str], *, comma: bool) -> tuple[Array, list[int]]:
    """The values of a column, and which of its cells hold neither a number nor a missing one.

    ``comma`` says which decimal sign the file uses; a number with the other one gives NaN, for
    a file that mixes them is refused as a whole.
    """
    if not comma and "_" not in "".join(cells):  # which Python would read as 1_000
        try:
            return np.array([float(cell or "nan") for cell in cells]), []
        except ValueError:
            pass  # some cell needs a closer look
    found = [_number(cell, "." if comma else ",") for cell in cells]
    values = np.array([nan if value is None else value for value in found])
    return values, [at for at, value in enumerate(found) if value is None]


def _number(text: str, wrong: str) -> float | None:
    if text.lower() in MISSING:
        return nan
    if not is_number(text):
        return None
    return nan if wrong in text else float(text.translate(_SIGNS))
