"""The numbers of a scenario that are uncertain, and the scenario with other values for them.

Takes a validated scenario; gives its inputs for a propagation, by the paths that its file uses.
"""

from collections.abc import Iterator, Mapping
from dataclasses import fields, is_dataclass, replace
from math import inf
from typing import Any, TypeVar

from fallwork.measurement.model import Estimate
from fallwork.measurement.propagation import Distribution, Input
from fallwork.scenario import Quantity, Scenario

GRAVITY = "gravity"  # the path of local g, which no scenario holds
PATHS_IN_FILES = {"run.speed": "run.start"}  # where the file's key differs from the attribute's
SIGNED = ("angle", "speed", "force")  # kinds of quantity that may be negative
LIMITS = "limits"  # ends the uncertainty of a rectangular distribution as written

Thing = TypeVar("Thing")


def inputs_of(scenario: Scenario, gravity: Estimate) -> tuple[Input, ...]:
    """Every number with an uncertainty, in the order of the file, and gravity where it has one."""
    found = [_input(path, quantity) for path, quantity in quantities_of(scenario) if quantity.u > 0]
    if gravity.u > 0:
        found.append(
            Input(name=GRAVITY, value=gravity.value, u=gravity.u, dof=gravity.dof, lowest=0.0)
        )
    return tuple(found)


def quantities_of(scenario: Scenario) -> Iterator[tuple[str, Quantity]]:
    """(path, quantity) of every number in a scenario."""
    for name, thing in (*scenario.objects.items(), *scenario.surfaces.items()):
        yield from _quantities(name, thing)
    yield from _quantities("run", scenario.run)


def with_values(scenario: Scenario, values: Mapping[str, Any]) -> Scenario:
    """The scenario with other values, floats or arrays in SI units, at some of its paths.

    Only for computing: the digits as written stay those of the file. Paths that the scenario
    doesn't have are left alone, so that ``values`` may hold gravity too.
    """
    return replace(
        scenario,
        objects={name: _placed(name, thing, values) for name, thing in scenario.objects.items()},
        surfaces={name: _placed(name, thing, values) for name, thing in scenario.surfaces.items()},
        run=_placed("run", scenario.run, values),
    )


def _input(path: str, quantity: Quantity) -> Input:
    flat = quantity.uncertainty.split()[-1:] == [LIMITS]
    return Input(
        name=path,
        value=quantity.value,
        u=quantity.u,
        distribution=Distribution.RECTANGULAR if flat else Distribution.NORMAL,
        lowest=-inf if quantity.kind in SIGNED else 0.0,
    )


def _quantities(path: str, thing: Any) -> Iterator[tuple[str, Quantity]]:
    for part in fields(thing):
        value, below = getattr(thing, part.name), _below(path, part.name)
        if isinstance(value, Quantity):
            yield below, value
        elif is_dataclass(value):
            yield from _quantities(below, value)


def _placed(path: str, thing: Thing, values: Mapping[str, Any]) -> Thing:
    changed: dict[str, Any] = {}
    for part in fields(thing):  # type: ignore[arg-type]  # dataclasses of the scenario, all
        value, below = getattr(thing, part.name), _below(path, part.name)
        if isinstance(value, Quantity) and below in values:
            changed[part.name] = replace(value, value=values[below])
        elif is_dataclass(value) and not isinstance(value, Quantity):
            changed[part.name] = _placed(below, value, values)
    return replace(thing, **changed) if changed else thing  # type: ignore[type-var]


def _below(path: str, part: str) -> str:
    whole = f"{path}.{part}"
    return PATHS_IN_FILES.get(whole, whole)
