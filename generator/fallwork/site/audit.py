"""The audit: what people wrote is read for numbers that are held back, and the built students'
edition is looked through for pages, steps and files that aren't open.

What the program writes needs no reading: what isn't open isn't handed to it. Raises ``AuditError``,
which names file and line and what to do.
"""

import hashlib
import json
import os
import posixpath
import re
from collections.abc import Callable, Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

from fallwork.errors import Place
from fallwork.pages import Answer, HeldBack
from fallwork.site.audit_numbers import Reading, Table, Value, readings
from fallwork.site.audit_reading import Passage, leaves, passages
from fallwork.site.errors import PublicationError
from fallwork.site.handwritten import place_of

_MOST = 20  # findings that are told; more don't help
_MANY = 200  # numbers without units: a table of readings, in which some are alike by chance
_STEP = re.compile(rb'<h3 class="fw-step[^>]*? id="([^"]+)"')
_LINK = re.compile(rb"""(?:href|src)\s*=\s*["']?([^"'\s>]+\.html)(?=["'\s>#?])""")
_TAKE_OUT = "Take it out there, or publish again once it is open."


@dataclass(frozen=True, kw_only=True)
class Finding:
    """Something held back, and where it stands."""

    place: str  # the file first
    found: str
    what: str  # what is given away
    file: str = ""  # for a number: the file's name, by which it may be declared harmless
    digits: str = ""

    def __str__(self) -> str:
        return f"{self.place}: {self.found}; {self.what}"


class AuditError(PublicationError):
    """A site that would give something away; ``findings`` holds all of it."""

    def __init__(self, findings: Iterable[Finding]) -> None:
        self.findings = tuple(dict.fromkeys(findings))
        super().__init__(self.findings)

    def __str__(self) -> str:
        told = [str(finding) for finding in self.findings[:_MOST]]
        more = len(self.findings) - len(told)
        return "\n".join(
            ("The site would give away what is held back, so it isn't published:", *told)
            + ((f"and {more} more places",) if more else ())
            + (_TAKE_OUT, *self._harmless())
        )

    def _harmless(self) -> Iterator[str]:
        """What to write where the numbers only look like answers."""
        numbers: dict[str, list[str]] = {}
        for finding in self.findings:
            if finding.digits and finding.digits not in numbers.setdefault(finding.file, []):
                numbers[finding.file].append(finding.digits)
        if numbers:
            yield (
                "If a number is no answer and only looks like one, say so in mkdocs.yml, below "
                f"fallwork: harmless: {json.dumps(numbers, ensure_ascii=False)}"
            )


class Audit:
    """What is looked for in what people wrote."""

    def __init__(
        self,
        held: Sequence[HeldBack],
        *,
        gravity: float,
        root: Path,
        harmless: Mapping[str, Collection[str]],
    ) -> None:
        """``gravity`` in m/s², which every page may name; ``harmless``: file below ``root`` ->
        digits.
        """
        given = Answer(quantity="", value=gravity, unit="m/s²", figures=1)
        self._answers = [(None, given), *((one, answer) for one in held for answer in one.answers)]
        self._table = Table(
            Value(value=each.value, unit=each.unit, figures=each.figures)
            for _, each in self._answers
        )
        self._root, self._harmless = root, harmless

    def of_text(self, place: Place | str, text: str) -> Iterator[Finding]:
        """What a text of the course's files tells."""
        for reading in readings(text):
            yield from self._told(str(place), str(getattr(place, "file", place)), reading)

    def of_file(self, file: str, name: str, content: bytes) -> Iterator[Finding]:
        """What a file tells, by its content and its name; ``file`` as messages give it."""
        found = [
            (leaf, passage, reading)
            for leaf, inside in leaves(name, content)
            for passage in passages(leaf, inside)
            for reading in readings(passage.text)
            if reading.ways or not passage.loose
        ]
        table = sum(not reading.ways for *_, reading in found) > _MANY
        lines: list[str] = []
        for leaf, passage, reading in found:
            if reading.ways or not table:
                if passage.line and not lines:
                    lines = content.decode("utf-8", "replace").splitlines()
                place = _place(file, leaf if leaf != name else "", passage, reading, lines)
                yield from self._told(place, file, reading)

    def _told(self, place: str, file: str, reading: Reading) -> Iterator[Finding]:
        meant = self._table.meant(reading)
        if not meant or meant[0] == 0:
            return
        name = Path(os.path.relpath(file, self._root)).as_posix()
        if reading.digits not in self._harmless.get(name, ()):
            one, answer = self._answers[meant[0]]
            assert one is not None  # only gravity belongs to nobody
            yield Finding(
                place=place,
                found=f'"{reading.text}", which is {answer.quantity}',
                what=f"the {one.what} is held back",
                file=name,
                digits=reading.digits,
            )


def _place(file: str, leaf: str, passage: Passage, reading: Reading, lines: Sequence[str]) -> str:
    if leaf or not passage.line:
        return ", ".join(part for part in (file, leaf, passage.place) if part)
    number = passage.line + reading.line
    line = lines[number - 1] if number <= len(lines) else ""
    return str(Place(file=file, line=number, column=max(line.find(reading.digits), 0) + 1))


def look_through(
    site: Path,
    *,
    held: Sequence[HeldBack],
    steps: Collection[str],
    copies: Mapping[str, str],
    sources: Mapping[str, Path],
    packaged: Callable[[str], bytes | None],
) -> Iterator[Finding]:
    """Pages, steps and files of what is held back, links to them, and copies of the course's files.

    ``steps``: addresses of the steps that are open; ``copies``: digest -> file (``copies_of``);
    ``sources``: the author's own file, by the page of the site; ``packaged`` gives the bytes with
    which a file came along with a program, or None.
    """
    pages = {one.page: one for one in held}
    for path in sorted(path for path in site.rglob("*") if path.is_file()):
        file, content = path.relative_to(site).as_posix(), path.read_bytes()
        if content == packaged(file):
            continue
        own = sources.get(file)
        name = str(own or file)
        for one in held:
            if file == one.page or file.startswith(one.files):
                yield _held(name, "a file at the address of one to come", one)
        for leaf, inside in leaves(file, content) if own or not file.endswith(".html") else ():
            original = copies.get(digest(inside))
            if original is not None:
                copied = name if leaf == file else f"{name}, {leaf}"
                yield Finding(
                    place=copied,
                    found=f"a copy of {original}",
                    what="students don't have it",
                )
        yield from _addresses(file, name, content, pages, own)
        for step in _STEP.findall(content) if file.endswith(".html") and own is None else ():
            address = f"{file}#{step.decode()}"
            if address not in steps:
                yield Finding(place=file, found=f"the step {address}", what="it isn't open")


def _addresses(
    file: str, name: str, content: bytes, pages: Mapping[str, HeldBack], own: Path | None
) -> Iterator[Finding]:
    """Links of a page to what is held back; in other files of text any mention of its address."""
    if not file.endswith(".html"):
        for address, one in pages.items():
            if address.encode() in content:
                yield _held(name, f"the address {address}", one)
        return
    for link in dict.fromkeys(_LINK.findall(content)):
        written = link.decode("utf-8", "replace")
        target = posixpath.normpath(posixpath.join(posixpath.dirname(file), written))
        held = pages.get(target)
        if held is not None:
            place = str(place_of(own, posixpath.basename(written))) if own else name
            yield _held(place, f"a link to {target}", held)


def _held(place: str, found: str, one: HeldBack) -> Finding:
    return Finding(place=place, found=found, what=f"the {one.what} is held back")


def copies_of(root: Path, released: Collection[Path]) -> Mapping[str, str]:
    """Digest -> name of every file of a course's folder, without those that students have."""
    given = {path.resolve() for path in released}
    files = [path for path in sorted(root.rglob("*")) if path.is_file()]
    known = {digest(path.read_bytes()) for path in files if path.resolve() in given}
    found = {digest(path.read_bytes()): str(path) for path in files if path.resolve() not in given}
    return {key: name for key, name in found.items() if key not in known | {digest(b"")}}


def digest(content: bytes) -> str:
    """SHA-256, the same however lines and the file end."""
    return hashlib.sha256(b"\n".join(content.split())).hexdigest()
