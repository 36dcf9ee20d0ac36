"""All pages of a course at one moment, and every address that it gives out, so that none of them
gets lost later.

What is held back isn't computed into anything that is given. Of a lab that was taken down there is
a sentence a page, and every address that was there. A page of a step, under ``step/``, says where
the step stands this term and in earlier ones: a link to it is for when one doesn't know which lab
somebody works on.
"""

import re
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from datetime import datetime
from functools import cached_property, partial
from pathlib import Path
from typing import Any, Self

from fallwork.errors import table
from fallwork.lesson.notation import check_notation
from fallwork.lesson.words import texts
from fallwork.measurement.statistics import coverage_factor
from fallwork.once import digest, for_each
from fallwork.pages import asked, schedule, variants
from fallwork.pages.calendar import calendar, dates_page, events, this_week
from fallwork.pages.context import STAFF, STUDENT, Context, LabPage
from fallwork.pages.finding import searched
from fallwork.pages.made import Listed, Made, Told
from fallwork.pages.markdown import PageFile
from fallwork.pages.schedule import OVERVIEW, opened
from fallwork.planning.published import check_published
from fallwork.planning.revealed import check_revealed
from fallwork.scenario import CourseData, FormerStep, as_written

# Pages that stand once a course: name -> title, and what it is about.
GENERAL: Mapping[str, tuple[str, str]] = table("pages", "words")["general"]
GUIDE = Path(__file__).parents[1] / "guide"  # for staff: how courses are written
_ASKED = {  # what their templates ask for
    "as_written": as_written,
    "coverage_factor": coverage_factor,
    "impacts": texts("impacts"),
}


class Pages:
    """The pages and drawings of a course that are open at ``now`` (aware), each made once."""

    def __init__(
        self, data: CourseData, now: datetime, edition: str = STUDENT, *, handouts: bool = False
    ) -> None:
        """``handouts``: some are printed to PDF as well, and pages lead to them."""
        there = data if edition == STAFF else opened(data, now)  # students' pages are made of that
        self._given, self._site = data, Context(there, now, edition, handouts=handouts)

    def checked(self) -> Self:
        """Raise ChangedError where a published lab would change without a correction, RevealedError
        where another page holds all of its results, ``BadInput`` where a recording shows a step
        that isn't there, or variants need another prelab.
        """
        data, now = self._given, self._site.now
        check_notation(data.course)
        check_published(data, now)
        check_revealed(data, now)
        variants.check_variants(data)
        asked.check_recordings(data, now)
        return self

    @cached_property
    def _labs(self) -> Mapping[str, Made]:
        """By the folder of each lab what its pages are, newest term first."""
        labs = {given.folder: Made(given) for given in self._site.labs()}
        fresh = [each for each in labs.values() if not each.is_kept]
        for each, made in zip(fresh, for_each(Made.work_out, fresh, "labs"), strict=True):
            each.hand_in(made)
        return labs

    @property
    def files(self) -> tuple[PageFile, ...]:
        """All of them, made. The same course gives the same bytes."""
        return tuple(each.load() for each in self.listed)

    @property
    def listed(self) -> Iterator[Listed]:
        """Home first, then term by term, the newest first."""
        site = self._site
        title, coming = site.data.course.title, [e for e in events(site) if e.at > site.now]
        about = f"Labs of the course {title}: what is on now and what opens when"
        front: dict[str, Any] = {"title": title, "description": about, "nav": True}
        yield Listed.of(site.page("index.md", "home", front, events=coming))
        for term in site.terms:
            about = f"Labs of {term.title} with their dates"
            over, week, path = site.is_earlier(term), this_week(site, term), f"{term.id}/index.md"
            front = {"title": term.title, "description": about, "term": term.id}
            front |= {} if over else {"nav": True}  # else every page would grow with the terms
            yield Listed.of(site.page(path, "term", front, over=over, term=term, week=week))
            for given in site.labs(term):
                yield from self._labs[given.folder].listed
        for name, (title, about) in GENERAL.items():
            front = {"title": title, "description": about, "nav": True}
            load = partial(site.page, f"{name}.md", name, front, **_ASKED)
            yield Listed(
                f"{name}.md", front, digest(name, front, site.data.course, site.staff), load
            )
        if site.staff and site.data.course.guide:
            yield from map(_guide, _in_order(GUIDE / "index.md"))
        yield from map(self._step, step_listings(self._labs.values()))
        yield Listed.of(searched(site))
        yield Listed.of(PageFile(path="calendar.ics", body=calendar(site)))
        if site.data.course.url:
            yield Listed.of(dates_page(site))

    def _step(self, listing: "StepListing") -> Listed:
        site, path, places = self._site, f"{listing.path}.md", listing.places
        about, hidden = f"Where the step “{listing.title}” stands", ["navigation", "toc"]
        front = {"title": listing.title, "description": about, "hide": hidden}
        lab = places[0].given if places else None
        said = [
            (e.heading, e.source, e.given.term.title, e.given.earlier, e.given.withdrawn)
            for e in places
        ]
        words = lab and (lab.lab.variant.notation, lab.lab.variant.nouns.by_name)
        key = digest(
            path, front, listing.step, listing.because, said, words, site.data.course, site.staff
        )
        load = partial(site.page, path, "step", front, of=lab, searched=False, listing=listing)
        return Listed(path, front, key, load)

    @cached_property
    def addresses(self) -> tuple[str, ...]:
        """All of them, from the site's root on: of pages, of steps on them
        (``2027-spring/level-track/prelab.html#tension``), former ones included, and of the
        calendar, to which others subscribe.
        """
        site = self._site
        dates = ["dates.html"] if site.data.course.url else []
        found = ["index.html", "calendar.ics", *dates, *(f"{name}.html" for name in GENERAL)]
        found += [f"{term.id}/index.html" for term in site.terms]
        found += [f"{folder}/index.html" for folder in self._labs]
        for page, told in (each for made in self._labs.values() for each in made.pages):
            found += [page.address, *(f"{page.address}#{anchor}" for anchor in told.anchors)]
        return (*found, *(f"{each.path}.html" for each in step_listings(self._labs.values())))

    @property
    def on_paper(self) -> tuple[str, ...]:
        """The addresses of pages that are handed out on paper, of the terms that are on."""
        every = (page for given in self._site.labs() for page in given.all_pages)
        return tuple(page.address for page in every if page.on_paper)


def _in_order(index: Path) -> Iterator[Path]:
    """A page and those to which it leads."""
    named = re.findall(r"\]\(([\w-]+\.md)\)", index.read_text("utf-8"))
    return map(index.with_name, (index.name, *named))


def _guide(page: Path) -> Listed:
    """A page of how courses are written, as it stands in the program."""
    body = page.read_text("utf-8")
    title = body.partition("\n")[0].removeprefix("# ")
    front = {"page": "guide", "title": title, "nav": True, "staff": True, "robots": "noindex"}
    return Listed.of(PageFile(path=f"guide/{page.name}", body=body, front=front))


def build_pages(data: CourseData, *, now: datetime, edition: str) -> tuple[PageFile, ...]:
    """The files of checked ``Pages``."""
    return Pages(data, now, edition).checked().files


def addresses(data: CourseData, now: datetime, edition: str = STUDENT) -> tuple[str, ...]:
    """Those of all ``Pages``."""
    return Pages(data, now, edition).addresses


# ---- addresses


@dataclass(frozen=True, kw_only=True)
class StepListing:
    """A step's address, and the pages on which the step stands."""

    path: str  # from the site's root on, without ``.md`` or ``.html``
    step: str  # the step that it leads to: another one if it was renamed, "" if it's gone
    title: str
    because: str  # why it is gone
    places: tuple[LabPage, ...]  # newest term first


def step_listings(labs: Iterable[Made]) -> Iterator[StepListing]:
    """Every step of every page that is there, scenario by scenario, in the order of the pages."""
    by_scenario: dict[str, list[tuple[LabPage, Told]]] = {}
    for made in labs:
        by_scenario.setdefault(made.given.lab.scenario.id, []).extend(made.pages)
    for scenario, pages in sorted(by_scenario.items()):
        titles: dict[str, str] = {}
        standing: dict[str, list[LabPage]] = {}
        former: dict[str, FormerStep] = {}
        for there, told in pages:
            former |= {step.id: step for step in told.former}
            for step, title in told.steps.items():
                titles.setdefault(step, title)
                standing.setdefault(step, []).append(there)
        for each in (*(FormerStep(id=id_, now=id_) for id_ in titles), *former.values()):
            yield StepListing(
                path=f"step/{scenario}/{each.id}",
                step=each.now,
                title=titles.get(each.now, "A step that was taken out"),
                because=each.because,
                places=tuple(standing.get(each.now, ())),
            )


def pages_of(data: CourseData) -> Iterator[str]:
    """The paths of all pages for students whatever is open, those of steps left out."""
    yield from ("index", *(["dates"] if data.course.url else []), *GENERAL)
    for term in data.terms:
        yield f"{term.id}/index"
        subs = [sub.name for sub in (OVERVIEW, *schedule.SUB_PAGES)]
        yield from (f"{term.id}/{lab.id}/{name}" for lab in term.labs for name in subs)
