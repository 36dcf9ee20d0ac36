"""Markdown: plain text made safe, formulas, a lesson's blocks, and templates filled in.

Takes texts, the lesson's document classes and a template's name with its values; gives Markdown
with formulas in LaTeX between dollar signs. Every value that isn't finished Markdown (``Markup``)
is written as plain text, so a template can't forget to make it safe. Character references are used
because Markdown and HTML read them alike.
"""

import re
import unicodedata
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field
from functools import cache, lru_cache
from pathlib import Path
from typing import Any

import yaml
from jinja2 import Environment, FileSystemLoader, StrictUndefined
from jinja2.bccache import Bucket, BytecodeCache
from markupsafe import Markup

from fallwork.errors import DUMPER
from fallwork.lesson import document
from fallwork.lesson.expression import Expression, Symbol
from fallwork.lesson.latex import latex, number, result, working
from fallwork.lesson.printer import UNMARKED, Marks, Printer, operand, plain_unit
from fallwork.lesson.words import upper_first
from fallwork.once import digest, keep, kept

_TEMPLATES = Path(__file__).parent / "templates"
_ALWAYS = frozenset('\\`*_{}[]<>&$|~^#"@')
_NAMED = {"&": "&amp;", "<": "&lt;", ">": "&gt;", '"': "&quot;"}
# Characters that mean something only in some places: a colon before a word (short codes,
# addresses; not that of 17:00), a doubled dash, plus or equals sign, the dot of an address
# without a scheme.
_IN_PLACE = re.compile(
    r":(?=[^\s\d])|(?<!\d):(?=\d)|([-+=])(?=\1)|(?<=-)-|(?<=\+)\+|(?<==)=|(?<=\bwww)\.",
    re.IGNORECASE,
)
# What opens a block when it stands first on a line, and the dot or bracket of "1." and "1)".
_AT_START = re.compile(r"^\s*(?:(?P<sign>[-+=:!?%])|\d+(?P<dot>[.)])(?=\s|$))")
_HIDDEN = frozenset(("Cc", "Zl", "Zp"))
_BIDI = frozenset("\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069")


@dataclass(frozen=True, kw_only=True)
class PageFile:
    """A text file: Markdown with YAML front matter, an SVG drawing, or data to download."""

    path: str  # relative, with forward slashes, e.g. "2026-autumn/level-track/prelab.md"
    body: str  # of Markdown what stands below the front matter
    front: Mapping[str, Any] = field(default_factory=dict, hash=False)

    @property
    def is_page(self) -> bool:
        """Whether it becomes a page of the site."""
        return self.path.endswith(".md")

    @property
    def content(self) -> str:
        """The whole text."""
        if not self.front:
            return self.body
        front = yaml.dump(
            self.front, Dumper=DUMPER, allow_unicode=True, sort_keys=False, width=1000
        )
        return f"---\n{front}---\n\n{self.body}"


# ---- text


@lru_cache(maxsize=8192)  # the same words stand on many pages
def plain(text: str) -> Markup:
    """Markdown that shows ``text`` as it is, on one line: no HTML, link, emphasis, formula,
    template or table cell can come out of it.
    """
    kinds = ((sign, sign in _BIDI or unicodedata.category(sign) in _HIDDEN) for sign in text)
    clean = re.sub(" +", " ", "".join(" " if hidden else sign for sign, hidden in kinds))
    special = {match.start() for match in _IN_PLACE.finditer(clean)}
    first = _AT_START.match(clean)
    if first:
        special.add(first.start("sign") if first["sign"] else first.start("dot"))
    return Markup(
        "".join(
            _NAMED.get(sign, f"&#{ord(sign)};") if sign in _ALWAYS or at in special else sign
            for at, sign in enumerate(clean)
        )
    )


def text(parts: document.Text) -> Markup:
    """A sentence of a lab: plain words made safe, formulas between dollar signs, links."""

    def inline(part: document.Inline) -> str:
        match part:
            case str():
                return plain(part)
            case document.Marked(words=words, step=step):
                page, _, part = step.rpartition("#")
                way = f"../../{page}.md#{part}" if page else f"#{part}"
                return f"[{plain(words)}]({way})" if step else f"**{plain(words)}**"
        return formula(part)

    return Markup("".join(map(inline, parts)))


def formula(what: Expression | Symbol | document.Relation | str) -> Markup:
    """A formula, or its LaTeX, in a sentence or a cell, which a bare bar would end."""
    code = what if isinstance(what, str) else latex(what)
    return Markup(f"${code}$".replace("|", "\\vert "))


def amount(value: float, unit: str, figures: int) -> Markup:
    """A value to so many significant figures, with its unit."""
    return formula(result(value, unit, figures))


def named(meaning: str, symbol: Symbol | None) -> Markup:
    """What something is, with its symbol if it has one."""
    return Markup(f"{plain(meaning)}, {formula(symbol)}") if symbol else plain(meaning)


def value_of(symbol: Symbol, digits: int, marks: Marks = UNMARKED) -> Markup:
    """Empty where a symbol has no value of its own, as one for any moment of the run."""
    bare = symbol.value is None and not symbol.written
    return Markup("") if bare else formula(number(symbol, digits, marks))


def unit(symbol: Symbol) -> Markup:
    """The unit of a symbol in a table."""
    return plain(plain_unit(symbol.unit).strip() or "none")


def guard_sample(symbols: Iterable[Symbol], digits: int) -> Markup:
    """How a number with guard digits looks: the first one of the page; empty where it has none."""
    valued = (symbol for symbol in symbols if symbol.value is not None)
    marked = (symbol for symbol in valued if operand(symbol, digits).marked)
    return next((formula(Printer(figures=digits).print(symbol)) for symbol in marked), Markup(""))


def kept_together(written: str) -> str:
    """The same with no line break between a number and its unit."""
    return re.sub(r"(?<=\d) (?=[^\W\d])", "\u00a0", written)


# ---- blocks


def block(
    content: document.Block,
    digits: int,
    draw: Callable[[document.FigureSlot], Markup],
    marks: Marks = UNMARKED,
) -> Markup:
    """A block between blank lines; ``digits``: figures of results, ``draw`` gives a figure."""
    match content:
        case document.Paragraph():
            mark = '!!! warning "Take care"\n\n    ' if content.caution else ""
            found = Markup(f"{mark}{text(content.text)}")
        case document.Working():
            found = Markup(f"$$\n{working(content.equations, digits, marks)}\n$$")
        case document.Items():
            mark = "1." if content.ordered else "-"
            found = Markup("\n".join(f"{mark} {text(item)}" for item in content.items))
        case document.Table():
            head, *rows = (map(text, cells) for cells in (content.head, *content.rows))
            found = table(content.caption, head, rows)
        case document.FigureSlot():
            found = draw(content)
    return Markup(f"\n\n{found}\n\n")


def table(caption: str, head: Iterable[str], rows: Iterable[Iterable[str]]) -> Markup:
    """A named table of plain words or of what is finished; first row and first column are heads."""
    heads = list(head)
    every: Iterable[Iterable[str]] = (heads, [Markup("---")] * len(heads), *rows)
    lines = "\n".join(row(cells) for cells in every)
    name = f'<figcaption markdown="span">{plain(caption)}</figcaption>'
    return Markup(f'<figure markdown="1">\n{name}\n\n{lines}\n\n</figure>')


def row(cells: Iterable[str]) -> Markup:
    """A row of a table."""
    return Markup(f"| {' | '.join(map(_finished, cells))} |")


# ---- templates


class _Compiled(BytecodeCache):
    """Templates as they were compiled, within a run and from earlier ones: half of the time of a
    small site. One whose source has changed is compiled again.
    """

    def __init__(self) -> None:
        self._here = dict[str, bytes]()

    def load_bytecode(self, bucket: Bucket) -> None:
        """As the engine asks."""
        code = self._here.get(bucket.key) or kept(digest("template", bucket.key))
        if code:
            bucket.bytecode_from_string(code)

    def dump_bytecode(self, bucket: Bucket) -> None:
        """Likewise."""
        self._here[bucket.key] = bucket.bytecode_to_string()
        keep(digest("template", bucket.key), self._here[bucket.key])


COMPILED = _Compiled()  # for the theme's templates too


def filled(template: str, values: Mapping[str, Any]) -> str:
    """What stands on a page, from ``templates/<template>.md.j2``."""
    body = environment().get_template(f"{template}.md.j2").render(values)
    lines = "\n".join(line.rstrip() for line in body.split("\n"))
    tidy = re.sub(r"\n{3,}", "\n\n", lines).strip("\n")  # one blank line in a row, none at the ends
    return f"{tidy}\n"


def _finished(value: object) -> Markup:
    if isinstance(value, Markup):
        return value
    if isinstance(value, str | int):
        return plain(str(value))
    raise TypeError(f"a template prints {value!r}, which is neither text nor Markdown")


def _address(name: str) -> Markup:
    """A path or an id in a link or heading: the program's, or from a checked key."""
    if not re.fullmatch(r"(\.\./)*([A-Za-z0-9][A-Za-z0-9_.-]*/)*[A-Za-z0-9][A-Za-z0-9_.-]*", name):
        raise ValueError(f"{name!r} can't be an address")
    return Markup(name)


@cache
def environment() -> Environment:
    """The templates, with what they may call."""
    found = Environment(
        loader=FileSystemLoader(_TEMPLATES),
        bytecode_cache=COMPILED,
        autoescape=True,
        finalize=_finished,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        keep_trailing_newline=True,
    )

    def anchor(name: str, mark: str = "") -> Markup:
        """The lasting address of a heading; with ``.fw-step`` it gets a control that copies it."""
        return Markup(f"{{#{_address(name)}{mark}}}")

    shared = (text, formula, amount, named, value_of, unit, kept_together, guard_sample)
    found.filters.update({each.__name__: each for each in (anchor, row, upper_first, formula)})
    found.filters["address"] = _address
    found.globals.update({each.__name__: each for each in shared})
    return found
