"""The same physics by another way: Lagrange's equations from lengths between points.

Takes a scene; sympy.physics.mechanics gives mass matrix and forces, derivatives of string lengths
give the constraints, every combination of contact states is tried, and scipy's solve_ivp finds
when something happens. Nothing of the solver under test is used.
"""

import math
from collections.abc import Callable
from dataclasses import dataclass
from functools import cache
from itertools import pairwise, product

import numpy as np
import sympy
from scipy.integrate import solve_ivp
from sympy.physics.mechanics import LagrangesMethod, dynamicsymbols

from mechanics.scenes import Scene

CLOSE = 1e-9


class UnclearError(Exception):
    """The oracle can't decide by itself; the scene is left out and counted."""


@dataclass(frozen=True, kw_only=True)
class Rope:
    """A string: rows of constraints, and how multipliers add up to tensions."""

    name: str
    length: np.ndarray  # its growth with each coordinate, rims left out where slack
    rows: np.ndarray  # its growth, then one row for each rim that it turns
    sums: np.ndarray  # (segments, rows): which multipliers make the tension of a segment


@dataclass(frozen=True, kw_only=True)
class Answer:
    """One mode that fulfils all its conditions."""

    acceleration: np.ndarray
    tensions: dict[str, np.ndarray]
    pull: np.ndarray  # what all strings together do to each coordinate, N
    rub: np.ndarray  # friction along each coordinate, N
    taut: dict[str, bool]


@dataclass(kw_only=True)
class Now:
    """Where a run has got to."""

    q: np.ndarray
    v: np.ndarray
    slack: dict[str, float]  # strings that have gone slack
    landed: bool = False
    done: bool = False  # the distance is covered


@dataclass(frozen=True, kw_only=True)
class Part:
    """A stretch that ended after ``duration``."""

    answer: Answer
    duration: float
    v_end: np.ndarray
    moved: np.ndarray
    pulled: np.ndarray  # J, work of all strings on each coordinate
    rubbed: np.ndarray  # J


@cache
def lagrange_terms(
    movers: tuple[tuple[int, bool], ...], rims: tuple[int, ...], count: int
) -> Callable[..., tuple[np.ndarray, np.ndarray]]:
    """Lagrange's equations in symbols for things that move along coordinates 0 to count − 1.

    Each mover is (coordinate, whether on a surface); its parameters are mass, mass of wheels and
    slope. Then come the inertias of the rims and g.
    """
    q, t = dynamicsymbols(f"q:{count}"), dynamicsymbols._t
    m, w, slope = (sympy.symbols(f"{letter}:{len(movers)}") for letter in ("m", "w", "s"))
    inertia, g = sympy.symbols(f"i:{len(rims)}"), sympy.Symbol("g")
    kinetic, potential = sympy.Integer(0), sympy.Integer(0)
    for k, (at, on_surface) in enumerate(movers):
        v, height = q[at].diff(t), q[at] * sympy.sin(slope[k]) if on_surface else -q[at]
        # discs of mass w in all: I ω²/2 with I = w r²/2 and ω = v/r
        kinetic += m[k] * v**2 / 2 + (w[k] / 2) * v**2 / 2
        potential += m[k] * g * height
    for turning, at in zip(inertia, rims, strict=True):
        kinetic += turning * q[at].diff(t) ** 2 / 2
    method = LagrangesMethod(kinetic - potential, q)
    method.form_lagranges_equations()
    order = [x for k in range(len(movers)) for x in (m[k], w[k], slope[k])]
    return sympy.lambdify([*order, *inertia, g], (method.mass_matrix, method.forcing), "numpy")


class Oracle:
    def __init__(self, scene: Scene) -> None:
        self.scene, self.apparatus = scene, scene.apparatus
        self._coordinates()
        self._lagrange()
        self.ropes = [self._rope(name) for name in self.apparatus.strings]
        self.kinetic, self.static = self._frictions()
        self.object = self.index[self.apparatus.run.object]

    # ---- what there is

    def _coordinates(self) -> None:
        apparatus = self.apparatus
        own = [b.name for b in apparatus.bodies.values() if b.hangs_from is None]
        own += [p.name for p in apparatus.pulleys.values() if p.moving]
        self.index = {name: at for at, name in enumerate(own)}
        for body in apparatus.bodies.values():
            if body.hangs_from is not None:
                self.index[body.name] = self.index[body.hangs_from]
        ends = {s.path[0] for s in apparatus.strings.values()}
        ends |= {s.path[-1] for s in apparatus.strings.values()}
        self.rims = {}
        for name, pulley in apparatus.pulleys.items():
            if pulley.inertia or pulley.bearing_torque or (name in ends and not pulley.moving):
                self.rims[name] = len(own) + len(self.rims)
        self.q = dynamicsymbols(f"q:{len(own) + len(self.rims)}")

    def _lagrange(self) -> None:
        """Mass matrix and forces, from a Lagrangian that is the same for all equal structures."""
        apparatus, movers, values = self.apparatus, [], []
        for body in apparatus.bodies.values():
            slope = None if body.surface is None else apparatus.surfaces[body.surface].slope
            movers.append((self.index[body.name], slope is not None))
            values += [body.mass, body.wheel_mass, slope or 0.0]
        for pulley in apparatus.pulleys.values():
            if pulley.moving:
                movers.append((self.index[pulley.name], False))
                values += [pulley.mass, 0.0, 0.0]
        values += [apparatus.pulleys[name].inertia for name in self.rims]
        values.append(apparatus.gravity)
        terms = lagrange_terms(tuple(movers), tuple(self.rims.values()), len(self.q))
        mass, force = terms(*values)
        self.mass, self.force = np.array(mass, dtype=float), np.array(force, dtype=float)[:, 0]

    def _length(self, one: str, other: str) -> sympy.Expr:
        """The distance between neighbours, from where they stand."""
        bodies = self.apparatus.bodies
        surface = next(
            (bodies[n].surface for n in (one, other) if n in bodies and bodies[n].surface), None
        )
        places = [self._place(name, surface) for name in (one, other)]
        gap = places[1] - places[0]
        start = gap.subs(dict.fromkeys(self.q, 0)) if isinstance(gap, sympy.Expr) else gap
        return sympy.sympify(gap if start >= 0 else -gap)

    def _place(self, name: str, surface: str | None) -> sympy.Expr:
        moved = self.q[self.index[name]] if name in self.index else sympy.Integer(0)
        if surface is not None:
            return self.scene.along[surface, name] + moved
        return self.scene.depth.get(name, 0.0) + moved

    def _rope(self, name: str) -> Rope:
        path = self.apparatus.strings[name].path
        lengths = [self._length(a, b) for a, b in pairwise(path)]
        wound = sympy.Integer(0)
        if path[0] in self.rims and path[0] not in self.index:
            wound -= self._radius(path[0]) * self.q[self.rims[path[0]]]
        rows, passed = [], []
        for at in range(1, len(path) - 1):
            if path[at] in self.rims:
                rim = self._radius(path[at]) * self.q[self.rims[path[at]]]
                rows.append(sum(lengths[:at]) + wound + rim)
                passed.append(at)
        whole = sum(lengths) + wound
        if path[-1] in self.rims and path[-1] not in self.index:
            whole += self._radius(path[-1]) * self.q[self.rims[path[-1]]]
        sums = np.zeros((len(lengths), 1 + len(rows)))
        sums[:, 0] = 1.0
        for row, at in enumerate(passed):
            sums[:at, row + 1] = 1.0
        gradients = [self._gradient(expression) for expression in (whole, *rows)]
        return Rope(name=name, length=gradients[0], rows=np.array(gradients), sums=sums)

    def _gradient(self, expression: sympy.Expr) -> np.ndarray:
        return np.array([float(sympy.diff(expression, q)) for q in self.q])

    def _radius(self, pulley: str) -> float:
        return float(self.apparatus.pulleys[pulley].radius)

    def _frictions(self) -> tuple[np.ndarray, np.ndarray]:
        kinetic, static = np.zeros(len(self.q)), np.zeros(len(self.q))
        for body in self.apparatus.bodies.values():
            if body.surface is not None:
                slope = self.apparatus.surfaces[body.surface].slope
                normal = body.mass * self.apparatus.gravity * math.cos(slope)
                at = self.index[body.name]
                kinetic[at] = body.friction * normal
                held = body.friction if body.static_friction is None else body.static_friction
                static[at] = held * normal
        for name, at in self.rims.items():
            kinetic[at] = static[at] = self.apparatus.pulleys[name].bearing_torque
        return kinetic, static

    # ---- how it moves

    def start(self) -> Now:
        """Speeds of a push on the object alone with all strings tight: least kinetic energy."""
        n, speed = len(self.q), self.apparatus.run.speed
        now = Now(q=np.zeros(n), v=np.zeros(n), slack={})
        if speed:
            unit = np.eye(n)[self.object]
            rows = np.concatenate([[unit], *[rope.rows for rope in self.ropes]])
            null = np.linalg.svd(rows)[2][np.linalg.matrix_rank(rows) :]
            particular = np.linalg.lstsq(rows, speed * np.eye(len(rows))[0], rcond=None)[0]
            if np.abs(rows @ particular - speed * np.eye(len(rows))[0]).max() > CLOSE:
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
        rubbing = [at for at in range(len(self.q)) if self.static[at] > 0]
        states = [(0, 1, -1) if now.v[at] == 0 else (int(np.sign(now.v[at])),) for at in rubbing]
        tight = [rope for rope in self.ropes if self._tight(rope, now)]
        pads = [(True, False)] if now.landed else [(False,)]
        options = list(product(product(*states), product((True, False), repeat=len(tight)), *pads))
        options.sort(key=lambda o: (sum(map(abs, o[0])), -sum(o[1])))
        for signs, pulls, held in options:
            chosen = [rope for rope, pull in zip(tight, pulls, strict=True) if pull]
            answer = self._try(now, dict(zip(rubbing, signs, strict=True)), tight, chosen, held)
            if answer is not None:
                return answer
        raise UnclearError("no mode holds")

    def _tight(self, rope: Rope, now: Now) -> bool:
        if rope.name in now.slack:
            return False
        return bool(np.abs(rope.rows @ now.v).max() < 1e-8)

    def _try(
        self, now: Now, signs: dict[int, int], tight: list[Rope], chosen: list[Rope], held: bool
    ) -> Answer | None:
        n = len(self.q)
        stuck = [at for at, sign in signs.items() if sign == 0]
        rub = np.zeros(n)
        for at, sign in signs.items():
            rub[at] = -sign * self.kinetic[at]
        unit = np.eye(n)
        blocks = [rope.rows for rope in chosen] + [unit[stuck]] + [unit[[self.object] * held]]
        rows = np.concatenate(blocks)
        k = len(rows)
        matrix = np.block([[self.mass, rows.T], [rows, np.zeros((k, k))]])
        right = np.concatenate([self.force + rub, np.zeros(k)])
        sizes = np.linalg.svd(matrix, compute_uv=False)
        solution = np.linalg.lstsq(matrix, right, rcond=1e-12)[0]
        if np.abs(matrix @ solution - right).max() > 1e-8:
            return None
        a, multipliers = solution[:n], solution[n:]
        answer = self._answer(a, multipliers, chosen, stuck, rub)
        if not self._holds(now, answer, multipliers, signs, tight, chosen, stuck, held):
            return None
        idle = any(sign and not now.v[at] and abs(a[at]) < CLOSE for at, sign in signs.items())
        if idle or sizes[-1] < 1e-11 * sizes[0]:
            raise UnclearError("something is undetermined")
        return answer

    def _answer(
        self,
        a: np.ndarray,
        multipliers: np.ndarray,
        chosen: list[Rope],
        stuck: list[int],
        rub: np.ndarray,
    ) -> Answer:
        tensions = {rope.name: np.zeros(len(rope.sums)) for rope in self.ropes}
        pull, at = np.zeros(len(a)), 0
        for rope in chosen:
            part = multipliers[at : at + len(rope.rows)]
            tensions[rope.name] = rope.sums @ part
            pull -= rope.rows.T @ part
            at += len(rope.rows)
        for coordinate, held in zip(stuck, multipliers[at : at + len(stuck)], strict=True):
            rub[coordinate] = -held
        return Answer(
            acceleration=a,
            tensions=tensions,
            pull=pull,
            rub=rub,
            taut={rope.name: rope in chosen for rope in self.ropes},
        )

    def _holds(
        self,
        now: Now,
        answer: Answer,
        multipliers: np.ndarray,
        signs: dict[int, int],
        tight: list[Rope],
        chosen: list[Rope],
        stuck: list[int],
        held: bool,
    ) -> bool:
        a = answer.acceleration
        sticking = all(abs(answer.rub[at]) <= self.static[at] + CLOSE for at in stuck)
        sliding = all(sign * a[at] >= -CLOSE for at, sign in signs.items() if now.v[at] == 0)
        pulling = all(answer.tensions[rope.name].min() >= -CLOSE for rope in chosen)
        loose = all(rope.length @ a <= CLOSE for rope in tight if rope not in chosen)
        pad = multipliers[-1] >= -CLOSE if held else not now.landed or a[self.object] <= CLOSE
        return bool(sticking and sliding and pulling and loose and pad)

    # ---- when something happens

    def follow(self, limit: float = 1e3) -> list[Part]:
        """Stretches until the run ends or one would last longer than ``limit`` seconds."""
        now, parts = self.start(), []
        while len(parts) < 12:
            answer = self.answer(now)
            real = sorted(set(self.index.values()))
            if not np.abs(now.v[real]).max() and np.abs(answer.acceleration[real]).max() < CLOSE:
                return parts
            part, what = self._part(now, answer, limit)
            if part is None:
                return parts
            parts.append(part)
            self._step(now, answer, part)
            if what == "taut" or (what == "distance" and not self._distance(now)):
                return parts
        raise UnclearError("too many stretches")

    def _part(self, now: Now, answer: Answer, limit: float) -> tuple[Part | None, str]:
        n, a = len(self.q), answer.acceleration

        def motion(_: float, y: np.ndarray) -> np.ndarray:
            v = y[n : 2 * n]
            return np.concatenate([v, a, answer.pull * v, answer.rub * v])

        events = self._events(now, answer)
        if not events:
            return None, ""
        start = np.concatenate([now.q, now.v, np.zeros(2 * n)])
        found = solve_ivp(
            motion,
            (0.0, limit),
            start,
            method="DOP853",
            events=[event for _, event in events],
            rtol=1e-11,
            atol=1e-13,
            max_step=0.25,
        )
        if found.status != 1:
            return None, ""
        which = next(at for at, times in enumerate(found.t_events) if len(times))
        y, t = found.y_events[which][0], float(found.t_events[which][0])
        part = Part(
            answer=answer,
            duration=t,
            v_end=y[n : 2 * n],
            moved=y[:n] - now.q,
            pulled=y[2 * n : 3 * n],
            rubbed=y[3 * n :],
        )
        return part, events[which][0]

    def _events(self, now: Now, answer: Answer) -> list:
        n, events = len(self.q), []

        def terminal(kind: str, function, direction: float) -> None:
            function.terminal, function.direction = True, direction
            events.append((kind, function))

        goal = self.apparatus.run.distance
        if not now.done and goal is not None:
            terminal("distance", lambda t, y: abs(y[self.object]) - goal, 1.0)
        for at in range(n):
            v, a = now.v[at], answer.acceleration[at]
            if self.kinetic[at] > 0 and v * a < 0:
                terminal("stop", lambda t, y, at=at: y[n + at], -np.sign(v))
        for rope in self.ropes:
            if not answer.taut[rope.name]:
                before = now.slack.get(rope.name, 0.0)

                def gap(
                    t: float, y: np.ndarray, rope: Rope = rope, before: float = before
                ) -> float:
                    return before - rope.length @ (y[:n] - now.q) + 1e-13 * (t == 0)

                terminal("taut", gap, -1.0)
        return events

    def _step(self, now: Now, answer: Answer, part: Part) -> None:
        for rope in self.ropes:
            if not answer.taut[rope.name]:
                before = now.slack.get(rope.name, 0.0)
                now.slack[rope.name] = before - rope.length @ part.moved
        now.q = now.q + part.moved
        now.v = np.where(np.abs(part.v_end) < 1e-9, 0.0, part.v_end)

    def _distance(self, now: Now) -> bool:
        """Land what hangs and comes down; False if that pulls a string with a jerk."""
        now.done = True
        body = self.apparatus.bodies.get(self.apparatus.run.object)
        hangs = body is None or body.surface is None
        if not (hangs and now.v[self.object] > 0 and now.q[self.object] > 0):
            return True
        now.v[self.object], now.landed = 0.0, True
        for rope in self.ropes:
            rate = rope.length @ now.v
            if rate > 1e-9:
                return False
            if rate < -1e-9:
                now.slack.setdefault(rope.name, 0.0)
        return True
