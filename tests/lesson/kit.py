"""Scenarios for lessons: written as YAML, or made from an apparatus of the mechanics tests."""

import math
import re
from collections.abc import Iterator
from dataclasses import fields, is_dataclass
from functools import cache
from pathlib import Path
from typing import Any

import pytest

from fallwork.lesson import document, lab
from fallwork.lesson.build import build_lesson
from fallwork.lesson.document import Lesson
from fallwork.lesson.latex import working
from fallwork.measurement.prediction import Case
from fallwork.mechanics import Apparatus, Solution, apparatus_of, solve
from fallwork.mechanics import apparatus as mechanics
from fallwork.scenario import (
    Hanging,
    Pulley,
    Quantity,
    Scenario,
    Slider,
    SystemChoice,
    load_scenario,
)
from fallwork.scenario.model import Anchor, Object, Run, String, Surface, Wheels

GRAVITY = 9.80665  # m/s², 3rd CGPM (1901)
ZOO = Path(__file__).parent / "zoo"  # a scenario for every kind of set-up and edge
DEMO = Path(__file__).parents[2] / "site-data" / "scenarios"
SET_UPS = [*sorted(ZOO.glob("*.yaml")), *sorted(DEMO.glob("*.yaml"))]
by_set_up = pytest.mark.parametrize("path", SET_UPS, ids=lambda path: path.stem)
_UNITS = {"mass": "kg", "length": "m", "angle": "deg", "coefficient": "", "speed": "m/s"}


@cache
def scenario_of(path: Path) -> Scenario:
    return load_scenario(path)


def setting(scenario: Scenario) -> tuple[Scenario, Apparatus, Solution]:
    apparatus = apparatus_of(scenario, GRAVITY)
    return scenario, apparatus, solve(apparatus)


@cache
def solved(path: Path) -> tuple[Scenario, Apparatus, Solution]:
    return setting(scenario_of(path))


def lab_of(of: Path | Scenario, *, numbers: bool = True) -> lab.Lab:
    found = solved(of) if isinstance(of, Path) else setting(of)
    return lab.Lab(*found, figures=3, numbers=numbers)


@cache
def lesson_of(path: Path, *, numbers: bool) -> Lesson:
    return build_lesson(*solved(path), figures=3, numbers=numbers)


def lesson_from(scenario: Scenario, *, numbers: bool = True, case: Case | None = None) -> Lesson:
    return build_lesson(*setting(scenario), figures=3, numbers=numbers, case=case)


def everything(part: object) -> Iterator[object]:
    """A dataclass with everything inside it."""
    yield part
    if isinstance(part, tuple):
        for item in part:
            yield from everything(item)
    elif is_dataclass(part):
        for field in fields(part):
            yield from everything(getattr(part, field.name))


def equations(lesson: Lesson) -> list[document.Equation]:
    return [part for part in everything(lesson.steps) if isinstance(part, document.Equation)]


def printed(lesson: Lesson) -> str:
    """All worked equations; an equation whose sides differ can't be printed."""
    blocks = [part for part in everything(lesson.steps) if isinstance(part, document.Working)]
    return "\n".join(working(block.equations, 3) for block in blocks)


def uncoloured(code: str) -> str:
    """LaTeX without the colours of forces."""
    return re.sub(r"\\textcolor\{\w+\}\{((?:[^{}]|\{[^{}]*\})*)\}", r"\1", code)


# From an apparatus.


def quantity(kind: str, value: float, unit: str | None = None) -> Quantity:
    unit = _UNITS[kind] if unit is None else unit
    shown = math.degrees(value) if kind == "angle" else value
    number = format(shown, ".12f")
    exact = math.radians(float(number)) if kind == "angle" else float(number)
    return Quantity(kind=kind, value=exact, number=number, unit=unit)


def maybe(kind: str, value: Any, unit: str | None = None) -> Quantity | None:
    return None if value is None else quantity(kind, float(value), unit)


def scenario_from(apparatus: Apparatus, title: str = "A set-up") -> Scenario:
    """A scenario file's content for an apparatus; the pages dwell on two choices of system."""
    things = (*apparatus.bodies.values(), *apparatus.pulleys.values())
    objects = {each.name: _object(each) for each in things}
    objects |= {anchor: Anchor(name=anchor) for anchor in apparatus.anchors}
    run, level = apparatus.run, quantity("coefficient", 0.0)
    moving = (*apparatus.bodies, *apparatus.pulleys, *apparatus.strings, "Earth")
    return Scenario(
        id="set-up",
        title=title,
        objects=objects,
        surfaces={
            name: Surface(
                name=name,
                slope=quantity("angle", float(surface.slope)),
                friction=level,
                length=maybe("length", surface.length),
            )
            for name, surface in apparatus.surfaces.items()
        },
        strings={s.name: String(name=s.name, path=s.path) for s in apparatus.strings.values()},
        run=Run(
            object=run.object,
            distance=maybe("length", run.distance),
            speed=maybe("speed", run.speed or None),
            until=maybe("time", run.until, "s"),
        ),
        systems=(
            SystemChoice(id="one", title="One object alone", members=(run.object,)),
            SystemChoice(id="all", title="Everything and Earth", members=moving),
        ),
    )


def _object(thing: Any) -> Object:
    name = thing.name
    if isinstance(thing, mechanics.Pulley):
        return Pulley(
            name=name,
            moving=thing.moving,
            mass=maybe("mass", (thing.moving and thing.mass) or None),
            inertia=maybe("inertia", thing.inertia or None, "kg m²"),
            radius=maybe("length", thing.radius or None),
            bearing_torque=maybe("torque", thing.bearing_torque or None, "N m"),
        )
    mass, wheels = quantity("mass", float(thing.mass)), float(thing.wheel_mass)
    if thing.surface is None:
        return Hanging(name=name, mass=mass, hangs_from=thing.hangs_from)
    return Slider(
        name=name,
        kind="cart" if thing.kind == "cart" else "block",
        mass=mass,
        runs_on=thing.surface,
        starts_at=maybe("length", thing.starts_at),
        friction=maybe("coefficient", thing.friction),
        static_friction=maybe("coefficient", thing.static_friction),
        wheels=Wheels(count=4, mass=quantity("mass", wheels / 4)) if wheels else None,
    )
