"""The numbers of a scenario by their paths, such as ``cart.mass``: listed, and replaced.

Takes a term's numbers, a worked example's or the command line's; gives a new scenario after every
check has run again. A number without a ± of its own keeps the one of the number that it replaces.
"""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import replace
from typing import Any, NamedTuple

from fallwork.errors import Place
from fallwork.scenario.limits import faults_of
from fallwork.scenario.model import RECORDS, Scenario
from fallwork.scenario.quantity import Quantity, as_written, keeping_uncertainty
from fallwork.scenario.records import Key, Record
from fallwork.scenario.report import Report, all_known, closest, listed, shown, unknown
from fallwork.scenario.shapes import Layout, Reading, Shape, misplaced
from fallwork.scenario.tree import Keys, Node, Scalar, Spoilt
from fallwork.scenario.tree import Mapping as MappingNode


class _Slot(NamedTuple):
    """A key of a thing, or of what is in it, and what stands there; None for nothing."""

    path: str
    known: Key
    holder: Any  # None where the scenario has none
    value: Any


def _slots(path: str, holder: Any, record: Record) -> Iterator[_Slot]:
    for key, known in record.keys.items():
        value = getattr(holder, known.attribute, None)
        if isinstance(known.shape, Record):
            yield from _slots(f"{path}.{key}", value, known.shape)
        else:
            yield _Slot(f"{path}.{key}", known, holder, value)


def things_of(scenario: Scenario) -> dict[str, Any]:
    """Everything that has numbers, by the first word of their paths."""
    return {**scenario.objects, **scenario.surfaces, "run": scenario.run}


def _filled(scenario: Scenario) -> list[_Slot]:
    """The keys of all things at which something stands, but for nouns."""
    things = things_of(scenario).items()
    slots = (slot for n, thing in things for slot in _slots(n, thing, RECORDS[thing.kind]))
    return [slot for slot in slots if slot.value is not None and slot.known.attribute != "noun"]


def _numbers(scenario: Scenario) -> dict[str, Any]:
    return {slot.path: slot.value for slot in _filled(scenario) if slot.known.shape.numeric}


def fields_of(scenario: Scenario) -> dict[str, str]:
    """Path -> text, in the order of the file: all but titles, which change no number."""
    slots = {slot.path: slot.value for slot in _filled(scenario)}
    run = {path: slots.pop(path) for path in [*slots] if path.startswith("run.")}
    strings = {f"{name}.path": ", ".join(s.path) for name, s in scenario.strings.items()}
    start = {} if scenario.run.speed else {"run.start": "rest"}
    systems = {f"systems.{each.id}": ", ".join(each.members) for each in scenario.systems}
    every = {**slots, **strings, **run, **start, **systems}.items()
    return {p: as_written(v) if isinstance(v, Quantity) else str(v) for p, v in every}


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
    """The scenario with other values, floats or arrays in SI units, at some of its paths. Only for
    computing: the digits as written stay those of the file. Paths that the scenario doesn't have
    are left alone, so that ``values`` may hold gravity too.
    """
    for path, value in values.items():
        for slot in _filled(scenario):
            if slot.path == path:
                scenario = _placed(scenario, slot, replace(slot.value, value=value))
    return scenario


def _placed(scenario: Scenario, slot: _Slot, value: Any) -> Scenario:
    name, *part = slot.path.split(".")[:-1]
    changed = replace(slot.holder, **{slot.known.attribute: value})
    if part:
        changed = replace(things_of(scenario)[name], **{part[0]: changed})
    if name == "run":
        return replace(scenario, run=changed)
    group = "surfaces" if name in scenario.surfaces else "objects"
    things: Any = {**getattr(scenario, group), name: changed}
    return replace(scenario, **{group: things})


class Override(NamedTuple):
    """A number for one path, as somebody wrote it."""

    key: Scalar
    number: Scalar


def replacing(at_least: int = 0, otherwise: str = "") -> Shape:
    """Paths such as ``cart.mass`` with the numbers that replace the scenario's; ``otherwise``: what
    else may stand there. Whether the scenario has such numbers is seen later.
    """
    expected = "write e.g. {weight.mass: 120.0 g}" + otherwise

    def value(node: Node, _: Keys, reading: Reading) -> dict[str, Override]:
        if not isinstance(node, MappingNode):
            raise misplaced(node, "numbers", expected)
        if len(node.entries) < at_least:
            reading.refuse(node, "not-one-number", expected=expected)
        for _key, each in node.entries:
            if not isinstance(each, Scalar | Spoilt):
                reading.refuse(each, "number-of-parts")
        return {key.text: Override(key, n) for key, n in node.entries if isinstance(n, Scalar)}

    def schema() -> Layout:
        names = {"pattern": r"^[a-z0-9-]+\.[a-z_]+(?:\.[a-z_]+)?$"}
        more = {"propertyNames": names, "additionalProperties": {"type": ["string", "number"]}}
        return {"type": "object", "minProperties": at_least, **more}

    return Shape(value, schema, {})


def _override(path: str, text: str) -> Override:
    """An override from the command line: its place is the word ``path=text`` itself."""
    start = Place(file=f"--set {path}={text}")
    number = Scalar(text=text, place=replace(start, column=len(path) + 2))
    return Override(Scalar(text=path, place=start), number)


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
    given = overrides.items()
    placed = {path: _override(path, n) if isinstance(n, str) else n for path, n in given}
    report = Report()
    changed = put_numbers(scenario, placed, report)
    report.raise_if_any()
    return changed


def put_numbers(
    scenario: Scenario, overrides: Mapping[str, Override], report: Report, sound: bool = True
) -> Scenario:
    """The scenario with those of the numbers that can be read, after noting the others; if all can,
    what clashes in a scenario that was ``sound`` before is noted at the number that makes it.
    """
    noted = len(report)
    for path, given in overrides.items():
        if slot := _slot(scenario, given.key, report):
            key = path.rpartition(".")[2]
            value = slot.known.shape.read(given.number, (key,), Reading(report=report))
            if isinstance(value, Quantity) and isinstance(slot.value, Quantity):
                value = keeping_uncertainty(value, slot.value)
            changed = _placed(scenario, slot, value)
            scenario = replace(changed, places={**changed.places, path: given.number.place})
    for fault in faults_of(scenario) if sound and len(report) == noted else ():
        paths = [path for path in map(".".join, fault.paths) if path in overrides]
        culprit = overrides[[*paths, *overrides][0]].number
        report.refuse(culprit.place, fault.reason, **fault.names)
    return scenario


def _slot(scenario: Scenario, key: Scalar, report: Report) -> _Slot | None:
    """Where a path leads to; None after noting that it leads nowhere."""
    path, place = key.text, key.place
    (name, _, rest), things = path.partition("."), things_of(scenario)
    if name not in things:
        names = unknown("name", name, list(things), f"numbers belong to {listed(things)}")
        report.refuse(place, "unknown", **names)
        return None
    slots = _slots(name, things[name], RECORDS[things[name].kind])
    numeric = {slot.path: slot for slot in slots if slot.known.shape.numeric}
    slot = numeric.get(path)
    if slot is None:
        near = closest(rest, [each.removeprefix(f"{name}.") for each in numeric])
        expected = f'did you mean "{name}.{near}"?' if near else all_known("number", [*numeric])
        report.refuse(place, "unknown", what="number", name=shown(path), expected=expected)
    elif slot.holder is None:
        report.refuse(place, "no-such-part", name=name, key=rest.partition(".")[0])
        return None
    return slot
