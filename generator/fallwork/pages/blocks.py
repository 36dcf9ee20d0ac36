"""The lesson's document classes as Markdown.

Takes a block of ``lesson.document`` and the figures of its page; gives Markdown with formulas
in LaTeX between dollar signs. What is not written here (numbers, formulas) comes finished from
the lesson.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from markupsafe import Markup

from fallwork.figures import Figure
from fallwork.lesson.document import (
    Block,
    Caution,
    FigureSlot,
    Inline,
    Items,
    Paragraph,
    Relation,
    StepLink,
    Strong,
    Table,
    Text,
    Working,
)
from fallwork.lesson.expression import Expression
from fallwork.lesson.latex import latex, working
from fallwork.pages.escape import plain


@dataclass(frozen=True, kw_only=True)
class Setting:
    """What blocks need to know of their page."""

    page: str  # its name, e.g. "prelab"
    figures: Mapping[FigureSlot, Figure]
    digits: int  # significant figures of results


def block(content: Block, setting: Setting) -> Markup:
    """A block with the blank lines that set it apart."""
    return Markup(f"\n\n{_BLOCKS[type(content)](content, setting)}\n\n")


def text(parts: Text) -> Markup:
    """A sentence: plain words made safe, formulas between dollar signs, links within the page."""
    return Markup("".join(inline(part) for part in parts))


def inline(part: Inline) -> Markup:
    """One part of a sentence."""
    match part:
        case str():
            return plain(part)
        case Strong(words=words):
            return Markup(f"**{plain(words)}**")
        case StepLink(step=step, words=words):
            return Markup(f"[{plain(words)}](#{step})")
        case Expression() | Relation():
            return formula(latex(part))


def formula(code: str) -> Markup:
    """LaTeX within a sentence or a table cell, where a bare bar would end the cell."""
    return Markup(f"${code}$".replace("|", "\\vert "))


def pipe_table(caption: Markup, head: Sequence[Markup], rows: Sequence[Sequence[Markup]]) -> Markup:
    """A table with its name; the first row and the first column are heads."""
    lines = [_row(head), _row([Markup("---")] * len(head)), *(_row(row) for row in rows)]
    name = f'<figcaption markdown="span">{caption}</figcaption>'
    table = "\n".join(lines)
    return Markup(f'<figure markdown="1">\n{name}\n\n{table}\n\n</figure>')


def drawing(figure: Figure, page: str) -> Markup:
    """A figure with its text alternative and caption."""
    return Markup(
        f'<figure markdown="1" id="figure-{figure.id}">\n'
        f"![{plain(figure.description)}]({drawing_path(figure, page)})\n"
        f'<figcaption markdown="span">{plain(figure.caption)}</figcaption>\n'
        "</figure>"
    )


def drawing_path(figure: Figure, page: str) -> str:
    """Where the drawing of a page stands, relative to the page."""
    return f"figures/{page}-{figure.id}.svg"


def _row(cells: Sequence[Markup]) -> str:
    return f"| {' | '.join(cells)} |"


def _paragraph(content: Paragraph, setting: Setting) -> str:
    return text(content.text)


def _working(content: Working, setting: Setting) -> str:
    return f"$$\n{working(content.equations, setting.digits)}\n$$"


def _items(content: Items, setting: Setting) -> str:
    mark = "1." if content.ordered else "-"
    return "\n".join(f"{mark} {text(item)}" for item in content.items)


def _table(content: Table, setting: Setting) -> str:
    rows = [[text(cell) for cell in row] for row in content.rows]
    return pipe_table(plain(content.caption), [text(cell) for cell in content.head], rows)


def _figure(content: FigureSlot, setting: Setting) -> str:
    return drawing(setting.figures[content], setting.page)


def _caution(content: Caution, setting: Setting) -> str:
    return f'!!! warning "Take care"\n\n    {text(content.text)}'


_BLOCKS: Mapping[type[Block], Callable[[Any, Setting], str]] = {
    Paragraph: _paragraph,
    Working: _working,
    Items: _items,
    Table: _table,
    FigureSlot: _figure,
    Caution: _caution,
}
