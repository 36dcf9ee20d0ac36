"""Reads a scenario file, or everything under a course's folder.

Takes paths; gives the model. Raises BadInput with every problem of every file, in the order
course.yaml, scenarios by name, terms by name, records of what was published.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import TypeVar
from zoneinfo import ZoneInfo

from fallwork.scenario.course import Course, read_course
from fallwork.scenario.frozen import FROZEN, PUBLISHED, Frozen, frozen_path
from fallwork.scenario.model import SCENARIO, Scenario
from fallwork.scenario.nouns import object_name, term_id
from fallwork.scenario.numbers import faults_of
from fallwork.scenario.report import Report, UnreadableError
from fallwork.scenario.shapes import Reading
from fallwork.scenario.term import Surroundings, Term, read_term
from fallwork.scenario.tree import Node, read_file, start_of

COURSE_FILE = "course.yaml"
T = TypeVar("T")


@dataclass(frozen=True, kw_only=True)
class CourseData:
    """Everything under site-data/, read at once."""

    root: Path
    course: Course
    scenarios: Mapping[str, Scenario]
    terms: tuple[Term, ...] = ()  # in order of their ids
    published: Mapping[tuple[str, str], Frozen] = field(default_factory=dict)
    # ^ what was open already, by term and lab


def find_course(path: Path) -> Path | None:
    """The nearest folder, from ``path`` upwards, that holds course.yaml."""
    start = path.absolute()
    return next((each for each in (start, *start.parents) if (each / COURSE_FILE).is_file()), None)


def from_here(path: Path) -> Path:
    """A path as messages give it: from the current folder, where it is below that."""
    here = Path.cwd()
    return path.relative_to(here) if path.is_relative_to(here) else path


def load_scenario(path: Path) -> Scenario:
    """The scenario that a file holds; raises BadInput."""
    report = Report()
    scenario = _read(path, _scenario, report, object_name)
    report.raise_if_any()
    assert scenario is not None  # else something was reported
    return scenario


def load_course(root: Path, *, record: bool = True, trials: bool = True) -> CourseData:
    """Everything under a course's folder; raises BadInput. Without ``record``, as if nothing had
    been published; without ``trials``, the files of trials aren't looked for.
    """
    report = Report()
    course = _read(root / COURSE_FILE, lambda node, _, report: read_course(node, report), report)
    scenarios = {
        path.stem: _read(path, _scenario, report, object_name)
        for path in _files(root / "scenarios", report)
    }
    around = Surroundings(
        zone=ZoneInfo(course.time_zone if course else "UTC"),
        scenarios=scenarios,
        trials=root / "trials" if trials else None,
    )

    def _term(node: Node, id_: str, report: Report) -> Term | None:
        return read_term(node, id_, around, report)

    terms = [_read(path, _term, report, term_id) for path in _files(root / "terms", report)]
    published = read_published(root, report) if record else {}
    report.raise_if_any()
    assert course is not None
    sound = tuple(term for term in terms if term)
    labs = {(term.id, lab.id) for term in sound for lab in term.labs}
    for term, lab in (key for key in published if key not in labs):  # it keeps its addresses
        report.refuse(start_of(frozen_path(root, term, lab)), "lost-lab", term=term, lab=lab)
    report.raise_if_any()
    found = {name: scenario for name, scenario in scenarios.items() if scenario}
    return CourseData(root=root, course=course, scenarios=found, terms=sound, published=published)


def read_published(root: Path, report: Report) -> dict[tuple[str, str], Frozen]:
    """All records under a course's folder, by term and lab."""
    paths = sorted((root / PUBLISHED).glob("*/*.yaml"))
    found = {(path.parent.name, path.stem): _read(path, _frozen, report) for path in paths}
    return {key: frozen for key, frozen in found.items() if frozen}


def _frozen(node: Node, _: str, report: Report) -> Frozen | None:
    found: Frozen | None = FROZEN.read(node, (), Reading(report=report))
    return found


def _files(folder: Path, report: Report) -> list[Path]:
    """The YAML files of a folder by name; none where there is no such folder."""
    for path in sorted(folder.glob("*.yml")):
        report.refuse(start_of(path), "other-ending", stem=path.stem)
    return sorted(folder.glob("*.yaml"))


def _read(
    path: Path,
    what: Callable[[Node, str, Report], T | None],
    report: Report,
    rule: Callable[[str, str], str] | None = None,
) -> T | None:
    """What a file holds; its name is the id, and follows a ``rule``. Problems in order of lines."""
    noted, node = len(report), read_file(path, report)
    if node is None:
        return None
    try:
        if rule:
            rule(path.stem, "the file name")
    except UnreadableError as error:
        report.refuse(start_of(path), error.reason, **error.names)
    found = what(node, path.stem, report)
    report.sort_from(noted)
    return found


def _scenario(node: Node, id_: str, report: Report) -> Scenario | None:
    """The scenario, if nothing is wrong with it."""
    noted = len(report)
    reading = Reading(report=report)
    scenario = SCENARIO.read(node, (), reading)
    if scenario is None:
        return None
    for fault in () if reading.unread else faults_of(scenario):
        path = fault.paths[0]
        places = reading.keys if fault.at_key else reading.values
        while path not in places:  # else at what holds it
            path, places = path[:-1], reading.keys if path[1:] else reading.values
        report.refuse(places[path], fault.reason, **fault.names)
    return replace(scenario, id=id_, places=reading.places()) if len(report) == noted else None
