"""Labs of twenty trials with everything that real ones have, one of them spoiled in a known way.

A good trial has friction, tilt, hidden mass, a bearing, scales and a zero of the sensors that no
one wrote down. A spoiling is larger than anything a person would let pass: its size stands beside
it.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from math import radians
from typing import Any

import numpy as np

from fallwork.measurement.model import Estimate, Record
from fallwork.measurement.prediction import quantities_of, view_of, with_values
from fallwork.measurement.settings import Settings
from fallwork.measurement.simulate import Behaviour, SimulatedTrial, simulate
from fallwork.mechanics import apparatus_of, solve
from fallwork.pages.worked import settings_of
from fallwork.scenario import Measured, Scenario, Slider

GRAVITY = Estimate(value=9.81, u=0.0005)
TRIALS = 20
WHOLE = ("position", "velocity", "force")
LAYOUTS = (
    ("position",),
    ("velocity",),
    WHOLE[:2],
    ("position", "force"),
    WHOLE[1:],
    WHOLE,
    WHOLE[2:],
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
    seed = int(random.integers(1 << 30))
    made = simulate(real, GRAVITY, trials=TRIALS, seed=seed, behaviour=ways)
    at = int(random.integers(TRIALS))
    settings = settings_of(scenario, GRAVITY, Measured())
    kinds = knowable(layout, ends=not settings.turns and settings.covered is None)
    how = kinds[random.integers(len(kinds))]
    case = Case(real=real, trial=made[at], layout=layout, ways=ways, random=random)
    records = [shown(trial.record, layout) for trial in made]
    name = records[at].name
    records[at] = replace(SPOILINGS[how](case), name=name)
    if layout == ("force",):
        windows = {t.record.name: (t.truth.release, t.truth.driven_ends) for t in made}
        settings = replace(settings, windows=windows)
    return Spoiled(records=tuple(records), settings=settings, spoiled=name, how=how, layout=layout)


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
    hidden = {"position", "velocity", "force"} - {*layout}
    return replace(record, **dict.fromkeys(hidden))


# ---- spoilings


@dataclass(frozen=True, kw_only=True)
class Case:
    """A set-up as it is in the room, a good trial of it, and how that is recorded."""

    real: Scenario
    trial: SimulatedTrial
    layout: tuple[str, ...]
    ways: Behaviour
    random: Random

    @property
    def shown(self) -> Record:
        """The trial's record as recorded."""
        return shown(self.trial.record, self.layout)

    def one_of(self, *choices: Any) -> Any:
        """Any of these."""
        return choices[self.random.integers(len(choices))]

    def again(self, values: Mapping[str, float]) -> Record:
        """A trial with other true values."""
        seed = int(self.random.integers(1 << 30))
        real = with_values(self.real, values)
        other = simulate(real, GRAVITY, trials=1, seed=seed, behaviour=self.ways)[0]
        return shown(other.record, self.layout)


def unit(case: Case) -> Record:
    """One column in cm, mm, cm/s, mm/s, g or mN, or the time in ms: a factor of 100 at least."""
    record = case.shown
    channel = case.one_of("time", *case.layout)
    if channel == "time" and case.layout != ("force",):
        return replace(record, time=1000 * record.time)
    channel = case.layout[0] if channel == "time" else channel
    factor = case.one_of(*UNITS[channel])
    return replace(record, **{channel: factor * getattr(record, channel)})


def distance(case: Case) -> Record:
    """A run over 0.7 or 1.25 times the distance."""
    given = case.real.run.distance
    assert given is not None
    factor = case.random.choice([0.7, 1.25])
    return case.again({"run.distance": factor * given.value})


def masses(case: Case) -> Record:
    """Another mass on the string's other end or at the watched object, so that acceleration or
    tension, whichever is recorded, is 1.4 times as large or as small; a force alone, whose zero
    isn't known, differs by 0.5 N too.
    """
    alone, given = case.layout == ("force",), dict(quantities_of(case.real))
    name = "mean_tension" if alone else "acceleration"

    def value(masses: Mapping[str, float]) -> float:
        solution = solve(apparatus_of(with_values(case.real, masses), GRAVITY.value))
        found = view_of(case.real).measurands(solution) if solution.moves else {}
        return found.get(name, 0.0)

    usual, choices = value({}), []
    for path in (each for each in given if each.endswith(".mass")):
        for factor in (0.3, 0.4, 0.5, 0.6, 1.6, 2.0, 2.5, 3.0):
            other = {path: factor * given[path].value}
            ratio = value(other) / usual
            another = 1.4 < max(ratio, 1 / ratio) < 3 if ratio > 0 else False
            if another and (not alone or abs(ratio - 1) * abs(usual) > 0.5):
                choices.append(other)
    return case.again(case.one_of(*choices)) if choices else unit(case)


def swapped(case: Case) -> Record:
    """Two columns under each other's headings."""
    record = case.shown
    one, other = case.random.permutation(len(case.layout))[:2]
    pair = {case.layout[one]: case.layout[other], case.layout[other]: case.layout[one]}
    return replace(record, **{to: getattr(record, of) for to, of in pair.items()})


def sign(case: Case) -> Record:
    """One column with the other sign."""
    record = case.shown
    channel = case.one_of(*case.layout)
    return replace(record, **{channel: -getattr(record, channel)})


def cut(case: Case) -> Record:
    """Without the first or the last 40 % of the distance."""
    record, truth = case.shown, case.trial.truth
    share = (record.time - truth.release) / (truth.driven_ends - truth.release)
    kept = share < 0.75 if case.random.random() < 0.5 else share > 0.65
    columns = {name: getattr(record, name) for name in ("time", *case.layout)}
    return replace(record, **{name: values[kept] for name, values in columns.items()})


KINDS: tuple[Callable[[Case], Record], ...] = (unit, distance, masses, swapped, sign, cut)
SPOILINGS = {spoiled.__name__: spoiled for spoiled in KINDS}


def knowable(layout: tuple[str, ...], *, ends: bool) -> tuple[str, ...]:
    """The spoilings that show in a layout: a force alone knows no distance and no second column.
    Nor does a record in which nothing ``ends`` the driven part, or whose run turns round.
    """
    if layout == ("force",):
        return ("unit", "masses", "sign")
    out = set() if ends else {"distance"}
    out |= {"swapped"} if len(layout) == 1 else set()
    return tuple(kind for kind in SPOILINGS if kind not in out)
