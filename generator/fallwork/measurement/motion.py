"""The motion of the watched object and the measured pull as functions of time.

Takes an apparatus and a view; gives pieces of constant acceleration from release on, with what the
solver leaves out: a bounce off the stop. Noise and sampling are left to ``simulate``.
"""

from dataclasses import dataclass, replace
from math import inf

import numpy as np

from fallwork.measurement.model import Array
from fallwork.measurement.view import View, direction, driven_phases, pull
from fallwork.mechanics import Apparatus, solve
from fallwork.mechanics.solution import Ending, Role

GRIP = 1e6  # coefficient of static friction of an object that a hand holds


@dataclass(frozen=True, kw_only=True)
class Trajectory:
    """What happens from release on; before it the object is held at position 0."""

    held_pull: float  # N, before release
    table: Array
    # ^ (n, 5): from s after release on; position m, speed m/s, acceleration m/s², pull N
    driven_ends: float  # s after release; infinite if nothing ends it
    stops: float  # s after release, when the object hits the stop; infinite if it never does
    ends: float  # s after release, until which the model tells what happens

    def sampled(self, time: Array) -> tuple[Array, Array]:
        """(position, pull) at times in s after release, both of their shape."""
        at = np.searchsorted(self.table[:, 0], time, side="right") - 1
        start, position, speed, acceleration, force = self.table[np.maximum(at, 0)].T
        t = time - start
        moved = position + speed * t + acceleration * t**2 / 2
        return np.where(at < 0, 0.0, moved), np.where(at < 0, self.held_pull, force)


def trajectory_of(apparatus: Apparatus, view: View, bounce: float) -> Trajectory:
    """The motion of ``view.moving``, positive the way it goes; ``bounce`` is the share of its
    speed with which it comes back off a stop that it hits with a slack string.
    """
    solution, moving = solve(apparatus), view.moving
    way = direction(driven_phases(solution), view)
    held = held_pull(apparatus, view)
    table: list[tuple[float, ...]] = []
    time = position = 0.0
    for phase in solution.phases:
        if phase.role is Role.LANDING:
            continue
        speed = way * phase.start_velocities.get(moving, 0.0)
        acceleration = way * phase.accelerations.get(moving, 0.0)
        table.append((time, position, speed, acceleration, pull(phase, view) or 0.0))
        if phase.duration is None:
            time = inf
            break
        time += phase.duration
        position += way * (phase.displacements[moving] or 0.0)
    last = solution.phases[-1]
    end = last.ends and (last.ends.ending, last.ends.subject)
    hits = end == (Ending.REACHES, moving)
    if hits:
        table += _off_the_stop(table[-1], time, position, held, bounce)
    rests = last.duration is None or not any(last.end_velocities.values())
    driven = [phase.duration for phase in driven_phases(solution)]
    return Trajectory(
        held_pull=held,
        table=np.array(table),
        driven_ends=inf if None in driven else sum(d for d in driven if d is not None),
        stops=time if hits else inf,
        ends=inf if hits or rests else time,
    )


def _off_the_stop(
    last: tuple[float, ...], time: float, position: float, held: float, bounce: float
) -> list[tuple[float, ...]]:
    """Back at a share of the speed until friction ends it; a taut string holds it at the stop."""
    start, _, speed, acceleration, force = last
    if force > 0:
        return [(time, position, 0.0, 0.0, held)]
    back = -bounce * (speed + acceleration * (time - start))
    slowing = max(-acceleration, 0.0)
    until = -back / slowing if slowing > 0 else inf
    rest = (time + until, position + back * until / 2, 0.0, 0.0, 0.0)
    return [(time, position, back, slowing, 0.0), *([rest] if slowing > 0 else [])]


def held_pull(apparatus: Apparatus, view: View) -> float:
    """The pull while a hand holds the object: a cart by any force, a weight not at all."""
    if view.string is None or view.pulled is None:
        return 0.0
    bodies = {
        name: body if body.surface is None else replace(body, static_friction=GRIP)
        for name, body in apparatus.bodies.items()
    }
    free = {name: replace(pulley, bearing_torque=0.0) for name, pulley in apparatus.pulleys.items()}
    at_rest = replace(apparatus, bodies=bodies, pulleys=free, run=replace(apparatus.run, speed=0.0))
    if apparatus.bodies[view.pulled].surface is None:
        return float(apparatus.bodies[view.pulled].mass * apparatus.gravity)
    return pull(solve(at_rest).phases[0], view) or 0.0
