"""Shapes that hold other shapes: lists, records with fixed keys, and tables of names.

The second half of the vocabulary of ``layout.py``; see ``shapes`` for what a shape does.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import Any

from fallwork.scenario.names import NAME, object_name
from fallwork.scenario.quantity import UnreadableError
from fallwork.scenario.report import Report, closest, listed, meant, shown
from fallwork.scenario.shapes import Reading, Shape, found_in
from fallwork.scenario.tree import Keys, Listing, Node, Scalar, Spoilt
from fallwork.scenario.tree import Mapping as MappingNode

MOST_ENTRIES = 100  # of a list or table, where nothing else is said


def _counted(number: int) -> str:
    return {0: "no entry", 1: "one entry"}.get(number, f"{number} entries")


@dataclass(frozen=True, kw_only=True)
class Items(Shape):
    """A list."""

    what: str  # "the members of a system"
    example: str
    item: Shape
    at_least: int = 1
    at_most: int = MOST_ENTRIES
    make: Callable[[Keys, tuple[Any, ...]], Any] = lambda _path, items: items
    stand_in: Any = ()

    def read_sound(self, node: Node, path: Keys, reading: Reading) -> Any:
        """What ``make`` makes of path and items; items that can't be read are stand-ins."""
        if not isinstance(node, Listing):
            reading.report.malformed(
                node.place,
                f"{found_in(node)} where a list should stand",
                f"write e.g. {self.example}",
            )
            return self.stand_in
        if not self.at_least <= len(node.items) <= self.at_most:
            reading.report.malformed(
                node.place,
                f"{_counted(len(node.items))} in {self.what}",
                f"at least {_counted(self.at_least)} and at most {self.at_most}, "
                f"e.g. {self.example}",
            )
            return self.stand_in
        return self.make(
            path,
            tuple(
                self.item.read(item, (*path, str(index)), reading)
                for index, item in enumerate(node.items)
            ),
        )

    def json_schema(self) -> dict[str, Any]:
        """An array."""
        return {
            "type": "array",
            "minItems": self.at_least,
            "maxItems": self.at_most,
            "items": self.item.json_schema(),
        }


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
    remedy: str = ""  # what to do where a key is missing, if adding it is not

    def read_sound(self, node: Node, path: Keys, reading: Reading) -> Any:
        """What ``make`` makes of the values; None where the node is no mapping."""
        if not isinstance(node, MappingNode):
            reading.report.malformed(
                node.place, f"{found_in(node)} where {self.what} should stand", self._keys()
            )
            return self.stand_in
        values: dict[str, Any] = {}
        for key, value in node.entries:
            known = self.fields.get(key.text)
            if known is None:
                bare = node.in_braces and isinstance(value, Scalar) and not value.text
                self._refuse(key, bare, reading.report)
                reading.strangers.append((*path, key.text))
                continue
            below = (*path, key.text)
            reading.keys[below] = key.place
            values[known.attribute or key.text] = known.shape.read(value, below, reading)
        self._note_missing(node, path, reading, values)
        if self.named:
            values[self.named] = path[-1]
        return self.make(**values)

    def _note_missing(
        self, node: MappingNode, path: Keys, reading: Reading, values: dict[str, Any]
    ) -> None:
        missing = [
            key
            for key, known in self.fields.items()
            if known.required and (known.attribute or key) not in values
        ]
        for key in missing:
            known = self.fields[key]
            values[known.attribute or key] = known.shape.stand_in
            if isinstance(known.shape, Named):
                reading.unread.append((*path, key))
        # A key that was misspelt was reported where it stands.
        strangers = [key.text for key, _ in node.entries if key.text not in self.fields]
        missing = [key for key in missing if not closest(key, strangers)]
        if missing:
            place = reading.keys.get(path, node.place)
            reading.report.malformed(
                place,
                f"{self.what} without {listed(missing)}",
                self.remedy or f"add {listed(self._explained(key) for key in missing)}",
            )

    def _explained(self, key: str) -> str:
        says = self.fields[key].says
        return f"{key} ({says[:1].lower()}{says[1:]})" if says else key

    def _refuse(self, key: Scalar, bare: bool, report: Report) -> None:
        otherwise = self._keys()
        if bare and key.text[:1].isdigit():
            otherwise = "the decimal sign is a point, not a comma"
        elif bare:
            otherwise = "a text in braces needs quotes if it has a comma"
        report.malformed(
            key.place,
            f"unknown key {shown(key.text)}",
            meant(key.text, list(self.fields), otherwise),
        )

    def _keys(self) -> str:
        return f"the keys of {self.what} are {listed(self.fields)}"

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

    def read_sound(self, node: Node, path: Keys, reading: Reading) -> Any:
        """The value of the record that ``kind`` names; None where none can be told."""
        if not isinstance(node, MappingNode):
            reading.report.malformed(
                node.place, f"{found_in(node)} where {self.what} should stand", self._wanted()
            )
            return None
        for key, value in node.entries:
            if key.text == "kind":
                return self._read_kind(node, value, path, reading)
        reading.report.malformed(
            reading.keys.get(path, node.place), f"{self.what} without kind", self._wanted()
        )
        return None

    def _read_kind(self, node: MappingNode, kind: Node, path: Keys, reading: Reading) -> Any:
        if isinstance(kind, Spoilt):
            return None
        if not isinstance(kind, Scalar):
            reading.report.malformed(
                kind.place, f"{found_in(kind)} where a kind should stand", self._wanted()
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
        return f"the kinds are {listed(self.records)}"

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


@dataclass(frozen=True, kw_only=True)
class Named(Shape):
    """A mapping from names of the author's choice to values of one shape."""

    what: str  # of the name: "the name", "the id"
    of: str  # what it holds, with article: "an object"
    value: Shape
    at_least: int = 0
    at_most: int = MOST_ENTRIES
    shared: bool = False  # whether its names live in the file's one namespace
    reserved: Mapping[str, str] = field(default_factory=dict)  # name -> what has it already
    check: Callable[[str, str], str] = object_name

    @property
    def stand_in(self) -> dict[str, Any]:
        """Nothing."""
        return {}

    def read(self, node: Node, path: Keys, reading: Reading) -> dict[str, Any]:
        """The values by name, None for those that can't be read."""
        noted = len(reading.report)
        values: dict[str, Any] = super().read(node, path, reading)
        if not values and (len(reading.report) > noted or isinstance(node, Spoilt)):
            reading.unread.append(path)
        return values

    def read_sound(self, node: Node, path: Keys, reading: Reading) -> dict[str, Any]:
        """The same, for a sound node."""
        if not isinstance(node, MappingNode):
            reading.report.malformed(
                node.place,
                f"{found_in(node)} where a mapping of names should stand",
                f"write a name, a colon and {self.of}",
            )
            return {}
        if not self.at_least <= len(node.entries) <= self.at_most:
            reading.report.malformed(
                node.place,
                f"{_counted(len(node.entries))} in {path[-1]}",
                f"at least {_counted(self.at_least)} and at most {self.at_most}",
            )
            return {}
        values: dict[str, Any] = {}
        for key, value in node.entries:
            self._check_name(key, reading.report)
            below = (key.text,) if self.shared else (*path, key.text)
            if not self._taken(key, reading):
                reading.keys[below] = key.place
            values[key.text] = self.value.read(value, below, reading)
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
            "maxProperties": self.at_most,
            "propertyNames": {"pattern": f"^{NAME}$"},
            "additionalProperties": self.value.json_schema(),
        }
