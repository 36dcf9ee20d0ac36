"""The pages of one lab: overview, prelab, worked example, report, trials and solution.

Takes a term's lab; gives its pages and their drawings, as far as this edition holds them. What is
held back isn't computed into anything that is given.
"""

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from functools import partial
from itertools import groupby
from typing import Any

from fallwork.figures import Figure
from fallwork.lesson.document import FigureSlot, Lesson, Step
from fallwork.pages import lists, notices, schedule
from fallwork.pages.blocks import Setting, block, drawing, drawing_path, text
from fallwork.pages.context import Context
from fallwork.pages.datafiles import files_of, tables_of
from fallwork.pages.environment import page
from fallwork.pages.given import GivenLab
from fallwork.pages.meta import lab_meta
from fallwork.pages.model import PageFile
from fallwork.pages.schedule import DATA, EXAMPLE, PRELAB, REPORT, SOLUTION
from fallwork.pages.standing import Standing, standing
from fallwork.pages.withdrawn import withdrawn_pages

_SKETCH = FigureSlot(kind="sketch")


def lab_pages(context: Context, given: GivenLab) -> Iterator[PageFile]:
    """The overview, and those of the other pages that this edition holds."""
    if schedule.is_withdrawn(given.lab, context.now):
        yield from withdrawn_pages(context, given)
        return
    yield from _overview(context, given)
    for there in standing(context, given):
        yield from _BUILDERS[there.sub.name](context, there)


def _overview(context: Context, given: GivenLab) -> Iterator[PageFile]:
    shown = context.worked(given, PRELAB)
    sketch = shown.draw(_SKETCH)
    links = context.page_links(given, here="index")
    numbers = context.staff or context.now >= given.lab.opens_first
    yield page(
        f"{given.folder}/index.md",
        "overview",
        meta=lab_meta(
            context,
            given,
            "overview",
            title=given.title,
            description=f"{given.title}: overview, {given.term.title}",
            nav=True,
        ),
        course=context.data.course,
        lab=context.lab_line(given, start="../"),
        notices=notices.of_lab(context, given, "index"),
        version=notices.version(context, given, "index") if numbers else None,
        lesson=shown.lesson,
        links=links,
        pages=links[1:],
        sketch=drawing(sketch, "index"),
        givens=lists.givens_to_fill(shown.lesson) if numbers else None,
        symbols=lists.overview_symbols(shown.lesson),
        text=text,
    )
    yield _svg(given.folder, "index", sketch)


def _lesson_page(context: Context, there: Standing) -> Iterator[PageFile]:
    """Prelab, example or solution."""
    shown = context.worked(there.given, there.sub)
    yield from _page_of_steps(
        context,
        there,
        "lesson",
        givens=lists.givens(shown.lesson) if shown.lesson.kind == "numbers" else None,
        digits=shown.digits,
        compared=shown.evidence is not None,
        guarded=lists.guard_sample(shown.lesson, shown.digits),
    )


def _measured_page(context: Context, there: Standing) -> Iterator[PageFile]:
    """Report or trials; the trials with the files to download."""
    shown = context.worked(there.given, there.sub)
    tables = tables_of(shown.evidence) if shown.evidence is not None else ()
    numbers = shown.lesson.kind == "numbers"
    yield from _page_of_steps(
        context,
        there,
        "measured",
        files=[each.link for each in tables],
        guarded=lists.guard_sample(shown.lesson, shown.digits) if numbers else None,
    )
    if shown.evidence is not None:
        yield from files_of(shown.evidence, there.given.folder)


def _page_of_steps(
    context: Context, there: Standing, template: str, **more: Any
) -> Iterator[PageFile]:
    """A page of steps and its drawings."""
    given, sub = there.given, there.sub
    shown = context.worked(given, sub)
    lesson, digits = shown.lesson, shown.digits
    figures = {slot: shown.draw(slot) for slot in _slots(lesson)}
    heading = f"{sub.title}: {given.title}"
    yield page(
        f"{given.folder}/{sub.name}.md",
        template,
        meta=lab_meta(
            context,
            given,
            sub.name,
            title=heading,
            description=f"{heading}, {given.term.title}",
        ),
        heading=heading,
        links=context.page_links(given, here=sub.name),
        notices=notices.of_lab(context, given, sub.name),
        version=notices.version(context, given, sub.name),
        lesson=lesson,
        parts=_parts(lesson),
        former=_former(there),
        removed=[step for step in there.former if not step.now],
        symbols=lists.symbols(lesson, digits),
        **_renderers(Setting(page=sub.name, figures=figures, digits=digits)),
        **more,
    )
    yield from (_svg(given.folder, sub.name, figure) for figure in figures.values())


def _renderers(setting: Setting) -> dict[str, Callable[..., Any]]:
    """What a template needs to write the parts of a step."""
    return {
        "text": text,
        "block": partial(block, setting=setting),
        "slip_line": partial(lists.slip_line, digits=setting.digits),
    }


_BUILDERS: Mapping[str, Callable[[Context, Standing], Iterator[PageFile]]] = {
    PRELAB.name: _lesson_page,
    EXAMPLE.name: _lesson_page,
    REPORT.name: _measured_page,
    DATA.name: _measured_page,
    SOLUTION.name: _lesson_page,
}


@dataclass(frozen=True, kw_only=True)
class _Part:
    """Steps that stand together under a heading of their own."""

    id: str  # named for its first step: titles and places change, ids of steps don't
    title: str
    steps: tuple[Step, ...]


def _parts(lesson: Lesson) -> tuple[_Part, ...]:
    groups = groupby(lesson.steps, key=lambda step: step.part)
    parts = ((title, tuple(steps)) for title, steps in groups)
    return tuple(
        _Part(id=f"part-{steps[0].id}", title=title, steps=steps) for title, steps in parts
    )


def _former(there: Standing) -> dict[str, list[str]]:
    """The former ids of each step that has had others."""
    found: dict[str, list[str]] = {}
    for step in there.former:
        if step.now:
            found.setdefault(step.now, []).append(step.id)
    return found


def _slots(lesson: Lesson) -> Iterator[FigureSlot]:
    """Every figure of a lesson, in the order of the page."""
    for step in lesson.steps:
        for content in (*step.blocks, *step.check):
            if isinstance(content, FigureSlot):
                yield content


def _svg(folder: str, name: str, figure: Figure) -> PageFile:
    return PageFile(path=f"{folder}/{drawing_path(figure, name)}", content=figure.svg)
