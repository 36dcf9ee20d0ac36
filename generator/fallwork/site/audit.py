"""The audit: neither what people wrote nor the built site may tell what is held back.

Takes words, files and built pages of the course's author, in which numbers are looked for, and the
folder of a built students' edition: no page, step or file of what isn't open, no link to one, no
copy of the course's own files. The program's own pages need no reading for numbers, of which they
are full: what isn't open isn't handed to them. Gives findings, which ``AuditError`` tells with file
and line and what to do.
"""

import html
import json
import os
import posixpath
import re
from collections import Counter
from collections.abc import Callable, Collection, Iterable, Iterator, Mapping, Sequence
from functools import partial
from pathlib import Path
from typing import NamedTuple

from fallwork.errors import Place
from fallwork.pages.heldback import Answer, HeldBack
from fallwork.site.audit_numbers import Reading, Table, readings
from fallwork.site.copies import originals_of, rows_of
from fallwork.site.errors import PublicationError, place_of
from fallwork.site.folder import files_below
from fallwork.site.reading import Passage, passages, text_of

_MOST = 20  # findings that are told; more don't help
_MANY = 200  # numbers behind the same letters: a table of readings, some alike by chance
_BY_NO_CHANCE = 7  # figures
_WOULD = "The site would give away what is held back, so it isn't published:"
_TAKE_OUT = "Take it out there, or publish again once it is open."
_SAY_SO = "If a number is no answer and only looks like one, say so in mkdocs.yml, below fallwork"
_UNREAD = "nobody can read it for answers"
_SEARCH = "search/"
_STEP = re.compile(r'<h3 class="fw-step[^>]*? id="([^"]+)"')
_LEADS = re.compile(r"""(?:href|src)\s*=\s*["']?([^"'\s>]+)""")
_WHOLE = re.compile(r'https://[^\s"<>]+')  # an address as of a recording, wherever it stands
_ELSEWHERE = "://"  # in the address of a recording
_LINK = re.compile(r"""(?:href|src)\s*=\s*["']?([^"'\s>]+\.html)(?=["'\s>#?])""")


class Finding(NamedTuple):
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
        numbers = {file: list(digits) for file, digits in (harmless or {}).items()}
        for each in (each for each in self.findings if each.digits):
            if each.digits not in numbers.setdefault(each.file, []):
                numbers[each.file].append(each.digits)
        more = len(self.findings) - _MOST
        lines = [_WOULD, *map(str, self.findings[:_MOST])]
        lines += [f"and {more} more places"] if more > 0 else []
        lines.append(_TAKE_OUT)
        if any(each.digits for each in self.findings):
            instead = ", in place of the entry harmless that stands there" if harmless else ""
            declared = json.dumps(numbers, ensure_ascii=False)
            lines.append(f"{_SAY_SO}{instead}: harmless: {declared}")
        super().__init__("\n".join(lines))


def _held(place: object, found: str, one: HeldBack, file: str = "", digits: str = "") -> Finding:
    return Finding(str(place), found, f"held back: the {one.what}", file, digits)


# ---- what people wrote


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
        """``gravity`` in m/s², which may be named; ``harmless``: file below ``root`` -> digits."""
        self._answers = [(one, answer) for one in held for answer in one.answers]
        given = Answer(quantity="", value=gravity, unit="m/s²", figures=1)
        self._table = Table([given, *(answer for _, answer in self._answers)])
        self._root, self._harmless = root, harmless

    def of_text(self, place: Place | str, text: str) -> Iterator[Finding]:
        """What a text of the course's files tells."""
        for reading in readings(text):
            yield from self._told(str(getattr(place, "file", place)), reading, lambda: place)

    def of_page(self, source: Path, html: str) -> Iterator[Finding]:
        """What a page tells as it is built from ``source``, the file that messages name."""
        text = source.read_text("utf-8") if source.is_file() else ""

        def place(_: Passage, reading: Reading, number: int) -> object:
            """Where it holds the digits for the n-th time, from 0, or else the last."""
            written = re.escape(reading.digits).replace(r"\.", "[.,]")
            found = [each.start() for each in re.finditer(rf"(?<![\d.,]){written}(?!\d)", text)]
            if not found:
                return f"{source}, as it is built"
            at = found[min(number, len(found) - 1)]
            line, column = text.count("\n", 0, at) + 1, at - text.rfind("\n", 0, at)
            return Place(file=str(source), line=line, column=column)

        yield from self._of(str(source), "page.html", html, place)

    def of_file(self, path: Path, content: bytes) -> Iterator[Finding]:
        """What a file tells by its name and, if it is text, its content; ``path`` for messages."""
        text = text_of(content) or ""

        def place(passage: Passage, reading: Reading, _: int) -> object:
            if not passage.line:
                return f"{path}, {passage.place}"
            line, lines = passage.line + reading.line, text.splitlines()
            at = lines[line - 1].find(reading.digits) if line <= len(lines) else 0
            return Place(file=str(path), line=line, column=max(at, 0) + 1)

        yield from self._of(str(path), self._name(str(path)), text, place)

    def _of(
        self, file: str, name: str, text: str, place: Callable[[Passage, Reading, int], object]
    ) -> Iterator[Finding]:
        """Every number in a file that may mean something, and files within it that are no text."""
        found: list[tuple[Passage, Reading]] = []
        for passage in passages(name, text):
            if passage.is_text:
                found += [(passage, reading) for reading in readings(passage.text)]
            else:
                start, what = str(Place(file=file, line=passage.line)), "which is no text"
                remedy = f"{_UNREAD}; put it into a file of its own"
                yield Finding(start, f"{passage.text}…, {what}", remedy)
        rows = Counter(reading.before for _, reading in found if not reading.ways)
        seen = Counter[str]()
        for passage, reading in found:
            by_chance = rows[reading.before] > _MANY and reading.figures < _BY_NO_CHANCE
            if reading.ways or not by_chance:
                at = partial(place, passage, reading, seen[reading.digits])
                seen[reading.digits] += 1
                yield from self._told(file, reading, at)

    def _name(self, file: str) -> str:
        return Path(os.path.relpath(file, self._root)).as_posix()

    def _told(self, file: str, reading: Reading, place: Callable[[], object]) -> Iterator[Finding]:
        meant, name = self._table.meant(reading), self._name(file)
        if meant and meant[0] and reading.digits not in self._harmless.get(name, ()):
            one, answer = self._answers[meant[0] - 1]  # before them stands gravity
            found = f'"{reading.text}", which is {answer.quantity}'
            yield _held(place(), found, one, name, reading.digits)


# ---- the built site


def look_through(
    site: Path,
    *,
    held: Sequence[HeldBack],
    steps: Collection[str],
    copies: Mapping[str, frozenset[int]],
    sources: Mapping[str, Path],
    made: Mapping[str, "Told"] | None = None,
    packaged: Callable[[str], bytes | None],
    declared: Callable[[str], bool],
) -> Iterator[Finding]:
    """Pages, steps and files of what is held back, links to them, copies of the course's files, and
    what is no text and isn't declared.

    ``steps``: addresses of the steps that are open; ``copies``: what tells a file (``copies.py``);
    ``sources``: the author's own file, by the page of the site; ``made``: of pages that the program
    has made what they tell, so that they aren't read again; ``packaged`` gives the bytes with which
    a file came along with a program, or None; ``declared``: whether course.yaml names a file among
    the attachments.
    """
    originals = originals_of(copies)
    for file in files_below(site):
        own, page = sources.get(file), file.endswith(".html")
        name = str(own or file)
        for one in held:
            if file == one.page or file.startswith(one.files):
                yield _held(name, "a file at the address of one to come", one)
        if told := (made or {}).get(file):
            yield from _of_made(file, told, held, steps)
            continue
        content = (site / file).read_bytes()
        if content == packaged(file):
            continue
        if text_of(content) is None and not declared(file):
            what = f"{_UNREAD}, and course.yaml doesn't name it in attachments"
            yield Finding(name, "a file that is no text", what)
        here = rows_of(file, content) if own or not page else frozenset()
        for original in originals(here):
            yield Finding(name, f"a copy of {original}", "students don't have it")
        if not page:
            yield from _mentions(file, content, held, own)
        elif own:
            yield from _links(file, content, held, own)
        else:
            yield from _of_made(
                file, told_by(file, content.decode("utf-8", "replace")), held, steps
            )


class Told(NamedTuple):
    """What a page that the program has made tells of others."""

    leads: Collection[str]  # files of the site to which it leads, and whole addresses that it names
    steps: Sequence[str]  # the ids of its own steps


def told_by(file: str, page: str) -> Told:
    """What the HTML of one tells, which stands at ``file``."""
    folder, text = posixpath.dirname(file), html.unescape(page)
    named = {*map(html.unescape, _LEADS.findall(page)), *_WHOLE.findall(text)}
    ways = {re.split("[?#]", each)[0] for each in named}
    leads = {posixpath.normpath(posixpath.join(folder, way)) for way in ways}
    leads |= {each for each in named if _ELSEWHERE in each}
    return Told(sorted(leads), _STEP.findall(page))


def _of_made(
    file: str, told: Told, held: Iterable[HeldBack], steps: Collection[str]
) -> Iterator[Finding]:
    """Links to what is held back, and steps that aren't open."""
    leads = {*told.leads}
    for one in held:
        if _ELSEWHERE in one.page and any(one.page in each for each in leads):
            yield _held(file, f"the address {one.page}", one)
        elif one.page in leads:
            yield _held(file, f"a link to {one.page}", one)
    for step in told.steps:
        if (address := f"{file}#{step}") not in steps:
            yield Finding(file, f"the step {address}", "it isn't open")


def _mentions(
    file: str, content: bytes, held: Iterable[HeldBack], own: Path | None
) -> Iterator[Finding]:
    """In a file that is no page any mention of the address of what is held back; but the search
    holds what pages say too: there only the address of an entry counts.
    """
    before = rb"(?<![\w./-])" if file.startswith(_SEARCH) else rb"(?<![\w.-])"
    for one in held:
        if re.search(before + re.escape(one.page.encode()), content):
            yield _held(own or file, f"the address {one.page}", one)


def _links(file: str, content: bytes, held: Iterable[HeldBack], own: Path) -> Iterator[Finding]:
    pages, text = {one.page: one for one in held}, content.decode("utf-8", "replace")
    for one in (one for one in held if _ELSEWHERE in one.page):
        if one.page in html.unescape(text):
            yield _held(place_of(own, one.page), f"the address {one.page}", one)
    for link in dict.fromkeys(_LINK.findall(text)):
        target = posixpath.normpath(posixpath.join(posixpath.dirname(file), link))
        if target in pages:
            place = place_of(own, posixpath.basename(link))
            yield _held(place, f"a link to {target}", pages[target])
