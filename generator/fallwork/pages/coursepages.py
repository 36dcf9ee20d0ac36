"""The pages about the course: home and one for each term.

Takes the context of the build; gives pages. What a lab is about stands in ``labpages``.
"""

from collections.abc import Iterator
from typing import Any

from markupsafe import Markup

from fallwork.pages import dates, schedule
from fallwork.pages.context import Context
from fallwork.pages.environment import page
from fallwork.pages.model import PageFile
from fallwork.pages.schedule import State
from fallwork.scenario.model import Term


def home_page(context: Context) -> PageFile:
    """What is on now, what opens when, and how a lab runs through the term."""
    course = context.data.course
    return page(
        "index.md",
        "home",
        meta={
            "title": course.title,
            "description": f"Labs of the course {course.title}: what is on now and what opens when",
            "page": "home",
            "nav": True,
        },
        course=course,
        today=dates.day_in_words(context.now, context.zone),
        now=[
            context.lab_line(term, lab, start=f"{term.id}/")
            for term in context.terms
            for lab in term.labs
            if schedule.state(lab, context.now) in (State.RUNNING, State.CLOSED)
        ],
        events=list(_events(context)),
        terms=[
            {"title": term.title, "link": Markup(f"{term.id}/index.md")} for term in context.terms
        ],
    )


def term_page(context: Context, term: Term) -> PageFile:
    """The labs of a term with their dates."""
    return page(
        f"{term.id}/index.md",
        "term",
        meta={
            "title": term.title,
            "description": f"Labs of {term.title} with their dates",
            "page": "term",
            "term": term.id,
            "nav": True,
        },
        course=context.data.course,
        term=term,
        labs=[context.lab_line(term, lab, start="") for lab in term.labs],
    )


def _events(context: Context) -> Iterator[dict[str, Any]]:
    for event in schedule.coming(context.terms, context.now):
        yield {
            "at": context.say(event.at),
            "what": event.what,
            "title": event.lab.title,
            "link": Markup(f"{event.term.id}/{event.lab.id}/index.md"),
        }
