"""Every address that the site gives out at a moment, so that none of them gets lost later.

Takes a course's data, the moment and the edition; gives addresses from the site's root on.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime

from fallwork.pages.calendar import calendar_addresses
from fallwork.pages.context import Context, Known, context_of
from fallwork.pages.opened import opened
from fallwork.pages.standing import everywhere
from fallwork.pages.steppages import step_listings
from fallwork.scenario import CourseData


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
    data: CourseData, now: datetime, edition: str = "student", known: Known | None = None
) -> tuple[Address, ...]:
    """All addresses of the edition at ``now`` (aware), former ones of steps included.

    ``known`` as in ``build_pages``.
    """
    return tuple(_addresses(context_of(opened(data, now, edition), now, edition, known)))


def _addresses(context: Context) -> Iterator[Address]:
    yield Address(path="index.html")
    yield from (Address(path=path) for path in calendar_addresses(context))
    for term in context.terms:
        yield Address(path=f"{term.id}/index.html")
    for given in context.labs():
        yield Address(path=f"{given.folder}/index.html", lab=given.folder)
    for there in everywhere(context):
        lab = there.given.folder
        yield Address(path=there.address, lab=lab)
        for step in there.steps:
            now = "" if there.withdrawn else step.id
            yield Address(path=there.address, anchor=step.id, lab=lab, step=now)
        for former in there.former:
            now = "" if there.withdrawn else former.now
            yield Address(path=there.address, anchor=former.id, lab=lab, step=now)
    for listing in step_listings(context):
        yield Address(path=listing.address, step=listing.step)
