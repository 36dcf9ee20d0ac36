"""The words for what doesn't fit in a trial: what was found, and the likely reason.

Takes numbers; gives sentences. They name what was measured and what the lab gives openly, never
what the model predicts, for they stand beside the trials before the solution is open.
"""

from collections.abc import Mapping
from math import floor, inf, log10

from fallwork.measurement.limits import Range
from fallwork.measurement.model import UNITS, Measurand

RAISED = str.maketrans("0123456789−", "⁰¹²³⁴⁵⁶⁷⁸⁹⁻")
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
HANGING = "probably another hanging mass"
OTHER_RUN = "probably another run"
TWO_COLUMNS = "one of the two columns is probably wrong"
ASKED_FIRST = "Were the masses, the slope and the distance those of this lab?"
ASKED = {
    Measurand.DISTANCE: "Was it the distance of this lab, and were start and end found right?",
    Measurand.FORCE_HELD: "Was it the hanging mass of this lab, and is the force sensor in order?",
}
TYPED = "probably a slip of the pen, or another run"
TYPED_UNIT = "probably in {unit}"
TYPED_TIMES = "{times} times too {words}: probably the decimal point or the unit"
TYPED_SIGN = "probably the sign"
TYPED_OTHER = "probably {other}, written in the wrong place"
DIGITS = "probably {digits}, with two digits exchanged"


def off_value(name: str, value: float, given: Range | None) -> str:
    """A value outside what the lab allows; ``given`` where the lab gives it openly."""
    found = f"{NAMES[Measurand(name)]} of {number(value, name)}"
    if given is None:
        return f"{found} can't be this lab's"
    return f"{found} where the lab has {number(given.value, name)}"


def off_columns(channel: str, read: float, speed: float) -> str:
    """A column that tells of another motion than the fitted line, both as mean speeds in m/s."""
    if abs(read + speed) < abs(read - speed) / 10:
        return f"the {channel} goes the other way than the fitted run"
    found, fitted = (number(each, Measurand.FINAL_SPEED) for each in (read, speed))
    return f"the {channel} tells of a mean speed of {found}, the fitted run of {fitted}"


def off_covered(share: float) -> str:
    """A record that holds only a part of the run."""
    return f"the record holds only {100 * max(share, 0.0):.0f} % of the lab's distance"


def off_others(name: str, value: float, usual: float) -> str:
    """A value far from those of the other trials."""
    found, theirs = number(value, name), number(usual, name)
    return f"{NAMES[Measurand(name)]} of {found}, where the other trials have about {theirs}"


def on_two_groups(name: str, *groups: tuple[int, float]) -> str:
    """Trials that fall into two groups, each with its number and its usual value."""
    both = " and ".join(f"{count} with about {number(value, name)}" for count, value in groups)
    return (
        f"the trials fall into two groups, {both} as {noun(name)}: were all "
        "of them made with the same masses, slope and distance?"
    )


def off_speeds(mean: float, speeds: float, distances: tuple[float, float]) -> str:
    """A mean acceleration and final speeds that don't go together over the lab's distance, and the
    distance over which they would.
    """
    typed, derived = (number(each, Measurand.ACCELERATION) for each in (mean, speeds))
    given, needed = (number(each, Measurand.DISTANCE) for each in distances)
    return (
        f"the mean acceleration of {typed} and the final speeds don't go together: "
        f"over {given} these speeds give {derived}; over {needed} they would give "
        "the mean. Are both from the same runs?"
    )


def expected(lab: Mapping[str, Range]) -> str:
    """What the lab's numbers give for some measurands: not for students."""
    values = [number(each.value, name) for name, each in lab.items()]
    return f"this lab's numbers give {' and '.join(values)}"


def off_expected(name: str, mean: float, lab: Range) -> str:
    """A mean that the lab allows but doesn't lead one to expect."""
    measurand = Measurand(name)
    percent = 100 * (mean - lab.value) / abs(lab.value) if lab.value else inf
    return (
        f"the {measurand.as_mean} of {number(mean, name)} is {abs(percent):.2g} % "
        f"{'above' if percent > 0 else 'below'} the {number(lab.value, name)} of this lab's "
        "numbers, more than what is easily overlooked explains "
        f"({lab.doubtful:.2g} {UNITS[name]}). "
        f"{ASKED.get(measurand, ASKED_FIRST)}"
    )


def noun(name: str) -> str:
    """A measurand without its article."""
    return NAMES[Measurand(name)].split(" ", 1)[1]


def number(value: float, name: str) -> str:
    """Three figures and the unit of a measurand."""
    power = floor(log10(abs(value))) if value else 0
    if -4 < power < 6:
        digits = f"{round(value, 2 - power):.{max(2 - power, 0)}f}"
    else:
        digits = f"{value / 10**power:.2f} × 10{str(power).replace('-', '−').translate(RAISED)}"
    return f"{digits} {UNITS[name]}".replace("-", "−")
