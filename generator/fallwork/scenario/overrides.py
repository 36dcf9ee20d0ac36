"""Puts other numbers into a scenario: a term's, a worked example's or the command line's.

Takes paths such as ``cart.mass`` with texts; gives a new scenario after every check has run
again. A number without a ± of its own keeps the one of the number that it replaces.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from typing import Any

from fallwork.errors import Place
from fallwork.scenario.layout import OBJECT_KINDS, RUN, SURFACE, Start
from fallwork.scenario.model import Quantity, Scenario
from fallwork.scenario.possible import faults_of
from fallwork.scenario.quantity import keeping_uncertainty
from fallwork.scenario.records import Field, Record
from fallwork.scenario.report import Report, all_known, closest, listed, meant, shown
from fallwork.scenario.shapes import Count, Measure, Reading, Shape
from fallwork.scenario.tree import Scalar


@dataclass(frozen=True, kw_only=True)
class Override:
    """A number for one path, as somebody wrote it."""

    text: str
    place: Place  # of the text
    key_place: Place  # of the path


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
            report.malformed(place, f"no = in {shown(word)}", "write e.g. cart.mass=507.3g")
        elif path.strip() in overrides:
            report.malformed(place, f"{path.strip()} a second time", "give each number once")
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
        report.malformed(
            given.key_place,
            f"unknown name {shown(first)}",
            meant(first, list(holders), f"numbers belong to {listed(holders)}"),
        )
        return scenario
    changed = _replaced(holders[first], _record(holders[first]), path, rest, given, report)
    if first == "run":
        return replace(scenario, run=changed)
    if first in scenario.surfaces:
        return replace(scenario, surfaces={**scenario.surfaces, first: changed})
    return replace(scenario, objects={**scenario.objects, first: changed})


def _record(holder: Any) -> Record:
    return {**OBJECT_KINDS, "surface": SURFACE, "run": RUN}[holder.kind]


def _replaced(
    holder: Any, record: Record, path: str, rest: str, given: Override, report: Report
) -> Any:
    """The holder with the number at ``rest`` (a key, or keys joined by points) replaced."""
    key, _, deeper = rest.partition(".")
    known = record.fields.get(key)
    if known is None or not _holds_numbers(known.shape) or bool(deeper) != _is_record(known):
        report.malformed(
            given.key_place,
            f"unknown number {shown(path)}",
            _number_meant(path.removesuffix(rest), rest, record),
        )
        return holder
    attribute = known.attribute or key
    former = getattr(holder, attribute)
    if isinstance(known.shape, Record):
        if former is None:
            report.malformed(
                given.key_place,
                f"{path.partition('.')[0]} has no {key} in the scenario",
                "add them there first",
            )
            return holder
        return replace(
            holder, **{attribute: _replaced(former, known.shape, path, deeper, given, report)}
        )
    value = known.shape.read(_node(given), (key,), Reading(report=report))
    if isinstance(value, Quantity) and isinstance(former, Quantity):
        value = keeping_uncertainty(value, former)
    return replace(holder, **{attribute: value})


def _node(given: Override) -> Scalar:
    return Scalar(text=given.text, place=given.place)


def _is_record(known: Field) -> bool:
    return isinstance(known.shape, Record)


def _holds_numbers(shape: Shape) -> bool:
    return isinstance(shape, Measure | Start | Count | Record)


def _number_meant(prefix: str, rest: str, record: Record) -> str:
    keys = []
    for key, known in record.fields.items():
        if isinstance(known.shape, Record):
            keys += [f"{key}.{below}" for below in known.shape.fields]
        elif _holds_numbers(known.shape):
            keys.append(key)
    near = closest(rest, keys)
    if near:
        return f'did you mean "{prefix}{near}"?'
    return all_known("number", [f"{prefix}{key}" for key in keys])
