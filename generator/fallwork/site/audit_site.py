"""The audit of a built students' edition: no page, step or file of what isn't open, no link to one,
and no copy of the course's own files.

Takes the site's folder and the course; raises ``AuditError``. No number is looked for: the
program's own pages are full of them, and what people wrote is read before (``audit``).
"""

import codecs
import hashlib
import posixpath
import re
from collections.abc import Callable, Collection, Iterator, Mapping, Sequence
from datetime import datetime
from pathlib import Path

from fallwork.pages import Address, HeldBack, held_back, open_records
from fallwork.scenario.model import CourseData
from fallwork.site.audit import AuditError, Finding
from fallwork.site.audit_unpacking import leaves
from fallwork.site.handwritten import place_of

_SEARCH = "search/"
_MARKS = {
    codecs.BOM_UTF8: "utf-8-sig",
    codecs.BOM_UTF16_LE: "utf-16",
    codecs.BOM_UTF16_BE: "utf-16",
}
_STEP = re.compile(rb'<h3 class="fw-step[^>]*? id="([^"]+)"')
_LINK = re.compile(rb"""(?:href|src)\s*=\s*["']?([^"'\s>]+\.html)(?=["'\s>#?])""")


def require_nothing_there(
    site: Path,
    data: CourseData,
    now: datetime,
    *,
    given: Collection[Address],
    sources: Mapping[str, Path],
    packaged: Callable[[str], bytes | None],
) -> None:
    """Raise ``AuditError`` for what ``look_through`` finds; ``given``: all addresses of ``now``."""
    found = tuple(
        look_through(
            site,
            held=held_back(data, now),
            steps={one.text for one in given if one.anchor},
            copies=copies_of(data.root, tuple(open_records(data, now))),
            sources=sources,
            packaged=packaged,
        )
    )
    if found:
        raise AuditError(found)


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
    return Finding(place=place, found=found, what=f"the {one.what} is held back")


def copies_of(root: Path, released: Collection[Path]) -> Mapping[str, str]:
    """Digest -> name of every file of a course's folder, without those that students have."""
    given = {path.resolve() for path in released}
    files = {p: digest(p.read_bytes()) for p in sorted(root.rglob("*")) if p.is_file()}
    known = {digest(b""), *(key for path, key in files.items() if path.resolve() in given)}
    return {key: str(path) for path, key in files.items() if key not in known}


def digest(content: bytes) -> str:
    """SHA-256, the same however lines and the file end, and in which Unicode it is written."""
    for mark, encoding in _MARKS.items():
        if content.startswith(mark):
            content = content.decode(encoding, "replace").encode()
            break
    return hashlib.sha256(b"\n".join(content.split())).hexdigest()
