"""The pages about the course: home and one for each term.

Takes the context of the build; gives pages. What a lab is about stands in ``labpages``.
"""

from collections.abc import Iterator
from typing import Any

from markupsafe import Markup

from fallwork.pages import notices, schedule
from fallwork.pages.context import Context
from fallwork.pages.environment import page
from fallwork.pages.given import GivenLab
from fallwork.pages.meta import course_meta, term_meta
from fallwork.pages.model import PageFile
from fallwork.pages.schedule import State
from fallwork.scenario import Term


def home_page(context: Context) -> PageFile:
    """What is on now, what opens when, and how a lab runs through the term."""
    course = context.data.course
    return page(
        "index.md",
        "home",
        meta=course_meta(
            context,
            "home",
            title=course.title,
            description=f"Labs of the course {course.title}: what is on now and what opens when",
            nav=True,
        ),
        course=course,
        staff=context.staff,
        today=context.say_day(context.now),
        now=[
            context.lab_line(given, start=f"{given.term.id}/")
            for given in context.labs()
            if context.staff
            or schedule.state(given.lab, context.now) in (State.RUNNING, State.CLOSED)
        ],
        events=list(_events(context)),
        whole=bool(course.url),
        terms=list(_term_links(context, earlier=False)),
        earlier=list(_term_links(context, earlier=True)),
    )


def term_page(context: Context, term: Term) -> PageFile:
    """The labs of a term with their dates."""
    return page(
        f"{term.id}/index.md",
        "term",
        meta=term_meta(
            context, term, title=term.title, description=f"Labs of {term.title} with their dates"
        ),
        course=context.data.course,
        notices=notices.of_term(context, term),
        term=term,
        labs=[context.lab_line(GivenLab(term=term, lab=lab), start="") for lab in term.labs],
    )


def _term_links(context: Context, *, earlier: bool) -> Iterator[dict[str, Any]]:
    for term in context.terms:
        if context.is_earlier(term) is earlier:
            yield {"title": term.title, "link": Markup(f"{term.id}/index.md")}


def _events(context: Context) -> Iterator[dict[str, Any]]:
    for event in schedule.coming(context.terms, context.now):
        given = GivenLab(term=event.term, lab=event.lab)
        yield {
            "at": context.say(event.at),
            "what": event.what,
            "section": event.section.title if event.section else "",
            "title": given.title,
            "link": Markup(f"{given.folder}/index.md"),
        }
