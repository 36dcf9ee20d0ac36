"""The folder that holds a site: whose it is, and how a new one takes its place at once.

Takes paths; touches files. Knows nothing of what the site holds.
"""

import ctypes
import os
import shutil
from pathlib import Path

from fallwork.site.errors import PublicationError

MARK = ".fallwork"  # a file in the site's folder, with the name of its edition
_RECORDED = "recorded"  # the second line of the mark
_BUILDING = ".building-"  # with the number of the process that builds
_AT_FDCWD = -100  # Linux: paths are relative to the working directory
_RENAME_EXCHANGE = 2  # Linux: both paths must exist and are swapped in one go


def mark(site: Path, edition: str) -> None:
    """Say that this folder is ours, and which edition it holds."""
    (site / MARK).write_text(f"{edition}\n", encoding="utf-8")


def of_edition(students: Path, edition: str) -> Path:
    """Where an edition stands unless somebody names a folder: the staff's beside the students'."""
    return students if edition == "student" else students.with_name(f"{students.name}-{edition}")


def mark_recorded(site: Path) -> None:
    """Say that the addresses of this site stand in the course's record."""
    mark(site, f"{_edition(site)}\n{_RECORDED}")


def is_recorded(site: Path) -> bool:
    """Whether a site stands here whose addresses had been put on record."""
    return (site / MARK).is_file() and _RECORDED in (site / MARK).read_text("utf-8").splitlines()


def require_ours(site: Path, edition: str) -> None:
    """Raise ``PublicationError`` unless ``site`` is absent, empty or a site of this edition."""
    if not site.exists():
        return
    if not site.is_dir():
        raise PublicationError(f"{site} is not a folder; name another one")
    if not any(site.iterdir()):
        return
    if not (site / MARK).is_file():
        raise PublicationError(
            f"{site} holds files that Fallwork didn't write; name another folder, or empty this one"
        )
    held = _edition(site)
    if held != edition:
        raise PublicationError(
            f"{site} holds the {held} edition; name another folder for the {edition} edition"
        )


def new_beside(site: Path) -> Path:
    """A fresh folder on the same disk; those of builds that were killed are cleared away."""
    site.parent.mkdir(parents=True, exist_ok=True)
    prefix = f".{site.name}{_BUILDING}"
    for left in sorted(site.parent.glob(f"{prefix}*")):
        number = left.name.removeprefix(prefix)
        if number.isdigit() and not _runs(int(number)):
            shutil.rmtree(left)
    fresh = site.parent / f"{prefix}{os.getpid()}"
    if fresh.exists():
        shutil.rmtree(fresh)
    fresh.mkdir()
    return fresh


def swap_in(fresh: Path, site: Path) -> None:
    """Put ``fresh`` in the place of ``site``; what stood there is removed afterwards."""
    if not site.exists():
        fresh.rename(site)
        return
    if not _exchange(fresh, site):
        old = fresh.with_name(f"{fresh.name}0")  # no process has this number and is not running
        site.rename(old)
        try:
            fresh.rename(site)
        except OSError:
            old.rename(site)
            raise
        old.rename(fresh)
    shutil.rmtree(fresh)


def _edition(site: Path) -> str:
    return next(iter((site / MARK).read_text(encoding="utf-8").splitlines()), "")


def _exchange(one: Path, other: Path) -> bool:
    """Swap two folders in one step, where the system can."""
    rename = getattr(ctypes.CDLL(None, use_errno=True), "renameat2", None)
    if rename is None:
        return False
    paths = (os.fsencode(one), os.fsencode(other))
    result: int = rename(_AT_FDCWD, paths[0], _AT_FDCWD, paths[1], _RENAME_EXCHANGE)
    return result == 0


def _runs(process: int) -> bool:
    try:
        os.kill(process, 0)
    except ProcessLookupError:
        return False
    except PermissionError:
        return True
    return True
