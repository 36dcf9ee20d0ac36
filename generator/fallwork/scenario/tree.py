"""Reads the text of a YAML file as a tree in which every scalar is text with its place.

Takes bytes; gives nodes. Nothing is guessed from a scalar's look, and what files of a course
never need (anchors, tags, several documents) is refused. Where a file stops being YAML is said
in plain words, from ``syntax.yaml``. Meaning is left to ``shapes``.
"""

import re
from collections.abc import Callable, Iterator
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import yaml

from fallwork.errors import VALUES, Place, table
from fallwork.scenario.report import Malformed, Report, holding, shown

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

_SYNTAX = "scenario", "syntax"
_UNPRINTABLE = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f\u2028\u2029\ufeff\ufffe\uffff]")
_TAB_INDENT = re.compile(r"^ *\t", re.MULTILINE)


def read_file(path: Path, report: Report) -> Node | None:
    """The tree of a file; None after reporting that it can't be read."""

    tree: Node | None = _read(
        path, report, lambda text: _Composer(str(path), text, report).document()
    )
    return tree


def read_text(path: Path, report: Report) -> str | None:
    """The text of a file, likewise."""
    text: str | None = _read(path, report, str)
    return text


def _read(path: Path, report: Report, made: Callable[[str], Any]) -> Any:
    start, there = Place(file=str(path)), f"the folder {path.parent} does not exist either"
    noted, content = len(report), None
    try:
        if path.is_file():
            with path.open("rb") as file:
                content = file.read(LARGEST_FILE + 1)
        elif path.exists():
            report.refuse(start, "folder-not-file" if path.is_dir() else "not-regular")
        else:
            if path.parent.is_dir():
                names = (other.name for other in path.parent.glob("*.yaml"))
                there = holding(path.parent, names, "no YAML files")
            report.refuse(start, "no-file", there=there)
        if content is not None:
            return made(_decoded(content, str(path)))
    except OSError as error:
        report.refuse(start, "not-readable", why=(error.strerror or "system error").lower())
    except yaml.MarkedYAMLError as error:
        mark, words = explain(error)
        report.append(Malformed(_place_of(mark, str(path)), *words))
    except _StopError as stop:
        place, reason, about = stop.args
        report.refuse(place, reason, **about)
    finally:
        report.sort_from(noted)
    return None


def explain(error: yaml.MarkedYAMLError) -> tuple[Any, tuple[str, str]]:
    """The parser's mark where its error is best shown (or None), and the error in plain words."""
    problem = error.problem or ""
    rows = ((row, re.fullmatch(row["problem"], problem, re.S)) for row in table(*_SYNTAX))
    row, match = next((row, match) for row, match in rows if match)
    opening = error.context_mark or error.problem_mark
    found = row["found"].replace("{0}", match[1] if match.groups() else "")
    found = found.replace("<line>", str(opening.line + 1 if opening else 1))
    mark = opening if row.get("at") == "opening" else error.problem_mark
    return mark, (found, row["expected"])


class _StopError(Exception):
    """The rest of the file can't be read: the place, the reason and what it is about."""


def _decoded(content: bytes, file: str) -> str:
    """The text of a file, without control characters and without tabs as indentation."""

    def stop(before: str, reason: str, **names: object) -> _StopError:
        line, column = before.count("\n") + 1, len(before) - before.rfind("\n")
        return _StopError(Place(file=file, line=line, column=column), reason, names)

    def with_newlines(content: bytes) -> str:
        return content.decode("utf-8-sig").replace("\r\n", "\n").replace("\r", "\n")

    if len(content) > LARGEST_FILE:
        raise stop("", "too-large", size=LARGEST_FILE // 1024)
    try:
        text = with_newlines(content)
    except UnicodeDecodeError as error:
        before, byte = with_newlines(content[: error.start]), f"0x{content[error.start]:02X}"
        raise stop(before, "not-utf-8", byte=byte) from None
    if sign := _UNPRINTABLE.search(text):
        raise stop(text[: sign.start()], "invisible", sign=shown(sign.group())[1:-1])
    if tabs := list(_TAB_INDENT.finditer(text)):
        others = f" (in {len(tabs)} lines)" if len(tabs) > 1 else ""
        raise stop(text[: tabs[0].end() - 1], "tab", others=others)
    if not text.strip():
        raise stop("", "empty-file")
    return text


def _place_of(mark: Any, file: str) -> Place:
    at = {"line": mark.line + 1, "column": mark.column + 1} if mark else {}
    return Place(file=file, **at)


def _events(text: str) -> Iterator[yaml.Event]:
    """What the text is made of. The fast reader has words of its own for what is wrong, allows tabs
    and question marks where YAML doesn't, and places what is empty elsewhere: all of that is left
    to the slow one.
    """
    with suppress(yaml.YAMLError):
        found: list[yaml.Event] = [*yaml.parse(text, Loader=VALUES)]
        empty = any(isinstance(each, yaml.ScalarEvent) and not each.value for each in found)
        if not (empty or {"\t", "?"} & {*text}):
            return iter(found)
    events: Iterator[yaml.Event] = yaml.parse(text, Loader=yaml.SafeLoader)
    return events


class _Composer:
    def __init__(self, file: str, text: str, report: Report) -> None:
        self._file = file
        self._refuse = report.refuse
        self._events = _events(text)
        self._aliases: set[str | None] = set()  # those that were reported already

    def document(self) -> Node | None:
        """The one document of the stream."""
        content: Node | None = None
        for event in self._events:
            if isinstance(event, yaml.DocumentStartEvent):
                if content is not None:
                    self._refuse(_place_of(event.start_mark, self._file), "second-document")
                    return content
                content = self._node()
        if content is None:
            self._refuse(Place(file=self._file), "nothing-but-comments")
        return content

    def _node(self, depth: int = 0, end: type[yaml.Event] | None = None) -> Node | None:
        """The next node; None at the ``end`` of what holds it."""
        event = next(self._events)
        if end and isinstance(event, end):
            return None
        place = _place_of(event.start_mark, self._file)
        if isinstance(event, yaml.AliasEvent):
            if event.anchor not in self._aliases:
                self._refuse(place, "alias", name=event.anchor)
            self._aliases.add(event.anchor)
            return Spoilt(place=place)
        # The parser gives nothing else where a node stands.
        assert isinstance(event, yaml.ScalarEvent | yaml.CollectionStartEvent), event
        if event.anchor is not None:
            self._refuse(place, "anchor", name=event.anchor)
        if event.tag is not None:
            _, _, name = event.tag.rpartition("tag:yaml.org,2002:")
            self._refuse(place, "tag", name=f"!!{name}" if name != event.tag else event.tag)
        if isinstance(event, yaml.ScalarEvent):
            return Scalar(text=event.value, place=place)
        if depth == DEEPEST:
            raise _StopError(place, "too-deep", {"levels": DEEPEST})
        if isinstance(event, yaml.SequenceStartEvent):
            items: list[Node] = []
            while item := self._node(depth + 1, yaml.SequenceEndEvent):
                items.append(item)
            return Listing(items=tuple(items), place=place)
        entries: dict[str, tuple[Scalar, Node]] = {}
        while key := self._node(depth + 1, yaml.MappingEndEvent):
            value = self._node(depth + 1)
            assert value is not None
            if isinstance(key, Listing | Mapping):
                self._refuse(key.place, "key-of-parts")
            elif isinstance(key, Scalar) and key.text in entries:
                first = entries[key.text][0].place
                self._refuse(key.place, "key-twice", key=shown(key.text), line=first.line)
            elif isinstance(key, Scalar):
                entries[key.text] = (key, value)
        braces = bool(event.flow_style)
        return Mapping(entries=tuple(entries.values()), place=place, in_braces=braces)
