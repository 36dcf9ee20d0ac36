"""The pages that only staff have: the steps of a lab to look up and send, and the notes.

Takes a lab; gives both pages. The numbers are the solution's, whether it is open or not.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from functools import partial

from markupsafe import Markup

from fallwork.lesson.document import Question, Step
from fallwork.pages import answers, lists, notices, reviews, schedule
from fallwork.pages.blocks import Setting, block, text
from fallwork.pages.context import STAFF_PAGES, Context
from fallwork.pages.environment import page
from fallwork.pages.escape import plain
from fallwork.pages.given import GivenLab
from fallwork.pages.meta import lab_meta
from fallwork.pages.model import PageFile
from fallwork.pages.schedule import SOLUTION
from fallwork.pages.standing import Standing, standing


@dataclass(frozen=True, kw_only=True)
class StudentLink:
    """Where students find a step, or will find it."""

    words: str
    address: str
    opens: str  # "" where it is open


@dataclass(frozen=True, kw_only=True)
class StepLine:
    """A step as staff look it up."""

    step: Step
    link: Markup  # to the step in the staff edition
    lasting: str  # the address that lists all its places
    links: tuple[StudentLink, ...]


def staff_pages(context: Context, given: GivenLab) -> Iterator[PageFile]:
    """Steps and notes of a lab that hasn't been taken down."""
    if not schedule.is_withdrawn(given.lab, context.now):
        yield _steps_page(context, given)
        yield _notes_page(context, given)


def _steps_page(context: Context, given: GivenLab) -> PageFile:
    digits = context.digits
    lines = tuple(_step_lines(context, given))
    return page(
        f"{given.folder}/steps.md",
        "steps",
        meta=_meta(context, given, "steps"),
        **_head(context, given, "steps"),
        lines=lines,
        whole=bool(context.data.course.url),
        numbers=answers.lookup_table(context.worked(given, SOLUTION).lesson, digits),
        text=text,
        slip_line=partial(lists.slip_line, digits=digits),
        live=sum(1 for line in lines for link in line.links if not link.opens),
    )


def _notes_page(context: Context, given: GivenLab) -> PageFile:
    lesson, lab = context.worked(given, SOLUTION).lesson, given.lab
    return page(
        f"{given.folder}/notes.md",
        "notes",
        meta=_meta(context, given, "notes"),
        **_head(context, given, "notes"),
        answers=answers.answer_table(lesson, context.digits),
        tolerance=answers.tolerance_in_words(context.digits),
        slips=answers.slip_table(lesson, context.digits),
        carried=answers.carried_on(lesson, context.digits),
        review=reviews.of_numbers(context, given),
        quality=reviews.of_trials(context, given) if lab.measured is not None else (),
        text=text,
        block=partial(block, setting=Setting(page="notes", figures={}, digits=context.digits)),
        dates=context.lab_line(given, start="../"),
        extended=context.say(lab.extended_to) if lab.extended_to else None,
        revealed=tuple(plain(str(each)) for each in context.revealed if each.key == given.key),
    )


def _meta(context: Context, given: GivenLab, name: str) -> dict[str, object]:
    title = f"{STAFF_PAGES[name]}: {given.title}"
    description = f"{title}, {given.term.title}, for staff"
    return lab_meta(context, given, name, title=title, description=description)


def _head(context: Context, given: GivenLab, name: str) -> dict[str, object]:
    return {
        "heading": f"{STAFF_PAGES[name]}: {given.title}",
        "links": context.page_links(given, here=name),
        "notices": notices.of_lab(context, given, name),
    }


def _step_lines(context: Context, given: GivenLab) -> Iterator[StepLine]:
    """The steps of the solution, then those of the other pages."""
    places = standing(context, given)
    for page_name, step in _every_step(places):
        yield StepLine(
            step=step,
            link=Markup(f"{page_name}.md#{step.id}"),
            lasting=context.absolute(f"step/{given.lab.scenario.id}/{step.id}.html"),
            links=tuple(
                _student_link(context, there, step) for there in places if there.holds(step.id)
            ),
        )


def _every_step(places: Sequence[Standing]) -> Iterator[tuple[str, Step]]:
    """Each step once, as the most complete page has it, with the questions of all pages."""
    asked: dict[str, dict[str, Question]] = {}
    for there in places:
        for step in there.steps:
            questions = asked.setdefault(step.id, {})
            for question in step.questions:
                questions.setdefault(question.id, question)
    done: set[str] = set()
    for there in sorted(places, key=lambda there: there.sub is not SOLUTION):
        for step in there.steps:
            if step.id not in done:
                done.add(step.id)
                yield there.sub.name, replace(step, questions=tuple(asked[step.id].values()))


def _student_link(context: Context, there: Standing, step: Step) -> StudentLink:
    lab = there.given.lab
    opens = there.sub.opens(lab)
    live = schedule.is_open(there.sub, lab, context.now)
    return StudentLink(
        words=there.sub.title,
        address=context.absolute(f"{there.address}#{step.id}"),
        opens="" if live or opens is None else context.say(opens),
    )
