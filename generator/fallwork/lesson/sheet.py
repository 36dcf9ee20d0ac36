"""A file of a step while it is filled in: words, with a token for whatever isn't words.

Takes what a file says; gives texts and blocks. What it prints that isn't words (formulas,
equations, figures) is kept as data until the step is put together.
"""

import re
from collections.abc import Callable, Iterable, Iterator
from dataclasses import replace
from typing import Any

from jinja2 import Undefined

from fallwork.lesson.document import (
    Block,
    Equation,
    FigureSlot,
    Fold,
    Inline,
    Items,
    Marked,
    Paragraph,
    Question,
    Slip,
    Table,
    Text,
    Working,
)
from fallwork.lesson.expression import Expression, Operand, Symbol, as_expression
from fallwork.lesson.words import lower_first

_TOKEN = re.compile("\ue000([0-9]+)\ue001")
_NUMBER = re.compile(r"\d+\.\d+|\d{3,}")
_ID = re.compile("[A-Za-z0-9-]+")
_ITEM = re.compile(r"^(?:- |[0-9]+\. )", re.MULTILINE)


_HELD = str, float, tuple, Expression, type(None)  # by what is said, folded away, or asked


class AbsentError(Exception):
    """The file says that the set-up has no such step."""


_Caller = Callable[[], str]  # gives what stands between "call" and "endcall"
Part = Block | Fold | Slip | Question


class Sheet:
    """A file filled in for a lab: the step's head, and what it printed besides words."""

    def __init__(self, lab: Any = None) -> None:
        self.lab = lab
        self.head: dict[str, Any] = {}
        self.typed: str | None = None  # where no number may stand but those that are typed here
        self._parts: list[Any] = []

    # ---- what a file may say

    def step(self, id_: str, *, when: object = True, was: Iterable[str] = (), **head: str) -> str:
        """Its id, ``title``, ``short``, what it ``was`` before; no step without ``when``. A new one
        of the course names the file of the step ``after`` which it stands.
        """
        if not when:
            raise AbsentError
        part = f"-part-{self.lab.part}" if self.lab.index else ""  # of the run, a later one
        self.head.update({"id": id_ + part, "was": tuple(was), **head})
        self.head.pop("after", None)
        return ""

    def result(self, left: Operand, right: Operand, unit: str = "") -> str:
        """An equation whose right side gives the value of the left one, in the unit of that."""
        tree = as_expression(left)
        own = tree.unit if isinstance(tree, Symbol) else ""
        return self.token(self.lab.result(tree, right, unit or own))

    def fold(self, mark: str, title: str, caller: _Caller) -> str:
        """Folded away under a title: ``why`` it is so, tables; a ``check`` isn't folded."""
        blocks = self.blocks(caller())
        return self.block(Fold(mark=mark, title=title, blocks=blocks)) if blocks else ""

    def caution(self, caller: _Caller) -> str:
        """A caution that stands out."""
        return self.block(Paragraph(text=self.text(caller()), caution=True))

    def table(self, caption: str, caller: _Caller) -> str:
        """Rows of cells between bars, heads first; a line without a bar goes on with a cell."""
        lines = re.sub(r"\n(?=[^|\n]*(\n|$))", " ", caller().strip("\n")).split("\n")
        head, *rows = (tuple(map(self.text, line.split("|"))) for line in lines)
        words = re.sub("[ \n]+", " ", caption.strip())
        return self.block(Table(caption=words, head=head, rows=tuple(rows)))

    def mistake(
        self, id_: str, of: Operand, formula: Operand, when: object = True, *, caller: _Caller
    ) -> str:
        """A common mistake: the quantity that comes out wrong, the wrong formula, what was done.

        There is none where the set-up hasn't got what the formula names, and where it gives the
        right value. In numbers, what gives the value of a mistake before it is told with that.
        """
        tree = as_expression(of)
        wrong = self.lab.wrong(tree, as_expression(formula)) if when else None
        if wrong is None:
            return ""
        assert isinstance(tree, Symbol)
        done, value = self.text(caller()), wrong[1]
        for at, part in enumerate(self._parts if value is not None else ()):
            same = isinstance(part, Slip) and part.of.id == tree.id and part.value is not None
            if same and f"{part.value:.9e}" == f"{value:.9e}":
                begin, *rest = done
                begin = lower_first(begin) if isinstance(begin, str) else begin
                more = _joined((*part.done, " Or: ", begin, *rest))
                self._parts[at] = replace(part, done=more)
                return ""
        slip = Slip(id=id_, of=tree, done=done, formula=wrong[0], value=value)
        return self.block(slip)

    def question(
        self, id_: str, when: object = True, *, slip: str = "", later: bool = False, caller: _Caller
    ) -> str:
        """A question that students put: its first line asks, the others answer; a last one that
        begins with ``Also:`` tells other ways to put it, with bars between.

        ``slip``: the id of the common mistake that usually stands behind it. ``later``: it is put
        in a later part of a run, where no others are.
        """
        if not when or bool(self.lab.index) != later:
            return ""
        asked, _, answer = caller().strip().partition("\n")
        answer, _, also = answer.partition("\nAlso: ")
        words, more = ("".join(map(str, self.text(each))) for each in (asked, also))
        found = Question(id=id_, asked=words, answer=self.text(answer), slip=slip, also=more)
        assert words, "a question asks in its first line"
        assert found.answer, "a question is answered below its first line"
        return self.block(found)

    def cells(self, values: Iterable[object]) -> str:
        """Values as neighbouring cells of a table, their words as they are."""
        return " | ".join(self.printed(value, self.token) for value in values)

    def printed(self, value: object, words: Callable[[str], str] = str) -> str:
        """What an expression in braces prints: words as they are, anything else as its token."""
        match value:
            case str():
                numbers = () if self.typed is None else _NUMBER.findall(_TOKEN.sub(" ", value))
                if any(each not in str(self.typed) for each in numbers):
                    raise TypeError("words-number")
                return words(value)
            case int():
                return str(value)
            case tuple():  # a text
                return "".join(self.printed(piece, words) for piece in value)
            case FigureSlot() | Table() | Slip() | Question():
                return self.block(value)
        if type(value) is Undefined:  # of "… if …" without "else"; what nobody knows is strict
            return ""
        if isinstance(value, Inline | Equation):
            return self.token(value)
        what = str(value) if isinstance(value, Undefined) else type(value).__name__
        raise TypeError(f"a step prints {what}, which is neither words nor part of a step")

    # ---- tokens among words

    def token(self, part: object) -> str:
        """What stands among the words for a part of any other kind, or for words with signs."""
        if isinstance(part, Fold | Marked | Question | Slip):
            foreign = [each for each in vars(part).values() if not isinstance(each, _HELD)]
            assert not foreign, f"a {type(part).__name__.lower()} is told in words and formulas"
            id_ = part.mark if isinstance(part, Fold) else getattr(part, "id", "a")
            assert _ID.fullmatch(id_), "an id has letters, digits and hyphens"
        self._parts.append(part)
        return f"\ue000{len(self._parts) - 1}\ue001"

    def block(self, part: object) -> str:
        """The same for what stands by itself."""
        return f"\n\n{self.token(part)}\n\n"

    def text(self, words: str) -> Text:
        """Words with their tokens as a text; a line break is a space."""
        pieces = [re.sub("[ \n]+", " ", piece) for piece in _TOKEN.split(words.strip(" \n"))]
        pieces[1::2] = [self._parts[int(number)] for number in pieces[1::2]]
        for part in pieces:
            assert isinstance(part, Inline), f"{part!r} stands within a sentence"
        return _joined(pieces)

    def blocks(self, words: str) -> tuple[Block, ...]:
        """What stands between empty lines, where nothing but blocks may stand."""
        found = tuple(self.all_parts(words))
        blocks = tuple(part for part in found if isinstance(part, Block))
        assert blocks == found, found
        return blocks

    def all_parts(self, words: str) -> Iterator[Part]:
        """What stands between empty lines, which may part the items of a list as well."""
        pieces = [""]
        for piece in (piece.strip(" \n") for piece in re.split(r"\n\s*\n", words)):
            goes_on = _ITEM.match(piece) and _ITEM.match(pieces[-1])
            if goes_on and piece[0].isdigit() == pieces[-1][0].isdigit():
                pieces[-1] += f"\n{piece}"
            elif piece:
                pieces.append(piece)
        for piece in pieces[1:]:
            alone = [self._parts[int(number)] for number in _TOKEN.findall(piece)]
            if _ITEM.match(piece):
                items = tuple(map(self.text, filter(str.strip, _ITEM.split(piece))))
                yield Items(items=items, ordered=piece[0].isdigit())
            elif _TOKEN.sub("", piece).strip() or any(isinstance(part, Inline) for part in alone):
                yield Paragraph(text=self.text(piece))
            elif all(isinstance(part, Equation) for part in alone):
                yield Working(equations=tuple(alone))
            else:
                yield from (part for part in alone if not isinstance(part, Equation))


def _joined(pieces: Iterable[Inline]) -> Text:
    result: list[Inline] = []
    for piece in pieces:
        if isinstance(piece, str) and result and isinstance(result[-1], str):
            result[-1] += piece
        elif piece != "":
            result.append(piece)
    return tuple(result)
