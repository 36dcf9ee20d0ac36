"""Simulated trials: what sensors would write down if the model were true.

Takes a scenario, gravity, a seed and how sensors and hands behave; gives records marked as
simulated, with the truth behind them, and their CSV text. Writing files is left to others.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from math import inf

import numpy as np

from fallwork.measurement.model import Array, Estimate, Measurand, Record
from fallwork.measurement.prediction import GRAVITY, Case, View, driven_phases, view_of
from fallwork.mechanics import Apparatus, solve
from fallwork.mechanics.solution import Ending, Role
from fallwork.scenario import Scenario
from fallwork.scenario.numbers import quantities_of

FRICTIONS = ("friction", "static_friction", "bearing_torque")  # last words of paths
SENSOR_AT = 0.2  # m, what the motion sensor shows at the place of release
NUDGE_BEFORE, NUDGE_LASTS = 0.5, 0.3  # s
SWING_LASTS, SWING_DIES = 0.03, 0.012  # s, of the force after a string goes slack
COLUMNS = (  # heading, attribute of a record, decimals
    ("time (s)", "time", 3),
    ("position (m)", "position", 4),
    ("velocity (m/s)", "velocity", 3),
    ("force (N)", "force", 3),
)


@dataclass(frozen=True, kw_only=True)
class Behaviour:
    """How sensors and hands behave; the defaults are what a teaching lab sees. Common practice, not
    a standard: an ultrasonic or wheel sensor of positions, velocities as slopes over a few
    positions, a force sensor that is zeroed once. ``_u`` is the standard deviation of a normal
    distribution.
    """

    position_rate: float = 50.0  # 1/s
    force_rate: float = 100.0  # 1/s; a whole multiple of the other
    position_noise: float = 0.0003  # m, standard deviation
    position_step: float = 0.0001  # m
    smoothing: int = 2  # positions on either side through which a velocity's slope goes
    velocity_step: float = 0.001  # m/s
    force_noise: float = 0.010  # N, standard deviation
    force_step: float = 0.001  # N
    force_zero_u: float = 0.005  # N, of the zero offset that all trials share
    position_scale_u: float = 0.0005  # relative, all trials alike
    force_scale_u: float = 0.002  # relative, all trials alike
    held: tuple[float, float] = (0.8, 1.6)  # s before release, between these
    start_u: float = 0.0005  # m, where the object is held; the distance changes by as much
    friction_u: float = 0.08  # relative, of friction from trial to trial
    nudge_share: float = 0.2  # of the trials, in which a hand moves the object before release
    nudge: float = 0.002  # m
    landing_spike: float = 0.6  # N, the first swing of the force when the string goes slack
    bounce: float = 0.3  # share of the speed after hitting a stop
    after: float = 0.7  # s recorded after the driven part
    longest: float = 10.0  # s of record, where nothing ends the driven part
    draw_givens: bool = True  # masses, distance, slope, g: true values drawn from their ±


@dataclass(frozen=True, kw_only=True)
class Trajectory:
    """What happens from release on; before it the object is held at position 0."""

    held_pull: float  # N, before release
    table: Array  # (n, 5): from s after release on; position m, speed m/s, m/s², pull N
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
    way, held = view.direction(driven_phases(solution)), view.held_pull(apparatus)
    table: list[tuple[float, ...]] = []
    time = position = 0.0
    for phase in solution.phases:
        if phase.role is Role.LANDING:
            continue
        speed = way * phase.start_velocities.get(moving, 0.0)
        acceleration = way * phase.accelerations.get(moving, 0.0)
        force = view.pull(phase) or 0.0
        table.append((time, position, speed, acceleration, force))
        if phase.duration is None:
            time = inf
            break
        time += phase.duration
        position += way * (phase.displacements[moving] or 0.0)
    last = solution.phases[-1]
    hits = last.ends and (last.ends.ending, last.ends.subject) == (Ending.REACHES, moving)
    if hits and force > 0:  # a taut string holds it at the stop
        table.append((time, position, 0.0, 0.0, held))
    elif hits:  # back at a share of the speed until friction ends it
        back = -bounce * (speed + acceleration * (time - table[-1][0]))
        slowing = max(-acceleration, 0.0)
        table.append((time, position, back, slowing, 0.0))
        if slowing > 0:
            until = -back / slowing
            table.append((time + until, position + back * until / 2, 0.0, 0.0, 0.0))
    rests = last.duration is None or not any(last.end_velocities.values())
    driven = [phase.duration for phase in driven_phases(solution)]
    driven_ends = inf if None in driven else sum(d for d in driven if d is not None)
    stops, ends = (time, inf) if hits else (inf, inf if rests else time)
    whole = np.array(table)
    return Trajectory(held_pull=held, table=whole, driven_ends=driven_ends, stops=stops, ends=ends)


@dataclass(frozen=True, kw_only=True)
class SimulatedTrial:
    """One record, and the truth behind it: that is for tests, never for pages."""

    record: Record
    release: float  # s of the record
    driven_ends: float  # s of the record
    values: Mapping[str, float]  # by Measurand, what a perfect analysis would find
    givens: Mapping[str, float]  # path → true value


USUAL = Behaviour()


def simulate(
    scenario: Scenario, gravity: Estimate, *, trials: int, seed: int, behaviour: Behaviour = USUAL
) -> tuple[SimulatedTrial, ...]:
    """So many trials of the scenario, named trial-01, trial-02, …; the same for the same seed."""
    bench = _Bench(Case(scenario=scenario, gravity=gravity), behaviour, np.random.default_rng(seed))
    return tuple(bench.trial(f"trial-{at:02d}") for at in range(1, trials + 1))


class _Bench:
    """A set-up and its sensors in one session: what all trials share is drawn once."""

    def __init__(self, case: Case, ways: Behaviour, random: np.random.Generator) -> None:
        self.case, self.view, self.ways, self.random = case, view_of(case.scenario), ways, random
        self.givens = {GRAVITY: case.gravity.value}
        for each in case.inputs:
            flat = each.rectangular
            deviate = random.uniform(-(3**0.5), 3**0.5) if flat else random.standard_normal()
            if ways.draw_givens:
                self.givens[each.name] = max(each.value + each.u * deviate, each.lowest)
        self.force_zero = random.normal(0.0, ways.force_zero_u)  # N
        self.force_scale = random.normal(1.0, ways.force_scale_u)
        self.position_scale = random.normal(1.0, ways.position_scale_u)
        self.rate = max(ways.position_rate, ways.force_rate)  # of the faster sensor, 1/s

    def trial(self, name: str) -> SimulatedTrial:
        """One trial, with its own start and friction, the luck of its hand and its noise."""
        ways, view = self.ways, self.view
        release = self.random.uniform(*ways.held)
        offset = self.random.normal(0.0, ways.start_u)
        friction = max(self.random.normal(1.0, ways.friction_u), 0.0)
        givens = dict(self.givens)
        for path, quantity in quantities_of(self.case.scenario):
            if path.rpartition(".")[2] in FRICTIONS:
                givens[path] = givens.get(path, quantity.value) * friction
            elif path == "run.distance":
                givens[path] = givens.get(path, quantity.value) + offset
        apparatus = self.case.apparatus(givens)
        motion = trajectory_of(apparatus, view, ways.bounce)
        last = min(motion.driven_ends + ways.after, motion.ends)
        last = release + (ways.longest if last == inf else last)
        time = np.asarray(np.arange(int(last * self.rate) + 1) / self.rate)
        since = time - release
        position, force = motion.sampled(since)
        # A hand may move the object a little and back before it lets go.
        moved = ways.nudge * (self.random.uniform() < ways.nudge_share)
        nudge = moved * np.sin(np.pi * np.clip((since + NUDGE_BEFORE) / NUDGE_LASTS, 0, 1)) ** 2
        seen, slopes = self._position_columns(time, position + nudge)
        record = Record(
            name=name,
            time=time,
            position=seen,
            velocity=slopes,
            force=self._force_column(since, force, motion),
            source=f"scenario {self.case.scenario.id}",
            simulated=True,
        )
        values = view.measurands(solve(apparatus))
        if view.string is not None:
            values[Measurand.FORCE_HELD.value] = motion.held_pull
        if Measurand.COASTING_ACCELERATION in values:
            values[Measurand.FORCE_SLACK.value] = 0.0
        times = {"release": release, "driven_ends": release + motion.driven_ends}
        return SimulatedTrial(record=record, **times, values=values, givens=givens)

    def _position_columns(self, time: Array, position: Array) -> tuple[Array, Array]:
        """Positions and the slopes of the lines through each and some on either side of it."""
        ways, every = self.ways, round(self.rate / self.ways.position_rate)
        seen = SENSOR_AT + self.position_scale * position[::every]
        noisy = seen + self.random.normal(0.0, ways.position_noise, len(seen))
        slopes, side = np.empty(len(noisy)), max(ways.smoothing, 1)
        for at in range(len(noisy)):
            near = slice(max(at - side, 0), at + side + 1)
            t = time[::every][near] - time[::every][near].mean()
            slopes[at] = t @ noisy[near] / (t @ t)
        columns = ((noisy, ways.position_step), (slopes, ways.velocity_step))
        one, other = (_written(values, step, every, len(time)) for values, step in columns)
        return one, other

    def _force_column(self, since: Array, force: Array, motion: Trajectory) -> Array:
        """The pull as the sensor gives it; ``since`` is the time after release."""
        ways, every = self.ways, round(self.rate / self.ways.force_rate)
        swing = ways.landing_spike * self.random.normal(1.0, 0.2)
        jerks = _jerk(since - motion.driven_ends, swing) + _jerk(since - motion.stops, 2 * swing)
        seen = (self.force_scale * (force + jerks) + self.force_zero)[::every]
        noisy = seen + self.random.normal(0.0, ways.force_noise, len(seen))
        return _written(noisy, ways.force_step, every, len(since))


def _jerk(since: Array, size: float) -> Array:
    """A swing that dies away, N; none before it, nor where it never comes."""
    t = np.maximum(since, 0.0)
    swing = size * np.exp(-t / SWING_DIES) * np.cos(2 * np.pi * t / SWING_LASTS)
    return np.where(since >= 0, swing, 0.0)


def _written(values: Array, step: float, every: int, length: int) -> Array:
    """Readings rounded to the sensor's step, NaN between the samples of a slower sensor."""
    column = np.full(length, np.nan)
    column[::every] = np.round(values / step) * step if step > 0 else values
    return column


def csv_of(trials: Sequence[SimulatedTrial], *, seed: int | None = None) -> str:
    """The records as one CSV text: a comment that says that they are simulated, headings with
    units, and for several trials a first column with their names. A missing sample is empty.
    """
    first = ["trial"] if len(trials) > 1 else []
    drawn = "" if seed is None else f", seed {seed}"
    lines = [f"# Simulated data, {trials[0].record.source}{drawn}: made by a model, not measured."]
    lines.append(",".join([*first, *(head for head, _, _ in COLUMNS)]))
    for trial in trials:
        name = [trial.record.name for _ in first]
        columns = [
            # Adding zero makes a rounded −0.0 a 0.0.
            ["" if np.isnan(v) else f"{round(v, digits) + 0.0:.{digits}f}" for v in values.tolist()]
            for values, digits in ((getattr(trial.record, c), digits) for _, c, digits in COLUMNS)
        ]
        lines += [",".join([*name, *row]) for row in zip(*columns, strict=True)]
    return "\n".join([*lines, ""])
