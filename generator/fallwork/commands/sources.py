"""Where the commands find the course and the scenario that somebody named.

Takes what was typed; gives loaded data. Raises ``NotFoundError`` with a sentence, or ``BadInput``.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TypeVar

from fallwork.errors import FallworkError
from fallwork.mechanics.course import gravity_of
from fallwork.scenario import find_course, from_here, load_course, load_scenario, with_numbers
from fallwork.scenario.model import CourseData, Lab, Scenario
from fallwork.scenario.overrides import overrides_from_words

T = TypeVar("T")

COURSE_FOLDER = Path("site-data")
STANDARD_GRAVITY = 9.80665  # m/s², conventional value of the CGPM of 1901; from memory


class NotFoundError(FallworkError):
    """A name that leads to nothing."""

    def __init__(self, what: str, name: str, known: Iterable[str]) -> None:
        super().__init__(what, name)
        self.what = what
        self.name = name
        self.known = tuple(known)

    def __str__(self) -> str:
        there = f"there is {', '.join(self.known)}" if self.known else "there is none"
        return f'no {self.what} is called "{self.name}"; {there}'


@dataclass(frozen=True, kw_only=True)
class Calculation:
    """What a course says about calculating."""

    gravity: float  # m/s²
    figures: int  # significant figures of results


def calculation(data: CourseData | None) -> Calculation:
    """The course's; without a course standard gravity and the usual three figures."""
    if data is None:
        return Calculation(gravity=STANDARD_GRAVITY, figures=3)
    return Calculation(gravity=gravity_of(data.course), figures=data.course.significant_figures)


def course_folder() -> Path:
    """The course in the current folder, else the one that the current folder belongs to."""
    if COURSE_FOLDER.is_dir():
        return COURSE_FOLDER
    return find_course(Path.cwd()) or COURSE_FOLDER


def course_of(path: Path) -> CourseData | None:
    """The course that a file belongs to, if it belongs to one."""
    root = find_course(path)
    if root is None:
        return None
    return load_course(from_here(root))


@dataclass(frozen=True, kw_only=True)
class Source:
    """What somebody named: a scenario, with a term's numbers where a term was named too."""

    scenario: Scenario
    lab: Lab | None  # None where no term was named
    course: CourseData | None  # None for a file that belongs to none


def source_of(typed: str, term: str | None) -> Source:
    """What ``typed`` names: a scenario file, or an id: of a lab where a term is given, else of a
    scenario.
    """
    path = Path(typed)
    is_file = path.suffix in {".yaml", ".yml"} or len(path.parts) != 1
    named = load_scenario(path) if is_file else None  # its own problems before the course's
    course = course_of(path) if is_file else load_course(course_folder())
    if term is not None:
        lab = _lab(course, term, path.stem if is_file else typed)
        return Source(scenario=lab.variant, lab=lab, course=course)
    scenario = named or _named("scenario", typed, course.scenarios if course else {})
    return Source(scenario=scenario, lab=None, course=course)


def key_source(
    typed: str, *, term: str | None, numbers: Sequence[str]
) -> tuple[Scenario, Calculation]:
    """The scenario as ``source_of`` finds it, with other numbers such as ``cart.mass=507.3g``."""
    found = source_of(typed, term)
    scenario = with_numbers(found.scenario, overrides_from_words(numbers))
    return scenario, calculation(found.course)


def _lab(course: CourseData | None, term: str, name: str) -> Lab:
    """The term's lab that has this id, or its only lab with this scenario."""
    found = _named("term", term, {each.id: each for each in course.terms} if course else {})
    labs = {lab.id: lab for lab in found.labs}
    given = [lab for lab in found.labs if lab.scenario.id == name]
    if name not in labs and len(given) == 1:
        return given[0]
    return _named(f"lab of {term}", name, labs)


def _named(what: str, name: str, known: Mapping[str, T]) -> T:
    if name not in known:
        raise NotFoundError(what, name, known)
    return known[name]
