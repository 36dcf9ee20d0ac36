"""All pages of a course at one moment, and every address that it gives out, so that none of them
gets lost later.

What is held back isn't computed into anything that is given. Of a lab that was taken down there is
a sentence a page, and every address that was there. A page of a step, under ``step/``, says where
the step stands this term and in earlier ones: a link to it is for when one doesn't know which lab
somebody works on.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from datetime import datetime
from itertools import groupby
from typing import Any

from markupsafe import Markup

from fallwork.errors import FallworkError, table
from fallwork.figures import Figure
from fallwork.lesson import reviewing
from fallwork.lesson.document import FigureSlot
from fallwork.lesson.notation import check_notation
from fallwork.lesson.words import texts
from fallwork.measurement.statistics import coverage_factor
from fallwork.pages import asked, schedule, scriptdata, variants
from fallwork.pages.asked import printed, symbols_on
from fallwork.pages.calendar import calendar, dates_page, events, this_week
from fallwork.pages.context import STAFF, STUDENT, Context, Known, LabPage
from fallwork.pages.datafiles import tables_of
from fallwork.pages.finding import searched
from fallwork.pages.markdown import PageFile, block, plain
from fallwork.pages.schedule import BENCH, DATA, OVERVIEW, STAFF_PAGES, opened
from fallwork.planning.published import check_published
from fallwork.planning.revealed import check_revealed
from fallwork.scenario import CourseData, FormerStep, as_written

EDITIONS = (STUDENT, STAFF)
SKETCH = FigureSlot(kind="sketch")
# Pages that stand once a course: name -> title, and what it is about.
GENERAL: Mapping[str, tuple[str, str]] = table("pages", "words")["general"]
_ASKED = {  # what their templates ask for
    "as_written": as_written,
    "coverage_factor": coverage_factor,
    "impacts": texts("impacts"),
}
_ASKED_OF_LABS: dict[str, Any] = {
    "asked": asked,
    "own": scriptdata,
    "reviewing": reviewing,
    "varied": variants,
}


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
        raise FallworkError(f'there is no edition "{edition}"; there is {" and ".join(EDITIONS)}')
    check_notation(data.course)
    check_published(data, now)
    check_revealed(data, now)
    variants.check_variants(data)
    asked.check_recordings(data, now)
    return tuple(_pages(replace(_site(data, now, edition, known), handouts=handouts)))


def _site(data: CourseData, now: datetime, edition: str, known: Known | None) -> Context:
    """A build that goes on with what is ``known``; students' pages are made of what is open."""
    there = data if edition == STAFF else opened(data, now)
    return Context(there, now, edition, {} if known is None else known)


def _pages(site: Context) -> Iterator[PageFile]:
    title, coming = site.data.course.title, [e for e in events(site) if e.at > site.now]
    about = f"Labs of the course {title}: what is on now and what opens when"
    front: dict[str, Any] = {"title": title, "description": about, "nav": True}
    yield site.page("index.md", "home", front, events=coming)
    for term in site.terms:
        about = f"Labs of {term.title} with their dates"
        front = {"title": term.title, "description": about, "term": term.id, "nav": True}
        over, week, path = site.is_earlier(term), this_week(site, term), f"{term.id}/index.md"
        yield site.page(path, "term", front, over=over, term=term, week=week)
        for given in site.labs(term):
            for page in given.all_pages:
                yield from _files(page)
    for name, (title, about) in GENERAL.items():
        front = {"title": title, "description": about, "nav": True}
        yield site.page(f"{name}.md", name, front, **_ASKED)
    for each in step_listings(site):
        about, hidden = f"Where the step “{each.title}” stands", ["navigation", "toc"]
        front = {"title": each.title, "description": about, "hide": hidden}
        lab = each.places[0].given if each.places else None
        yield site.page(f"{each.path}.md", "step", front, of=lab, searched=False, listing=each)
    yield from searched(site)
    yield PageFile(path="calendar.ics", content=calendar(site))
    if site.data.course.url:
        yield dates_page(site)


# ---- the pages of a lab


def _files(page: LabPage) -> Iterator[PageFile]:
    """A page with its drawings and the files to download."""
    given, shown = page.given, page.shown
    there = not given.withdrawn
    told = tuple(printed(page)) if there else ()
    slots = [SKETCH] if there and page.sub in (OVERVIEW, BENCH) else []
    blocks = (content for each in told for content in each.step.all_blocks)
    slots += [content for content in blocks if isinstance(content, FigureSlot)]
    figures = {slot: shown.draw(slot) for slot in slots}
    paths = {slot: f"figures/{page.sub.name}-{each.id}.svg" for slot, each in figures.items()}
    tables = tables_of(shown.evidence) if page.sub is DATA and there and shown.evidence else ()

    marks = scriptdata.marks_of(page)
    drawn = {slot: _drawn(figure, paths[slot]) for slot, figure in figures.items()}
    draw = drawn.__getitem__
    yield given.site.page(
        page.source,
        page.sub.template if there else "withdrawn",
        _front(page) | scriptdata.data_of(page, (each.step for each in told)),
        of=given,
        over=given.earlier or given.withdrawn,
        page=page,
        lesson=shown.lesson,
        parts=[(part, list(steps)) for part, steps in groupby(told, lambda each: each.step.part)],
        symbols=symbols_on(page, told),
        digits=shown.digits,
        blocks=lambda some: Markup("").join(block(e, shown.digits, draw, marks) for e in some),
        marks=marks,
        drawings=list(drawn.values()),
        files=tables,
        **_ASKED_OF_LABS,
    )
    for slot, figure in figures.items():
        yield PageFile(path=f"{given.folder}/{paths[slot]}", content=figure.svg)
    for each in tables:
        yield from each.files(given.folder)


def _drawn(figure: Figure, path: str) -> Markup:
    """A figure with its text alternative and caption."""
    return Markup(
        f'<figure markdown="1" id="figure-{figure.id}">\n'
        f"![{plain(figure.description)}]({path})\n"
        f'<figcaption markdown="span">{plain(figure.caption)}</figcaption>\n'
        "</figure>"
    )


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


# ---- addresses


@dataclass(frozen=True, kw_only=True)
class StepListing:
    """A step's address, and the pages on which the step stands."""

    path: str  # from the site's root on, without ``.md`` or ``.html``
    step: str  # the step that it leads to: another one if it was renamed, "" if it's gone
    title: str
    because: str  # why it is gone
    places: tuple[LabPage, ...]  # newest term first


def step_listings(site: Context) -> Iterator[StepListing]:
    """Every step of every page that is there, scenario by scenario, in the order of the pages."""
    by_scenario: dict[str, list[LabPage]] = {}
    for there in site.everywhere():
        by_scenario.setdefault(there.given.lab.scenario.id, []).append(there)
    for scenario, pages in sorted(by_scenario.items()):
        titles: dict[str, str] = {}
        for step in (step for there in pages for step in there.steps):
            titles.setdefault(step.id, step.title)
        former = {step.id: step for there in pages for step in there.former}
        for each in (*(FormerStep(id=id_, now=id_) for id_ in titles), *former.values()):
            yield StepListing(
                path=f"step/{scenario}/{each.id}",
                step=each.now,
                title=titles.get(each.now, "A step that was taken out"),
                because=each.because,
                places=tuple(there for there in pages if each.now and there.holds(each.now)),
            )


def addresses(
    data: CourseData, now: datetime, edition: str = STUDENT, known: Known | None = None
) -> tuple[str, ...]:
    """All addresses of the edition at ``now`` (aware), from the site's root on: of pages, of steps
    on them (``2027-spring/level-track/prelab.html#tension``), former ones included, and of the
    calendar, to which others subscribe. ``known`` as in ``build_pages``.
    """
    site = _site(data, now, edition, known)
    found = ["index.html", "calendar.ics", *(["dates.html"] if data.course.url else [])]
    found += [f"{name}.html" for name in GENERAL]
    found += [f"{term.id}/index.html" for term in site.terms]
    found += [f"{given.folder}/index.html" for given in site.labs()]
    for there in site.everywhere():
        found += [there.address, *(f"{there.address}#{anchor}" for anchor in there.anchors)]
    return (*found, *(f"{listing.path}.html" for listing in step_listings(site)))


def pages_of(data: CourseData) -> Iterator[str]:
    """The paths of all pages for students whatever is open, those of steps left out."""
    yield from ("index", *(["dates"] if data.course.url else []), *GENERAL)
    for term in data.terms:
        yield f"{term.id}/index"
        subs = [sub.name for sub in (OVERVIEW, *schedule.SUB_PAGES)]
        yield from (f"{term.id}/{lab.id}/{name}" for lab in term.labs for name in subs)


def on_paper(data: CourseData, now: datetime, edition: str) -> tuple[str, ...]:
    """The addresses of the pages that are handed out on paper, of the terms that are on."""
    labs = _site(data, now, edition, None).labs()
    return tuple(page.address for given in labs for page in given.all_pages if page.on_paper)
