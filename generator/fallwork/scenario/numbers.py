"""The numbers of a scenario by their paths, such as ``cart.mass``: listed, and replaced.

Takes a term's numbers, a worked example's or the command line's; gives a new scenario after every
check has run again. A number without a ± of its own keeps the one of the number that it replaces.
"""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from typing import Any

from fallwork.errors import Place
from fallwork.scenario.joints import joint_faults
from fallwork.scenario.limits import limit_faults
from fallwork.scenario.model import RECORDS, Scenario
from fallwork.scenario.quantity import Quantity, as_written, keeping_uncertainty
from fallwork.scenario.records import Record
from fallwork.scenario.report import Fault, Report, all_known, closest, listed, shown, unknown
from fallwork.scenario.shapes import Reading, Shape
from fallwork.scenario.tree import Keys, Node, Scalar, Spoilt, start_of
from fallwork.scenario.tree import Mapping as MappingNode

_Row = tuple[str, Any, bool]  # path, value, whether a term can put another number there


def fields_of(scenario: Scenario) -> dict[str, str]:
    """Path -> text, in the order of the file: all but titles, which change no number."""
    return {path: _written(value) for path, value, _ in _rows(scenario)}


def numbers_of(scenario: Scenario) -> dict[str, str]:
    """The same, of nothing but numbers and the start of the run."""
    return {path: _written(value) for path, value, number in _rows(scenario) if number}


def values_of(scenario: Scenario) -> list[Any]:
    """All numbers as values in SI, in the order of the file."""
    return [getattr(value, "value", value) for _, value, number in _rows(scenario) if number]


def _written(value: Any) -> str:
    return as_written(value) if isinstance(value, Quantity) else str(value)


def _rows(scenario: Scenario) -> Iterator[_Row]:
    for name, thing in {**scenario.objects, **scenario.surfaces}.items():
        yield from _of_holder(name, thing, RECORDS[thing.kind])
    for name, string in scenario.strings.items():
        yield f"{name}.path", ", ".join(string.path), False
    yield from _of_holder("run", scenario.run, RECORDS["run"])
    if scenario.run.speed is None:
        yield "run.start", "rest", True
    for system in scenario.systems:
        yield f"systems.{system.id}", ", ".join(system.members), False


def _of_holder(name: str, holder: Any, record: Record) -> Iterator[_Row]:
    for key, known in record.keys.items():
        path, value = f"{name}.{key}", getattr(holder, known.attribute)
        if isinstance(known.shape, Record) and value is not None:
            yield from _of_holder(path, value, known.shape)
        elif value is not None and key != "noun":
            yield path, value, known.shape.numeric


@dataclass(frozen=True, kw_only=True)
class Override:
    """A number for one path, as somebody wrote it."""

    text: str
    place: Place  # of the text
    key_place: Place  # of the path


@dataclass(frozen=True)
class Numbers(Shape):
    """Paths such as ``cart.mass`` with the numbers that replace the scenario's.

    Whether the scenario has such numbers is seen later.
    """

    at_least: int = 0
    otherwise: str = ""  # what else may stand there

    @property
    def stand_in(self) -> dict[str, Override]:
        """No numbers."""
        return {}

    def _read(self, node: Node, path: Keys, reading: Reading) -> dict[str, Override]:
        expected = "write e.g. {weight.mass: 120.0 g}" + self.otherwise
        if not isinstance(node, MappingNode):
            reading.misplaced(node, "numbers", expected)
            return {}
        if len(node.entries) < self.at_least:
            reading.refuse(node, "not-one-number", expected=expected)
        for _, value in node.entries:
            if not isinstance(value, Scalar | Spoilt):
                reading.refuse(value, "number-of-parts")
        return {
            key.text: Override(text=value.text, place=value.place, key_place=key.place)
            for key, value in node.entries
            if isinstance(value, Scalar)
        }

    def _schema(self) -> dict[str, Any]:
        return {
            "type": "object",
            "minProperties": self.at_least,
            "propertyNames": {"pattern": r"^[a-z0-9-]+\.[a-z_]+(?:\.[a-z_]+)?$"},
            "additionalProperties": {"type": ["string", "number"]},
        }


def _override(path: str, text: str) -> Override:
    """An override from the command line: its place is the word ``path=text`` itself."""
    start = start_of(f"--set {path}={text}")
    return Override(text=text, place=replace(start, column=len(path) + 2), key_place=start)


def overrides_from_words(words: Iterable[str]) -> dict[str, Override]:
    """Overrides from words such as ``cart.mass=507.3g``; raises BadInput."""
    report = Report()
    overrides: dict[str, Override] = {}
    for word in words:
        path, equals, text = (part.strip() for part in word.partition("="))
        if not equals:
            report.refuse(start_of(f"--set {word}"), "no-equals", word=shown(word))
        elif path in overrides:
            report.refuse(start_of(f"--set {word}"), "number-twice", path=path)
        else:
            overrides[path] = _override(path, text)
    report.raise_if_any()
    return overrides


def with_numbers(scenario: Scenario, overrides: Mapping[str, str | Override]) -> Scenario:
    """The scenario with other numbers, e.g. ``{"cart.mass": "512.0 g"}``; raises BadInput."""
    placed = {
        path: _override(path, given) if isinstance(given, str) else given
        for path, given in overrides.items()
    }
    report = Report()
    changed = put_numbers(scenario, placed, report)
    report.raise_if_any()
    check_numbers(changed, placed, report)
    report.raise_if_any()
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
        paths = [path for path in map(".".join, fault.paths) if path in overrides]
        culprit = overrides[[*paths, *overrides][0]]
        report.refuse(culprit.place, fault.reason, **fault.names)


def things_of(scenario: Scenario) -> dict[str, Any]:
    """Everything that has numbers, by the first word of their paths."""
    return {**scenario.objects, **scenario.surfaces, "run": scenario.run}


def _with_number(scenario: Scenario, path: str, given: Override, report: Report) -> Scenario:
    first, _, rest = path.partition(".")
    holders = things_of(scenario)
    if first not in holders:
        words = unknown("name", first, list(holders), f"numbers belong to {listed(holders)}")
        report.refuse(given.key_place, "unknown", **words)
        return scenario
    record = RECORDS[holders[first].kind]
    changed = _replaced(holders[first], record, path, rest, given, report)
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
    if known is None or not known.shape.numeric or bool(deeper) != (below is not None):
        prefix, keys = path.removesuffix(rest), list(_numeric_keys(record))
        near = closest(rest, keys)
        every = all_known("number", [f"{prefix}{key}" for key in keys])
        expected = f'did you mean "{prefix}{near}"?' if near else every
        names = {"what": "number", "name": shown(path), "expected": expected}
        report.refuse(given.key_place, "unknown", **names)
        return holder
    former = getattr(holder, known.attribute)
    if below is not None and former is None:
        name = path.partition(".")[0]
        report.refuse(given.key_place, "no-such-part", name=name, key=key)
        return holder
    if below is not None:
        value = _replaced(former, below, path, deeper, given, report)
    else:
        node = Scalar(text=given.text, place=given.place)
        value = known.shape.read(node, (key,), Reading(report=report))
    if isinstance(value, Quantity) and isinstance(former, Quantity):
        value = keeping_uncertainty(value, former)
    return replace(holder, **{known.attribute: value})


def _numeric_keys(record: Record) -> Iterator[str]:
    for key, known in record.keys.items():
        if isinstance(known.shape, Record):
            yield from (f"{key}.{below}" for below in known.shape.keys)
        elif known.shape.numeric:
            yield key
