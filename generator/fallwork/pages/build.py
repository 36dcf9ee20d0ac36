"""All pages of a course at one moment, and every address that it gives out, so that none of them
gets lost later.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime

from fallwork.errors import FallworkError
from fallwork.pages.calendar import calendar_pages
from fallwork.pages.context import STAFF, STUDENT, Context, Known
from fallwork.pages.coursepages import home_page, step_listings, step_pages, term_page
from fallwork.pages.environment import PageFile
from fallwork.pages.labpages import lab_pages
from fallwork.pages.schedule import opened
from fallwork.pages.staffpages import staff_pages
from fallwork.planning import check_published, check_revealed
from fallwork.scenario import CourseData

EDITIONS = (STUDENT, STAFF)


@dataclass(eq=False)
class EditionError(FallworkError):
    """An edition that no page is written for."""

    edition: str

    def __str__(self) -> str:
        return f'there is no edition "{self.edition}"; there is {" and ".join(EDITIONS)}'


@dataclass(frozen=True, kw_only=True, order=True)
class Address:
    """A page, a step on it, or the calendar."""

    path: str  # "2027-spring/level-track/prelab.html"
    anchor: str = ""  # the step's id, or ""
    lab: str = ""  # "2027-spring/level-track"; "" for what belongs to none
    step: str = ""  # the step that stands there now; "" for a page, or where none does any more

    @property
    def text(self) -> str:
        """As it stands in a link, from the site's root on."""
        return f"{self.path}#{self.anchor}" if self.anchor else self.path


def _site(data: CourseData, now: datetime, edition: str, known: Known | None) -> Context:
    """A build that goes on with what is ``known``; students' pages are made of what is open."""
    there = data if edition == STAFF else opened(data, now)
    return Context(there, now, edition, {} if known is None else known)


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
    return tuple(_pages(_site(data, now, edition, known)))


def _pages(site: Context) -> Iterator[PageFile]:
    yield home_page(site)
    for term in site.terms:
        yield term_page(site, term)
        for given in site.labs(term):
            yield from lab_pages(given)
            if site.staff:
                yield from staff_pages(given)
    yield from step_pages(site)
    yield from calendar_pages(site)


def addresses(
    data: CourseData, now: datetime, edition: str = STUDENT, known: Known | None = None
) -> tuple[Address, ...]:
    """All addresses of the edition at ``now`` (aware), former ones of steps included.

    ``known`` as in ``build_pages``.
    """
    return tuple(_addresses(_site(data, now, edition, known)))


def _addresses(site: Context) -> Iterator[Address]:
    yield Address(path="index.html")
    for page in calendar_pages(site):  # others subscribe to the one and link to the other
        yield Address(path=page.path.replace(".md", ".html"))
    for term in site.terms:
        yield Address(path=f"{term.id}/index.html")
    for given in site.labs():
        yield Address(path=f"{given.folder}/index.html", lab=given.folder)
    for there in site.everywhere():
        path, lab = there.address, there.given.folder
        yield Address(path=path, lab=lab)
        ids = [(step.id, step.id) for step in there.steps]
        for id_, now in (*ids, *((former.id, former.now) for former in there.former)):
            yield Address(path=path, anchor=id_, lab=lab, step="" if there.given.withdrawn else now)
    for listing in step_listings(site):
        yield Address(path=listing.address, step=listing.step)
