"""What may stand behind a key as a list or a mapping, and how a class declares its keys.

``radius: Annotated[Quantity | None, LENGTH] = None`` in a frozen dataclass of the model is all that
is said of a key: from it follow reading, default, JSON Schema and every message; the hint that
editors show is in ``keys.yaml``. A key without a default is required; a field ``name`` or ``id``
that is no key takes the name under which the mapping stands.
"""

from collections.abc import Callable, Mapping
from dataclasses import MISSING, dataclass, field, fields
from functools import cached_property
from typing import Any

from fallwork.errors import table
from fallwork.scenario.nouns import NAME, object_name
from fallwork.scenario.report import UnreadableError, closest, listed, shown, unknown
from fallwork.scenario.shapes import Reading, Shape, choice, text
from fallwork.scenario.tree import Keys, Listing, Node, Scalar, Spoilt
from fallwork.scenario.tree import Mapping as MappingNode

MOST_ENTRIES = 100  # of a list or table, where nothing else is said
_POINT = "the decimal sign is a point, not a comma"


def _are_so_many(
    shape: "Items | Named", count: int, node: Node, what: str, reading: Reading, more: str = ""
) -> bool:
    """Whether there are neither too few entries nor too many, after saying so."""
    fits = shape.at_least <= count <= shape.at_most
    if not fits:
        words = {0: "no entry", 1: "one entry"}
        said, least = (words.get(n, f"{n} entries") for n in (count, shape.at_least))
        bounds = {"least": least, "most": shape.at_most, "example": more}
        reading.refuse(node, "entries", count=said, what=what, **bounds)
    return fits


@dataclass(frozen=True)
class Items(Shape):
    """A list."""

    what: str  # "the members of a system"
    example: str
    item: Shape
    at_least: int = 1
    at_most: int = MOST_ENTRIES
    make: Callable[[Keys, tuple[Any, ...]], Any] = lambda _path, items: items
    stand_in: Any = ()

    def _read(self, node: Node, path: Keys, reading: Reading) -> Any:
        if not isinstance(node, Listing):
            reading.misplaced(node, "a list", f"write e.g. {self.example}")
            return self.stand_in
        example, count = f", e.g. {self.example}", len(node.items)
        if not _are_so_many(self, count, node, self.what, reading, example):
            return self.stand_in
        items = enumerate(node.items)
        return self.make(
            path, tuple(self.item.read(item, (*path, str(at)), reading) for at, item in items)
        )

    def _schema(self) -> dict[str, Any]:
        bounds = {"minItems": self.at_least, "maxItems": self.at_most}
        return {"type": "array", **bounds, "items": self.item.schema()}


@dataclass(frozen=True)
class Key:
    """What a class says of a field that is a key, where its shape isn't all."""

    shape: Shape
    key: str = ""  # in files, where that isn't the field's name
    must: bool | None = None  # whether it is required, where the class's default doesn't say it
    attribute: str = ""  # of the class, and whether that has a default: as the record finds them
    has_default: bool = False


@dataclass(frozen=True)
class Record(Shape):
    """Keys with fixed names, declared by a class."""

    what: str  # with its article: "a cart"
    declares: type
    make: Callable[..., Any] | None = None  # what is made of the values, if not the class
    kind: str = ""  # what its key ``kind`` says, if it has one
    without: str = ""  # a key of the class that it doesn't have
    shapes: Mapping[str, Shape] = field(default_factory=dict)  # in place of the class's
    remedy: str = ""  # what to do where a key is missing, if adding it is not
    numeric = True

    @cached_property
    def keys(self) -> Mapping[str, Key]:
        """Its keys in order."""
        of_kind = text("a kind", self.kind, pattern=f"^{self.kind}$")
        found = {"kind": Key(of_kind, "", True, "kind")} if self.kind else {}
        for each in fields(self.declares):
            for said in getattr(each.type, "__metadata__", ()):
                known = said if isinstance(said, Key) else Key(said)
                key = known.key or each.name
                default = each.default is not MISSING or each.default_factory is not MISSING
                must = not default if known.must is None else known.must
                found[key] = Key(self.shapes.get(key, known.shape), key, must, each.name, default)
        return {key: known for key, known in found.items() if key != self.without}

    def _says(self, key: str) -> str:
        """What the key is for."""
        hints = table("scenario", "keys")
        classes = [*(c.__name__ for c in self.declares.__mro__), "any"]
        return next(str(hints[c][key]) for c in classes if key in hints.get(c, ()))

    @cached_property
    def _name(self) -> str:
        """The field that takes the name under which the mapping stands; "" for none."""
        taken = {known.attribute for known in self.keys.values()}
        own = {each.name for each in fields(self.declares)} - taken
        return next((name for name in ("name", "id") if name in own), "")

    def _read(self, node: Node, path: Keys, reading: Reading) -> Any:
        if not isinstance(node, MappingNode):
            return reading.misplaced(node, self.what, self._known)
        values: dict[str, Any] = {}
        for key, value in node.entries:
            below, known = (*path, key.text), self.keys.get(key.text)
            if known is None:
                reading.strangers.append(below)
                otherwise = self._known
                if node.in_braces and isinstance(value, Scalar) and not value.text:
                    comma = key.text[:1].isdigit()
                    otherwise = (
                        _POINT if comma else "a text in braces needs quotes if it has a comma"
                    )
                names = unknown("key", key.text, [*self.keys], otherwise)
                reading.refuse(key, "unknown", **names)
            else:
                reading.keys[below] = key.place
                values[known.attribute] = known.shape.read(value, below, reading)
        self._note_missing(node, path, reading, values)
        if self._name:
            values[self._name] = path[-1] if path else ""
        values.pop("kind", None)
        return (self.make or self.declares)(**values)

    def _note_missing(
        self, node: MappingNode, path: Keys, reading: Reading, values: dict[str, Any]
    ) -> None:
        missing = {k: known for k, known in self.keys.items() if known.attribute not in values}
        for key, known in missing.items():
            if not known.has_default:
                values[known.attribute] = known.shape.stand_in
            if known.must and isinstance(known.shape, Named):
                reading.unread.append((*path, key))
        # A key that was misspelt was reported where it stands.
        strangers = [key.text for key, _ in node.entries if key.text not in self.keys]
        lacks = [k for k, known in missing.items() if known.must and not closest(k, strangers)]
        if lacks:
            says = {key: self._says(key) for key in lacks}
            add = listed(f"{key} ({s[:1].lower()}{s[1:]})" for key, s in says.items())
            expected = self.remedy or f"add {add}"
            names = {"what": self.what, "keys": listed(lacks), "expected": expected}
            reading.report.refuse(reading.keys.get(path, node.place), "keys-missing", **names)

    @property
    def _known(self) -> str:
        return f"the keys of {self.what} are {listed(self.keys)}"

    def _schema(self) -> dict[str, Any]:
        required = [key for key, known in self.keys.items() if known.must]
        return {
            "type": "object",
            "properties": {
                key: {"description": self._says(key), **known.shape.schema()}
                for key, known in self.keys.items()
            },
            **({"required": required} if required else {}),
            "additionalProperties": False,
        }


@dataclass(frozen=True)
class Variants(Shape):
    """Records told apart by their key ``kind``."""

    what: str
    records: Mapping[str, Record]

    def _read(self, node: Node, path: Keys, reading: Reading) -> Any:
        expected = f"the kinds are {listed(self.records)}"
        if not isinstance(node, MappingNode):
            return reading.misplaced(node, self.what, expected)
        kind = next((value for key, value in node.entries if key.text == "kind"), None)
        if kind is None:
            place, names = reading.keys.get(path, node.place), {"what": self.what, "keys": "kind"}
            return reading.report.refuse(place, "keys-missing", expected=expected, **names)
        kinds = choice({kind: kind for kind in self.records}, "a kind")
        record = self.records.get(kinds.read(kind, (*path, "kind"), reading))
        return record.read(node, path, reading) if record else None

    def _schema(self) -> dict[str, Any]:
        kinds = {kind: {"properties": {"kind": {"const": kind}}} for kind in self.records}
        return {
            "type": "object",
            "required": ["kind"],
            "properties": {"kind": {"enum": list(self.records)}},
            "allOf": [
                {"if": {**kinds[kind], "required": ["kind"]}, "then": record.schema()}
                for kind, record in self.records.items()
            ],
        }


@dataclass(frozen=True)
class Named(Shape):
    """A mapping from names of the author's choice to values of one shape."""

    what: str  # of the name: "the name", "the id"
    of: str  # what it holds, with article: "an object"
    value: Shape
    check: Callable[[str, str], str] = object_name
    at_least: int = 0
    at_most: int = MOST_ENTRIES
    reserved: Mapping[str, str] | None = None  # in the file's one namespace: name -> what has it
    keyed: bool = True  # whether the values are kept by name; else in order, as a tuple
    pattern: str = f"^{NAME}$"  # of the names, for editors; ``check`` decides

    @property
    def stand_in(self) -> Any:
        """Nothing."""
        return {} if self.keyed else ()

    def read(self, node: Node, path: Keys, reading: Reading) -> Any:
        """The values, None for those that can't be read."""
        noted = len(reading.report)
        values = super().read(node, path, reading)
        if not values and (len(reading.report) > noted or isinstance(node, Spoilt)):
            reading.unread.append(path)
        return values

    def _read(self, node: Node, path: Keys, reading: Reading) -> Any:
        if not isinstance(node, MappingNode):
            expected = f"write a name, a colon and {self.of}"
            reading.misplaced(node, "a mapping of names", expected)
            return self.stand_in
        if not _are_so_many(self, len(node.entries), node, path[-1], reading):
            return self.stand_in
        values: dict[str, Any] = {}
        for key, value in node.entries:
            below = (*path, key.text) if self.reserved is None else (key.text,)
            if self._is_free(key, reading):
                reading.keys[below] = key.place
            values[key.text] = self.value.read(value, below, reading)
        return values if self.keyed else tuple(values.values())

    def _is_free(self, key: Scalar, reading: Reading) -> bool:
        """Whether the name is nothing else's, after saying what is wrong with it."""
        try:
            self.check(key.text, self.what)
        except UnreadableError as error:
            reading.refuse(key, error.reason, **error.names)
        if self.reserved is None:
            return True
        taken = self.reserved.get(key.text) or reading.names.get(key.text)
        reading.names.setdefault(key.text, self.of)
        if taken:
            names = {"what": self.what, "name": shown(key.text), "other": taken}
            reading.refuse(key, "name-taken", **names)
        return not taken

    def _schema(self) -> dict[str, Any]:
        return {
            "type": "object",
            "minProperties": self.at_least,
            "maxProperties": self.at_most,
            "propertyNames": {"pattern": self.pattern},
            "additionalProperties": self.value.schema(),
        }
