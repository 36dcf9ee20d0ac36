"""Scenarios for lessons: written as YAML, or made from an apparatus of the mechanics tests."""

import math
import re
from collections.abc import Callable, Iterator, Sequence
from dataclasses import fields, is_dataclass, replace
from functools import cache
from pathlib import Path
from typing import Any, TypeVar

import pytest

from fallwork.lesson import Lesson, build_lesson
from fallwork.lesson.document import Equation, Working
from fallwork.lesson.latex import working
from fallwork.mechanics import Apparatus, Solution, apparatus_of, solve
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
Part = TypeVar("Part")


@cache
def scenario_of(path: Path) -> Scenario:
    return load_scenario(path)


@cache
def solved(path: Path) -> tuple[Scenario, Apparatus, Solution]:
    scenario = scenario_of(path)
    apparatus = apparatus_of(scenario, GRAVITY)
    return scenario, apparatus, solve(apparatus)


@cache
def lesson_of(path: Path, *, numbers: bool) -> Lesson:
    scenario, apparatus, solution = solved(path)
    return build_lesson(scenario, apparatus, solution, figures=3, numbers=numbers)


def lesson_from(scenario: Scenario, *, numbers: bool = True) -> Lesson:
    apparatus = apparatus_of(scenario, GRAVITY)
    return build_lesson(scenario, apparatus, solve(apparatus), figures=3, numbers=numbers)


def everything(part: object) -> Iterator[object]:
    """A dataclass with everything inside it."""
    yield part
    if isinstance(part, tuple):
        for item in part:
            yield from everything(item)
    elif is_dataclass(part):
        for field in fields(part):
            yield from everything(getattr(part, field.name))


def rewritten(part: Part, change: Callable[[object], object], keep: Sequence[str] = ()) -> Part:
    """A scenario or a part of one with what ``change`` gives for parts, unless None; fields of
    the names ``keep`` stay.
    """
    new: Any = change(part)
    if new is None and isinstance(part, dict):
        pairs = part.items()
        new = {rewritten(n, change, keep): rewritten(each, change, keep) for n, each in pairs}
    elif new is None and isinstance(part, tuple):
        new = tuple(rewritten(each, change, keep) for each in part)
    elif new is None and is_dataclass(part) and not isinstance(part, type):
        parts = {f.name: getattr(part, f.name) for f in fields(part) if f.name not in keep}
        new = replace(part, **{n: rewritten(each, change, keep) for n, each in parts.items()})
    return part if new is None else new


def equations(lesson: Lesson) -> list[Equation]:
    return [part for part in everything(lesson.steps) if isinstance(part, Equation)]


def printed(lesson: Lesson) -> str:
    """All worked equations; an equation whose sides differ can't be printed."""
    blocks = [part for part in everything(lesson.steps) if isinstance(part, Working)]
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


def scenario_from(apparatus: Apparatus, title: str = "A set-up") -> Scenario:
    """A scenario file's content for an apparatus; the pages dwell on two choices of system."""
    objects: dict[str, Object] = {}
    for body in apparatus.bodies.values():
        objects[body.name] = _body(apparatus, body)
    for pulley in apparatus.pulleys.values():
        objects[pulley.name] = _pulley(pulley)
    for anchor in apparatus.anchors:
        objects[anchor] = Anchor(name=anchor)
    first = apparatus.run.object
    everything_ = (*apparatus.bodies, *apparatus.pulleys, *apparatus.strings, "Earth")
    return Scenario(
        id="set-up",
        title=title,
        objects=objects,
        surfaces={
            s.name: Surface(
                name=s.name,
                slope=quantity("angle", float(s.slope)),
                friction=quantity("coefficient", 0.0),
                length=None if s.length is None else quantity("length", float(s.length)),
            )
            for s in apparatus.surfaces.values()
        },
        strings={s.name: String(name=s.name, path=s.path) for s in apparatus.strings.values()},
        run=_run(apparatus),
        systems=(
            SystemChoice(id="one", title="One object alone", members=(first,)),
            SystemChoice(id="all", title="Everything and Earth", members=everything_),
        ),
    )


def _body(apparatus: Apparatus, body: Any) -> Object:
    if body.surface is None:
        mass = quantity("mass", float(body.mass))
        return Hanging(name=body.name, mass=mass, hangs_from=body.hangs_from)
    static, wheels = body.static_friction, float(body.wheel_mass)
    return Slider(
        name=body.name,
        kind="cart" if body.kind == "cart" else "block",
        mass=quantity("mass", float(body.mass)),
        runs_on=body.surface,
        starts_at=None if body.starts_at is None else quantity("length", float(body.starts_at)),
        friction=quantity("coefficient", float(body.friction)),
        static_friction=None if static is None else quantity("coefficient", float(static)),
        wheels=Wheels(count=4, mass=quantity("mass", wheels / 4)) if wheels else None,
    )


def _pulley(pulley: Any) -> Pulley:
    def given(kind: str, value: float | None, unit: str) -> Quantity | None:
        return quantity(kind, float(value), unit) if value else None

    return Pulley(
        name=pulley.name,
        moving=pulley.moving,
        mass=given("mass", pulley.mass, "kg") if pulley.moving else None,
        inertia=given("inertia", pulley.inertia, "kg m²"),
        radius=given("length", pulley.radius, "m"),
        bearing_torque=given("torque", pulley.bearing_torque, "N m"),
    )


def _run(apparatus: Apparatus) -> Run:
    run = apparatus.run
    return Run(
        object=run.object,
        distance=None if run.distance is None else quantity("length", float(run.distance)),
        speed=quantity("speed", float(run.speed)) if run.speed else None,
        until=None if run.until is None else quantity("time", float(run.until), "s"),
    )
