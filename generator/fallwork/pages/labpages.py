"""The pages of one lab: overview, prelab, worked example and solution.

Takes a term's lab; gives its pages and their drawings, as far as they are open. What is held
back isn't computed into anything that is given.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from functools import partial
from itertools import groupby

from markupsafe import Markup

from fallwork.figures import draw
from fallwork.figures.model import Figure
from fallwork.lesson import build_lesson
from fallwork.lesson.document import FigureSlot, Lesson, Step
from fallwork.mechanics import apparatus_of, solve
from fallwork.mechanics.apparatus import Apparatus
from fallwork.mechanics.course import gravity_of
from fallwork.mechanics.solution import Solution
from fallwork.pages import lists, schedule
from fallwork.pages.blocks import Setting, block, drawing, drawing_path, text
from fallwork.pages.context import Context
from fallwork.pages.environment import page
from fallwork.pages.model import PageFile
from fallwork.pages.schedule import EXAMPLE, PRELAB, SOLUTION, SubPage
from fallwork.scenario.model import Lab, Scenario, Term

_SKETCH = FigureSlot(kind="sketch")


@dataclass(frozen=True, kw_only=True)
class _Set:
    """One set of numbers, solved, and what a page says about it."""

    scenario: Scenario
    apparatus: Apparatus
    solution: Solution
    lesson: Lesson
    digits: int  # significant figures of results

    def draw(self, slot: FigureSlot) -> Figure:
        """To scale exactly where the lesson shows numbers."""
        return draw(
            slot,
            scenario=self.scenario,
            apparatus=self.apparatus,
            solution=self.solution,
            lesson=self.lesson,
            to_scale=self.lesson.kind == "numbers",
            figures=self.digits,
        )


def lab_pages(context: Context, term: Term, lab: Lab) -> Iterator[PageFile]:
    """The overview, and those of the other pages that are open."""
    symbols = _solved(context, lab.variant, numbers=False)
    yield from _overview(context, term, lab, symbols)
    if schedule.is_open(PRELAB, lab, context.now):
        yield from _lesson_page(context, term, lab, PRELAB, symbols)
    if schedule.is_open(EXAMPLE, lab, context.now):
        shown = _solved(context, context.example(term, lab), numbers=True)
        yield from _lesson_page(context, term, lab, EXAMPLE, shown)
    if schedule.is_open(SOLUTION, lab, context.now):
        shown = _solved(context, lab.variant, numbers=True)
        yield from _lesson_page(context, term, lab, SOLUTION, shown)


def _solved(context: Context, scenario: Scenario, *, numbers: bool) -> _Set:
    digits = context.data.course.significant_figures
    apparatus = apparatus_of(scenario, gravity_of(context.data.course))
    solution = solve(apparatus)
    return _Set(
        scenario=scenario,
        apparatus=apparatus,
        solution=solution,
        lesson=build_lesson(scenario, apparatus, solution, figures=digits, numbers=numbers),
        digits=digits,
    )


def _overview(context: Context, term: Term, lab: Lab, shown: _Set) -> Iterator[PageFile]:
    sketch = shown.draw(_SKETCH)
    folder = f"{term.id}/{lab.id}"
    links = context.page_links(lab, here="index")
    yield page(
        f"{folder}/index.md",
        "overview",
        meta={
            "title": shown.lesson.title,
            "description": f"{shown.lesson.title}: overview, {term.title}",
            "page": "overview",
            "term": term.id,
            "lab": lab.id,
            "nav": True,
        },
        course=context.data.course,
        lab=context.lab_line(term, lab, start="../"),
        lesson=shown.lesson,
        links=links,
        pages=links[1:],
        sketch=drawing(sketch, "index"),
        givens=lists.givens(shown.lesson) if context.now >= lab.opens else None,
        symbols=lists.overview_symbols(shown.lesson),
        text=text,
    )
    yield _svg(folder, "index", sketch)


def _lesson_page(
    context: Context, term: Term, lab: Lab, sub: SubPage, shown: _Set
) -> Iterator[PageFile]:
    folder = f"{term.id}/{lab.id}"
    lesson = shown.lesson
    digits = shown.digits
    figures = {slot: shown.draw(slot) for slot in _slots(lesson)}
    setting = Setting(page=sub.name, figures=figures, digits=digits)
    heading = f"{sub.title}: {lesson.title}"
    yield page(
        f"{folder}/{sub.name}.md",
        "lesson",
        meta={
            "title": heading,
            "description": f"{heading}, {term.title}",
            "page": sub.name,
            "term": term.id,
            "lab": lab.id,
        },
        heading=heading,
        links=context.page_links(lab, here=sub.name),
        notice=_EXAMPLE_NOTICE if sub is EXAMPLE else None,
        lesson=lesson,
        parts=_parts(lesson),
        givens=lists.givens(lesson) if lesson.kind == "numbers" else None,
        symbols=lists.symbols(lesson, digits),
        digits=digits,
        guarded=lists.guard_sample(digits),
        text=text,
        block=partial(block, setting=setting),
        slip_line=partial(lists.slip_line, digits=digits),
    )
    yield from (_svg(folder, sub.name, figure) for figure in figures.values())


_EXAMPLE_NOTICE = Markup(
    "**The numbers on this page are not those of your lab.** They show how the calculation goes; "
    "the numbers that you are given stand in the [overview](index.md#givens)."
)


@dataclass(frozen=True, kw_only=True)
class _Part:
    """Steps that stand together under a heading of their own."""

    id: str
    title: str
    steps: tuple[Step, ...]


def _parts(lesson: Lesson) -> tuple[_Part, ...]:
    groups = groupby(lesson.steps, key=lambda step: step.part)
    return tuple(
        _Part(id=f"part-{number}", title=title, steps=tuple(steps))
        for number, (title, steps) in enumerate(groups, start=1)
    )


def _slots(lesson: Lesson) -> Iterator[FigureSlot]:
    """Every figure of a lesson, in the order of the page."""
    for step in lesson.steps:
        for content in (*step.blocks, *step.check):
            if isinstance(content, FigureSlot):
                yield content


def _svg(folder: str, name: str, figure: Figure) -> PageFile:
    return PageFile(path=f"{folder}/{drawing_path(figure, name)}", content=figure.svg)
