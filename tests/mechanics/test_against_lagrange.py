"""Runs agree with Lagrange's equations by sympy.physics.mechanics (1.13 or later), with constraints
from lengths between points, every combination of contact states, and roots of polynomials for what
happens when. Nothing of the solver is used; scenes with something undetermined are left out.
"""

import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import cache
from itertools import pairwise, product, takewhile
from typing import NamedTuple

import numpy as np
import pytest
import sympy
from sympy.physics.mechanics import LagrangesMethod, dynamicsymbols

from fallwork.mechanics import Apparatus, solve
from mechanics.scenes import KINDS, Scene, random_scene, renamed

CLOSE = 1e-9
LIMIT = 4.0  # s: a run is compared until a stretch lasts longer
ONE_RUBBING = ("level track", "incline", "slope that falls towards the pulley", "push")


class UnclearError(Exception):
    """The oracle can't decide by itself; the scene is left out and counted."""


class Rope(NamedTuple):
    """A string: rows of constraints, and how multipliers add up to tensions."""

    name: str
    rows: np.ndarray  # its growth with each coordinate, then one row for each rim that it turns
    sums: np.ndarray  # (segments, rows): which multipliers make the tension of a segment


class Answer(NamedTuple):
    acceleration: np.ndarray
    tensions: dict[str, np.ndarray]
    slack: list[Rope]


@dataclass(kw_only=True)
class Now:
    q: np.ndarray
    v: np.ndarray
    slack: dict[str, float]  # strings that have gone slack
    landed: bool = False
    done: bool = False  # the distance is covered


class Part(NamedTuple):
    """A stretch that ended after ``duration``."""

    answer: Answer
    duration: float
    v_end: np.ndarray
    moved: np.ndarray


@cache
def lagrange_terms() -> Callable[..., tuple[np.ndarray, np.ndarray]]:
    """Inertia of one thing alone and the force on it, by Lagrange's equation, from mass, mass of
    wheels, inertia of a rim, slope (−90° of what hangs) and g; they add up by coordinate.
    """
    q, v = dynamicsymbols("q"), dynamicsymbols("q", 1)
    m, w, inertia, slope, g = given = sympy.symbols("m w i s g")
    # discs of mass w in all: I ω²/2 with I = w r²/2 and ω = v/r
    kinetic = m * v**2 / 2 + (w / 2) * v**2 / 2 + inertia * v**2 / 2
    method = LagrangesMethod(kinetic - m * g * q * sympy.sin(slope), [q])
    method.form_lagranges_equations()
    return sympy.lambdify(given, (method.mass_matrix, method.forcing), "numpy")


class Oracle:
    def __init__(self, scene: Scene) -> None:
        self.scene, self.apparatus = scene, scene.apparatus
        self._coordinates()
        self._lagrange()
        self.ropes = [self._rope(name) for name in self.apparatus.strings]
        self._frictions()
        self.object = self.index[self.apparatus.run.object]

    # ---- what there is
    def _coordinates(self) -> None:
        bodies, pulleys = self.apparatus.bodies.values(), self.apparatus.pulleys.values()
        moving = [pulley.name for pulley in pulleys if pulley.moving]
        own = [*(body.name for body in bodies if body.hangs_from is None), *moving]
        self.index = {name: at for at, name in enumerate(own)}
        self.index |= {b.name: self.index[b.hangs_from] for b in bodies if b.hangs_from is not None}
        ends = {end for s in self.apparatus.strings.values() for end in (s.path[0], s.path[-1])}
        drums = ends - {*moving}
        turning = [p.name for p in pulleys if p.inertia or p.bearing_torque or p.name in drums]
        self.rims = {name: at for at, name in enumerate(turning, start=len(own))}
        self.unit = np.eye(len(own) + len(turning))

    def _lagrange(self) -> None:
        apparatus, down = self.apparatus, -math.pi / 2
        slopes = {None: down, **{name: s.slope for name, s in apparatus.surfaces.items()}}
        things = [
            (self.index[body.name], body.mass, body.wheel_mass, 0.0, slopes[body.surface])
            for body in apparatus.bodies.values()
        ]
        for name, pulley in apparatus.pulleys.items():
            if pulley.moving:
                things.append((self.index[name], pulley.mass, 0.0, 0.0, down))
            if name in self.rims:
                things.append((self.rims[name], 0.0, 0.0, pulley.inertia, 0.0))
        self.mass, self.force = np.zeros_like(self.unit), np.zeros(len(self.unit))
        for at, *values in things:
            inertia, force = lagrange_terms()(*values, apparatus.gravity)
            self.mass[at, at] += inertia[0, 0]
            self.force[at] += force[0, 0]

    def _growth(self, one: str, other: str) -> np.ndarray:
        """How the distance between neighbours grows with each coordinate, from where they stand."""
        both = [self.apparatus.bodies[n] for n in (one, other) if n in self.apparatus.bodies]
        surface = next((body.surface for body in both if body.surface), None)

        def place(name: str) -> tuple[float, np.ndarray]:  # at the start, and how it moves
            at = self.scene.along[surface, name] if surface else self.scene.depth.get(name, 0.0)
            return at, self.unit[self.index[name]] if name in self.index else 0 * self.unit[0]

        (start, before), (end, behind) = place(one), place(other)
        return behind - before if end >= start else before - behind

    def _rope(self, name: str) -> Rope:
        path = self.apparatus.strings[name].path

        def rim(pulley: str) -> np.ndarray:
            return self.apparatus.pulleys[pulley].radius * self.unit[self.rims[pulley]]

        def wound(name: str) -> np.ndarray:  # what comes off a fixed pulley on which it ends
            return rim(name) if name in self.rims and name not in self.index else 0 * self.unit[0]

        grown = np.cumsum([self._growth(a, b) for a, b in pairwise(path)], axis=0)
        passed = [at for at in range(1, len(path) - 1) if path[at] in self.rims]
        rows = [grown[-1] - wound(path[0]) + wound(path[-1])]
        rows += [grown[at - 1] - wound(path[0]) + rim(path[at]) for at in passed]
        before = [[at < place for place in passed] for at in range(len(grown))]
        sums = np.hstack([np.ones((len(grown), 1)), np.reshape(before, (len(grown), len(passed)))])
        return Rope(name, np.array(rows), sums)

    def _frictions(self) -> None:
        self.kinetic, self.static = np.zeros((2, len(self.unit)))
        for body in (each for each in self.apparatus.bodies.values() if each.surface is not None):
            at, slope = self.index[body.name], self.apparatus.surfaces[body.surface].slope
            normal = body.mass * self.apparatus.gravity * math.cos(slope)
            held = body.friction if body.static_friction is None else body.static_friction
            self.kinetic[at], self.static[at] = body.friction * normal, held * normal
        for name, at in self.rims.items():
            self.kinetic[at] = self.static[at] = self.apparatus.pulleys[name].bearing_torque

    # ---- how it moves
    def start(self) -> Now:
        """Speeds of a push on the object alone with all strings tight: least kinetic energy."""
        n, speed = len(self.unit), self.apparatus.run.speed
        now = Now(q=np.zeros(n), v=np.zeros(n), slack={})
        if speed:
            rows = np.concatenate([[self.unit[self.object]], *[rope.rows for rope in self.ropes]])
            null = np.linalg.svd(rows)[2][np.linalg.matrix_rank(rows) :]
            wanted = speed * np.eye(len(rows))[0]
            particular = np.linalg.lstsq(rows, wanted, rcond=None)[0]
            if np.abs(rows @ particular - wanted).max() > CLOSE:
                raise UnclearError("the push is impossible")
            if len(null):
                inner = null @ self.mass @ null.T
                if np.linalg.matrix_rank(inner) < len(inner):
                    raise UnclearError("something massless is pushed")
                particular -= null.T @ np.linalg.solve(inner, null @ self.mass @ particular)
            now.v = np.where(np.abs(particular) < 1e-13, 0.0, particular)
        return now

    def answer(self, now: Now) -> Answer:
        """The mode with the most at rest and tight among those whose conditions hold."""
        rubbing = [at for at in range(len(self.unit)) if self.static[at] > 0]
        states = [(0, 1, -1) if now.v[at] == 0 else (int(np.sign(now.v[at])),) for at in rubbing]
        not_slack = (rope for rope in self.ropes if rope.name not in now.slack)
        tight = [rope for rope in not_slack if np.abs(rope.rows @ now.v).max() < 1e-8]
        pads = [(True, False)] if now.landed else [(False,)]
        options = list(product(product(*states), product((True, False), repeat=len(tight)), *pads))
        options.sort(key=lambda o: (sum(map(abs, o[0])), -sum(o[1])))
        for signs, pulls, held in options:
            taut = [rope for rope, pull in zip(tight, pulls, strict=True) if pull]
            answer = self._try(now, dict(zip(rubbing, signs, strict=True)), tight, taut, held)
            if answer is not None:
                return answer
        raise UnclearError("no mode holds")

    def _try(
        self, now: Now, signs: dict[int, int], tight: list[Rope], taut: list[Rope], held: bool
    ) -> Answer | None:
        """The answer of one mode, if its conditions hold: ``signs`` of what rubs are ways of
        sliding, 0 at rest; of the ``tight`` ropes the ``taut`` ones pull; ``held`` by the pad.
        """
        n, slides = len(self.unit), np.zeros(len(self.unit))
        slides[list(signs)] = list(signs.values())
        stuck = [at for at, sign in signs.items() if sign == 0]
        pad = self.unit[[self.object] * held]
        pulling = np.concatenate([np.zeros((0, n)), *(rope.rows for rope in taut)])
        rows = np.concatenate([pulling, self.unit[stuck], pad])
        matrix = np.block([[self.mass, rows.T], [rows, np.zeros((len(rows), len(rows)))]])
        right = np.concatenate([self.force - slides * self.kinetic, np.zeros(len(rows))])
        solution = np.linalg.lstsq(matrix, right, rcond=1e-12)[0]
        if np.abs(matrix @ solution - right).max() > 1e-8:
            return None
        a, pulls, rub = solution[:n], solution[n:], -slides * self.kinetic
        tensions = {rope.name: np.zeros(len(rope.sums)) for rope in self.ropes}
        ends = np.cumsum([0, *(len(rope.rows) for rope in taut)])
        for rope, at in zip(taut, ends, strict=False):
            tensions[rope.name] = rope.sums @ pulls[at : at + len(rope.rows)]
        rub[stuck] = -pulls[ends[-1] : ends[-1] + len(stuck)]
        if not (
            all(abs(rub[each]) <= self.static[each] + CLOSE for each in stuck)
            and all(sign * a[each] >= -CLOSE for each, sign in signs.items() if now.v[each] == 0)
            and all(tensions[rope.name].min() >= -CLOSE for rope in taut)
            and all(rope.rows[0] @ a <= CLOSE for rope in tight if rope not in taut)
            and (pulls[-1] >= -CLOSE if held else not now.landed or a[self.object] <= CLOSE)
        ):
            return None
        idle = any(sign and not now.v[at] and abs(a[at]) < CLOSE for at, sign in signs.items())
        if idle or np.linalg.matrix_rank(matrix, rtol=1e-11) < len(matrix):
            raise UnclearError("something is undetermined")
        return Answer(a, tensions, [rope for rope in self.ropes if rope not in taut])

    # ---- when something happens
    def follow(self, limit: float = 1e3) -> list[Part]:
        """Stretches until the run ends or one would last longer than ``limit`` seconds."""
        now, parts, real = self.start(), [], sorted(set(self.index.values()))
        while len(parts) < 12:
            answer = self.answer(now)
            if not now.v[real].any() and np.abs(answer.acceleration[real]).max() < CLOSE:
                return parts
            part, what = self._part(now, answer, limit)
            if part is None:
                return parts
            parts.append(part)
            for rope in answer.slack:
                now.slack[rope.name] = now.slack.get(rope.name, 0.0) - rope.rows[0] @ part.moved
            now.q, now.v = now.q + part.moved, np.where(np.abs(part.v_end) < 1e-9, 0.0, part.v_end)
            if what == "taut" or (what == "distance" and not self._distance(now)):
                return parts
        raise UnclearError("too many stretches")

    def _part(self, now: Now, answer: Answer, limit: float) -> tuple[Part | None, str]:
        """The stretch from now on and what ends it: the first root of the gaps."""
        gaps = [(root, what) for what, gap in self._gaps(now, answer) for root in np.roots(gap)]
        real = [(root.real, what) for root, what in gaps if abs(root.imag) < 1e-12]
        t, what = min(((t, w) for t, w in real if 1e-9 < t < limit), default=(0.0, ""))
        a = answer.acceleration
        part = Part(answer, t, v_end=now.v + a * t, moved=now.v * t + a * t**2 / 2)
        return part if what else None, what

    def _gaps(self, now: Now, answer: Answer) -> Iterator[tuple[str, tuple[float, ...]]]:
        v, a, goal = now.v, answer.acceleration, self.apparatus.run.distance
        if not now.done and goal is not None:
            at = self.object
            for way in (goal, -goal):
                yield "distance", (a[at] / 2, v[at], now.q[at] - way)
        for at in np.flatnonzero((self.kinetic > 0) & (v * a < 0)):
            yield "stop", (a[at], v[at])
        for rope in answer.slack:
            yield "taut", (rope.rows[0] @ a / 2, rope.rows[0] @ v, -now.slack.get(rope.name, 0.0))

    def _distance(self, now: Now) -> bool:
        """Land what hangs and comes down; False if that pulls a string with a jerk."""
        now.done = True
        body = self.apparatus.bodies.get(self.apparatus.run.object)
        hangs = body is None or body.surface is None
        if not (hangs and now.v[self.object] > 0 and now.q[self.object] > 0):
            return True
        now.v[self.object], now.landed = 0.0, True
        rates = {rope.name: rope.rows[0] @ now.v for rope in self.ropes}
        now.slack = {name: 0.0 for name, rate in rates.items() if rate < -1e-9} | now.slack
        return max(rates.values(), default=0.0) <= 1e-9


# ---- runs agree
@pytest.fixture
def compared(thorough) -> int:
    return 200 if thorough else 16


def clear_scenes(
    kind: str, compared: int, *, static: bool
) -> Iterator[tuple[int, Scene, Oracle, list[Part]]]:
    """As many scenes that the oracle can follow; at most a quarter as many are left out. In every
    other one names go round, so that neither their order nor their kind tells anything.
    """
    found, seed = 0, 0
    while found < compared:
        assert seed < compared * 5 // 4, "too many scenes are unclear"
        scene = random_scene(kind, seed, static=static)
        scene = renamed(scene, seed) if seed % 2 else scene
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
def test_runs_agree(kind, static, compared):
    for seed, scene, oracle, parts in clear_scenes(kind, compared, static=static):
        assert_agrees(scene.apparatus, oracle, parts, f"{kind} {seed} {static}")


def assert_agrees(apparatus: Apparatus, oracle: Oracle, parts: list[Part], about: str) -> None:
    phases = [p for p in solve(apparatus).phases if p.accelerations]
    if not parts:
        first = oracle.answer(oracle.start())
        for name, at in oracle.index.items():
            wanted = pytest.approx(first.acceleration[at], rel=1e-9, abs=1e-10)
            assert phases[0].accelerations[name] == wanted, about
    ended = list(takewhile(lambda p: p.duration is not None and p.duration < LIMIT, phases))
    assert len(ended) == len(parts), about
    for phase, part in zip(ended, parts, strict=True):
        assert phase.duration == pytest.approx(part.duration, rel=1e-7, abs=1e-9), about
        for name, at in oracle.index.items():
            wanted = part.answer.acceleration[at]
            assert phase.accelerations[name] == pytest.approx(wanted, rel=1e-9, abs=1e-10), about
        for name, wanted in part.answer.tensions.items():
            found = list(phase.segment_tensions[name])
            assert found == pytest.approx(list(wanted), rel=1e-9, abs=1e-9), about
        for name, at in oracle.index.items():
            found = phase.displacements[name], phase.end_velocities[name]
            wanted = part.moved[at], part.v_end[at]
            assert found == pytest.approx(wanted, rel=1e-7, abs=1e-8), about
