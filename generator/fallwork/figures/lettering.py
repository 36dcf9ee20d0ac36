"""Words and formulas set out in lines: takes strings and trees, gives pieces of text with places.

Points throughout, y up. Widths come from ``widths.yaml``; the reader's face may differ a little.
"""

import textwrap
import unicodedata
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from typing import NamedTuple

from fallwork.errors import table
from fallwork.lesson.expression import Expression, Function, Product, Sum, Symbol
from fallwork.lesson.latex import plain
from fallwork.lesson.printer import plain_letter

Part = str | Expression  # words, or a formula
Line = Part | Sequence[Part]

WORD_SIZE = 10.2  # pt; near 11 px on a screen of 320 px
SYMBOL_SIZE = 11.8  # pt; the font of formulas is smaller at the same size
LINE_GAP = 2.5  # pt between the lines of a label
PART_GAP = 3.5  # pt between words and a formula
SCRIPT = 0.7  # of the size of a letter, that of its subscript
LOWERED = 0.19  # of the same, how far below the line that stands
TALL, LOW, DEEP = 0.72, 0.53, 0.21  # of the font size: above and below the line
_LOW = frozenset("acegmnopqrsuvwxyz+−=·,.αγεηικμνοπρστυφχψω")
_DEEP = frozenset("gjpqy()[]{},;/|βγηζμρφχψ")
_THIN = "\u2009"  # between the factors of a product
_ITALIC = {  # the sign for a quantity; several and capital Greek letters stay upright
    chr(code): chr(start + code - ord(first))
    for first, last, start in (("A", "Z", 0x1D434), ("a", "z", 0x1D44E), ("α", "ω", 0x1D6FC))
    for code in range(ord(first), ord(last) + 1)
} | {"h": "ℎ", "ϵ": "𝜖", "ϕ": "𝜙"}


class Piece(NamedTuple):
    """Text of one size, its left end on the base line at ``x``, ``y`` from its label's corner."""

    text: str
    size: float
    x: float
    y: float
    width: float
    formula: bool  # in the font of formulas

    @property
    def reach(self) -> tuple[float, float]:
        """How far it reaches above and below the line on which its part stands."""
        bare = _bare(self.text)
        above = self.size * (LOW if _LOW.issuperset(bare) else TALL)
        deep = "𝑓" in self.text or not _DEEP.isdisjoint(bare)  # unlike the upright letter
        return above, DEEP * self.size * deep - self.y


@dataclass(frozen=True, kw_only=True)
class Label:
    """Lines of text with the box that they take up."""

    parts: tuple[tuple[Piece, ...], ...]  # words, or the pieces of a formula
    width: float
    height: float


def set_out(*lines: Line, align: float = 0.5) -> Label:
    """Lines one above the other, evenly: ``align`` 0 flush left, 0.5 centred, 1 flush right."""
    rows = [_row(line) for line in lines]
    ends = [parts[-1][-1].x + parts[-1][-1].width for parts in rows]
    found: list[tuple[Piece, ...]] = []
    base = top = 0.0
    for parts, end in zip(reversed(rows), reversed(ends), strict=True):
        reaches = [piece.reach for part in parts for piece in part]
        above, below = (max(each) for each in zip(*reaches, strict=True))
        base = top + LINE_GAP + max(below, DEEP * WORD_SIZE) if found else below
        dx = align * (max(ends) - end)
        found += [tuple(p._replace(x=p.x + dx, y=p.y + base) for p in part) for part in parts]
        top = base + max(above, TALL * WORD_SIZE)
    return Label(parts=tuple(found), width=max(ends), height=base + above)


def _row(line: Line) -> list[tuple[Piece, ...]]:
    """The parts of one line, one after another on the base line y = 0."""
    parts, x = [], 0.0
    for part in [line] if isinstance(line, str | Expression) else line:
        pieces, formula = [], not isinstance(part, str)
        for text, lowered in _signs(part):
            size = (SYMBOL_SIZE if formula else WORD_SIZE) * (SCRIPT if lowered else 1.0)
            width = size * _width(text, "formulas" if formula else "words")
            y = -LOWERED * SYMBOL_SIZE if lowered else 0.0
            pieces.append(Piece(text, size, x, y, width, formula))
            x += width
        parts.append(tuple(pieces))
        x += PART_GAP
    return parts


def _signs(part: Part) -> Iterator[tuple[str, bool]]:
    """Words, or pieces of a formula in the order of reading, and whether each is a subscript."""
    match part:
        case str():
            yield part, False
        case Symbol():
            letter, _, subscript = plain_letter(part).partition("_")
            delta = letter.startswith("Δ")
            yield letter[:delta] + _ITALIC.get(letter[delta:], letter[delta:]), False
            if subscript:
                yield subscript, True
        case Product(factors=parts) | Sum(terms=parts):
            for at, each in enumerate(parts):
                if at:
                    yield _THIN if isinstance(part, Product) else " + ", False
                yield from _signs(each)
        case Function():
            yield f"{part.name}{_THIN}", False
            yield from _signs(part.argument)
        case _:
            yield plain(part), False


def _bare(text: str) -> str:
    """Letters without accents and slant, and no spaces."""
    return "".join(unicodedata.normalize("NFKD", text).split())


@cache
def _widths(face: str) -> Mapping[str, float]:
    rows = table("figures", "widths")[face].items()
    return {letter: float(width) / 1000 for width, letters in rows for letter in letters}


@cache
def _width(text: str, face: str) -> float:
    """In font sizes; letters of full width, as in East Asian scripts, are as wide as high."""
    known = _widths(face)
    found = (known.get(c) or known.get(_bare(c)[:1]) for c in text)
    usual = (1.0 if unicodedata.east_asian_width(c) in "WF" else known["0"] for c in text)
    return sum(width or other for width, other in zip(found, usual, strict=True))


def wrapped(words: str, width: int) -> list[str]:
    """Lines of at most that many characters; a longer word stays whole."""
    return textwrap.wrap(words, width, break_long_words=False)
