"""Simulated trials: records as sensors would write them if the model were true.

Takes what was typed; gives CSV text, or writes it into a new file or new files in a folder. Every
text says first of all that it is simulated, and with which seed.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from fallwork.commands.sources import key_source
from fallwork.errors import FallworkError
from fallwork.measurement import Behaviour, Estimate, SimulatedTrial, csv_of, simulate
from fallwork.mechanics import apparatus_of, solve


@dataclass(eq=False)
class FileThereError(FallworkError):
    """A file that a simulation would write over."""

    path: Path

    def __str__(self) -> str:
        return f"{self.path} is there already; take it away, or name another place with --to"


@dataclass(eq=False)
class FileNameError(FallworkError):
    """A name that is neither that of a CSV file nor plainly that of a folder."""

    path: Path

    def __str__(self) -> str:
        file, folder = self.path.with_suffix(".csv"), self.path.with_suffix("")
        return (
            f"{self.path} ends in {self.path.suffix}; write {file} for one file, or {folder} for a "
            "folder of files"
        )


@dataclass(eq=False)
class NothingMovesError(FallworkError):
    """A scenario that has no run to simulate."""

    scenario: str

    def __str__(self) -> str:
        return (
            f"nothing moves in {self.scenario}, so there are no trials to simulate; choose other "
            "numbers, e.g. --set weight.mass=120g"
        )


def simulated_trials(
    typed: str,
    *,
    term: str | None,
    numbers: Sequence[str],
    trials: int,
    seed: int,
    rate: float | None,
    target: Path | None,
) -> str:
    """The CSV text, or where it was written: one file for a name in .csv, else one a trial."""
    scenario, calculation = key_source(typed, term=term, numbers=numbers)
    if not solve(apparatus_of(scenario, calculation.gravity)).moves:
        raise NothingMovesError(scenario.id)
    behaviour = Behaviour()
    if rate is not None:
        behaviour = replace(behaviour, position_rate=rate, force_rate=rate)
    found = simulate(
        scenario,
        Estimate(value=calculation.gravity, u=0.0),
        trials=trials,
        seed=seed,
        behaviour=behaviour,
    )
    if target is None:
        return csv_of(found, seed=seed).rstrip("\n")
    return _written(found, seed, target)


def _written(found: Sequence[SimulatedTrial], seed: int, target: Path) -> str:
    if target.suffix not in ("", ".csv") and not target.is_dir():
        raise FileNameError(target)
    if target.suffix == ".csv":
        texts = {target: csv_of(found, seed=seed)}
    else:
        texts = {target / f"{trial.record.name}.csv": csv_of([trial], seed=seed) for trial in found}
    for path in texts:
        if path.exists():
            raise FileThereError(path)
    for path, text in texts.items():
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text, encoding="utf-8", newline="\n")
    many = "1 file" if len(texts) == 1 else f"{len(texts)} files"
    trials = "1 simulated trial" if len(found) == 1 else f"{len(found)} simulated trials"
    return f"{target}: {trials} in {many}, seed {seed}"
