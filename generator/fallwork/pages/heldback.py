"""What the students' site must not hold at a moment, and which numbers its pages may hold.

Takes a course's data and the moment; gives what an audit looks for. Everything here is told from
where it comes from: an answer from the lab's own numbers, a number that may be seen from the
lesson of the page that shows it.
"""

import re
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass
from datetime import datetime
from math import isclose

from fallwork.lesson.document import FigureSlot
from fallwork.measurement.inputs import quantities_of
from fallwork.pages import lists, schedule
from fallwork.pages.blocks import Setting, block, text
from fallwork.pages.context import Context, Known, context_of
from fallwork.pages.datafiles import files_of
from fallwork.pages.given import GivenLab
from fallwork.pages.schedule import DATA, EXAMPLE, PRELAB, SOLUTION, SUB_PAGES
from fallwork.pages.standing import everywhere, heading_of, standing, steps_of
from fallwork.pages.worked import Worked
from fallwork.planning import results_of
from fallwork.scenario.model import CourseData, GivenMean, Scenario

_NOTHING = 1e-9  # SI; less than that is zero


@dataclass(frozen=True, kw_only=True)
class Answer:
    """A number that is held back, in the SI unit of its kind."""

    quantity: str  # e.g. "driven, acceleration of cart"
    value: float
    unit: str


@dataclass(frozen=True, kw_only=True)
class HeldBack:
    """One page that isn't open yet, or the numbers of a lab that isn't."""

    what: str  # "the solution of level-track in 2027-spring"
    lab: str  # "2027-spring/level-track"
    paths: tuple[str, ...]  # of pages and folders of files, without endings
    ids: tuple[str, ...]  # of steps that stand on no page that is open
    answers: tuple[Answer, ...]
    headings: tuple[str, ...] = ()  # whole texts that stand on no page that is open
    digests: tuple[str, ...] = ()  # SHA-256 of files that are held back


def held_back(data: CourseData, now: datetime, known: Known | None = None) -> tuple[HeldBack, ...]:
    """Everything that isn't open at ``now`` (aware), lab by lab.

    ``known`` as in ``build_pages``.
    """
    context = context_of(data, now, known=known)
    seen = _seen(context)
    return tuple(
        held
        for given in context.labs()
        if not schedule.is_withdrawn(given.lab, now)
        for held in _of_lab(context, given, seen)
    )


@dataclass(frozen=True, kw_only=True)
class _Seen:
    """What is open somewhere."""

    ids: frozenset[str]  # of steps
    headings: frozenset[str]


def _seen(context: Context) -> _Seen:
    there = [each for each in everywhere(context) if not each.withdrawn]
    steps = [step for each in there for step in each.steps]
    return _Seen(
        ids=frozenset(step.id for step in steps),
        headings=frozenset({each.heading for each in there} | {step.title for step in steps}),
    )


def _of_lab(context: Context, given: GivenLab, seen: _Seen) -> Iterator[HeldBack]:
    lab = given.lab
    for sub in SUB_PAGES:
        if sub.opens(lab) is not None and not context.shows(sub, lab):
            steps = [each for each in steps_of(context, given, sub) if each.id not in seen.ids]
            headings = (heading_of(given, sub), *(step.title for step in steps))
            digests = lab.measured.digests if sub is DATA and lab.measured else {}
            yield HeldBack(
                what=f"{sub.title.lower()} of {lab.id} in {given.term.id}",
                lab=given.folder,
                paths=(
                    f"{given.folder}/{sub.name}",
                    f"{given.folder}/figures/{sub.name}-",
                    *(f"trials/{name}" for name in digests),
                ),
                ids=tuple(step.id for step in steps),
                answers=tuple(_ANSWERS.get(sub.name, _none)(context, given)),
                headings=tuple(each for each in headings if each not in seen.headings),
                digests=tuple(digests.values()),
            )


def _none(context: Context, given: GivenLab) -> Iterator[Answer]:
    """Pages in symbols give nothing away."""
    yield from ()


def _of_example(context: Context, given: GivenLab) -> Iterator[Answer]:
    return _results(context, context.example(given))


def _of_variant(context: Context, given: GivenLab) -> Iterator[Answer]:
    return _results(context, given.lab.variant)


def _results(context: Context, scenario: Scenario) -> Iterator[Answer]:
    """All but zeros and what is given: the acceleration of a free fall is g, and a speed may stay
    as it was at the start.
    """
    givens = [context.gravity, *(each.value for _, each in quantities_of(scenario))]
    known = [0.0, *(abs(value) for value in givens)]
    for name, result in results_of(scenario, context.gravity).items():
        if not any(isclose(abs(result.value), value, abs_tol=_NOTHING) for value in known):
            yield Answer(quantity=name, value=result.value, unit=result.unit)


def _readings(context: Context, given: GivenLab) -> Iterator[Answer]:
    """Values that were typed in; records are known by their files."""
    measured = given.lab.measured
    units = {"acceleration": "m/s²", "tension": "N", "final_speed": "m/s"}
    for name, values in measured.values.items() if measured else ():
        each = (values.value,) if isinstance(values, GivenMean) else values
        for number, quantity in enumerate(each, start=1):
            if quantity is not None:
                label = f"{name.replace('_', ' ')} of trial {number}"
                yield Answer(quantity=label, value=quantity.value, unit=units[name])


_ANSWERS: Mapping[str, Callable[[Context, GivenLab], Iterator[Answer]]] = {
    EXAMPLE.name: _of_example,
    DATA.name: _readings,
    SOLUTION.name: _of_variant,
}


def open_numbers(
    data: CourseData, now: datetime, known: Known | None = None
) -> Mapping[str, frozenset[str]]:
    """The numbers that a page may hold, because its own lesson has them: address -> digits.

    They come from the lesson and the figures drawn from it, not from any finished page.
    ``known`` as in ``build_pages``.
    """
    context = context_of(data, now, known=known)
    found: dict[str, frozenset[str]] = {}
    for given in context.labs():
        if schedule.is_withdrawn(given.lab, now):
            continue
        prelab = context.worked(given, PRELAB)
        if now >= given.lab.opens_first:
            found[f"{given.folder}/index.html"] = _digits((lists.givens(prelab.lesson),))
        for there in standing(context, given):
            shown = context.worked(given, there.sub)
            found[there.address] = _digits(_parts(shown, there.sub.name))
            if shown.evidence is not None:
                for file in files_of(shown.evidence, given.folder):
                    found[file.path] = _digits((file.content,))
    return found


def _digits(texts: Iterable[str]) -> frozenset[str]:
    return frozenset(digits for text in texts for digits in _NUMBER.findall(text))


def _parts(shown: Worked, page: str) -> Iterator[str]:
    """Everything that a lesson says, and the texts in its figures."""
    lesson = shown.lesson
    slots = [
        content
        for step in lesson.steps
        for content in (*step.blocks, *step.check)
        if isinstance(content, FigureSlot)
    ]
    figures = {slot: shown.draw(slot) for slot in slots}
    setting = Setting(page=page, figures=figures, digits=shown.digits)
    if lesson.kind == "numbers":
        yield lists.givens(lesson)
        yield lists.guard_sample(lesson, shown.digits)
    yield lists.symbols(lesson, shown.digits)
    yield text(lesson.summary)
    for step in lesson.steps:
        yield text(step.idea)
        yield from (block(content, setting) for content in (*step.blocks, *step.check))
        yield from (lists.slip_line(slip, shown.digits) for slip in step.slips)
        yield from (text(question.answer) for question in step.questions)
    for figure in figures.values():
        yield from _TEXTS.findall(figure.svg)


_NUMBER = re.compile(r"\d+(?:\.\d+)?")
_TEXTS = re.compile(r">([^<>]+)<")
