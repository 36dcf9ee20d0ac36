"""From a file to lines of cells: encoding, comments, the sign between cells.

Takes a path; gives the table that is in its file, which says where each of its cells stands, and
the numbers in cells: decimal point or comma, signs, marks for a missing value. What a cell means is
left to others.
"""

import csv
import re
from collections import Counter
from collections.abc import Sequence
from contextlib import suppress
from dataclasses import dataclass, field, replace
from math import nan
from pathlib import Path
from typing import NamedTuple

import numpy as np

from fallwork.errors import BadInput, Place
from fallwork.measurement.model import Array
from fallwork.measurement.saying import say
from fallwork.scenario.report import Malformed, Report, holding, meant, refusal

LARGEST_FILE = 5 * 1024 * 1024  # bytes; three minutes of a thousand samples a second stay below
COMMENTS = ("#", "%", "//")
SEPARATORS = {"\t": "tabs", ";": "semicolons", ",": "commas"}  # the first that fits is taken
MOST_COLUMNS = 1000
LOOKED_AT = 200  # lines from which the separator is told
_MARKS = {b"\xef\xbb\xbf": "utf-8-sig", b"\xff\xfe": "utf-16", b"\xfe\xff": "utf-16"}
_PACKED = {  # what a file begins with (from memory), and what it then is
    b"PK\x03\x04": "packed, as spreadsheets are, and",
    b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1": "an old spreadsheet and",
    b"\x1f\x8b": "compressed and",
    b"%PDF-": "a PDF and",
    b"\x89PNG": "a picture and",
    b"\xff\xd8\xff": "a picture and",
}
MISSING = {"", "nan", "n/a", "na", "#n/a", "null", "none", "-", "–", "—", "--", "---", "?"}
_BODY = r"(?:[0-9]+(?:[.,][0-9]*)?|[.,][0-9]+)(?:[eE][+\-−]?[0-9]+)?"
_NUMBER = re.compile(rf"[+\-−]?(?:{_BODY}|inf|∞)", re.I)
_SIGNS = str.maketrans({"−": "-", ",": ".", "∞": "inf"})
csv.field_size_limit(LARGEST_FILE)  # a cell may be as large as its file


class Row(NamedTuple):  # quickly made: a record may have a million
    """One line of the file, cut into cells; blanks around a cell are taken off."""

    line: int  # from 1
    text: str
    cells: tuple[str, ...]

    def cell(self, at: int) -> str:
        """A cell, from 0; empty beyond the end of the line."""
        return self.cells[at] if at < len(self.cells) else ""


@dataclass(frozen=True, kw_only=True)
class RecordTable:
    """The rows neither blank nor comments, with what is assumed and found wrong in them."""

    file: str
    rows: Sequence[Row]
    separator: str
    comments: Sequence[tuple[int, str]]  # with their lines
    notes: list[str] = field(default_factory=list)
    report: Report = field(default_factory=Report)

    def place(self, row: Row, cell: int = -1) -> Place:
        """Where a line, or the first sign of one of its cells, stands."""
        cuts = re.finditer(rf'"[^"]*"?|{self.separator}', row.text)
        begins = [0, *(cut.end() for cut in cuts if cut[0] == self.separator)]
        if cell >= len(begins):
            column = len(row.text)
        else:
            rest = row.text[begins[cell] :]
            column = begins[cell] + len(rest) - len(rest.lstrip(" ")) if cell >= 0 else 0
        return Place(file=self.file, line=row.line, column=column + 1)

    def note(self, key: str, **values: str | float) -> None:
        """Keep a sentence about what is assumed."""
        self.notes.append(say(key, **values))

    def refuse(self, reason: str, row: Row, cell: int = -1, **names: object) -> None:
        """Report what is wrong in a line or one of its cells."""
        self.report.refuse(self.place(row, cell), reason, **names)


def refused(place: Place, reason: str, **names: object) -> BadInput:
    """The one thing that is wrong in a file."""
    return BadInput((Malformed(place, *refusal(reason, **names)),))


def table_of(path: Path) -> RecordTable:
    """The table in a file; raises BadInput."""
    start = Place(file=str(path), line=1, column=1)
    text, note = _decoded(_content(path, start), start)
    lines = text.replace("\r\n", "\n").replace("\r", "\n").split("\n")
    comments, kept = list[tuple[int, str]](), list[tuple[int, str]]()
    for at, line in enumerate(lines, start=1):
        if line.strip():
            said = line.lstrip().lstrip('"').startswith(COMMENTS)
            (comments if said else kept).append((at, line))
    # The first that cuts most lines into one and the same number of cells, two or more.
    for separator in SEPARATORS:
        counts = Counter(map(len, _cut([line for _, line in kept[:LOOKED_AT]], separator)))
        number, how_often = max(counts.items(), key=lambda item: (item[1], item[0]), default=(0, 0))
        if number >= 2 and how_often > counts.total() / 2:
            break
    else:
        raise refused(start, "no-separator" if kept else "only-comments")
    cut = _cut([line for _, line in kept], separator)
    rows = [Row(*line, tuple(map(str.strip, cells))) for line, cells in zip(kept, cut, strict=True)]
    widest = max(rows, key=lambda row: len(row.cells))
    if (count := len(widest.cells)) > MOST_COLUMNS:
        place = replace(start, line=widest.line)
        raise refused(place, "many-columns", count=count, most=MOST_COLUMNS)
    table = RecordTable(file=start.file, rows=rows, separator=separator, comments=comments)
    table.notes.extend([note] if note else [])
    if separator != ",":
        table.note("separated", signs=SEPARATORS[separator])
    return table


def _content(path: Path, start: Place) -> bytes:
    folder = path.parent
    if path.is_dir():
        raise refused(start, "folder-not-record", folder=path)
    if not path.is_file():
        there = f"the folder {folder} does not exist either"
        if folder.is_dir():
            names = sorted(other.name for other in folder.iterdir() if other.is_file())
            there = meant(path.name, names, holding(folder, names, "no files"))
        raise refused(start, "no-file", there=there)
    try:
        with path.open("rb") as file:
            content = file.read(LARGEST_FILE + 1)
    except OSError as error:
        why = (error.strerror or "system error").lower()
        raise refused(start, "not-readable", why=why) from error
    if len(content) > LARGEST_FILE or not content.strip():
        raise refused(start, "record-too-large" if content.strip() else "record-empty")
    return content


def _decoded(content: bytes, start: Place) -> tuple[str, str]:
    """The text and, where the encoding is anything but plain UTF-8, a note that names it."""
    head = content[:4096]
    if codec := next((codec for mark, codec in _MARKS.items() if head.startswith(mark)), ""):
        name = codec[:6].rstrip("-").upper()
        with suppress(UnicodeDecodeError):
            return content.decode(codec), say("with-mark", name=name)
        raise refused(start, "encoding-changes", name=name)
    packed = next((kind for mark, kind in _PACKED.items() if head.startswith(mark)), "")
    if not packed and b"\0" not in head:
        with suppress(UnicodeDecodeError):
            return content.decode("utf-8"), ""
        return content.decode("cp1252", "replace"), say("not-utf-8")
    # UTF-16 without its mark has a zero in every second byte; anything else is no text.
    for codec, high in (("utf-16-le", head[1::2]), ("utf-16-be", head[::2])):
        if high.count(0) > 0.9 * len(high) and len(content) % 2 == 0:
            with suppress(UnicodeDecodeError):
                return content.decode(codec), say("without-mark")
    raise refused(start, "no-text", what=f"{packed} no text".strip())


def _cut(lines: Sequence[str], separator: str) -> list[list[str]]:
    """The cells of each line; a quote that nobody closes ends with its line."""
    every = list(csv.reader(lines, delimiter=separator, skipinitialspace=True))
    if len(every) == len(lines):
        return every
    return [_cut([line], separator)[0] for line in lines]


def is_number(text: str) -> bool:
    """Whether a cell holds a number, with a decimal point or a comma."""
    return _NUMBER.fullmatch(text) is not None


def numbers(cells: Sequence[str], *, comma: bool) -> tuple[Array, list[int]]:
    """The values of a column, and which of its cells hold neither a number nor a missing one.
    ``comma`` says which decimal sign the file uses; a number with the other one gives NaN, for a
    file that mixes them is refused as a whole.
    """
    if not comma and "_" not in "".join(cells):  # which Python would read as 1_000
        with suppress(ValueError):  # some cell needs a closer look
            return np.array([float(cell or "nan") for cell in cells]), []
    wrong = "." if comma else ","
    good = [is_number(cell) for cell in cells]
    pairs = zip(cells, good, strict=True)
    values = [float(c.translate(_SIGNS)) if fits and wrong not in c else nan for c, fits in pairs]
    strange = [at for at, fits in enumerate(good) if not fits and cells[at].lower() not in MISSING]
    return np.array(values), strange
