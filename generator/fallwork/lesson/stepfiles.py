"""Steps written as files: each ``steps/*.md.j2`` is one step, in the order in which it is read.

Takes the name of a file and what it may ask; gives the ``Step``, or None where the file says that
the set-up has no such step. What a file prints that isn't words (formulas, equations, figures) is
kept as data: the words hold a token in its place until the step is put together.
"""

import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field, replace
from functools import cache
from pathlib import Path
from typing import Any

from jinja2 import Environment, FileSystemLoader, StrictUndefined, pass_context
from jinja2.runtime import Context

from fallwork.lesson.document import (
    Block,
    Caution,
    Equation,
    FigureSlot,
    Inline,
    Items,
    Paragraph,
    Question,
    Relation,
    Slip,
    Step,
    StepLink,
    Strong,
    Table,
    Text,
    Working,
)
from fallwork.lesson.expression import Expression, Symbol, as_expression

FOLDER = Path(__file__).parent / "steps"
_TOKEN = re.compile("\ue000([0-9]+)\ue001")
_ITEM = re.compile(r"^(?:- |[0-9]+\. )", re.MULTILINE)


class _AbsentError(Exception):
    """The file says that the set-up has no such step."""


@dataclass(frozen=True)
class _Check:
    """What stands beside a step as its check."""

    blocks: tuple[Block, ...]


@dataclass
class Sheet:
    """One file being filled in: what it has printed besides words."""

    head: dict[str, Any] = field(default_factory=dict)
    parts: list[object] = field(default_factory=list)

    def token(self, part: object) -> str:
        """What stands among the words for a part of any other kind."""
        self.parts.append(part)
        return f"\ue000{len(self.parts) - 1}\ue001"

    def text(self, words: str) -> Text:
        """Words with their tokens as a text; a line break is a space."""
        pieces: list[Inline] = []
        for at, piece in enumerate(_TOKEN.split(" ".join(words.split()))):
            if at % 2:
                pieces.append(self._inline(int(piece)))
            elif piece:
                pieces.append(piece)
        return _joined(pieces)

    def _inline(self, number: int) -> Inline:
        part = self.parts[number]
        assert isinstance(part, Inline), f"{part!r} stands within a sentence"
        return part

    def blocks(self, words: str) -> Iterator[object]:
        """What stands between empty lines: equations, lists, paragraphs, parts of their own.

        A list may have empty lines between its items, where a file leaves some out.
        """
        listed: Items | None = None
        for block in self._single(words):
            alike = isinstance(block, Items) and listed is not None
            if alike and block.ordered == listed.ordered:
                listed = replace(listed, items=(*listed.items, *block.items))
                continue
            if listed is not None:
                yield listed
            listed = block if isinstance(block, Items) else None
            if listed is None:
                yield block
        if listed is not None:
            yield listed

    def _single(self, words: str) -> Iterator[object]:
        for piece in re.split(r"\n\s*\n", words):
            piece = piece.strip()
            alone = [self.parts[int(number)] for number in _TOKEN.findall(piece)]
            if not piece:
                continue
            if _TOKEN.sub("", piece).strip() or any(isinstance(part, Inline) for part in alone):
                yield self._words(piece)
            elif all(isinstance(part, Equation) for part in alone):
                yield Working(equations=tuple(part for part in alone if isinstance(part, Equation)))
            else:
                yield from alone

    def _words(self, piece: str) -> Block:
        if not _ITEM.match(piece):
            return Paragraph(text=self.text(piece))
        items = tuple(map(self.text, filter(str.strip, _ITEM.split(piece))))
        return Items(items=items, ordered=piece[0].isdigit())

    def only_blocks(self, words: str) -> tuple[Block, ...]:
        """The same where nothing but blocks may stand."""
        found = tuple(self.blocks(words))
        assert all(isinstance(block, Block) for block in found), found
        return found  # type: ignore[return-value]  # as just seen


def step_from(name: str, **asked: Any) -> Step | None:
    """The step that a file gives for a set-up; ``asked`` is what it may ask by name."""
    sheet = Sheet()
    try:
        words = _environment().get_template(f"{name}.md.j2").render(sheet=sheet, **asked)
    except _AbsentError:
        return None
    slips, questions, check = [], [], []
    blocks: list[Block] = []
    for part in sheet.blocks(words):
        if isinstance(part, Slip):
            slips.append(part)
        elif isinstance(part, Question):
            questions.append(part)
        elif isinstance(part, _Check):
            check += part.blocks
        else:
            blocks.append(part)  # type: ignore[arg-type]  # what is left are blocks
    idea = blocks.pop(0)
    assert isinstance(idea, Paragraph), f"{name} begins with {idea!r}"
    return Step(
        idea=idea.text,
        blocks=tuple(blocks),
        check=tuple(check),
        slips=tuple(slips),
        questions=tuple(questions),
        **sheet.head,
    )


# ---- what a file may say


@pass_context
def _step(context: Context, name: str, *, when: object = True, **head: str) -> str:
    """The head of a step; without ``when``, there is none."""
    if not when:
        raise _AbsentError
    context["sheet"].head.update({"id": name, "topic": name, **head})
    return ""


@pass_context
def _checks(context: Context, caller: Callable[[], str]) -> str:
    sheet = context["sheet"]
    return f"\n\n{sheet.token(_Check(sheet.only_blocks(caller())))}\n\n"


@pass_context
def _caution(context: Context, caller: Callable[[], str]) -> str:
    sheet = context["sheet"]
    return f"\n\n{sheet.token(Caution(text=sheet.text(caller())))}\n\n"


@pass_context
def _table(context: Context, caption: str, caller: Callable[[], str]) -> str:
    """Rows of cells between bars; the first row are the heads of the columns."""
    sheet = context["sheet"]
    lines = [line.strip() for line in caller().split("\n") if line.strip()]
    head, *rows = (tuple(map(sheet.text, line.strip("|").split("|"))) for line in lines)
    table = Table(caption=" ".join(caption.split()), head=head, rows=tuple(rows))
    return f"\n\n{sheet.token(table)}\n\n"


def _figure(kind: str, subject: str = "", phase: int = 0) -> FigureSlot:
    return FigureSlot(kind=kind, subject=subject, phase=phase)


def _link(step: str, words: str) -> StepLink:
    return StepLink(step=step, words=words)


def _strong(words: str) -> Strong:
    return Strong(words=words)


def _relation(*parts: Any) -> Relation:
    """``relation(T, "<", m * g)``."""
    return Relation(sides=tuple(map(as_expression, parts[::2])), signs=tuple(parts[1::2]))


@pass_context
def _printed(context: Context, value: object) -> str:
    """What an expression in braces prints: words as they are, anything else as its token."""
    if isinstance(value, str):
        return value
    if isinstance(value, int):
        return str(value)
    sheet = context["sheet"]
    if isinstance(value, Symbol):
        value = as_expression(value)
    if isinstance(value, tuple):  # a text
        return "".join(_printed(context, piece) for piece in value)
    if isinstance(value, Expression | Inline | Equation | FigureSlot | Table | Slip | Question):
        return str(sheet.token(value))
    raise TypeError(f"a step prints {value!r}, which is neither words nor part of a step")


@cache
def _environment() -> Environment:
    environment = Environment(
        loader=FileSystemLoader(FOLDER),
        finalize=_printed,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    environment.globals.update(
        step=_step,
        check=_checks,
        caution=_caution,
        table=_table,
        figure=_figure,
        link=_link,
        strong=_strong,
        relation=_relation,
    )
    return environment


def _joined(pieces: list[Inline]) -> Text:
    """Neighbouring strings as one."""
    result: list[Inline] = []
    for piece in pieces:
        if isinstance(piece, str) and result and isinstance(result[-1], str):
            result[-1] += piece
        else:
            result.append(piece)
    return tuple(result)
