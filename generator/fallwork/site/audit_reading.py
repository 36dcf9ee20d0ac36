"""Everything that can be read in a file of somebody's own, as passages of text with their places.

Takes a file's name and bytes; gives passages. What's inside comments, attributes and the
notes in pictures is read like the text of a page. Knows nothing of what is being looked for.
"""

import base64
import contextlib
import html
import io
import posixpath
import re
import zipfile
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from urllib.parse import unquote_to_bytes
from xml.etree import ElementTree

from fallwork.site import audit_binary
from fallwork.site.audit_unpacking import ZIP, leaves

_QUOTED = re.compile(r"/\*.*?\*/|\"[^\"]*\"|'[^']*'", re.DOTALL)
_COMMENT = re.compile(r"<!--(.*?)(?:-->|\Z)", re.DOTALL)
_STYLE = re.compile(r"(<style\b[^>]*>)(.*?)(?=</style)", re.DOTALL | re.IGNORECASE)
_FORMULA = re.compile(r"<math\b.*?</math\s*>", re.DOTALL | re.IGNORECASE)
_TAG = re.compile(
    r"<(?P<end>/?)(?P<name>[A-Za-z][\w:.\-]*)"
    r"(?P<rest>(?:[\s/](?:\"[^\"<]*\"|'[^'<]*'|[^\"'<>])*)?)>"
    r"|<!\[CDATA\[|\]\]>|<[!?]"
)
_INLINE = re.compile(  # stands inside a word or a number without parting it
    "a|abbr|b|bdi|bdo|cite|code|data|dfn|em|font|i|ins|kbd|mark|q|s|small|span|strong|sub|u|var|wbr"
    "|tspan|text:span|w:[rt]|math|semantics|m(?:row|style|i|n|o|s|text|padded|sup|frac)",
    re.IGNORECASE,
)
_ATTRIBUTE = re.compile(r"([\w:.\-]+)\s*=\s*(?:\"([^\"]*)\"|'([^']*)'|([^\s\"'>]+))")
# How the names of attributes begin that hold words or values; nobody reads a value off the others.
_SAID = re.compile(
    "alt|title|content|data-|aria-|label|placeholder|summary|(?:office:)?value|name|id",
    re.IGNORECASE,
)
_INLINE_DATA = re.compile(r"data:[\w.+-]+/[\w.+-]+[^,]*,")
NAME = "file name"  # the place of a passage
_PARTED = " \x1f "  # between what can't be read in one


@dataclass(frozen=True, kw_only=True)
class Passage:
    """A text that somebody may read."""

    text: str
    place: str = ""  # what of the file, e.g. "file name"; "" for a line of its own text
    line: int = 0  # where it begins, from 1; 0 where the file has no lines
    loose: bool = False  # not there to be read: a number without a unit says nothing


def passages(name: str, content: bytes) -> Iterator[Passage]:
    """What can be read in one file, its name included; nothing in an archive as such."""
    yield Passage(text=name, place=NAME)
    if content.startswith(audit_binary.PNG):
        yield from _binary(audit_binary.png(content))
    elif content.startswith(audit_binary.PDF):
        yield from _binary(audit_binary.pdf(content))
    elif content.startswith(ZIP) and zipfile.is_zipfile(io.BytesIO(content)):
        return  # what it holds are leaves of their own
    elif (text := _decoded(content)) is None or content.startswith(ZIP):
        yield from _binary(audit_binary.strings(content))
    else:
        yield from _KINDS.get(posixpath.splitext(name)[1].lower(), _plain)(text)


def _binary(places: audit_binary.Places) -> Iterator[Passage]:
    for place, text in places:
        yield Passage(text=text, place=place, loose=True)


def _plain(text: str) -> Iterator[Passage]:
    yield Passage(text=text, line=1)


def _markup(text: str) -> Iterator[Passage]:
    """HTML, SVG and other XML: text with what attributes say, and each comment by itself."""
    for comment in _COMMENT.finditer(text):
        line = 1 + text.count("\n", 0, comment.start(1))
        yield Passage(text=_without_tags(comment[1]), line=line)
    text = _COMMENT.sub(lambda comment: "\n" * comment[0].count("\n"), text)
    yield Passage(text=_without_tags(text), line=1)


def _without_tags(text: str) -> str:
    text = _STYLE.sub(lambda found: found[1] + _quoted(found[2]), text)
    text = _FORMULA.sub(lambda found: _in_a_row(found[0]), text)
    return html.unescape(_TAG.sub(_untagged, text))


def _in_a_row(formula: str) -> str:
    """A formula in MathML as it is typed, in as many lines; what isn't XML as it is."""
    try:
        root = ElementTree.fromstring(formula)
    except ElementTree.ParseError:
        return formula
    return html.escape(_typed(root), quote=False) + "\n" * formula.count("\n")


def _typed(element: ElementTree.Element) -> str:
    name, parts = element.tag.rpartition("}")[2], [_typed(child) for child in element]
    if name in _OF_TWO and len(parts) == 2:
        parts = [_OF_TWO[name].format(*parts)]
    said = [value for key, value in element.items() if _SAID.match(key)]
    own = " ".join((element.text or "").split()) or (" " if element.get("width") else "")
    return "".join((*(f"{_PARTED}{each}{_PARTED}" for each in said), own, *parts))


def _untagged(tag: re.Match[str]) -> str:
    """What is left of a tag: its words, and as many lines as it had."""
    name = tag["name"] or ""
    said = list(_said(tag["rest"] or ""))
    if not said and _INLINE.fullmatch(name):
        return "\n" * tag[0].count("\n")
    sign = "^" if name.lower() == "sup" and not tag["end"] else _PARTED if name else ""
    lines = "\n" * (tag[0].count("\n") - sum(each.count("\n") for each in said))
    return lines + sign + "".join(f"{_PARTED}{each}{_PARTED}" for each in said)


def _said(attributes: str) -> Iterator[str]:
    for name, *values in _ATTRIBUTE.findall(attributes):
        value = "".join(values)
        if name.lower() == "style":
            yield _quoted(html.unescape(value))
        elif _INLINE_DATA.match(value.strip()):
            yield from _inline(value.strip())
        elif _SAID.match(name):
            yield value


def _inline(value: str) -> Iterator[str]:
    """A file within an attribute (RFC 2397; from memory)."""
    head, _, body = value.partition(",")
    content = unquote_to_bytes(body)
    if head.lower().endswith(";base64"):
        with contextlib.suppress(ValueError):
            content = base64.b64decode(content)
    kind = head.partition(":")[2].partition(";")[0].rpartition("/")[2].partition("+")[0]
    for name, leaf in leaves(f"data.{kind}", content):
        yield from (" ".join(each.text.split()) for each in passages(name, leaf))


def _style(text: str) -> Iterator[Passage]:
    yield Passage(text=_quoted(text), line=1)


def _quoted(style: str) -> str:
    """Comments and quoted texts; the rest of a style sheet says how, not what."""
    said, at = "", 0
    for match in _QUOTED.finditer(style):
        said += "\n" * style.count("\n", at, match.start()) + _PARTED + match[0]
        at = match.end()
    return said + "\n" * style.count("\n", at)


def _calendar(text: str) -> Iterator[Passage]:
    """Lines that were folded are one (RFC 5545, 3.1, from memory)."""
    yield from _plain(re.sub(r"\r?\n[ \t]", "", text))


_OF_TWO: Mapping[str, str] = {"msup": "{}^{}", "mfrac": "{}/({})"}


def _decoded(content: bytes) -> str | None:
    if content.startswith((b"\xff\xfe", b"\xfe\xff")):
        return content.decode("utf-16", "replace")
    try:
        text = content.decode("utf-8-sig")
    except UnicodeDecodeError:
        text = content.decode("latin-1")
    return None if "\0" in text else text


_KINDS: Mapping[str, Callable[[str], Iterator[Passage]]] = {
    **dict.fromkeys((".md", ".markdown", ".html", ".htm", ".xhtml", ".svg", ".xml"), _markup),
    ".css": _style,
    ".ics": _calendar,
}
