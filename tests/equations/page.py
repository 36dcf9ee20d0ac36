"""A built page: its formulas and list of symbols; numbers against symbols; one digit spoilt."""

import html as entities
import re
import unicodedata
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from functools import lru_cache

from equations import reading, tree

_MATH = re.compile(r"<math\b.*?</math>", re.DOTALL)
_FORMULA = re.compile(
    rf"<(?P<box>div|span) class=\"fw-formula.*?</(?P=box)>|{_MATH.pattern}", re.DOTALL
)
_TABLE = re.compile(r"<table\b.*?</table>", re.DOTALL)
_ROW = re.compile(r"<tr\b.*?</tr>", re.DOTALL)
_CELL = re.compile(r"<t[hd]\b[^>]*>(.*?)</t[hd]>", re.DOTALL)
_TAG = re.compile(r"<[^>]*>")
_SLIPS = re.compile(r"<details\b[^>]*\bfw-slips\b.*?</details>", re.DOTALL)

_TEXT = re.compile(r"<[^>]*>|&[^;\s]*;|(?P<text>.)", re.DOTALL)
Nodes = tuple[tree.Node, ...]
_LOWERED = str.maketrans("⁻⁰¹²³⁴⁵⁶⁷⁸⁹", "-0123456789")
_DIGITS = ("0123456789", "⁰¹²³⁴⁵⁶⁷⁸⁹")
HEADS = ("Symbol", "Meaning", "Unit", "Value")


@dataclass(frozen=True)
class Entry:
    name: str
    unit: str  # in the units library's spelling
    literal: tree.Literal | None  # the digits of the value; None where the page gives none


Entries = Mapping[str, Entry]


@dataclass(frozen=True)
class Page:
    formulas: tuple[str, ...]  # each a <math> element or a block; not those of list and slips
    slips: tuple[tuple[str, ...], ...]  # of each: quantity, wrong formula, its value
    entries: Entries
    drawn: tuple[str, ...]  # the names of letters in drawings
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
    formulas = tuple(rest[slice(*span)] for span in formula_spans(rest))
    entries: dict[str, Entry] = {}
    for table in lists:
        for row in _ROW.findall(table)[1:]:
            try:
                entry = _entry(row)
            except tree.UnreadableError as error:
                problems.append(f"list of symbols: {error}")
                continue
            if entry.name in entries:
                problems.append(f"list of symbols: {entry.name} stands there twice")
            entries[entry.name] = entry
    slip_formulas = tuple(
        tuple(slip[slice(*span)] for span in formula_spans(slip)) for slip in slips
    )
    return Page(formulas, slip_formulas, entries, tuple(_drawn(html)), tuple(problems))


def _drawn(html: str) -> Iterator[str]:
    """The names of the letters in drawings: slanted ones, each with its subscript."""
    pieces = re.sub(r"<tspan[^>]*font-size=\"8\.26\">(.*?)</tspan>", r"_\1", html)
    for text in re.findall(r"<text\b[^>]*STIX.*?</text>", pieces):
        words = unicodedata.normalize("NFKD", _TAG.sub("", text)).split()
        yield from (word for word in words if word[0].isalpha() and word not in ("sin", "cos"))


def list_spans(html: str) -> list[tuple[int, int]]:
    """Where the cells of the list of symbols stand, the meanings left out."""
    tables = [table for table in _TABLE.finditer(html) if _heads(table[0])]
    rows = [(t.start() + r.start(), r[0]) for t in tables for r in [*_ROW.finditer(t[0])][1:]]
    cells = [(at, c, n) for at, row in rows for n, c in enumerate(_CELL.finditer(row))]
    return [(at + c.start(1), at + c.end(1)) for at, c, n in cells if n != HEADS.index("Meaning")]


def formula_spans(html: str) -> list[tuple[int, int]]:
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
        raise tree.UnreadableError(f"a row of {len(cells)} cells")
    symbol = reading.expression_of(_only_math(cells[0]))
    if not isinstance(symbol, tree.Sym):
        raise tree.UnreadableError(f"{_words(cells[0])!r} is no symbol")
    literal = _value(cells[3]) if len(cells) == 4 else None
    unit = _unit(cells[2])
    tree.unit_of(unit)
    return Entry(symbol.name, unit, literal)


def _only_math(cell: str) -> str:
    found = _MATH.findall(cell)
    if len(found) != 1:
        raise tree.UnreadableError(f"{_words(cell)!r} is not one formula")
    return str(found[0])


def _unit(cell: str) -> str:
    """A unit in plain text (``kg·m²``), in the units library's spelling."""
    text = _words(cell)
    if text in ("", "°", "%") or text.startswith("none"):
        return {"°": "degree", "%": "percent"}.get(text, "")
    raised = re.compile("[⁻⁰¹²³⁴⁵⁶⁷⁸⁹]+")
    return re.sub(r"[·⋅ ]+", "*", raised.sub(lambda m: f"**({m[0].translate(_LOWERED)})", text))


def _value(cell: str) -> tree.Literal | None:
    if not _words(cell):
        return None
    found = reading.expression_of(_only_math(cell))
    if not isinstance(found, tree.Num) or found.unit:
        raise tree.UnreadableError(f"{_words(cell)!r} is no plain number")
    return found.literal


def lone_symbol(side: tree.Node) -> tuple[str, bool] | None:
    """The name of the symbol that is all there is on a side, and whether it is negative."""
    body = side.body if isinstance(side, tree.Neg) else side
    return (body.name, isinstance(side, tree.Neg)) if isinstance(body, tree.Sym) else None


def mismatches(symbolic: tree.Node, numeric: tree.Node, entries: Entries) -> Iterator[str]:
    """Where a numeric side doesn't say the same as the symbolic one before it."""
    match symbolic, numeric:
        case tree.Sym(name), tree.Num() as number:
            yield from _of_symbol(entries.get(name), number)
        case tree.Num(), tree.Num():
            if symbolic != numeric:
                yield f"{numeric.literal.digits} where {symbolic.literal.digits} should stand"
        case tree.Neg(body), _:
            yield from mismatches(body, tree.negative(numeric), entries)
        case tree.Call(name, argument), tree.Call(other, shown) if name == other:
            yield from mismatches(argument, shown, entries)
        case tree.Pow(base, exponent), tree.Pow(shown, other) if exponent == other:
            yield from mismatches(base, shown, entries)
        case tree.Add(parts), tree.Add(shown) if len(parts) == len(shown):
            yield from _pairwise(parts, shown, entries)
        case tree.Mul(over, under), tree.Mul(up, down) if (len(over), len(under)) == (
            len(up),
            len(down),
        ):
            yield from _pairwise(over + under, up + down, entries)
        case _:
            yield "the numbers don't follow the symbols"


def strangers(_: tree.Node, numeric: tree.Node, entries: Entries) -> Iterator[str]:
    """Numbers of a side without symbols before it that are nobody's value, but for counts."""
    for each in (node for node in tree.nodes(numeric) if isinstance(node, tree.Num)):
        digits = each.literal.digits
        count = each == tree.Num(tree.Literal(digits)) and digits.isdigit()
        if not count and all(_of_symbol(entry, each) for entry in entries.values()):
            yield f"{digits} is no symbol's value"


def _pairwise(parts: Nodes, shown: Nodes, entries: Entries) -> Iterator[str]:
    for part, number in zip(parts, shown, strict=True):
        yield from mismatches(part, number, entries)


def _of_symbol(entry: Entry | None, number: tree.Num) -> list[str]:
    if entry is None or entry.literal is None:
        return [f"{number.literal.digits} stands for a symbol without value"]
    if entry.literal != number.literal:
        return [f"{number.literal.digits} where {entry.name} = {entry.literal.digits} should stand"]
    if tree.unit_of(entry.unit) != tree.unit_of(number.unit):
        return [f"{number.literal.digits} has another unit than {entry.name}"]
    return []


def digits(html: str) -> list[int]:
    """Where digits stand in formulas and the list of symbols, if the page says what is right."""
    formulas = formula_spans(html)
    has_values = any(entry.literal for entry in read(html).entries.values())
    relations = [span for span in formulas if reading.states_relation(html[slice(*span)])]
    spans = (formulas if has_values else relations) + (list_spans(html) if relations else [])
    texts = [match for span in spans for match in _TEXT.finditer(html, *span)]
    wanted = (text for text in texts if text["text"] and text["text"] in "".join(_DIGITS))
    return sorted({text.start() for text in wanted})  # not inside tags or character references


def mutants(html: str, *, step: int = 1, every: int = 1) -> Iterator[tuple[str, str]]:
    """(what was changed, the page) for each digit raised by ``step``; only each ``every``-th."""
    for at in digits(html)[::every]:
        alphabet = next(each for each in _DIGITS if html[at] in each)
        new = alphabet[(alphabet.index(html[at]) + step) % 10]
        around = html[max(0, at - 40) : at + 40]
        yield f"{html[at]} → {new} in …{around}…", html[:at] + new + html[at + 1 :]
