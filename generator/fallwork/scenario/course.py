"""What course.yaml says, and everything under a course's folder, or a single scenario file.

Takes paths; gives the model. Raises BadInput with every problem of every file, in the order
course.yaml, inventory.yaml, words, scenarios by name, terms by name, records of what was published.
"""

import re
from collections.abc import Callable, Iterable, Mapping
from contextlib import suppress
from dataclasses import dataclass, field, replace
from datetime import datetime
from importlib.resources import files
from pathlib import Path
from typing import Annotated, TypeVar
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from fallwork.errors import Place
from fallwork.scenario.frozen import FROZEN, PUBLISHED, Frozen, frozen_path
from fallwork.scenario.inventory import Inventory, read_inventory
from fallwork.scenario.limits import faults_of
from fallwork.scenario.model import SCENARIO, TITLE, Scenario
from fallwork.scenario.notation import ENDING, USUAL, Notation, Own
from fallwork.scenario.nouns import object_name, term_id
from fallwork.scenario.quantity import Given, Quantity, as_written, parse_quantity
from fallwork.scenario.records import Record, items, named
from fallwork.scenario.report import Refusal, Report, fits, refusals, unknown
from fallwork.scenario.shapes import MOMENT, Reading, choice, measure, or_word, text, text_of, whole
from fallwork.scenario.term import LEADS, Term, read_term
from fallwork.scenario.tree import Mapping as MappingNode
from fallwork.scenario.tree import Node, read_file, read_text

COURSE_FILE, INVENTORY_FILE, WORDS = "course.yaml", "inventory.yaml", "words"
T = TypeVar("T")
_Reader = Callable[[Node, str, Report], T | None]  # a tree and the file's stem
_Rule = Callable[[str, str], str] | None
# Where a site stands: no query, no account, and nothing that means more than itself in HTML.
_ADDRESS = r"https?://(?:[\w.-]+|\[[0-9A-Fa-f:.]+\])(?::\d{1,5})?(?:/[\w.~%+,;=:@/-]*)?"
site_url = fits(_ADDRESS, "no-site")
_NO_ZONE = "UTC"  # stands in for a zone that can't be read
_NO_SUCH_ZONE = (ZoneInfoNotFoundError, ValueError, OSError)


def _zone(text: str) -> str:
    try:
        return ZoneInfo(text).key
    except _NO_SUCH_ZONE:
        names = files("tzdata").joinpath("zones").read_text("utf-8").split()
        words = unknown("time zone", text, names, "write an IANA name, e.g. Europe/Zurich")
        raise Refusal("unknown", **words) from None


@dataclass(frozen=True, kw_only=True)
class Contact:
    """Whom to call when something goes wrong in the lab: never a person's private number."""

    who: Annotated[str, text("a role or office", "the lab office")]
    how: Annotated[str, text("a way to reach it", "room 114")]


@dataclass(frozen=True, kw_only=True)
class Safety:
    """How far things can fall, and from when on a set-up counts as heavy. The height of a table is
    common practice, the limits are a choice of this program.
    """

    fall_height: Annotated[Quantity, measure("fall")] = parse_quantity("0.90 m", "length")
    heavy_mass: Annotated[Quantity, measure("mass")] = parse_quantity("1 kg", "mass")
    heavy_energy: Annotated[Quantity, measure("energy")] = parse_quantity("10 J", "energy")

    @property
    def heavy_from(self) -> str:
        """The limits in words."""
        return f"{as_written(self.heavy_mass)} or {as_written(self.heavy_energy)}"


# A path from the folder of the hand-written pages on, never out of it.
_INSIDE = fits(r"(?=.*\S)(?!(?:.*/)?\.\.(?:/|$))[^/\\][^\\]*", "pattern-of-attachment")
_Moments = Mapping[str, datetime | None]
_ALWAYS = or_word("always", MOMENT, "a date", "write always, or a date, e.g. 2027-02-08")
_ATTACHMENTS = named("the file", "a date or always", _ALWAYS, _INSIDE, pattern="^[^/]")
_SENTENCE = text("a sentence", "Units everywhere")
_RUBRIC = items("the rubric", "[Sketch and forces complete, Units everywhere]", _SENTENCE)


@dataclass(frozen=True, kw_only=True)
class Course:
    """course.yaml."""

    title: Annotated[str, TITLE]
    gravity: Annotated[Given, measure("gravity")] = None
    latitude: Annotated[Given, measure("latitude")] = None
    height: Annotated[Given, measure("height")] = None
    time_zone: Annotated[str, text("a time zone", "Europe/Zurich", _zone, _NO_ZONE)]
    significant_figures: Annotated[int, whole("the number of significant figures", 2, 6, 3)] = 3
    contact: Annotated[Contact | None, Record("a contact", Contact)] = None
    safety: Annotated[Safety, Record("the safety limits", Safety)] = Safety()
    notation: Annotated[Notation, Record("a notation", Notation)] = USUAL
    rubric: Annotated[tuple[str, ...], _RUBRIC] = ()
    # Host of recordings -> what is put after an address there to lead to a time.
    recording_times: Annotated[Mapping[str, str], LEADS] = field(default_factory=dict)
    url: Annotated[str, text("an address", "https://lab.example.org/", site_url)] = ""
    guide: Annotated[str, choice(["staff"], "for whom the guide is")] = ""
    # Pattern of a file beside the hand-written pages -> from when on; None: always.
    attachments: Annotated[_Moments, _ATTACHMENTS] = field(default_factory=dict)
    places: Mapping[str, Place] = field(default_factory=dict, compare=False, repr=False)
    # ^ where values stand in the file, by key

    @property
    def zone(self) -> ZoneInfo:
        """Its time zone."""
        return ZoneInfo(self.time_zone)


COURSE = Record("a course", Course)


@dataclass(frozen=True)
class CourseData:
    """Everything under site-data/, read at once."""

    root: Path
    course: Course
    scenarios: Mapping[str, Scenario]
    terms: tuple[Term, ...] = ()  # in order of their ids
    published: Mapping[tuple[str, str], Frozen] = field(default_factory=dict)
    # ^ what was open already, by term and lab
    inventory: Inventory | None = None  # None where the course has no such file

    def with_one_lab(self, id_: str) -> "CourseData":
        """The course as if it had no other."""
        terms = (replace(t, labs=tuple(e for e in t.labs if e.id == id_)) for t in self.terms)
        return replace(self, terms=tuple(term for term in terms if term.labs))


def find_course(path: Path) -> Path | None:
    """The nearest folder, from ``path`` upwards, that holds course.yaml."""
    start = path.absolute()
    return next((each for each in (start, *start.parents) if (each / COURSE_FILE).is_file()), None)


def load_scenario(path: Path) -> Scenario:
    """The scenario that a file holds; raises BadInput."""
    report = Report()
    scenario = _read(path, _scenario, report, object_name)
    report.raise_if_any()
    assert scenario is not None  # else something was reported
    return scenario


def load_settings(root: Path) -> Course:
    """What holds for the course as a whole; raises BadInput."""
    report = Report()
    course = _read(root / COURSE_FILE, _course, report)
    report.raise_if_any()
    assert course is not None  # else something was reported
    return course


def load_course(root: Path, *, record: bool = True, trials: bool = True) -> CourseData:
    """Everything under a course's folder; raises BadInput. Without ``record``, as if nothing had
    been published; without ``trials``, the files of trials aren't looked for.
    """
    report = Report()

    def every(folder: str, read: _Reader[T], rule: _Rule) -> dict[str, T | None]:
        for path in sorted((root / folder).glob("*.yml")):
            report.refuse(Place(file=str(path)), "other-ending", stem=path.stem)
        paths = sorted((root / folder).glob("*.yaml"))
        return {path.stem: _read(path, read, report, rule) for path in paths}

    def term_in(node: Node, id_: str, report: Report) -> Term | None:
        return read_term(node, id_, zone, scenarios, records if trials else None, report)

    course, owned = _read(root / COURSE_FILE, _course, report), root / INVENTORY_FILE
    inventory = _read(owned, read_inventory, report) if owned.exists() else None
    if (words := _words(root / WORDS, report)) and course:
        course = replace(course, notation=replace(course.notation, words=words))
    zone, records = (
        course.zone if course else ZoneInfo(_NO_ZONE),
        root / "trials" if trials else None,
    )
    notation = course.notation if course else USUAL
    read = every("scenarios", _scenario, object_name).items()
    scenarios = {name: each and replace(each, notation=notation) for name, each in read}
    terms = tuple(filter(None, every("terms", term_in, term_id).values()))
    published = read_published(root, report) if record else {}
    report.raise_if_any()
    assert course is not None
    _refuse_lost(root, published, terms, report)
    found = {name: scenario for name, scenario in scenarios.items() if scenario}
    return CourseData(root, course, found, terms, published, inventory)


def _words(folder: Path, report: Report) -> Mapping[str, Own]:
    """The course's own files of steps."""
    found = dict[str, Own]()
    for path in sorted(each for each in folder.rglob("[!.]*") if not each.is_dir()):
        name = path.relative_to(folder).as_posix()
        if not re.fullmatch(rf"(measured/)?[a-z][a-z0-9-]*(\.more)?{re.escape(ENDING)}", name):
            report.refuse(Place(file=str(path)), "words-ending")
        elif text := read_text(path, report):
            name = name.removesuffix(ENDING)
            found[name] = Own(name, Place(file=str(path)), text)
    return found


def _refuse_lost(
    root: Path, published: Iterable[tuple[str, str]], terms: Iterable[Term], report: Report
) -> None:
    """A lab that was published keeps its addresses, so its term has to have it."""
    labs = {(term.id, lab.id) for term in terms for lab in term.labs}
    for name, lab in (key for key in published if key not in labs):
        place = Place(file=str(frozen_path(root, name, lab)))
        report.refuse(place, "lost-lab", term=name, lab=lab)
    report.raise_if_any()


def read_published(root: Path, report: Report) -> dict[tuple[str, str], Frozen]:
    """All records under a course's folder, by term and lab."""
    paths = sorted((root / PUBLISHED).glob("*/*.yaml"))

    def frozen_in(node: Node, *_: object) -> Frozen | None:
        frozen: Frozen | None = FROZEN.read(node, (), Reading(report=report))
        return frozen

    found = {(path.parent.name, path.stem): _read(path, frozen_in, report) for path in paths}
    return {key: frozen for key, frozen in found.items() if frozen}


def _read(path: Path, read: _Reader[T], report: Report, rule: _Rule = None) -> T | None:
    """What a file holds; its name is the id, and follows a ``rule``. Problems in order of lines."""
    noted, node = len(report), read_file(path, report)
    if node is None:
        return None
    try:
        if rule:
            rule(path.stem, "the file name")
    except Refusal as error:
        report.refuse(Place(file=str(path)), error.reason, **error.names)
    found = read(node, path.stem, report)
    report.sort_from(noted)
    return found


def _course(node: Node, _: str, report: Report) -> Course | None:
    """The course that a tree gives; dates are meant in the zone that it names (UTC where that
    can't be told), and there is exactly one way to say how strong gravity is.
    """
    entries = node.entries if isinstance(node, MappingNode) else ()
    zone = ZoneInfo(_NO_ZONE)
    if named := [text_of(value) for key, value in entries if key.text == "time_zone"]:
        with suppress(*_NO_SUCH_ZONE):
            zone = ZoneInfo(named[0])
    reading = Reading(report=report, zone=zone)
    course: Course | None = COURSE.read(node, (), reading)
    if course is None:
        return None
    given = [key for key in ("latitude", "height") if getattr(course, key) is not None]
    place = reading.keys[(given[0],)] if given else reading.values[()]
    if course.gravity is not None and given:
        report.refuse(place, "gravity-twice", key=given[0])
    elif course.gravity is None and len(given) < 2:
        found = f"{given[0]} alone" if given else "a course without gravity"
        report.refuse(place, "no-gravity", found=found)
    return replace(course, places=reading.places())


def _scenario(node: Node, id_: str, report: Report) -> Scenario | None:
    """The scenario, if nothing is wrong with it."""
    noted, reading = len(report), Reading(report=report)
    scenario = SCENARIO.read(node, (), reading)
    if scenario is None:
        return None
    for fault in () if reading.unread else faults_of(scenario):
        path = fault.paths[0]
        places = reading.keys if "at" in refusals()[fault.reason] else reading.values
        while path not in places:  # else at what holds it
            path, places = path[:-1], reading.keys if path[1:] else reading.values
        report.refuse(places[path], fault.reason, **fault.names)
    sound = len(report) == noted
    return replace(scenario, id=id_, places=reading.places()) if sound else None
