"""Mistakes in writing a trial down, found by undoing them: what fits afterwards was the mistake.

Takes a record, or a value that was typed in, and a test whether what is left fits the lab; gives
the mistake in words. What fits is decided elsewhere.
"""

from collections.abc import Callable, Iterator, Mapping
from dataclasses import replace
from functools import partial
from typing import Any

from fallwork.measurement.model import Measurand, Record
from fallwork.measurement.saying import named, say

GRAM_FORCE = 0.00980665  # N, by the conventional gravity of the 3rd CGPM (1901)
UNITS: Mapping[str, Mapping[str, float]] = {  # SI units in one of them
    "position": {"cm": 0.01, "mm": 0.001},
    "velocity": {"cm/s": 0.01, "mm/s": 0.001},
    "force": {"mN": 0.001, "g": GRAM_FORCE, "kg": 1000 * GRAM_FORCE},
    "time": {"ms": 0.001},
}
TYPED_UNITS: Mapping[str, Mapping[str, float]] = {
    Measurand.ACCELERATION: {"cm/s²": 0.01, "mm/s²": 0.001},
    Measurand.FINAL_SPEED: UNITS["velocity"],
    Measurand.MEAN_TENSION: UNITS["force"],
}
TIMES = (10, 100, 1000)  # by which a decimal point in the wrong place changes a value

Change = Callable[[Record], Record]
Columns = Mapping[str, tuple[str, float]]
# ^ channel that a record must have → the channel that holds it, and a factor, to undo a mistake
Fits = Callable[[str, float], bool]  # a measurand, and whether a value can be the lab's


def mistake_in(record: Record, mends: Callable[[Change], bool]) -> str | None:
    """The mistake that makes the record one of the lab if it is undone, the likeliest first."""
    for words, columns in _mistakes():
        there = all(getattr(record, channel) is not None for channel in columns)
        if there and mends(partial(_mended, columns)):
            return words
    return None


def _mended(columns: Columns, record: Record) -> Record:
    """The record with a mistake undone."""
    changed: dict[str, Any] = {
        channel: None if (values := getattr(record, holder)) is None else factor * values
        for channel, (holder, factor) in columns.items()
    }
    return replace(record, **changed)


def _mistakes() -> Iterator[tuple[str, Columns]]:
    """Ways to write a record down wrongly, from the likeliest on."""
    for channel, units in UNITS.items():
        for unit, factor in units.items():
            yield say("scaled", channel=channel, unit=unit), {channel: (channel, factor)}
            yield say("unscaled", channel=channel, unit=unit), {channel: (channel, 1 / factor)}
    for unit, factor in UNITS["position"].items():
        words = say("scaled", channel="position and velocity", unit=f"{unit} and {unit}/s")
        yield words, {channel: (channel, factor) for channel in ("position", "velocity")}
    for one, other in (("position", "velocity"), ("velocity", "force"), ("position", "force")):
        yield say("swapped", one=one, other=other), {one: (other, 1.0), other: (one, 1.0)}
    yield say("sign"), {"force": ("force", -1.0)}


def mistakes_typed(name: str, value: float, digits: str, fits: Fits) -> Iterator[str]:
    """How a value may have got so far off, the likeliest first: by its unit, decimal point, sign,
    place or digits.
    """
    scales = {say("typed-unit", unit=unit): f for unit, f in TYPED_UNITS.get(name, {}).items()}
    for times in TIMES:
        scales[say("typed-times", times=times, words="large")] = 1 / times
        scales[say("typed-times", times=times, words="small")] = times
    scales[say("typed-sign")] = -1.0
    yield from (words for words, factor in scales.items() if fits(name, value * factor))
    for other in TYPED_UNITS:
        if other != name and fits(other, value):
            yield say("typed-other", other=named(other))
    for at in range(len(digits) - 1):
        swapped = digits[:at] + digits[at + 1] + digits[at] + digits[at + 2 :]
        if digits[at : at + 2].isdigit() and fits(name, float(swapped.replace("−", "-"))):
            yield say("digits", digits=swapped)
    yield say("typed")
