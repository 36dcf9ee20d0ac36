"""Other names in another order of the file, or left and right exchanged, change nothing."""

import random
from collections.abc import Mapping
from dataclasses import replace

import pytest

from fallwork.mechanics import Apparatus, Solution, solve
from fallwork.mechanics.apparatus import String
from mechanics.kit import GROUPS, mapped
from mechanics.scenes import KINDS, random_scene


def renamed(apparatus: Apparatus, new: Mapping[str, str]) -> Apparatus:
    """With other names, in their order."""
    found = mapped(apparatus, lambda each: new.get(each, each) if isinstance(each, str) else each)
    groups = {group: dict(sorted(getattr(found, group).items())) for group in GROUPS}
    return replace(found, anchors=tuple(sorted(found.anchors)), **groups)


def mirrored(apparatus: Apparatus) -> Apparatus:
    """Seen from behind: strings run the other way, slopes fall where they rose."""

    def seen(string: String) -> String:
        above_each_other = len(string.path) == 2 and all(
            name in apparatus.bodies and apparatus.bodies[name].surface is None
            for name in string.path
        )
        return string if above_each_other else replace(string, path=string.path[::-1])

    body = apparatus.bodies.get(apparatus.run.object)
    sense = -1 if body is not None and body.surface is not None else 1
    return replace(
        apparatus,
        surfaces={n: replace(s, slope=-s.slope) for n, s in apparatus.surfaces.items()},
        strings={name: seen(string) for name, string in apparatus.strings.items()},
        run=replace(apparatus.run, speed=sense * apparatus.run.speed),
    )


def assert_same(one: Solution, other: Solution, new: Mapping[str, str], senses: Mapping) -> None:
    """Phase by phase, but for rounding: what moves how, what pulls how much, what does which work;
    what is undetermined stays so.
    """

    def near(wanted: float | None) -> object:
        return None if wanted is None else pytest.approx(wanted, rel=1e-9, abs=1e-11)

    assert [p.name for p in one.phases] == [p.name for p in other.phases]
    for left, right in zip(one.phases, other.phases, strict=True):
        assert right.duration == near(left.duration)
        for name, value in left.accelerations.items():
            assert right.accelerations[new[name]] == near(senses.get(name, 1) * value)
        for name, pulls in left.tensions.items():
            for end, pull in pulls.items():
                assert right.tensions[new[name]][new[end]] == near(pull)
        works = {force.name: force.work for force in right.forces}
        for force in left.forces:
            partner, on = (new.get(name, name) for name in (force.partner, force.on))
            assert works[f"{force.interaction.value} of {partner} on {on}"] == near(force.work)


@pytest.mark.parametrize("kind", KINDS)
def test_names_order_and_side_change_nothing(kind: str, thorough: bool) -> None:
    """In every other scene names and order are others, in the rest left and right."""
    for seed in range(0, 50, 1 if thorough else 4):
        apparatus = random_scene(kind, seed, static=seed % 3 == 0).apparatus
        names = [*apparatus.anchors, *(n for group in GROUPS for n in getattr(apparatus, group))]
        if seed // (1 if thorough else 4) % 2:
            new = dict(zip(names, names, strict=True))
            senses = {b.name: -1 for b in apparatus.bodies.values() if b.surface is not None}
            other = mirrored(apparatus)
        else:
            mixed = random.Random(seed).sample(names, len(names))
            new, senses = dict(zip(names, mixed, strict=True)), {}
            other = renamed(apparatus, new)
        assert_same(solve(apparatus), solve(other), new, senses)
