"""How wide a formula is and where its rows break, so that it fits a phone.

Takes a formula as a row of fragments, each with an estimated width and the depth of the operator
before which a row may break; gives rows. Knows nothing of trees, symbols or numbers.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

INDENT = 1.0  # em, of a row that goes on with the row above

# Advance widths in em, rounded up, of the mathematical font that the site ships.
_WIDTHS = {
    **dict.fromkeys("0123456789", 0.5),
    **dict.fromkeys("abcdefghijklmnopqrstuvwxyz", 0.55),
    **dict.fromkeys("ABCDEFGHIJKLMNOPQRSTUVWXYZ", 0.75),
    **dict.fromkeys("mw%", 0.8),
    **dict.fromkeys("fijlrst()[]/", 0.4),
    **dict.fromkeys(".,·⋅ ", 0.3),
    "-": 0.7,
    "°": 0.4,
}
_OTHER = 0.7
OPERATOR = 1.25  # a plus, minus, times or relation sign with the space around it
SLASH = 0.5
BRACKETS = 0.8  # a pair
SCRIPT = 0.72  # size of subscripts and exponents
RADICAL = 0.9
BAR = 0.3  # what a fraction adds to its wider part
THIN = 0.17  # a thin space


@dataclass(frozen=True, kw_only=True)
class Fragment:
    """A stretch of a formula that stays together, with the operator that it opens with."""

    latex: str
    width: float  # em, estimated
    depth: int | None = None  # of that operator in the tree; None: no row breaks before it
    tall: bool = False  # holds a fraction or a root


def text_width(text: str, *, size: float = 1.0) -> float:
    """The estimated width in em of plain characters."""
    return size * sum(_WIDTHS.get(sign, _OTHER) for sign in text)


def width(fragments: Iterable[Fragment]) -> float:
    """The estimated width in em of fragments side by side."""
    return sum(fragment.width for fragment in fragments)


def joined(fragments: Iterable[Fragment]) -> str:
    """The fragments as one LaTeX formula."""
    return " ".join(fragment.latex for fragment in fragments)


def prefixed(
    fragments: Sequence[Fragment], sign: str, extra: float, depth: int | None
) -> list[Fragment]:
    """The fragments with an operator in front, before which a row may break at ``depth``."""
    first = fragments[0]
    opened = replace(
        first,
        latex=f"{sign} {first.latex}" if sign else first.latex,
        width=first.width + extra,
        depth=depth,
    )
    return [opened, *fragments[1:]]


def bracketed(fragments: Sequence[Fragment], room: float) -> list[Fragment]:
    """The fragments in round brackets: as tall as they are where they fit one row."""
    total = width(fragments) + BRACKETS
    if any(fragment.tall for fragment in fragments) and total <= room:
        inner = joined(fragments)
        return [Fragment(latex=rf"\left({inner}\right)", width=total, tall=True)]
    half = BRACKETS / 2
    first, *rest = fragments
    first = replace(first, latex=f"({first.latex}", width=first.width + half, depth=None)
    *opened, last = first, *rest
    return [*opened, replace(last, latex=f"{last.latex})", width=last.width + half)]


def rows(fragments: Sequence[Fragment], room: float) -> list[list[Fragment]]:
    """The fragments in rows no wider than ``room`` where that can be done.

    Rows break at the outermost operators first; all but the first are indented.
    """
    if width(fragments) <= room:
        return [list(fragments)]
    depths = [fragment.depth for fragment in fragments[1:] if fragment.depth is not None]
    if not depths:
        return [list(fragments)]
    lines: list[list[Fragment]] = []
    for group in _groups(fragments, min(depths)):
        left = room - (INDENT if lines else 0)
        if lines and width(lines[-1]) + width(group) <= left + (INDENT if len(lines) == 1 else 0):
            lines[-1].extend(group)
        else:
            lines.extend(rows(group, left))
    return lines


def _groups(fragments: Sequence[Fragment], depth: int) -> list[list[Fragment]]:
    groups = [[fragments[0]]]
    for fragment in fragments[1:]:
        if fragment.depth == depth:
            groups.append([fragment])
        else:
            groups[-1].append(fragment)
    return groups
