"""The audit: a built student edition, read whole, for anything that is still held back.

Takes the site's folder and what is held back; raises ``AuditError``, which names each file and
place. Which numbers may stand on a page is told by the lesson that the page shows.
"""

import hashlib
import posixpath
import re
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

from fallwork.pages import HeldBack
from fallwork.site.audit_numbers import Table, Value, readings
from fallwork.site.audit_reading import Passage, ids, passages
from fallwork.site.errors import PublicationError
from fallwork.site.handwritten import place_of

_SEARCH = "search/"  # the folder of the search index
_LONG = 4  # blanks in a heading that can't stand in a text by chance
_MOST = 20  # findings that are told; more don't help


@dataclass(frozen=True, kw_only=True)
class Finding:
    """Something held back, and where it stands."""

    file: str  # in the site
    place: str
    found: str
    what: str  # what is given away

    def __str__(self) -> str:
        return f"{self.file}, {self.place}: {self.found}; {self.what}"


class AuditError(PublicationError):
    """A site that would give something away; ``findings`` holds all of it."""

    def __init__(
        self, findings: tuple[Finding, ...], sources: Mapping[str, Path] | None = None
    ) -> None:
        super().__init__(findings)
        self.findings = findings
        self.sources = sources or {}  # the author's own file, by the page of the site

    def __str__(self) -> str:
        on_pages = {(f.found, f.what) for f in self.findings if not f.file.startswith(_SEARCH)}
        several = [  # what the search index only has from a page is told once
            finding
            for finding in self.findings
            if not (finding.file.startswith(_SEARCH) and (finding.found, finding.what) in on_pages)
        ]
        told = [self._told(finding) for finding in several[:_MOST]]
        more = len(several) - len(told)
        return "\n".join(
            ("The site would give away what is held back, so it isn't published:", *told)
            + ((f"and {more} more places",) if more else ())
            + ("Take it out there, or publish again once it is open.",)
        )

    def _told(self, finding: Finding) -> str:
        source = self.sources.get(finding.file)
        if source is None:
            return str(finding)
        digits = re.search(r"[0-9][0-9.,]*", finding.found)
        place = place_of(source, digits[0] if digits else finding.found)
        return f"{place}: {finding.found}; {finding.what}"


def audit(
    site: Path,
    *,
    held: Sequence[HeldBack],
    open_numbers: Mapping[str, frozenset[str]],
    packaged: Callable[[str], bytes | None],
) -> None:
    """Read every file below ``site``; raise ``AuditError`` where something held back stands.

    ``open_numbers`` gives the digits that a page may hold, by its address; ``packaged`` the bytes
    with which a file came along with a program, or None: one that is still the same knows
    nothing of any course.
    """
    if not held:
        return
    look = _Look(held, open_numbers)
    found: list[Finding] = []
    for path in sorted(path for path in site.rglob("*") if path.is_file()):
        file, content = path.relative_to(site).as_posix(), path.read_bytes()
        if content != packaged(file):
            found += look.at(file, content)
    if found:
        raise AuditError(tuple(dict.fromkeys(found)))


class _Look:
    """What is looked for, ordered so that each file is read once."""

    def __init__(
        self, held: Sequence[HeldBack], open_numbers: Mapping[str, frozenset[str]]
    ) -> None:
        self._held = held
        self._answers = [(one, answer) for one in held for answer in one.answers]
        self._table = Table(Value(value=abs(a.value), unit=a.unit) for _, a in self._answers)
        self._open = open_numbers
        self._headings = [(_words(text), text, one) for one in held for text in one.headings]
        self._digests = {digest: one for one in held for digest in one.digests}

    def at(self, file: str, content: bytes) -> Iterator[Finding]:
        """Everything that a file gives away."""
        yield from self._file(file, content)
        for passage in passages(file, content):
            yield from self._addresses(passage)
            if not passage.link:
                yield from self._headings_in(passage)
                yield from self._numbers(passage)

    def _file(self, file: str, content: bytes) -> Iterator[Finding]:
        one = self._digests.get(hashlib.sha256(content).hexdigest())
        if one is not None:
            yield _finding(file, "whole file", "a copy of its records", one)
        anchors = frozenset(ids(content)) if file.endswith(".html") else frozenset()
        for one in self._held:
            if file.startswith(f"{one.lab}/"):
                for anchor in (anchor for anchor in one.ids if anchor in anchors):
                    yield _finding(file, f"#{anchor}", "the step's address", one)

    def _addresses(self, passage: Passage) -> Iterator[Finding]:
        text = _from_root(passage) if passage.link else passage.text
        page, _, anchor = text.partition("#")
        for one in self._held:
            for path in (path for path in one.paths if path in text):
                yield _finding(passage.file, passage.place, f"the address {path}", one)
            if passage.link and anchor in one.ids and page.startswith(f"{one.lab}/"):
                yield _finding(passage.file, passage.place, f"the address {text}", one)

    def _headings_in(self, passage: Passage) -> Iterator[Finding]:
        """A long one anywhere; one of a few common words only as a heading, on the lab's pages."""
        words = _words(passage.text)
        for wanted, heading, one in self._headings:
            if wanted in words and (
                wanted.count(" ") >= _LONG
                or (passage.heading and wanted == words and passage.page.startswith(f"{one.lab}/"))
            ):
                yield _finding(passage.file, passage.place, f'the heading "{heading}"', one)

    def _numbers(self, passage: Passage) -> Iterator[Finding]:
        for reading in readings(passage.text):
            if reading.digits in self._open.get(passage.page, ()):
                continue
            for index in self._table.meant(reading)[:1]:
                one, answer = self._answers[index]
                found = f'"{reading.text}", which is {answer.quantity}'
                yield _finding(passage.file, passage.place, found, one)


def _from_root(passage: Passage) -> str:
    """A link's address as it counts from the root of the site."""
    page, mark, anchor = passage.text.partition("#")
    folder = posixpath.dirname(passage.page)
    target = posixpath.normpath(posixpath.join(folder, page)) if page else passage.page
    return f"{target}{mark}{anchor}"


def _finding(file: str, place: str, found: str, one: HeldBack) -> Finding:
    return Finding(file=file, place=place, found=found, what=f"the {one.what} is held back")


def _words(text: str) -> str:
    return " ".join(text.split()).casefold()
