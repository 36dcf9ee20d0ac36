"""The same set-up with other numbers or other names, and what two set-ups have in common."""

import math
import random
from collections.abc import Iterator
from dataclasses import fields, is_dataclass, replace
from itertools import islice
from typing import Any

from fallwork.lesson import Lesson
from fallwork.mechanics import Solution
from fallwork.mechanics.solution import Force
from fallwork.scenario import Quantity, Scenario
from lesson.kit import rewritten

SPREAD = 0.15  # each number changes by up to this share


def with_other_numbers(scenario: Scenario, seed: int) -> Scenario:
    """Every number changed a little by chance.

    All lengths change by one factor, all frictions by another; with odd seeds all masses too, so
    that what is equally heavy stays so.
    """
    chance = random.Random(seed)
    together = ("length", "coefficient", "mass") if seed % 2 else ("length", "coefficient")
    shared = {kind: _factor(chance) for kind in together}

    def other(part: object) -> object:
        if not isinstance(part, Quantity):
            return None
        factor = shared.get(part.kind) or _factor(chance)
        scale = part.value / float(part.number) if float(part.number) else 1.0
        number = format(float(part.number) * factor, ".9f")
        return replace(part, number=number, value=float(number) * scale)

    return rewritten(scenario, other)


def _factor(chance: random.Random) -> float:
    return 1.0 + chance.uniform(-SPREAD, SPREAD)


def renamed(scenario: Scenario, new: dict[str, str]) -> Scenario:
    """Objects, surfaces and strings under other names."""

    def other(part: object) -> object:
        return (
            new.get(part) if isinstance(part, str) else part if isinstance(part, Quantity) else None
        )

    return rewritten(scenario, other, keep=("id", "title", "kind"))


def regime(solution: Solution) -> object:
    """What happens, without how much: two set-ups of one regime have one lesson in symbols."""
    return tuple(
        (
            phase.name,
            phase.ends,
            tuple(phase.sliding.items()),
            tuple(sorted(phase.slack)),
            _signs(phase.accelerations),
            _signs(phase.start_velocities),
            _signs(phase.displacements),
            _signs(phase.angular_accelerations),
            tuple(
                (each.interaction, each.partner, each.on, each.between)
                for each in phase.undetermined
            ),
            tuple((force.name, force.reason, *_direction(force)) for force in phase.forces),
        )
        for phase in solution.phases
    )


def _signs(values: Any) -> tuple[tuple[str, int | None], ...]:
    return tuple((name, None if v is None else _sign(v)) for name, v in values.items())


def _sign(value: float) -> int:
    return 0 if abs(value) < 1e-12 else int(math.copysign(1, value))


def _direction(force: Force) -> tuple[int | None, ...]:
    return tuple(
        None if part is None else _sign(part) for part in (*(force.vector or ()), force.torque)
    )


def differences(one: Lesson, other: Lesson) -> list[str]:
    """Where two lessons differ, apart from what is given and bounds found from it; the first few
    places.
    """
    given = {"givens": other.givens, "safety": other.safety}
    found = _differences(replace(one, **given), other, "lesson")
    return list(islice(found, 5))


def _differences(one: object, other: object, path: str) -> Iterator[str]:
    if isinstance(one, tuple) and isinstance(other, tuple) and len(one) == len(other):
        for index, (left, right) in enumerate(zip(one, other, strict=True)):
            yield from _differences(left, right, f"{path}[{index}]")
    elif is_dataclass(one) and type(one) is type(other):
        for field in fields(one):
            parts = [getattr(item, field.name) for item in (one, other)]
            yield from _differences(parts[0], parts[1], f"{path}.{field.name}")
    elif one != other:
        yield f"{path}: {str(one)[:200]} / {str(other)[:200]}"
