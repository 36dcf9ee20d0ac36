"""The same set-up with other numbers or other names, and what two set-ups have in common."""

import random
from collections.abc import Mapping
from dataclasses import fields, is_dataclass, replace

from fallwork.mechanics import Solution
from fallwork.scenario import Quantity, Scenario
from lesson.kit import rewritten

SPREAD = 0.15  # each number changes by up to this share
NOISE = 1e-12


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
    return _signs(solution.phases)


def _signs(part: object) -> object:
    """A sign in place of each value."""
    if isinstance(part, float):
        return (part > NOISE) - (part < -NOISE)
    if isinstance(part, Mapping):
        return tuple((name, _signs(each)) for name, each in part.items())
    if isinstance(part, frozenset | set):
        return tuple(sorted(part))
    if is_dataclass(part):
        return tuple(_signs(getattr(part, each.name)) for each in fields(part))
    return tuple(map(_signs, part)) if isinstance(part, tuple) else part
