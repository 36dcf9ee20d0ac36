"""The record of published addresses: what has been given out must lead somewhere for ever.

Takes the record's file, a built site and the addresses that the course's pages give out; gives
what a build would lose, and the record as it will stand. Writing it is left to ``recording``.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from functools import cached_property
from pathlib import Path

import yaml

from fallwork.pages.schedule import PRELAB
from fallwork.scenario import PUBLISHED, CourseData, frozen_path
from fallwork.scenario.dates import iso_moment
from fallwork.site.errors import PublicationError, said
from fallwork.site.handwritten import PageParser

RECORD = "addresses.yaml"  # in published/
_HEAD = """\
# Written by `fallwork publish`: every address that students have been given, and since when.
# Don't edit this file, and keep it under version control.
"""
_HEADINGS = frozenset(("h1", "h2", "h3", "h4", "h5", "h6"))
_FOR_WRONG_ONES = "404.html"


@dataclass(frozen=True, kw_only=True)
class Batch:
    """Addresses that one publication gave out first."""

    since: datetime  # the moment that the published site showed
    addresses: tuple[str, ...]  # from the site's root on, e.g. "reading.html#digits"


class LostError(PublicationError):
    """A build that would lose published addresses; ``addresses`` holds all of them."""

    def __init__(self, addresses: tuple[str, ...], *, after: datetime | None = None) -> None:
        super().__init__(addresses)
        self.addresses = addresses
        self.after = after  # a later moment than this build's, that students have already seen

    def __str__(self) -> str:
        lost = [said("address-lost", address=each, remedy=_remedy(each)) for each in self.addresses]
        seen = self.after.isoformat(timespec="minutes") if self.after else ""
        return "\n".join([said("seen-later", seen=seen), *lost] if seen else lost)


def _remedy(address: str) -> str:
    _, hash_, anchor = address.partition("#")
    page = "dates-page" if address == "dates.html" else "page-lost"
    return said("step-lost", anchor=anchor) if hash_ else said(page)


class Site:
    """The addresses of a built site."""

    def __init__(self, root: Path) -> None:
        self._root = root

    @cached_property
    def pages(self) -> Mapping[str, "_Anchors"]:
        """Every page by its address."""
        found = (path for path in self._root.rglob("*.html") if path.is_file())
        paths = sorted(path.relative_to(self._root).as_posix() for path in found)
        return {path: _Anchors((self._root / path).read_text("utf-8")) for path in paths}

    def has(self, address: str) -> bool:
        """Whether a page or another file stands there, and in a page the place that is meant."""
        page, _, anchor = address.partition("#")
        if page not in self.pages:
            return not anchor and (self._root / page).is_file()
        return not anchor or anchor in self.pages[page].ids

    def given_out(self, pages: Iterable[str]) -> tuple[str, ...]:
        """The addresses of these pages and of their headings; nobody is given that of the page
        which a server shows for wrong ones.
        """
        return tuple(
            address
            for page in pages
            if page != _FOR_WRONG_ONES
            for address in (page, *(f"{page}#{anchor}" for anchor in self.pages[page].headings))
        )


class _Anchors(PageParser):
    """The ids of a page, and those that stand on headings below the title."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.ids: set[str] = set()
        self.headings: list[str] = []
        self.feed(text)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        name = dict(attrs).get("id")
        if name:
            self.ids.add(name)
            if tag in _HEADINGS and tag != "h1":
                self.headings.append(name)


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
    _require_whole(data, record, least)
    return record


def _require_whole(data: CourseData, record: Sequence[Batch], least: int) -> None:
    there = {address for batch in record for address in batch.addresses}
    if len(there) < max(least, 1 if data.published else 0):
        path = record_path(data.root)
        raise PublicationError(said("record-short", path=path, count=len(there)))
    for term in data.terms:
        for lab in term.labs:
            known = (term.id, lab.id) in data.published or lab.withdrawn is not None
            if not known and f"{term.id}/{lab.id}/{PRELAB.name}.html" in there:
                path = frozen_path(data.root, term.id, lab.id)
                raise PublicationError(said("numbers-gone", path=path))


def check(
    site: Site,
    record: Sequence[Batch],
    *,
    moment: datetime,
    for_students: bool,
    also: Iterable[str] = (),
) -> None:
    """Raise ``LostError`` unless everything is there that was published by ``moment``, which the
    site shows; where students will see it, everything that ever was.
    """
    later = [batch.since for batch in record if batch.since > moment]
    wanted = [
        address
        for batch in record
        if for_students or batch.since <= moment
        for address in batch.addresses
    ]
    lost = tuple(address for address in dict.fromkeys([*wanted, *also]) if not site.has(address))
    if lost:
        raise LostError(lost, after=max(later) if for_students and later else None)


def extended(
    record: Sequence[Batch], addresses: Iterable[str], moment: datetime
) -> tuple[Batch, ...]:
    """The record with a batch for what is new; as it was where nothing is."""
    known = {address for batch in record for address in batch.addresses}
    new = tuple(sorted(address for address in set(addresses) if address not in known))
    return (*record, Batch(since=moment, addresses=new)) if new else tuple(record)


def record_text(record: Sequence[Batch]) -> str:
    """The record as YAML."""
    entries = [
        {
            "since": batch.since.astimezone(UTC).isoformat(timespec="seconds"),
            "addresses": list(batch.addresses),
        }
        for batch in record
    ]
    return _HEAD + yaml.safe_dump(entries, sort_keys=False, allow_unicode=True, width=200)


def _batch(entry: Mapping[str, object]) -> Batch:
    since, addresses = iso_moment(str(entry["since"])), entry["addresses"]
    if not isinstance(addresses, list):
        raise ValueError(entry)
    return Batch(since=since, addresses=tuple(str(address) for address in addresses))
