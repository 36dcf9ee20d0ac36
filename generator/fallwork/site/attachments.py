"""Files of the author's own: which can be read for answers, and from when on students may have the
others.

Takes paths and what course.yaml declares; gives moments, and what to write there.
"""

import re
from collections import Counter
from collections.abc import Iterable, Mapping
from datetime import datetime
from fnmatch import fnmatchcase
from pathlib import Path, PurePosixPath

from fallwork.scenario import Course
from fallwork.site.errors import said

_CONTROL = re.compile("[\x00-\x08\x0e-\x1a\x1c-\x1f\x7f]")
_PACKED = (b"%PDF-", b"PK", b"BZh", b"\x1f\x8b")  # how files begin that may look like text
_PICTURE = (b"\x89PNG\r\n\x1a\n", b"\xff\xd8\xff")  # PNG, JPEG (from memory, as what follows)
_DRAWN = re.compile(b"IDAT|\xff\xda")  # where the picture itself begins, behind most of its notes
_NOTE = re.compile(rb"[\x20-\x7e]{5,}")
_LONG_NOTE = re.compile(rb"[\w .,:;=()/+-]{16,}")  # shorter ones stand in a picture by chance


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


class Attachments:
    """What course.yaml says of files in the folder of the hand-written pages."""

    def __init__(self, course: Course, file: Path) -> None:
        """``file``: the course's own, as messages name it."""
        self._opens, self._places, self._file = course.attachments, course.places, file

    def declared(self, path: str) -> bool:
        """Whether some pattern names the file; ``path`` from the folder on."""
        return any(fnmatchcase(path, pattern) for pattern in self._opens)

    def opens(self, path: str) -> datetime | None:
        """From when on students may have it, by the last of the patterns that name it; None:
        always.
        """
        moments = [at for pattern, at in self._opens.items() if at and fnmatchcase(path, pattern)]
        return max(moments, default=None)

    def problems(self, files: Mapping[str, Path]) -> list[str]:
        """What is no text and isn't declared, and patterns that name nothing, with their places.

        ``files``: path from the folder on -> file.
        """
        problems = [
            said("no-such-attachment", place=self._places[f"attachments.{each}"], pattern=each)
            for each in self._opens
            if not any(fnmatchcase(path, each) for path in files)
        ]
        unread = [
            path
            for path, file in files.items()
            if not self.declared(path) and text_of(file.read_bytes()) is None
        ]
        problems += [said("no-text", file=files[path]) for path in unread]
        if unread:
            named = ", ".join(f"{each}: always" for each in _patterns(unread))
            problems.append(said("attachments", file=self._file, named=named))
        return problems


def _patterns(paths: Iterable[str]) -> list[str]:
    """The files by name, several of a folder by the folder's."""
    folders = Counter(PurePosixPath(path).parent for path in paths)
    named = (
        path if folders[folder] == 1 or folder == PurePosixPath() else f"{folder}/*"
        for path in paths
        for folder in [PurePosixPath(path).parent]
    )
    return list(dict.fromkeys(named))
