"""Mistakes in writing a trial down, found by undoing them: what fits afterwards was the mistake.

Takes a record, or a value that was typed in, and a test whether what is left fits the lab; gives
the mistake in words. What fits is decided elsewhere.
"""

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, replace
from typing import Any

from fallwork.measurement.misfit_notes import (
    DIGITS,
    NAMES,
    SCALED,
    SIGN,
    SWAPPED,
    TYPED,
    TYPED_OTHER,
    TYPED_SIGN,
    TYPED_TIMES,
    TYPED_UNIT,
)
from fallwork.measurement.model import Measurand, Record

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
Fits = Callable[[str, float], bool]  # a measurand, and whether a value can be the lab's


@dataclass(frozen=True, kw_only=True)
class Mistake:
    """A way to write a record down wrongly."""

    words: str
    columns: Mapping[str, tuple[str, float]]
    # ^ channel that a record must have → the channel that holds it, and a factor, to undo it

    def mend(self, record: Record) -> Record:
        """The record with the mistake undone."""
        columns: dict[str, Any] = {
            channel: None if (values := getattr(record, holder)) is None else factor * values
            for channel, (holder, factor) in self.columns.items()
        }
        return replace(record, **columns)


def mistake_in(record: Record, mends: Callable[[Change], bool]) -> str | None:
    """The mistake that makes the record one of the lab if it is undone."""
    for mistake in MISTAKES:
        there = all(getattr(record, channel) is not None for channel in mistake.columns)
        if there and mends(mistake.mend):
            return mistake.words
    return None


# ---- typed in


def mistake_typed(name: str, value: float, digits: str, fits: Fits) -> str:
    """How a value got so far off: by its unit, decimal point, sign, place or digits."""
    return next(_typed(name, value, digits, fits), TYPED)


def _typed(name: str, value: float, digits: str, fits: Fits) -> Iterator[str]:
    for unit, factor in TYPED_UNITS.get(name, {}).items():
        if fits(name, value * factor):
            yield TYPED_UNIT.format(unit=unit)
    for times in TIMES:
        for factor, words in ((1 / times, "large"), (times, "small")):
            if fits(name, value * factor):
                yield TYPED_TIMES.format(times=times, words=words)
    if fits(name, -value):
        yield TYPED_SIGN
    for other in TYPED_UNITS:
        if other != name and fits(other, value):
            yield TYPED_OTHER.format(other=NAMES[Measurand(other)])
    for at in range(len(digits) - 1):
        swapped = digits[:at] + digits[at + 1] + digits[at] + digits[at + 2 :]
        if digits[at : at + 2].isdigit() and fits(name, float(swapped.replace("−", "-"))):
            yield DIGITS.format(digits=swapped)


# ---- records


def _mistakes() -> Iterator[Mistake]:
    """From the likeliest on."""
    for channel, units in UNITS.items():
        for unit, factor in units.items():
            for wrong, mend in ((True, factor), (False, 1 / factor)):
                yield _scale(SCALED[wrong].format(channel=channel, unit=unit), mend, channel)
    for unit, factor in UNITS["position"].items():
        words = SCALED[True].format(channel="position and velocity", unit=f"{unit} and {unit}/s")
        yield _scale(words, factor, "position", "velocity")
    for one, other in (("position", "velocity"), ("velocity", "force"), ("position", "force")):
        columns = {one: (other, 1.0), other: (one, 1.0)}
        yield Mistake(words=SWAPPED.format(one=one, other=other), columns=columns)
    yield _scale(SIGN, -1.0, "force")


def _scale(words: str, factor: float, *channels: str) -> Mistake:
    return Mistake(words=words, columns={channel: (channel, factor) for channel in channels})


MISTAKES = tuple(_mistakes())
