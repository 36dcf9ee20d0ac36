"""Short ways to a scenario and to trials in a test; everything in SI units."""

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from cases import cases
from fallwork.measurement.model import Analysis, Array, Estimate, Record, Trial
from fallwork.measurement.simulate import Behaviour, simulate
from fallwork.measurement.summaries import summaries
from fallwork.scenario import Scenario, load_scenario

STANDARD = Estimate(value=9.80665, u=0.0)  # m/s², 3rd CGPM (1901)
STEADY = Behaviour(draw_givens=False, friction_u=0.0, start_u=0.0)  # every trial the same
KIT = cases(__file__, "level")
NOISE, EXACT, USUAL = KIT["noise"], KIT["exact"], KIT["usual"]


def level_track(folder: Path, **numbers: str) -> Scenario:
    """The usual set-up with other numbers, as its file would have them."""
    file = folder / "level.yaml"
    file.write_text(KIT["file"].format(**{**USUAL, **numbers}), encoding="utf-8")
    return load_scenario(file)


def truth_of(scenario: Scenario) -> Mapping[str, float]:
    """What a perfect measurement of the scenario would find, by measurand."""
    return simulate(scenario, STANDARD, trials=1, seed=0, behaviour=STEADY)[0].values


def analysis_of(trials: Mapping[str, Mapping[str, float | tuple[float, float]]]) -> Analysis:
    """Trials by name, of values that are exact or (value, u)."""
    made = []
    for name, values in trials.items():
        pairs = {k: v if isinstance(v, tuple) else (v, 0.0) for k, v in values.items()}
        estimates = {k: Estimate(value=value, u=u) for k, (value, u) in pairs.items()}
        made.append(Trial(name=name, estimates=estimates))
    return Analysis(trials=tuple(made), summary=summaries(made))


def trials_of(truth, *, count=10, seed=1, noise=1.0, only=(), off=None) -> Analysis:
    """Trials of the truth with noise; ``only`` some measurands, each ``off`` by the same in all."""
    generator, trials = np.random.default_rng(seed), {}
    values = truth_of(truth) if isinstance(truth, Scenario) else truth
    read = {name: value + (off or {}).get(name, 0.0) for name, value in values.items()}
    kept = {name: value for name, value in read.items() if not only or name in only}
    for at in range(1, count + 1):
        luck = {name: noise * generator.normal(0, NOISE[name]) for name in kept}
        each = {name: (value + luck[name], noise * NOISE[name]) for name, value in kept.items()}
        trials[f"trial-{at:02d}"] = each
    return analysis_of(trials)


# ---- a cart on a level track, written down by sensors of many kinds: records with known truth,
# independent of the program's own simulation; the run begins at ``release``
ACCELERATION, COASTING, LASTS, COASTS = 1.5, -0.08, 0.9, 0.5  # m/s², m/s², s, s
SPEED = ACCELERATION * LASTS  # m/s, at the end of the driven part
DISTANCE = ACCELERATION * LASTS**2 / 2  # m
PULL, WEIGHT = 0.66, 0.78  # N, driven and held
TRUTH = {
    "acceleration": ACCELERATION,
    "final_speed": SPEED,
    "travel_time": LASTS,
    "distance": DISTANCE,
    "coasting_acceleration": COASTING,
    "mean_tension": PULL,
    "mean_tension_over_time": PULL,
    "work_of_tension": PULL * DISTANCE,
    "force_held": WEIGHT,
}


@dataclass(frozen=True, kw_only=True)
class Motion:
    """The true motion and pull at some times."""

    time: Array
    position: Array
    velocity: Array
    force: Array


def path(*, rate: float = 100.0, release: float = 0.8, after: float = 0.4) -> Motion:
    """Held, driven, coasting, and back off the stop at a third of the speed."""
    time = np.arange(0.0, release + LASTS + COASTS + after, 1 / rate)
    t = time - release
    stop, back = LASTS + COASTS, -0.3 * (SPEED + COASTING * COASTS)
    where = DISTANCE + SPEED * COASTS + COASTING * COASTS**2 / 2
    pieces, coast = [t < 0, t < LASTS, t < stop], t - LASTS
    places = [0 * t, ACCELERATION * t**2 / 2, DISTANCE + SPEED * coast + COASTING * coast**2 / 2]
    speeds = [0 * t, ACCELERATION * t, SPEED + COASTING * coast]
    return Motion(
        time=time,
        position=np.select(pieces, places, where + back * (t - stop)),
        velocity=np.select(pieces, speeds, back),
        force=np.select(pieces[:2], [0 * t + WEIGHT, 0 * t + PULL], 0.0),
    )


def record(true: Motion, **columns: Array) -> Record:
    """A record with some of position, velocity, force."""
    return Record(name="trial-01", time=true.time, **columns)


def noisy(seed: int = 1, rate: float = 100.0, **columns: float) -> Record:
    """Columns of the bench's run, each with noise of this standard deviation."""
    true, random = path(rate=rate), np.random.default_rng(seed)
    noise = {name: random.normal(0, u, len(true.time)) for name, u in columns.items()}
    return record(true, **{name: getattr(true, name) + noise[name] for name in columns})
