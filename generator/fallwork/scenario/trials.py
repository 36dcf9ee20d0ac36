"""The trials of a lab as a term file gives them: records in files, or typed-in values.

The records themselves are read by the measurement stage.
"""

import hashlib
import re
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Annotated, Literal, get_args

from fallwork.errors import Place
from fallwork.scenario import shapes
from fallwork.scenario.quantity import Given, Quantity, as_written
from fallwork.scenario.records import Key, Record, items
from fallwork.scenario.report import closest, holding, listed, shown
from fallwork.scenario.shapes import Reading, Shape, by_form, choice, measure, or_word, text, whole
from fallwork.scenario.tree import Keys, Listing, Node, Scalar
from fallwork.scenario.tree import Mapping as Braces

VALUE_KINDS = {"acceleration": "acceleration", "tension": "force", "final_speed": "speed"}
ALL = "all"  # stands for every trial
MOST_TRIALS, MOST_FILES = 1000, 200
_OF_ITS_KIND = measure("acceleration")  # stands for the kind of what was measured
_MEAN = "write a mean, {value: …, n: …}, or a list with one value a trial"


@dataclass(frozen=True, kw_only=True)
class GivenMean:
    """A mean over trials that aren't to hand, with what is known of its uncertainty. Without ± and
    without a standard deviation nothing is: its ``u`` of 0 means that none was given.
    """

    value: Annotated[Quantity, _OF_ITS_KIND]  # a ± is the standard uncertainty of the mean
    n: Annotated[int | None, whole("the number of trials", 1, MOST_TRIALS)] = None
    deviation: Annotated[Given, Key(_OF_ITS_KIND, key="standard_deviation")] = None


def _values(kind: str) -> Shape:
    """A list with one entry a trial; or a mean, ``1.497 m/s²`` alone or in a mapping with ``n`` and
    ``standard_deviation``, or with a ± of its own, as far as they are known.
    """

    def alone(node: Node, path: Keys, reading: Reading) -> GivenMean:
        if not shapes.text_of(node):
            raise shapes.misplaced(node, "measured values", _MEAN)
        return GivenMean(value=value.read(node, (*path, "value"), reading))

    value = measure(kind)
    entry = or_word("none", value)  # for the value of a trial that has none
    mean = Record("a mean", GivenMean, shapes={"value": value, "standard_deviation": value})
    values = items("the list of values", "[…, …]", entry, at_most=MOST_TRIALS, stand_in=None)
    return by_form({Scalar: Shape(alone, value.schema), Braces: mean, Listing: values})


_A_TRIAL = text("a trial", "7 or trial-07", **shapes.OR_NUMBER)
_ANY_TRIAL = text("a trial", "7, trial-07 or all", **shapes.OR_NUMBER)


@dataclass(frozen=True, kw_only=True)
class Excluded:
    """A trial that doesn't count."""

    trial: Annotated[str, _A_TRIAL]  # its number or name, as written
    because: Annotated[str, text("a reason", "the cable dragged")]


@dataclass(frozen=True, kw_only=True)
class Included(Excluded):
    """A trial that counts although it doesn't fit its lab."""

    trial: Annotated[str, _ANY_TRIAL]  # also ALL


@dataclass(frozen=True, kw_only=True)
class Window:
    """Where the run of a trial lies, set by hand."""

    trial: Annotated[str, _A_TRIAL]  # its number or name, as written
    start: Annotated[Quantity, Key(measure("time"), key="from")]
    end: Annotated[Quantity, Key(measure("time"), key="to")]


@dataclass(frozen=True, kw_only=True)
class SensorsGiven:
    """What all trials share and no record tells; as standard uncertainties and steps of display."""

    position_scale: Annotated[Given, measure("share")] = None  # relative, also of velocities
    force_scale: Annotated[Given, measure("share")] = None  # relative
    force_zero: Annotated[Given, measure("spread")] = None
    position_step: Annotated[Given, measure("place")] = None
    force_step: Annotated[Given, measure("spread")] = None


_SIGN = choice({"1": 1, "+1": 1, "-1": -1, "−1": -1}, "a sign", "write 1 or -1", 1)


@dataclass(frozen=True, kw_only=True)
class Signs:
    """Which sensors count the other way."""

    position: Annotated[int, _SIGN] = 1
    velocity: Annotated[int, _SIGN] = 1
    force: Annotated[int, _SIGN] = 1


_SIGNS, _SENSORS = Record("the signs", Signs, make=dict), Record("the sensors", SensorsGiven)
_FILES = text("a pattern of files", "2027-spring/level-track/*.csv")
_A_WINDOW = "[{trial: 3, from: 0.52 s, to: 1.40 s}]"
_WINDOWS = items("the windows", _A_WINDOW, Record("a window", Window))


def _some(what: str, because: str, one: type) -> Key:
    example = f"[{{trial: 7, because: {because}}}]"
    return Key(items(f"the {what}d trials", example, Record(f"an {what}d trial", one), 0), key=what)


_EXCLUDED = _some("exclude", "the cable dragged", Excluded)
_INCLUDED = _some("include", "the pad lay 20 cm lower that day", Included)
Whose = Literal["bench", "class", "lent", "simulation", ""]
Zero = Literal["slack", "held", "none", ""]
_WHOSE, _ZERO = (choice(get_args(one_of)[:-1]) for one_of in (Whose, Zero))
OWN = "own"
Values = GivenMean | tuple[Quantity | None, ...] | None  # one entry a trial, None: missing


@dataclass(frozen=True, kw_only=True)
class Measured:
    """The trials of a lab: records in files, or values that were typed in; never both."""

    pattern: Annotated[str, Key(_FILES, key="files")] = ""  # as written
    files: tuple[Path, ...] = ()  # by name; all inside the course's folder trials/
    digests: Mapping[str, str] = field(default_factory=dict)  # file's name -> SHA-256 of its bytes
    acceleration: Annotated[Values, _values(VALUE_KINDS["acceleration"])] = None
    tension: Annotated[Values, _values(VALUE_KINDS["tension"])] = None
    final_speed: Annotated[Values, _values(VALUE_KINDS["final_speed"])] = None
    signs: Annotated[Mapping[str, int], _SIGNS] = field(default_factory=dict)  # by channel
    windows: Annotated[tuple[Window, ...], _WINDOWS] = ()
    excluded: Annotated[tuple[Excluded, ...], _EXCLUDED] = ()
    included: Annotated[tuple[Excluded, ...], _INCLUDED] = ()
    sensors: Annotated[SensorsGiven, _SENSORS] = field(default_factory=SensorsGiven)
    whose: Annotated[Whose, _WHOSE] = ""  # "" where it isn't said
    zero: Annotated[Zero, _ZERO] = ""
    variant: Annotated[str, text("a word", OWN)] = (
        ""  # OWN: where there are several, the lab's own numbers
    )

    @property
    def values(self) -> dict[str, GivenMean | tuple[Quantity | None, ...]]:
        """What was typed in, by its key."""
        given = {key: getattr(self, key) for key in VALUE_KINDS}
        return {key: value for key, value in given.items() if value is not None}

    @property
    def first_list(self) -> tuple[str, int]:
        """The key and the length of the first list that was typed in; "" and 0 for none."""
        lists = ((key, len(each)) for key, each in self.values.items() if isinstance(each, tuple))
        return next(lists, ("", 0))


MEASURED = Record("the trials", Measured)


def with_files(draft: Measured, path: Keys, trials: Path | None, reading: Reading) -> Measured:
    """The trials with their records, out of the folder ``trials`` if given; notes what can't be."""
    refuse, typed = reading.report.refuse, [k for k in VALUE_KINDS if (*path, k) in reading.values]
    if draft.pattern and typed:
        refuse(reading.keys[(*path, typed[0])], "values-beside-files", key=typed[0])
    sources = ("files", *VALUE_KINDS)
    misspelt = any(closest(each[-1], sources) for each in reading.strangers if each[:-1] == path)
    if not typed and (*path, "files") not in reading.values and not misspelt:
        place = reading.keys.get(path, reading.values[path])
        refuse(place, "no-trials", keys=listed(VALUE_KINDS, "or"))
    for key in ("signs", "windows", "zero"):
        if typed and not draft.pattern and (*path, key) in reading.values:
            refuse(reading.keys[(*path, key)], "only-of-records", key=key)
    _check_values(draft, path, reading)
    _check_entries(draft, path, reading)
    if trials is None or not draft.pattern:
        return draft
    files = _files(draft.pattern, (*path, "files"), trials, reading)
    digests = dict[str, str]()
    for file in files:
        try:
            digests[str(file.relative_to(trials))] = hashlib.sha256(file.read_bytes()).hexdigest()
        except OSError as error:
            why = (error.strerror or "system error").lower()
            refuse(Place(file=str(file)), "not-readable", why=why)
    return replace(draft, files=files, digests=digests)


def _check_values(draft: Measured, path: Keys, reading: Reading) -> None:
    """Lists of one length, with a value that counts; means whose uncertainty is said once, and
    isn't 0."""
    first, other = draft.first_list
    excluded = {each.trial for each in draft.excluded if each}
    for key, given in draft.values.items():
        there = (*path, key)
        if isinstance(given, tuple):
            if len(given) != other:
                names = {"count": len(given), "key": key, "other": other, "first": first}
                reading.refuse(there, "lists-differ", **names)
            counts = (each for at, each in enumerate(given, start=1) if str(at) not in excluded)
            if not any(counts):
                reading.refuse(there, "no-value-counts", key=key)
            continue
        stated, spread = given.value.uncertainty, given.deviation
        if stated and given.value.u == 0:
            reading.refuse((*there, "value"), "mean-with-zero", stated=stated)
        if spread is not None and spread.number:
            wrong = {
                "spread-beside-uncertainty": stated != "",
                "spread-without-n": given.n is None,
                "spread-of-one": given.n == 1,
                "spread-of-none": spread.value <= 0,
            }
            names = {"stated": stated, "spread": f"{spread.number} {spread.unit}"}
            for reason in [reason for reason, is_so in wrong.items() if is_so][:1]:
                reading.refuse((*there, "standard_deviation"), reason, **names)


def _check_entries(draft: Measured, path: Keys, reading: Reading) -> None:
    """Trials that are there, and count or don't; windows that end after they begin."""
    count = draft.first_list[1]
    means = [key for key, given in draft.values.items() if isinstance(given, GivenMean)]
    known = {*map(str, range(1, count + 1)), *means}
    numbers = f"trials have the numbers 1 to {count}" if count else ""
    whole = f"a mean has its key for a name: {listed(means, 'or')}" if means else ""
    names = ", and ".join(filter(None, (numbers, whole)))
    excluded = {each.trial for each in draft.excluded if each}
    for key, entries in {"exclude": draft.excluded, "include": draft.included}.items():
        for at, entry in enumerate(entries):
            if entry is None or not entry.trial:  # it can't be read
                continue
            there, trial = (*path, key, str(at), "trial"), shown(entry.trial)
            is_all = key == "include" and entry.trial == ALL
            if not draft.pattern and draft.values and entry.trial not in known and not is_all:
                reading.refuse(there, "unknown", what="trial", name=trial, expected=names)
            if key == "include" and entry.trial in excluded:
                reading.refuse(there, "excluded-and-included", trial=trial)
    for at, window in enumerate(draft.windows):
        if window and window.end.value <= window.start.value:
            words = {"start": as_written(window.start), "end": as_written(window.end)}
            reading.refuse((*path, "windows", str(at), "to"), "window-backwards", **words)


_PATTERN = re.compile(r"(?:[\w.\-*?\[\] ]+/)*[\w.\-*?\[\] ]+")


def _files(pattern: str, path: Keys, trials: Path, reading: Reading) -> tuple[Path, ...]:
    """The files that a pattern names, by name; none where it is refused."""
    *folders, _ = parts = pattern.split("/")
    says, here = shown(pattern), trials
    if ".." in parts or not _PATTERN.fullmatch(pattern):
        reading.refuse(path, "pattern", pattern=says)
        return ()
    found = sorted(file for file in trials.glob(pattern) if file.is_file())
    if not found:
        for folder in folders:  # to where the way to the files ends
            if not (here / folder).is_dir() and "*" not in folder:
                break
            here = here / folder
        there = f"there is no folder {here}"
        if here.is_dir():
            there = holding(here, (below.name for below in here.iterdir()), "nothing")
        reading.refuse(path, "no-records", pattern=says, folder=trials, there=there)
    elif len(found) > MOST_FILES:
        reading.refuse(path, "many-records", pattern=says, count=len(found), most=MOST_FILES)
    for file in found:
        if not file.resolve().is_relative_to(trials.resolve()):
            reading.refuse(path, "record-elsewhere", file=file, folder=trials)
    return tuple(found)
