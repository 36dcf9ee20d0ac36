"""The audit of a built students' edition: no page, step or file of what isn't open, no link to one,
and no copy of the course's own files.

Takes the site's folder and the course; gives findings. No number is looked for: the program's own
pages are full of them, and what people wrote is read before (``audit``).
"""

import posixpath
import re
from collections.abc import Callable, Collection, Iterator, Mapping, Sequence
from pathlib import Path

from fallwork.pages import HeldBack
from fallwork.site.attachments import text_of
from fallwork.site.audit import Finding
from fallwork.site.audit_reading import NAME, passages
from fallwork.site.handwritten import place_of

_SEARCH = "search/"
_WORD = re.compile(r"[^\W_]+")
_ROW = 4  # words and parts of numbers: a row of a record of two columns
_FEWEST = 6  # rows; of less nobody can say that it is a copy
_SHARE = 0.5  # of a file's rows that may turn up elsewhere
_STEP = re.compile(rb'<h3 class="fw-step[^>]*? id="([^"]+)"')
_LINK = re.compile(rb"""(?:href|src)\s*=\s*["']?([^"'\s>]+\.html)(?=["'\s>#?])""")


def look_through(
    site: Path,
    *,
    held: Sequence[HeldBack],
    steps: Collection[str],
    copies: Mapping[str, frozenset[int]],
    sources: Mapping[str, Path],
    packaged: Callable[[str], bytes | None],
    declared: Callable[[str], bool],
) -> Iterator[Finding]:
    """Pages, steps and files of what is held back, links to them, copies of the course's files, and
    what is no text and isn't declared.

    ``steps``: addresses of the steps that are open; ``copies``: what tells a file (``copies_of``);
    ``sources``: the author's own file, by the page of the site; ``packaged`` gives the bytes with
    which a file came along with a program, or None; ``declared``: whether course.yaml names a file
    among the attachments.
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
        if text_of(content) is None and not declared(file):
            what = "nobody can read it for answers, and course.yaml doesn't name it in attachments"
            yield Finding(place=name, found="a file that is no text", what=what)
        if own or not file.endswith(".html"):
            yield from _copied(file, name, content, copies)
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
        # The search holds what pages say too: there only the address of an entry counts.
        before = rb"(?<![\w./-])" if file.startswith(_SEARCH) else rb"(?<![\w.-])"
        for address, one in pages.items():
            if re.search(before + re.escape(address.encode()), content):
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
    return Finding(place=place, found=found, what=f"held back: the {one.what}")


def _copied(
    file: str, name: str, content: bytes, copies: Mapping[str, frozenset[int]]
) -> Iterator[Finding]:
    here = _rows(file, content)
    for original, rows in copies.items():
        if len(rows & here) > _SHARE * len(rows):
            found = f"a copy of {original}"
            yield Finding(place=name, found=found, what="students don't have it")


def copies_of(root: Path, released: Collection[Path]) -> Mapping[str, frozenset[int]]:
    """By which of their ``_rows`` the files of a course's folder are known, by name; without those
    that students have, and what these hold too.
    """
    given = {path.resolve() for path in released}
    paths = sorted(path for path in root.rglob("*") if path.is_file())
    rows = {path: _rows(path.name, path.read_bytes()) for path in paths}
    known = frozenset[int]().union(
        *(each for path, each in rows.items() if path.resolve() in given)
    )
    held = {str(path): each - known for path, each in rows.items() if path.resolve() not in given}
    return {name: each for name, each in held.items() if len(each) >= _FEWEST}


def _rows(name: str, content: bytes) -> frozenset[int]:
    """Every few words and numbers in a row, whatever stands between them and around: a copy has
    most of them, whichever program saved it again.
    """
    said = passages(name, text_of(content) or "")
    parts = _WORD.findall(" ".join(each.text for each in said if each.place != NAME))
    return frozenset(map(hash, zip(*(parts[n:] for n in range(_ROW)), strict=False)))
