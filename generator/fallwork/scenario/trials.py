"""The trials of a lab as a term file gives them: records in files, or typed-in values.

The records themselves are read by the measurement stage.
"""

import hashlib
import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Annotated, Any, Literal, get_args

from fallwork.scenario.quantity import Given, Quantity
from fallwork.scenario.records import Items, Key, Record
from fallwork.scenario.report import Words, closest, holding, listed, refusal, shown
from fallwork.scenario.shapes import Choice, Count, Measure, OrWord, Reading, Shape, Text
from fallwork.scenario.tree import Keys, Listing, Node, Scalar
from fallwork.scenario.tree import Mapping as MappingNode

VALUE_KINDS: Mapping[str, str] = {
    "acceleration": "acceleration",
    "tension": "force",
    "final_speed": "speed",
}
MISSING = "none"  # stands for the value of a trial that has none
ALL = "all"  # stands for every trial
MOST_TRIALS = 1000
MOST_FILES = 200


_OF_ITS_KIND = Measure("acceleration")  # stands for the kind of what was measured


@dataclass(frozen=True, kw_only=True)
class GivenMean:
    """A mean over trials that aren't to hand, with what is known of its uncertainty.

    Without ± and without a standard deviation nothing is: its ``u`` of 0 means that none was given.
    """

    value: Annotated[Quantity, _OF_ITS_KIND]  # a ± is the standard uncertainty of the mean
    n: Annotated[int | None, Count("the number of trials", 1, MOST_TRIALS)] = None
    deviation: Annotated[Given, Key(_OF_ITS_KIND, key="standard_deviation")] = None


class _Values(Shape):
    """A list with one entry a trial; or a mean, ``1.497 m/s²`` alone or in a mapping with ``n`` and
    ``standard_deviation``, or with a ± of its own, as far as they are known.
    """

    def __init__(self, kind: str) -> None:
        self.value = Measure(kind)
        shapes = {"value": self.value, "standard_deviation": self.value}
        self.mean = Record("a mean", GivenMean, shapes=shapes)
        self.trials = Items(
            "the list of values", "[…, …]", OrWord(MISSING, self.value), at_most=MOST_TRIALS
        )

    def _read(self, node: Node, path: Keys, reading: Reading) -> Any:
        if isinstance(node, Listing):
            return self.trials.read(node, path, reading) or None
        if isinstance(node, MappingNode):
            return self._checked(self.mean.read(node, path, reading), path, reading)
        if isinstance(node, Scalar) and node.text.strip():
            value = self.value.read(node, (*path, "value"), reading)
            reading.values[path] = node.place
            return self._checked(GivenMean(value=value), path, reading)
        expected = "write a mean, {value: …, n: …}, or a list with one value a trial"
        return self._misplaced(node, "measured values", expected, reading)

    def _checked(self, mean: GivenMean, path: Keys, reading: Reading) -> GivenMean:
        for key, words in _doubts(mean):
            reading.malformed((*path, key), *words)
        return mean

    def _schema(self) -> dict[str, Any]:
        return {"anyOf": [form.schema() for form in (self.value, self.mean, self.trials)]}


def _doubts(mean: GivenMean) -> Iterator[tuple[str, Words]]:
    """Key and words: the uncertainty is said once, and isn't 0."""
    stated, spread = mean.value.uncertainty, mean.deviation
    if stated and mean.value.u == 0:
        yield "value", refusal("mean-with-zero", stated=stated)
    if spread is None or not spread.number:
        return
    key = "standard_deviation"
    if stated:
        yield key, refusal("spread-beside-uncertainty", stated=stated)
    elif mean.n is None:
        yield key, refusal("spread-without-n")
    elif mean.n == 1:
        yield key, refusal("spread-of-one")
    elif spread.value <= 0:
        yield key, refusal("spread-of-none", spread=f"{spread.number} {spread.unit}")


_A_TRIAL = Text("a trial", "7 or trial-07", or_number=True)
_ANY_TRIAL = Text("a trial", "7, trial-07 or all", or_number=True)


@dataclass(frozen=True, kw_only=True)
class Excluded:
    """A trial that doesn't count."""

    trial: Annotated[str, _A_TRIAL]  # its number or name, as written
    because: Annotated[str, Text("a reason", "the cable dragged")]


@dataclass(frozen=True, kw_only=True)
class Included(Excluded):
    """A trial that counts although it doesn't fit its lab."""

    trial: Annotated[str, _ANY_TRIAL]  # also ALL


@dataclass(frozen=True, kw_only=True)
class Window:
    """Where the run of a trial lies, set by hand."""

    trial: Annotated[str, _A_TRIAL]  # its number or name, as written
    start: Annotated[Quantity, Key(Measure("time"), key="from")]
    end: Annotated[Quantity, Key(Measure("time"), key="to")]


_SHARE = Measure(
    "coefficient", "a relative uncertainty lies between 0 and 1", at_least=0, at_most=1
)
_NOT_BELOW_0 = "it must not be negative"
_FORCE = Measure("force", _NOT_BELOW_0, at_least=0)


@dataclass(frozen=True, kw_only=True)
class SensorsGiven:
    """What all trials share and no record tells; as standard uncertainties and steps of display."""

    position_scale: Annotated[Given, _SHARE] = None  # relative, of positions and velocities alike
    force_scale: Annotated[Given, _SHARE] = None  # relative
    force_zero: Annotated[Given, _FORCE] = None
    position_step: Annotated[Given, Measure("length", _NOT_BELOW_0, at_least=0)] = None
    force_step: Annotated[Given, _FORCE] = None


_SIGN = Choice({"1": 1, "+1": 1, "-1": -1, "−1": -1}, "a sign", "write 1 or -1", 1)
_CHANNELS = ("position", "velocity", "force")
_SIGNS = Record("the signs", dict, named=dict.fromkeys(_CHANNELS, _SIGN), hints="Signs")


_SENSORS = Record("the sensors", SensorsGiven)
_FILES = Text("a pattern of files", "2027-spring/level-track/*.csv")
_WINDOWS = Items(
    "the windows", "[{trial: 3, from: 0.52 s, to: 1.40 s}]", Record("a window", Window)
)
_EXCLUDED = Items(
    "the excluded trials",
    "[{trial: 7, because: the cable dragged}]",
    Record("an excluded trial", Excluded),
    at_least=0,
)
_INCLUDED = Items(
    "the included trials",
    "[{trial: 7, because: the pad lay 20 cm lower that day}]",
    Record("an included trial", Included),
    at_least=0,
)
Whose = Literal["bench", "class", "lent", "simulation", ""]
Zero = Literal["slack", "held", "none", ""]


def _one_of(words: Any) -> Choice:
    return Choice({word: word for word in get_args(words) if word})


Values = GivenMean | tuple[Quantity | None, ...] | None  # one entry a trial, None: missing


@dataclass(frozen=True, kw_only=True)
class Measured:
    """The trials of a lab: records in files, or values that were typed in; never both."""

    pattern: Annotated[str, Key(_FILES, key="files")] = ""  # as written
    files: tuple[Path, ...] = ()  # by name; all inside the course's folder trials/
    digests: Mapping[str, str] = field(default_factory=dict)  # file's name -> SHA-256 of its bytes
    acceleration: Annotated[Values, _Values(VALUE_KINDS["acceleration"])] = None
    tension: Annotated[Values, _Values(VALUE_KINDS["tension"])] = None
    final_speed: Annotated[Values, _Values(VALUE_KINDS["final_speed"])] = None
    signs: Annotated[Mapping[str, int], _SIGNS] = field(default_factory=dict)  # by channel: 1 or -1
    windows: Annotated[tuple[Window, ...], _WINDOWS] = ()
    excluded: Annotated[tuple[Excluded, ...], Key(_EXCLUDED, key="exclude")] = ()
    included: Annotated[tuple[Excluded, ...], Key(_INCLUDED, key="include")] = ()
    sensors: Annotated[SensorsGiven, _SENSORS] = field(default_factory=SensorsGiven)
    whose: Annotated[Whose, _one_of(Whose)] = ""  # "" where it isn't said
    zero: Annotated[Zero, _one_of(Zero)] = ""

    @property
    def values(self) -> dict[str, GivenMean | tuple[Quantity | None, ...]]:
        """What was typed in, by its key."""
        given = {key: getattr(self, key) for key in VALUE_KINDS}
        return {key: value for key, value in given.items() if value is not None}


MEASURED = Record("the trials", Measured)


def with_files(draft: Measured, path: Keys, trials: Path | None, reading: Reading) -> Measured:
    """The trials with their records, out of the folder ``trials``, if there is to be one; notes
    what can't be.
    """
    _check_one_source(draft, path, reading)
    _check_trials(draft, path, reading)
    _check_windows(draft, path, reading)
    if trials is None:
        return draft
    files = _files(draft.pattern, (*path, "files"), trials, reading) if draft.pattern else ()
    digests = {str(file.relative_to(trials)): _digest(file) for file in files}
    return replace(draft, files=files, digests=digests)


def _check_one_source(draft: Measured, path: Keys, reading: Reading) -> None:
    typed = [key for key in VALUE_KINDS if (*path, key) in reading.values]
    if draft.pattern and typed:
        words = refusal("values-beside-files", key=typed[0])
        reading.report.impossible(reading.keys[(*path, typed[0])], *words)
    sources = ("files", *VALUE_KINDS)
    misspelt = any(closest(each[-1], sources) for each in reading.strangers if each[:-1] == path)
    if not typed and (*path, "files") not in reading.values and not misspelt:
        place = reading.keys.get(path, reading.values[path])
        reading.report.malformed(place, *refusal("no-trials", keys=listed(VALUE_KINDS, "or")))
    for key in ("signs", "windows", "zero"):
        if typed and not draft.pattern and (*path, key) in reading.values:
            place = reading.keys[(*path, key)]
            reading.report.impossible(place, *refusal("only-of-records", key=key))


def _check_trials(draft: Measured, path: Keys, reading: Reading) -> None:
    """Lists of one length, with a value that counts; trials that are there, and count or don't."""
    lists = {key: given for key, given in draft.values.items() if isinstance(given, tuple)}
    first = next(((key, len(given)) for key, given in lists.items()), ("", 0))
    excluded = {each.trial for each in draft.excluded if each}
    for key, given in lists.items():
        if len(given) != first[1]:
            words = refusal(
                "lists-differ", count=len(given), key=key, other=first[1], first=first[0]
            )
            reading.impossible((*path, key), *words)
        if not any(value and str(at) not in excluded for at, value in enumerate(given, start=1)):
            reading.impossible((*path, key), *refusal("no-value-counts", key=key))
    numbers = [str(number) for number in range(1, first[1] + 1)]
    means = [key for key, given in draft.values.items() if isinstance(given, GivenMean)]
    known = {"exclude": {*numbers, *means}, "include": {*numbers, *means, ALL}}
    for (*at, key, index), entry in _entries(draft, path):
        there, trial = (*at, key, index, "trial"), shown(entry.trial)
        if not draft.pattern and draft.values and entry.trial not in known[key]:
            names = _names(numbers, means)
            reading.malformed(there, *refusal("unknown-trial", trial=trial, names=names))
        if key == "include" and entry.trial in excluded:
            reading.impossible(there, *refusal("excluded-and-included", trial=trial))


def _entries(draft: Measured, path: Keys) -> Iterator[tuple[Keys, Excluded]]:
    """What is excluded and included, with its path."""
    for key, entries in (("exclude", draft.excluded), ("include", draft.included)):
        for index, entry in enumerate(entries):
            if entry:  # else it can't be read
                yield (*path, key, str(index)), entry


def _names(numbers: list[str], means: list[str]) -> str:
    """By what the trials and means that were typed in are excluded or included."""
    trials = f"trials have the numbers 1 to {len(numbers)}" if numbers else ""
    whole = f"a mean has its key for a name: {listed(means, 'or')}" if means else ""
    return ", and ".join(each for each in (trials, whole) if each)


def _check_windows(draft: Measured, path: Keys, reading: Reading) -> None:
    for index, window in enumerate(draft.windows):
        if window and window.end.value <= window.start.value:
            ends = {key: getattr(window, key) for key in ("start", "end")}
            words = {key: f"{end.number} {end.unit}" for key, end in ends.items()}
            there = (*path, "windows", str(index), "to")
            reading.impossible(there, *refusal("window-backwards", **words))


_PATTERN = re.compile(r"(?:[\w.\-*?\[\] ]+/)*[\w.\-*?\[\] ]+")


def _files(pattern: str, path: Keys, trials: Path, reading: Reading) -> tuple[Path, ...]:
    """The files that a pattern names, by name; none where it is refused."""
    parts = pattern.split("/")
    if ".." in parts or not _PATTERN.fullmatch(pattern):
        reading.malformed(path, *refusal("pattern", pattern=shown(pattern)))
        return ()
    found = sorted(file for file in trials.glob(pattern) if file.is_file())
    if not found:
        names = {"folder": trials, "there": _what_is_there(trials, parts[:-1])}
        reading.malformed(path, *refusal("no-records", pattern=shown(pattern), **names))
    elif len(found) > MOST_FILES:
        sizes = {"count": len(found), "most": MOST_FILES}
        reading.malformed(path, *refusal("many-records", pattern=shown(pattern), **sizes))
    for file in found:
        if not file.resolve().is_relative_to(trials.resolve()):
            reading.malformed(path, *refusal("record-elsewhere", file=file, folder=trials))
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
    return holding(here, (below.name for below in here.iterdir()), "nothing")
