"""Where the commands find the course and the scenario that somebody named.

Takes what was typed; gives loaded data. Raises ``CallError`` with a sentence, or ``BadInput``.
"""

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import NamedTuple, TypeVar

from fallwork.commands.typed import CallError
from fallwork.mechanics.course import gravity_of
from fallwork.scenario import (
    CourseData,
    Lab,
    Scenario,
    find_course,
    from_here,
    load_course,
    load_scenario,
    overrides_from_words,
    with_numbers,
)
from fallwork.scenario.course import COURSE_FILE
from fallwork.scenario.report import listed, meant, shown

T = TypeVar("T")
COURSE_FOLDER = Path("site-data")
STANDARD_GRAVITY = 9.80665  # m/s², conventional value of the CGPM of 1901; from memory
_YAML = {".yaml", ".yml"}


class Calculation(NamedTuple):
    """What a course says about calculating."""

    gravity: float  # m/s²
    figures: int  # significant figures of results


def calculation(data: CourseData | None) -> Calculation:
    """The course's; without a course standard gravity and the usual three figures."""
    if data is None:
        return Calculation(STANDARD_GRAVITY, 3)
    return Calculation(gravity_of(data.course), data.course.significant_figures)


def course_folder() -> Path:
    """The course in the current folder, else the one that the current folder belongs to."""
    if COURSE_FOLDER.is_dir():
        return COURSE_FOLDER
    return find_course(Path.cwd()) or COURSE_FOLDER


def course_of(path: Path, *, trials: bool = True) -> CourseData | None:
    """The course that a file belongs to, if it belongs to one."""
    root = find_course(path)
    return None if root is None else load_course(from_here(root), record=False, trials=trials)


class Source(NamedTuple):
    """What somebody named: a scenario, with a term's numbers where a term was named too."""

    scenario: Scenario
    lab: Lab | None  # None where no term was named
    course: CourseData | None  # None for a file that belongs to none


def source_of(typed: str, term: str | None, *, trials: bool = True) -> Source:
    """What ``typed`` names: a scenario file, or an id: of a lab where a term is given, else of a
    scenario. Without ``trials``, their files needn't be there.
    """
    path = Path(typed)
    named, name = None, typed
    if path.suffix in _YAML or "/" in typed or len(path.parts) != 1:
        named, name = scenario_in(path), path.stem  # its own problems before the course's
        course = course_of(path, trials=trials)
    else:
        course = load_course(course_folder(), record=False, trials=trials)
    if term is None:
        scenario = named or called("scenario", name, course.scenarios if course else {})
        return Source(scenario, None, course)
    found = called("term", term, {each.id: each for each in course.terms} if course else {})
    given = [lab for lab in found.labs if lab.scenario.id == name]
    labs = {lab.id: lab for lab in found.labs}
    if name not in labs and len(given) == 1:  # the only lab with this scenario
        labs[name] = given[0]
    lab = called(f"lab of {term}", name, labs)
    return Source(lab.variant, lab, course)


def key_source(
    typed: str, *, term: str | None, numbers: Sequence[str]
) -> tuple[Scenario, Calculation]:
    """The scenario as ``source_of`` finds it, with other numbers such as ``cart.mass=507.3g``."""
    found = source_of(typed, term, trials=False)
    scenario = with_numbers(found.scenario, overrides_from_words(numbers))
    return scenario, calculation(found.course)


def called(what: str, name: str, known: Mapping[str, T]) -> T:
    """What is known by a name; raises CallError."""
    if name not in known:
        words = list(known)
        hint = meant(name, words, f"there is {listed(words) or 'none'}")
        raise CallError("not-called", what=what, name=shown(name), hint=hint)
    return known[name]


def scenario_in(path: Path) -> Scenario:
    """The scenario in a file; raises ``CallError`` for what is no scenario file, and says what
    would be right; ``BadInput`` for what is wrong in it.
    """
    root, whole = find_course(path), course_of_part(path)
    if path.is_dir() and root == path.absolute():
        raise CallError("a-course", path=path)
    if path.is_dir():
        files = sorted(file.name for file in path.glob("*.yaml"))
        raise CallError(
            "a-folder", path=path, e_g=f"file in it, e.g. {files[0]}" if files else "YAML file"
        )
    if path.is_file() and path.suffix not in _YAML:
        ending = f"ends in {path.suffix}" if path.suffix else "has no ending"
        raise CallError("no-scenario", path=path, ending=ending)
    if whole is not None:
        raise CallError("whole-course" if path.absolute().parent == whole else "a-term", path=path)
    return load_scenario(path)


def course_of_part(path: Path) -> Path | None:
    """The folder of the course of which a file is a term, or its course.yaml."""
    root, file = find_course(path), path.absolute()
    parts = (root / COURSE_FILE, root / "terms" / file.name) if root else ()
    return root if file in parts and path.is_file() else None
