"""Reads the text of a YAML file as a tree in which every scalar is text with its place.

Takes bytes; gives nodes. Nothing is guessed from a scalar's look, and what files of a course
never need (anchors, tags, several documents) is refused. Meaning is left to ``shapes``.
"""

import re
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Protocol

import yaml

from fallwork.errors import Place
from fallwork.scenario.report import Report, holding, shown
from fallwork.scenario.syntax import explain

LARGEST_FILE = 256 * 1024  # bytes; a term with a hundred labs stays well below
DEEPEST = 12  # levels of nesting; a course needs six


@dataclass(frozen=True, kw_only=True)
class Scalar:
    """A piece of text, exactly as its author meant it (quotes taken off)."""

    text: str
    place: Place


@dataclass(frozen=True, kw_only=True)
class Listing:
    """``[a, b]``, or lines that begin with a hyphen."""

    items: tuple["Node", ...]
    place: Place


@dataclass(frozen=True, kw_only=True)
class Mapping:
    """``key: value`` pairs in the order of the file; keys are unique."""

    entries: tuple[tuple[Scalar, "Node"], ...]
    place: Place
    in_braces: bool = False


@dataclass(frozen=True, kw_only=True)
class Spoilt:
    """Something that was reported already; readers pass over it."""

    place: Place


Node = Scalar | Listing | Mapping | Spoilt
Keys = tuple[str, ...]  # the way to a value: the keys, names and positions that lead there

_UNPRINTABLE = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f\u2028\u2029\ufeff\ufffe\uffff]")
_TAB_INDENT = re.compile(r" *\t")


def read_file(path: Path, report: Report) -> Node | None:
    """The tree of a file; None after reporting that it can't be read."""
    start = Place(file=str(path), line=1, column=1)
    try:
        if path.is_dir():
            report.malformed(start, "this is a folder", "name a YAML file in it")
            return None
        if path.exists() and not path.is_file():
            report.malformed(start, "this is not a regular file", "name a YAML file")
            return None
        if not path.is_file():
            report.malformed(start, "there is no such file", _neighbours(path))
            return None
        with path.open("rb") as file:
            content = file.read(LARGEST_FILE + 1)
    except OSError as error:
        reason = (error.strerror or "system error").lower()
        report.malformed(start, f"the file can't be read ({reason})", "make it readable")
        return None
    return read_bytes(content, str(path), report)


def _neighbours(path: Path) -> str:
    if not path.parent.is_dir():
        return f"the folder {path.parent} does not exist either"
    names = (other.name for other in path.parent.glob("*.yaml"))
    return holding(path.parent, names, "no YAML files")


def read_bytes(content: bytes, file: str, report: Report) -> Node | None:
    """The tree of a file's content; None after reporting that it can't be read."""
    text = _decoded(content, file, report)
    if text is None:
        return None
    noted = len(report)
    try:
        node = _Composer(file, text, report).document()
    except yaml.MarkedYAMLError as error:
        explained = explain(error)
        report.malformed(_place_of(explained.mark, file), explained.found, explained.expected)
        node = None
    except _TooDeepError as error:
        report.malformed(
            error.place,
            f"more than {DEEPEST} levels inside one another",
            "a course file needs six at most",
        )
        node = None
    report.sort_from(noted)
    return node


def _decoded(content: bytes, file: str, report: Report) -> str | None:
    start = Place(file=file, line=1, column=1)
    if len(content) > LARGEST_FILE:
        report.malformed(
            start,
            f"the file is larger than {LARGEST_FILE // 1024} kB",
            "a scenario takes about 2 kB; was another file named by mistake?",
        )
        return None
    try:
        text = content.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        place = _place_of_byte(content, error.start, file)
        report.malformed(
            place,
            f"the byte 0x{content[error.start]:02X} is not UTF-8 text",
            "save the file as UTF-8 (if it is a text file at all)",
        )
        return None
    text = text.replace("\r\n", "\n").replace("\r", "\n")
    return text if _printable(text, file, report) else None


def _printable(text: str, file: str, report: Report) -> bool:
    """Whether the text holds neither control characters nor tabs as indentation."""
    sign = _UNPRINTABLE.search(text)
    if sign:
        report.malformed(
            _place_in(text, sign.start(), file),
            f"the invisible character {shown(sign.group())[1:-1]}",
            "take it out (if this is a text file at all)",
        )
        return False
    tabs = [number for number, line in enumerate(text.split("\n"), 1) if _TAB_INDENT.match(line)]
    if tabs:
        line = text.split("\n")[tabs[0] - 1]
        others = f" (in {len(tabs)} lines)" if len(tabs) > 1 else ""
        report.malformed(
            Place(file=file, line=tabs[0], column=line.index("\t") + 1),
            f"a tab at the beginning of the line{others}",
            "YAML wants spaces there; replace each tab by spaces",
        )
        return False
    if not text.strip():
        report.malformed(
            Place(file=file, line=1, column=1), "the file is empty", "copy a working one to start"
        )
        return False
    return True


def _place_in(text: str, position: int, file: str) -> Place:
    before = text[:position]
    line = before.count("\n") + 1
    return Place(file=file, line=line, column=position - (before.rfind("\n") + 1) + 1)


def _place_of_byte(content: bytes, position: int, file: str) -> Place:
    before = content[:position].decode("utf-8-sig").replace("\r\n", "\n").replace("\r", "\n")
    return _place_in(before, len(before), file)


class _Mark(Protocol):
    """A position as the parser gives it, from 0."""

    line: int
    column: int


def _place_of(mark: _Mark | None, file: str) -> Place:
    if mark is None:
        return Place(file=file, line=1, column=1)
    return Place(file=file, line=mark.line + 1, column=mark.column + 1)


class _TooDeepError(Exception):
    def __init__(self, place: Place) -> None:
        super().__init__(place)
        self.place = place


class _Composer:
    """Makes nodes from PyYAML's events."""

    def __init__(self, file: str, text: str, report: Report) -> None:
        self._file = file
        self._report = report
        self._events: Iterator[yaml.Event] = yaml.parse(text, Loader=yaml.SafeLoader)
        self._depth = 0
        self._aliases: set[str | None] = set()  # those that were reported already

    def document(self) -> Node | None:
        """The one document of the stream."""
        content: Node | None = None
        for event in self._events:
            if isinstance(event, yaml.DocumentStartEvent):
                if content is not None:
                    self._report.malformed(
                        self._place(event),
                        "a second document begins here",
                        "a file holds one; take out this line (---)",
                    )
                    return content
                content = self._node(next(self._events))
        if content is None:
            self._report.malformed(
                Place(file=self._file, line=1, column=1),
                "the file holds nothing but comments",
                "copy a working one to start",
            )
        return content

    def _node(self, event: yaml.Event) -> Node:
        place = self._place(event)
        if isinstance(event, yaml.AliasEvent):
            if event.anchor not in self._aliases:
                self._report.malformed(
                    place,
                    f"the alias *{event.anchor}",
                    "write the value itself here (a text that begins with * needs quotes)",
                )
            self._aliases.add(event.anchor)
            return Spoilt(place=place)
        if not isinstance(event, yaml.ScalarEvent | yaml.CollectionStartEvent):
            raise AssertionError(event)  # the parser gives nothing else where a node stands
        self._refuse_extras(event, place)
        if isinstance(event, yaml.ScalarEvent):
            return Scalar(text=event.value, place=place)
        self._depth += 1
        if self._depth > DEEPEST:
            raise _TooDeepError(place)
        sequence = isinstance(event, yaml.SequenceStartEvent)
        node = self._listing(place) if sequence else self._mapping(place, bool(event.flow_style))
        self._depth -= 1
        return node

    def _refuse_extras(self, event: yaml.NodeEvent, place: Place) -> None:
        if event.anchor is not None:
            self._report.malformed(
                place,
                f"the anchor &{event.anchor}",
                "take it out (a text that begins with & needs quotes)",
            )
        tag = getattr(event, "tag", None)
        if tag is not None:
            self._report.malformed(
                place,
                f"the tag {_short_tag(tag)}",
                "take it out (a text that begins with ! needs quotes)",
            )

    def _listing(self, place: Place) -> Listing:
        items: list[Node] = []
        while not isinstance(event := next(self._events), yaml.SequenceEndEvent):
            items.append(self._node(event))
        return Listing(items=tuple(items), place=place)

    def _mapping(self, place: Place, in_braces: bool) -> Mapping:
        entries: dict[str, tuple[Scalar, Node]] = {}
        while not isinstance(event := next(self._events), yaml.MappingEndEvent):
            key = self._node(event)
            value = self._node(next(self._events))
            if isinstance(key, Spoilt):
                continue
            if not isinstance(key, Scalar):
                self._report.malformed(
                    key.place, "a list or mapping used as a key", "a key is a word, then a colon"
                )
            elif key.text in entries:
                first = entries[key.text][0].place
                self._report.malformed(
                    key.place,
                    f"the key {shown(key.text)} a second time (first in line {first.line})",
                    "keep one of the two",
                )
            else:
                entries[key.text] = (key, value)
        return Mapping(entries=tuple(entries.values()), place=place, in_braces=in_braces)

    def _place(self, event: yaml.Event) -> Place:
        return _place_of(event.start_mark, self._file)


def _short_tag(tag: str) -> str:
    standard = "tag:yaml.org,2002:"
    return f"!!{tag.removeprefix(standard)}" if tag.startswith(standard) else tag
