"""Every field of a scenario as text, by the path under which a term could replace it.

Takes a scenario; gives ``cart.mass`` -> ``512.0 g ± 0.1 g`` and so on, in the order of the file.
Titles are left out: they are words, and changing one changes no number.
"""

from collections.abc import Iterator
from dataclasses import fields
from typing import Any

from fallwork.scenario.model import Quantity, Scenario, Wheels
from fallwork.scenario.quantity import as_written

_KEYS = {"speed": "start"}  # what a field of the model is called in files, where that differs


def fields_of(scenario: Scenario) -> dict[str, str]:
    """Path -> text; a path of the file's own wherever it has one."""
    return dict(_fields(scenario))


def numbers_of(scenario: Scenario) -> dict[str, str]:
    """The same, of nothing but numbers and the start of the run."""
    return {path: text for path, text, number in _rows(scenario) if number}


def _fields(scenario: Scenario) -> Iterator[tuple[str, str]]:
    yield from ((path, text) for path, text, _ in _rows(scenario))


_Row = tuple[str, str, bool]  # path, text, whether a term can put another number there


def _rows(scenario: Scenario) -> Iterator[_Row]:
    for name, thing in scenario.objects.items():
        yield f"{name}.kind", thing.kind, False
        yield from _of_holder(name, thing)
    for name, surface in scenario.surfaces.items():
        yield from _of_holder(name, surface)
    for name, string in scenario.strings.items():
        yield f"{name}.path", ", ".join(string.path), False
    yield from _of_holder("run", scenario.run)
    if scenario.run.speed is None:
        yield "run.start", "rest", True
    for system in scenario.systems:
        yield f"systems.{system.id}", ", ".join(system.members), False


def _of_holder(name: str, holder: Any) -> Iterator[_Row]:
    for known in fields(holder):
        value = getattr(holder, known.name)
        path = f"{name}.{_KEYS.get(known.name, known.name)}"
        if isinstance(value, Quantity):
            yield path, as_written(value), True
        elif isinstance(value, Wheels):
            yield f"{path}.count", str(value.count), True
            yield f"{path}.mass", as_written(value.mass), True
        elif isinstance(value, str) and known.name not in ("name", "kind", "noun"):
            yield path, value, False
