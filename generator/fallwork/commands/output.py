"""What several commands print alike: columns, JSON and counts."""

import json
from collections.abc import Sequence
from typing import Any


def columns(rows: Sequence[Sequence[str]], indent: int = 2, widest: int | None = None) -> list[str]:
    """Rows with their cells below one another; of the first column at most ``widest`` letters
    count, and of each cell only if something stands behind it.
    """
    widths = [
        max((len(row[at]) for row in rows if any(row[at + 1 :])), default=0)
        for at in range(max(map(len, rows), default=0))
    ]
    if widths and widest is not None:
        widths[0] = min(widths[0], widest)
    return [
        " " * indent + "  ".join(map(str.ljust, row, widths[: len(row)])).rstrip() for row in rows
    ]


def as_json(content: Any) -> list[str]:
    """The same bytes for the same content."""
    return [json.dumps(content, indent=2, ensure_ascii=False, allow_nan=False)]


def counted(number: int, noun: str) -> str:
    """``1 trial``, ``2 trials``."""
    return f"{number} {noun}{'' if number == 1 else 's'}"
