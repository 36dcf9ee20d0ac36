"""A file of a step while it is filled in: words, with a token for whatever isn't words.

Takes words with tokens; gives texts and blocks of the document. What a file prints that isn't
words (formulas, equations, figures) is kept as data until the step is put together.
"""

import re
from collections.abc import Iterator
from dataclasses import dataclass, field, replace

from fallwork.lesson.document import (
    Block,
    Equation,
    Inline,
    Items,
    Paragraph,
    Question,
    Slip,
    Text,
    Working,
)
from fallwork.lesson.words import joined, lower_first

_TOKEN = re.compile("\ue000([0-9]+)\ue001")
_ITEM = re.compile(r"^(?:- |[0-9]+\. )", re.MULTILINE)


@dataclass(frozen=True)
class Check:
    """What stands beside a step as its check."""

    blocks: tuple[Block, ...]


Part = Block | Check | Slip | Question


@dataclass
class Sheet:
    """One file being filled in: the head of the step, and what it has printed besides words."""

    head: dict[str, str] = field(default_factory=dict)
    parts: list[object] = field(default_factory=list)
    slips: dict[tuple[str, str], int] = field(default_factory=dict)  # quantity and value: the part

    def token(self, part: object) -> str:
        """What stands among the words for a part of any other kind."""
        self.parts.append(part)
        return f"\ue000{len(self.parts) - 1}\ue001"

    def block(self, part: object) -> str:
        """The same for what stands by itself."""
        return f"\n\n{self.token(part)}\n\n"

    def slip(self, slip: Slip) -> str:
        """The same for a mistake; one that gives the value of an earlier one joins it."""
        alike = None if slip.value is None else (slip.of.id, f"{slip.value:.9e}")
        if alike in self.slips:
            at = self.slips[alike]
            first, (begin, *rest) = self.parts[at], slip.done
            assert isinstance(first, Slip)
            begin = lower_first(begin) if isinstance(begin, str) else begin
            self.parts[at] = replace(first, done=joined((*first.done, " Or: ", begin, *rest)))
            return ""
        if alike is not None:
            self.slips[alike] = len(self.parts)
        return self.block(slip)

    def text(self, words: str) -> Text:
        """Words with their tokens as a text; a line break is a space."""
        pieces: list[Inline] = []
        for at, piece in enumerate(_TOKEN.split(words.strip(" \n"))):
            if at % 2:
                pieces.append(self._inline(int(piece)))
            elif piece:
                pieces.append(re.sub("[ \n]+", " ", piece))
        return joined(pieces)

    def _inline(self, number: int) -> Inline:
        part = self.parts[number]
        assert isinstance(part, Inline), f"{part!r} stands within a sentence"
        return part

    def blocks(self, words: str) -> tuple[Block, ...]:
        """What stands between empty lines, where nothing but blocks may stand."""
        found = tuple(self.all_parts(words))
        assert all(isinstance(block, Block) for block in found), found
        return found  # type: ignore[return-value]  # as just seen

    def all_parts(self, words: str) -> Iterator[Part]:
        """What stands between empty lines: equations, lists, paragraphs, parts of their own.

        A list may have empty lines between its items, where a file leaves some out.
        """
        listed: Items | None = None
        for part in self._single(words):
            if isinstance(part, Items) and listed is not None and part.ordered == listed.ordered:
                listed = replace(listed, items=(*listed.items, *part.items))
                continue
            if listed is not None:
                yield listed
            listed = part if isinstance(part, Items) else None
            if listed is None:
                yield part
        if listed is not None:
            yield listed

    def _single(self, words: str) -> Iterator[Part]:
        for piece in re.split(r"\n\s*\n", words):
            piece = piece.strip(" \n")
            alone = [self.parts[int(number)] for number in _TOKEN.findall(piece)]
            if not piece:
                continue
            if _TOKEN.sub("", piece).strip() or any(isinstance(part, Inline) for part in alone):
                yield self._words(piece)
            elif all(isinstance(part, Equation) for part in alone):
                yield Working(equations=tuple(part for part in alone if isinstance(part, Equation)))
            else:
                yield from (part for part in alone if isinstance(part, Part))

    def _words(self, piece: str) -> Block:
        if not _ITEM.match(piece):
            return Paragraph(text=self.text(piece))
        items = tuple(map(self.text, filter(str.strip, _ITEM.split(piece))))
        return Items(items=items, ordered=piece[0].isdigit())
