"""A built page: its formulas in reading order, and its list of symbols."""

import html as entities
import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import lru_cache

from equations.amounts import unit_of
from equations.reading import expression_of, plain_unit
from equations.tree import Literal, Num, Sym, UnreadableError

_MATH = re.compile(r"<math\b.*?</math>", re.DOTALL)
_FORMULA = re.compile(rf"<div class=\"fw-formula.*?</div>|{_MATH.pattern}", re.DOTALL)
_TABLE = re.compile(r"<table\b.*?</table>", re.DOTALL)
_ROW = re.compile(r"<tr\b.*?</tr>", re.DOTALL)
_CELL = re.compile(r"<t[hd]\b[^>]*>(.*?)</t[hd]>", re.DOTALL)
_TAG = re.compile(r"<[^>]*>")
_SLIPS = re.compile(r"<details\b[^>]*\bfw-slips\b.*?</details>", re.DOTALL)
_MARK = re.compile(r"<(?:u|ins)\b")
HEADS = ("Symbol", "Meaning", "Unit", "Value")


@dataclass(frozen=True)
class Entry:
    """A row of the list of symbols."""

    name: str
    unit: str  # in the units library's spelling
    literal: Literal | None  # the digits of the value; None where the page gives none


@dataclass(frozen=True)
class Page:
    formulas: tuple[str, ...]  # each a <math> element or a block; not those of list and slips
    slips: tuple[tuple[str, ...], ...]  # of each: quantity, wrong formula, its value
    entries: Mapping[str, Entry]
    problems: tuple[str, ...] = field(default=())


def read(html: str) -> Page:
    """A page's formulas and symbols, with what can't be read of the list."""
    lists = [table for table in _TABLE.findall(html) if _heads(table)]
    problems = []
    if len(lists) > 1 or (not lists and _MATH.search(html)):
        problems.append(f"the page has {len(lists)} lists of symbols")
    rows = [row for match in _SLIPS.findall(html) for row in _ROW.findall(match)[1:]]
    slips = ["".join(_CELL.findall(row)[:2]) for row in rows]
    rest = _SLIPS.sub("", _TABLE.sub(lambda table: "" if _heads(table[0]) else table[0], html))
    formulas = tuple(_FORMULA.findall(rest))
    entries: dict[str, Entry] = {}
    for table in lists:
        for row in _ROW.findall(table)[1:]:
            try:
                entry = _entry(row)
            except UnreadableError as error:
                problems.append(f"list of symbols: {error}")
                continue
            if entry.name in entries:
                problems.append(f"list of symbols: {entry.name} stands there twice")
            entries[entry.name] = entry
    slip_formulas = tuple(tuple(_FORMULA.findall(slip)) for slip in slips)
    return Page(formulas, slip_formulas, entries, tuple(problems))


def list_spans(html: str) -> list[tuple[int, int]]:
    """Where the cells of the list of symbols stand, the meanings left out."""
    spans = []
    for table in _TABLE.finditer(html):
        if not _heads(table[0]):
            continue
        for row in list(_ROW.finditer(table[0]))[1:]:
            for column, cell in enumerate(_CELL.finditer(row[0])):
                if column != HEADS.index("Meaning"):
                    offset = table.start() + row.start()
                    spans.append((offset + cell.start(1), offset + cell.end(1)))
    return spans


def formula_spans(html: str) -> list[tuple[int, int]]:
    """Where the formulas stand."""
    return [match.span() for match in _FORMULA.finditer(html)]


@lru_cache(maxsize=1000)
def _heads(table: str) -> bool:
    rows = _ROW.findall(table)
    heads = tuple(_words(cell) for cell in _CELL.findall(rows[0])) if rows else ()
    return heads in (HEADS, HEADS[:3])


def _words(cell: str) -> str:
    return entities.unescape(_TAG.sub("", cell)).strip()


@lru_cache(maxsize=10_000)
def _entry(row: str) -> Entry:
    cells = _CELL.findall(row)
    if len(cells) not in (3, 4):
        raise UnreadableError(f"a row of {len(cells)} cells")
    symbol = expression_of(_only_math(cells[0]))
    if not isinstance(symbol, Sym):
        raise UnreadableError(f"{_words(cells[0])!r} is no symbol")
    literal = _value(cells[3]) if len(cells) == 4 else None
    unit = _unit(cells[2])
    unit_of(unit)
    return Entry(symbol.name, unit, literal)


def _only_math(cell: str) -> str:
    found = _MATH.findall(cell)
    if len(found) != 1:
        raise UnreadableError(f"{_words(cell)!r} is not one formula")
    return str(found[0])


def _unit(cell: str) -> str:
    if not _MATH.search(cell):
        return plain_unit(_words(cell))
    tree = expression_of(re.sub(r"^<math\b[^>]*>", r"\g<0><mn>1</mn>", _only_math(cell)))
    if not isinstance(tree, Num) or tree.literal.digits != "1":
        raise UnreadableError(f"{_words(cell)!r} is no unit")
    return tree.unit


def _value(cell: str) -> Literal | None:
    if _MATH.search(cell):
        tree = expression_of(_only_math(cell))
        if not isinstance(tree, Num) or tree.unit:
            raise UnreadableError(f"{_words(cell)!r} is no plain number")
        return tree.literal
    words = _words(cell).replace("−", "-")
    if words in ("", "–", "—"):
        return None
    raised = words.translate(str.maketrans("⁻⁰¹²³⁴⁵⁶⁷⁸⁹", "-0123456789"))
    found = re.fullmatch(r"(-?\d+(?:\.\d+)?)(?:\s*×\s*10(-?\d+))?", raised)
    if found is None:
        raise UnreadableError(f"{words!r} is no number")
    return Literal(found[1], int(found[2] or 0), marked=bool(_MARK.search(cell)))
