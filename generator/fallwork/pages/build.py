"""All pages of a course at one moment."""

from collections.abc import Iterator
from datetime import datetime

from fallwork.errors import FallworkError
from fallwork.pages.calendar import calendar_pages
from fallwork.pages.context import STAFF, STUDENT, Context, Known, context_of
from fallwork.pages.coursepages import home_page, term_page
from fallwork.pages.given import GivenLab
from fallwork.pages.labpages import lab_pages
from fallwork.pages.model import PageFile
from fallwork.pages.opened import opened
from fallwork.pages.staffpages import staff_pages
from fallwork.pages.steppages import step_pages
from fallwork.planning import check_published, check_revealed
from fallwork.scenario import CourseData

EDITIONS = (STUDENT, STAFF)


class EditionError(FallworkError):
    """An edition that no page is written for."""

    def __init__(self, edition: str) -> None:
        super().__init__(edition)
        self.edition = edition

    def __str__(self) -> str:
        return f'there is no edition "{self.edition}"; there is {" and ".join(EDITIONS)}'


def build_pages(
    data: CourseData, *, now: datetime, edition: str, known: Known | None = None
) -> tuple[PageFile, ...]:
    """The pages and drawings that are open at ``now`` (aware), home first, then term by term.

    The newest term comes first. The same arguments give the same bytes. ``known`` holds what was
    worked out for the same data before, and is added to. Raises ChangedError where a published lab
    would change without a correction, RevealedError where another page holds all of its results.
    """
    if edition not in EDITIONS:
        raise EditionError(edition)
    check_published(data, now)
    check_revealed(data, now)
    return tuple(_pages(context_of(opened(data, now, edition), now, edition, known)))


def _pages(context: Context) -> Iterator[PageFile]:
    yield home_page(context)
    for term in context.terms:
        yield term_page(context, term)
        for lab in term.labs:
            given = GivenLab(term=term, lab=lab)
            yield from lab_pages(context, given)
            if context.staff:
                yield from staff_pages(context, given)
    yield from step_pages(context)
    yield from calendar_pages(context)
