"""What every page of one build shares, and each lab and page as their templates ask about them.

Takes a course's data, a moment and an edition; gives labs worked through (each once), what of
them is there, and how pages are filled in.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, fields, is_dataclass, replace
from datetime import UTC, datetime
from functools import cached_property
from typing import TYPE_CHECKING, Any

from fallwork.lesson.document import Step
from fallwork.pages import schedule
from fallwork.planning.results import example_in
from fallwork.planning.revealed import Revealed, revealed
from fallwork.scenario import CourseData, FormerStep, Lab, Scenario, Term

if TYPE_CHECKING:
    from fallwork.pages.markdown import PageFile
    from fallwork.pages.worked import Worked

STUDENT, STAFF = "student", "staff"
_WORDED = ("title", "description", "fw_data")  # texts in the front matter of a page
_BEFORE = datetime.min.replace(tzinfo=UTC)  # everything
# By term, lab and page, with a variant; of one course's data.
Known = dict[tuple[str, str, str], "Worked"]
_NUMBERS_OF = dict.fromkeys(schedule.STAFF_PAGES, schedule.SOLUTION)  # without their own
_NUMBERS_OF[schedule.OVERVIEW] = schedule.PRELAB


@dataclass(frozen=True)
class Context:
    """One build of an edition at a moment."""

    data: CourseData
    now: datetime  # aware
    edition: str = STUDENT
    known: Known = field(default_factory=dict)  # what was worked out before, and what will be
    telling: bool = True  # pages say how well results are known, which takes a tenth of the time
    handouts: bool = False  # whether some are printed to PDF as well

    @property
    def staff(self) -> bool:
        """Whether this is the edition for staff."""
        return self.edition == STAFF

    # ---- terms and labs

    @cached_property
    def terms(self) -> tuple[Term, ...]:
        """The one whose labs open last comes first; ids say nothing about the calendar."""
        return tuple(sorted(self.data.terms, key=schedule.starts, reverse=True))

    def labs(self, term: Term | None = None) -> Iterator["GivenLab"]:
        """All labs, newest term first; or those of one term."""
        return (given for given in self._labs if term is None or given.term.id == term.id)

    @cached_property
    def _labs(self) -> tuple["GivenLab", ...]:
        """Each with what its pages may be made of: the lab itself, the course, the last moment
        that means something to it, and what is named here of other labs.
        """
        found, newest, published = [], dict[str, str](), self.data.published
        for term, lab in ((each, lab) for each in self.terms for lab in each.labs):
            key = term.id, lab.id
            record = {key: published[key]} if key in published else {}
            if self.staff or schedule.is_open(schedule.EXAMPLE, lab, self.now):
                # From here on it is given, so that it needs no record, which may not be there yet.
                lab, record = replace(lab, example=example_in(self.data, term.id, lab)), {}
            alone = replace(term, labs=(lab,))
            data = replace(self.data, scenarios={}, terms=(alone,), published=record)
            moments = [each for each in _moments(lab) if each <= self.now]
            now = max(moments, default=_BEFORE)
            given = GivenLab(
                term=alone,
                lab=lab,
                title=self._title(term, lab),
                earlier=self.is_earlier(term),
                revealed=tuple(each for each in self._revealed if each.key == key),
                site=replace(self, data=data, now=now),
            )
            if not given.earlier:
                newest.setdefault(lab.scenario.id, given.folder)
            found.append(given)
        return tuple(replace(each, newest=newest.get(each.lab.scenario.id, "")) for each in found)

    def _title(self, term: Term, lab: Lab) -> str:
        """The title of a lab; with its id where another lab of the term has the same."""
        alone = [each.title for each in term.labs].count(lab.title) == 1
        return lab.title if alone else f"{lab.title} ({lab.id})"

    @cached_property
    def _revealed(self) -> tuple[Revealed, ...]:
        """What can be read elsewhere of labs that are held back, which staff are told."""
        return revealed(self.data, self.now) if self.staff else ()

    def by_state(self, term: Term | None = None) -> list["GivenLab"]:
        """The same, those that are on first."""
        order = list(schedule.State)
        return sorted(self.labs(term), key=lambda given: order.index(given.state))

    def everywhere(self) -> Iterator["LabPage"]:
        """All pages of all labs, newest term first."""
        return (page for given in self.labs() for page in given.pages)

    def is_earlier(self, term: Term) -> bool:
        """Whether it is over, the last solution open, and one that started later has begun."""
        start = schedule.starts(term)
        over = max((lab.solution_opens for lab in term.labs), default=start)
        later = (start < schedule.starts(other) <= self.now for other in self.data.terms)
        return self.now >= over and any(later)

    def worked(self, given: "GivenLab", sub: schedule.SubPage) -> "Worked":
        """The numbers that a page shows, worked through once; the prelab in symbols only."""
        from fallwork.pages.worked import worked  # slow to import, and not always needed

        def known_as(page: schedule.SubPage) -> tuple[str, str, str]:
            return (*given.key, page.name)

        if (key := known_as(sub)) not in self.known:
            scenario = self.example(given) if sub is schedule.EXAMPLE else given.lab.variant
            others = map(known_as, schedule.IN_SYMBOLS if sub in schedule.IN_SYMBOLS else ())
            alike = next((self.known[other] for other in others if other in self.known), None)
            course, telling = self.data.course, self.telling
            found = worked(given.lab, sub, scenario, course, telling=telling, alike=alike)
            self.known[key] = found
        return self.known[key]

    def example(self, given: "GivenLab") -> Scenario:
        """The numbers of the lab's worked example, chosen where the file leaves it to us."""
        return example_in(self.data, given.term.id, given.lab)

    # ---- words and pages

    def say(self, moment: datetime) -> str:
        """A moment in words."""
        return schedule.in_words(moment, self.data.course.zone)

    def say_day(self, moment: datetime) -> str:
        """A day in words."""
        return schedule.day_in_words(moment, self.data.course.zone)

    def absolute(self, address: str) -> str:
        """An address with that of the site before it, as far as the course says where it stands."""
        url = self.data.course.url
        return f"{url.rstrip('/')}/{address}" if url else address

    def page(
        self,
        path: str,
        template: str,
        about: Mapping[str, Any],
        *,
        of: "GivenLab | None" = None,
        over: bool = False,
        searched: bool = True,
        **values: Any,
    ) -> "PageFile":
        """A page from a template, which may ask for all of this and for what is its own.

        ``about`` goes into its front matter, which tells the site what stands there; ``of`` is the
        lab in whose words it speaks. Pages for
        staff and what is ``over`` stay out of search engines; the latter, and what isn't to be
        ``searched``, also out of the site's own search.
        """
        from fallwork.pages.markdown import PageFile, filled

        front = {"page": template, **about, **({"staff": True} if self.staff else {})}
        front |= {"robots": "noindex"} if self.staff or over else {}
        front |= {"search": {"exclude": True}} if over or not searched else {}
        values |= {"site": self, "course": self.data.course, "say": self.say}
        body = filled(template, values | {"title": front["title"]})
        worded = of.lab.variant.worded if of else self.data.course.notation.worded
        front |= {name: worded(front[name]) for name in _WORDED if name in front}
        return PageFile(path=path, body=worded(body), front=front)


@dataclass(frozen=True, kw_only=True)
class GivenLab:
    """A lab of a term, in one build."""

    term: Term  # with this lab alone
    lab: Lab
    title: str
    earlier: bool  # whether it is of an earlier term
    newest: str = ""  # the folder of the same scenario in a term that isn't an earlier one
    revealed: tuple[Revealed, ...]  # what other pages show of it
    site: Context = field(compare=False, repr=False)  # of this lab alone

    @property
    def key(self) -> tuple[str, str]:
        """The ids of term and lab."""
        return self.term.id, self.lab.id

    @property
    def folder(self) -> str:
        """Where its pages stand, e.g. ``2027-spring/level-track``."""
        return f"{self.term.id}/{self.lab.id}"

    @property
    def state(self) -> schedule.State:
        """Where it stands in its term."""
        return schedule.state(self.lab, self.site.now)

    @property
    def withdrawn(self) -> bool:
        """Whether it has been taken down: addresses are kept, contents are gone."""
        return schedule.is_withdrawn(self.lab, self.site.now)

    @property
    def pages(self) -> tuple["LabPage", ...]:
        """Its pages in this edition as they are read, without the overview and those for staff."""
        return tuple(map(self.page, filter(self.has, schedule.SUB_PAGES)))

    @property
    def all_pages(self) -> tuple["LabPage", ...]:
        """The same with those; staff have nothing of a lab that was taken down."""
        staff = schedule.STAFF_PAGES if self.site.staff and not self.withdrawn else ()
        return (self.page(schedule.OVERVIEW), *self.pages, *map(self.page, staff))

    def page(self, sub: schedule.SubPage) -> "LabPage":
        """One of its pages."""
        return LabPage(given=self, sub=sub)

    @property
    def row(self) -> tuple[schedule.SubPage, ...]:
        """The pages that its pages lead to, some only later."""
        dated = (sub for sub in schedule.SUB_PAGES if sub.opens(self.lab) is not None)
        return (schedule.OVERVIEW, *dated, *(schedule.STAFF_PAGES if self.site.staff else ()))

    def has(self, sub: schedule.SubPage) -> bool:
        """Whether this edition holds a page of the row: staff see what is held back."""
        if sub not in schedule.SUB_PAGES or (self.site.staff and not self.withdrawn):
            return sub not in schedule.SUB_PAGES or sub.opens(self.lab) is not None
        return schedule.is_open(sub, self.lab, self.site.now)


@dataclass(frozen=True, kw_only=True)
class LabPage:
    """A page of a lab, as it is there in this edition."""

    given: GivenLab
    sub: schedule.SubPage

    @property
    def source(self) -> str:
        """Its path in the source folder, e.g. ``2027-spring/level-track/prelab.md``."""
        return f"{self.given.folder}/{self.sub.name}.md"

    @property
    def address(self) -> str:
        """Its address on the site, from the site's root on."""
        return f"{self.given.folder}/{self.sub.name}.html"

    @property
    def heading(self) -> str:
        """The page's own heading."""
        title = self.given.title
        return title if self.sub is schedule.OVERVIEW else f"{self.sub.title}: {title}"

    @property
    def shown(self) -> "Worked":
        """The numbers that it shows, worked through."""
        return self.given.site.worked(self.given, _NUMBERS_OF.get(self.sub, self.sub))

    # ---- its steps

    @property
    def steps(self) -> tuple[Step, ...]:
        """Its steps, in their order."""
        return () if self.sub in _NUMBERS_OF else self.shown.lesson.steps

    @cached_property
    def former(self) -> tuple[FormerStep, ...]:
        """Addresses of steps that the page keeps: those that lead to one of its own, or nowhere."""
        ids, found = {step.id for step in self.steps}, []
        was = (FormerStep(id=id_, now=step.id) for step in self.steps for id_ in step.was)
        known = {step.id: step for step in (*was, *self.given.lab.scenario.former_steps)}
        for step in known.values():
            end, seen = step, {step.id}
            while end.now in known and end.now not in seen:  # one can be renamed more than once
                seen.add(end.now)
                end = known[end.now]
            if step.id not in ids and (not end.now or end.now in ids):
                found.append(FormerStep(id=step.id, now=end.now, because=end.because))
        return tuple(found)

    @property
    def anchors(self) -> Mapping[str, str]:
        """Every address of a step on the page, with the step that stands there now, or ""."""
        kept = () if self.sub in _NUMBERS_OF else self.former
        return {step.id: step.id for step in self.steps} | {step.id: step.now for step in kept}

    def holds(self, step: str) -> bool:
        """Whether the step of this id stands on the page."""
        return any(each.id == step for each in self.steps)

    @property
    def on_paper(self) -> bool:
        """Whether it is printed to PDF, if any page is."""
        return self.sub.paper and not (self.given.earlier or self.given.withdrawn)

    @property
    def held_until(self) -> str:
        """When students get it, in words; "" if they have it."""
        opens, site = self.sub.opens(self.given.lab), self.given.site
        return site.say(opens) if opens is not None and site.now < opens else ""


def _moments(thing: object) -> Iterator[datetime]:
    """Every moment that a part of a lab names."""
    match thing:
        case datetime():
            yield thing
        case Scenario():  # it names none
            return
        case Mapping():
            yield from _moments(tuple(thing.values()))
        case tuple():
            for each in thing:
                yield from _moments(each)
        case _ if is_dataclass(thing):
            yield from _moments(tuple(getattr(thing, each.name) for each in fields(thing)))
