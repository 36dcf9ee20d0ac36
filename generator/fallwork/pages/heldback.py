"""What the students' site must not hold at a moment, and what people wrote that it does hold.

Takes a course's data and the moment; gives pages that aren't open, numbers that no hand-written
text may name yet, and the texts of the course's files that reach pages. Builds no page.
"""

from collections.abc import Callable, Iterable, Iterator, Mapping
from contextlib import suppress
from dataclasses import dataclass, fields, is_dataclass
from datetime import datetime
from itertools import chain
from math import isclose
from pathlib import Path
from typing import Any

from fallwork.errors import FallworkError, Place
from fallwork.lesson.measured.words import UNITS
from fallwork.measurement.model import Estimate, Measurand
from fallwork.measurement.prediction import quantities_of
from fallwork.mechanics.course import gravity_of
from fallwork.once import once
from fallwork.pages import schedule
from fallwork.pages.context import Context, GivenLab
from fallwork.pages.schedule import BENCH, DATA, EXAMPLE, PRELAB, REPORT, SOLUTION, SUB_PAGES
from fallwork.pages.worked import evidence_of, gravity_estimate
from fallwork.planning.results import results_of
from fallwork.scenario import CourseData, GivenMean, Lab, Quantity, Scenario
from fallwork.scenario.quantity import kinds

_NOTHING = 1e-9  # SI; less than that is zero
_RUNNING, _COMING = 2, 3  # figures that tell something of a lab that students have, or don't yet
_GIVEN = (Measurand.DISTANCE, Measurand.FORCE_SLACK)  # but for an error: given, and zero
_OF_LAB = ("title", "sections", "recordings", "withdrawn")
# Fields for people's words.
_TEXTS = ("title", "noun", "who", "how", "because", "rubric", "url", "address")


@dataclass(frozen=True, kw_only=True)
class Answer:
    """A number that is held back, in the SI unit of its kind."""

    quantity: str  # e.g. "acceleration of the cart"
    value: float
    unit: str
    figures: int = _RUNNING  # from how many on it is given away with its unit


@dataclass(frozen=True, kw_only=True)
class HeldBack:
    """One page that isn't open yet, with what only it may say; or a recording elsewhere."""

    what: str  # "the solution of level-track in 2027-spring"
    page: str  # its address
    files: tuple[str, ...]  # how the addresses of its drawings and data files begin
    answers: tuple[Answer, ...] = ()


def held_back(data: CourseData, now: datetime) -> tuple[HeldBack, ...]:
    """Everything that isn't open at ``now`` (aware), lab by lab."""
    pages, recordings, site = [], [], Context(data, now)
    for given in (given for given in site.labs() if not given.withdrawn):
        of, folder = f"of {given.lab.id} in {given.term.id}", given.folder
        for page in (page for page in map(given.page, SUB_PAGES) if page.held_until):
            what, name = f"{page.sub.title.lower()} {of}", page.sub.name
            files = (f"{folder}/figures/{name}-", f"{folder}/{name}/")
            answers = tuple(_ANSWERS[page.sub](given, site))
            pages.append(HeldBack(what=what, page=page.address, files=files, answers=answers))
        for each in given.lab.recordings:
            if each not in schedule.recordings_open(given.lab, now):
                what = f"the recording “{each.title}” {of}"
                recordings.append(HeldBack(what=what, page=each.address, files=()))
    return (*pages, *recordings)


def _givens(given: GivenLab, site: Context) -> Iterator[Answer]:
    """The numbers of a lab that isn't open, but for those of its scenario, which its overview
    shows, and of labs that are open.
    """
    shown = [given.lab.scenario]
    for lab in (other.lab for other in site.labs()):
        if schedule.is_open(PRELAB, lab, site.now):
            shown += [*lab.every_variant, *((lab.example,) if lab.example else ())]
    seen = [each.value for scenario in shown for _, each in quantities_of(scenario)]
    for path, each in chain(*map(quantities_of, given.lab.every_variant)):
        if each.value and not any(isclose(each.value, value) for value in seen):
            seen.append(each.value)
            unit = kinds()[each.kind].si_unit
            yield Answer(quantity=path, value=each.value, unit=unit, figures=_COMING)


def _results(given: GivenLab, *scenarios: Scenario) -> Iterator[Answer]:
    """All but zeros and what is given: a free fall has g, and a speed may stay as at the start."""
    gravity = gravity_of(given.site.data.course)
    figures = _RUNNING if schedule.is_open(PRELAB, given.lab, given.site.now) else _COMING
    for scenario in scenarios:
        known = [0.0, gravity, *(abs(each.value) for _, each in quantities_of(scenario))]
        for result in results_of(scenario, gravity).values():
            if not any(isclose(abs(result.value), value, abs_tol=_NOTHING) for value in known):
                value, unit = result.value, result.unit
                yield Answer(quantity=result.words, value=value, unit=unit, figures=figures)


def _readings(given: GivenLab, _: Context) -> Iterator[Answer]:
    """Values that were typed in, and all means; single runs of records are known by their files."""
    measured = given.lab.measured
    if measured is None:
        return
    for name, values in measured.values.items():
        typed = (values.value,) if isinstance(values, GivenMean) else values
        for number, each in ((at, value) for at, value in enumerate(typed, start=1) if value):
            label = f"{name.replace('_', ' ')} of trial {number}"
            yield Answer(quantity=label, value=each.value, unit=kinds()[each.kind].si_unit)
    with suppress(FallworkError):  # what can't be used gives no mean, and holds up no other lab
        means = _means(given.lab, gravity_estimate(given.site.data.course))
        for measurand in (Measurand(name) for name in means):
            mean = means[measurand.value]
            yield Answer(quantity=measurand.as_mean, value=mean, unit=UNITS[measurand])


@once
def _means(lab: Lab, gravity: Estimate) -> dict[str, float]:
    """Of all trials, without what is given."""
    summary = evidence_of(lab, gravity).analysis.summary
    return {m.value: summary[m].value for m in Measurand if m in summary and m not in _GIVEN}


_ANSWERS: Mapping[schedule.SubPage, Callable[[GivenLab, Context], Iterator[Answer]]] = {
    PRELAB: _givens,
    EXAMPLE: lambda given, _: _results(given, given.site.example(given)),
    **dict.fromkeys((BENCH, REPORT), lambda *_: iter(())),  # they give nothing away
    DATA: _readings,
    SOLUTION: lambda given, _: _results(given, *given.lab.every_variant),
}


def open_records(data: CourseData, now: datetime) -> Iterator[Path]:
    """The records of trials that students have."""
    for lab in (lab for term in data.terms for lab in term.labs):
        if lab.measured is not None and schedule.is_open(DATA, lab, now):
            yield from lab.measured.files


def written(data: CourseData, now: datetime) -> Iterator[tuple[Place | str, str]]:
    """What people say in the course's files and pages may show at ``now``, with its place."""
    yield from _texts(data.course, data.course.places, str(data.root / "course.yaml"), now)
    for scenario in data.scenarios.values():
        file = str(data.root / "scenarios" / f"{scenario.id}.yaml")
        parts = ("title", "systems", "former_steps")
        said = {each: getattr(scenario, each) for each in parts} | dict(scenario.objects)
        yield from _texts(said, scenario.places, file, now)
    for term in data.terms:
        file = str(data.root / "terms" / f"{term.id}.yaml")
        yield file, term.title
        for lab in term.labs:
            said = {each: getattr(lab, each) for each in _OF_LAB}
            told = [
                each.because if schedule.is_told(each, lab, now) else "" for each in lab.corrections
            ]
            said["corrections"] = {str(at): {"because": each} for at, each in enumerate(told)}
            if lab.measured is not None and schedule.is_open(DATA, lab, now):
                said["measured.exclude"] = lab.measured.excluded
            yield from _texts(said, lab.places, file, now)


def _texts(
    thing: Any, places: Mapping[str, Place], file: str, now: datetime, path: str = ""
) -> Iterator[tuple[Place | str, str]]:
    """The words in a part of the model; not yet those of what is still to come."""
    if isinstance(thing, str):
        if thing and (path.rpartition(".")[2] in _TEXTS or path.startswith("rubric.")):
            yield places.get(path, places.get("", file)), thing
    elif not isinstance(thing, Quantity) and getattr(thing, "at", now) <= now:
        for name, part in _parts(thing):
            yield from _texts(part, places, file, now, f"{path}.{name}" if path else str(name))


def _parts(thing: Any) -> Iterable[tuple[Any, Any]]:
    if isinstance(thing, Mapping):
        return thing.items()
    if isinstance(thing, tuple):
        return ((getattr(each, "id", number), each) for number, each in enumerate(thing))
    if is_dataclass(thing):
        return [(each.name, getattr(thing, each.name)) for each in fields(thing) if each.compare]
    return ()
