"""What is said of records and of trials, from ``sentences.yaml``, and numbers in it."""

from math import floor, log10

from fallwork.errors import table
from fallwork.measurement.model import UNITS, Measurand

RAISED = str.maketrans("0123456789−", "⁰¹²³⁴⁵⁶⁷⁸⁹⁻")
NOUNS = dict.fromkeys((Measurand.MEAN_TENSION, Measurand.TENSION_OVER_TIME), "tension")
NOUNS[Measurand.FORCE_HELD] = "force before release"


def say(key: str, **values: str | float) -> str:
    """A sentence or clause with its values; KeyError for one that isn't there."""
    return str(table("measurement", "sentences")[key]).format(**values)


def noun(name: str) -> str:
    """A measurand without its article."""
    return NOUNS.get(Measurand(name), Measurand(name).replace("_", " "))


def named(name: str) -> str:
    """A measurand with the indefinite article."""
    return f"{'an' if noun(name)[0] in 'aeiou' else 'a'} {noun(name)}"


def number(value: float, name: str) -> str:
    """Three figures and the unit of a measurand."""
    power = floor(log10(abs(value))) if value else 0
    if -4 < power < 6:
        digits = f"{round(value, 2 - power):.{max(2 - power, 0)}f}"
    else:
        digits = f"{value / 10**power:.2f} × 10{str(power).replace('-', '−').translate(RAISED)}"
    return f"{digits} {UNITS[name]}".replace("-", "−")


def off(key: str, name: str, value: float, **others: float) -> str:
    """That a value doesn't fit, ``others`` being what it is set against."""
    numbers = {word: number(other, name) for word, other in others.items()}
    return say(key, found=f"{named(name)} of {number(value, name)}", **numbers)
