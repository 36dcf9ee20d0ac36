"""Everything that can be read in a text of somebody's own, as passages with their places; and the
addresses from which a browser would fetch a file of another host when it is read.

Takes a file's name and text; gives passages, or raises ``PublicationError`` for what is fetched:
links are followed only when a reader asks for it. What's inside comments, attributes and files that
are part of the text is read like the text of a page. Knows nothing of what is being looked for.
What is no text nobody can read here.
"""

import base64
import contextlib
import html
import posixpath
import re
from collections.abc import Callable, Collection, Iterator, Mapping
from html.parser import HTMLParser
from pathlib import Path
from typing import NamedTuple
from urllib.parse import unquote_to_bytes

from fallwork.site.errors import place_of, require, said

_QUOTED = re.compile(r"/\*.*?\*/|\"[^\"]*\"|'[^']*'", re.DOTALL)
_INLINE = re.compile(  # stands inside a word or a number without parting it
    "a|abbr|b|bdi|bdo|cite|code|data|dfn|em|font|i|ins|kbd|mark|q|s|small|span|strong|sub|u|var|wbr"
    "|tspan"
)
# How the names of attributes begin that hold words or values; nobody reads a value off the others.
_SAID = re.compile("alt|title|content|data-|aria-|label|placeholder|summary|value|name|id")
_INLINE_DATA = re.compile(r"data:[\w.+-]+/[\w.+-]+[^,]*,")
_MARKUP = (".md", ".markdown", ".html", ".htm", ".xhtml", ".svg", ".xml")
_PARTED = " \x1f "  # between what can't be read in one
_OF_TWO = {"msup": ("^", ""), "mfrac": ("/(", ")")}  # before the second part, and behind it
NAME = "file name"  # the place of a passage
_CONTROL = re.compile("[\x00-\x08\x0e-\x1a\x1c-\x1f\x7f]")
_PACKED = (b"%PDF-", b"PK", b"BZh", b"\x1f\x8b")  # how files begin that may look like text
_PICTURE = (b"\x89PNG\r\n\x1a\n", b"\xff\xd8\xff")  # PNG, JPEG (from memory, as what follows)
_DRAWN = re.compile(b"IDAT|\xff\xda")  # where the picture itself begins, behind most of its notes
_NOTE = re.compile(rb"[\x20-\x7e]{5,}")
_LONG_NOTE = re.compile(rb"[\w .,:;=()/+-]{16,}")  # shorter ones stand in a picture by chance


class Passage(NamedTuple):
    """A text that somebody may read."""

    text: str
    place: str = ""  # what of the file, e.g. "file name"; "" for a line of its own text
    line: int = 0  # where it begins, from 1; 0 where the file has no lines
    is_text: bool = True  # False: a file within a page that nobody can read here


def text_of(content: bytes) -> str | None:
    """The text of a file, of a picture its notes; None where it is something else."""
    if content.startswith(_PICTURE):
        head, *drawn = _DRAWN.split(content, maxsplit=1)
        notes = [*_NOTE.findall(head), *_LONG_NOTE.findall(b"".join(drawn))]
        return "\n".join(note.decode("ascii") for note in notes)
    if content.startswith((b"\xff\xfe", b"\xfe\xff")):
        text = content.decode("utf-16", "replace")
    else:
        try:
            text = content.decode("utf-8-sig")
        except UnicodeDecodeError:
            text = content.decode("latin-1")
    return None if content.startswith(_PACKED) or _CONTROL.search(text) else text


def passages(name: str, text: str) -> Iterator[Passage]:
    """What can be read in one file, its name included."""
    yield Passage(text=name, place=NAME)
    kind = posixpath.splitext(name)[1].lower()
    if kind in _MARKUP:
        page = _Page(text)
        yield Passage(text=page.text, line=1)
        yield from page.apart
    elif kind == ".css":
        yield Passage(text=_quoted(text), line=1)
    else:  # of a calendar lines that were folded are one (RFC 5545, 3.1, from memory)
        unfolded = re.sub(r"\r?\n[ \t]", "", text) if kind == ".ics" else text
        yield Passage(text=unfolded, line=1)


class PageParser(HTMLParser):
    """A reader of HTML that takes ``<![`` as browsers do: for a comment up to the next bracket."""

    def parse_marked_section(self, i: int, report: bool = True) -> int:
        """Where it ends; -1 where it doesn't."""
        return self.parse_bogus_comment(i, report)


class _Page(PageParser):
    """The text of a page, in as many lines; ``apart`` is what stands beside it."""

    def __init__(self, text: str, line: int = 1) -> None:
        super().__init__(convert_charrefs=True)
        self.text, self.apart = "", list[Passage]()
        self._first = line
        self._formula: list[tuple[str, int]] = []  # elements that are open, and their parts so far
        ends = text.rfind("<!--") > text.rfind("-->")
        self.feed(f"{text}-->" if ends else text)
        self.close()

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        values = {name: value or "" for name, value in attrs}
        said = "".join(f"{_PARTED}{each}{_PARTED}" for each in self._said(values))
        if self._formula or tag == "math":
            self._begin(tag, " " if "width" in values else "", said)
        elif said or not _INLINE.fullmatch(tag):
            self._add(("^" if tag == "sup" else _PARTED) + said)

    def handle_endtag(self, tag: str) -> None:
        if any(name == tag for name, _ in self._formula):
            while True:
                name, parts = self._formula.pop()
                self.text += _OF_TWO[name][1] if name in _OF_TWO and parts > 1 else ""
                if name == tag:
                    return
        if not self._formula and not _INLINE.fullmatch(tag):
            self._add(_PARTED)

    def handle_data(self, data: str) -> None:
        if self._formula:  # in a row, as it is typed
            self.text += " ".join(data.split())
        else:
            self._add(_quoted(data) if self.cdata_elem == "style" else data)

    def handle_comment(self, data: str) -> None:
        within = _Page(data, self._line)
        self.apart += [Passage(text=within.text, line=self._line), *within.apart]

    def handle_decl(self, decl: str) -> None:
        self.handle_comment(decl)

    def handle_pi(self, data: str) -> None:
        self.handle_comment(data)

    @property
    def _line(self) -> int:
        return self._first + self.getpos()[0] - 1

    def _begin(self, tag: str, gap: str, said: str) -> None:
        """An element of a formula."""
        if not self._formula:
            self._add("")
        else:
            parent, parts = self._formula[-1]
            self._formula[-1] = (parent, parts + 1)
            gap += _OF_TWO[parent][0] if parent in _OF_TWO and parts == 1 else ""
        self.text += gap + said
        self._formula.append((tag, 0))

    def _add(self, text: str) -> None:
        """Go on where the page is now."""
        self.text += "\n" * (self.getpos()[0] - 1 - self.text.count("\n")) + text

    def _said(self, values: Mapping[str, str]) -> Iterator[str]:
        for name, value in values.items():
            if name == "style":
                yield _quoted(value)
            elif _INLINE_DATA.match(value.strip()):
                yield from self._inline(value.strip())
            elif _SAID.match(name):
                yield value

    def _inline(self, value: str) -> Iterator[str]:
        """A file within an attribute (RFC 2397; from memory)."""
        head, _, body = value.partition(",")
        content = unquote_to_bytes(body)
        if head.lower().endswith(";base64"):
            with contextlib.suppress(ValueError):
                content = base64.b64decode(content)
        kind = head.partition(":")[2].partition(";")[0].rpartition("/")[2].partition("+")[0]
        text = text_of(content)
        if text is None:
            self.apart.append(Passage(text=head, line=self._line, is_text=False))
            return
        for each in passages(f"data.{kind}", text):
            yield " ".join(each.text.split())


def _quoted(style: str) -> str:
    """Comments and quoted texts; the rest of a style sheet says how, not what."""
    said, at = "", 0
    for match in _QUOTED.finditer(style):
        said += "\n" * style.count("\n", at, match.start()) + _PARTED + match[0]
        at = match.end()
    return said + "\n" * style.count("\n", at)


# ---- what is fetched

# Attributes that hold an address which isn't fetched, or words.
_WORDS = re.compile(
    "cite|action|formaction|alt|title|value|content|itemtype|placeholder|label|name|id"
    "|(?:xmlns|data-|aria-).*"
)
_FOLLOWED = ("a", "area")
_FETCHED = re.compile("stylesheet|icon|preload|prefetch|preconnect|manifest|import")  # by rel
_ADDRESS = re.compile(r"(?:[a-z][a-z0-9+.\-]*:)?//[^\s\"'<>)]+", re.IGNORECASE)
_THERE = re.compile(r"[\"'(`]\s*((?:(?:https?|wss?|ftp):)?//[\w\[][^\s\"'<>)`]*)", re.IGNORECASE)
_CALLED = re.compile(
    r"(?:\b(?:fetch|import|importScripts|WebSocket|EventSource|sendBeacon|(?:Shared)?Worker|Request"
    r"|Audio)\s*\(|\.open\([^)]*?,|\.src\s*=|\b(?:from|import))\s*" + _THERE.pattern,
    re.IGNORECASE,
)
_NAMES = "http://www.w3.org/"  # of vocabularies; nothing is fetched from there
_ESCAPE = re.compile(r"\\([0-9a-fA-F]{1,6})\s?")  # CSS Syntax, 4.3.7; from memory
_DIAGRAM = "mermaid"  # the theme's script fetches a program for blocks of this class
_COUNTS = "source"  # and numbers for the name of a repository


def require_nothing_fetched(allowed: Collection[str], *files: Path, page: str = "") -> None:
    """Raise ``PublicationError`` for every address from which a browser would fetch a file of
    another host when a ``page`` in HTML is read, or else the first of the ``files``. These may hold
    the address: a page's own file first, then the settings. ``allowed``: beginnings of addresses.
    """
    problems, read = [], in_markup if page else _KINDS.get(files[0].suffix.lower())
    for each in dict.fromkeys(read(page or files[0].read_text("utf-8")) if read else ()):
        if not each.startswith(tuple(allowed)):
            holders = (file for file in files if file.is_file() and each in file.read_text("utf-8"))
            place = place_of(next(holders, files[0]), each)
            kind = "block-that-fetches" if each in (_DIAGRAM, _COUNTS) else "fetched"
            address, what = each.partition("?")[0], said(kind, address=each)
            problems.append(said("allow", place=place, what=what, address=address))
    require(problems)


def in_markup(text: str) -> Iterator[str]:
    """The addresses from which HTML or SVG fetches something."""
    parser = _Fetching()
    parser.feed(text)
    parser.close()
    yield from parser.found


def in_style(text: str) -> Iterator[str]:
    """The addresses in a style sheet."""
    text = re.sub(r"/\*.*?\*/", "", text, flags=re.DOTALL)
    text = _ESCAPE.sub(lambda found: chr(min(int(found[1], 16), 0x10FFFF)), text)
    yield from (each for each in _THERE.findall(text) if not each.startswith(_NAMES))


def in_script(text: str) -> Iterator[str]:
    """The addresses that a script fetches by their names; it can put others together."""
    yield from _CALLED.findall(text)


_KINDS: Mapping[str, Callable[[str], Iterator[str]]] = {
    **dict.fromkeys((".html", ".htm", ".xhtml", ".svg"), in_markup),
    ".css": in_style,
    **dict.fromkeys((".js", ".mjs"), in_script),
}


class _Fetching(PageParser):
    """What a page names in places from which a browser fetches."""

    def __init__(self) -> None:
        super().__init__(convert_charrefs=True)
        self.found: list[str] = []
        self._inside = ""

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self._inside = tag
        given = {name: value or "" for name, value in attrs}
        if _DIAGRAM in given.get("class", "").split():
            self.found.append(_DIAGRAM)
        if given.get("data-md-component") == _COUNTS:
            self.found.append(_COUNTS)
        if given.get("http-equiv", "").strip().lower() == "refresh":
            self.found += _ADDRESS.findall(given.get("content", ""))
        fetched = tag != "link" or _FETCHED.search(given.get("rel", "").lower())
        for name, value in given.items():
            followed = tag in _FOLLOWED and name.endswith("href")
            if name == "style" or "url(" in value.lower():
                self.found += in_style(value)
            elif name.startswith("on"):
                self.found += in_script(value)
            elif name == "srcdoc":
                self.found += in_markup(html.unescape(value))
            elif fetched and not followed and not _WORDS.fullmatch(name):
                plain = re.sub(r"[\t\n\r]", "", value).replace("\\", "/").strip()
                for part in plain.split(",") if name.endswith("srcset") else [plain]:
                    address = _ADDRESS.match(part.strip())
                    if address is not None and not address[0].startswith(_NAMES):
                        self.found.append(address[0])

    def handle_data(self, data: str) -> None:
        if self._inside in ("style", "script"):
            self.found += (in_style if self._inside == "style" else in_script)(data)

    def handle_endtag(self, tag: str) -> None:
        self._inside = ""
