"""Everything that can be read in a built file, as passages of text with their places.

Takes a file's address and bytes; gives passages. What's inside archives, comments, attributes and
the notes in pictures is read like the text of a page. Knows nothing of what is being looked for.
"""

import base64
import bz2
import contextlib
import gzip
import html
import io
import json
import lzma
import posixpath
import re
import zipfile
import zlib
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, replace
from html.parser import HTMLParser
from pathlib import Path
from urllib.parse import unquote, unquote_to_bytes

import yaml

from fallwork.site import audit_binary

_ZIP = b"PK\x03\x04"
_INLINE_DATA = re.compile(r"data:[\w.+-]+/[\w.+-]+[^,]*,")
_QUOTED = re.compile(r"/\*.*?\*/|\"[^\"]*\"|'[^']*'", re.DOTALL)
_DATA = re.compile(r"\s*(?:(?:var|let|const)\s+[\w$]+\s*=\s*)?(?=[\[{])")
_LISTS = yaml.safe_load(Path(__file__).with_name("audit_markup.yaml").read_text("utf-8"))
_INLINE, _VOID, _LINKS, _DRAWING = (
    frozenset(_LISTS[name]) for name in ("inline", "void", "links", "drawing")
)
_HEADINGS = frozenset(("h1", "h2", "h3", "h4", "h5", "h6"))
_SPACED = frozenset(("mspace", "br", "img"))
_RAISING = frozenset(("sup",))
_SECOND = {"msup": "^", "mfrac": "/"}  # what stands before the second child when read aloud
_GEOMETRY = re.compile(r"[\s\d.,;:+\-%()a-zA-Z]*")


@dataclass(frozen=True, kw_only=True)
class Passage:
    """A text that somebody may read."""

    page: str  # the address to which it belongs, without anchor; "" where there is none
    file: str  # the address of the built file
    place: str  # where in the file, e.g. "line 12, alt"
    text: str
    link: bool = False  # an address, relative to the page
    heading: bool = False  # the whole text of a heading, or what stands for one in an index


Reader = Callable[[str, bytes], Iterator[Passage]]


def passages(file: str, content: bytes) -> Iterator[Passage]:
    """What can be read in a file, its name included."""
    yield Passage(page=file, file=file, place="file name", text=file)
    yield from _content(file, content)


def _content(file: str, content: bytes) -> Iterator[Passage]:
    packing = next((one for start, one in _PACKINGS.items() if content.startswith(start)), None)
    if packing is not None:
        yield from _packed(file, posixpath.splitext(file)[0], packing(content))
    elif content.startswith(_ZIP):
        yield from _archive(file, content)
    elif content.startswith(audit_binary.PNG):
        yield from _binary(file, audit_binary.png(content))
    elif content.startswith(audit_binary.PDF):
        yield from _binary(file, audit_binary.pdf(content))
    elif (text := _decoded(content)) is None:
        yield from _binary(file, audit_binary.strings(content))
    else:
        yield from _KINDS.get(posixpath.splitext(file)[1].lower(), _plain)(file, text)


def _binary(file: str, places: audit_binary.Places) -> Iterator[Passage]:
    for place, text in places:
        yield Passage(page=file, file=file, place=place, text=text)


def _plain(file: str, text: str) -> Iterator[Passage]:
    for number, line in enumerate(text.splitlines(), start=1):
        if line.strip():
            yield Passage(page=file, file=file, place=f"line {number}", text=line)


def _script(file: str, text: str) -> Iterator[Passage]:
    """Data as such, whatever name it is given; else the lines."""
    start = _DATA.match(text)
    try:
        data = json.loads(text[start.end() :].rstrip().rstrip(";")) if start else None
    except ValueError:
        data = None
    yield from _plain(file, text) if data is None else _values(file, data, "", file)


def _values(file: str, data: object, path: str, page: str) -> Iterator[Passage]:
    if isinstance(data, Mapping):
        location = data.get("location")  # in an index of pages: to which of them an entry belongs
        page = unquote(location.partition("#")[0]) if isinstance(location, str) else page
        for key, value in data.items():
            yield from _text(file, str(key), f"{path}.{key}", page)
            yield from _values(file, value, f"{path}.{key}", page)
    elif isinstance(data, list):
        for number, value in enumerate(data):
            yield from _values(file, value, f"{path}[{number}]", page)
    elif data is not None:
        yield from _text(file, str(data), path, page)


def _text(file: str, text: str, path: str, page: str) -> Iterator[Passage]:
    heading = path.endswith(".title")
    text_alone = html.unescape(text)
    yield Passage(page=page, file=file, place=path.lstrip("."), text=text_alone, heading=heading)
    if "<" in text:
        for passage in _markup(file, text):
            yield replace(passage, page=page, place=path.lstrip("."))


def _markup(file: str, text: str) -> Iterator[Passage]:
    parser = _Markup(file)
    parser.feed(text)
    parser.close()
    parser.end_passage()
    yield from parser.found


def _style(file: str, text: str) -> Iterator[Passage]:
    """Comments and quoted texts; the rest of a style sheet says how, not what."""
    for match in _QUOTED.finditer(text):
        line = text.count("\n", 0, match.start()) + 1
        yield Passage(page=file, file=file, place=f"line {line}", text=match[0])


def _calendar(file: str, text: str) -> Iterator[Passage]:
    """Lines that were folded are one (RFC 5545, 3.1, from memory)."""
    yield from _plain(file, re.sub(r"\r?\n[ \t]", "", text))


def _packed(file: str, inner: str, content: bytes) -> Iterator[Passage]:
    for passage in _content(inner, content):
        yield replace(passage, file=file, place=f"packed, {passage.place}")


def _archive(file: str, content: bytes) -> Iterator[Passage]:
    try:
        with zipfile.ZipFile(io.BytesIO(content)) as archive:
            inside = [(name, archive.read(name)) for name in archive.namelist()]
    except (zipfile.BadZipFile, NotImplementedError, RuntimeError, zlib.error):
        yield from _binary(file, audit_binary.strings(content))  # spoiled, or under a password
        return
    for name, packed in inside:
        yield Passage(page=file, file=file, place="name inside", text=name)
        for passage in _content(name, packed):
            yield replace(passage, page=file, file=file, place=f"{name}, {passage.place}")


def _unpacking(unpack: Callable[[bytes], bytes]) -> Callable[[bytes], bytes]:
    def unpacked(content: bytes) -> bytes:
        try:
            return unpack(content)
        except (OSError, EOFError, ValueError, zlib.error, lzma.LZMAError):
            return b"\0" + content[2:]  # only looks packed

    return unpacked


_PACKINGS: Mapping[bytes, Callable[[bytes], bytes]] = {
    b"\x1f\x8b": _unpacking(gzip.decompress),
    b"BZh": _unpacking(bz2.decompress),
    b"\xfd7zXZ\0": _unpacking(lzma.decompress),
}


def _decoded(content: bytes) -> str | None:
    if content.startswith((b"\xff\xfe", b"\xfe\xff")):
        return content.decode("utf-16", "replace")
    try:
        text = content.decode("utf-8-sig")
    except UnicodeDecodeError:
        text = content.decode("latin-1")
    return None if "\0" in text else text


class _Markup(HTMLParser):
    """HTML, SVG and other XML: text, comments, attributes."""

    def __init__(self, file: str) -> None:
        super().__init__(convert_charrefs=True)
        self.file = file
        self.found: list[Passage] = []
        self.ids: list[str] = []
        self._words: list[str] = []
        self._line = 1
        self._open: list[list[object]] = []  # name and number of children so far

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self._before(tag)
        if tag not in _VOID:
            self._open.append([tag, 0])
        for name, value in attrs:
            if value and not (name in _DRAWING and _GEOMETRY.fullmatch(value)):
                self._attribute(name, value)

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.handle_starttag(tag, attrs)
        if tag not in _VOID:
            self.handle_endtag(tag)

    def handle_endtag(self, tag: str) -> None:
        if _parts(tag):
            self.end_passage()
        names = [name for name, _ in self._open]
        if tag in names:
            del self._open[len(names) - 1 - names[::-1].index(tag) :]

    def handle_data(self, data: str) -> None:
        inside = self._open[-1][0] if self._open else ""
        if inside == "style":
            self._take(_style(self.file, data), "style")
        elif inside == "script":
            self._take(_script(self.file, data), "script")
        else:
            self._words.append(data)

    def handle_comment(self, data: str) -> None:
        self._add("comment", data)

    def handle_decl(self, decl: str) -> None:
        self._add("declaration", decl)

    def handle_pi(self, data: str) -> None:
        self._add("instruction", data)

    def unknown_decl(self, data: str) -> None:
        self._words.append(data.removeprefix("CDATA["))

    def end_passage(self) -> None:
        """What has been read so far is a passage of its own."""
        text = " ".join("".join(self._words).split())
        self._words.clear()
        if text:
            place, heading = f"line {self._line}", any(name in _HEADINGS for name, _ in self._open)
            self.found.append(
                Passage(page=self.file, file=self.file, place=place, text=text, heading=heading)
            )
        self._line = self.getpos()[0]

    def _before(self, tag: str) -> None:
        if self._open:
            parent = self._open[-1]
            parent[1] = int(str(parent[1])) + 1
            if parent[1] == 2 and parent[0] in _SECOND:
                self._words.append(_SECOND[str(parent[0])])
                return
        if tag in _RAISING:
            self._words.append("^")
        elif tag in _SPACED:
            self._words.append(" ")
        elif _parts(tag):
            self.end_passage()

    def _attribute(self, name: str, value: str) -> None:
        if name == "id":
            self.ids.append(value)
        if name == "style":
            self._take(_style(self.file, value), "style")
            return
        if _INLINE_DATA.match(value.strip()):
            self._inline(name, value.strip())
            return
        self._add(name, value)
        if name in _LINKS:
            for part in value.split(",") if name == "srcset" else [value]:
                address = unquote((part.split() or [""])[0])
                self._add(name, address, link=True)

    def _inline(self, what: str, value: str) -> None:
        """A file within the attribute (RFC 2397; from memory)."""
        head, _, body = value.partition(",")
        content = unquote_to_bytes(body)
        if head.lower().endswith(";base64"):
            with contextlib.suppress(ValueError):
                content = base64.b64decode(content)
        kind = head.partition(":")[2].partition(";")[0].rpartition("/")[2].partition("+")[0]
        for passage in _content(f"{self.file}.{kind}", content):
            self._add(what, passage.text)

    def _add(self, what: str, text: str, *, link: bool = False) -> None:
        place = f"line {self.getpos()[0]}, {what}"
        self.found.append(
            Passage(page=self.file, file=self.file, place=place, text=text, link=link)
        )

    def _take(self, passages: Iterator[Passage], what: str) -> None:
        for passage in passages:
            self._add(what, passage.text)


def _parts(tag: str) -> bool:
    """Whether what stands before an element and in it can't be read in one."""
    return tag not in _INLINE and tag not in _SPACED and tag not in _RAISING and tag not in _SECOND


def ids(content: bytes) -> tuple[str, ...]:
    """Every id in a page."""
    parser = _Markup("")
    parser.feed(content.decode("utf-8", "replace"))
    parser.close()
    return tuple(parser.ids)


_KINDS: Mapping[str, Callable[[str, str], Iterator[Passage]]] = {
    ".html": _markup,
    ".htm": _markup,
    ".xhtml": _markup,
    ".svg": _markup,
    ".xml": _markup,
    ".json": _script,
    ".js": _script,
    ".map": _script,
    ".css": _style,
    ".ics": _calendar,
}
