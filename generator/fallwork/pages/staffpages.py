"""The pages that only staff have: the steps of a lab to look up and send, and the notes.

Takes a lab; gives both pages. The numbers are the solution's, whether it is open or not. What is
good and what isn't is told by the planning and the measurement stages, their words by the lesson.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from functools import partial
from typing import Any

from fallwork.lesson import reviewing
from fallwork.lesson.answers import tolerance
from fallwork.lesson.document import Question, Step
from fallwork.lesson.measured import quality
from fallwork.pages import answers, lists, notices
from fallwork.pages.blocks import Setting, block
from fallwork.pages.context import GivenLab, LabPage
from fallwork.pages.environment import PageFile
from fallwork.pages.schedule import SOLUTION, STAFF_PAGES
from fallwork.pages.trials import evidence_of, findings_of, gravity_estimate


@dataclass(frozen=True)
class _StepLine:
    """A step as staff look it up: the page on which they read it, and all on which it stands."""

    step: Step
    page: str
    places: tuple[LabPage, ...]

    @property
    def lasting(self) -> str:
        """The address that lists all its places."""
        given = self.places[0].given
        return given.site.absolute(f"step/{given.lab.scenario.id}/{self.step.id}.html")

    @property
    def live(self) -> int:
        """On how many pages students find it now."""
        return sum(not there.held_until for there in self.places)

    def at(self, there: LabPage) -> str:
        """Its address on one of its pages."""
        return there.given.site.absolute(f"{there.address}#{self.step.id}")


def staff_pages(given: GivenLab) -> Iterator[PageFile]:
    """Steps and notes of a lab that hasn't been taken down."""
    if not given.withdrawn:
        steps, notes = map(given.page, STAFF_PAGES)
        yield _page(steps, lines=tuple(_step_lines(given.pages)))
        yield _page(notes, **_noted(given))


def _page(page: LabPage, **values: Any) -> PageFile:
    site = page.given.site
    return site.page(
        page.source,
        page.sub.name,
        page.meta("{title}, {term}, for staff"),
        page=page,
        answers=answers,
        lists=lists,
        notices=notices,
        lesson=site.worked(page.given, SOLUTION).lesson,
        digits=site.digits,
        **values,
    )


def _noted(given: GivenLab) -> dict[str, Any]:
    site, lab = given.site, given.lab
    shown, course = site.worked(given, SOLUTION), site.data.course
    findings = findings_of(lab, course, shown.evidence)
    cells = [
        (row.what, row.value, row.wanted, row.verdict)
        for row in reviewing.rows(findings, lab.variant.nouns)
    ]
    told: Sequence[Step] = ()
    if lab.measured is not None:
        evidence = shown.evidence or evidence_of(lab, gravity_estimate(course))
        told = quality(shown.setup(numbers=True), evidence)
    return {
        "tolerance": tolerance(site.digits),
        "carried": answers.carried_on(shown.lesson, site.digits),
        "review": findings and lists.table(reviewing.caption(), reviewing.heads(), cells),
        "advice": reviewing.advice(findings, lab.variant.nouns),
        "quality": told,
        "block": partial(block, setting=Setting(page="notes", figures={}, digits=site.digits)),
    }


def _step_lines(places: Sequence[LabPage]) -> Iterator[_StepLine]:
    """The steps of the solution, then those of the other pages: each once, as the most complete
    page has it, with the questions of all pages.
    """
    asked: dict[str, dict[str, Question]] = {}
    for there in places:
        for step in there.steps:
            for question in step.questions:
                asked.setdefault(step.id, {}).setdefault(question.id, question)
    done: set[str] = set()
    for there in sorted(places, key=lambda there: there.sub is not SOLUTION):
        for step in there.steps:
            if step.id not in done:
                done.add(step.id)
                whole = replace(step, questions=tuple(asked.get(step.id, {}).values()))
                holding = tuple(each for each in places if each.holds(step.id))
                yield _StepLine(whole, there.sub.name, holding)
