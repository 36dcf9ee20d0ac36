"""The vocabulary in which the files' layout is written down (``layout.py``).

A shape reads a node of the tree into a value of the model, noting problems and places as it
goes, and says the same as JSON Schema. Where a value can't be read, a shape gives a stand-in
that no later check objects to: every problem of a file shows up at once, and each only once.
"""

import math
import re
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any

from fallwork.errors import Place
from fallwork.scenario.model import Quantity
from fallwork.scenario.quantity import NUMBER, SIGN, UnreadableError, parse_quantity
from fallwork.scenario.report import Report, listed, meant, shown
from fallwork.scenario.tree import Keys, Listing, Node, Scalar, Spoilt
from fallwork.scenario.units import kinds

_CONTROL = re.compile("[\x00-\x1f\x7f-\x9f\u2028\u2029]")


@dataclass(kw_only=True)
class Reading:
    """What goes along while one file is read."""

    report: Report
    values: dict[Keys, Place] = field(default_factory=dict)  # path -> where its value stands
    keys: dict[Keys, Place] = field(default_factory=dict)  # path -> where its key stands
    names: dict[str, str] = field(default_factory=dict)  # the shared namespace: name -> what
    unread: list[Keys] = field(default_factory=list)  # paths of what can't be read at all
    strangers: list[Keys] = field(default_factory=list)  # paths of keys that nobody knows


class Shape:
    """One layout of a node."""

    stand_in: Any = None  # what is given where the value can't be read

    def read(self, node: Node, path: Keys, reading: Reading) -> Any:
        """The value of a node, or the stand-in after noting a problem."""
        if isinstance(node, Spoilt):
            return self.stand_in
        reading.values[path] = node.place
        return self.read_sound(node, path, reading)

    def read_sound(self, node: Node, path: Keys, reading: Reading) -> Any:
        """The value of a node that the tree reader had no objection to."""
        raise NotImplementedError

    def json_schema(self) -> dict[str, Any]:
        """The same layout as JSON Schema (draft 2020-12)."""
        raise NotImplementedError


@dataclass(frozen=True, kw_only=True)
class Text(Shape):
    """Any text that isn't empty; ``check`` gives the value or raises UnreadableError."""

    what: str  # with its article: "a title"
    example: str
    pattern: str = ""  # for editors; ``check`` decides
    or_number: bool = False  # whether it may look like a number
    check: Callable[[str], Any] = str
    stand_in: Any = ""

    def read_sound(self, node: Node, path: Keys, reading: Reading) -> Any:
        """The text, or what ``check`` makes of it."""
        if not isinstance(node, Scalar):
            reading.report.malformed(
                node.place, f"{found_in(node)} where {self.what} should stand", self._wanted()
            )
            return self.stand_in
        if not node.text.strip():
            reading.report.malformed(
                node.place, f"nothing where {self.what} should stand", self._wanted()
            )
            return self.stand_in
        hidden = _CONTROL.search(node.text.strip())
        if hidden:
            sign = shown(hidden.group())[1:-1]
            what = "a line break" if hidden.group() == "\n" else f"the invisible character {sign}"
            reading.report.malformed(
                node.place, f"{what} in {self.what}", "write it on one line, without hidden signs"
            )
            return self.stand_in
        try:
            return self.check(node.text.strip())
        except UnreadableError as error:
            reading.report.malformed(node.place, error.found, error.expected)
            return self.stand_in

    def _wanted(self) -> str:
        return f"write e.g. {self.example}"

    def json_schema(self) -> dict[str, Any]:
        """A string, with the pattern if there is one."""
        kinds: Any = ["string", "number"] if self.or_number else "string"
        return {"type": kinds, **({"pattern": self.pattern} if self.pattern else {})}


@dataclass(frozen=True, kw_only=True)
class Measure(Shape):
    """A quantity with its unit, perhaps between bounds (SI)."""

    kind: str
    above: float = -math.inf
    at_least: float = -math.inf
    at_most: float = math.inf
    bound: str = ""  # the bounds in words: "a mass is more than zero"

    @property
    def stand_in(self) -> Quantity:
        """A quantity that compares false with everything."""
        return Quantity(kind=self.kind, value=math.nan, number="", unit="")

    def read_sound(self, node: Node, path: Keys, reading: Reading) -> Quantity:
        """The quantity, or the stand-in."""
        if not isinstance(node, Scalar):
            kind = kinds()[self.kind]
            reading.report.malformed(
                node.place,
                f"{found_in(node)} where {kind.say} should stand",
                f"write e.g. {kind.example}",
            )
            return self.stand_in
        try:
            quantity = parse_quantity(node.text, self.kind)
        except UnreadableError as error:
            reading.report.malformed(node.place, error.found, error.expected)
            return self.stand_in
        name = path[-1]
        if self.above == 0 and 0 < quantity.value <= quantity.u:
            reading.report.impossible(
                node.place,
                f"the {name} {shown(node.text)}",
                "its standard uncertainty must be less than its value; are both in the right unit?",
            )
            return self.stand_in
        if self._outside(quantity.value):
            reading.report.impossible(node.place, f"the {name} {shown(node.text)}", self.bound)
            return self.stand_in
        return quantity

    def _outside(self, value: float) -> bool:
        return value <= self.above or value < self.at_least or value > self.at_most

    def json_schema(self) -> dict[str, Any]:
        """A string of number and unit; where there is no unit, a number as well."""
        kind = kinds()[self.kind]
        unit = kind.pattern()
        one = f"{NUMBER} ?(?:{unit})" if unit else NUMBER
        first = f"{NUMBER}(?: ?(?:{unit}))?" if unit else NUMBER
        pattern = f"^(?:{one}|{first} ?(?:{SIGN}) ?{one}(?: limits)?)$"
        schema: dict[str, Any] = {"type": "string", "pattern": pattern}
        if kind.plain:
            return {"anyOf": [{"type": "number"}, schema]}
        return {**schema, "examples": [kind.example]}


@dataclass(frozen=True, kw_only=True)
class Count(Shape):
    """A whole number."""

    what: str
    at_least: int
    at_most: int
    stand_in: int = 0

    def read_sound(self, node: Node, path: Keys, reading: Reading) -> int:
        """The number, or the stand-in."""
        text = node.text.strip() if isinstance(node, Scalar) else ""
        digits = re.fullmatch("[0-9]{1,6}", text)
        if digits and self.at_least <= int(text) <= self.at_most:
            return int(text)
        reading.report.malformed(
            node.place,
            f"{found_in(node)} where {self.what} should stand",
            f"write a whole number from {self.at_least} to {self.at_most}",
        )
        return self.stand_in

    def json_schema(self) -> dict[str, Any]:
        """An integer between the bounds."""
        return {"type": "integer", "minimum": self.at_least, "maximum": self.at_most}


@dataclass(frozen=True, kw_only=True)
class Choice(Shape):
    """One of a few words."""

    what: str  # with its article: "a word"
    words: tuple[str, ...]
    stand_in: str = ""

    def read_sound(self, node: Node, path: Keys, reading: Reading) -> str:
        """The word, or the stand-in."""
        text = node.text.strip() if isinstance(node, Scalar) else ""
        if text in self.words:
            return text
        reading.report.malformed(
            node.place,
            f"{found_in(node)} where {self.what} should stand",
            meant(text, self.words, f"write {listed(self.words, 'or')}"),
        )
        return self.stand_in

    def json_schema(self) -> dict[str, Any]:
        """These words and no others."""
        return {"enum": list(self.words)}


def found_in(node: Node) -> str:
    """What a node is, as a message says it: a text is repeated."""
    if isinstance(node, Scalar):
        return shown(node.text) if node.text.strip() else "nothing"
    return "a list" if isinstance(node, Listing) else "a mapping"
