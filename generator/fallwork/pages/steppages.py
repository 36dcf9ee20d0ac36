"""One page for each step of a scenario: where it stands, this term and in earlier ones.

Takes the context; gives pages under ``step/``. A link to such a page is for when one doesn't know
which lab somebody works on.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from markupsafe import Markup

from fallwork.pages.context import Context
from fallwork.pages.environment import page
from fallwork.pages.meta import UNSEARCHED, course_meta
from fallwork.pages.model import PageFile
from fallwork.pages.standing import Standing, everywhere


@dataclass(frozen=True, kw_only=True)
class StepListing:
    """A step's address, and the pages on which the step stands."""

    scenario: str
    id: str  # in the address
    step: str  # the step that it leads to: another one if it was renamed, "" if it's gone
    title: str
    because: str  # why it is gone
    places: tuple[Standing, ...]  # newest term first

    @property
    def address(self) -> str:
        """From the site's root on."""
        return f"step/{self.scenario}/{self.id}.html"


def step_listings(context: Context) -> tuple[StepListing, ...]:
    """Every step of every page that is there, scenario by scenario, in the order of the pages."""
    by_scenario: dict[str, list[Standing]] = {}
    for there in everywhere(context):
        by_scenario.setdefault(there.given.lab.scenario.id, []).append(there)
    found = (
        listing
        for scenario in sorted(by_scenario)
        for listing in _of_scenario(scenario, by_scenario[scenario])
    )
    return tuple(found)


def _of_scenario(scenario: str, places: list[Standing]) -> Iterator[StepListing]:
    titles: dict[str, str] = {}
    for there in places:
        for step in there.steps:
            titles.setdefault(step.id, step.title)
    for step_id, title in titles.items():
        yield StepListing(
            scenario=scenario,
            id=step_id,
            step=step_id,
            title=title,
            because="",
            places=tuple(there for there in places if there.holds(step_id)),
        )
    yield from _former(scenario, places, titles)


def _former(scenario: str, places: list[Standing], titles: dict[str, str]) -> Iterator[StepListing]:
    former = {step.id: step for there in places for step in there.former}
    for step in former.values():
        yield StepListing(
            scenario=scenario,
            id=step.id,
            step=step.now,
            title=titles.get(step.now, "A step that was taken out"),
            because=step.because,
            places=tuple(there for there in places if step.now and there.holds(step.now)),
        )


def step_pages(context: Context) -> Iterator[PageFile]:
    """The pages of all steps."""
    for listing in step_listings(context):
        yield page(
            f"step/{listing.scenario}/{listing.id}.md",
            "step",
            meta=course_meta(
                context,
                "step",
                title=listing.title,
                description=f"Where the step “{listing.title}” stands",
                nav=False,
            )
            | {**UNSEARCHED, "hide": ["navigation", "toc"]},
            title=listing.title,
            because=listing.because,
            present=[_place(there, listing.step) for there in _present(context, listing)],
            earlier=[_place(there, listing.step) for there in _earlier(context, listing)],
        )


def _present(context: Context, listing: StepListing) -> Iterator[Standing]:
    return (each for each in listing.places if not context.is_earlier(each.given.term))


def _earlier(context: Context, listing: StepListing) -> Iterator[Standing]:
    return (each for each in listing.places if context.is_earlier(each.given.term))


def _place(there: Standing, step: str) -> dict[str, Any]:
    return {
        "page": there.sub.title,
        "lab": there.given.title,
        "term": there.given.term.title,
        "withdrawn": there.withdrawn,
        "link": Markup(f"../../{there.source}#{step}"),
    }
