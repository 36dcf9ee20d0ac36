"""The signs of formulas: how they are written, how wide they are, and where rows break.

Takes symbols and units as the lesson has them (``Delta K``, ``m/s²``), and formulas as rows of
fragments, each with an estimated width and the depth of the operator before which a row may break;
gives fragments and rows that fit a phone. Knows nothing of trees.
"""

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

from fallwork.lesson.expression import Symbol
from fallwork.lesson.rounding import RAISED

INDENT = 1.0  # em, of a row that goes on with the row above
DIGITS = str.maketrans(RAISED, "-0123456789")

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

_GREEK = (
    ("alpha beta gamma delta epsilon eta theta kappa ell lambda mu", "αβγδϵηθκℓλμ"),
    ("nu rho sigma tau phi psi omega", "νρστϕψω"),
    ("Gamma Delta Theta Lambda Sigma Phi Omega", "ΓΔΘΛΣΦΩ"),
)
_NAMED = {w: sign for words, signs in _GREEK for w, sign in zip(words.split(), signs, strict=True)}


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


def letter(symbol: Symbol) -> Fragment:
    r"""A symbol with its upright subscript, e.g. ``\Delta K_\mathrm{c}``."""
    words = symbol.letter.split()
    code = " ".join(f"\\{word}" if word in _NAMED else word for word in words)
    size = sum(text_width(_NAMED.get(word, word)) for word in words)
    if symbol.subscript:
        code += rf"_\mathrm{{{symbol.subscript.replace(' ', '~')}}}"
        size += text_width(symbol.subscript, size=SCRIPT)
    return Fragment(latex=code, width=size)


def plain_letter(symbol: Symbol) -> str:
    """A symbol in plain text, e.g. ``ΔK_c``."""
    name = "".join(_NAMED.get(word, word) for word in symbol.letter.split())
    return f"{name}_{symbol.subscript}" if symbol.subscript else name


def unit(text: str) -> Fragment:
    r"""A unit with the space before it: ``\,\mathrm{m/s^2}``, ``^\circ``, or nothing."""
    if text in ("", "°"):
        return Fragment(latex=r"^\circ" if text else "", width=text_width(text))
    scripts = "".join(re.findall(f"[{RAISED}]", text))
    size = THIN + text_width(text) - text_width(scripts) + text_width(scripts, size=SCRIPT)
    if text == "%":
        return Fragment(latex=r"\,\%", width=size)
    code = re.sub(f"[{RAISED}]+", lambda match: script("^", match[0].translate(DIGITS)), text)
    code = code.replace("·", r"{\cdot}").replace(" ", r"\,")
    return Fragment(latex=rf"\,\mathrm{{{code}}}", width=size)


def script(sign: str, text: str) -> str:
    """An exponent in LaTeX, in braces where it has several signs."""
    return sign + (text if len(text) == 1 else f"{{{text}}}")


def plain_unit(text: str) -> str:
    """A unit with the space before it in plain text; none before the sign of degrees."""
    return text if text in ("", "°") else f" {text}"


def prefixed(
    fragments: Sequence[Fragment], sign: str, extra: float, depth: int | None = None
) -> list[Fragment]:
    """The fragments with an operator in front, before which a row may break at ``depth``."""
    first, *rest = fragments
    opened = replace(first, latex=sign + first.latex, width=first.width + extra, depth=depth)
    return [opened, *rest]


def bracketed(fragments: Sequence[Fragment], room: float) -> list[Fragment]:
    """The fragments in round brackets: as tall as they are where they fit one row."""
    total = width(fragments) + BRACKETS
    if any(fragment.tall for fragment in fragments) and total <= room:
        inner = joined(fragments)
        return [Fragment(latex=rf"\left({inner}\right)", width=total, tall=True)]
    *opened, last = prefixed(fragments, "(", BRACKETS / 2)
    return [*opened, replace(last, latex=f"{last.latex})", width=last.width + BRACKETS / 2)]


def rows(fragments: Sequence[Fragment], room: float) -> list[list[Fragment]]:
    """The fragments in rows no wider than ``room`` where that can be done.

    Rows break at the outermost operators first; all but the first are indented.
    """
    depths = [fragment.depth for fragment in fragments[1:] if fragment.depth is not None]
    if not depths or width(fragments) <= room:
        return [list(fragments)]
    starts = [0, *(i for i, each in enumerate(fragments) if i and each.depth == min(depths))]
    lines: list[list[Fragment]] = []
    for start, end in zip(starts, [*starts[1:], None], strict=True):
        group = fragments[start:end]
        left = room - (INDENT if len(lines) > 1 else 0)
        if lines and width(lines[-1]) + width(group) <= left:
            lines[-1].extend(group)
        else:
            lines.extend(rows(group, room - (INDENT if lines else 0)))
    return lines
