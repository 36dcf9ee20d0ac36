"""Runs agree with Lagrange's equations (see oracle.py).

Sympy 1.13 or later (sympy.physics.mechanics) is the other side. Scenes in which something is
undetermined are left out; 200 of every kind are compared, or a share of them.
"""

from collections.abc import Iterator
from itertools import takewhile

import pytest

from fallwork.mechanics import Phase, solve
from mechanics.oracle import Oracle, Part, UnclearError
from mechanics.scenes import KINDS, Scene, random_scene

LIMIT = 4.0  # s: a run is compared until a stretch lasts longer
ONE_RUBBING = ("level track", "incline", "slope that falls towards the pulley", "push")


@pytest.fixture
def compared(thorough: bool) -> int:
    return 200 if thorough else 16


def clear_scenes(
    kind: str, compared: int, *, static: bool
) -> Iterator[tuple[int, Scene, Oracle, list[Part]]]:
    """As many scenes that the oracle can follow; at most a quarter as many are left out."""
    found, seed = 0, 0
    while found < compared:
        assert seed < compared * 5 // 4, "too many scenes are unclear"
        scene = random_scene(kind, seed, static=static)
        try:
            oracle = Oracle(scene)
            parts = oracle.follow(LIMIT)
        except UnclearError:
            seed += 1
            continue
        yield seed, scene, oracle, parts
        found, seed = found + 1, seed + 1


@pytest.mark.parametrize(  # where one cart rubs, it is plain what static friction can hold
    ("kind", "static"),
    [*((kind, False) for kind in KINDS), *((kind, True) for kind in ONE_RUBBING)],
)
def test_runs_agree(kind: str, static: bool, compared: int) -> None:
    for seed, scene, oracle, parts in clear_scenes(kind, compared, static=static):
        assert_agrees(scene, oracle, parts, f"{kind} {seed} {static}")


def assert_agrees(scene: Scene, oracle: Oracle, parts: list[Part], about: str) -> None:
    phases = [p for p in solve(scene.apparatus).phases if p.accelerations]
    if not parts:
        first = oracle.answer(oracle.start())
        for name, at in oracle.index.items():
            wanted = pytest.approx(first.acceleration[at], rel=1e-9, abs=1e-10)
            assert phases[0].accelerations[name] == wanted, about
    ended = list(takewhile(lambda p: p.duration is not None and p.duration < LIMIT, phases))
    assert len(ended) == len(parts), about
    for phase, part in zip(ended, parts, strict=True):
        assert phase.duration == pytest.approx(part.duration, rel=1e-7, abs=1e-9), about
        assert_forces_agree(phase, oracle, part, about)
        assert_ways_agree(scene, phase, oracle, part, about)


def assert_forces_agree(phase: Phase, oracle: Oracle, part: Part, about: str) -> None:
    for name, at in oracle.index.items():
        wanted = part.answer.acceleration[at]
        assert phase.accelerations[name] == pytest.approx(wanted, rel=1e-9, abs=1e-10), about
    for name, wanted in part.answer.tensions.items():
        found = list(phase.segment_tensions[name])
        assert found == pytest.approx(list(wanted), rel=1e-9, abs=1e-9), about


def assert_ways_agree(scene: Scene, phase: Phase, oracle: Oracle, part: Part, about: str) -> None:
    """Ways, speeds, and the works of strings and of friction; strings also turn moving pulleys."""
    pulled, rubbed = part.answer.pull * part.moved, part.answer.rub * part.moved
    for at in dict.fromkeys(oracle.index.values()):
        members = [name for name, other in oracle.index.items() if other == at]
        acting = [force for force in phase.forces if force.on in members]
        pulls = [force for force in acting if force.partner in scene.apparatus.strings]
        rubs = [force for force in acting if force.interaction.value == "friction"]
        turned = sum(pulled[oracle.rims[name]] for name in members if name in oracle.rims)
        pairs = [
            (sum(force.work for force in pulls), pulled[at] + turned),
            (sum(force.work for force in rubs), rubbed[at]),
        ]
        for name in members:
            pairs.append((phase.displacements[name], part.moved[at]))
            pairs.append((phase.end_velocities[name], part.v_end[at]))
        for found, wanted in pairs:
            assert found == pytest.approx(wanted, rel=1e-7, abs=1e-8), about
