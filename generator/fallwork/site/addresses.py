"""The record of what has been published: addresses that must lead somewhere for ever, and the
numbers of labs.

Takes the course, a built site and the addresses that its pages give out; gives what a build would
lose, and the record as it will stand, written whole beside the old one before a site goes live.
What a lab's record holds is told by ``planning``.
"""

import html
import os
import re
import shutil
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from datetime import UTC, datetime
from itertools import groupby
from pathlib import Path
from typing import NamedTuple

import yaml

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
_HEADINGS = frozenset(("h2", "h3", "h4", "h5", "h6"))  # below the title
_FOR_WRONG_ONES = "404.html"
# The start of an element with its id, or what is no element though it may look like one. Attributes
# are taken whole, so that nothing is found within the value of another.
_ID = re.compile(
    r"""<!--.*?-->|<(?P<raw>script|style)\b.*?</(?P=raw)|<(?P<tag>[a-z][^\s/>]*+)"""
    r"""(?:[\s/]++(?!id[\s=])[^\s"'>/=]++(?:\s*+=\s*+(?:"[^"]*"|'[^']*'|[^\s"'>]++))?)*+"""
    r"""(?:[\s/]++id\s*+=\s*+(?:"(?P<id>[^"]*)"|'(?P<single>[^']*)'|(?P<bare>[^\s"'>]++)))?+"""
    r"""(?:[^>"']++|"[^"]*"|'[^']*')*+""",
    re.DOTALL | re.IGNORECASE,
)


# Each address, from the site's root on ("reading.html#digits"), and the moment shown by the site
# that gave it out first.
Record = Mapping[str, datetime]


class LostError(PublicationError):
    """A build that would lose published addresses; ``addresses`` holds all of them. ``after`` is a
    later moment than this build's, that students have already seen.
    """

    def __init__(self, addresses: Sequence[str], *, after: datetime | None = None) -> None:
        lost = [said("address-lost", address=each, remedy=_remedy(each)) for each in addresses]
        if after is not None:
            lost = [said("seen-later", seen=after.isoformat(timespec="minutes")), *lost]
        super().__init__("\n".join(lost))
        self.addresses = addresses


def _remedy(address: str) -> str:
    _, hash_, anchor = address.partition("#")
    page = "dates-page" if address == "dates.html" else "page-lost"
    return said("step-lost", anchor=anchor) if hash_ else said(page)


class Site:
    """The addresses of a built site."""

    def __init__(self, root: Path) -> None:
        self._root = root
        self._pages = {  # by address: the ids of a page, with the elements that have them
            path.relative_to(root).as_posix(): _ids(path.read_text("utf-8"))
            for path in sorted(root.rglob("*.html"))
            if path.is_file()
        }

    def has(self, address: str) -> bool:
        """Whether a page or another file stands there, and in a page the place that is meant."""
        page, _, anchor = address.partition("#")
        if page not in self._pages:
            return not anchor and (self._root / page).is_file()
        return not anchor or anchor in self._pages[page]

    def given_out(self, pages: Iterable[str]) -> Iterator[str]:
        """The addresses of these pages and of their headings; nobody is given that of the page
        which a server shows for wrong ones.
        """
        for page in (page for page in pages if page != _FOR_WRONG_ONES):
            yield page
            yield from (f"{page}#{i}" for i, tag in self._pages[page].items() if tag in _HEADINGS)


def _ids(page: str) -> Mapping[str, str]:
    found = (
        (each["tag"], each["id"] or each["single"] or each["bare"]) for each in _ID.finditer(page)
    )
    return {html.unescape(id_): tag.lower() for tag, id_ in found if tag and id_}


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
        for entry in yaml.safe_load(path.read_text("utf-8")) or ():
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
    """Raise ``LostError`` unless a site ``has`` everything that was published by ``moment``, which
    it shows; where students will see it, everything that ever was.
    """
    later = [since for since in record.values() if since > moment]
    wanted = (each for each, since in record.items() if for_students or since <= moment)
    if lost := tuple(each for each in dict.fromkeys((*wanted, *also)) if not has(each)):
        raise LostError(lost, after=max(later) if for_students and later else None)


def record_text(record: Record) -> str:
    """The record as YAML, an entry for each moment."""
    entries = [
        {"since": since.astimezone(UTC).isoformat(timespec="seconds"), "addresses": [*addresses]}
        for since, addresses in groupby(record, record.__getitem__)
    ]
    return _HEAD + yaml.safe_dump(entries, sort_keys=False, allow_unicode=True, width=200)


class FreshRecord(NamedTuple):
    """A record that waits to be put in place; ``swap`` is empty where nothing changes."""

    swap: tuple[tuple[Path, Path], ...]  # the fresh folder and where it belongs
    labs: tuple[str, ...]  # whose record is new or changed, e.g. "2027-spring/level-track"
    notes: tuple[str, ...]  # what the site's folder says of it


def fresh_record(
    data: CourseData, moment: datetime, before: Record, addresses: Iterable[str]
) -> FreshRecord:
    """The record as it will stand, aside; raises ``OSError`` and leaves the old one as it is."""
    after = {**before, **dict.fromkeys(sorted({*addresses} - before.keys()), moment)}
    texts = {record_path(data.root): record_text(after)} if after != before else {}
    labs = []
    for (term, lab), frozen in published_by(data, moment).items():
        path, text = frozen_path(data.root, term, lab), frozen_text(frozen)
        if not path.is_file() or path.read_text("utf-8") != text:
            texts[path] = text
            labs.append(f"{term}/{lab}")
    record = (data.root / PUBLISHED).resolve()  # elsewhere, where somebody put a link
    if not texts:
        return FreshRecord((), (), folder.notes_on(record, len(after)))
    fresh = folder.new_beside(record)
    if record.is_dir():
        shutil.copytree(record, fresh, dirs_exist_ok=True)
    for path, text in texts.items():
        _write(fresh / path.relative_to(data.root / PUBLISHED), text)
    return FreshRecord(((fresh, record),), tuple(labs), folder.notes_on(fresh, len(after)))


def _write(path: Path, text: str) -> None:
    """What a disk without room can't hold is noticed here."""
    path.parent.mkdir(parents=True, exist_ok=True)
    path.unlink(missing_ok=True)  # a copy may be for reading only
    with path.open("w", encoding="utf-8", newline="\n") as file:
        file.write(text)
        file.flush()
        os.fsync(file.fileno())
