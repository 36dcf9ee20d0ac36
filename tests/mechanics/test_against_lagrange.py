"""Runs agree with Lagrange's equations and a numerical integration (see oracle.py).

Sympy 1.13 or later (sympy.physics.mechanics) and scipy (solve_ivp) are the other side. Scenes in
which something is undetermined are left out; 200 of every kind are compared, or a share of them.
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
    """Ways, speeds, and the works of strings and of friction as integrals over time."""
    for name, at in oracle.index.items():
        assert phase.displacements[name] == pytest.approx(part.moved[at], rel=1e-7, abs=1e-9), about
        assert phase.end_velocities[name] == pytest.approx(part.v_end[at], rel=1e-7, abs=1e-8), (
            about
        )
    for name in dict.fromkeys(oracle.index.values()):
        members = [member for member, at in oracle.index.items() if at == name]
        pulls = [
            f for f in phase.forces if f.on in members and f.partner in scene.apparatus.strings
        ]
        rubs = [f for f in phase.forces if f.on in members and f.interaction.value == "friction"]
        assert sum(f.work for f in pulls) == pytest.approx(
            part.pulled[name] + spun(scene, oracle, part, members), rel=1e-7, abs=1e-8
        ), about
        assert sum(f.work for f in rubs) == pytest.approx(part.rubbed[name], rel=1e-7, abs=1e-8), (
            about
        )


def spun(scene: Scene, oracle: Oracle, part: Part, members: list[str]) -> float:
    """What strings do to a moving pulley by turning it, beside lifting it."""
    return sum(part.pulled[oracle.rims[name]] for name in members if name in oracle.rims)
