"""The record of what has been published: addresses that must lead somewhere for ever, and the
numbers of labs.

Takes the course, and the addresses that its pages give out; gives what a build would lose, and the
record as it will stand, written whole beside the old one before a site goes live. What a lab's
record holds is told by ``planning``.
"""

import os
import shutil
from collections.abc import Callable, Iterable, Mapping
from datetime import UTC, datetime
from itertools import groupby
from pathlib import Path

import yaml

from fallwork.errors import DUMPER, VALUES
from fallwork.pages.schedule import PRELAB
from fallwork.planning.published import published_by
from fallwork.scenario import CourseData, frozen_path, frozen_text
from fallwork.scenario.dates import iso_moment
from fallwork.scenario.frozen import PUBLISHED
from fallwork.site import folder
from fallwork.site.errors import PublicationError, said

RECORD = "addresses.yaml"  # in published/
_HEAD = """\
# Written by `fallwork publish`: every address that students have been given, and since when.
# Don't edit this file, and keep it under version control.
"""
# Each address, from the site's root on ("reading.html#digits"), and the moment shown by the site
# that gave it out first.
Record = Mapping[str, datetime]


def record_path(root: Path) -> Path:
    """Where the record of the course in ``root`` stands."""
    return root / PUBLISHED / RECORD


def read_record(data: CourseData, *, least: int = 0) -> Record:
    """The record; raises ``PublicationError`` where it is spoiled, or where something shows that
    a part of it is gone: records of labs, or the ``least`` addresses of a site that stands.
    """
    path = record_path(data.root)
    if not path.is_file():
        if data.published or least:
            raise PublicationError(said("record-gone", path=path))
        return {}
    there: dict[str, datetime] = {}
    try:
        for entry in yaml.load(path.read_text("utf-8"), Loader=VALUES) or ():
            since, addresses = iso_moment(str(entry["since"])), entry["addresses"]
            if not isinstance(addresses, list):
                raise ValueError(entry)
            there |= dict.fromkeys(map(str, addresses), since)
    except (yaml.YAMLError, KeyError, TypeError, ValueError, RecursionError) as error:
        raise PublicationError(said("record-spoiled", path=path)) from error
    if len(there) < max(least, 1 if data.published else 0):
        raise PublicationError(said("record-short", path=path, count=len(there)))
    labs = {(term.id, lab.id): lab for term in data.terms for lab in term.labs}
    for key in labs.keys() - data.published.keys():
        if labs[key].withdrawn is None and f"{'/'.join(key)}/{PRELAB.name}.html" in there:
            raise PublicationError(said("numbers-gone", path=frozen_path(data.root, *key)))
    return there


def check(
    has: Callable[[str], bool],
    record: Record,
    *,
    moment: datetime,
    for_students: bool,
    also: Iterable[str] = (),
) -> None:
    """Raise ``PublicationError`` with all that is lost, unless a site ``has`` everything that was
    published by ``moment``, which it shows; where students will see it, everything that ever was.
    """
    later = [since for since in record.values() if since > moment] if for_students else []
    wanted = (each for each, since in record.items() if for_students or since <= moment)
    told = [said("seen-later", seen=max(later).isoformat(timespec="minutes"))] if later else []
    lost = [each for each in dict.fromkeys((*wanted, *also)) if not has(each)]
    for address in lost:
        _, hash_, anchor = address.partition("#")
        page = "dates-page" if address == "dates.html" else "page-lost"
        remedy = said("step-lost", anchor=anchor) if hash_ else said(page)
        told.append(said("address-lost", address=address, remedy=remedy))
    if lost:
        raise PublicationError("\n".join(told))


def fresh_record(
    data: CourseData, moment: datetime, before: Record, addresses: Iterable[str]
) -> tuple[list[tuple[Path, Path]], list[str], tuple[str, ...]]:
    """The record as it will stand, aside: its folder and where that belongs, nothing where nothing
    changes; the labs whose record is new or changed, e.g. "2027-spring/level-track"; and what the
    site's folder says of it. Raises ``OSError`` and leaves the old one as it is.
    """
    after = {**before, **dict.fromkeys(sorted({*addresses} - before.keys()), moment)}
    entries = [
        {"since": since.astimezone(UTC).isoformat(timespec="seconds"), "addresses": [*each]}
        for since, each in groupby(after, after.__getitem__)
    ]
    text = _HEAD + yaml.dump(entries, Dumper=DUMPER, sort_keys=False, allow_unicode=True, width=200)
    texts, labs = {record_path(data.root): text} if after != before else {}, []
    for (term, lab), frozen in published_by(data, moment).items():
        path, text = frozen_path(data.root, term, lab), frozen_text(frozen)
        if not path.is_file() or path.read_text("utf-8") != text:
            texts[path] = text
            labs.append(f"{term}/{lab}")
    record = (data.root / PUBLISHED).resolve()  # elsewhere, where somebody put a link
    if not texts:
        return [], [], folder.notes_on(record, len(after))
    fresh = folder.new_beside(record)
    if record.is_dir():
        shutil.copytree(record, fresh, dirs_exist_ok=True)
    for path, text in texts.items():
        new = fresh / path.relative_to(data.root / PUBLISHED)
        new.parent.mkdir(parents=True, exist_ok=True)
        new.unlink(missing_ok=True)  # a copy may be for reading only
        with new.open("w", encoding="utf-8", newline="\n") as file:
            file.write(text)
            file.flush()
            os.fsync(file.fileno())  # what a disk without room can't hold is noticed here
    return [(fresh, record)], labs, folder.notes_on(fresh, len(after))
