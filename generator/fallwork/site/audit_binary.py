"""What can be read in files that are no text: notes in pictures, texts in documents, and otherwise
every run of letters.

Takes a file's bytes; gives places in the file with their texts.
"""

import re
import struct
from collections.abc import Iterator

from fallwork.site.audit_unpacking import inflated

PNG, PDF = b"\x89PNG\r\n\x1a\n", b"%PDF-"  # how such a file begins
# Shorter ones turn up in packed data by chance, and in a photograph some of them with a number.
_PRINTABLE = re.compile(rb"[\x20-\x7e]{12,}")
_WIDE = re.compile(rb"(?:[\x20-\x7e]\x00){5,}")
_STREAM = re.compile(rb"stream\r?\n(.*?)endstream", re.DOTALL)  # of a PDF file
_BRACKETED = re.compile(rb"\(((?:[^()\\]|\\.)*)\)")
_SHOWING = re.compile(rb"(?:^|\s)BT\s.*?\sT[jJ]\b", re.DOTALL)  # a page shows text so
_SHOWN = re.compile(rb"\(((?:[^()\\]|\\.)*)\)|(-?\d+(?:\.\d+)?)|(T[dDmJj*]|ET)")
_ENDING = (b"Td", b"TD", b"Tm", b"T*", b"ET")  # what stands next stands somewhere else
_NOTES = (b"tEXt", b"zTXt", b"iTXt")
_DEFLATED = re.compile(b"\x78[\x01\x5e\x9c\xda]")  # how packed data begin (RFC 1950; from memory)
_GAP = -200  # thousandths of an em: a shift so far to the right stands for a blank

Places = Iterator[tuple[str, str]]  # place, text


def strings(content: bytes) -> Places:
    """Runs of letters of one byte or of two."""
    for match in _PRINTABLE.finditer(content):
        yield f"byte {match.start()}", match[0].decode("latin-1")
    for match in _WIDE.finditer(content):
        yield f"byte {match.start()}", match[0].decode("utf-16-le")


def png(content: bytes) -> Places:
    """The notes in a picture (PNG specification, 11.3.3: tEXt, zTXt, iTXt; from memory)."""
    at = len(PNG)
    while at + 8 <= len(content):
        length, kind = struct.unpack(">I4s", content[at : at + 8])
        data = content[at + 8 : at + 8 + length]
        at += length + 12
        if kind in _NOTES:
            for text in (data, *_packed(data)):
                yield (
                    f"note in {kind.decode()}",
                    text.replace(b"\0", b" ").decode("utf-8", "replace"),
                )
        elif kind not in (b"IDAT", b"PLTE"):
            yield from strings(data)
    yield from strings(content[at:])


def _packed(data: bytes) -> Iterator[bytes]:
    for start in _DEFLATED.finditer(data):
        content = inflated(data[start.start() :])
        if content is not None:  # spoiled; nobody can read it
            yield content


def pdf(content: bytes) -> Places:
    """Texts between brackets outside of streams, and those that streams show, packed by the usual
    rule or not (PDF reference, 1.7, 7.3.8 and 9.4.3; from memory). Letters that stand there only
    as numbers in a font of the file can't be read.
    """
    for text in _BRACKETED.findall(_STREAM.sub(b"", content)):
        yield "text of the document", _plain(text)
    for number, match in enumerate(_STREAM.finditer(content), start=1):
        unpacked = inflated(match[1])
        for text in _of_stream(match[1] if unpacked is None else unpacked):
            yield f"stream {number}", text


def _of_stream(stream: bytes) -> Iterator[str]:
    """Of a page, of a description in XML, or of objects that are packed together."""
    if _SHOWING.search(stream):
        yield from _shown(stream)
    elif stream.lstrip().startswith(b"<"):
        yield stream.decode("utf-8", "replace")
    elif stream.isascii():
        yield from map(_plain, _BRACKETED.findall(stream))


def _shown(stream: bytes) -> Iterator[str]:
    """Texts of a page, each put together from the pieces between which letters are shifted."""
    words: list[str] = []
    for match in _SHOWN.finditer(stream):
        text, shift, operator = match.groups()
        if text is not None:
            words.append(_plain(text))
        elif shift is not None and words and float(shift) < _GAP:
            words.append(" ")
        elif operator in _ENDING and words:
            yield "".join(words)
            words.clear()


def _plain(text: bytes) -> str:
    text = re.sub(rb"\\(.)", rb"\1", text)
    return text.decode("utf-16" if text.startswith(b"\xfe\xff") else "cp1252", "replace")
