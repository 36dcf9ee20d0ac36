"""Where the commands find the course and the scenario that somebody named.

Takes what was typed; gives loaded data. Raises ``CallError`` with a sentence, or ``BadInput``.
"""

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import NamedTuple, TypeVar

from fallwork.commands.typed import CallError
from fallwork.errors import BadInput, Place
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
from fallwork.scenario.load import COURSE_FILE
from fallwork.scenario.report import Impossible, listed, meant, shown

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
    """The scenario in a file; raises ``BadInput``, also for what is no scenario file."""
    if other := _other_than_a_scenario(path):
        place = Place(file=str(path), line=1, column=1)
        raise BadInput((Impossible(place=place, found=other[0], expected=other[1]),))
    return load_scenario(path)


def _other_than_a_scenario(path: Path) -> tuple[str, str] | None:
    """What a path leads to instead, and what would be right; None for a file that may be one."""
    root = find_course(path)
    if path.is_dir():
        if root == path.absolute():
            return "this is a course", "name one of its scenarios by its id"
        files = sorted(file.name for file in path.glob("*.yaml"))
        named = f"name a file in it, e.g. {files[0]}" if files else "name a YAML file"
        return "this is a folder", named
    if path.is_file() and path.suffix not in _YAML:
        ending = f"ends in {path.suffix}" if path.suffix else "has no ending"
        expected = "that of a scenario file ends in .yaml; records are for fallwork trials"
        return f"a file whose name {ending}", expected
    if course_of_part(path) is None:
        return None
    if path.absolute().parent == root:
        return "this file is about the whole course", "name a file in its folder scenarios"
    return "this is a term", f"name a lab of it by its id, with --term {path.stem}"


def course_of_part(path: Path) -> Path | None:
    """The folder of the course of which a file is a term, or its course.yaml."""
    root, file = find_course(path), path.absolute()
    parts = (root / COURSE_FILE, root / "terms" / file.name) if root else ()
    return root if file in parts and path.is_file() else None
