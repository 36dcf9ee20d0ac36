"""What the trials of a term file must be like together, and which files they lie in.

Takes a draft and the folder in which records lie; gives Measured. Its layout stands in
``measured``; the records themselves are read by the measurement stage.
"""

import hashlib
import re
from collections.abc import Mapping, Sequence
from pathlib import Path

from fallwork.scenario.measured import MISSING, VALUE_KINDS, MeasuredDraft
from fallwork.scenario.model import GivenMean, Measured, Quantity, SensorsGiven
from fallwork.scenario.report import closest, listed, shown
from fallwork.scenario.shapes import Reading
from fallwork.scenario.tree import Keys

MOST_FILES = 200
SOURCES = ("files", *VALUE_KINDS)
ALL = "all"  # stands for every trial


def measured_of(
    draft: MeasuredDraft | None, path: Keys, trials: Path, reading: Reading
) -> Measured | None:
    """The trials that a draft at ``path`` stands for; records lie in the folder ``trials``."""
    if draft is None:
        return None
    _check_one_source(draft, path, reading)
    _check_trials(draft, path, reading)
    _check_both(draft, path, reading)
    _check_windows(draft, path, reading)
    files = _files(draft.files, (*path, "files"), trials, reading) if draft.files else ()
    return Measured(
        pattern=draft.files,
        files=files,
        digests={str(file.relative_to(trials)): _digest(file) for file in files},
        values=draft.values,
        signs=draft.signs,
        windows=tuple(window for window in draft.windows if window),
        excluded=tuple(excluded for excluded in draft.exclude if excluded),
        included=tuple(included for included in draft.include if included),
        sensors=draft.sensors or SensorsGiven(),
        whose=draft.whose,
        zero=draft.zero,
    )


def _check_one_source(draft: MeasuredDraft, path: Keys, reading: Reading) -> None:
    typed = [key for key in VALUE_KINDS if (*path, key) in reading.values]
    if draft.files and typed:
        reading.report.impossible(
            reading.keys[(*path, typed[0])],
            f"{typed[0]} beside files",
            "give the records or the values, not both: values are computed from records",
        )
    misspelt = any(closest(each[-1], SOURCES) for each in reading.strangers if each[:-1] == path)
    if not typed and (*path, "files") not in reading.values and not misspelt:
        reading.report.malformed(
            reading.keys.get(path, reading.values[path]),
            "trials without files and without values",
            f"add files, or {listed(VALUE_KINDS, 'or')}",
        )
    if not typed or draft.files:
        return
    for key in ("signs", "windows", "zero"):
        if (*path, key) in reading.values:
            reading.report.impossible(
                reading.keys[(*path, key)],
                f"{key} beside values that were typed in",
                f"take out {key}: only records can use it",
            )


def _check_trials(draft: MeasuredDraft, path: Keys, reading: Reading) -> None:
    """Lists of one length, and excluded or included trials that are in them."""
    lists = {key: given for key, given in draft.values.items() if isinstance(given, tuple)}
    lengths = {key: len(given) for key, given in lists.items()}
    first = next(iter(lengths.items()), None)
    for key, length in lengths.items():
        if first is not None and length != first[1]:
            reading.report.impossible(
                reading.values[(*path, key)],
                f"{length} values for {key}, but {first[1]} for {first[0]}",
                f"one entry a trial; write {MISSING} where a trial has no such value",
            )
    _check_what_counts(draft, lists, path, reading)
    if draft.files or not draft.values:
        return
    numbers = [str(number) for number in range(1, (first[1] if first else 0) + 1)]
    means = [key for key, given in draft.values.items() if isinstance(given, GivenMean)]
    for key, entries, words in (("exclude", draft.exclude, []), ("include", draft.include, [ALL])):
        for index, entry in enumerate(entries):
            if entry and entry.trial not in (*numbers, *means, *words):
                reading.report.malformed(
                    reading.values[(*path, key, str(index), "trial")],
                    f"unknown trial {shown(entry.trial)}",
                    _names(numbers, means),
                )


def _names(numbers: Sequence[str], means: Sequence[str]) -> str:
    """By what the trials and means that were typed in are excluded or included."""
    trials = f"trials have the numbers 1 to {len(numbers)}" if numbers else ""
    whole = f"a mean has its key for a name: {listed(means, 'or')}" if means else ""
    return ", and ".join(each for each in (trials, whole) if each)


def _check_both(draft: MeasuredDraft, path: Keys, reading: Reading) -> None:
    """No trial counts and doesn't."""
    excluded = [each.trial for each in draft.exclude if each]
    for index, entry in enumerate(draft.include):
        if entry and entry.trial in excluded:
            reading.report.impossible(
                reading.values[(*path, "include", str(index), "trial")],
                f"trial {shown(entry.trial)} both excluded and included",
                "take out one of the two",
            )


def _check_what_counts(
    draft: MeasuredDraft,
    lists: Mapping[str, tuple[Quantity | None, ...]],
    path: Keys,
    reading: Reading,
) -> None:
    """A list holds at least one value that counts."""
    excluded = {each.trial for each in draft.exclude if each}
    for key, given in lists.items():
        if any(each[:-1] == (*path, key) for each in reading.unread):
            continue
        left = [q for at, q in enumerate(given, start=1) if q and str(at) not in excluded]
        if not left:
            reading.report.impossible(
                reading.values[(*path, key)],
                f"no value of {key} that counts",
                f"give one at least, or take out {key}",
            )


def _check_windows(draft: MeasuredDraft, path: Keys, reading: Reading) -> None:
    for index, window in enumerate(draft.windows):
        if window and window.end.value <= window.start.value:
            reading.report.impossible(
                reading.values[(*path, "windows", str(index), "to")],
                f"a window that ends at {window.end.number} {window.end.unit}, "
                f"not after {window.start.number} {window.start.unit}",
                "to must be later than from",
            )


_PATTERN = re.compile(r"(?:[\w.\-*?\[\] ]+/)*[\w.\-*?\[\] ]+")


def _files(pattern: str, path: Keys, trials: Path, reading: Reading) -> tuple[Path, ...]:
    """The files that a pattern names, by name; none where it is refused."""
    place = reading.values[path]
    parts = pattern.split("/")
    if ".." in parts or not _PATTERN.fullmatch(pattern):
        reading.report.malformed(
            place,
            f"the pattern {shown(pattern)}",
            "write a path from the folder trials on, with / between folders and without .., "
            "e.g. 2027-spring/level-track/*.csv",
        )
        return ()
    found = sorted(file for file in trials.glob(pattern) if file.is_file())
    if not found:
        reading.report.malformed(
            place, f"no file {shown(pattern)} in {trials}", _what_is_there(trials, parts[:-1])
        )
    elif len(found) > MOST_FILES:
        reading.report.malformed(
            place, f"{len(found)} files for {shown(pattern)}", f"name at most {MOST_FILES}"
        )
    for file in found:
        if not file.resolve().is_relative_to(trials.resolve()):
            reading.report.malformed(
                place, f"{file} leads out of the folder {trials}", "put the file itself there"
            )
    return tuple(found)


def _digest(file: Path) -> str:
    with file.open("rb") as content:
        return hashlib.file_digest(content, "sha256").hexdigest()


def _what_is_there(trials: Path, folders: list[str]) -> str:
    """Where the way to the files ends, for a pattern that finds none."""
    here = trials
    for folder in folders:
        if not (here / folder).is_dir() and "*" not in folder:
            break
        here = here / folder
    if not here.is_dir():
        return f"there is no folder {here}"
    names = sorted(below.name for below in here.iterdir())
    return f"{here} holds {', '.join(names[:8]) or 'nothing'}{', …' if len(names) > 8 else ''}"
