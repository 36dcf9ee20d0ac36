"""The audit of words: what people wrote is read for numbers that are held back.

What the program writes needs no reading: what isn't open isn't handed to it. Takes the course, and
files and words of its author; raises ``AuditError``, which names file and line and what to do.
"""

import json
import os
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from fallwork.errors import Place
from fallwork.mechanics.course import gravity_of
from fallwork.pages import Answer, HeldBack, held_back, written
from fallwork.scenario.model import CourseData
from fallwork.site.audit_numbers import Reading, Table, Value, readings
from fallwork.site.audit_reading import Passage, passages
from fallwork.site.audit_unpacking import TooLargeError, leaves
from fallwork.site.errors import PublicationError

_MOST = 20  # findings that are told; more don't help
_MANY = 200  # numbers without units: a table of readings, in which some are alike by chance
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

    def of_file(self, path: Path, content: bytes) -> Iterator[Finding]:
        """What a file tells, by its content and its name; ``path`` as messages give it."""
        file, name = str(path), self._name(str(path))
        try:
            found = list(_read(name, content))
        except TooLargeError:  # within it, perhaps in something without a name
            raise TooLargeError(file) from None
        table = sum(not reading.ways for *_, reading in found) > _MANY
        lines: list[str] = []
        for leaf, passage, reading in found:
            if reading.ways or not table:
                if passage.line and not lines:
                    lines = content.decode("utf-8", "replace").splitlines()
                place = _place(file, leaf if leaf != name else "", passage, reading, lines)
                yield from self._told(place, file, reading)

    def _name(self, file: str) -> str:
        return Path(os.path.relpath(file, self._root)).as_posix()

    def _told(self, place: str, file: str, reading: Reading) -> Iterator[Finding]:
        meant = self._table.meant(reading)
        if not meant or meant[0] == 0:
            return
        name = self._name(file)
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


def _read(name: str, content: bytes) -> Iterator[tuple[str, Passage, Reading]]:
    """Every number in a file, with what holds it."""
    for leaf, inside in leaves(name, content):
        for passage in passages(leaf, inside):
            for reading in readings(passage.text):
                if reading.ways or not passage.loose:
                    yield leaf, passage, reading


def _place(file: str, leaf: str, passage: Passage, reading: Reading, lines: Sequence[str]) -> str:
    if leaf or not passage.line:
        return ", ".join(part for part in (file, leaf, passage.place) if part)
    number = passage.line + reading.line
    line = lines[number - 1] if number <= len(lines) else ""
    return str(Place(file=file, line=number, column=max(line.find(reading.digits), 0) + 1))


def require_nothing_told(
    data: CourseData,
    now: datetime,
    *,
    words: Iterable[tuple[Place, str]],
    files: Iterable[Path],
    root: Path,
    harmless: Mapping[str, Collection[str]],
) -> None:
    """Raise ``AuditError`` where the course's texts, ``words`` or ``files`` tell something."""
    looking = Audit(
        held_back(data, now), gravity=gravity_of(data.course), root=root, harmless=harmless
    )
    found: list[Finding] = []
    for place, text in (*written(data, now), *words):
        found += looking.of_text(place, text)
    for path in (path for path in files if path.is_file()):
        found += looking.of_file(path, path.read_bytes())
    if found:
        raise AuditError(found)
