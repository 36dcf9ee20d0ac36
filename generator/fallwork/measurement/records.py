"""Reads the records of sensors from CSV files in all their forms.

Takes paths; gives records in SI units, trial by trial in the order of time, with a note on
everything that was assumed, missing, repeated or doubtful. Raises BadInput with every problem of
the files at once. Signs, zero offsets and the run itself are left to the analysis.
"""

import re
from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from pathlib import Path

import numpy as np

from fallwork.errors import BadInput, Place, Problem
from fallwork.measurement.model import Array, Record
from fallwork.measurement.records_columns import Layout, layout_of
from fallwork.measurement.records_text import RecordTable, Row, is_number, numbers, table_of
from fallwork.measurement.saying import say
from fallwork.scenario.report import Report, counted, listed, refusal, shown
from fallwork.scenario.trials import MOST_TRIALS

SIMULATION = "simulation"  # one of the words for whose trials they are
# A comment or a source with this word, not denied, marks what it is about.
_SIMULATED = re.compile(r"(?<!not )(?<!n't )(?<!no )(?<!never )\bsimulated\b", re.I)
_CLOCK = re.compile(r"[0-9]*:[0-9.:]+$")
LARGEST = 1e20  # in the units of the file, of what may be a reading
MOST_PROBLEMS = 20  # of one file: a file that is no record at all has one in every line
GAP = 3.5  # intervals: a pause longer than this is a gap
UNEVEN = 0.1  # relative: intervals that differ by more are uneven
SLOWEST = 0.5  # s between samples, beyond which the unit is in doubt
LIMITS = (("velocity", 20.0, "m/s"), ("force", 100.0, "N"))  # likewise


def read_all(paths: Iterable[Path]) -> tuple[Record, ...]:
    """The records of several files, each with a name that no other has; raises BadInput. A file of
    one record gives it its name; trials of a file are named ``trial 3``, with as much of the file's
    name before it as it takes where two files have the same trials.
    """
    report, found = Report(), list[tuple[Path, Record]]()
    for path in paths:
        try:
            found += [(path, record) for record in _records_of(table_of(path))]
        except BadInput as error:
            report += sorted(error.problems, key=lambda problem: problem.place)
    report.raise_if_any()
    labels = [r.name and f"{'trial ' * r.name[0].isdigit()}{r.name}" for _, r in found]
    named = [label or path.stem for label, (path, _) in zip(labels, found, strict=True)]
    for prefix in ("{0.stem}", "{0.parent.name}/{0.stem}", "{0}"):
        names = Counter(named)
        named = [
            name if names[name] == 1 else f"{prefix.format(path)} {label}".strip()
            for name, label, (path, _) in zip(named, labels, found, strict=True)
        ]
    return tuple(replace(record, name=name) for name, (_, record) in zip(named, found, strict=True))


def of_one_kind(
    records: Sequence[Record], whose: str = "", places: Mapping[str, Place] | None = None
) -> Sequence[Record]:
    """The records, all measured or all simulated, as ``whose`` has it; raises BadInput otherwise.
    ``places`` are those of the lab in its term file.
    """
    made, real = ([r for r in records if r.simulated is simulated] for simulated in (True, False))
    wrong, others = sorted((made, real), key=len)
    at, than = None, "others"
    if not wrong and others and whose and bool(made) != (whose == SIMULATION):
        wrong, at, than = others[:1], (places or {}).get("measured.whose"), "said"
    problems = []
    for record in wrong:
        said = record.said or record.place or Place(file=record.source)
        name = f"{record.name} ({said})" if at else record.name
        kind = "simulated" if record.simulated else "measured"
        words = refusal(f"{kind}-than-{than}", name=name, other=others[0].name, whose=whose)
        problems.append(Problem(at or said, *words))
    if problems:
        raise BadInput(tuple(problems))
    return records


def _records_of(table: RecordTable) -> tuple[Record, ...]:
    """Every trial in the order of the file, without empty rows; raises BadInput."""
    layout = layout_of(table)
    rows, names = _rows_and_trials(table, layout)
    of_trial = dict[str, list[int]]()  # which rows
    for at, name in enumerate(names):
        of_trial.setdefault(name, []).append(at)
    if (count := len(of_trial) * len(layout.trials)) > MOST_TRIALS:
        table.refuse("many-trials", rows[0], count=count, most=MOST_TRIALS)
    table.report.raise_if_any()
    factors = {each.at: each.factor for own in layout.trials.values() for each in own}
    cells = {at: [row.cell(at) for row in rows] for at in sorted(factors)}
    comma, found = _by_comma(cells, rows, table), list[Record]()
    columns = {at: factors[at] * _values(at, cells[at], rows, comma, table) for at in cells}
    table.report.raise_if_any()
    for name, its_rows in of_trial.items():
        said = _said([rows[at] for at in its_rows], layout, table)
        for trial, own in layout.trials.items():
            known = np.any([np.isfinite(columns[each.at][its_rows]) for each in own], axis=0)
            if len(kept := np.array(its_rows)[known]):
                data = {each.role or "": columns[each.at][kept] for each in own}
                place = table.place(rows[int(kept[0])], own[0].at)
                if _in_time(data["time"], [rows[int(at)] for at in kept], place, table):
                    found.append(_record(f"{name} {trial}".strip(), data, place, said, table))
    table.report.raise_if_any()
    return tuple(found)


def _rows_and_trials(table: RecordTable, layout: Layout) -> tuple[Sequence[Row], Sequence[str]]:
    """Rows of numbers and the trial of each: from its column, or by headings that come again.
    Raises BadInput for rows with more values than headings; notes rows that end early.
    """
    rows, at, width = layout.rows, layout.trial_column, len(layout.heading.cells)
    wide = [row for row in rows if len(row.cells) > width and any(row.cells[width:])]
    for row in wide[:MOST_PROBLEMS]:
        reason = f"too-many-values{'-by-commas' * (table.separator == ',')}"
        table.refuse(reason, row, width, count=len(row.cells), width=width)
    table.report.raise_if_any()
    needed = 1 + max(column.at for own in layout.trials.values() for column in own)
    if short := [row.line for row in rows if len(row.cells) < needed]:
        table.note("too-short", lines=counted(len(short), "line"), first=short[0])
    if at is not None:
        for row in rows:
            if not row.cell(at):
                table.refuse("trial-unnamed", row, at)
        return rows, [row.cell(at) for row in rows]
    again = np.array([row.cells == layout.heading.cells for row in rows])
    kept = [row for row, heads in zip(rows, again, strict=True) if not heads]
    parts, number = np.unique(np.cumsum(again)[~again], return_inverse=True)
    if len(parts) == 1:
        return kept, [""] * len(kept)
    table.note("headings-again")
    return kept, [str(each + 1) for each in number]


def _by_comma(cells: Mapping[int, Sequence[str]], rows: Sequence[Row], table: RecordTable) -> bool:
    """Whether decimals stand after a comma; reports files that mix both signs."""

    def numbers_with(sign: str) -> list[tuple[int, int]]:
        """Row and column of each."""
        there = {column: texts for column, texts in cells.items() if sign in "".join(texts)}
        told = ((at, c, text) for c, texts in there.items() for at, text in enumerate(texts))
        return [(at, column) for at, column, text in told if sign in text and is_number(text)]

    commas = numbers_with(",")
    points = numbers_with(".") if commas else []
    if not points:
        if commas:
            table.note("decimal-commas")
        return bool(commas)
    few, other = (commas, "point") if len(commas) <= len(points) else (points, "comma")
    at, column = min(few)
    table.refuse("decimal-signs", rows[at], column, number=shown(cells[column][at]), other=other)
    return other == "comma"


def _values(
    column: int, cells: Sequence[str], rows: Sequence[Row], comma: bool, table: RecordTable
) -> Array:
    """The column in its own units; reports cells that are no numbers. Sizes that nobody measures
    become infinite, or nothing, so that no sum or square is beyond floats.
    """
    values, wrong = numbers(cells, comma=comma)
    for at in wrong[: MOST_PROBLEMS - len(table.report)]:
        cell = cells[at]
        of = "-of-thousands" if {".", ","} <= {*cell} else "-of-clocks" * bool(_CLOCK.match(cell))
        table.refuse(f"no-reading{of}", rows[at], column, text=shown(cell))
    size = np.abs(values)
    values[size > LARGEST] = np.copysign(np.inf, values[size > LARGEST])
    values[size < 1 / LARGEST] = 0.0
    return values


def _said(rows: Sequence[Row], layout: Layout, table: RecordTable) -> Place | None:
    """Where file or rows of a trial say that it is simulated; reports rows that say otherwise."""
    told: dict[bool, Place] = {}
    for at in layout.source_columns:
        for row in rows:
            simulated = bool(_SIMULATED.search(row.cell(at)))
            if at < len(row.cells) and simulated not in told:
                told[simulated] = table.place(row, at)
    if len(told) > 1:
        table.report.refuse(max(told.values()), "simulated-rows")
    lines = [line for line, comment in table.comments if _SIMULATED.search(comment)]
    return Place(file=table.file, line=lines[0], column=1) if lines else told.get(True)


def _in_time(time: Array, rows: Sequence[Row], place: Place, table: RecordTable) -> bool:
    """Whether times can be put in order; beginning anew means a trial that nothing names."""
    known = np.flatnonzero(np.isfinite(time))
    time = time[known]
    if not len(known) or np.ptp(time) == 0:
        table.report.refuse(place, "one-time" if len(known) else "never-timed")
        return False
    highest = np.maximum.accumulate(time)[:-1]
    anew = (np.diff(time) < 0) & (highest - time[1:] > 0.5 * (highest - time.min()))
    if anew.any():
        at = int(np.argmax(anew))
        table.refuse("time-anew", rows[known[at + 1]], begin=time[at], end=time[at + 1])
    return not anew.any()


def _record(
    trial: str, data: Mapping[str, Array], place: Place, said: Place | None, table: RecordTable
) -> Record:
    """A trial in the order of time, repeated times averaged; ``said``: where it is simulated."""
    timed = np.isfinite(data["time"])
    given = data["time"][timed]
    time, at = np.unique(given, return_inverse=True)
    every, infinite = dict[str, Array](), 0
    for role, each in ((role, each[timed]) for role, each in data.items() if role != "time"):
        there, infinite = np.isfinite(each), infinite + int(np.isinf(each).sum())
        sums, number = (np.bincount(at, what) for what in (np.where(there, each, 0.0), there))
        every[role] = np.where(number > 0, sums / np.maximum(number, 1.0), np.nan)
    back, repeated = int(np.sum(np.diff(given) < 0)), len(given) - len(time)
    empty = [role for role, each in every.items() if not np.isfinite(each).any()]
    untimed = int(np.sum(~timed))
    notes = {
        say("said-simulated"): said,
        **dict.fromkeys(table.notes, True),
        say("without-time", lines=counted(untimed, "line")): untimed,
        say("infinite", count=infinite): infinite,
        say("time-goes-back", places=counted(back, "place")): back,
        say("time-repeats", lines=counted(repeated, "line")): repeated,
        say("no-values", roles=listed(empty)): empty,
    }
    columns = {role: each for role, each in every.items() if role not in empty}
    return Record(
        name=trial,
        time=time,
        position=columns.get("position"),
        velocity=columns.get("velocity"),
        force=columns.get("force"),
        notes=(*(note for note, holds in notes.items() if holds), *_doubts(time, columns)),
        source=f"{table.file}, trial {trial}" if trial else table.file,
        simulated=said is not None,
        said=said,
        place=place,
    )


def _doubts(time: Array, columns: Mapping[str, Array]) -> Iterator[str]:
    """What is missing, how the samples are spaced, and which sizes suggest a wrong unit."""
    for role, values in columns.items():
        there = np.flatnonzero(np.isfinite(values))
        steps = np.diff(there)
        every = int(np.median(steps)) if len(steps) else 0
        if every > 1 and np.mean(steps == every) > 0.9:
            yield say("slower-sensor", role=role, every=every)
        elif len(there) < len(values):
            yield say("missing", count=len(values) - len(there), all=len(values), role=role)
    for role in [each for each in ("velocity", "position", "force") if each in columns][:1]:
        known = time[np.isfinite(columns[role])]
        steps = np.diff(known) if len(known) > 3 else np.ones(1)
        gaps = np.flatnonzero(steps > GAP * np.median(steps))
        if len(gaps):
            at = gaps[np.argmax(steps[gaps])]
            several = counted(len(gaps), "gap")
            yield say("gaps", gaps=several, role=role, begin=known[at], end=known[at + 1])
        low, high = np.quantile(steps, [0.05, 0.95])
        if high - low > UNEVEN * np.median(steps) and not len(gaps) > 0.05 * len(steps):
            yield say("uneven", low=low * 1e3, high=high * 1e3)
    step = float(np.median(np.diff(time)))
    if step > SLOWEST:
        yield say("slow", step=step)
    for role, limit, unit in LIMITS:
        size = np.nanquantile(np.abs(columns[role]), 0.95) if role in columns else 0.0
        if size > limit:
            yield say("immense", role=role, size=size, unit=unit)
