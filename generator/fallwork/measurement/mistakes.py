"""Mistakes in writing a trial down, each with what undoes it, from the likeliest on.

Takes a value that was typed in, or nothing; gives mistakes in words. Whether a record or a value
fits its lab once a mistake is undone is asked by ``misfits``.
"""

from collections.abc import Iterator, Mapping
from math import inf

from fallwork.measurement.model import Measurand
from fallwork.measurement.saying import named, say

GRAM_FORCE = 0.00980665  # N, by the conventional gravity of the 3rd CGPM (1901)
SCALED: Mapping[str, Mapping[str, float]] = {  # SI units in one of them
    "position": {"cm": 0.01, "mm": 0.001},
    "velocity": {"cm/s": 0.01, "mm/s": 0.001},
    "force": {"mN": 0.001, "g": GRAM_FORCE, "kg": 1000 * GRAM_FORCE},
    "time": {"ms": 0.001},
}
TYPED: Mapping[str, Mapping[str, float]] = {
    Measurand.ACCELERATION: {"cm/s²": 0.01, "mm/s²": 0.001},
    Measurand.FINAL_SPEED: SCALED["velocity"],
    Measurand.MEAN_TENSION: SCALED["force"],
}
TIMES = (10, 100, 1000)  # by which a decimal point in the wrong place changes a value
Ends = Mapping[str, tuple[float, float]]  # of the values of measurands
Columns = Mapping[str, tuple[str, float]]
# ^ channel that a record must have → the channel that holds it, and a factor, to undo a mistake


def mistakes() -> Iterator[tuple[str, Columns]]:
    """Ways to write a record down wrongly."""
    for channel, units in SCALED.items():
        for unit, factor in units.items():
            yield say("scaled", channel=channel, unit=unit), {channel: (channel, factor)}
            yield say("unscaled", channel=channel, unit=unit), {channel: (channel, 1 / factor)}
    for unit, factor in SCALED["position"].items():
        words = say("scaled", channel="position and velocity", unit=f"{unit} and {unit}/s")
        yield words, {channel: (channel, factor) for channel in ("position", "velocity")}
    for one, other in (("position", "velocity"), ("velocity", "force"), ("position", "force")):
        yield say("swapped", one=one, other=other), {one: (other, 1.0), other: (one, 1.0)}
    yield say("sign"), {"force": ("force", -1.0)}


def mistakes_typed(name: str, value: float, digits: str, allowed: Ends) -> Iterator[str]:
    """How a value may have got so far off: by its unit, decimal point, sign, place or digits."""

    def fits(name: str, value: float) -> bool:
        low, high = allowed.get(name, (inf, -inf))
        return low <= value <= high

    scales = {say("typed-unit", unit=unit): f for unit, f in TYPED.get(name, {}).items()}
    for times in TIMES:
        scales[say("typed-times", times=times, words="large")] = 1 / times
        scales[say("typed-times", times=times, words="small")] = times
    scales[say("typed-sign")] = -1.0
    yield from (words for words, factor in scales.items() if fits(name, value * factor))
    for other in TYPED:
        if other != name and fits(other, value):
            yield say("typed-other", other=named(other))
    for at in range(len(digits) - 1):
        swapped = digits[:at] + digits[at + 1] + digits[at] + digits[at + 2 :]
        if digits[at : at + 2].isdigit() and fits(name, float(swapped.replace("−", "-"))):
            yield say("digits", digits=swapped)
    yield say("typed")
