"""What may stand behind a key as one text: words, names, dates, quantities, counts.

A shape reads a node of the tree into a value, noting problems and places as it goes, and says the
same as JSON Schema. Where a value can't be read, it gives a stand-in that no later check objects
to: every problem of a file shows up at once, and each only once. What is made of several texts
is in ``records``.
"""

import math
import re
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field, replace
from datetime import datetime
from typing import Any
from zoneinfo import ZoneInfo

from fallwork.errors import Place, table
from fallwork.scenario.dates import DATE_EXAMPLE, PATTERN, read_date
from fallwork.scenario.quantity import NUMBER, SIGN, Quantity, kinds, parse_quantity
from fallwork.scenario.report import Refusal, Report, listed, meant, shown
from fallwork.scenario.tree import Keys, Listing, Node, Scalar, Spoilt

_CONTROL = re.compile("[\x00-\x1f\x7f-\x9f\u2028\u2029]")
Layout = dict[str, Any]  # as JSON Schema (draft 2020-12)
OR_NUMBER: Layout = {"type": ["string", "number"]}  # of a text that may look like one


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

    def places(self, base: Keys = ()) -> dict[str, Place]:
        """Where the values below ``base`` stand, by their paths; "" is the key of ``base``. Of a
        whole file: for names, where the key stands.
        """
        values = {k[len(base) :]: p for k, p in self.values.items() if k[: len(base)] == base}
        found = {".".join(keys): place for keys, place in values.items() if keys}
        if base:
            return found | {"": self.keys[base]}
        return found | {keys[0]: place for keys, place in self.keys.items() if len(keys) == 1}


def misplaced(node: Node, what: str, expected: str) -> Refusal:
    """Something else than ``what`` stands there; a text is repeated."""
    found = "a list" if isinstance(node, Listing) else "a mapping"
    if isinstance(node, Scalar):
        found = shown(node.text) if node.text.strip() else "nothing"
    return Refusal("misplaced", found=found, what=what, expected=expected)


@dataclass(eq=False)
class Shape:
    """A layout of a node. What ``value`` can't read it notes in the reading, or raises Refusal."""

    value: Callable[[Node, Keys, Reading], Any]
    schema: Callable[[], Layout]
    stand_in: Any = None  # what is given where the value can't be read
    numeric: bool = False  # whether it is a number, or holds some
    is_table: bool = False  # of names of the author's choice

    def read(self, node: Node, path: Keys, reading: Reading) -> Any:
        """The value of a node, or the stand-in after noting a problem."""
        noted, found, spoilt = len(reading.report), self.stand_in, isinstance(node, Spoilt)
        if not spoilt:
            reading.values[path] = node.place
            try:
                found = self.value(node, path, reading)
            except Refusal as error:
                reading.refuse(node, error.reason, **error.names)
        if self.is_table and not found and (spoilt or len(reading.report) > noted):
            reading.unread.append(path)
        return found

    def then(self, make: Callable[[Any, Keys, Reading], Any], stand_in: Any = None) -> "Shape":
        """The same layout, of whose value something is made."""

        def value(node: Node, path: Keys, reading: Reading) -> Any:
            return make(self.value(node, path, reading), path, reading)

        return replace(self, value=value, stand_in=stand_in)


def text_of(node: Node) -> str:
    """The text that stands there; "" for anything else."""
    return node.text.strip() if isinstance(node, Scalar) else ""


def _one_text(
    what: str, example: str, check: Callable[[str, str], Any], layout: Layout, stand_in: Any
) -> Shape:
    """A text, not empty; ``check`` takes it and its key, gives the value or raises Refusal."""

    def value(node: Node, path: Keys, _: Reading) -> Any:
        if not (text := text_of(node)):
            raise misplaced(node, what, f"write e.g. {example}")
        return check(text, path[-1] if path else "")

    return Shape(value, lambda: dict(layout), stand_in)


def text(
    what: str, example: str, check: Callable[[str], Any] = str, stand_in: Any = "", **layout: Any
) -> Shape:
    """Any text on one line; ``check`` gives the value or raises Refusal; ``layout``: of editors."""

    def checked(text: str, _: str) -> Any:
        if hidden := _CONTROL.search(text):
            sign = f"the invisible character {shown(hidden[0])[1:-1]}"
            told = "a line break" if hidden[0] == "\n" else sign
            raise Refusal("hidden-sign", sign=told, what=what)
        return check(text)

    examples = [each.strip('"') for each in re.split(", or .*|, | or ", example) if each]
    told = {"title": what, "type": "string", **layout, "examples": examples}
    return _one_text(what, example, checked, told, stand_in)


def _moment(text: str, _: Keys, reading: Reading) -> datetime:
    assert reading.zone is not None
    return read_date(text, reading.zone)


# A day or a time of a day, in the course's time zone.
MOMENT = text("a date", DATE_EXAMPLE, pattern=f"^{PATTERN}$").then(_moment)


def measure(name: str) -> Shape:
    """A quantity with its unit, between the bounds that ``bounds.yaml`` has under this name; its
    stand-in compares false with everything.
    """
    row = {"kind": name, "bound": "", **table("scenario", "bounds").get(name, {})}
    none = {"above": -math.inf, "at_least": -math.inf, "at_most": math.inf}
    above, at_least, at_most = (float(row.get(key, least)) for key, least in none.items())
    kind = kinds()[row["kind"]]

    def checked(text: str, key: str) -> Quantity:
        quantity = parse_quantity(text, row["kind"])
        value, names = quantity.value, {"key": key, "text": shown(text)}
        if above == 0 and 0 < value <= quantity.u:
            raise Refusal("u-above-value", **names)
        if value <= above or value < at_least or value > at_most:
            raise Refusal("out-of-bounds", bound=row["bound"], **names)
        if value and not kind.least <= abs(value) <= kind.most:
            sizes = {"least": kind.least, "most": kind.most, "unit": kind.si_unit}
            raise Refusal("no-size-of-a-lab", **sizes, **names)
        return quantity

    unit = kind.pattern()
    one = f"{NUMBER} ?(?:{unit})" if unit else NUMBER
    first = f"{NUMBER}(?: ?(?:{unit}))?" if unit else NUMBER
    pattern = f"^(?:{one}|{first} ?(?:{SIGN}) ?{one}(?: limits)?)$"
    worded: Layout = {"type": "string", "pattern": pattern}
    plain = {"anyOf": [{"type": "number"}, worded]}
    units = listed((word for word in kind.factors if word), "or")
    title = f"{kind.say} in {units}" if unit else kind.say
    layout = {"title": title, **(worded if unit else plain), "examples": [kind.example]}
    unread = Quantity(kind=row["kind"], value=math.nan, number="", unit="")
    return replace(_one_text(kind.say, kind.example, checked, layout, unread), numeric=True)


def whole(what: str, least: int, most: int, stand_in: int = 0) -> Shape:
    """A whole number."""
    expected = f"write a whole number from {least} to {most}"

    def value(node: Node, *_: Any) -> int:
        if re.fullmatch("[0-9]{1,6}", text := text_of(node)) and least <= int(text) <= most:
            return int(text)
        raise misplaced(node, what, expected)

    layout = {"title": what, "type": "integer", "minimum": least, "maximum": most}
    return Shape(value, lambda: dict(layout), stand_in, numeric=True)


def choice(words: Iterable[str], what: str = "a word", hint: str = "", stand_in: Any = "") -> Shape:
    """One of a few words, or what it stands for; ``hint``: where a misspelt one isn't likely."""
    stands_for = words if isinstance(words, Mapping) else {word: word for word in words}

    def value(node: Node, *_: Any) -> Any:
        if (text := text_of(node)) in stands_for:
            return stands_for[text]
        one_of = f"write {listed(words, 'or')}"
        raise misplaced(node, what, hint or meant(text, [*words], one_of))

    return Shape(value, lambda: {"enum": list(dict.fromkeys(stands_for.values()))}, stand_in)


def or_word(word: str, shape: Shape, what: str = "", expected: str = "") -> Shape:
    """A word for which None stands, or another shape; ``what`` the other is, with its article, and
    what is ``expected`` where a text without digits is neither.
    """

    def value(node: Node, path: Keys, reading: Reading) -> Any:
        text = text_of(node)
        if text == word:
            return None
        if not what or re.search("[0-9]", text):
            return shape.read(node, path, reading)
        raise misplaced(node, f"{word} or {what}", meant(text, [word], expected))

    def schema() -> Layout:
        return {"anyOf": [{"const": word}, shape.schema()]}

    return Shape(value, schema, shape.stand_in, numeric=True)


def by_form(shapes: Mapping[type[Node], Shape]) -> Shape:
    """A shape for each form of node; the first one is for all others too."""
    first = next(iter(shapes.values()))
    return Shape(
        lambda node, *more: shapes.get(type(node), first).read(node, *more),
        lambda: {"anyOf": [shape.schema() for shape in shapes.values()]},
    )
