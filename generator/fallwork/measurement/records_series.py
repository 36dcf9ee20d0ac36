"""Puts the numbers of one trial in the order of time.

Takes the numbers as they stand in the file; gives series with increasing time, and notes on what
is missing, repeated, out of order or doubtful. Reports times that begin anew.
"""

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np

from fallwork.errors import Place
from fallwork.measurement.model import Array
from fallwork.measurement.records_rows import Block
from fallwork.scenario.report import Report, listed

GAP = 3.5  # intervals: a pause longer than this is a gap
UNEVEN = 0.1  # relative: intervals that differ by more are uneven
SLOW, FAST = 0.5, 20.0  # s between samples, m/s: beyond these the unit is in doubt
STRONG = 100.0  # N


@dataclass(frozen=True, kw_only=True)
class Series:
    """Columns over increasing time."""

    time: Array  # s
    columns: Mapping[str, Array]  # role → SI values, NaN where missing
    notes: tuple[str, ...]


def series_of(block: Block, report: Report) -> Series | None:
    """The series of a trial; None after reporting times that can't be put in order."""
    block, notes = _finite(block)
    time = block.values["time"]
    if len(time) == 0:
        report.malformed(block.first, "no line has a time", "give each sample its time")
        return None
    if _report_restart(block, report):
        return None
    order = np.argsort(time, kind="stable")
    back = int(np.sum(np.diff(time) < 0))
    if back:
        notes.append(f"time goes back at {_times(back, 'place')}: samples put in order")
    columns = {role: each[order] for role, each in block.values.items() if role != "time"}
    time, columns, note = _merged(time[order], columns)
    notes += note
    if len(time) < 2:
        report.malformed(block.first, "no two samples have different times", "give each its own")
        return None
    said = {role: each for role, each in columns.items() if np.isfinite(each).any()}
    empty = [role for role in columns if role not in said]
    if empty:
        notes.append(f"no value of {listed(empty)}")
    for role, each in said.items():
        notes += _missing(role, each)
    return Series(
        time=time, columns=said, notes=(*notes, *_spacing(time, said), *_doubts(time, said))
    )


def _finite(block: Block) -> tuple[Block, list[str]]:
    """Without lines that have no time, and with NaN in place of infinite readings."""
    notes = []
    timed = np.isfinite(block.values["time"])
    if not timed.all():
        notes.append(f"{_lines(int(np.sum(~timed)))} without a time passed over")
    values = {role: each[timed] for role, each in block.values.items()}
    beyond = {role: np.isinf(each) for role, each in values.items()}
    number = sum(int(each.sum()) for each in beyond.values())
    if number:
        notes.append(f"{number} infinite or immense values taken as missing")
    lines = tuple(line for line, kept in zip(block.lines, timed, strict=True) if kept)
    clean = {role: np.where(beyond[role], np.nan, each) for role, each in values.items()}
    return replace(block, values=clean, lines=lines), notes


def _report_restart(block: Block, report: Report) -> bool:
    """Whether time begins anew, which means a further trial that nothing names."""
    time = block.values["time"]
    highest = np.maximum.accumulate(time)
    falls = np.flatnonzero(np.diff(time) < 0)
    for at in falls:
        if highest[at] - time[at + 1] > 0.5 * (highest[at] - time.min()):
            place = Place(file=block.first.file, line=block.lines[at + 1], column=1)
            report.malformed(
                place,
                f"time goes back from {time[at]:g} s to {time[at + 1]:g} s",
                "give each trial a file of its own, or a column that names the trial",
            )
            return True
    return False


def _merged(time: Array, columns: dict[str, Array]) -> tuple[Array, dict[str, Array], list[str]]:
    """Samples of one and the same time become one, with the mean of their values."""
    first = np.flatnonzero(np.diff(time, prepend=-np.inf) > 0)
    repeated = len(time) - len(first)
    if not repeated:
        return time, columns, []
    merged = {}
    for role, each in columns.items():
        there = np.isfinite(each)
        total = np.add.reduceat(np.where(there, each, 0.0), first)
        number = np.add.reduceat(there.astype(float), first)
        merged[role] = np.where(number > 0, total / np.maximum(number, 1.0), np.nan)
    return time[first], merged, [f"{_lines(repeated)} repeat a time: their values averaged"]


def _missing(role: str, values: Array) -> list[str]:
    there = np.flatnonzero(np.isfinite(values))
    if len(there) == len(values):
        return []
    steps = np.diff(there)
    every = int(np.median(steps)) if len(steps) else 0
    if every > 1 and np.mean(steps == every) > 0.9:
        return [f"{role} at one in {every} of the times: a slower sensor"]
    return [f"{len(values) - len(there)} of {len(values)} values of {role} missing"]


def _spacing(time: Array, columns: Mapping[str, Array]) -> list[str]:
    """Notes on gaps and uneven steps in the times at which motion, or else force, is known."""
    role = next((r for r in ("velocity", "position", "force") if r in columns), None)
    if role is None:
        return []
    known = time[np.isfinite(columns[role])]
    steps = np.diff(known)
    if len(steps) < 3:
        return []
    usual = float(np.median(steps))
    gaps = np.flatnonzero(steps > GAP * usual)
    notes = []
    if len(gaps):
        longest = gaps[np.argmax(steps[gaps])]
        notes.append(
            f"{_times(len(gaps), 'gap')} in {role}, the longest from "
            f"{known[longest]:.3f} s to {known[longest + 1]:.3f} s"
        )
    low, high = np.quantile(steps, [0.05, 0.95])
    if high - low > UNEVEN * usual and not len(gaps) > 0.05 * len(steps):
        notes.append(f"uneven sampling: steps from {low * 1e3:.3g} ms to {high * 1e3:.3g} ms")
    return notes


def _doubts(time: Array, columns: Mapping[str, Array]) -> list[str]:
    """Notes on values of a size that suggests a wrong unit."""
    notes = []
    step = float(np.median(np.diff(time)))
    if step > SLOW:
        notes.append(f"one sample in {step:g} s: is the unit of the time right?")
    for role, limit, unit in (("velocity", FAST, "m/s"), ("force", STRONG, "N")):
        if role in columns:
            size = float(np.nanquantile(np.abs(columns[role]), 0.95))
            if size > limit:
                notes.append(f"{role} up to {size:.3g} {unit}: is its unit right?")
    return notes


def _times(number: int, word: str = "time") -> str:
    return f"{number} {word}" if number == 1 else f"{number} {word}s"


def _lines(number: int) -> str:
    return "1 line" if number == 1 else f"{number} lines"
