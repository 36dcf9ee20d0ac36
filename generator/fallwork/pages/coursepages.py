"""The pages about the course: home, one for each term, and one for each step of a scenario.

Takes the context of the build; gives pages. What a lab is about stands in ``labpages``. A page of a
step, under ``step/``, says where the step stands this term and in earlier ones: a link to it is for
when one doesn't know which lab somebody works on.
"""

from collections.abc import Iterator
from dataclasses import dataclass

from fallwork.pages import notices, schedule
from fallwork.pages.context import Context, GivenLab, LabPage
from fallwork.pages.environment import PageFile
from fallwork.scenario import Term


def home_page(site: Context) -> PageFile:
    """What is on now, what opens when, and how a lab runs through the term."""
    title = site.data.course.title
    about = f"Labs of the course {title}: what is on now and what opens when"
    events = [
        (event, GivenLab(term=event.term, lab=event.lab, site=site))
        for event in schedule.coming(site.terms, site.now)
    ]
    return site.page("index.md", "home", site.meta("home", title, about, nav=True), events=events)


def term_page(site: Context, term: Term) -> PageFile:
    """The labs of a term with their dates."""
    about, over = f"Labs of {term.title} with their dates", site.is_earlier(term)
    meta = site.meta("term", term.title, about, nav=True, over=over, term=term.id)
    return site.page(f"{term.id}/index.md", "term", meta, term=term, notices=notices)


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
    def address(self) -> str:
        """From the site's root on."""
        return f"step/{self.scenario}/{self.id}.html"


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


def step_pages(site: Context) -> Iterator[PageFile]:
    """The pages of all steps."""
    for listing in step_listings(site):
        about = f"Where the step “{listing.title}” stands"
        meta = site.meta("step", listing.title, about, searched=False)
        meta["hide"] = ["navigation", "toc"]
        yield site.page(f"step/{listing.scenario}/{listing.id}.md", "step", meta, listing=listing)
