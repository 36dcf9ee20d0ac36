"""The words for what doesn't fit in a trial: what was found, and the likely reason.

Takes numbers; gives sentences. They name what was measured and what the lab gives openly, never
what the model predicts, for they stand beside the trials before the solution is open.
"""

from math import floor, log10

from fallwork.measurement.limits import Range
from fallwork.measurement.model import Measurand

RAISED = str.maketrans("0123456789−", "⁰¹²³⁴⁵⁶⁷⁸⁹⁻")
UNIT = {
    Measurand.ACCELERATION: "m/s²",
    Measurand.FINAL_SPEED: "m/s",
    Measurand.TRAVEL_TIME: "s",
    Measurand.DISTANCE: "m",
    Measurand.MEAN_TENSION: "N",
    Measurand.TENSION_OVER_TIME: "N",
    Measurand.FORCE_HELD: "N",
}
NAMES = {
    Measurand.ACCELERATION: "an acceleration",
    Measurand.FINAL_SPEED: "a final speed",
    Measurand.TRAVEL_TIME: "a travel time",
    Measurand.DISTANCE: "a distance",
    Measurand.MEAN_TENSION: "a tension",
    Measurand.TENSION_OVER_TIME: "a tension",
    Measurand.FORCE_HELD: "a force before release",
}
SCALED = {
    True: "the numbers under {channel} are probably in {unit}",
    False: "the numbers under {channel} are probably not in {unit}, as the heading says",
}
SWAPPED = "the columns of {one} and {other} are probably swapped"
SIGN = "the force probably has the wrong sign"
OTHER_SIGN = "the {channel} counts the other way than in the other trials"
SIGNS_DIFFER = "the sensor was probably turned round, or its sign changed"
CUT_OFF = "the record is probably cut off, or its run lies elsewhere: look at it and set a window"
WINDOW = "the window that was set by hand is probably wrong, or it is another run"
DISTANCE = "probably a run over another distance, or one whose end was found wrong"
MASSES = "probably a run with other masses or another slope"
OTHER_RUN = "probably another run"
TYPED = "probably a slip of the pen, another unit or another run"
TWO_COLUMNS = "one of the two columns is probably wrong"


def off_value(name: str, value: float, given: Range | None) -> str:
    """A value outside what the lab allows; ``given`` where the lab gives it openly."""
    measurand = Measurand(name)
    unit = UNIT[measurand]
    found = f"{NAMES[measurand]} of {_number(value)} {unit}"
    if given is None:
        return f"{found} can't be this lab's"
    return f"{found} where the lab has {_number((given.low + given.high) / 2)} {unit}"


def off_columns(channel: str, read: float, speed: float) -> str:
    """A column that tells of another motion than the fitted line, both as mean speeds in m/s."""
    return (
        f"the {channel} tells of a mean speed of {_number(read)} m/s, the fitted run of "
        f"{_number(speed)} m/s"
    )


def off_covered(share: float) -> str:
    """A record that holds only a part of the run."""
    return f"the record holds only {100 * max(share, 0.0):.0f} % of the lab's distance"


def off_others(name: str, value: float, usual: float) -> str:
    """A value far from those of the other trials."""
    measurand = Measurand(name)
    unit = UNIT[measurand]
    return (
        f"{NAMES[measurand]} of {_number(value)} {unit}, where the other trials have about "
        f"{_number(usual)} {unit}"
    )


def _number(value: float) -> str:
    """Three figures."""
    power = floor(log10(abs(value))) if value else 0
    if -4 < power < 6:
        return f"{round(value, 2 - power):.{max(2 - power, 0)}f}".replace("-", "−")
    digits = str(power).replace("-", "−").translate(RAISED)
    return f"{value / 10**power:.2f} × 10{digits}".replace("-", "−")
