"""Simulated trials: records as sensors would write them if the model were true.

Takes what was typed; gives CSV text, or writes it into a new file or new files in a folder. Every
text says first of all that it is simulated, and with which seed.
"""

from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

from fallwork.commands.output import counted
from fallwork.commands.sources import key_source
from fallwork.commands.typed import CallError
from fallwork.measurement.model import Estimate
from fallwork.measurement.simulate import Behaviour, SimulatedTrial, csv_of, simulate
from fallwork.mechanics import apparatus_of, solve


def simulated_trials(
    scenario: str,
    *,
    term: str | None,
    numbers: Sequence[str],
    trials: int,
    seed: int,
    rate: float | None,
    to: Path | None,
) -> list[str]:
    """The CSV text, or where it was written: one file for a name in .csv, else one a trial."""
    what, calculation = key_source(scenario, term=term, numbers=numbers)
    if not solve(apparatus_of(what, calculation.gravity)).moves:
        raise CallError("nothing-moves", scenario=what.id)
    behaviour = Behaviour()
    if rate is not None:
        behaviour = replace(behaviour, position_rate=rate, force_rate=rate)
    gravity = Estimate(value=calculation.gravity, u=0.0)
    found = simulate(what, gravity, trials=trials, seed=seed, behaviour=behaviour)
    if to is None:
        return [csv_of(found, seed=seed).rstrip("\n")]
    return [_written(found, seed, to)]


def _written(found: Sequence[SimulatedTrial], seed: int, to: Path) -> str:
    if to.suffix not in ("", ".csv") and not to.is_dir():
        file, folder = to.with_suffix(".csv"), to.with_suffix("")
        raise CallError("file-name", path=to, file=file, folder=folder)
    if to.suffix == ".csv":
        texts = {to: csv_of(found, seed=seed)}
    else:
        texts = {to / f"{trial.record.name}.csv": csv_of([trial], seed=seed) for trial in found}
    for path in texts:
        if path.exists():
            raise CallError("file-there", path=path)
    for path, text in texts.items():
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text, encoding="utf-8", newline="\n")
    trials, files = counted(len(found), "simulated trial"), counted(len(texts), "file")
    return f"{to}: {trials} in {files}, seed {seed}"
