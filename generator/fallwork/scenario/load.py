"""Reads a scenario file, or everything under a course's folder.

Takes paths; gives the model. Raises BadInput with every problem of every file, in the order
course.yaml, scenarios by name, terms by name, records of what was published.
"""

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from zoneinfo import ZoneInfo

from fallwork.errors import Place
from fallwork.scenario.course import COURSE
from fallwork.scenario.faults import Fault
from fallwork.scenario.frozen import check_nothing_lost, labs_by_name, read_published
from fallwork.scenario.layout import SCENARIO, Draft
from fallwork.scenario.model import Course, CourseData, Scenario, Term
from fallwork.scenario.names import object_name, term_id
from fallwork.scenario.possible import faults_of_draft
from fallwork.scenario.quantity import UnreadableError
from fallwork.scenario.report import Report
from fallwork.scenario.shapes import Reading
from fallwork.scenario.term import Surroundings, read_term
from fallwork.scenario.tree import read_file

COURSE_FILE = "course.yaml"


def find_course(path: Path) -> Path | None:
    """The nearest folder, from ``path`` upwards, that holds course.yaml."""
    start = path.absolute()
    for folder in (start, *start.parents):
        if (folder / COURSE_FILE).is_file():
            return folder
    return None


def from_here(path: Path) -> Path:
    """A path as messages give it: from the current folder, where it is below that."""
    here = Path.cwd()
    return path.relative_to(here) if path.is_relative_to(here) else path


def load_scenario(path: Path) -> Scenario:
    """The scenario that a file holds; raises BadInput."""
    report = Report()
    scenario = _scenario(path, report)
    report.raise_if_any()
    assert scenario is not None  # else something was reported
    return scenario


def load_course(root: Path, *, record: bool = True) -> CourseData:
    """Everything under a course's folder; raises BadInput. Without ``record``, as if nothing had
    been published.
    """
    report = Report()
    course = _course(root / COURSE_FILE, report)
    scenarios = {path.stem: _scenario(path, report) for path in _files(root / "scenarios", report)}
    surroundings = Surroundings(
        zone=ZoneInfo(course.time_zone if course else "UTC"),
        scenarios=scenarios,
        trials=root / "trials",
    )
    terms = [_term(path, surroundings, report) for path in _files(root / "terms", report)]
    published = read_published(root, report) if record else {}
    report.raise_if_any()
    assert course is not None
    whole = tuple(term for term in terms if term)
    check_nothing_lost(root, published, labs_by_name(whole), report)
    report.raise_if_any()
    return CourseData(
        root=root,
        course=course,
        scenarios={name: scenario for name, scenario in scenarios.items() if scenario},
        terms=whole,
        published=published,
    )


def _files(folder: Path, report: Report) -> list[Path]:
    """The YAML files of a folder by name; none where there is no such folder."""
    if not folder.is_dir():
        return []
    for path in sorted(folder.glob("*.yml")):
        report.malformed(
            Place(file=str(path), line=1, column=1),
            "a file name that ends in .yml",
            f"rename it to {path.stem}.yaml",
        )
    return sorted(folder.glob("*.yaml"))


def _check_stem(path: Path, report: Report, rule: Callable[[str, str], str]) -> None:
    """The name of a file is the id of what it holds."""
    try:
        rule(path.stem, "the file name")
    except UnreadableError as error:
        place = Place(file=str(path), line=1, column=1)
        report.malformed(place, error.found, error.expected)


def _scenario(path: Path, report: Report) -> Scenario | None:
    noted = len(report)
    node = read_file(path, report)
    if node is None:
        return None
    _check_stem(path, report, object_name)
    reading = Reading(report=report)
    draft = SCENARIO.read(node, (), reading)
    if isinstance(draft, Draft) and not reading.unread:
        for fault in faults_of_draft(draft):
            report.add(fault.at(_place(fault, reading)))
    report.sort_from(noted)
    if len(report) > noted or not isinstance(draft, Draft):
        return None
    return _whole(path.stem, draft, reading)


def _place(fault: Fault, reading: Reading) -> Place:
    """Where a fault shows: at the first of its paths, or at what holds it."""
    path = fault.paths[0]
    places = reading.keys if fault.at_key else reading.values
    while path not in places:
        path, places = path[:-1], reading.keys if path[1:] else reading.values
    return places[path]


def _whole(name: str, draft: Draft, reading: Reading) -> Scenario:
    """A draft in which nothing is missing, as a scenario."""
    assert draft.run is not None
    return Scenario(
        id=name,
        title=draft.title,
        objects={key: thing for key, thing in draft.objects.items() if thing},
        surfaces={key: surface for key, surface in draft.surfaces.items() if surface},
        strings={key: string for key, string in draft.strings.items() if string},
        run=draft.run,
        systems=tuple(system for system in draft.systems.values() if system),
        former_steps=tuple(step for step in draft.former_steps.values() if step),
        places=_places(reading),
    )


def _places(reading: Reading) -> dict[str, Place]:
    """Where values stand, and for names the key itself."""
    names = {keys[0]: place for keys, place in reading.keys.items() if len(keys) == 1}
    return {".".join(keys): place for keys, place in reading.values.items() if keys} | names


def _course(path: Path, report: Report) -> Course | None:
    noted = len(report)
    node = read_file(path, report)
    if node is None:
        return None
    reading = Reading(report=report)
    course = COURSE.read(node, (), reading)
    if not isinstance(course, Course):
        return None
    _check_gravity(course, reading)
    report.sort_from(noted)
    return replace(course, places=_places(reading))


def _check_gravity(course: Course, reading: Reading) -> None:
    """Exactly one way to say how strong gravity is."""
    by_place = {"latitude": course.latitude, "height": course.height}
    given = [key for key, quantity in by_place.items() if quantity is not None]
    remedy = "give gravity, or latitude and height"
    if course.gravity is not None and given:
        place = reading.keys[(given[0],)]
        reading.report.impossible(place, f"{given[0]} beside gravity", remedy)
    elif course.gravity is None and len(given) == 1:
        place = reading.keys[(given[0],)]
        reading.report.malformed(place, f"{given[0]} alone", remedy)
    elif course.gravity is None and not given:
        reading.report.malformed(reading.values[()], "a course without gravity", remedy)


def _term(path: Path, surroundings: Surroundings, report: Report) -> Term | None:
    noted = len(report)
    node = read_file(path, report)
    if node is None:
        return None
    _check_stem(path, report, term_id)
    term = read_term(node, path.stem, surroundings, report)
    report.sort_from(noted)
    return term
