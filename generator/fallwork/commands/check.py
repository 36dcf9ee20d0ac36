"""Reads courses or scenario files and says what was read and what is worth knowing.

Takes paths; gives lines of text. Raises ``FallworkError`` with everything that is wrong.
"""

from collections.abc import Callable, Iterable, Iterator, Sequence
from datetime import UTC, datetime
from pathlib import Path
from typing import TypeVar

from fallwork.commands import call
from fallwork.commands.call import calculation
from fallwork.commands.notes import on_course, on_scenario
from fallwork.errors import BadInput, FallworkError, Problem
from fallwork.lesson.notation import check_notation
from fallwork.mechanics import apparatus_of, run_of
from fallwork.once import once
from fallwork.pages.asked import check_recordings
from fallwork.pages.build import addresses as course_addresses
from fallwork.pages.variants import check_variants
from fallwork.pages.worked import evidence_of, gravity_estimate
from fallwork.planning.published import check_published
from fallwork.planning.results import example_in
from fallwork.planning.revealed import check_revealed
from fallwork.scenario import CourseData, Scenario, find_course, from_here, load_course
from fallwork.scenario.report import counted
from fallwork.site import addresses

T = TypeVar("T")
Found = TypeVar("Found")


def checked(paths: Sequence[Path]) -> Iterator[str]:
    """What was read: of each path one line that says so, then what is worth knowing. What is wrong
    is raised last, for the other files are worth reading all the same.
    """
    problems = []
    for path in paths or [call.course_folder()]:
        try:
            if (root := _root(path)) is not None:
                yield from _course(root)
            else:
                scenario, course = call.scenario_in(path), call.course_of(path)
                _solve(scenario, course)
                yield f"{path}: nothing wrong"
                notes = on_scenario(str(path), scenario, course)
                yield from map(scenario.worded, notes)
        except FallworkError as error:
            problems.append(str(error))
    if problems:
        raise FallworkError("\n".join(problems))


def _root(path: Path) -> Path | None:
    """The course that is meant: by its folder, the one that holds it, or one of its own files."""
    if not path.is_dir():
        root = call.course_of_part(path)
        return root and from_here(root)
    if (path / call.COURSE_FOLDER).is_dir():
        return path / call.COURSE_FOLDER
    within = find_course(path)
    if within is not None and within != path.absolute():
        raise call.CallError("in-a-course", path=path, course=from_here(within))
    return path


def _course(root: Path) -> Iterator[str]:
    data, published, now = load_course(root, record=False), None, datetime.now(UTC)
    try:
        data = load_course(root)
        check_published(data, now)
        _check_record(data, now)
    except FallworkError as error:
        published = error
    check_notation(data.course)
    labs = [(term.id, lab) for term in data.terms for lab in term.labs]
    _each(data.scenarios.values(), lambda scenario: _solve(scenario, data))
    shown = ((*lab.every_variant, example_in(data, term, lab)) for term, lab in labs)
    _each((each for pair in shown for each in pair), lambda scenario: _solve(scenario, data))
    check_variants(data)
    check_revealed(data, now, ahead=True)
    check_recordings(data, now)
    gravity, given = gravity_estimate(data.course), [lab for _, lab in labs if lab.measured]
    found = _each(given, lambda lab: evidence_of(lab, gravity).analysis)
    counts = {
        "trial": sum(trial.set_aside for analysis in found for trial in analysis.trials),
        "mean": sum(mean.set_aside for analysis in found for mean in analysis.means),
    }
    unfit = " and ".join(counted(count, noun) for noun, count in counts.items() if count)
    what = f"{unfit} that can't be of the lab" if unfit else "nothing wrong"
    read = {"scenario": len(data.scenarios), "term": len(data.terms), "lab": len(labs)}
    refused, settings = list[str](), data.root.parent / "mkdocs.yml"
    if settings.is_file():
        from fallwork.site.publication import refused_ahead

        refused = refused_ahead(settings, data)
    but = ["not as it was published"] * bool(published) + ["no site can be built"] * bool(refused)
    notes = [*map(data.course.notation.worded, on_course(data, now))]
    yield (
        f"{root}: {', '.join(counted(count, noun) for noun, count in read.items())}: {what}"
        f"{', but ' if but else ''}{' and '.join(but)}"
    )
    yield from notes
    if but:
        raise FallworkError("\n".join([*([str(published)] if published else []), *refused]))


def _check_record(data: CourseData, now: datetime) -> None:
    """That every address on record is there, but for pages written by hand, whose headings are
    known once they are built.
    """
    if record := addresses.read_record(data):
        terms = (*(term.id for term in data.terms), *(term for term, _ in data.published))
        there, own = {*course_addresses(data, now)}, {"step", *terms}
        kept = {each: since for each, since in record.items() if each.partition("/")[0] in own}
        addresses.check(there.__contains__, kept, moment=now, for_students=False)


def _each(things: Iterable[T], what: Callable[[T], Found]) -> list[Found]:
    """What comes out of each; raises ``BadInput`` with the problems of all of them."""
    found: list[Found] = []
    problems: list[Problem] = []
    for thing in things:
        try:
            found.append(what(thing))
        except BadInput as error:
            problems += error.problems
    if problems:
        raise BadInput(tuple(problems))
    return found


@once
def _solved(scenario: Scenario, gravity: float) -> bool:
    return bool(run_of(scenario, apparatus_of(scenario, gravity)))


def _solve(scenario: Scenario, data: CourseData | None) -> None:
    """Raises ``BadInput`` for an apparatus that can't be, or is beyond the program."""
    _solved(scenario, calculation(data).gravity)
