"""All pages of a course at one moment, and every address that it gives out, so that none of them
gets lost later.

What is held back isn't computed into anything that is given. Of a lab that was taken down there is
a sentence a page, and every address that was there. A page of a step, under ``step/``, says where
the step stands this term and in earlier ones: a link to it is for when one doesn't know which lab
somebody works on.
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from datetime import datetime
from itertools import groupby
from typing import Any

from markupsafe import Markup

from fallwork.errors import FallworkError
from fallwork.figures import Figure
from fallwork.lesson import reviewing
from fallwork.lesson.document import Block, FigureSlot
from fallwork.lesson.notation import check_notation
from fallwork.pages import corrections, recordings, schedule, staff
from fallwork.pages.calendar import calendar, dates_page
from fallwork.pages.context import STAFF, STUDENT, Context, Known, LabPage
from fallwork.pages.datafiles import tables_of
from fallwork.pages.general import GENERAL, general_pages
from fallwork.pages.markdown import PageFile, block, plain
from fallwork.pages.printed import Printed, printed, symbols_on
from fallwork.pages.schedule import BENCH, DATA, OVERVIEW, STAFF_PAGES, opened
from fallwork.planning.published import check_published
from fallwork.planning.revealed import check_revealed
from fallwork.scenario import CourseData, Term

EDITIONS = (STUDENT, STAFF)
SKETCH = FigureSlot(kind="sketch")


@dataclass(eq=False)
class EditionError(FallworkError):
    """An edition that no page is written for."""

    edition: str

    def __str__(self) -> str:
        return f'there is no edition "{self.edition}"; there is {" and ".join(EDITIONS)}'


def build_pages(
    data: CourseData,
    *,
    now: datetime,
    edition: str,
    known: Known | None = None,
    handouts: bool = False,
) -> tuple[PageFile, ...]:
    """The pages and drawings that are open at ``now`` (aware), home first, then term by term.

    The newest term comes first. The same arguments give the same bytes. ``known`` holds what was
    worked out for the same data before, and is added to; ``handouts``: some are printed to PDF as
    well, and pages lead to them. Raises ChangedError where a published lab
    would change without a correction, RevealedError where another page holds all of its results,
    ``BadInput`` where a recording shows a step that isn't there.
    """
    if edition not in EDITIONS:
        raise EditionError(edition)
    check_notation(data.course)
    check_published(data, now)
    check_revealed(data, now)
    recordings.check_recordings(data, now)
    return tuple(_pages(replace(_site(data, now, edition, known), handouts=handouts)))


def _site(data: CourseData, now: datetime, edition: str, known: Known | None) -> Context:
    """A build that goes on with what is ``known``; students' pages are made of what is open."""
    there = data if edition == STAFF else opened(data, now)
    return Context(there, now, edition, {} if known is None else known)


def _pages(site: Context) -> Iterator[PageFile]:
    yield _home(site)
    for term in site.terms:
        yield _term(site, term)
        for given in site.labs(term):
            for page in given.all_pages:
                yield from _files(page)
    yield from general_pages(site)
    for listing in step_listings(site):
        yield _step(site, listing)
    yield PageFile(path="calendar.ics", content=calendar(site))
    if site.data.course.url:
        yield dates_page(site)


# ---- the pages of the course


def _home(site: Context) -> PageFile:
    """What is on now, what opens when, and how a lab runs through the term."""
    title, coming = site.data.course.title, schedule.coming(site.terms, site.now)
    about = f"Labs of the course {title}: what is on now and what opens when"
    events = site.with_labs(coming)
    front = {"title": title, "description": about, "nav": True}
    return site.page("index.md", "home", front, events=events)


def _term(site: Context, term: Term) -> PageFile:
    """What is on in a term this week, and its labs with their dates."""
    about, over = f"Labs of {term.title} with their dates", site.is_earlier(term)
    front = {"title": term.title, "description": about, "term": term.id, "nav": True}
    week = site.with_labs(schedule.this_week(term, site.now, site.data.course.zone))
    return site.page(f"{term.id}/index.md", "term", front, over=over, term=term, week=week)


# ---- the pages of a lab


def _files(page: LabPage) -> Iterator[PageFile]:
    """A page with its drawings and the files to download."""
    given, shown = page.given, page.shown
    template = "withdrawn" if given.withdrawn else page.sub.template
    told = () if given.withdrawn else tuple(printed(page))
    figures = {slot: shown.draw(slot) for slot in _slots(page, told)}
    evidence = shown.evidence if page.sub is DATA and not given.withdrawn else None
    tables = () if evidence is None else tables_of(evidence)

    def draw(slot: FigureSlot) -> Markup:
        return _drawing(page, figures[slot])

    def shown_block(content: Block) -> Markup:
        return block(content, shown.digits, draw)

    yield given.site.page(
        page.source,
        template,
        _front(page),
        over=given.earlier or given.withdrawn,
        page=page,
        lesson=shown.lesson,
        parts=[(part, list(steps)) for part, steps in groupby(told, lambda each: each.step.part)],
        symbols=symbols_on(page, told),
        digits=shown.digits,
        block=shown_block,
        drawings=list(map(draw, figures)),
        files=tables,
        corrections=corrections,
        recordings=recordings,
        staff=staff,
        reviewing=reviewing,
    )
    for figure in figures.values():
        yield PageFile(path=f"{given.folder}/{_path(page, figure)}", content=figure.svg)
    for table in tables:
        yield from table.files(given.folder)


def _front(page: LabPage) -> dict[str, Any]:
    """What the front matter of a lab's page tells of it."""
    given, site, over = page.given, page.given.site, page.given.withdrawn
    for_staff = site.staff and page.sub in STAFF_PAGES
    about = ": overview" if page.sub is OVERVIEW and not over else ""
    more = ": taken down" if over else ", for staff" if for_staff else ""
    return {
        "title": page.heading,
        "description": f"{page.heading}{about}, {given.term.title}{more}",
        "page": "overview" if page.sub is OVERVIEW else page.sub.name,
        "term": given.term.id,
        "lab": given.lab.id,
        **({"nav": True} if page.sub is OVERVIEW and not given.earlier else {}),
        **({"staff_only": True} if for_staff else {}),
        **({"held_until": page.held_until} if site.staff and page.held_until else {}),
    }


def _slots(page: LabPage, told: Iterable[Printed]) -> Iterator[FigureSlot]:
    """Every figure of the page, in its order."""
    if page.sub in (OVERVIEW, BENCH) and not page.given.withdrawn:
        yield SKETCH
    for step in (each.step for each in told):
        for content in step.all_blocks:
            if isinstance(content, FigureSlot):
                yield content


def _drawing(page: LabPage, figure: Figure) -> Markup:
    """A figure with its text alternative and caption."""
    return Markup(
        f'<figure markdown="1" id="figure-{figure.id}">\n'
        f"![{plain(figure.description)}]({_path(page, figure)})\n"
        f'<figcaption markdown="span">{plain(figure.caption)}</figcaption>\n'
        "</figure>"
    )


def _path(page: LabPage, figure: Figure) -> str:
    """Where a drawing of the page stands, relative to it."""
    return f"figures/{page.sub.name}-{figure.id}.svg"


# ---- the pages of steps


@dataclass(frozen=True, kw_only=True)
class StepListing:
    """A step's address, and the pages on which the step stands."""

    scenario: str
    id: str  # in the address
    step: str  # the step that it leads to: another one if it was renamed, "" if it's gone
    title: str
    because: str = ""  # why it is gone
    places: tuple[LabPage, ...]  # newest term first

    @property
    def path(self) -> str:
        """From the site's root on, without ``.md`` or ``.html``."""
        return f"step/{self.scenario}/{self.id}"


def step_listings(site: Context) -> Iterator[StepListing]:
    """Every step of every page that is there, scenario by scenario, in the order of the pages."""
    by_scenario: dict[str, list[LabPage]] = {}
    for there in site.everywhere():
        by_scenario.setdefault(there.given.lab.scenario.id, []).append(there)
    for scenario, places in sorted(by_scenario.items()):
        yield from _of_scenario(scenario, places)


def _of_scenario(scenario: str, places: list[LabPage]) -> Iterator[StepListing]:
    titles: dict[str, str] = {}
    for there in places:
        for step in there.steps:
            titles.setdefault(step.id, step.title)
    for id_, title in titles.items():
        standing = tuple(there for there in places if there.holds(id_))
        yield StepListing(scenario=scenario, id=id_, step=id_, title=title, places=standing)
    for former in {step.id: step for there in places for step in there.former}.values():
        yield StepListing(
            scenario=scenario,
            id=former.id,
            step=former.now,
            title=titles.get(former.now, "A step that was taken out"),
            because=former.because,
            places=tuple(there for there in places if former.now and there.holds(former.now)),
        )


def _step(site: Context, listing: StepListing) -> PageFile:
    about, hidden = f"Where the step “{listing.title}” stands", ["navigation", "toc"]
    front = {"title": listing.title, "description": about, "hide": hidden}
    return site.page(f"{listing.path}.md", "step", front, searched=False, listing=listing)


def on_paper(data: CourseData, now: datetime, edition: str) -> tuple[str, ...]:
    """The addresses of the pages that are handed out on paper, of the terms that are on."""
    labs = _site(data, now, edition, None).labs()
    return tuple(page.address for given in labs for page in given.all_pages if page.on_paper)


# ---- addresses


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


def addresses(
    data: CourseData, now: datetime, edition: str = STUDENT, known: Known | None = None
) -> tuple[Address, ...]:
    """All addresses of the edition at ``now`` (aware), former ones of steps included.

    ``known`` as in ``build_pages``.
    """
    return tuple(_addresses(_site(data, now, edition, known)))


def _addresses(site: Context) -> Iterator[Address]:
    yield Address(path="index.html")
    yield Address(path="calendar.ics")  # others subscribe to this one and link to the next
    if site.data.course.url:
        yield Address(path="dates.html")
    yield from (Address(path=f"{name}.html") for name in GENERAL)
    for term in site.terms:
        yield Address(path=f"{term.id}/index.html")
    for given in site.labs():
        yield Address(path=f"{given.folder}/index.html", lab=given.folder)
    for there in site.everywhere():
        path, lab = there.address, there.given.folder
        yield Address(path=path, lab=lab)
        for anchor, now in there.anchors.items():
            step = "" if there.given.withdrawn else now
            yield Address(path=path, anchor=anchor, lab=lab, step=step)
    for listing in step_listings(site):
        yield Address(path=f"{listing.path}.html", step=listing.step)
