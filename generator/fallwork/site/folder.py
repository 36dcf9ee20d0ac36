"""The folders of a site and of its record: whose they are, and how new ones take their places.

Takes paths; touches files. Knows nothing of what the folders hold.
"""

import ctypes
import hashlib
import os
import shutil
from collections.abc import Iterable, Iterator, Sequence
from contextlib import contextmanager, suppress
from itertools import count
from pathlib import Path

from fallwork.site.errors import PublicationError, said

MARK = ".fallwork"  # a file in the site's folder: its edition, what is on record, its files
_RECORDED = "recorded: "  # before the number of addresses on record
_RECORD = "record: "  # before a digest of the record that was put in place with it
_FILE = "file: "  # before the path of a file that the program wrote
_BUILDING = ".building-"  # with the number of the process that builds
_AT_FDCWD = -100  # Linux: paths are relative to the working directory
_RENAME_EXCHANGE = 2  # Linux: both paths must exist and are swapped in one go
_OLD = "-old"  # behind the name of a fresh folder, while two change places by renaming
_TOLD = 3  # files of somebody else's that a message names


# ---- whose a folder is


def mark(site: Path, edition: str, notes: Sequence[str] = ()) -> None:
    """Say that this folder and all that it holds now is ours, which edition it is, and what is on
    record with it: ``notes_on`` its record, none where it has none.
    """
    lines = [edition, *notes, *(f"{_FILE}{path}" for path in files_below(site))]
    (site / MARK).write_bytes("\n".join((*lines, "")).encode())


def notes_on(record: Path, addresses: int) -> tuple[str, ...]:
    """What a site says of its record: how many addresses it holds, and a digest of its folder."""
    return (f"{_RECORDED}{addresses}", f"{_RECORD}{_digest(record)}")


def noted(site: Path) -> tuple[str, ...]:
    """What the site that stands here says of its record."""
    return tuple(line for line in _mark(site) if line.startswith((_RECORDED, _RECORD)))


def recorded(site: Path) -> int:
    """How many addresses were on record when the site that stands here was put in place."""
    counts = (line.partition(": ")[2] for line in _mark(site) if line.startswith(_RECORDED))
    return next((int(count) for count in counts if count.isdigit()), 0)


def require_apart(site: Path, students: Path, sources: Iterable[Path]) -> None:
    """Raise ``PublicationError`` for a site in or around the students' or its own sources."""
    kept = dict.fromkeys(sources, "the course's own files")
    for place, what in {students: "what students see", **kept}.items():
        within = site.is_relative_to(place) or place.is_relative_to(site)
        if within and not site == place == students:
            raise PublicationError(said("one-in-the-other", site=site, place=place, what=what))


def require_ours(site: Path, edition: str) -> None:
    """Raise ``PublicationError`` unless ``site`` is absent, empty or a site of this edition with
    nothing of anybody else's in it, and lies in no other site.
    """
    if around := [parent for parent in site.parents if (parent / MARK).is_file()]:
        raise PublicationError(said("site-in-a-site", site=site, parent=around[0]))
    if site.exists() and not site.is_dir():
        raise PublicationError(said("no-folder", site=site))
    if not site.exists() or not any(site.iterdir()):
        return
    if not (site / MARK).is_file():
        raise PublicationError(said("of-somebody-else", site=site))
    held, *lines = _mark(site)
    if not (held.isascii() and held.isalpha()):
        raise PublicationError(said("mark-spoiled", mark=site / MARK))
    if held != edition:
        raise PublicationError(said("other-edition", site=site, held=held, edition=edition))
    # What somebody put into our folder by hand would be gone with the next site.
    ours = {line.removeprefix(_FILE) for line in lines if line.startswith(_FILE)}
    tops = {path.partition("/")[0] for path in ours}
    theirs = (path.partition("/") for path in files_below(site) if ours and path not in ours)
    named = [*dict.fromkeys("".join(path) if path[0] in tops else path[0] for path in theirs)]
    if named:
        more = f" and {len(named) - _TOLD} more" if len(named) > _TOLD else ""
        told = f"{', '.join(named[:_TOLD])}{more}"
        raise PublicationError(said("also-holds", site=site, files=told))


def aside(site: Path, students: Path, sources: Iterable[Path], edition: str) -> Path:
    """A fresh folder beside that of a site, if it may stand where it is to."""
    require_apart(site, students, sources)
    require_ours(site, edition)
    return new_beside(site)


def _mark(site: Path) -> Sequence[str]:
    """Its lines, which only "\n" ends: names of files may hold other ends of lines."""
    path = site / MARK
    return path.read_bytes().decode("utf-8", "replace").split("\n") if path.is_file() else [""]


def _digest(folder: Path) -> str:
    """SHA-256 of the names and contents of all files in it."""
    whole = hashlib.sha256()
    for name in files_below(folder):
        content = hashlib.sha256((folder / name).read_bytes()).hexdigest()
        whole.update(f"{name}\0{content}\n".encode())
    return whole.hexdigest()


def files_below(site: Path) -> list[str]:
    """Whatever lies below a folder and is no folder itself, but for the mark."""
    start = len(f"{site}/")
    places = (f"{top}/{name}"[start:] for top, _, names in os.walk(site) for name in names)
    return sorted(place.replace(os.sep, "/") for place in places if place != MARK)


# ---- how new ones take their places


def put_right(record: Path, site: Path) -> None:
    """Finish or undo what a process did half that was killed while it put both in their places;
    raises ``PublicationError`` where somebody has put files of their own into the site since.

    What it had moved aside comes back. Where the new record stands already, the site that waits
    beside the old one and names that record takes its place.
    """
    record, site = record.resolve(), site.resolve()
    for target in (record, site):
        for left in _left(target):
            _put_back(left, target)
    named = f"{_RECORD}{_digest(record)}"
    waiting = [left for left in _left(site) if named in _mark(left)]
    if waiting and named not in _mark(site):
        require_ours(site, _mark(waiting[0])[0])
        with suppress(OSError):
            _swap(waiting[0], site)
    for target in (record, site):
        _clear_beside(target)


def new_beside(site: Path) -> Path:
    """A fresh folder on the same disk; those of builds that were killed are cleared away."""
    site.parent.mkdir(parents=True, exist_ok=True)
    _clear_beside(site)
    for number in count():
        fresh = site.with_name(f".{site.name}{_BUILDING}{os.getpid()}{f'-{number}' * (number > 0)}")
        shutil.rmtree(fresh, ignore_errors=True)  # left by an earlier build of this process
        if not fresh.exists():
            break
    fresh.mkdir()
    return fresh


def swap_in(*pairs: tuple[Path, Path]) -> None:
    """Put each fresh folder in the place of its target, all or none; raises ``OSError``.

    What stood there is removed afterwards, as far as it can be: nothing fails for what is left.
    """
    done: list[tuple[Path, Path, bool]] = []
    try:
        for fresh, target in pairs:
            stood = target.exists()
            _swap(fresh, target)
            done.append((fresh, target, stood))
    except BaseException:
        for fresh, target, stood in reversed(done):
            if stood:
                _swap(fresh, target)
            else:
                target.rename(fresh)
        raise
    for fresh, _ in pairs:
        shutil.rmtree(fresh, ignore_errors=True)


@contextmanager
def one_at_a_time(folder: Path) -> Iterator[None]:
    """Wait until no other process publishes from ``folder``, where the system has such locks."""
    try:
        import fcntl
    except ImportError:
        yield
        return
    handle = os.open(folder, os.O_RDONLY)
    try:
        fcntl.flock(handle, fcntl.LOCK_EX)
        yield
    finally:
        os.close(handle)


def _clear_beside(site: Path) -> None:
    """Clear away the fresh folders of builds that were killed or could not remove them."""
    for left in _left(site):
        _put_back(left, site)
        shutil.rmtree(left, ignore_errors=True)


def _left(target: Path) -> list[Path]:
    """What processes that are gone have left beside a folder; where each publication has a machine
    of its own, a killed one had our number.
    """

    def runs(number: str) -> bool:
        if int(number) == os.getpid():
            return False
        try:
            os.kill(int(number), 0)
        except OSError as error:
            return isinstance(error, PermissionError)
        return True

    prefix = f".{target.name}{_BUILDING}"
    found = sorted(target.parent.glob(f"{prefix}*"))
    numbers = (left.name.removeprefix(prefix).partition("-")[0] for left in found)
    pairs = zip(found, numbers, strict=True)
    return [left for left, number in pairs if number.isdigit() and not runs(number)]


def _put_back(left: Path, target: Path) -> None:
    """What a process that was killed between two renamings had taken from its place."""
    if left.name.endswith(_OLD) and not target.exists():
        with suppress(OSError):
            left.rename(target)


def _swap(fresh: Path, target: Path) -> None:
    """Afterwards ``fresh`` is the folder that stood at ``target``, if one did."""
    if not target.exists():
        fresh.rename(target)
    elif not _exchange(fresh, target):
        old = fresh.with_name(f"{fresh.name}{_OLD}")
        target.rename(old)
        try:
            fresh.rename(target)
        except OSError:
            old.rename(target)
            raise
        old.rename(fresh)


def _exchange(one: Path, other: Path) -> bool:
    """Swap two folders in one step, where the system can."""
    rename = getattr(ctypes.CDLL(None, use_errno=True), "renameat2", None)
    if rename is None:
        return False
    paths = (os.fsencode(one), os.fsencode(other))
    result: int = rename(_AT_FDCWD, paths[0], _AT_FDCWD, paths[1], _RENAME_EXCHANGE)
    return result == 0
