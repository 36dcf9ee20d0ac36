"""The motion of the watched object and the measured pull as functions of time.

Takes an apparatus and a view; gives stretches of constant acceleration from release on, with what
the solver leaves out: a bounce off the stop. Noise and sampling are left to ``simulate``.
"""

from dataclasses import dataclass, replace
from math import inf

import numpy as np

from fallwork.measurement.model import Array
from fallwork.measurement.view import View, direction, driven_phases, pull
from fallwork.mechanics import Apparatus, Phase, solve
from fallwork.mechanics.solution import Ending, Role

GRIP = 1e6  # coefficient of static friction of an object that a hand holds


@dataclass(frozen=True, kw_only=True)
class Stretch:
    """Constant acceleration and pull from ``start`` on."""

    start: float  # s after release
    position: float  # m from the point of release
    speed: float  # m/s
    acceleration: float  # m/s²
    pull: float  # N


@dataclass(frozen=True, kw_only=True)
class Motion:
    """What happens from release on; before it the object is held at position 0."""

    held_pull: float  # N, before release
    stretches: tuple[Stretch, ...]
    driven_ends: float  # s after release; infinite if nothing ends it
    stops: float  # s after release, when the object hits the stop; infinite if it never does
    ends: float  # s after release, until which the model tells what happens

    def sampled(self, time: Array) -> tuple[Array, Array, Array]:
        """(position, speed, pull) at times in s after release, each of their shape."""
        at = np.searchsorted([each.start for each in self.stretches], time, side="right") - 1
        table = np.array(
            [(s.start, s.position, s.speed, s.acceleration, s.pull) for s in self.stretches]
        )
        start, position, speed, acceleration, force = table[np.maximum(at, 0)].T
        t = time - start
        held = at < 0
        return (
            np.where(held, 0.0, position + speed * t + acceleration * t**2 / 2),
            np.where(held, 0.0, speed + acceleration * t),
            np.where(held, self.held_pull, force),
        )


def motion_of(apparatus: Apparatus, view: View, bounce: float) -> Motion:
    """The motion of ``view.moving``, positive the way it goes; ``bounce`` is the share of its
    speed with which it comes back off a stop that it hits with a slack string.
    """
    solution = solve(apparatus)
    way = direction(driven_phases(solution), view)
    held = held_pull(apparatus, view)
    stretches: list[Stretch] = []
    time = position = 0.0
    for phase in solution.phases:
        if phase.role is Role.LANDING:
            continue
        stretches.append(_stretch(phase, view, way, time, position))
        if phase.duration is None:
            time = inf
            break
        time += phase.duration
        position += way * (phase.displacements[view.moving] or 0.0)
    driven = [phase.duration for phase in driven_phases(solution)]
    last = solution.phases[-1].ends
    hits = last is not None and last.ending is Ending.REACHES and last.subject == view.moving
    if hits:
        stretches += _off_the_stop(stretches[-1], time, position, held, bounce)
    return Motion(
        held_pull=held,
        stretches=tuple(stretches),
        driven_ends=inf if None in driven else sum(d for d in driven if d is not None),
        stops=time if hits else inf,
        ends=inf if hits or _rests(solution.phases[-1]) else time,
    )


def _stretch(phase: Phase, view: View, way: int, time: float, position: float) -> Stretch:
    return Stretch(
        start=time,
        position=position,
        speed=way * phase.start_velocities.get(view.moving, 0.0),
        acceleration=way * phase.accelerations.get(view.moving, 0.0),
        pull=pull(phase, view) or 0.0,
    )


def _off_the_stop(
    last: Stretch, time: float, position: float, held: float, bounce: float
) -> list[Stretch]:
    """Back at a share of the speed until friction ends it; a taut string holds it at the stop."""
    if last.pull > 0:
        return [Stretch(start=time, position=position, speed=0.0, acceleration=0.0, pull=held)]
    speed = -bounce * (last.speed + last.acceleration * (time - last.start))
    slowing = max(-last.acceleration, 0.0)
    back = Stretch(start=time, position=position, speed=speed, acceleration=slowing, pull=0.0)
    if slowing == 0:
        return [back]
    until = -speed / slowing
    rest = Stretch(
        start=time + until,
        position=position + speed * until / 2,
        speed=0.0,
        acceleration=0.0,
        pull=0.0,
    )
    return [back, rest]


def _rests(phase: Phase) -> bool:
    return phase.duration is None or not any(phase.end_velocities.values())


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
