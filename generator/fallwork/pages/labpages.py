"""The pages of one lab: overview, prelab, worked example, report, trials and solution.

Takes a lab; gives its pages and their drawings, as far as this edition holds them. What is held
back isn't computed into anything that is given. Of a lab that was taken down there is a sentence
a page, and every address that was there.
"""

from collections.abc import Iterator
from functools import partial

from fallwork.figures import Figure
from fallwork.lesson.document import FigureSlot
from fallwork.pages import lists, notices
from fallwork.pages.blocks import Setting, block, drawing, drawing_path
from fallwork.pages.context import GivenLab, LabPage
from fallwork.pages.datafiles import tables_of
from fallwork.pages.environment import PageFile
from fallwork.pages.schedule import OVERVIEW, PRELAB
from fallwork.pages.worked import IN_SYMBOLS

_SKETCH = FigureSlot(kind="sketch")


def lab_pages(given: GivenLab) -> Iterator[PageFile]:
    """The overview, and those of the other pages that this edition holds."""
    if given.withdrawn:
        yield _taken_down(given.page(OVERVIEW), [])
        for there in given.pages:
            kept = [step.id for step in there.steps]
            yield _taken_down(there, [*kept, *(step.id for step in there.former)])
        return
    yield from _overview(given)
    for there in given.pages:
        yield from _page_of_steps(there)


def _taken_down(there: LabPage, anchors: list[str]) -> PageFile:
    meta, withdrawal = there.meta("{title}, {term}: taken down"), there.given.lab.withdrawn
    return there.given.site.page(
        there.source, "withdrawn", meta, withdrawal=withdrawal, anchors=anchors
    )


def _overview(given: GivenLab) -> Iterator[PageFile]:
    site, there, shown = given.site, given.page(OVERVIEW), given.page(PRELAB).shown
    sketch = shown.draw(_SKETCH)
    yield site.page(
        there.source,
        "overview",
        there.meta("{title}: overview, {term}"),
        page=there,
        lists=lists,
        notices=notices,
        numbers=site.staff or site.now >= given.lab.opens_first,
        lesson=shown.lesson,
        sketch=drawing(sketch, there.sub.name),
    )
    yield _svg(there, sketch)


def _page_of_steps(there: LabPage) -> Iterator[PageFile]:
    """A page of steps with its drawings and, with trials of its own, the files to download."""
    shown = there.shown
    figures = {slot: shown.draw(slot) for slot in there.slots}
    measured = there.sub in IN_SYMBOLS
    files = tables_of(shown.evidence) if measured and shown.evidence is not None else ()
    yield there.given.site.page(
        there.source,
        "measured" if measured else "lesson",
        there.meta(),
        page=there,
        lists=lists,
        notices=notices,
        lesson=shown.lesson,
        digits=shown.digits,
        files=files,
        block=partial(
            block, setting=Setting(page=there.sub.name, figures=figures, digits=shown.digits)
        ),
    )
    yield from (_svg(there, figure) for figure in figures.values())
    for table in files:
        yield from table.files(there.given.folder)


def _svg(there: LabPage, figure: Figure) -> PageFile:
    path = f"{there.given.folder}/{drawing_path(figure, there.sub.name)}"
    return PageFile(path=path, content=figure.svg)
