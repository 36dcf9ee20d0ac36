"""From the bytes of a file to lines of cells: encoding, comments, the sign between cells.

Takes bytes; gives text and rows with their line numbers. What a cell means is left to others.
"""

import codecs
import csv
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from typing import NamedTuple

LARGEST_FILE = 64 * 1024 * 1024  # bytes; an hour of a thousand samples a second stays below
COMMENTS = ("#", "%", "//")
SEPARATORS = ("\t", ";", ",")  # the first that fits is taken
NAMES = {"\t": "tabs", ";": "semicolons", ",": "commas"}
LOOKED_AT = 200  # lines from which the separator is told
_MARKS = (
    (codecs.BOM_UTF8, "utf-8-sig", "UTF-8"),
    (codecs.BOM_UTF16_LE, "utf-16", "UTF-16"),
    (codecs.BOM_UTF16_BE, "utf-16", "UTF-16"),
)

_PACKED = (  # what a file begins with (from memory), and what it then is
    (b"PK\x03\x04", "the file is packed, as spreadsheets are, and no text"),
    (b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1", "the file is an old spreadsheet and no text"),
    (b"\x1f\x8b", "the file is compressed and no text"),
    (b"%PDF-", "the file is a PDF and no text"),
    (b"\x89PNG", "the file is a picture and no text"),
    (b"\xff\xd8\xff", "the file is a picture and no text"),
)


class UnreadableTextError(Exception):
    """Bytes that are no text, with what would be right."""

    def __init__(self, found: str, expected: str) -> None:
        super().__init__(found, expected)
        self.found = found
        self.expected = expected


class Row(NamedTuple):  # quickly made: a record may have a million
    """One line of the file, cut into cells; blanks around a cell are taken off."""

    line: int  # from 1
    text: str
    cells: tuple[str, ...]
    starts: tuple[int, ...] | None = None  # columns from 1; None: cut at every separator

    def column(self, cell: int, separator: str) -> int:
        """Where a cell begins, from 1."""
        if cell >= len(self.cells):
            return len(self.text) + 1
        if self.starts is not None:
            return self.starts[cell]
        pieces = self.text.split(separator)
        blank = len(pieces[cell]) - len(pieces[cell].lstrip())
        return sum(len(piece) + 1 for piece in pieces[:cell]) + blank + 1


@dataclass(frozen=True, kw_only=True)
class Table:
    """The rows of a file that are neither blank nor comments."""

    rows: tuple[Row, ...]
    separator: str
    comments: tuple[tuple[int, str], ...]  # with their lines
    notes: tuple[str, ...]


def decoded(content: bytes) -> tuple[str, str | None]:
    """The text and, where the encoding is anything but plain UTF-8, a note that names it."""
    for mark, codec, name in _MARKS:
        if content.startswith(mark):
            try:
                return content.decode(codec), f"the file is {name} with a byte order mark"
            except UnicodeDecodeError:
                raise UnreadableTextError(
                    f"the file begins as {name} but goes on as something else",
                    "save it as CSV in UTF-8",
                ) from None
    if b"\0" in content[:4096] or content.startswith(tuple(mark for mark, _ in _PACKED)):
        return _without_mark(content)
    try:
        return content.decode("utf-8"), None
    except UnicodeDecodeError:
        return content.decode("cp1252", "replace"), "the file is not UTF-8: read as Windows-1252"


def _without_mark(content: bytes) -> tuple[str, str | None]:
    """UTF-16 without its mark has a zero in every second byte; anything else is no text."""
    start = content[:4096]
    for codec, high in (("utf-16-le", start[1::2]), ("utf-16-be", start[0::2])):
        if high.count(0) > 0.9 * len(high) and len(content) % 2 == 0:
            try:
                return content.decode(codec), "the file is UTF-16 without a byte order mark"
            except UnicodeDecodeError:
                break
    kind = next((kind for mark, kind in _PACKED if content.startswith(mark)), "the file is no text")
    raise UnreadableTextError(kind, "save the record as CSV, with the numbers as text")


def table_of(text: str) -> Table:
    """The rows of a text; ``separator`` is empty where none of the known ones cuts its lines."""
    lines = text.replace("\r\n", "\n").replace("\r", "\n").split("\n")
    kept = [(at, line) for at, line in enumerate(lines, start=1) if line.strip()]
    comments = tuple((at, line.strip()) for at, line in kept if _is_comment(line))
    if comments:
        kept = [(at, line) for at, line in kept if not _is_comment(line)]
    separator = _separator([line for _, line in kept[:LOOKED_AT]])
    rows = tuple(_row(at, line, separator) for at, line in kept) if separator else ()
    notes = (f"{NAMES[separator]} between the values",) if separator in (";", "\t") else ()
    return Table(rows=rows, separator=separator, comments=comments, notes=notes)


def _is_comment(line: str) -> bool:
    return line.lstrip().lstrip('"').startswith(COMMENTS)


def _separator(lines: Sequence[str]) -> str:
    """The sign that cuts most lines into one and the same number of cells, two at least."""
    for sign in SEPARATORS:
        counts = Counter(len(_cut(line, sign)[0]) for line in lines)
        number, how_often = max(counts.items(), key=lambda item: (item[1], item[0]), default=(0, 0))
        if number >= 2 and how_often > len(lines) / 2:
            return sign
    return ""


def _row(line: int, text: str, separator: str) -> Row:
    return Row(line, text, *_cut(text, separator))


def _cut(text: str, separator: str) -> tuple[tuple[str, ...], tuple[int, ...] | None]:
    """Cells and, where quotes make it hard to tell later, the columns at which they begin."""
    if '"' not in text:
        return tuple(map(str.strip, text.split(separator))), None
    cells = next(csv.reader([text], delimiter=separator, skipinitialspace=True))
    starts, quoted = [1], False
    for at, sign in enumerate(text, start=1):
        quoted ^= sign == '"'
        if sign == separator and not quoted:
            starts.append(at + 1)
    starts += [len(text) + 1] * (len(cells) - len(starts))
    return tuple(cell.strip() for cell in cells), tuple(starts[: len(cells)])
