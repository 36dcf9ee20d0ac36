"""What stands where on the site: every page of a lab that is there, with its steps.

Takes the context; gives pages with addresses. Whatever lists pages or steps (addresses, the pages
of a step, the staff's list) takes them from here.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from fallwork.lesson.document import Step
from fallwork.pages import schedule
from fallwork.pages.context import Context
from fallwork.pages.given import GivenLab
from fallwork.pages.schedule import SubPage
from fallwork.scenario import FormerStep


@dataclass(frozen=True, kw_only=True)
class Standing:
    """A page of a lab, as it is there in this edition."""

    given: GivenLab
    sub: SubPage
    steps: tuple[Step, ...]
    withdrawn: bool  # the address is kept, the content is gone

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
        return heading_of(self.given, self.sub)

    @property
    def former(self) -> tuple[FormerStep, ...]:
        """Addresses of steps that the page keeps: those that lead to one of its own, or nowhere."""
        ids = {step.id for step in self.steps}
        known = {step.id: step for step in self.given.lab.scenario.former_steps}
        resolved = (_last(step, known) for step in known.values() if step.id not in ids)
        return tuple(step for step in resolved if not step.now or step.now in ids)

    def holds(self, step: str) -> bool:
        """Whether the step of this id stands on the page."""
        return any(each.id == step for each in self.steps)


def _last(step: FormerStep, known: Mapping[str, FormerStep]) -> FormerStep:
    """The step with what it has become in the end: a step can be renamed more than once."""
    end, seen = step, {step.id}
    while end.now in known and end.now not in seen:
        seen.add(end.now)
        end = known[end.now]
    return FormerStep(id=step.id, now=end.now, because=end.because)


def heading_of(given: GivenLab, sub: SubPage) -> str:
    """The heading of a lab's page."""
    return f"{sub.title}: {given.title}"


def standing(context: Context, given: GivenLab) -> tuple[Standing, ...]:
    """The pages of a lab that this edition holds, its overview left out."""
    withdrawn = schedule.is_withdrawn(given.lab, context.now)
    return tuple(
        Standing(given=given, sub=sub, steps=steps_of(context, given, sub), withdrawn=withdrawn)
        for sub in context.shown(given)
    )


def everywhere(context: Context) -> Iterator[Standing]:
    """All pages of all labs, newest term first."""
    for given in context.labs():
        yield from standing(context, given)


def steps_of(context: Context, given: GivenLab, sub: SubPage) -> tuple[Step, ...]:
    """The steps of a page, in its order."""
    return context.worked(given, sub).lesson.steps
