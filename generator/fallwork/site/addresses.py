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
from collections.abc import Callable, Iterable, Mapping, Sequence
from datetime import UTC, datetime
from functools import cached_property
from pathlib import Path
from typing import NamedTuple

import yaml

from fallwork.pages.schedule import PRELAB
from fallwork.planning.published import published_by
from fallwork.scenario import PUBLISHED, CourseData, frozen_path, frozen_text
from fallwork.scenario.dates import iso_moment
from fallwork.site import folder
from fallwork.site.errors import PublicationError, said

RECORD = "addresses.yaml"  # in published/
_HEAD = """\
# Written by `fallwork publish`: every address that students have been given, and since when.
# Don't edit this file, and keep it under version control.
"""
_HEADINGS = frozenset(("h2", "h3", "h4", "h5", "h6"))  # below the title
_FOR_WRONG_ONES = "404.html"
# An element that has an id, or what is no element though it may look like one. Of the attributes
# before the id each is taken whole, so that none is found within the value of another.
_WITH_ID = re.compile(
    r"""<!--.*?-->|<(?P<raw>script|style)\b.*?</(?P=raw)|<(?P<tag>[a-z][^\s/>]*+)"""
    r"""(?:[\s/]++(?!id[\s=])[^\s"'>/=]++(?:\s*+=\s*+(?:"[^"]*"|'[^']*'|[^\s"'>]++))?)*+"""
    r"""[\s/]++id\s*+=\s*+(?:"(?P<id>[^"]*)"|'(?P<single>[^']*)'|(?P<bare>[^\s"'>]++))""",
    re.DOTALL | re.IGNORECASE,
)


class Batch(NamedTuple):
    """Addresses that one publication gave out first."""

    since: datetime  # the moment that the published site showed
    addresses: tuple[str, ...]  # from the site's root on, e.g. "reading.html#digits"


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

    @cached_property
    def _pages(self) -> Mapping[str, "_Anchors"]:
        found = sorted(path for path in self._root.rglob("*.html") if path.is_file())
        texts = {path.relative_to(self._root).as_posix(): path.read_text("utf-8") for path in found}
        return {address: _Anchors(text) for address, text in texts.items()}

    def has(self, address: str) -> bool:
        """Whether a page or another file stands there, and in a page the place that is meant."""
        page, _, anchor = address.partition("#")
        if page not in self._pages:
            return not anchor and (self._root / page).is_file()
        return not anchor or anchor in self._pages[page].ids

    def given_out(self, pages: Iterable[str]) -> list[str]:
        """The addresses of these pages and of their headings; nobody is given that of the page
        which a server shows for wrong ones.
        """
        return [
            address
            for page in pages
            if page != _FOR_WRONG_ONES
            for address in (page, *(f"{page}#{anchor}" for anchor in self._pages[page].headings))
        ]


class _Anchors:
    """The ids of a page, and those that stand on headings below the title."""

    def __init__(self, page: str) -> None:
        found = [each for each in _WITH_ID.finditer(page) if each["tag"]]
        ids = [html.unescape(each["id"] or each["single"] or each["bare"] or "") for each in found]
        pairs = zip(found, ids, strict=True)
        self.ids = frozenset(ids)
        self.headings = [id_ for each, id_ in pairs if id_ and each["tag"].lower() in _HEADINGS]


def record_path(root: Path) -> Path:
    """Where the record of the course in ``root`` stands."""
    return root / PUBLISHED / RECORD


def read_record(data: CourseData, *, least: int = 0) -> tuple[Batch, ...]:
    """The record; raises ``PublicationError`` where it is spoiled, or where something shows that
    a part of it is gone: records of labs, or the ``least`` addresses of a site that stands.
    """
    path = record_path(data.root)
    if not path.is_file():
        if data.published or least:
            raise PublicationError(said("record-gone", path=path))
        return ()
    try:
        record = tuple(_batch(entry) for entry in yaml.safe_load(path.read_text("utf-8")) or ())
    except (yaml.YAMLError, KeyError, TypeError, ValueError, RecursionError) as error:
        raise PublicationError(said("record-spoiled", path=path)) from error
    there = {address for batch in record for address in batch.addresses}
    if len(there) < max(least, 1 if data.published else 0):
        raise PublicationError(said("record-short", path=path, count=len(there)))
    labs = {(term.id, lab.id): lab for term in data.terms for lab in term.labs}
    for key in labs.keys() - data.published.keys():
        if labs[key].withdrawn is None and f"{'/'.join(key)}/{PRELAB.name}.html" in there:
            raise PublicationError(said("numbers-gone", path=frozen_path(data.root, *key)))
    return record


def _batch(entry: Mapping[str, object]) -> Batch:
    since, addresses = iso_moment(str(entry["since"])), entry["addresses"]
    if not isinstance(addresses, list):
        raise ValueError(entry)
    return Batch(since, tuple(map(str, addresses)))


def check(
    has: Callable[[str], bool],
    record: Sequence[Batch],
    *,
    moment: datetime,
    for_students: bool,
    also: Iterable[str] = (),
) -> None:
    """Raise ``LostError`` unless a site ``has`` everything that was published by ``moment``, which
    it shows; where students will see it, everything that ever was.
    """
    later = [batch.since for batch in record if batch.since > moment]
    wanted = (batch.addresses for batch in record if for_students or batch.since <= moment)
    every = dict.fromkeys([*(address for batch in wanted for address in batch), *also])
    if lost := tuple(address for address in every if not has(address)):
        raise LostError(lost, after=max(later) if for_students and later else None)


def extended(
    record: Sequence[Batch], addresses: Iterable[str], moment: datetime
) -> tuple[Batch, ...]:
    """The record with a batch for what is new; as it was where nothing is."""
    new = {*addresses}.difference(*(batch.addresses for batch in record))
    return (*record, Batch(moment, tuple(sorted(new)))) if new else tuple(record)


def record_text(record: Sequence[Batch]) -> str:
    """The record as YAML."""
    entries = [
        {"since": since.astimezone(UTC).isoformat(timespec="seconds"), "addresses": [*addresses]}
        for since, addresses in record
    ]
    return _HEAD + yaml.safe_dump(entries, sort_keys=False, allow_unicode=True, width=200)


class FreshRecord(NamedTuple):
    """A record that waits to be put in place; ``swap`` is empty where nothing changes."""

    swap: tuple[tuple[Path, Path], ...]  # the fresh folder and where it belongs
    labs: tuple[str, ...]  # whose record is new or changed, e.g. "2027-spring/level-track"
    notes: tuple[str, ...]  # what the site's folder says of it


def fresh_record(
    data: CourseData, moment: datetime, before: Sequence[Batch], addresses: Sequence[str]
) -> FreshRecord:
    """The record as it will stand, aside; raises ``OSError`` and leaves the old one as it is."""
    after = extended(before, addresses, moment)
    texts = {record_path(data.root): record_text(after)} if after != tuple(before) else {}
    labs = []
    for (term, lab), frozen in published_by(data, moment).items():
        path, text = frozen_path(data.root, term, lab), frozen_text(frozen)
        if not path.is_file() or path.read_text("utf-8") != text:
            texts[path] = text
            labs.append(f"{term}/{lab}")
    record = (data.root / PUBLISHED).resolve()  # elsewhere, where somebody put a link
    count = sum(len(batch.addresses) for batch in after)
    if not texts:
        return FreshRecord((), (), folder.notes_on(record, count))
    fresh = folder.new_beside(record)
    if record.is_dir():
        shutil.copytree(record, fresh, dirs_exist_ok=True)
    for path, text in texts.items():
        _write(fresh / path.relative_to(data.root / PUBLISHED), text)
    return FreshRecord(((fresh, record),), tuple(labs), folder.notes_on(fresh, count))


def _write(path: Path, text: str) -> None:
    """What a disk without room can't hold is noticed here."""
    path.parent.mkdir(parents=True, exist_ok=True)
    path.unlink(missing_ok=True)  # a copy may be for reading only
    with path.open("w", encoding="utf-8", newline="\n") as file:
        file.write(text)
        file.flush()
        os.fsync(file.fileno())
