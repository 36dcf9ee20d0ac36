"""What is packed in a file: archives, archives in archives, and data that are only packed.

Takes a file's name and bytes; gives names and bytes, never more than ``MOST`` of one file. What is
spoiled or under a password gives nothing: nobody can read it.
"""

import bz2
import gzip
import io
import lzma
import posixpath
import zipfile
import zlib
from collections.abc import Callable, Iterator, Mapping
from functools import partial
from typing import IO

from fallwork.site.errors import PublicationError

_Stream = IO[bytes] | io.BufferedIOBase

ZIP = b"PK\x03\x04"
MOST = 200_000_000  # bytes that one file may hold once unpacked; a few packed MB can hold TB
_DEEPEST = 16  # archives inside one another; some hold themselves
_OPENING: Mapping[bytes, Callable[[IO[bytes]], _Stream]] = {
    b"\x1f\x8b": lambda file: gzip.GzipFile(fileobj=file),
    b"BZh": bz2.BZ2File,
    b"\xfd7zXZ\0": lzma.LZMAFile,
}


class TooLargeError(PublicationError):
    """A file in which too much is packed to be looked through."""

    def __init__(self, file: str) -> None:
        super().__init__(file)
        self.file = file

    def __str__(self) -> str:
        return (
            f"{self.file}: unpacks to more than {MOST // 1_000_000} MB, or holds archives more "
            f"than {_DEEPEST} deep, and can't be looked through for answers; offer it in smaller "
            "parts, or leave it out"
        )


def leaves(name: str, content: bytes) -> Iterator[tuple[str, bytes]]:
    """A file, and what is packed in it, by name; of what is only packed, the content alone.

    Raises ``TooLargeError``.
    """
    return _Unpacking(name).leaves(name, content, 0)


class _Unpacking:
    """One file, and how much may still come out of it."""

    def __init__(self, file: str) -> None:
        self._file, self._left = file, MOST

    def leaves(self, name: str, content: bytes, depth: int) -> Iterator[tuple[str, bytes]]:
        if depth > _DEEPEST:
            raise TooLargeError(self._file)
        opening = next((one for start, one in _OPENING.items() if content.startswith(start)), None)
        if opening is not None:
            inside = self._read(lambda: opening(io.BytesIO(content)))
            if inside is None:
                inside = b"\0" + content[2:]  # only looks packed
            yield from self.leaves(posixpath.splitext(name)[0], inside, depth + 1)
            return
        yield name, content
        for member, inside in self._members(content) if content.startswith(ZIP) else ():
            yield from self.leaves(member, inside, depth + 1)

    def _members(self, content: bytes) -> Iterator[tuple[str, bytes]]:
        try:
            archive = zipfile.ZipFile(io.BytesIO(content))
        except Exception:  # as in _read
            return
        for member in archive.infolist():
            inside = self._read(partial(archive.open, member))
            if inside is not None:
                yield member.filename, inside

    def _read(self, opened: Callable[[], _Stream]) -> bytes | None:
        """What is packed, None where it is spoiled; one byte too many tells that it is too much."""
        try:
            with opened() as file:
                content = file.read(self._left + 1)
        except Exception:  # the readers of archives raise whatever they stumble upon
            return None
        self._left -= len(content)
        if self._left < 0:
            raise TooLargeError(self._file)
        return content


def inflated(data: bytes) -> bytes | None:
    """Data packed by the rule of RFC 1950, whatever follows them; None where they are spoiled.

    Raises ``TooLargeError``.
    """
    try:
        content = zlib.decompressobj().decompress(data, MOST + 1)
    except zlib.error:
        return None
    if len(content) > MOST:
        raise TooLargeError("data packed in a picture or a document")
    return content
