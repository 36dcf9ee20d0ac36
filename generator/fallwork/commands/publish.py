"""Builds the site and puts it in place, serves it while it is being written, or writes its pages as
Markdown.

Takes options as typed; gives lines of text. The building is the site stage's.
"""

import re
from collections import Counter
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

from fallwork.commands.call import CallError, Word, called, course_folder, read_moment
from fallwork.commands.notes import note
from fallwork.errors import said
from fallwork.lesson.reworking import without_marks
from fallwork.pages.build import build_pages
from fallwork.pages.finding import FOLDER as SEARCH
from fallwork.pages.markdown import PageFile
from fallwork.pages.schedule import in_words
from fallwork.planning.revealed import revealed
from fallwork.scenario import from_here, load_course, load_settings
from fallwork.scenario.frozen import PUBLISHED
from fallwork.scenario.report import counted, listed
from fallwork.site import folder

_SETTINGS = Path("mkdocs.yml")  # in the current folder
_MARKDOWN = "Markdown"  # what the mark of a folder of pages says that it holds
_ELSEWHERE = (  # what only our own settings read, and what any builder does in its place
    (r"\{#([\w.-]+)[^{}\n]*\}", r'<span id="\1"></span>'),
    (r"\{ ?(?:\.fw-|aria-)[^{}\n]*\}", ""),
    (r'(?s)<p\b[^>]* markdown="span">(.*?)</p>', r"\n\1\n"),
    (r'(?s) markdown="span">(.*?)</', r">\n\n\1\n</"),
    (r' markdown="1"([^>\n]*>)\n*', r"\1\n\n"),
)


def publish_site(*, edition: str, as_of: Word, to: Path | None, handouts: bool) -> Iterator[str]:
    """Publish, and say what stands where and when something opens next."""
    from fallwork.site.publication import publish

    zone = load_settings(course_folder()).zone
    moment = read_moment(as_of, zone)
    done = publish(_settings(), edition=edition, as_of=moment, to=to, handouts=handouts)
    data = done.data
    pages = f"{done.pages} pages of the {edition} edition, as of {in_words(moment, zone)}"
    yield f"{from_here(done.site)}: {pages}"
    if handouts:
        first = f", e.g. {from_here(done.site)}/{done.printed[0]}" if done.printed else ""
        yield f"Handouts: {counted(len(done.printed), 'PDF file')}, each beside its page{first}"
    if done.recorded:
        labs = ", ".join(done.recorded)
        yield f"Recorded in {data.root}/{PUBLISHED}: {labs}. Keep it with the course."
    yield from (note(e.place, str(e)) for e in revealed(data, moment) if e.of != e.key)
    if edition == "staff" and not data.course.url:
        yield note(f"{data.root}/course.yaml", said("commands", "without-url"))
    if done.next_opening is None:
        yield "Nothing more opens later."
    else:
        at, what = done.next_opening
        yield f"Opens next: {what}, on {in_words(at, zone)}"


def preview_site(*, edition: str, as_of: str | None, port: int, lab: str | None) -> tuple[str, ...]:
    """Serve until interrupted; the course's mistakes show before the server starts."""
    from fallwork.site.preview import preview

    data = load_course(course_folder(), record=False)
    if lab is not None:
        called("lab", lab, {each.id: each for term in data.terms for each in term.labs})
    moment = None if as_of is None else read_moment(as_of, data.course.zone)
    preview(_settings(), edition=edition, as_of=moment, port=port, only=lab)
    return ()


def emit_pages(to: Path, *, as_of: str | None) -> Iterator[str]:
    """Write the pages into a folder, which must be empty or written by this command before; all
    are built first, and then the folder is swapped in.
    """
    folder.require_ours(to, _MARKDOWN)
    data = load_course(course_folder())
    found = build_pages(data, now=read_moment(as_of, data.course.zone), edition="student")
    # Only our own site can search.
    pages = [page for page in found if not page.path.startswith(f"{SEARCH}/")]
    fresh = folder.new_beside(to)
    for page in pages:
        path = fresh / page.path
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(_for_others(page), encoding="utf-8", newline="\n")
    folder.mark(fresh, _MARKDOWN)
    folder.swap_in((fresh, to))
    kinds = {".md": "page", ".svg": "drawing"}
    counts = Counter(kinds.get(Path(page.path).suffix, "data file") for page in pages)
    yield f"{to}: {listed([counted(n, kind) for kind, n in counts.items()])} written"


def _for_others(page: PageFile) -> str:
    """What is written of a page for builders that know headings, tables, formulas and HTML."""
    front = {key: value for key, value in page.front.items() if not key.startswith("fw_")}
    text = without_marks(replace(page, front=front).content)
    for pattern, new in _ELSEWHERE if page.is_page else ():
        text = re.sub(pattern, new, text)
    return text


def _settings() -> Path:
    if not _SETTINGS.is_file():
        raise CallError("no-settings")
    return _SETTINGS
