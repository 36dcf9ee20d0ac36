"""The record of what has been published, written whole beside the old one before a site goes live.

Takes a course, the moment that its students will see and the addresses of their site; touches
files under the course's folder. What a record holds is told by ``planning`` and ``addresses``.
"""

import os
import shutil
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from fallwork.planning.published import published_by
from fallwork.scenario import PUBLISHED, CourseData, frozen_path, frozen_text
from fallwork.site import folder
from fallwork.site.addresses import Batch, extended, record_path, record_text


@dataclass(frozen=True, kw_only=True)
class FreshRecord:
    """A record that waits to be put in place; ``swap`` is empty where nothing changes."""

    swap: tuple[tuple[Path, Path], ...]  # the fresh folder and where it belongs
    labs: tuple[str, ...]  # whose record is new or changed, e.g. "2027-spring/level-track"
    noted: tuple[str, ...]  # what the site's folder says of it


def fresh_record(
    data: CourseData, moment: datetime, before: Sequence[Batch], addresses: Sequence[str]
) -> FreshRecord:
    """The record as it will stand, aside; raises ``OSError`` and leaves the old one as it is."""
    after = extended(before, addresses, moment)
    texts = {record_path(data.root): record_text(after)} if after != tuple(before) else {}
    frozen = {
        (term, lab): (frozen_path(data.root, term, lab), frozen_text(each))
        for (term, lab), each in published_by(data, moment).items()
    }
    changed = {
        f"{term}/{lab}": path
        for (term, lab), (path, text) in frozen.items()
        if not path.is_file() or path.read_text("utf-8") != text
    }
    texts |= {path: text for path, text in frozen.values() if path in changed.values()}
    record = (data.root / PUBLISHED).resolve()  # elsewhere, where somebody put a link
    swap = (_written(record, data.root / PUBLISHED, texts),) if texts else ()
    return FreshRecord(
        swap=swap,
        labs=tuple(changed),
        noted=folder.notes_on(
            swap[0][0] if swap else record, sum(len(batch.addresses) for batch in after)
        ),
    )


def _written(target: Path, named: Path, texts: dict[Path, str]) -> tuple[Path, Path]:
    """A copy of the record's folder with these files, below ``named``, new in it."""
    fresh = folder.new_beside(target)
    if target.is_dir():
        shutil.copytree(target, fresh, dirs_exist_ok=True)
    for path, text in texts.items():
        _write(fresh / path.relative_to(named), text)
    return fresh, target


def _write(path: Path, text: str) -> None:
    """What a disk without room can't hold is noticed here."""
    path.parent.mkdir(parents=True, exist_ok=True)
    path.unlink(missing_ok=True)  # a copy may be for reading only
    with path.open("w", encoding="utf-8", newline="\n") as file:
        file.write(text)
        file.flush()
        os.fsync(file.fileno())
