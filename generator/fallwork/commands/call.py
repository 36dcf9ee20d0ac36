"""What somebody typed on the command line, the course and the scenario that it names, and what
several commands print alike.

Takes text and paths; gives digits in SI, moments, symbols of a lesson, loaded data, lines. Raises
``CallError`` with a sentence, or ``BadInput``.
"""

import json
import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from datetime import UTC, datetime
from decimal import Decimal
from pathlib import Path
from typing import Any, NamedTuple, TypeVar
from zoneinfo import ZoneInfo

from fallwork.errors import FallworkError, said
from fallwork.lesson.expression import Symbol
from fallwork.lesson.latex import plain
from fallwork.mechanics.course import gravity_of
from fallwork.scenario import CourseData, Lab, Scenario, find_course, from_here, load_course
from fallwork.scenario.course import COURSE_FILE, WORDS, load_scenario
from fallwork.scenario.dates import iso_moment
from fallwork.scenario.numbers import overrides_from_words, with_numbers
from fallwork.scenario.quantity import LARGEST_EXPONENT, kinds, kinds_of_unit
from fallwork.scenario.report import listed, meant, shown

T = TypeVar("T")
Word = str | None  # as typed, if it was
Words = Sequence[str]  # likewise, of what can be repeated
COURSE_FOLDER = Path("site-data")
STANDARD_GRAVITY = 9.80665  # m/s², conventional value of the CGPM of 1901; from memory
_YAML = {".yaml", ".yml"}
_AMOUNT = re.compile(r"\s*([+\-−]?\d+(?:[.,]\d+)?(?:[eE][+\-−]?\d+)?)\s*(.*?)\s*")


class CallError(FallworkError):
    """A call that can't be followed, for a reason in ``refused.yaml``."""

    def __init__(self, reason: str, **names: object) -> None:
        super().__init__(said("commands", reason, **names))


class Amount(NamedTuple):
    """A number as typed, in SI."""

    number: str  # its digits, perhaps with a power of ten, e.g. "-0.890"
    unit: str  # SI, e.g. "m/s²"; "" where none was typed
    zeros: int = 0  # at the end of a whole number: they may be digits or only hold their place

    @property
    def value(self) -> float:
        """The number as a float."""
        return float(self.number)


def read_amount(text: str) -> Amount:
    """The amount that a text gives; raises CallError."""
    found = _AMOUNT.fullmatch(text)
    if not found:
        raise CallError("no-value", text=shown(text))
    number = Decimal(found[1].replace("−", "-").replace(",", "."))
    if number and abs(number.adjusted()) > LARGEST_EXPONENT:
        raise CallError("exponent", number=shown(found[1]), largest=LARGEST_EXPONENT)
    unit, whole = found[2], found[1].lstrip("+-−").isdigit()
    zeros = len(found[1]) - len(found[1].rstrip("0")) if whole else 0
    if not unit:
        return Amount(str(number), "", zeros)
    for kind in kinds_of_unit(unit):
        factor = kind.factors[kind.spelling(unit) or ""]
        if factor is not None:
            return Amount(str(number * factor.normalize()), kind.si_unit, zeros)
    units = [word for kind in kinds().values() for word in kind.factors if word]
    hint = meant(unit, units, f"the units are {listed(dict.fromkeys(units))}")
    raise CallError("no-unit", unit=shown(unit), hint=hint)


def read_moment(text: str | None, zone: ZoneInfo) -> datetime:
    """The moment that ``text`` names; a date is its first moment; None is now."""
    if text is None:
        return datetime.now(UTC)
    try:
        return iso_moment(text, zone)
    except ValueError:
        raise CallError("no-moment", text=text) from None


def named_by(name: str, symbols: Iterable[Symbol], *, one: bool = False) -> Sequence[Symbol]:
    """The symbols that a name may mean, the closest kind of match alone: id, sign, words; at least
    ``one``, and then only one. Raises CallError.
    """
    known, words = tuple(symbols), " ".join(name.lower().split())

    def every(symbols: Iterable[Symbol]) -> str:
        return "; ".join(f"{plain(symbol)} ({symbol.meaning})" for symbol in symbols)

    for fits in (
        lambda symbol: symbol.id.lower() == words,
        lambda symbol: plain(symbol) == name.strip(),
        lambda symbol: symbol.id.lower().partition(".")[0] == words.replace(" ", "-"),
        lambda symbol: symbol.meaning.lower().startswith(words),
        lambda symbol: words in symbol.meaning.lower(),
    ):
        found = [symbol for symbol in known if fits(symbol)]
        if len(found) > 1 and one:
            raise CallError("several", name=shown(name.strip()), every=every(found))
        if found:
            return found
    spelt = [w for s in known for w in (s.id.partition(".")[0], s.id, s.meaning)]
    hint = meant(name.strip(), spelt, f"there is {every(known)}")
    raise CallError("no-quantity", name=shown(name.strip()), hint=hint)


# ---- the course and the scenario


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


def source_of(typed: str, term: Word, numbers: Words, *, trials: bool = True) -> Source:
    """What ``typed`` names, with other ``numbers`` such as ``cart.mass=507.3g``, its lab too: a
    scenario file, or an id: of a lab where a term is given, else of a scenario. Without ``trials``,
    their files needn't be there.
    """
    return _with(_named(typed, term, trials), numbers)


def _with(found: Source, numbers: Sequence[str]) -> Source:
    scenario = with_numbers(found.scenario, overrides_from_words(numbers))
    lab = replace(found.lab, variant=scenario) if found.lab else None
    return found._replace(scenario=scenario, lab=lab)


def _named(typed: str, term: str | None, trials: bool) -> Source:
    path = Path(typed)
    named, name = None, typed
    if path.suffix in _YAML or "/" in typed or len(path.parts) != 1:
        named, name = scenario_in(path), path.stem  # its own problems before the course's
        if course := course_of(path, trials=trials):
            named = replace(named, notation=course.course.notation)
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


def in_variants(typed: str, term: str | None, numbers: Sequence[str]) -> dict[str, Source]:
    """What ``typed`` names, under "", and a lab with the numbers of each variant, by its id."""
    found = _named(typed, term, trials=False)
    others = found.lab.by_variant.items() if found.lab else ()
    every = {"": found} | {n: found._replace(scenario=e.variant, lab=e) for n, e in others}
    return {name: _with(each, numbers) for name, each in every.items()}


def labs_of(source: Source) -> list[str]:
    """A note that a term's labs have other numbers than the scenario, if there are such labs."""
    terms = source.course.terms if source.course else ()
    found = [t.id for t in terms for lab in t.labs if lab.scenario.id == source.scenario.id]
    return [said("commands", "own-numbers", term=found[-1])] if found else []


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
    """The folder of the course of which a file is a term, words of its own or its course.yaml."""
    root, file = find_course(path), path.absolute()
    parts = (root / COURSE_FILE, root / "terms" / file.name) if root else ()
    own = root is not None and root / WORDS in file.parents
    return root if (own or file in parts) and path.is_file() else None


# ---- what is printed alike


def columns(rows: Sequence[Sequence[str]], indent: int = 2, widest: int | None = None) -> list[str]:
    """Rows with their cells below one another; of the first column at most ``widest`` letters
    count, and of each cell only if something stands behind it.
    """
    widths = [
        max((len(row[at]) for row in rows if any(row[at + 1 :])), default=0)
        for at in range(max(map(len, rows), default=0))
    ]
    if widths and widest is not None:
        widths[0] = min(widths[0], widest)
    return [
        " " * indent + "  ".join(map(str.ljust, row, widths[: len(row)])).rstrip() for row in rows
    ]


def as_json(content: Any) -> list[str]:
    """The same bytes for the same content; no zero has a sign."""

    def unsigned(each: Any) -> Any:
        if isinstance(each, Mapping):
            return {key: unsigned(value) for key, value in each.items()}
        if isinstance(each, list | tuple):
            return [*map(unsigned, each)]
        return each + 0.0 if isinstance(each, float) else each

    return [json.dumps(unsigned(content), indent=2, ensure_ascii=False, allow_nan=False)]
