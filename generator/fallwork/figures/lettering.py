"""Words and formulas set out in lines: takes strings and trees, gives pieces of text with places.

Points throughout, y up. Widths come from ``widths.yaml``; the reader's face may differ a little.
"""

import textwrap
import unicodedata
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from importlib.resources import files

from fallwork.lesson.expression import Expression, Function, Number, Product, Ref, Sum
from fallwork.lesson.letters import plain_letter
from fallwork.lesson.plain import plain

Part = str | Expression  # words, or a formula
Line = Part | Sequence[Part]

WORD_SIZE = 10.2  # pt; near 11 px on a screen of 320 px
SYMBOL_SIZE = 11.8  # pt; the font of formulas is smaller at the same size
LINE_GAP = 3.0  # pt between the lines of a label
PART_GAP = 3.5  # pt between words and a formula
SCRIPT = 0.7  # of the size of a letter, that of its subscript
LOWERED = 0.19  # of the same, how far below the line that stands
TALL, LOW, DEEP = 0.72, 0.53, 0.21  # of the font size: above and below the line
_LOW = frozenset("acegmnopqrsuvwxyz+−=·,.αγεηικμνοπρστυφχψω")
_DEEP = frozenset("gjpqy()[]{},;/|βγηζμρφχψ")
_THIN = "\u2009"  # between the factors of a product


@dataclass(frozen=True, kw_only=True)
class Piece:
    """Text of one size, its left end on the base line at ``x``, ``y`` from its label's corner."""

    text: str
    size: float
    x: float
    y: float
    width: float
    formula: bool  # in the font of formulas


@dataclass(frozen=True, kw_only=True)
class Label:
    """Lines of text with the box that they take up."""

    parts: tuple[tuple[Piece, ...], ...]  # words, or the pieces of a formula
    width: float
    height: float


def set_out(*lines: Line, align: float = 0.5) -> Label:
    """Lines one above the other: ``align`` 0 flush left, 0.5 centred, 1 flush right."""
    rows = [_row(line) for line in lines]
    width = max(row.width for row, _ in rows)
    parts: list[tuple[Piece, ...]] = []
    y = 0.0
    for row, depth in reversed(rows):
        shift = align * (width - row.width)
        parts += [tuple(_moved(piece, shift, y + depth) for piece in part) for part in row.parts]
        y += row.height + LINE_GAP
    return Label(parts=tuple(parts), width=width, height=y - LINE_GAP)


def _moved(piece: Piece, dx: float, dy: float) -> Piece:
    return Piece(**{**vars(piece), "x": piece.x + dx, "y": piece.y + dy})


def _row(line: Line) -> tuple[Label, float]:
    """One line on the base line y = 0, and how deep it reaches below it."""
    parts: list[tuple[Piece, ...]] = []
    x = 0.0
    for part in [line] if isinstance(line, str | Expression) else line:
        pieces = _words(part) if isinstance(part, str) else _formula(part)
        parts.append(tuple(_moved(piece, x, 0.0) for piece in pieces))
        last = parts[-1][-1]
        x = last.x + last.width + PART_GAP
    every = [piece for part in parts for piece in part]
    above = max(p.y + p.size * (LOW if _LOW.issuperset(_bare(p.text)) else TALL) for p in every)
    below = max(p.size * DEEP * (not _DEEP.isdisjoint(_bare(p.text))) - p.y for p in every)
    return Label(parts=tuple(parts), width=x - PART_GAP, height=above + below), below


@cache
def _words(text: str) -> tuple[Piece, ...]:
    width = width_of(text)
    return (Piece(text=text, size=WORD_SIZE, x=0.0, y=0.0, width=width, formula=False),)


def width_of(words: str) -> float:
    """The width of words in points."""
    return _width(words, "words") * WORD_SIZE


@cache
def _formula(tree: Expression) -> tuple[Piece, ...]:
    pieces = []
    x = 0.0
    for text, subscript in _signs(tree):
        size = SYMBOL_SIZE * (SCRIPT if subscript else 1.0)
        y = -LOWERED * SYMBOL_SIZE if subscript else 0.0
        width = size * _width(text, "formulas")
        pieces.append(Piece(text=text, size=size, x=x, y=y, width=width, formula=True))
        x += width
    return tuple(pieces)


def _signs(tree: Expression) -> Iterator[tuple[str, bool]]:
    """Pieces of a formula in the order of reading, and whether each is a subscript."""
    match tree:
        case Ref():
            letter, _, subscript = plain_letter(tree.symbol).partition("_")
            yield "".join(map(_italic, letter)), False
            if subscript:
                yield subscript, True
        case Product() | Sum():
            parts, gap = (tree.factors, _THIN) if isinstance(tree, Product) else (tree.terms, " + ")
            for at, part in enumerate(parts):
                if at:
                    yield gap, False
                yield from _signs(part)
        case Function():
            yield f"{tree.name}{_THIN}", False
            yield from _signs(tree.argument)
        case Number():
            yield str(tree.value), False
        case _:
            raise NotImplementedError(f"a label can't hold {plain(tree)}")


def _italic(letter: str) -> str:
    """A letter as the sign for a quantity; capital Greek letters stay upright."""
    for first, last, start in (("A", "Z", 0x1D434), ("a", "z", 0x1D44E), ("α", "ω", 0x1D6FC)):
        if first <= letter <= last:
            return "ℎ" if letter == "h" else chr(start + ord(letter) - ord(first))
    return {"ϵ": "𝜖", "ϕ": "𝜙"}.get(letter, letter)


def _bare(text: str) -> str:
    """Letters without accents and slant."""
    return "".join(letter for letter in unicodedata.normalize("NFKD", text) if letter != " ")


@cache
def _widths() -> Mapping[str, Mapping[str, float]]:
    import yaml

    text = files(__package__).joinpath("widths.yaml").read_text(encoding="utf-8")
    return {
        face: {letter: width / 1000 for width, letters in table.items() for letter in letters}
        for face, table in yaml.safe_load(text).items()
    }


def _width(text: str, face: str) -> float:
    """In font sizes."""
    known = _widths()[face]
    usual = known["0"]
    return sum(known.get(c) or known.get(_bare(c)[:1], usual) for c in text)


def wrapped(words: str, width: int) -> list[str]:
    """Lines of at most that many characters; a longer word stays whole."""
    return textwrap.wrap(words, width, break_long_words=False)
