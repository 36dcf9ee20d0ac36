"""What every page of one build shares: the course, the moment and how a lab is spoken of."""

from dataclasses import dataclass
from datetime import UTC, datetime
from functools import cached_property
from zoneinfo import ZoneInfo

from markupsafe import Markup

from fallwork.mechanics.course import gravity_of
from fallwork.pages import dates, schedule
from fallwork.pages.schedule import State, SubPage
from fallwork.planning import example_of
from fallwork.scenario.model import CourseData, Lab, Scenario, Term


@dataclass(frozen=True, kw_only=True)
class LabLine:
    """A lab as lists of labs show it; dates in words."""

    id: str
    title: str
    term: str
    link: Markup  # to its overview, from the page that shows the line
    state: State
    opens: str
    due: str
    solution_opens: str


@dataclass(frozen=True, kw_only=True)
class PageLink:
    """One place in the row of a lab's pages: a link, the page itself, or a page held back."""

    words: str
    target: Markup | None = None
    here: bool = False
    opens: str = ""
    about: str = ""


@dataclass(frozen=True)
class Context:
    """One build of the student edition."""

    data: CourseData
    now: datetime  # aware

    @cached_property
    def zone(self) -> ZoneInfo:
        """The course's time zone."""
        return ZoneInfo(self.data.course.time_zone)

    @cached_property
    def terms(self) -> tuple[Term, ...]:
        """The one whose labs open last comes first; ids say nothing about the calendar."""
        never = datetime.min.replace(tzinfo=UTC)

        def opens(term: Term) -> datetime:
            return min((lab.opens for lab in term.labs), default=never)

        return tuple(sorted(self.data.terms, key=opens, reverse=True))

    @cached_property
    def gravity(self) -> float:
        """Local acceleration of free fall, m/s²."""
        return gravity_of(self.data.course)

    def example(self, term: Term, lab: Lab) -> Scenario:
        """The numbers of the lab's worked example, chosen where the file leaves it to us."""
        return example_of(
            lab,
            gravity=self.gravity,
            figures=self.data.course.significant_figures,
            published=self.data.published.get((term.id, lab.id)),
        )

    def say(self, moment: datetime) -> str:
        """A moment in words."""
        return dates.in_words(moment, self.zone)

    def lab_line(self, term: Term, lab: Lab, *, start: str) -> LabLine:
        """A lab for a list; ``start`` is the path from the page to the term's folder."""
        return LabLine(
            id=lab.id,
            title=lab.title,
            term=term.title,
            link=Markup(f"{start}{lab.id}/index.md"),
            state=schedule.state(lab, self.now),
            opens=self.say(lab.opens),
            due=self.say(lab.due),
            solution_opens=self.say(lab.solution_opens),
        )

    def page_links(self, lab: Lab, *, here: str) -> tuple[PageLink, ...]:
        """The row of a lab's pages as it stands on the page named ``here``."""
        overview = PageLink(
            words="Overview",
            here=here == "index",
            target=None if here == "index" else Markup("index.md"),
        )
        return (overview, *(self._sub_page(sub, lab, here) for sub in schedule.SUB_PAGES))

    def _sub_page(self, sub: SubPage, lab: Lab, here: str) -> PageLink:
        linked = sub.name != here and schedule.is_open(sub, lab, self.now)
        return PageLink(
            words=sub.title,
            here=sub.name == here,
            target=Markup(f"{sub.name}.md") if linked else None,
            opens=self.say(sub.opens(lab)),
            about=sub.about,
        )
