"""What templates ask about a page of a lab beyond what it is: its steps without what another page
says under the same id, corrections of what it shows, recordings of its steps, and on pages for
staff the steps to look up and send, results and slips to mark by, what is good of numbers and
trials.

Takes a page; gives what its template writes; the sentences around are the template's. So a page
with numbers has equations with numbers and results, and leads to the prelab for the rest. Staff's
numbers are the solution's, whether it is open or not. What is good is told by the planning and the
measurement stages, their words by the lesson. Pages only link to recordings.
"""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import datetime

from markupsafe import Markup

from fallwork.errors import table
from fallwork.lesson import document
from fallwork.lesson.answers import Found, changed_by, results, slips, tolerance
from fallwork.lesson.document import Lesson, Step, Working
from fallwork.lesson.expression import Symbol
from fallwork.lesson.measured import quality
from fallwork.once import once
from fallwork.pages import schedule
from fallwork.pages.context import STAFF, Context, GivenLab, LabPage
from fallwork.pages.markdown import amount, block, text
from fallwork.pages.schedule import DATA, IN_SYMBOLS, OVERVIEW, SOLUTION, STAFF_PAGES
from fallwork.pages.scriptdata import checked
from fallwork.pages.worked import evidence_of, findings_of, gravity_estimate
from fallwork.planning.conditions import Finding
from fallwork.planning.published import EXAMPLE as OF_EXAMPLE
from fallwork.planning.published import MEASURED, RESULTS, numbers_of_variant
from fallwork.planning.published import VARIANTS as OF_VARIANTS
from fallwork.scenario import Correction, CourseData, as_written, fields_of
from fallwork.scenario.report import Report, unknown
from fallwork.scenario.term import time_in_words

__all__ = ["results", "slips", "tolerance"]  # for the templates
_SEVERAL = 2
_OF_SOLUTION = (OVERVIEW, SOLUTION, *STAFF_PAGES)
_SHOWN_ON = {  # the pages that show what a correction may be about, or introduce it
    "example": (OVERVIEW, schedule.EXAMPLE),
    RESULTS: _OF_SOLUTION,
    MEASURED: (DATA, *_OF_SOLUTION),
}


# ---- steps


@dataclass(frozen=True, kw_only=True)
class Printed:
    """A step as it stands on a page."""

    number: int  # of its place among the steps of the page
    step: Step  # without what another page says
    argued: schedule.SubPage | None = None  # the page that says the rest
    reasoned: bool = False  # whether that page folds away why it is so

    @property
    def is_told(self) -> bool:
        """Whether anything is left to be told here."""
        s = self.step
        return any((s.idea, s.blocks, s.check, s.folds, s.slips, s.questions))

    @property
    def folds(self) -> int:
        """How much of it is folded away."""
        return len(self.step.folds) + bool(self.step.slips) + bool(self.step.questions)


def printed(page: LabPage) -> Iterator[Printed]:
    """The steps of a page in their order."""
    at = schedule.SUB_PAGES.index(page.sub) if page.sub in schedule.SUB_PAGES else 0
    earlier = (each for each in page.given.pages if each.sub in schedule.SUB_PAGES[:at])
    before = [each for each in earlier if each.sub != schedule.EXAMPLE]  # whose numbers are others
    for number, step in enumerate(page.steps, 1):
        there = next((each for each in before if each.holds(step.id)), None)
        if there is None:
            yield Printed(number=number, step=step)
        else:
            (other,) = (each for each in there.steps if each.id == step.id)
            yield Printed(
                number=number,
                step=_rest(page, step, there, other),
                argued=there.sub,
                reasoned=any(fold.mark == "why" for fold in other.folds),
            )


def symbols_on(page: LabPage, told: Iterable[Printed]) -> tuple[Symbol, ...]:
    """Every symbol that stands on the page, in its order."""
    lesson = page.shown.lesson
    steps = tuple(each.step for each in told if each.is_told)
    own = tuple(relation for _, relation in checked(page))
    givens = tuple(each.symbol for each in lesson.givens if lesson.kind == "numbers")
    return document.symbols_of((lesson.summary, steps, givens, own))


def _rest(page: LabPage, step: Step, there: LabPage, other: Step) -> Step:
    """The step without what stands there too, in the other step."""
    looks = there.shown.looks  # several pages ask the one that is read first
    if other.id not in looks:
        looks[other.id] = {_shown(there, each) for each in _singly(other.all_blocks)}
    asked = {each.id for each in other.questions}

    def new(blocks: tuple[document.Block, ...]) -> tuple[document.Block, ...]:
        every = _singly(blocks)
        return tuple(e for e in every if _chosen_on(e) or _shown(page, e) not in looks[other.id])

    idea: document.Text = () if text(step.idea) == text(other.idea) else step.idea
    questions = tuple(each for each in step.questions if each.id not in asked)
    folds = (replace(fold, blocks=new(fold.blocks)) for fold in step.folds)
    return replace(
        step,
        idea=idea,
        blocks=new(step.blocks),
        check=new(step.check),
        folds=tuple(fold for fold in folds if fold.blocks),
        questions=questions,
    )


def _chosen_on(content: document.Block) -> bool:
    """Whether a reader chooses a system on it, which each page does with its own numbers."""
    return isinstance(content, document.FigureSlot) and content.subject == "choices"


def _singly(blocks: Iterable[document.Block]) -> Iterator[document.Block]:
    """The blocks, each equation one of its own."""
    for each in blocks:
        if isinstance(each, Working):
            yield from (replace(each, equations=(equation,)) for equation in each.equations)
        else:
            yield each


def _shown(page: LabPage, content: document.Block) -> str:
    """How a block looks, whether its results are in boxes or not."""
    if isinstance(content, document.FigureSlot):
        return page.shown.draw(content).svg
    if isinstance(content, Working):
        plain = (replace(each, boxed=False) for each in content.equations)
        content = Working(equations=tuple(plain))
    return block(content, page.shown.digits, lambda slot: text(()))


# ---- corrections


def of_page(page: LabPage) -> list[Correction]:
    """The corrections of what the page, or one that it introduces, shows."""
    pairs = ((each, each.field.partition(".")[0]) for each in page.given.lab.corrections)
    return [each for each, about in pairs if page.sub in _SHOWN_ON.get(about, (page.sub,))]


def now(correction: Correction, given: GivenLab) -> str:
    """What a correction put there: what the next one found, else what stands there now; empty
    where it isn't one value.
    """
    field, said = correction.field, given.lab.corrections
    at = next(at for at, each in enumerate(said) if each is correction)
    following = [each.was for each in said[at + 1 :] if each.field == field]
    if following:
        return following[0]
    if field.startswith(OF_EXAMPLE):
        return fields_of(given.site.example(given)).get(field.removeprefix(OF_EXAMPLE), "")
    gravity = given.site.data.course.gravity
    if field == "course.gravity" and gravity:
        return as_written(gravity)
    if (name := field.removeprefix(OF_VARIANTS)) in given.lab.variants:
        return numbers_of_variant(given.lab, name)
    return fields_of(given.lab.variant).get(field, "")


def in_words(field: str) -> str:
    """``example.cart.mass`` as ``worked example, cart, mass``."""
    words, tables = table("pages", "words")["corrected"], 1 + field.startswith(OF_EXAMPLE)
    parts = [part.replace("_", " ") for part in field.split(".")]
    return ", ".join([*(words.get(part, part) for part in parts[:tables]), *parts[tables:]])


# ---- recordings


def watched(page: LabPage, step: str) -> list[tuple[str, str]]:
    """Of each recording that shows a step: the address that leads there, and the time."""
    patterns = page.given.site.data.course.recording_times
    return [
        (each.moment(each.marks[step], patterns), time_in_words(each.marks[step]))
        for each in page.given.lab.recordings
        if step in each.marks
    ]


def check_recordings(data: CourseData, now: datetime) -> None:
    """Raise ``BadInput`` for marks of steps that no page of their lab has."""
    report = Report()
    for given in Context(data, now, STAFF, telling=False).labs():
        marks = {
            f"recordings.{number}.marks.{step}": step
            for number, each in enumerate(given.lab.recordings)
            for step in each.marks
        }
        if given.withdrawn or not marks:
            continue
        known = _steps(given.site.data, given.site.now, sorted({*marks.values()}))
        for path, step in ((path, step) for path, step in marks.items() if step not in known):
            report.refuse(given.lab.places[path], "unknown", **unknown("step", step, known))
    report.raise_if_any()


@once
def _steps(data: CourseData, now: datetime, wanted: list[str]) -> list[str]:
    """The ids of steps of the only lab of a course, of all where not every wanted one is there."""
    (given,) = Context(data, now, STAFF, telling=False).labs()
    known: dict[str, None] = {}
    for page in sorted(given.pages, key=lambda page: page.sub not in IN_SYMBOLS):  # cost least
        if not {*wanted} <= known.keys():
            known |= dict.fromkeys(step.id for step in page.steps)
    return [*known]


# ---- for staff


@dataclass(frozen=True)
class StepLine:
    """A step as the most complete page has it, with what students ask about it."""

    step: Step
    read_at: str  # the page on which staff read it
    places: tuple[LabPage, ...]  # all on which it stands
    asked: dict[str, tuple[document.Question, LabPage]]  # by its id, and where it is answered


def step_lines(page: LabPage) -> list[StepLine]:
    """The steps of the solution, then those of the lab's other pages: each once."""
    places = page.given.pages
    found: dict[str, StepLine] = {}
    for there in sorted(places, key=lambda there: there.sub is not SOLUTION):
        for step in there.steps:
            holding = tuple(each for each in places if each.holds(step.id))
            found.setdefault(step.id, StepLine(step, there.sub.name, holding, {}))
    for there in places:
        for step in there.steps:
            for question in step.questions:
                found[step.id].asked.setdefault(question.id, (question, there))
    return list(found.values())


def numbers_that_come_up(lesson: Lesson) -> list[Found]:
    """Every number that somebody may bring, right ones and slips, the smallest size first."""
    return sorted((*results(lesson), *slips(lesson)), key=lambda one: abs(one.value))


def accepted(found: Found, digits: int) -> list[float]:
    """The ends of the range that is accepted for a result."""
    share = found.tolerance(digits)
    return sorted(found.value * (1 + sign * share) for sign in (-1, 1))


def passes(slip: Found, every: Sequence[Found], digits: int) -> bool:
    """Whether the wrong value lies in the range that is accepted for the right one."""
    right = (one for one in every if one.slip is None and one.of.id == slip.of.id)
    ranges = (accepted(one, digits) for one in right)
    return any(low <= slip.value <= high for low, high in ranges)


@dataclass(frozen=True, kw_only=True)
class Carried:
    """What follows from the wrong values of one quantity."""

    of: Symbol
    columns: dict[str, Symbol]  # what changes, in the order of the steps
    rows: dict[Markup, dict[str, Found]]  # by the wrong value


def carried_on(lesson: Lesson, digits: int) -> Carried | None:
    """For the slips in the acceleration, or else in the first quantity from which several other
    results are worked out; None where there is no such quantity.
    """
    groups: dict[str, list[Found]] = {}
    for slip in slips(lesson):
        groups.setdefault(slip.of.id, []).append(slip)
    for group in sorted(groups.values(), key=lambda group: group[0].of.unit != "m/s²"):
        rows: dict[Markup, dict[str, Found]] = {}
        for slip in group:
            wrong = amount(slip.value, slip.of.unit, slip.figures(digits))
            rows[wrong] = changed_by({slip.of.id: slip.value}, lesson)
        changing = {key for values in rows.values() for key in values}
        columns = {found.of.id: found.of for found in results(lesson) if found.of.id in changing}
        if len(columns) >= _SEVERAL:
            return Carried(of=group[0].of, columns=columns, rows=rows)
    return None


def review(page: LabPage) -> dict[str, tuple[Finding, ...]]:
    """The findings about the lab's numbers, by "", and about each variant's, by its id."""
    return findings_of(page.given.lab, page.given.site.data, page.shown.evidence)


def quality_of(page: LabPage) -> Sequence[Step]:
    """What is to say of the lab's trials, if there are any."""
    lab, course = page.given.lab, page.given.site.data.course
    if lab.measured is None:
        return ()
    evidence = page.shown.evidence or evidence_of(lab, gravity_estimate(course))
    return quality(page.shown.setup, evidence)
