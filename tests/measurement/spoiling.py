"""Labs of twenty trials with everything that real ones have, one of them spoiled in a known way.

A good trial has friction, tilt, hidden mass, a bearing, scales and a zero of the sensors that no
one wrote down. A spoiling is larger than anything a person would let pass: its size stands beside
it.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from math import radians

import numpy as np

from fallwork.measurement.analysis import Settings
from fallwork.measurement.inputs import quantities_of, with_values
from fallwork.measurement.model import Estimate, Record
from fallwork.measurement.simulate import Behaviour, SimulatedTrial, simulate
from fallwork.measurement.view import measurands_of, view_of
from fallwork.mechanics import apparatus_of, solve
from fallwork.pages.trials import settings_of
from fallwork.scenario import Measured, Scenario, Slider

GRAVITY = Estimate(value=9.81, u=0.0005)
TRIALS = 20
LAYOUTS = (
    ("position",),
    ("velocity",),
    ("position", "velocity"),
    ("position", "force"),
    ("velocity", "force"),
    ("position", "velocity", "force"),
    ("force",),
)
UNITS = {"position": (100.0, 1000.0), "velocity": (100.0, 1000.0), "force": (1000.0, 101.97)}
Random = np.random.Generator


@dataclass(frozen=True, kw_only=True)
class Spoiled:
    """A lab with one spoiled trial."""

    records: tuple[Record, ...]
    settings: Settings
    spoiled: str  # the name of the trial
    how: str
    layout: tuple[str, ...]


def lab(scenario: Scenario, random: Random) -> Spoiled:
    """Nineteen good trials and a spoiled one, in random order of layouts, sensors and mistakes."""
    layout = LAYOUTS[random.integers(len(LAYOUTS))]
    if view_of(scenario).string is None:
        layout = ("position", "velocity")
    real, ways = really(scenario, random), sensors(random)
    made = simulate(
        real, GRAVITY, trials=TRIALS, seed=int(random.integers(1 << 30)), behaviour=ways
    )
    at = int(random.integers(TRIALS))
    settings = settings_of(scenario, GRAVITY, Measured())
    kinds = knowable(layout, ends=not settings.turns and settings.covered is None)
    how = kinds[random.integers(len(kinds))]
    records = [shown(trial.record, layout) for trial in made]
    wrong = SPOILINGS[how](real, made[at], layout, ways, random)
    records[at] = replace(wrong, name=made[at].record.name)
    if layout == ("force",):
        settings = replace(settings, windows={t.record.name: window_of(t) for t in made})
    return Spoiled(
        records=tuple(records),
        settings=settings,
        spoiled=made[at].record.name,
        how=how,
        layout=layout,
    )


def window_of(trial: SimulatedTrial) -> tuple[float, float]:
    return trial.truth.release, trial.truth.driven_ends


def really(scenario: Scenario, random: Random) -> Scenario:
    """The set-up as it is in the room."""
    off = {
        "friction": lambda value: value * random.uniform(0.85, 1.15) + random.uniform(0, 0.006),
        "static_friction": lambda value: value * 1.2 + 0.006,
        "slope": lambda value: value + random.normal(0, radians(0.15)),
        "bearing_torque": lambda value: value * random.uniform(0.7, 1.3),
    }
    values = {
        path: off[word](quantity.value)
        for path, quantity in quantities_of(scenario)
        if (word := path.rpartition(".")[2]) in off
    }
    moving = view_of(scenario).moving
    watched = scenario.objects[moving]
    if isinstance(watched, Slider):
        values[f"{moving}.mass"] = watched.mass.value + random.uniform(0, 0.02)
    return with_values(scenario, values)


def sensors(random: Random) -> Behaviour:
    """Sensors of many kinds; velocities are slopes over 0.12 s at most."""
    rate = float(random.choice([25.0, 50.0, 100.0]))
    return Behaviour(
        position_rate=rate,
        force_rate=100.0,
        position_noise=float(random.choice([0.0002, 0.0005])),
        force_zero_u=0.03,
        position_scale_u=0.005,
        force_scale_u=0.01,
        start_u=0.002,
        smoothing=min(int(random.choice([1, 2, 3])), max(int(0.06 * rate), 1)),
    )


def shown(record: Record, layout: tuple[str, ...]) -> Record:
    hidden = {name: None for name in ("position", "velocity", "force") if name not in layout}
    return replace(record, **hidden)


# ---- spoilings

Spoil = Callable[[Scenario, SimulatedTrial, tuple[str, ...], Behaviour, Random], Record]


def unit(
    real: Scenario, trial: SimulatedTrial, layout: tuple[str, ...], ways: Behaviour, random: Random
) -> Record:
    """One column in cm, mm, cm/s, mm/s, g or mN, or the time in ms: a factor of 100 at least."""
    record = shown(trial.record, layout)
    channel = ("time", *layout)[random.integers(len(layout) + 1)]
    if channel == "time" and layout != ("force",):
        return replace(record, time=1000 * record.time)
    channel = layout[0] if channel == "time" else channel
    factor = UNITS[channel][random.integers(2)]
    return replace(record, **{channel: factor * getattr(record, channel)})


def distance(
    real: Scenario, trial: SimulatedTrial, layout: tuple[str, ...], ways: Behaviour, random: Random
) -> Record:
    """A run over 0.7 or 1.25 times the distance."""
    given = real.run.distance
    assert given is not None
    factor = random.choice([0.7, 1.25])
    return again(real, {"run.distance": factor * given.value}, layout, ways, random)


def masses(
    real: Scenario, trial: SimulatedTrial, layout: tuple[str, ...], ways: Behaviour, random: Random
) -> Record:
    """Another mass on the string's other end or at the watched object, so that acceleration or
    tension, whichever is recorded, is 1.4 times as large or as small.
    """
    paths = [path for path, _ in quantities_of(real) if path.endswith(".mass")]
    given = {path: quantity.value for path, quantity in quantities_of(real)}
    name = "mean_tension" if layout == ("force",) else "acceleration"
    usual = values_of(real, {})[name]
    choices = [
        {path: factor * given[path]}
        for path in paths
        for factor in (0.3, 0.4, 0.5, 0.6, 1.6, 2.0, 2.5, 3.0)
        if is_another(values_of(real, {path: factor * given[path]}).get(name, 0.0), usual, layout)
    ]
    if not choices:
        return unit(real, trial, layout, ways, random)
    return again(real, choices[random.integers(len(choices))], layout, ways, random)


def is_another(value: float, usual: float, layout: tuple[str, ...]) -> bool:
    """A force alone, whose zero isn't known, has to differ by 0.5 N too."""
    far = abs(value - usual) > 0.5 or layout != ("force",)
    return far and 1.4 < ratio(value, usual) < 3


def ratio(one: float, other: float) -> float:
    small, large = sorted((abs(one), abs(other)))
    return large / small if one * other > 0 else 0.0


def values_of(scenario: Scenario, values: Mapping[str, float]) -> dict[str, float]:
    apparatus = apparatus_of(with_values(scenario, values), GRAVITY.value)
    solution = solve(apparatus)
    return measurands_of(solution, view_of(scenario)) if solution.moves else {}


def again(
    real: Scenario,
    values: Mapping[str, float],
    layout: tuple[str, ...],
    ways: Behaviour,
    random: Random,
) -> Record:
    seed = int(random.integers(1 << 30))
    other = simulate(with_values(real, values), GRAVITY, trials=1, seed=seed, behaviour=ways)[0]
    record = shown(other.record, layout)
    if layout != ("force",):
        return record
    return replace(record, time=record.time)


def swapped(
    real: Scenario, trial: SimulatedTrial, layout: tuple[str, ...], ways: Behaviour, random: Random
) -> Record:
    """Two columns under each other's headings."""
    record = shown(trial.record, layout)
    one, other = random.permutation(len(layout))[:2]
    pair = {layout[one]: layout[other], layout[other]: layout[one]}
    return replace(record, **{to: getattr(record, of) for to, of in pair.items()})


def sign(
    real: Scenario, trial: SimulatedTrial, layout: tuple[str, ...], ways: Behaviour, random: Random
) -> Record:
    """One column with the other sign."""
    record = shown(trial.record, layout)
    channel = layout[random.integers(len(layout))]
    return replace(record, **{channel: -getattr(record, channel)})


def cut(
    real: Scenario, trial: SimulatedTrial, layout: tuple[str, ...], ways: Behaviour, random: Random
) -> Record:
    """Without the first or the last 40 % of the distance."""
    begin, end = window_of(trial)
    lasts = end - begin
    kept = trial.record.time > begin + 0.65 * lasts
    if random.random() < 0.5:
        kept = trial.record.time < begin + 0.75 * lasts
    record = shown(trial.record, layout)
    columns = {
        name: values[kept]
        for name in ("time", "position", "velocity", "force")
        if (values := getattr(record, name)) is not None
    }
    return replace(record, **columns)


SPOILINGS: Mapping[str, Spoil] = {
    "unit": unit,
    "distance": distance,
    "masses": masses,
    "swapped": swapped,
    "sign": sign,
    "cut off": cut,
}


def knowable(layout: tuple[str, ...], *, ends: bool) -> tuple[str, ...]:
    """The spoilings that show in a layout: a force alone knows no distance and no second column.

    Nor does a record in which nothing ``ends`` the driven part, or whose run turns round.
    """
    if layout == ("force",):
        return ("unit", "masses", "sign")
    out = set() if ends else {"distance"}
    out |= {"swapped"} if len(layout) == 1 else set()
    return tuple(kind for kind in SPOILINGS if kind not in out)
