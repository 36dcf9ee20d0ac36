"""What may stand behind a key as a list or a mapping, and how a class declares its keys.

``radius: Annotated[Quantity | None, LENGTH] = None`` in a frozen dataclass of the model is all that
is said of a key: from it follow reading, default, JSON Schema and every message; the hint that
editors show is in ``keys.yaml``. A key without a default is required; a field ``name`` or ``id``
that is no key takes the name under which the mapping stands.
"""

from collections.abc import Callable, Mapping
from dataclasses import MISSING, dataclass, fields, replace
from functools import cached_property
from typing import Any

from fallwork.errors import table
from fallwork.scenario.nouns import NAME, object_name
from fallwork.scenario.report import Refusal, closest, listed, shown, unknown
from fallwork.scenario.shapes import Layout, Reading, Shape, choice, misplaced, text
from fallwork.scenario.tree import Keys, Listing, Node, Scalar
from fallwork.scenario.tree import Mapping as MappingNode

MOST = 100  # of a list or table, where nothing else is said
_POINT = "the decimal sign is a point, not a comma"
_QUOTES = "a text in braces needs quotes if it has a comma"


def _check_count(count: int, least: int, most: int, what: str, example: str = "") -> None:
    if not least <= count <= most:
        words = {0: "no entry", 1: "one entry"}
        said, few = (words.get(n, f"{n} entries") for n in (count, least))
        names = {"count": said, "what": what, "least": few, "most": most, "example": example}
        raise Refusal("entries", **names)


def items(
    what: str, example: str, item: Shape, at_least: int = 1, at_most: int = MOST, stand_in: Any = ()
) -> Shape:
    """A list; ``what``: "the members of a system"."""

    def value(node: Node, path: Keys, reading: Reading) -> tuple[Any, ...]:
        if not isinstance(node, Listing):
            raise misplaced(node, "a list", f"write e.g. {example}")
        _check_count(len(node.items), at_least, at_most, what, f", e.g. {example}")
        return tuple(item.read(n, (*path, str(at)), reading) for at, n in enumerate(node.items))

    def schema() -> Layout:
        bounds = {"minItems": at_least, "maxItems": at_most}
        return {"type": "array", **bounds, "items": item.schema()}

    return Shape(value, schema, stand_in)


@dataclass(frozen=True)
class Key:
    """What a class says of a field that is a key, where its shape isn't all."""

    shape: Shape
    key: str = ""  # in files, where that isn't the field's name
    must: bool | None = None  # whether it is required, where the class's default doesn't say it
    kinds: tuple[str, ...] = ()  # of another thing of the file, if it is the name of one
    more: str = ""  # what else a message says of such a key
    attribute: str = ""  # of the class, and whether that has a default: as the record finds them
    has_default: bool = False


class Record(Shape):
    """Keys with fixed names, declared by a class. ``what`` it is with its article, "a cart";
    ``make`` what is made of the values, if not the class; ``kind`` what its key ``kind`` says, if
    it has one; ``without`` a key of the class that it doesn't have; ``shapes`` in place of the
    class's; ``remedy`` what to do where a key is missing, if adding it is not.
    """

    def __init__(
        self,
        what: str,
        declares: type,
        make: Callable[..., Any] | None = None,
        *,
        kind: str = "",
        without: str = "",
        shapes: Mapping[str, Shape] | None = None,
        remedy: str = "",
    ) -> None:
        super().__init__(self._values, self._layout, numeric=True)
        self.what, self.declares, self.make, self.remedy = what, declares, make, remedy
        self.kind, self.without, self.shapes = kind, without, shapes or {}

    @cached_property
    def keys(self) -> Mapping[str, Key]:
        """Its keys in order."""
        of_kind = text("a kind", self.kind, pattern=f"^{self.kind}$")
        found = {"kind": Key(shape=of_kind, must=True, attribute="kind")} if self.kind else {}
        for each in fields(self.declares):
            for said in getattr(each.type, "__metadata__", ()):
                known = said if isinstance(said, Key) else Key(shape=said)
                key = known.key or each.name
                has = each.default is not MISSING or each.default_factory is not MISSING
                must = not has if known.must is None else known.must
                known = replace(known, attribute=each.name, has_default=has, must=must)
                found[key] = replace(known, shape=self.shapes.get(key, known.shape))
        return {key: known for key, known in found.items() if key != self.without}

    def _says(self, key: str) -> str:
        hints = table("scenario", "keys")
        classes = [*(c.__name__ for c in self.declares.__mro__), "any"]
        return next(str(hints[c][key]) for c in classes if key in hints.get(c, ()))

    def _values(self, node: Node, path: Keys, reading: Reading) -> Any:
        otherwise = f"the keys of {self.what} are {listed(self.keys)}"
        if not isinstance(node, MappingNode):
            raise misplaced(node, self.what, otherwise)
        values: dict[str, Any] = {}
        strangers: list[str] = []
        for key, value in node.entries:
            below, known = (*path, key.text), self.keys.get(key.text)
            if known is not None:
                reading.keys[below] = key.place
                values[known.attribute] = known.shape.read(value, below, reading)
                continue
            strangers.append(key.text)
            cut = node.in_braces and isinstance(value, Scalar) and not value.text
            told = (_POINT if key.text[:1].isdigit() else _QUOTES) if cut else otherwise
            reading.refuse(key, "unknown", **unknown("key", key.text, [*self.keys], told))
        reading.strangers += [(*path, key) for key in strangers]
        self._note_missing(node, path, reading, values, strangers)
        # The field that takes the name under which the mapping stands.
        own = {f.name for f in fields(self.declares)} - {k.attribute for k in self.keys.values()}
        if name := next((name for name in ("name", "id") if name in own), ""):
            values[name] = path[-1] if path else ""
        if self.kind:
            values.pop("kind", None)
        return (self.make or self.declares)(**values)

    def _note_missing(
        self, node: Node, path: Keys, reading: Reading, values: dict[str, Any], strangers: list[str]
    ) -> None:
        """A key that was misspelt was reported where it stands."""
        missing = {k: known for k, known in self.keys.items() if known.attribute not in values}
        for key, known in missing.items():
            if not known.has_default:
                values[known.attribute] = known.shape.stand_in
            if known.must and known.shape.is_table:
                reading.unread.append((*path, key))
        lacks = [k for k, known in missing.items() if known.must and not closest(k, strangers)]
        if lacks:
            says = {key: self._says(key) for key in lacks}
            add = listed(f"{key} ({s[:1].lower()}{s[1:]})" for key, s in says.items())
            expected = self.remedy or f"add {add}"
            names = {"what": self.what, "keys": listed(lacks), "expected": expected}
            reading.report.refuse(reading.keys.get(path, node.place), "keys-missing", **names)

    def _layout(self) -> Layout:
        required = [key for key, known in self.keys.items() if known.must]
        every = self.keys.items()
        properties = {k: {"description": self._says(k), **each.shape.schema()} for k, each in every}
        must = {"required": required} if required else {}
        return {"type": "object", "properties": properties, **must, "additionalProperties": False}


def variants(what: str, records: Mapping[str, Record]) -> Shape:
    """Records told apart by their key ``kind``."""
    of_kind = choice([*records], "a kind")

    def value(node: Node, path: Keys, reading: Reading) -> Any:
        expected = f"the kinds are {listed(records)}"
        if not isinstance(node, MappingNode):
            raise misplaced(node, what, expected)
        kind = next((value for key, value in node.entries if key.text == "kind"), None)
        if kind is None:
            place, names = reading.keys.get(path, node.place), {"what": what, "keys": "kind"}
            return reading.report.refuse(place, "keys-missing", expected=expected, **names)
        record = records.get(of_kind.read(kind, (*path, "kind"), reading))
        return record.read(node, path, reading) if record else None

    def schema() -> Layout:
        def way(kind: str) -> Layout:
            told = {"properties": {"kind": {"const": kind}}, "required": ["kind"]}
            return {"if": told, "then": records[kind].schema()}

        told = {"required": ["kind"], "properties": {"kind": {"enum": [*records]}}}
        return {"type": "object", **told, "allOf": [*map(way, records)]}

    return Shape(value, schema)


def _check_name(check: Callable[[str, str], str], key: Scalar, what: str, reading: Reading) -> None:
    try:
        check(key.text, what)
    except Refusal as error:
        reading.refuse(key, error.reason, **error.names)


def named(
    what: str,
    of: str,
    shape: Shape,
    check: Callable[[str, str], str] = object_name,
    *,
    at_least: int = 0,
    at_most: int = MOST,
    reserved: Mapping[str, str] | None = None,
    pattern: str = f"^{NAME}$",
) -> Shape:
    """A mapping from names of the author's choice to values of one shape, None for what can't be
    read. ``what`` a name is, "the id", and ``of`` what, with article; ``reserved`` says what has a
    name of the file's one namespace already. The ``pattern`` is for editors; ``check`` decides.
    """

    def value(node: Node, path: Keys, reading: Reading) -> dict[str, Any]:
        if not isinstance(node, MappingNode):
            raise misplaced(node, "a mapping of names", f"write a name, a colon and {of}")
        _check_count(len(node.entries), at_least, at_most, path[-1])
        values: dict[str, Any] = {}
        for key, each in node.entries:
            _check_name(check, key, what, reading)
            below, taken = (*path, key.text), None
            if reserved is not None:  # something else in the file's one namespace may have it
                below, taken = (key.text,), reserved.get(key.text) or reading.names.get(key.text)
                reading.names.setdefault(key.text, of)
            if taken:
                reading.refuse(key, "name-taken", what=what, name=shown(key.text), other=taken)
            else:
                reading.keys[below] = key.place
            values[key.text] = shape.read(each, below, reading)
        return values

    def schema() -> Layout:
        bounds = {"minProperties": at_least, "maxProperties": at_most}
        names = {"propertyNames": {"pattern": pattern}}
        return {"type": "object", **bounds, **names, "additionalProperties": shape.schema()}

    return Shape(value, schema, {}, is_table=True)


def in_order(table: Shape) -> Shape:
    """The values of a table as a tuple."""
    return table.then(lambda values, *_: tuple(values.values()), ())
