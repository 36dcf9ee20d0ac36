"""What may stand behind a key as one text: words, names, dates, quantities, counts.

A shape reads a node of the tree into a value, noting problems and places as it goes, and says the
same as JSON Schema. Where a value can't be read, it gives a stand-in that no later check objects
to: every problem of a file shows up at once, and each only once. What is made of several texts
is in ``records``.
"""

import math
import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import Any
from zoneinfo import ZoneInfo

from fallwork.errors import Place
from fallwork.scenario.dates import PATTERN, read_date
from fallwork.scenario.quantity import NUMBER, SIGN, Quantity, parse_quantity
from fallwork.scenario.report import (
    Impossible,
    Malformed,
    Report,
    UnreadableError,
    listed,
    meant,
    shown,
)
from fallwork.scenario.tree import Keys, Listing, Node, Scalar, Spoilt
from fallwork.scenario.units import kinds

_CONTROL = re.compile("[\x00-\x1f\x7f-\x9f\u2028\u2029]")


@dataclass(kw_only=True)
class Reading:
    """What goes along while one file is read."""

    report: Report
    zone: ZoneInfo | None = None  # in which dates are meant; None where there are none
    values: dict[Keys, Place] = field(default_factory=dict)  # path -> where its value stands
    keys: dict[Keys, Place] = field(default_factory=dict)  # path -> where its key stands
    names: dict[str, str] = field(default_factory=dict)  # the shared namespace: name -> what
    unread: list[Keys] = field(default_factory=list)  # paths of tables that can't be read at all
    strangers: list[Keys] = field(default_factory=list)  # paths of keys that nobody knows

    def malformed(self, at: Node | Keys, found: str, expected: str) -> None:
        """Note what can't be read, at a node or at the value of a path."""
        place = self.values[at] if isinstance(at, tuple) else at.place
        self.report.malformed(place, found, expected)

    def impossible(self, path: Keys, found: str, expected: str) -> None:
        """Note what can be read but can't be, at the value of a path."""
        self.report.impossible(self.values[path], found, expected)

    def places(self, base: Keys = ()) -> dict[str, Place]:
        """Where the values below ``base`` stand, by their paths; "" is the key of ``base``. Of a
        whole file: for names, where the key stands.
        """
        values = {k[len(base) :]: p for k, p in self.values.items() if k[: len(base)] == base}
        found = {".".join(keys): place for keys, place in values.items() if keys}
        if base:
            return found | {"": self.keys[base]}
        return found | {keys[0]: place for keys, place in self.keys.items() if len(keys) == 1}


class Shape:
    """One layout of a node."""

    stand_in: Any = None  # what is given where the value can't be read

    def read(self, node: Node, path: Keys, reading: Reading) -> Any:
        """The value of a node, or the stand-in after noting a problem."""
        if isinstance(node, Spoilt):
            return self.stand_in
        reading.values[path] = node.place
        return self._read(node, path, reading)

    def schema(self) -> dict[str, Any]:
        """The same layout as JSON Schema (draft 2020-12)."""
        return self._schema()

    def _read(self, node: Node, path: Keys, reading: Reading) -> Any:
        """The value of a node that the tree reader had no objection to."""
        raise NotImplementedError

    def _schema(self) -> dict[str, Any]:
        raise NotImplementedError

    def _misplaced(self, node: Node, what: str, expected: str, reading: Reading) -> Any:
        """The stand-in, after saying that something else than ``what`` stands there."""
        reading.malformed(node, f"{found_in(node)} where {what} should stand", expected)
        return self.stand_in


def found_in(node: Node) -> str:
    """What a node is, as a message says it: a text is repeated."""
    if isinstance(node, Scalar):
        return shown(node.text) if node.text.strip() else "nothing"
    return "a list" if isinstance(node, Listing) else "a mapping"


class _Other(Exception):
    """The text is nothing of the kind: what would be right is said without more ado."""


class _OutOfBounds(UnreadableError):
    """A number that can be read but can't be."""


class OneText(Shape):
    """A single text that isn't empty."""

    what: str  # with its article: "a title"

    def _read(self, node: Node, path: Keys, reading: Reading) -> Any:
        text = node.text.strip() if isinstance(node, Scalar) else ""
        try:
            if text:
                return self._value(text, path, reading)
        except UnreadableError as error:
            kind = Impossible if isinstance(error, _OutOfBounds) else Malformed
            reading.report.add(kind(place=node.place, found=error.found, expected=error.expected))
            return self.stand_in
        except _Other:
            pass
        return self._misplaced(node, self.what, self._wanted(text), reading)

    def _value(self, text: str, path: Keys, reading: Reading) -> Any:
        """What a text stands for; raises UnreadableError or _Other."""
        raise NotImplementedError

    def _wanted(self, text: str) -> str:
        """What would be right in place of ``text``, which may be empty."""
        raise NotImplementedError


@dataclass(frozen=True)
class Text(OneText):
    """Any text on one line; ``check`` gives the value or raises UnreadableError."""

    what: str
    example: str
    check: Callable[[str], Any] = str
    stand_in: Any = ""
    pattern: str = ""  # for editors; ``check`` decides
    or_number: bool = False  # whether it may look like a number

    def _value(self, text: str, path: Keys, reading: Reading) -> Any:
        hidden = _CONTROL.search(text)
        if hidden:
            sign = f"the invisible character {shown(hidden.group())[1:-1]}"
            found = "a line break" if hidden.group() == "\n" else sign
            raise UnreadableError("hidden-sign", sign=found, what=self.what)
        return self.check(text)

    def _wanted(self, text: str) -> str:
        return f"write e.g. {self.example}"

    def _schema(self) -> dict[str, Any]:
        kinds: Any = ["string", "number"] if self.or_number else "string"
        return {"type": kinds, **({"pattern": self.pattern} if self.pattern else {})}


@dataclass(frozen=True)
class NameOf(Text):
    """The name of another thing of the file, of one of these kinds."""

    kinds: tuple[str, ...] = ()
    more: str = ""  # what else a message says of the key


class Moment(Text):
    """A day or a time of a day, in the course's time zone."""

    def __init__(self) -> None:
        example = "2027-02-01 or 2027-02-12T17:00"
        super().__init__("a date", example, stand_in=None, pattern=f"^{PATTERN}$")

    def _value(self, text: str, path: Keys, reading: Reading) -> Any:
        assert reading.zone is not None
        return read_date(super()._value(text, path, reading), reading.zone)


MOMENT = Moment()


@dataclass(frozen=True)
class Measure(OneText):
    """A quantity with its unit, perhaps between bounds (SI)."""

    kind: str
    bound: str = ""  # the bounds in words: "a mass is more than zero"
    above: float = -math.inf
    at_least: float = -math.inf
    at_most: float = math.inf

    def __post_init__(self) -> None:
        object.__setattr__(self, "what", kinds()[self.kind].say)

    @property
    def stand_in(self) -> Quantity:
        """A quantity that compares false with everything."""
        return Quantity(kind=self.kind, value=math.nan, number="", unit="")

    def _value(self, text: str, path: Keys, reading: Reading) -> Quantity:
        quantity = parse_quantity(text, self.kind)
        value, names = quantity.value, {"key": path[-1], "text": shown(text)}
        if self.above == 0 and 0 < value <= quantity.u:
            raise _OutOfBounds("u-above-value", **names)
        if value <= self.above or value < self.at_least or value > self.at_most:
            raise _OutOfBounds("out-of-bounds", bound=self.bound, **names)
        return quantity

    def _wanted(self, text: str) -> str:
        return f"write e.g. {kinds()[self.kind].example}"

    def _schema(self) -> dict[str, Any]:
        kind = kinds()[self.kind]
        unit = kind.pattern()
        one = f"{NUMBER} ?(?:{unit})" if unit else NUMBER
        first = f"{NUMBER}(?: ?(?:{unit}))?" if unit else NUMBER
        pattern = f"^(?:{one}|{first} ?(?:{SIGN}) ?{one}(?: limits)?)$"
        schema: dict[str, Any] = {"type": "string", "pattern": pattern}
        if kind.plain:
            return {"anyOf": [{"type": "number"}, schema]}
        return {**schema, "examples": [kind.example]}


@dataclass(frozen=True)
class Count(OneText):
    """A whole number."""

    what: str
    at_least: int
    at_most: int
    stand_in: int = 0

    def _value(self, text: str, path: Keys, reading: Reading) -> int:
        if re.fullmatch("[0-9]{1,6}", text) and self.at_least <= int(text) <= self.at_most:
            return int(text)
        raise _Other

    def _wanted(self, text: str) -> str:
        return f"write a whole number from {self.at_least} to {self.at_most}"

    def _schema(self) -> dict[str, Any]:
        return {"type": "integer", "minimum": self.at_least, "maximum": self.at_most}


@dataclass(frozen=True)
class Choice(OneText):
    """One of a few words, each with what it stands for."""

    words: Mapping[str, Any]
    what: str = "a word"
    expected: str = ""  # where no word is likely to be misspelt
    stand_in: Any = ""

    def _value(self, text: str, path: Keys, reading: Reading) -> Any:
        if text in self.words:
            return self.words[text]
        raise _Other

    def _wanted(self, text: str) -> str:
        return self.expected or meant(text, [*self.words], f"write {listed(self.words, 'or')}")

    def _schema(self) -> dict[str, Any]:
        return {"enum": list(dict.fromkeys(self.words.values()))}


@dataclass(frozen=True)
class OrWord(Shape):
    """A word for which None stands, or another shape."""

    word: str
    shape: Shape
    what: str = ""  # the other, with its article, where a text without digits is neither
    expected: str = ""  # then

    @property
    def stand_in(self) -> Any:
        """That of the other shape."""
        return self.shape.stand_in

    def _read(self, node: Node, path: Keys, reading: Reading) -> Any:
        text = node.text.strip() if isinstance(node, Scalar) else ""
        if text == self.word:
            return None
        if not self.what or re.search("[0-9]", text):
            return self.shape.read(node, path, reading)
        expected = meant(text, [self.word], self.expected)
        self._misplaced(node, f"{self.word} or {self.what}", expected, reading)
        return None

    def _schema(self) -> dict[str, Any]:
        return {"anyOf": [{"const": self.word}, self.shape.schema()]}
