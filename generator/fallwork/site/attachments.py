"""Files of the author's own that are no text: from when on students may have them.

Takes paths and what course.yaml declares; gives moments, and what to write there.
"""

from collections import Counter
from collections.abc import Iterable, Mapping
from datetime import datetime
from fnmatch import fnmatchcase
from pathlib import Path, PurePosixPath

from fallwork.scenario import Course
from fallwork.site.audit_reading import text_of
from fallwork.site.errors import said


def declared(course: Course, path: str) -> bool:
    """Whether some pattern names the file; ``path`` from the folder of the pages on."""
    return any(fnmatchcase(path, pattern) for pattern in course.attachments)


def opens(course: Course, path: str) -> datetime | None:
    """From when on students may have it, by the last of the patterns that name it; None: always."""
    dated = {pattern: at for pattern, at in course.attachments.items() if at}
    return max((at for each, at in dated.items() if fnmatchcase(path, each)), default=None)


def problems(course: Course, file: Path, files: Mapping[str, Path]) -> list[str]:
    """What is no text and isn't declared, and patterns that name nothing, with their places.

    ``file``: the course's own, as messages name it; ``files``: path from the folder on -> file.
    """
    found = [
        said("no-such-attachment", place=course.places[f"attachments.{each}"], pattern=each)
        for each in course.attachments
        if not any(fnmatchcase(path, each) for path in files)
    ]
    unread = [
        path
        for path, each in files.items()
        if not declared(course, path) and text_of(each.read_bytes()) is None
    ]
    found += [said("no-text", file=files[path]) for path in unread]
    if unread:
        named = ", ".join(f"{each}: always" for each in _patterns(unread))
        found.append(said("attachments", file=file, named=named))
    return found


def _patterns(paths: Iterable[str]) -> Iterable[str]:
    """The files by name, several of a folder by the folder's."""
    folders = {path: PurePosixPath(path).parent for path in paths}
    counts = Counter(folders.values())
    several = {path: each.name and counts[each] > 1 for path, each in folders.items()}
    return dict.fromkeys(f"{folders[p]}/*" if several[p] else p for p in folders)
