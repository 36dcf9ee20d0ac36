"""What every page of one build shares: the course, the moment, the edition, and the lessons.

Takes a course's data, a moment and an edition; gives labs worked through (each once), what of
them is open, and how a lab is spoken of.
"""

from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import datetime
from functools import cached_property
from zoneinfo import ZoneInfo

from markupsafe import Markup

from fallwork.mechanics.course import gravity_of
from fallwork.pages import dates, schedule
from fallwork.pages.given import GivenLab
from fallwork.pages.measured import IN_SYMBOLS, with_measuring
from fallwork.pages.schedule import EXAMPLE, PRELAB, SUB_PAGES, State, SubPage
from fallwork.pages.worked import Worked, worked
from fallwork.planning import Revealed, example_of, revealed
from fallwork.scenario import CourseData, Lab, Scenario, Term

STUDENT, STAFF = "student", "staff"
Known = dict[tuple[str, str, str], Worked]  # by term, lab and page; of one course's data


@dataclass(frozen=True, kw_only=True)
class SectionLine:
    """The dates of one section, in words."""

    title: str
    opens: str
    data_opens: str  # "" where trials have no date
    due: str


@dataclass(frozen=True, kw_only=True)
class LabLine:
    """A lab as lists of labs show it; dates in words."""

    id: str
    title: str
    term: str
    link: Markup  # to its overview, from the page that shows the line
    steps: Markup | None  # to the staff's list of its steps
    state: State
    opens: str
    data_opens: str  # "" where trials have no date
    due: str
    due_last: str
    solution_opens: str
    sections: tuple[SectionLine, ...]


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
    """One build of an edition at a moment."""

    data: CourseData
    now: datetime  # aware
    edition: str = STUDENT
    known: Known = field(default_factory=dict)  # what was worked out before, and what will be
    telling: bool = True  # pages say how well results are known, which takes most of the time

    @cached_property
    def zone(self) -> ZoneInfo:
        """The course's time zone."""
        return ZoneInfo(self.data.course.time_zone)

    @cached_property
    def gravity(self) -> float:
        """Local acceleration of free fall, m/s²."""
        return gravity_of(self.data.course)

    @cached_property
    def revealed(self) -> tuple[Revealed, ...]:
        """What can be read elsewhere of labs that are held back."""
        return revealed(self.data, self.now)

    @property
    def digits(self) -> int:
        """Significant figures of results."""
        return self.data.course.significant_figures

    @property
    def staff(self) -> bool:
        """Whether this is the edition for staff."""
        return self.edition == STAFF

    # ---- terms and labs

    @cached_property
    def terms(self) -> tuple[Term, ...]:
        """The one whose labs open last comes first; ids say nothing about the calendar."""
        return tuple(sorted(self.data.terms, key=schedule.starts, reverse=True))

    def labs(self) -> Iterator[GivenLab]:
        """All labs, newest term first."""
        for term in self.terms:
            for lab in term.labs:
                yield GivenLab(term=term, lab=lab)

    def is_earlier(self, term: Term) -> bool:
        """Whether a later term has taken the place of this one."""
        return schedule.is_earlier(term, self.data.terms, self.now)

    def shows(self, sub: SubPage, lab: Lab) -> bool:
        """Whether this edition holds the page: staff see what is held back."""
        if self.staff and not schedule.is_withdrawn(lab, self.now):
            return sub.opens(lab) is not None
        return schedule.is_open(sub, lab, self.now)

    def shown(self, given: GivenLab) -> tuple[SubPage, ...]:
        """The pages of a lab that this edition holds, in the order in which they are read."""
        return tuple(sub for sub in SUB_PAGES if self.shows(sub, given.lab))

    def held_until(self, given: GivenLab, page: str) -> str:
        """When students get the page of this name, in words; "" if they have it."""
        for sub in SUB_PAGES:
            opens = sub.opens(given.lab)
            if sub.name == page and opens is not None and self.now < opens:
                return self.say(opens)
        return ""

    # ---- what is worked out, once for each lab and page

    def worked(self, given: GivenLab, sub: SubPage) -> Worked:
        """The numbers that a page shows, worked through; the prelab in symbols only."""
        key = (*given.key, sub.name)
        if key not in self.known:
            base = worked(
                self.example(given) if sub is EXAMPLE else given.lab.variant,
                gravity=self.gravity,
                digits=self.digits,
                numbers=sub is not PRELAB and sub.name not in IN_SYMBOLS,
                telling=self.telling,
            )
            self.known[key] = with_measuring(base, given.lab, sub, self.data.course)
        return self.known[key]

    def example(self, given: GivenLab) -> Scenario:
        """The numbers of the lab's worked example, chosen where the file leaves it to us."""
        return example_of(
            given.lab,
            gravity=self.gravity,
            figures=self.digits,
            published=self.data.published.get(given.key),
        )

    # ---- words

    def say(self, moment: datetime) -> str:
        """A moment in words."""
        return dates.in_words(moment, self.zone)

    def say_day(self, moment: datetime) -> str:
        """A day in words."""
        return dates.day_in_words(moment, self.zone)

    def absolute(self, address: str) -> str:
        """An address with that of the site before it, as far as the course says where it stands."""
        url = self.data.course.url
        return f"{url.rstrip('/')}/{address}" if url else address

    def lab_line(self, given: GivenLab, *, start: str) -> LabLine:
        """A lab for a list; ``start`` is the path from the page to the term's folder."""
        lab = given.lab
        return LabLine(
            id=lab.id,
            title=given.title,
            term=given.term.title,
            link=Markup(f"{start}{lab.id}/index.md"),
            steps=Markup(f"{start}{lab.id}/steps.md") if self._has_staff_pages(lab) else None,
            state=schedule.state(lab, self.now),
            opens=self.say(lab.opens_first),
            data_opens=self._say_if(lab.data_opens_last),
            due=self.say(lab.due),
            due_last=self.say(lab.due_last),
            solution_opens=self.say(lab.solution_opens),
            sections=tuple(
                SectionLine(
                    title=section.title,
                    opens=self.say(section.opens),
                    data_opens=self._say_if(section.data_opens),
                    due=self.say(section.due),
                )
                for section in lab.sections.values()
            ),
        )

    def _has_staff_pages(self, lab: Lab) -> bool:
        return self.staff and not schedule.is_withdrawn(lab, self.now)

    def _say_if(self, moment: datetime | None) -> str:
        return self.say(moment) if moment else ""

    def page_links(self, given: GivenLab, *, here: str) -> tuple[PageLink, ...]:
        """The row of a lab's pages as it stands on the page named ``here``."""
        found = [self._link("index", "Overview", here)]
        for sub in SUB_PAGES:
            opens = sub.opens(given.lab)
            if opens is not None:
                found.append(
                    PageLink(
                        words=sub.title,
                        here=sub.name == here,
                        target=self._target(sub.name, here, self.shows(sub, given.lab)),
                        opens=self.say(opens),
                        about=sub.about,
                    )
                )
        if self.staff:
            found += [self._link(name, words, here) for name, words in STAFF_PAGES.items()]
        return tuple(found)

    def _link(self, name: str, words: str, here: str) -> PageLink:
        return PageLink(
            words=words, here=name == here, target=self._target(name, here, True), about=words
        )

    def _target(self, name: str, here: str, there: bool) -> Markup | None:
        return Markup(f"{name}.md") if there and name != here else None


STAFF_PAGES = {"steps": "Steps", "notes": "Notes"}  # name -> title


def context_of(
    data: CourseData, now: datetime, edition: str = STUDENT, known: Known | None = None
) -> Context:
    """A build that goes on with what is ``known``, if that is handed over."""
    return Context(data, now, edition, {} if known is None else known)
