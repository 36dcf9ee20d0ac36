"""Other names, another order in the file, or left and right exchanged change nothing."""

import random
from collections.abc import Mapping
from dataclasses import replace

import pytest

from fallwork.mechanics import Apparatus, Solution, solve
from fallwork.mechanics.apparatus import String
from mechanics.scenes import KINDS, random_scene

SEEDS = range(25)
SHARE = 4  # one scene in so many, in an everyday run


def renamed(apparatus: Apparatus, new: Mapping[str, str]) -> Apparatus:
    return Apparatus(
        bodies={
            new[b.name]: replace(
                b,
                name=new[b.name],
                surface=b.surface and new[b.surface],
                hangs_from=b.hangs_from and new[b.hangs_from],
            )
            for b in apparatus.bodies.values()
        },
        pulleys={new[p.name]: replace(p, name=new[p.name]) for p in apparatus.pulleys.values()},
        anchors=tuple(new[name] for name in apparatus.anchors),
        surfaces={new[s.name]: replace(s, name=new[s.name]) for s in apparatus.surfaces.values()},
        strings={
            new[s.name]: String(name=new[s.name], path=tuple(new[name] for name in s.path))
            for s in apparatus.strings.values()
        },
        run=replace(apparatus.run, object=new[apparatus.run.object]),
        gravity=apparatus.gravity,
    )


def everything(apparatus: Apparatus) -> list[str]:
    return [
        *apparatus.bodies,
        *apparatus.pulleys,
        *apparatus.anchors,
        *apparatus.surfaces,
        *apparatus.strings,
    ]


def shuffled(apparatus: Apparatus, rng: random.Random) -> Apparatus:
    def mixed(things: Mapping) -> dict:
        return dict(rng.sample(list(things.items()), len(things)))

    return replace(
        apparatus,
        bodies=mixed(apparatus.bodies),
        pulleys=mixed(apparatus.pulleys),
        anchors=tuple(rng.sample(apparatus.anchors, len(apparatus.anchors))),
        surfaces=mixed(apparatus.surfaces),
        strings=mixed(apparatus.strings),
    )


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


def assert_near(found: float | None, wanted: float | None) -> None:
    """Equal but for rounding; what is undetermined stays so."""
    if wanted is None:
        assert found is None
    else:
        assert found == pytest.approx(wanted, rel=1e-9, abs=1e-11)


def assert_same(one: Solution, other: Solution, new: Mapping[str, str], senses: Mapping) -> None:
    """Phase by phase: what moves how, what pulls how much, what does which work."""
    assert [p.name for p in one.phases] == [p.name for p in other.phases]
    for left, right in zip(one.phases, other.phases, strict=True):
        assert_near(right.duration, left.duration)
        for name, value in left.accelerations.items():
            assert_near(senses.get(name, 1) * right.accelerations[new[name]], value)
        for name, pulls in left.tensions.items():
            for end, pull in pulls.items():
                assert_near(right.tensions[new[name]][new[end]], pull)
        works = {force.name: force.work for force in right.forces}
        for force in left.forces:
            about = [new.get(force.partner, force.partner), new.get(force.on, force.on)]
            found = works[f"{force.interaction.value} of {about[0]} on {about[1]}"]
            assert_near(found, force.work)


@pytest.mark.parametrize("kind", KINDS)
def test_names_change_nothing(kind: str, thorough: bool) -> None:
    for seed in SEEDS[:: 1 if thorough else SHARE]:
        apparatus = random_scene(kind, seed, static=seed % 2 == 0).apparatus
        names = everything(apparatus)
        new = dict(zip(names, random.Random(seed).sample(names, len(names)), strict=True))
        assert_same(solve(apparatus), solve(renamed(apparatus, new)), new, {})


@pytest.mark.parametrize("kind", KINDS)
def test_the_order_in_the_file_changes_nothing(kind: str, thorough: bool) -> None:
    for seed in SEEDS[:: 1 if thorough else SHARE]:
        apparatus = random_scene(kind, seed, static=seed % 2 == 0).apparatus
        same = {name: name for name in everything(apparatus)}
        other = shuffled(apparatus, random.Random(seed))
        assert_same(solve(apparatus), solve(other), same, {})


@pytest.mark.parametrize("kind", KINDS)
def test_left_and_right_change_nothing(kind: str, thorough: bool) -> None:
    for seed in SEEDS[:: 1 if thorough else SHARE]:
        apparatus = random_scene(kind, seed, static=seed % 2 == 0).apparatus
        same = {name: name for name in everything(apparatus)}
        senses = {b.name: -1 for b in apparatus.bodies.values() if b.surface is not None}
        assert_same(solve(apparatus), solve(mirrored(apparatus)), same, senses)
