"""The lesson's sentences: read from the text files beside this stage and filled in.

Takes a key and the parts that go into the sentence (words, symbols, trees, links); gives a
``Text``. The files hold every sentence, so that the wording can be read and mended in one place.
"""

from collections.abc import Mapping, Sequence
from fractions import Fraction
from string import Formatter
from typing import TYPE_CHECKING, Any

from fallwork.lesson.expression import Ref, Symbol
from fallwork.lesson.textfiles import absent, texts, unfit
from fallwork.scenario.report import meant

if TYPE_CHECKING:
    from fallwork.lesson.document import Inline, Text

    Part = Inline | Symbol | int


def listing(words: Sequence[str], joiner: str = "and") -> str:
    """``a``, ``a and b``, ``a, b and c``."""
    if len(words) < 2:
        return "".join(words)
    return f"{', '.join(words[:-1])} {joiner} {words[-1]}"


def upper_first(sentence: str) -> str:
    """The sentence with a capital first letter."""
    return sentence[:1].upper() + sentence[1:]


def lower_first(words: str) -> str:
    """The words with a small first letter, for the middle of a sentence."""
    return words[:1].lower() + words[1:]


def fill(template: str, **parts: "Part") -> "Text":
    """A template such as ``"{The_cart} gains {K}."`` with its parts put in.

    A field that starts with a capital letter takes the part of the same name in small letters
    and gives it a capital first letter. Raises ``BadInput`` for a field that has no part.
    """
    pieces: list[Inline] = []
    for literal, field, _, _ in Formatter().parse(" ".join(template.split())):
        if literal:
            pieces.append(literal)
        if field:
            try:
                pieces.append(_part(field, parts))
            except KeyError:
                known = f"known here are {', '.join(sorted(parts)) or 'none'}"
                expected = meant(field, sorted(parts), known)
                raise unfit(template, f"unknown field {{{field}}}", expected) from None
    return joined(pieces)


def _part(field: str, parts: "Mapping[str, Part]") -> "Inline":
    if field in parts:
        value = parts[field]
    else:
        value = upper_first(str(parts[field[0].lower() + field[1:]]))
    if isinstance(value, Symbol):
        return Ref(symbol=value)
    return str(value) if isinstance(value, int) else value


def joined(pieces: "Sequence[Inline]") -> "Text":
    """Neighbouring strings as one."""
    result: list[Inline] = []
    for piece in pieces:
        if isinstance(piece, str) and result and isinstance(result[-1], str):
            result[-1] += piece
        else:
            result.append(piece)
    return tuple(result)


def join(*texts_: "Text") -> "Text":
    """Texts one after the other with a space between."""
    pieces: list[Inline] = []
    for text in texts_:
        if pieces and text:
            pieces.append(" ")
        pieces.extend(text)
    return joined(pieces)


def series(texts_: "Sequence[Text]") -> "Text":
    """Texts as a list in a sentence: ``a``, ``a and b``, ``a, b and c``."""
    pieces: list[Inline] = []
    for at, text in enumerate(texts_):
        if at:
            pieces.append(" and " if at == len(texts_) - 1 else ", ")
        pieces.extend(text)
    return joined(pieces)


def say(key: str, **parts: "Part") -> "Text":
    """The sentence ``key`` (dotted) of the step texts, filled in."""
    return fill(sentence(key), **parts)


def sentence(key: str, file: str = "forces") -> str:
    """The unfilled sentence at a dotted key of a text file, by default of the worked steps'.

    Raises ``BadInput`` where there is none.
    """
    way = key.split(".")
    node: Any = texts(file)
    for word in way:
        if not isinstance(node, dict) or word not in node:
            raise absent(file, way, node)
        node = node[word]
    return str(node)


def title(key: str, **parts: str) -> str:
    """A title or caption: a sentence without formulas."""
    return without_formulas(say(key, **parts))


def without_formulas(text: "Text") -> str:
    """A text that holds words alone."""
    return "".join(str(piece) for piece in text)


_COUNTS = ("no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten")


def times_word(factor: Fraction) -> str:
    """``twice``, ``three times``: how many times as far."""
    if factor.denominator != 1:
        return f"{factor} times"
    return "twice" if factor == 2 else f"{count_word(factor)} times"


def count_word(count: int | Fraction) -> str:
    """A small whole number as a word; any other one in digits."""
    small = count.denominator == 1 and count < len(_COUNTS)
    return _COUNTS[int(count)] if small else str(count)
