"""What people wrote, looked through for addresses from which a browser would fetch a file of
another host when it is read.

Takes the HTML of a page, or a drawing, a style sheet or a script; gives the addresses, or raises
``PublicationError`` with their places. Links are followed only when a reader asks for it.
"""

import html
import re
from collections.abc import Callable, Collection, Iterator, Mapping
from pathlib import Path

from fallwork.site.errors import said
from fallwork.site.handwritten import PageParser, place_of, require

# Attributes that hold an address which isn't fetched, or words.
_WORDS = re.compile(
    "cite|action|formaction|alt|title|value|content|itemtype|placeholder|label|name|id"
    "|(?:xmlns|data-|aria-).*"
)
_FOLLOWED = ("a", "area")
_FETCHED = re.compile("stylesheet|icon|preload|prefetch|preconnect|manifest|import")  # by rel
_ADDRESS = re.compile(r"(?:[a-z][a-z0-9+.\-]*:)?//[^\s\"'<>)]+", re.IGNORECASE)
_QUOTED = re.compile(r"[\"'(`]\s*((?:(?:https?|wss?|ftp):)?//[\w\[][^\s\"'<>)`]*)", re.IGNORECASE)
_CALLED = re.compile(
    r"(?:\b(?:fetch|import|importScripts|WebSocket|EventSource|sendBeacon|(?:Shared)?Worker|Request"
    r"|Audio)\s*\(|\.open\([^)]*?,|\.src\s*=|\b(?:from|import))\s*" + _QUOTED.pattern,
    re.IGNORECASE,
)
_NAMES = "http://www.w3.org/"  # of vocabularies; nothing is fetched from there
_ESCAPE = re.compile(r"\\([0-9a-fA-F]{1,6})\s?")  # CSS Syntax, 4.3.7; from memory
_DIAGRAM = "mermaid"  # the theme's script fetches a program for blocks of this class
_COUNTS = "source"  # and numbers for the name of a repository


def require_file_fetches_nothing(path: Path, allowed: Collection[str]) -> None:
    """Raise ``PublicationError`` for every address from which a page, drawing, style sheet or
    script fetches something that goes into the site as it is.
    """
    if read := _KINDS.get(path.suffix.lower()):
        require_nothing_fetched(read(path.read_text("utf-8")), (path,), allowed)


def require_nothing_fetched(
    found: Iterator[str], files: tuple[Path, ...], allowed: Collection[str]
) -> None:
    """The same for addresses that were found. ``files`` may hold them: the page's own file first,
    then the settings; ``allowed`` are beginnings of addresses.
    """
    problems = []
    for each in dict.fromkeys(found):
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
    yield from (each for each in _QUOTED.findall(text) if not each.startswith(_NAMES))


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
