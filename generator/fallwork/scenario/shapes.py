"""What may stand behind a key as one text: words, names, dates, quantities, counts.

A shape reads a node of the tree into a value, noting problems and places as it goes, and says the
same as JSON Schema. Where a value can't be read, it gives a stand-in that no later check objects
to: every problem of a file shows up at once, and each only once. What is made of several texts
is in ``records``.
"""

import math
import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from datetime import datetime
from typing import Any
from zoneinfo import ZoneInfo

from fallwork.errors import Place
from fallwork.scenario.dates import DATE_EXAMPLE, PATTERN, read_date
from fallwork.scenario.quantity import NUMBER, SIGN, Quantity, kinds, parse_quantity
from fallwork.scenario.report import Report, UnreadableError, listed, meant, shown
from fallwork.scenario.tree import Keys, Listing, Node, Scalar, Spoilt

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

    def refuse(self, at: Node | Keys, reason: str, **names: object) -> None:
        """Note something at a node, or at the value of a path."""
        place = self.values[at] if isinstance(at, tuple) else at.place
        self.report.refuse(place, reason, **names)

    def misplaced(self, node: Node, what: str, expected: str) -> None:
        """Note that something else than ``what`` stands there; a text is repeated."""
        found = "a list" if isinstance(node, Listing) else "a mapping"
        if isinstance(node, Scalar):
            found = shown(node.text) if node.text.strip() else "nothing"
        self.refuse(node, "misplaced", found=found, what=what, expected=expected)

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
    numeric = False  # whether it is a number, or holds some

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


def text_of(node: Node) -> str:
    """The text that stands there; "" for anything else."""
    return node.text.strip() if isinstance(node, Scalar) else ""


@dataclass(frozen=True)
class OneText(Shape):
    """A single text that isn't empty; ``value`` takes it and its path, raises UnreadableError."""

    what: str  # with its article: "a title"
    wanted: Callable[[str], str]  # what would be right in place of a text, which may be empty
    value: Callable[[str, Keys, Reading], Any]
    layout: Mapping[str, Any]  # as JSON Schema
    stand_in: Any = ""
    numeric: bool = False
    kinds: tuple[str, ...] = ()  # of another thing of the file, if it is the name of one
    more: str = ""  # what else a message says of such a key

    def _read(self, node: Node, path: Keys, reading: Reading) -> Any:
        text = text_of(node)
        try:
            if text:
                return self.value(text, path, reading)
        except UnreadableError as error:
            reading.refuse(node, error.reason, **error.names)
        else:
            reading.misplaced(node, self.what, self.wanted(text))
        return self.stand_in

    def _schema(self) -> dict[str, Any]:
        return dict(self.layout)

    def then(self, make: Callable[[Any, Keys, Reading], Any], stand_in: Any = None) -> "OneText":
        """The same text, of whose value something is made."""

        def value(text: str, path: Keys, reading: Reading) -> Any:
            return make(self.value(text, path, reading), path, reading)

        return replace(self, value=value, stand_in=stand_in)


def text(
    what: str,
    example: str,
    check: Callable[[str], Any] = str,
    stand_in: Any = "",
    *,
    pattern: str = "",
    or_number: bool = False,
) -> OneText:
    """Any text on one line; ``check`` gives the value or raises UnreadableError. The ``pattern``
    is for editors; ``or_number``: whether it may look like a number.
    """

    def value(text: str, *_: Any) -> Any:
        if hidden := _CONTROL.search(text):
            sign = f"the invisible character {shown(hidden[0])[1:-1]}"
            told = "a line break" if hidden[0] == "\n" else sign
            raise UnreadableError("hidden-sign", sign=told, what=what)
        return check(text)

    types = ["string", "number"] if or_number else "string"
    layout = {"type": types, **({"pattern": pattern} if pattern else {})}
    return OneText(what, lambda _: f"write e.g. {example}", value, layout, stand_in)


def _moment(text: str, _: Keys, reading: Reading) -> datetime:
    assert reading.zone is not None
    return read_date(text, reading.zone)


# A day or a time of a day, in the course's time zone.
MOMENT = text("a date", DATE_EXAMPLE, pattern=f"^{PATTERN}$").then(_moment)


def measure(
    kind_name: str,
    bound: str = "",
    *,
    above: float = -math.inf,
    at_least: float = -math.inf,
    at_most: float = math.inf,
) -> OneText:
    """A quantity with its unit, perhaps between bounds (SI), which ``bound`` says in words.

    Its stand-in compares false with everything.
    """
    kind = kinds()[kind_name]

    def value(text: str, path: Keys, _: Reading) -> Quantity:
        quantity = parse_quantity(text, kind_name)
        value, names = quantity.value, {"key": path[-1], "text": shown(text)}
        if above == 0 and 0 < value <= quantity.u:
            raise UnreadableError("u-above-value", **names)
        if value <= above or value < at_least or value > at_most:
            raise UnreadableError("out-of-bounds", bound=bound, **names)
        return quantity

    unit = kind.pattern()
    one = f"{NUMBER} ?(?:{unit})" if unit else NUMBER
    first = f"{NUMBER}(?: ?(?:{unit}))?" if unit else NUMBER
    pattern = f"^(?:{one}|{first} ?(?:{SIGN}) ?{one}(?: limits)?)$"
    layout: dict[str, Any] = {"type": "string", "pattern": pattern}
    plain = {"anyOf": [{"type": "number"}, layout]}
    return OneText(
        kind.say,
        lambda _: f"write e.g. {kind.example}",
        value,
        plain if kind.plain else {**layout, "examples": [kind.example]},
        Quantity(kind=kind_name, value=math.nan, number="", unit=""),
        numeric=True,
    )


def _misplaced(text: str, what: str, expected: str) -> UnreadableError:
    return UnreadableError("misplaced", found=shown(text), what=what, expected=expected)


def whole(what: str, least: int, most: int, stand_in: int = 0) -> OneText:
    """A whole number."""

    def value(text: str, *_: Any) -> int:
        if re.fullmatch("[0-9]{1,6}", text) and least <= int(text) <= most:
            return int(text)
        raise _misplaced(text, what, expected)

    expected = f"write a whole number from {least} to {most}"
    layout = {"type": "integer", "minimum": least, "maximum": most}
    return OneText(what, lambda _: expected, value, layout, stand_in, numeric=True)


def choice(
    words: Mapping[str, Any], what: str = "a word", expected: str = "", stand_in: Any = ""
) -> OneText:
    """One of a few words, each with what it stands for; ``expected``: where none is likely to be
    misspelt.
    """

    def wanted(text: str) -> str:
        return expected or meant(text, [*words], f"write {listed(words, 'or')}")

    def value(text: str, *_: Any) -> Any:
        if text not in words:
            raise _misplaced(text, what, wanted(text))
        return words[text]

    layout = {"enum": list(dict.fromkeys(words.values()))}
    return OneText(what, wanted, value, layout, stand_in)


@dataclass(frozen=True)
class OrWord(Shape):
    """A word for which None stands, or another shape."""

    word: str
    shape: Shape
    what: str = ""  # the other, with its article, where a text without digits is neither
    expected: str = ""  # then
    numeric = True

    @property
    def stand_in(self) -> Any:
        """That of the other shape."""
        return self.shape.stand_in

    def _read(self, node: Node, path: Keys, reading: Reading) -> Any:
        text = text_of(node)
        if text == self.word:
            return None
        if not self.what or re.search("[0-9]", text):
            return self.shape.read(node, path, reading)
        expected = meant(text, [self.word], self.expected)
        return reading.misplaced(node, f"{self.word} or {self.what}", expected)

    def _schema(self) -> dict[str, Any]:
        return {"anyOf": [{"const": self.word}, self.shape.schema()]}


@dataclass(frozen=True)
class ByForm(Shape):
    """A shape for each form of node; the first one is for all others too."""

    shapes: Mapping[type[Node], Shape]

    def _read(self, node: Node, path: Keys, reading: Reading) -> Any:
        first = next(iter(self.shapes.values()))
        return self.shapes.get(type(node), first).read(node, path, reading)

    def _schema(self) -> dict[str, Any]:
        return {"anyOf": [shape.schema() for shape in self.shapes.values()]}
