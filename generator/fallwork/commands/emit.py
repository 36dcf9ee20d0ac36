"""Writes the pages of the student edition as Markdown into a folder.

Takes a folder and a moment; touches files only when every page is built, and then swaps the
whole folder in.
"""

from collections import Counter
from pathlib import Path

from fallwork.commands.sources import course_folder
from fallwork.commands.typed import read_moment
from fallwork.lesson.words import listing
from fallwork.pages import PageFile, build_pages
from fallwork.scenario import load_course
from fallwork.site import folder

_HELD = "Markdown"  # what the folder's mark says that it holds


def emit_pages(target: Path, *, moment: str | None) -> str:
    """Write the pages into ``target``, which must be empty or written by this command before."""
    folder.require_ours(target, _HELD)
    data = load_course(course_folder())
    now = read_moment(moment, data.course.zone)
    pages = build_pages(data, now=now, edition="student")
    fresh = folder.new_beside(target)
    for page in pages:
        _write(fresh, page)
    folder.mark(fresh, _HELD)
    folder.swap_in((fresh, target))
    kinds = {".md": "page", ".svg": "drawing"}
    counts = Counter(kinds.get(Path(page.path).suffix, "data file") for page in pages)
    told = [f"{count} {kind}{'' if count == 1 else 's'}" for kind, count in counts.items()]
    return f"{target}: {listing(told)} written"


def _write(root: Path, page: PageFile) -> None:
    path = root / page.path
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text(page.content, encoding="utf-8", newline="\n")
