"""What stops the publication of a site; its sentences stand in ``refused.yaml``."""

from collections.abc import Iterable
from functools import partial
from pathlib import Path

from fallwork.errors import FallworkError, Place
from fallwork.errors import said as _said

said = partial(_said, "site")


class PublicationError(FallworkError):
    """A site that wasn't published; what stood there before still stands."""


def require(problems: Iterable[str]) -> None:
    """Raise ``PublicationError`` with all problems, if there are any."""
    if told := "\n".join(problems):
        raise PublicationError(told)


def place_of(file: Path, text: str, below: str = "") -> Place:
    """Where a text stands in a file first, ``below`` a line; its beginning where it doesn't."""
    lines = file.read_text("utf-8", errors="replace").splitlines() if file.is_file() else []
    start = next((n for n, line in enumerate(lines) if below and line.startswith(below)), 0)
    for number, line in enumerate(lines, start=1):
        if number > start and text in line:
            return Place(file=str(file), line=number, column=line.index(text) + 1)
    return Place(file=str(file))
