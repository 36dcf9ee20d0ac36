"""The numbers of a scenario by their paths, such as ``cart.mass``: listed, and replaced.

Takes a term's numbers, a worked example's or the command line's; gives a new scenario after every
check has run again. A number without a ± of its own keeps the one of the number that it replaces.
"""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from typing import Any

from fallwork.errors import Place
from fallwork.scenario.impossible import Fault
from fallwork.scenario.joints import joint_faults
from fallwork.scenario.limits import limit_faults
from fallwork.scenario.model import OBJECT_KINDS, RUN, SURFACE, Scenario, Wheels
from fallwork.scenario.quantity import Quantity, as_written, keeping_uncertainty
from fallwork.scenario.records import Record
from fallwork.scenario.report import Report, all_known, closest, listed, meant, refusal, shown
from fallwork.scenario.shapes import Reading, Shape, found_in
from fallwork.scenario.tree import Keys, Node, Scalar, Spoilt
from fallwork.scenario.tree import Mapping as MappingNode

AUTO = "auto"  # a worked example that the program chooses
_Row = tuple[str, str, bool]  # path, text, whether a term can put another number there


def fields_of(scenario: Scenario) -> dict[str, str]:
    """Path -> text, in the order of the file: all but titles, which change no number."""
    return {path: text for path, text, _ in _rows(scenario)}


def numbers_of(scenario: Scenario) -> dict[str, str]:
    """The same, of nothing but numbers and the start of the run."""
    return {path: text for path, text, number in _rows(scenario) if number}


def _rows(scenario: Scenario) -> Iterator[_Row]:
    for name, thing in scenario.objects.items():
        yield f"{name}.kind", thing.kind, False
        yield from _of_holder(name, thing, OBJECT_KINDS[thing.kind])
    for name, surface in scenario.surfaces.items():
        yield from _of_holder(name, surface, SURFACE)
    for name, string in scenario.strings.items():
        yield f"{name}.path", ", ".join(string.path), False
    yield from _of_holder("run", scenario.run, RUN)
    if scenario.run.speed is None:
        yield "run.start", "rest", True
    for system in scenario.systems:
        yield f"systems.{system.id}", ", ".join(system.members), False


def _of_holder(name: str, holder: Any, record: Record) -> Iterator[_Row]:
    for key, known in record.keys.items():
        value = getattr(holder, known.attribute)
        path = f"{name}.{key}"
        if isinstance(value, Quantity):
            yield path, as_written(value), True
        elif isinstance(value, Wheels):
            yield f"{path}.count", str(value.count), True
            yield f"{path}.mass", as_written(value.mass), True
        elif isinstance(value, str) and key not in ("kind", "noun"):
            yield path, value, False


@dataclass(frozen=True, kw_only=True)
class Override:
    """A number for one path, as somebody wrote it."""

    text: str
    place: Place  # of the text
    key_place: Place  # of the path


@dataclass(frozen=True)
class Numbers(Shape):
    """Paths such as ``cart.mass`` with the numbers that replace the scenario's.

    Whether the scenario has such numbers is seen later. None for ``word``, if there is one.
    """

    at_least: int = 0
    word: str = ""

    @property
    def stand_in(self) -> dict[str, Override]:
        """No numbers."""
        return {}

    def _read(self, node: Node, path: Keys, reading: Reading) -> dict[str, Override] | None:
        if self.word and isinstance(node, Scalar) and node.text.strip() == self.word:
            return None
        if not isinstance(node, MappingNode) or len(node.entries) < self.at_least:
            wrong = f"{found_in(node)} where numbers should stand"
            found = "not one number" if isinstance(node, MappingNode) else wrong
            expected = "write e.g. {weight.mass: 120.0 g}"
            reading.malformed(node, found, expected + (f", or {self.word}" if self.word else ""))
            return {}
        for _, value in node.entries:
            if not isinstance(value, Scalar | Spoilt):
                reading.malformed(value, *refusal("number-of-parts"))
        return {
            key.text: Override(text=value.text, place=value.place, key_place=key.place)
            for key, value in node.entries
            if isinstance(value, Scalar)
        }

    def _schema(self) -> dict[str, Any]:
        numbers = {
            "type": "object",
            "minProperties": self.at_least,
            "propertyNames": {"pattern": r"^[a-z0-9-]+\.[a-z_]+(?:\.[a-z_]+)?$"},
            "additionalProperties": {"type": ["string", "number"]},
        }
        return {"anyOf": [{"const": self.word}, numbers]} if self.word else numbers


def override(path: str, text: str) -> Override:
    """An override from the command line: its place is the word ``path=text`` itself."""
    word = f"--set {path}={text}"
    return Override(
        text=text,
        place=Place(file=word, line=1, column=len(path) + 2),
        key_place=Place(file=word, line=1, column=1),
    )


def overrides_from_words(words: Iterable[str]) -> dict[str, Override]:
    """Overrides from words such as ``cart.mass=507.3g``; raises BadInput."""
    report = Report()
    overrides: dict[str, Override] = {}
    for word in words:
        path, equals, text = word.partition("=")
        place = Place(file=f"--set {word}", line=1, column=1)
        if not equals:
            report.malformed(place, *refusal("no-equals", word=shown(word)))
        elif path.strip() in overrides:
            report.malformed(place, *refusal("number-twice", path=path.strip()))
        else:
            overrides[path.strip()] = override(path.strip(), text.strip())
    report.raise_if_any()
    return overrides


def with_numbers(scenario: Scenario, overrides: Mapping[str, str | Override]) -> Scenario:
    """The scenario with other numbers, e.g. ``{"cart.mass": "512.0 g"}``; raises BadInput."""
    placed = {
        path: override(path, given) if isinstance(given, str) else given
        for path, given in overrides.items()
    }
    report = Report()
    changed = apply_numbers(scenario, placed, report)
    report.raise_if_any()
    return changed


def apply_numbers(
    scenario: Scenario, overrides: Mapping[str, Override], report: Report
) -> Scenario:
    """The scenario with other numbers; what is wrong with them goes to the report."""
    noted = len(report)
    changed = put_numbers(scenario, overrides, report)
    if len(report) == noted:
        check_numbers(changed, overrides, report)
    return changed


def put_numbers(scenario: Scenario, overrides: Mapping[str, Override], report: Report) -> Scenario:
    """The scenario with those of the numbers that can be read."""
    for path, given in overrides.items():
        changed = _with_number(scenario, path, given, report)
        scenario = replace(changed, places={**changed.places, path: given.place})
    return scenario


def faults_of(scenario: Scenario) -> tuple[Fault, ...]:
    """Everything that can't be, of a scenario as it was read or after its numbers were changed."""
    return (*joint_faults(scenario), *limit_faults(scenario))


def check_numbers(changed: Scenario, overrides: Mapping[str, Override], report: Report) -> None:
    """Report what clashes in a scenario that was sound before these overrides."""
    for fault in faults_of(changed):
        paths = [".".join(keys) for keys in fault.paths]
        places = [overrides[path].place for path in paths if path in overrides]
        places += [given.place for given in overrides.values()]
        report.add(fault.at(places[0]))


def things_of(scenario: Scenario) -> dict[str, Any]:
    """Everything that has numbers, by the first word of their paths."""
    return {**scenario.objects, **scenario.surfaces, "run": scenario.run}


def _with_number(scenario: Scenario, path: str, given: Override, report: Report) -> Scenario:
    first, _, rest = path.partition(".")
    holders = things_of(scenario)
    if first not in holders:
        wanted = meant(first, list(holders), f"numbers belong to {listed(holders)}")
        words = refusal("unknown-holder", name=shown(first), meant=wanted)
        report.malformed(given.key_place, *words)
        return scenario
    holder = holders[first]
    record = {**OBJECT_KINDS, "surface": SURFACE, "run": RUN}[holder.kind]
    changed = _replaced(holder, record, path, rest, given, report)
    if first == "run":
        return replace(scenario, run=changed)
    if first in scenario.surfaces:
        return replace(scenario, surfaces={**scenario.surfaces, first: changed})
    return replace(scenario, objects={**scenario.objects, first: changed})


def _replaced(
    holder: Any, record: Record, path: str, rest: str, given: Override, report: Report
) -> Any:
    """The holder with the number at ``rest`` (a key, or keys joined by points) replaced."""
    key, _, deeper = rest.partition(".")
    known = record.keys.get(key)
    below = known.shape if known and isinstance(known.shape, Record) else None
    if known is None or not known.holds_numbers or bool(deeper) != (below is not None):
        wanted = _number_meant(path.removesuffix(rest), rest, record)
        words = refusal("unknown-number", path=shown(path), meant=wanted)
        report.malformed(given.key_place, *words)
        return holder
    former = getattr(holder, known.attribute)
    if below is not None and former is None:
        words = refusal("no-such-part", name=path.partition(".")[0], key=key)
        report.malformed(given.key_place, *words)
        return holder
    if below is not None:
        value = _replaced(former, below, path, deeper, given, report)
    else:
        node = Scalar(text=given.text, place=given.place)
        value = known.shape.read(node, (key,), Reading(report=report))
    if isinstance(value, Quantity) and isinstance(former, Quantity):
        value = keeping_uncertainty(value, former)
    return replace(holder, **{known.attribute: value})


def _number_meant(prefix: str, rest: str, record: Record) -> str:
    keys = []
    for key, known in record.keys.items():
        if isinstance(known.shape, Record):
            keys += [f"{key}.{below}" for below in known.shape.keys]
        elif known.holds_numbers:
            keys.append(key)
    near = closest(rest, keys)
    if near:
        return f'did you mean "{prefix}{near}"?'
    return all_known("number", [f"{prefix}{key}" for key in keys])
