"""The vocabulary in which the files' layout is written down (``layout.py``).

A shape reads a node of the tree into a value of the model, noting problems and places as it
goes, and says the same as JSON Schema. Where a value can't be read, a shape gives a stand-in
that no later check objects to: every problem of a file shows up at once, and each only once.
"""

import math
import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import Any

from fallwork.errors import Place
from fallwork.scenario.model import Quantity
from fallwork.scenario.quantity import NUMBER, SIGN, UnreadableError, parse_quantity
from fallwork.scenario.report import Report, closest, listed, meant, shown
from fallwork.scenario.tree import Listing, Node, Scalar, Spoilt
from fallwork.scenario.tree import Mapping as MappingNode
from fallwork.scenario.units import kinds

NAME = r"[a-z][a-z0-9]*(?:-[a-z0-9]+)*"
LONGEST_NAME = 40


@dataclass(kw_only=True)
class Reading:
    """What goes along while one file is read."""

    report: Report
    values: dict[str, Place] = field(default_factory=dict)  # path -> where its value stands
    keys: dict[str, Place] = field(default_factory=dict)  # path -> where its key stands
    names: dict[str, str] = field(default_factory=dict)  # the shared namespace: name -> what


class Shape:
    """One layout of a node."""

    stand_in: Any = None  # what is given where the value can't be read

    def read(self, node: Node, path: str, reading: Reading) -> Any:
        """The value of a node, or the stand-in after noting a problem."""
        if isinstance(node, Spoilt):
            return self.stand_in
        reading.values[path] = node.place
        return self.read_sound(node, path, reading)

    def read_sound(self, node: Node, path: str, reading: Reading) -> Any:
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
    check: Callable[[str], Any] = str
    stand_in: Any = ""

    def read_sound(self, node: Node, path: str, reading: Reading) -> Any:
        """The text, or what ``check`` makes of it."""
        if not isinstance(node, Scalar):
            reading.report.malformed(
                node.place, f"{_form(node)} where {self.what} should stand", self._wanted()
            )
            return self.stand_in
        if not node.text.strip():
            reading.report.malformed(
                node.place, f"nothing where {self.what} should stand", self._wanted()
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
        return {"type": "string", **({"pattern": self.pattern} if self.pattern else {})}


@dataclass(frozen=True, kw_only=True)
class Measure(Shape):
    """A quantity with its unit, perhaps between bounds (SI)."""

    kind: str
    above: float = -math.inf
    at_least: float = -math.inf
    below: float = math.inf
    at_most: float = math.inf
    bound: str = ""  # the bounds in words: "a mass is more than zero"

    @property
    def stand_in(self) -> Quantity:  # type: ignore[override]
        """A quantity that compares false with everything."""
        return Quantity(kind=self.kind, value=math.nan, number="", unit="")

    def read_sound(self, node: Node, path: str, reading: Reading) -> Quantity:
        """The quantity, or the stand-in."""
        if not isinstance(node, Scalar):
            kind = kinds()[self.kind]
            reading.report.malformed(
                node.place, f"{_form(node)} where {kind.say} should stand", f"write e.g. {kind.example}"
            )
            return self.stand_in
        try:
            quantity = parse_quantity(node.text, self.kind)
        except UnreadableError as error:
            reading.report.malformed(node.place, error.found, error.expected)
            return self.stand_in
        if self._outside(quantity.value):
            reading.report.impossible(node.place, shown(node.text), self.bound)
            return self.stand_in
        return quantity

    def _outside(self, value: float) -> bool:
        return (
            value <= self.above
            or value < self.at_least
            or value >= self.below
            or value > self.at_most
        )

    def json_schema(self) -> dict[str, Any]:
        """A string of number and unit; where there is no unit, a number as well."""
        kind = kinds()[self.kind]
        spellings = [*kind.factors, *kind.also]
        unit = "|".join(re.escape(spelling) for spelling in spellings if spelling)
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

    def read_sound(self, node: Node, path: str, reading: Reading) -> int:
        """The number, or the stand-in."""
        text = node.text.strip() if isinstance(node, Scalar) else ""
        digits = re.fullmatch("[0-9]{1,6}", text)
        if digits and self.at_least <= int(text) <= self.at_most:
            return int(text)
        found = shown(text) if isinstance(node, Scalar) else _form(node)
        reading.report.malformed(
            node.place,
            f"{found} where {self.what} should stand",
            f"write a whole number from {self.at_least} to {self.at_most}",
        )
        return self.stand_in

    def json_schema(self) -> dict[str, Any]:
        """An integer between the bounds."""
        return {"type": "integer", "minimum": self.at_least, "maximum": self.at_most}


@dataclass(frozen=True, kw_only=True)
class Items(Shape):
    """A list."""

    what: str  # "the members of a system"
    example: str
    item: Shape
    at_least: int = 1
    make: Callable[[str, tuple[Any, ...]], Any] = lambda _path, items: items
    stand_in: Any = ()

    def read_sound(self, node: Node, path: str, reading: Reading) -> Any:
        """What ``make`` makes of path and items; items that can't be read are stand-ins."""
        if not isinstance(node, Listing):
            found = shown(node.text) if isinstance(node, Scalar) else _form(node)
            reading.report.malformed(
                node.place, f"{found} where a list should stand", f"write e.g. {self.example}"
            )
            return self.stand_in
        if len(node.items) < self.at_least:
            reading.report.malformed(
                node.place,
                f"{len(node.items) or 'nothing'} in the list of {self.what}".replace("1 in", "one in"),
                f"it takes at least {self.at_least}, e.g. {self.example}",
            )
            return self.stand_in
        return self.make(
            path,
            tuple(
                self.item.read(item, f"{path}.{index}", reading)
                for index, item in enumerate(node.items)
            ),
        )

    def json_schema(self) -> dict[str, Any]:
        """An array."""
        return {"type": "array", "minItems": self.at_least, "items": self.item.json_schema()}


@dataclass(frozen=True, kw_only=True)
class Field:
    """One key of a record."""

    shape: Shape
    says: str  # for the editor's hint
    required: bool = False
    attribute: str = ""  # the model's name for it, where that differs from the key


@dataclass(frozen=True, kw_only=True)
class Record(Shape):
    """Keys with fixed names; ``make`` takes their values by keyword."""

    what: str  # with its article: "a cart"
    fields: Mapping[str, Field]
    make: Callable[..., Any]
    named: str = ""  # the keyword under which ``make`` gets the last part of the path, if any

    def read_sound(self, node: Node, path: str, reading: Reading) -> Any:
        """What ``make`` makes of the values; None where the node is no mapping."""
        if not isinstance(node, MappingNode):
            found = _form(node) if not isinstance(node, Scalar) else shown(node.text)
            reading.report.malformed(
                node.place, f"{found} where {self.what} should stand", self._keys()
            )
            return self.stand_in
        values: dict[str, Any] = {}
        for key, value in node.entries:
            known = self.fields.get(key.text)
            if known is None:
                self._refuse(key, value, reading.report)
                continue
            below = f"{path}.{key.text}" if path else key.text
            reading.keys[below] = key.place
            values[known.attribute or key.text] = known.shape.read(value, below, reading)
        self._note_missing(node, path, reading, values)
        if self.named:
            values[self.named] = path.rpartition(".")[2]
        return self.make(**values)

    def _note_missing(
        self, node: MappingNode, path: str, reading: Reading, values: dict[str, Any]
    ) -> None:
        missing = [
            key
            for key, known in self.fields.items()
            if known.required and (known.attribute or key) not in values
        ]
        for key in missing:
            known = self.fields[key]
            values[known.attribute or key] = known.shape.stand_in
        # A key that was misspelt was reported where it stands.
        strangers = [key.text for key, _ in node.entries if key.text not in self.fields]
        missing = [key for key in missing if not closest(key, strangers)]
        if missing:
            place = reading.keys.get(path, node.place)
            reading.report.malformed(
                place, f"{self.what} without {listed(missing)}", f"add {listed(missing)}"
            )

    def _refuse(self, key: Scalar, value: Node, report: Report) -> None:
        if isinstance(value, Scalar) and not value.text and " " in key.text:
            report.malformed(
                key.place,
                f"the key {shown(key.text)} without a value",
                "a text with a comma needs quotes" if self.fields else "take it out",
            )
            return
        report.malformed(
            key.place,
            f"unknown key {shown(key.text)}",
            meant(key.text, list(self.fields), self._keys()),
        )

    def _keys(self) -> str:
        return f"{self.what} has the keys {listed(self.fields)}"

    def json_schema(self) -> dict[str, Any]:
        """An object with these properties and no others."""
        required = [key for key, known in self.fields.items() if known.required]
        return {
            "type": "object",
            "properties": {
                key: {"description": known.says, **known.shape.json_schema()}
                for key, known in self.fields.items()
            },
            **({"required": required} if required else {}),
            "additionalProperties": False,
        }


@dataclass(frozen=True, kw_only=True)
class Variants(Shape):
    """Records told apart by their key ``kind``."""

    what: str
    records: Mapping[str, Record]

    def read_sound(self, node: Node, path: str, reading: Reading) -> Any:
        """The value of the record that ``kind`` names; None where none can be told."""
        if not isinstance(node, MappingNode):
            found = _form(node) if not isinstance(node, Scalar) else shown(node.text)
            reading.report.malformed(
                node.place, f"{found} where {self.what} should stand", self._wanted()
            )
            return None
        for key, value in node.entries:
            if key.text == "kind":
                return self._read_kind(node, value, path, reading)
        reading.report.malformed(
            reading.keys.get(path, node.place), f"{self.what} without kind", self._wanted()
        )
        return None

    def _read_kind(self, node: MappingNode, kind: Node, path: str, reading: Reading) -> Any:
        if isinstance(kind, Spoilt):
            return None
        if not isinstance(kind, Scalar):
            reading.report.malformed(
                kind.place, f"{_form(kind)} where a kind should stand", self._wanted()
            )
            return None
        record = self.records.get(kind.text.strip())
        if record is None:
            reading.report.malformed(
                kind.place,
                f"unknown kind {shown(kind.text)}",
                meant(kind.text, list(self.records), self._wanted()),
            )
            return None
        return record.read_sound(node, path, reading)

    def _wanted(self) -> str:
        return f"its kind is one of {listed(self.records, 'or')}"

    def json_schema(self) -> dict[str, Any]:
        """Any one of the records."""
        return {
            "type": "object",
            "required": ["kind"],
            "properties": {"kind": {"enum": list(self.records)}},
            "allOf": [
                {
                    "if": {"properties": {"kind": {"const": kind}}, "required": ["kind"]},
                    "then": record.json_schema(),
                }
                for kind, record in self.records.items()
            ],
        }


def object_name(text: str, what: str) -> str:
    """A name that can stand in an address; raises UnreadableError."""
    if re.fullmatch(NAME, text) and len(text) <= LONGEST_NAME:
        return text
    if len(text) > LONGEST_NAME:
        raise UnreadableError(
            f"{what} {shown(text)} is longer than {LONGEST_NAME} characters", "shorten it"
        )
    plain = re.sub("[^a-z0-9]+", "-", text.lower()).strip("-")
    hint = f"write {plain}" if re.fullmatch(NAME, plain) else "write e.g. cart-a"
    raise UnreadableError(
        f"{what} {shown(text)}",
        f"it becomes part of addresses: lower-case letters, digits and single hyphens, beginning "
        f"with a letter; {hint}",
    )


@dataclass(frozen=True, kw_only=True)
class Named(Shape):
    """A mapping from names of the author's choice to values of one shape."""

    what: str  # of the name: "the name", "the id"
    of: str  # what it holds, with article: "an object"
    value: Shape
    at_least: int = 0
    shared: bool = False  # whether its names live in the file's one namespace
    reserved: Mapping[str, str] = field(default_factory=dict)  # name -> what has it already
    check: Callable[[str, str], str] = object_name

    @property
    def stand_in(self) -> dict[str, Any]:  # type: ignore[override]
        """Nothing."""
        return {}

    def read_sound(self, node: Node, path: str, reading: Reading) -> dict[str, Any]:
        """The values by name, None for those that can't be read."""
        if not isinstance(node, MappingNode):
            found = _form(node) if not isinstance(node, Scalar) else shown(node.text)
            reading.report.malformed(
                node.place,
                f"{found} where names with {self.of} each should stand",
                "write a name, a colon and what it stands for",
            )
            return {}
        if len(node.entries) < self.at_least:
            reading.report.malformed(
                node.place, f"not one entry where {self.of} should stand", "add one"
            )
        values: dict[str, Any] = {}
        for key, value in node.entries:
            self._check_name(key, reading.report)
            below = key.text if self.shared else f"{path}.{key.text}"
            taken = self._taken(key, reading)
            if not taken:
                reading.keys[below] = key.place
            read = self.value.read(value, below, reading)
            if not taken:
                values[key.text] = read
        return values

    def _check_name(self, key: Scalar, report: Report) -> None:
        try:
            self.check(key.text, self.what)
        except UnreadableError as error:
            report.malformed(key.place, error.found, error.expected)

    def _taken(self, key: Scalar, reading: Reading) -> bool:
        """Whether the name belongs to something else, after saying so."""
        taken = self.reserved.get(key.text)
        if self.shared:
            taken = taken or reading.names.get(key.text)
            reading.names.setdefault(key.text, self.of)
        if taken:
            reading.report.malformed(
                key.place, f"{self.what} {shown(key.text)} belongs to {taken}", "choose another"
            )
        return bool(taken)

    def json_schema(self) -> dict[str, Any]:
        """An object whose property names follow the rule for names."""
        return {
            "type": "object",
            "minProperties": self.at_least,
            "propertyNames": {"pattern": f"^{NAME}$"},
            "additionalProperties": self.value.json_schema(),
        }


def _form(node: Node) -> str:
    return "a list" if isinstance(node, Listing) else "a mapping"
