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
    sliders = {body.name for body in apparatus.bodies.values() if body.surface is not None}
    hanging = {*apparatus.bodies} - sliders

    def seen(string: String) -> String:
        above_each_other = len(string.path) == 2 and {*string.path} <= hanging
        return string if above_each_other else replace(string, path=string.path[::-1])

    run, sense = apparatus.run, -1 if apparatus.run.object in sliders else 1
    return replace(
        apparatus,
        surfaces={n: replace(s, slope=-s.slope) for n, s in apparatus.surfaces.items()},
        strings={name: seen(string) for name, string in apparatus.strings.items()},
        run=replace(run, speed=sense * run.speed),
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
    for at, seed in enumerate(range(0, 50, 1 if thorough else 4)):
        apparatus = random_scene(kind, seed, static=seed % 3 == 0).apparatus
        names = [*apparatus.anchors, *(n for group in GROUPS for n in getattr(apparatus, group))]
        mixed = names if at % 2 else random.Random(seed).sample(names, len(names))
        new, senses = dict(zip(names, mixed, strict=True)), {}
        if at % 2:
            senses = {b.name: -1 for b in apparatus.bodies.values() if b.surface is not None}
        other = mirrored(apparatus) if at % 2 else renamed(apparatus, new)
        assert_same(solve(apparatus), solve(other), new, senses)
