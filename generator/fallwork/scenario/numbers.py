"""The numbers of a scenario by their paths, such as ``cart.mass``: listed, and replaced.

Takes a term's numbers, a worked example's or the command line's; gives a new scenario after every
check has run again. A number without a ± of its own keeps the one of the number that it replaces.
"""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from typing import Any, NamedTuple

from fallwork.errors import Place
from fallwork.scenario.limits import faults_of
from fallwork.scenario.model import RECORDS, Scenario
from fallwork.scenario.quantity import Quantity, as_written, keeping_uncertainty
from fallwork.scenario.records import Key, Record
from fallwork.scenario.report import Report, all_known, closest, listed, shown, unknown
from fallwork.scenario.shapes import Reading, Shape
from fallwork.scenario.tree import Keys, Node, Scalar, Spoilt
from fallwork.scenario.tree import Mapping as MappingNode


class _Slot(NamedTuple):
    """A key of a thing, or of what is in it."""

    path: str
    known: Key
    holder: Any  # None where the scenario has none

    @property
    def value(self) -> Any:
        """What stands there; None for nothing."""
        return getattr(self.holder, self.known.attribute, None)


def _slots(path: str, holder: Any, record: Record) -> Iterator[_Slot]:
    for key, known in record.keys.items():
        if isinstance(known.shape, Record):
            part = getattr(holder, known.attribute, None)
            yield from _slots(f"{path}.{key}", part, known.shape)
        else:
            yield _Slot(f"{path}.{key}", known, holder)


def things_of(scenario: Scenario) -> dict[str, Any]:
    """Everything that has numbers, by the first word of their paths."""
    return {**scenario.objects, **scenario.surfaces, "run": scenario.run}


def _filled(name: str, thing: Any) -> list[_Slot]:
    """The keys of a thing at which something stands, but for its noun."""
    slots = _slots(name, thing, RECORDS[thing.kind])
    return [slot for slot in slots if slot.value is not None and slot.path != f"{name}.noun"]


def fields_of(scenario: Scenario) -> dict[str, str]:
    """Path -> text, in the order of the file: all but titles, which change no number."""
    *things, run = (
        {s.path: s.value for s in _filled(*each)} for each in things_of(scenario).items()
    )
    found = {path: value for each in things for path, value in each.items()}
    found |= {f"{name}.path": ", ".join(s.path) for name, s in scenario.strings.items()}
    found |= run if scenario.run.speed else {**run, "run.start": "rest"}
    found |= {f"systems.{each.id}": ", ".join(each.members) for each in scenario.systems}
    return {
        path: as_written(value) if isinstance(value, Quantity) else str(value)
        for path, value in found.items()
    }


def _numbers(scenario: Scenario) -> dict[str, Any]:
    slots = (slot for each in things_of(scenario).items() for slot in _filled(*each))
    return {slot.path: slot.value for slot in slots if slot.known.shape.numeric}


def numbers_of(scenario: Scenario) -> dict[str, str]:
    """The same, of nothing but numbers and the start of the run."""
    numbers, texts = {**_numbers(scenario), "run.start": None}, fields_of(scenario)
    return {path: text for path, text in texts.items() if path in numbers}


def values_of(scenario: Scenario) -> list[Any]:
    """All numbers as values in SI, in the order of the file."""
    numbers = [getattr(value, "value", value) for value in _numbers(scenario).values()]
    return numbers if scenario.run.speed else [*numbers, "rest"]


def quantities_of(scenario: Scenario) -> list[tuple[str, Quantity]]:
    """(path, quantity) of every number but counts."""
    return [each for each in _numbers(scenario).items() if isinstance(each[1], Quantity)]


def with_values(scenario: Scenario, values: Mapping[str, Any]) -> Scenario:
    """The scenario with other values, floats or arrays in SI units, at some of its paths.

    Only for computing: the digits as written stay those of the file. Paths that the scenario
    doesn't have are left alone, so that ``values`` may hold gravity too.
    """
    for path, value in values.items():
        name = path.partition(".")[0]
        if thing := things_of(scenario).get(name):
            for slot in _filled(name, thing):
                if slot.path == path:
                    scenario = _placed(scenario, slot, replace(slot.value, value=value))
    return scenario


def _placed(scenario: Scenario, slot: _Slot, value: Any) -> Scenario:
    """The scenario with another value there."""
    name, *part = slot.path.split(".")[:-1]
    changed = replace(slot.holder, **{slot.known.attribute: value})
    if part:
        changed = replace(things_of(scenario)[name], **{part[0]: changed})
    if name == "run":
        return replace(scenario, run=changed)
    if name in scenario.surfaces:
        return replace(scenario, surfaces={**scenario.surfaces, name: changed})
    return replace(scenario, objects={**scenario.objects, name: changed})


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
    start = Place(file=f"--set {path}={text}")
    return Override(text=text, place=replace(start, column=len(path) + 2), key_place=start)


def overrides_from_words(words: Iterable[str]) -> dict[str, Override]:
    """Overrides from words such as ``cart.mass=507.3g``; raises BadInput."""
    report = Report()
    overrides: dict[str, Override] = {}
    for word in words:
        path, equals, text = (part.strip() for part in word.partition("="))
        if not equals:
            report.refuse(Place(file=f"--set {word}"), "no-equals", word=shown(word))
        elif path in overrides:
            report.refuse(Place(file=f"--set {word}"), "number-twice", path=path)
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
        (name, _, rest), things = path.partition("."), things_of(scenario)
        if name not in things:
            words = unknown("name", name, list(things), f"numbers belong to {listed(things)}")
            report.refuse(given.key_place, "unknown", **words)
            continue
        slots = _slots(name, things[name], RECORDS[things[name].kind])
        numeric = {slot.path: slot for slot in slots if slot.known.shape.numeric}
        slot = numeric.get(path)
        if slot is None:
            near = closest(rest, [each.removeprefix(f"{name}.") for each in numeric])
            expected = f'did you mean "{name}.{near}"?' if near else all_known("number", [*numeric])
            names = {"what": "number", "name": shown(path), "expected": expected}
            report.refuse(given.key_place, "unknown", **names)
        elif slot.holder is None:
            part = rest.partition(".")[0]
            report.refuse(given.key_place, "no-such-part", name=name, key=part)
        else:
            node = Scalar(text=given.text, place=given.place)
            key = path.rpartition(".")[2]
            value = slot.known.shape.read(node, (key,), Reading(report=report))
            if isinstance(value, Quantity) and isinstance(slot.value, Quantity):
                value = keeping_uncertainty(value, slot.value)
            changed = _placed(scenario, slot, value)
            scenario = replace(changed, places={**changed.places, path: given.place})
    return scenario


def check_numbers(changed: Scenario, overrides: Mapping[str, Override], report: Report) -> None:
    """Report what clashes in a scenario that was sound before these overrides."""
    for fault in faults_of(changed):
        paths = [path for path in map(".".join, fault.paths) if path in overrides]
        culprit = overrides[[*paths, *overrides][0]]
        report.refuse(culprit.place, fault.reason, **fault.names)
