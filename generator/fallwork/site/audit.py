"""The audit of words: what people wrote is read for numbers that are held back.

What the program writes needs no reading: what isn't open isn't handed to it. Takes words, files
and built pages of the course's author; gives findings, which ``AuditError`` tells with file and
line and what to do.
"""

import json
import os
import re
from collections import Counter
from collections.abc import Callable, Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import partial
from pathlib import Path

from fallwork.errors import Place
from fallwork.pages import Answer, HeldBack
from fallwork.site.attachments import text_of
from fallwork.site.audit_numbers import Reading, Table, readings
from fallwork.site.audit_reading import Passage, passages
from fallwork.site.errors import PublicationError

_MOST = 20  # findings that are told; more don't help
_MANY = 200  # numbers behind the same letters: a table of readings, some alike by chance
_BY_NO_CHANCE = 7  # figures
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

    def __init__(
        self, findings: Iterable[Finding], harmless: Mapping[str, Collection[str]] | None = None
    ) -> None:
        """``harmless``: what the settings declare so far."""
        self.findings = tuple(dict.fromkeys(findings))
        super().__init__(self.findings)
        self._declared = harmless or {}

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
        numbers = {file: list(digits) for file, digits in self._declared.items()}
        for finding in self.findings:
            if finding.digits and finding.digits not in numbers.setdefault(finding.file, []):
                numbers[finding.file].append(finding.digits)
        if numbers != {file: list(digits) for file, digits in self._declared.items()}:
            instead = ", in place of the entry harmless that stands there" if self._declared else ""
            yield (
                "If a number is no answer and only looks like one, say so in mkdocs.yml, below "
                f"fallwork{instead}: harmless: {json.dumps(numbers, ensure_ascii=False)}"
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
        self._table = Table([answer for _, answer in self._answers])
        self._root, self._harmless = root, harmless

    def of_text(self, place: Place | str, text: str) -> Iterator[Finding]:
        """What a text of the course's files tells."""
        for reading in readings(text):
            file = str(getattr(place, "file", place))
            yield from self._told(file, reading, lambda: str(place))

    def of_page(self, source: Path, html: str) -> Iterator[Finding]:
        """What a page tells as it is built from ``source``, the file that messages name."""
        text = source.read_text("utf-8") if source.is_file() else ""
        seen = Counter[str]()
        yield from self._unread(str(source), "page.html", html)
        for _, reading in _read("page.html", html):
            place = partial(_in_source, source, text, reading.digits, seen[reading.digits])
            seen[reading.digits] += 1
            yield from self._told(str(source), reading, place)

    def of_file(self, path: Path, content: bytes) -> Iterator[Finding]:
        """What a file tells, by its name and, if it is text, its content; ``path`` as messages
        give it.
        """
        file, name = str(path), self._name(str(path))
        text = text_of(content) or ""
        yield from self._unread(file, name, text)
        for passage, reading in _read(name, text):
            yield from self._told(file, reading, partial(_place, file, passage, reading, text))

    def _unread(self, file: str, name: str, text: str) -> Iterator[Finding]:
        """Files within a page that are no text."""
        for passage in passages(name, text):
            if not passage.is_text:
                what = "nobody can read it for answers; put it into a file of its own"
                place = str(Place(file=file, line=passage.line, column=1))
                yield Finding(place=place, found=f"{passage.text}…, which is no text", what=what)

    def _name(self, file: str) -> str:
        return Path(os.path.relpath(file, self._root)).as_posix()

    def _told(self, file: str, reading: Reading, place: Callable[[], str]) -> Iterator[Finding]:
        meant = self._table.meant(reading)
        if not meant or meant[0] == 0:
            return
        name = self._name(file)
        if reading.digits not in self._harmless.get(name, ()):
            one, answer = self._answers[meant[0]]
            assert one is not None  # only gravity belongs to nobody
            yield Finding(
                place=place(),
                found=f'"{reading.text}", which is {answer.quantity}',
                what=f"held back: the {one.what}",
                file=name,
                digits=reading.digits,
            )


def _read(name: str, text: str) -> list[tuple[Passage, Reading]]:
    """Every number in a file that may mean something, with what holds it."""
    said = (passage for passage in passages(name, text) if passage.is_text)
    found = [(passage, reading) for passage in said for reading in readings(passage.text)]
    rows = Counter(reading.before for _, reading in found if not reading.ways)
    return [
        (passage, reading)
        for passage, reading in found
        if reading.ways or reading.figures >= _BY_NO_CHANCE or rows[reading.before] <= _MANY
    ]


def _place(file: str, passage: Passage, reading: Reading, text: str) -> str:
    if not passage.line:
        return f"{file}, {passage.place}"
    number, lines = passage.line + reading.line, text.splitlines()
    line = lines[number - 1] if number <= len(lines) else ""
    return str(Place(file=file, line=number, column=max(line.find(reading.digits), 0) + 1))


def _in_source(source: Path, text: str, digits: str, number: int) -> str:
    """Where a page's source holds some digits for the n-th time, from 0, or else the last."""
    written = re.escape(digits).replace(r"\.", "[.,]")
    places = [found.start() for found in re.finditer(rf"(?<![\d.,]){written}(?!\d)", text)]
    if not places:
        return f"{source}, as it is built"
    at = places[min(number, len(places) - 1)]
    line, column = text.count("\n", 0, at) + 1, at - text.rfind("\n", 0, at)
    return str(Place(file=str(source), line=line, column=column))
