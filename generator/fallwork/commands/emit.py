"""Writes the pages of the student edition as Markdown into a folder.

Takes a folder and a moment; touches files only when every page is built, and then swaps the
whole folder in.
"""

from pathlib import Path

from fallwork.commands.moments import read_moment
from fallwork.commands.sources import course_folder
from fallwork.pages import PageFile, build_pages
from fallwork.scenario import load_course
from fallwork.site import folder

_HELD = "Markdown"  # what the folder's mark says that it holds


def emit_pages(target: Path, *, moment: str | None) -> str:
    """Write the pages into ``target``, which must be empty or written by this command before."""
    folder.require_ours(target, _HELD)
    data = load_course(course_folder())
    now = read_moment(moment, data.course.time_zone)
    pages = build_pages(data, now=now, edition="student")
    fresh = folder.new_beside(target)
    for page in pages:
        _write(fresh, page)
    folder.mark(fresh, _HELD)
    folder.swap_in(fresh, target)
    written = sum(page.path.endswith(".md") for page in pages)
    drawings = sum(page.path.endswith(".svg") for page in pages)
    others = len(pages) - written - drawings
    return f"{target}: {written} pages, {drawings} drawings and {others} data files written"


def _write(root: Path, page: PageFile) -> None:
    path = root / page.path
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text(page.content, encoding="utf-8", newline="\n")
