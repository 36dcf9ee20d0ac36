"""The words for what is measured, values as readers see them, sentences for whoever enters trials.

Takes keys of the text file and estimates; gives texts. A value and its standard uncertainty are
rounded by the one rule for both.
"""

from collections.abc import Iterator
from dataclasses import replace
from math import floor, log10

from fallwork.lesson.printer import plain_unit
from fallwork.lesson.rounding import MINUS, Printed, rounded, with_uncertainty
from fallwork.lesson.words import say, texts, without_echo
from fallwork.measurement.derived import SCATTER, ZERO
from fallwork.measurement.model import UNITS as UNITS
from fallwork.measurement.model import Analysis, Outcome, Summary, Trial
from fallwork.measurement.prediction import GRAVITY
from fallwork.measurement.summaries import SCALES as SCALES
from fallwork.scenario.model import SLIDERS
from fallwork.scenario.nouns import Nouns
from fallwork.scenario.report import listed

FIGURES_OF_U = 2  # of an uncertainty (JCGM 100:2008, 7.2.6)
TWO_FIGURES = 11  # times a last place: a number whose second figure stands there
SMALLEST_PLACE = -6  # power of ten of the last digit that is written without a power of ten
NO_BREAK = "\u00a0"


def title(key: str, **parts: str) -> str:
    """A title, caption or name: the sentence at a dotted key, without formulas."""
    return say(key, "measuring", **parts)


def quantity_words(quantity: str) -> str:
    """What a quantity is called in a sentence."""
    return title(f"quantities.{quantity}")


def figures_for(value: float, u: float, otherwise: int) -> int:
    """So many figures that it ends with its uncertainty; ``otherwise`` without or lost in one."""
    if u <= 0 or value == 0:
        return otherwise
    place = rounded(u, FIGURES_OF_U).decimal.adjusted() - FIGURES_OF_U + 1
    first = rounded(value, 12).decimal.adjusted()
    figures = max(first - place + 1, 1)
    return figures + (rounded(value, figures).decimal.adjusted() > first)  # 0.0099, not 0.01


def ends_at(outcome: Outcome) -> float:
    """What the last figure goes by: the uncertainty's two figures, or the last place as written."""
    return TWO_FIGURES * outcome.step if outcome.u is None else outcome.u


def last_place(outcome: Outcome) -> float:
    """One unit of the place where a value ends; 0 where it is exact."""
    ends = ends_at(outcome)
    return 10.0 ** (floor(log10(ends)) + 1 - FIGURES_OF_U) if ends > 0 else 0.0


def amount(outcome: Outcome, unit: str, figures: int) -> str:
    """A value with its standard uncertainty, if it is known, and unit, kept on one line."""
    if not outcome.u:
        return shown(outcome, unit, figures)
    value, u = (f"{digits}{plain_unit(unit)}" for digits in _together(outcome.value, outcome.u))
    return f"{value} ± {u}".replace(" ", NO_BREAK)


def shown(outcome: Outcome, unit: str, figures: int) -> str:
    """A value that ends where it has to, its uncertainty not shown."""
    return to_place_of(outcome.value, ends_at(outcome), unit, figures)


def ends_in_trial(trial: Trial, quantity: str, summary: Summary | None) -> float:
    """What the last figure of a single value goes by; of one without ± the scatter of all trials,
    unless it was typed in: then its own last place.
    """
    estimate = trial.estimates[quantity]
    typed = summary is None or quantity in trial.written
    deviation = None if typed or summary is None else summary.standard_deviation
    return estimate.u or deviation or ends_at(estimate)


def in_trial(trial: Trial, quantity: str, summary: Summary | None, figures: int) -> str:
    """A single value without unit, for a cell: a line may end before the ±; typed digits stay."""
    estimate = trial.estimates.get(quantity)
    if estimate is None:
        return ""
    if estimate.u:
        return amount(estimate, "", figures).replace(f"{NO_BREAK}±", " ±")
    last = ends_in_trial(trial, quantity, summary)
    return trial.written.get(quantity) or to_place_of(estimate.value, last, "", figures)


def to_place_of(value: float, u: float, unit: str, figures: int) -> str:
    """A value that ends where ``u`` does, ``u`` itself not shown."""
    digits = rounded(value, figures).text if u <= 0 else _together(value, u)[0]
    return f"{digits}{plain_unit(unit)}".replace(" ", NO_BREAK)


def interval(ends: tuple[float, float] | None, u: float | None, unit: str, figures: int) -> str:
    """An interval; its ends end where ``u`` does. Unknown without one."""
    if ends is None or u is None:
        return title("unknown")
    low, high = to_place_of(ends[0], u, "", figures), to_place_of(ends[1], u, unit, figures)
    return f"{low} to {high}"


def number(summary: Summary) -> str:
    """Of how many trials a mean is."""
    return title("unknown") if summary.n is None else str(summary.n)


def size(u: float | None, unit: str) -> str:
    """An uncertainty, a limit or a change: two figures."""
    if u is None:
        return title("unknown")
    digits = _plain(rounded(u, FIGURES_OF_U))
    return f"{digits}{plain_unit(unit)}".replace(" ", NO_BREAK)


def _together(value: float, u: float) -> tuple[str, str]:
    both = with_uncertainty(value, u)
    return _plain(both), _plain(replace(both, mantissa=both.u))


def _plain(printed: Printed) -> str:
    """Without a power of ten as far as digits go: columns of a table are compared by eye."""
    number = printed.decimal
    place = number.as_tuple().exponent
    if not isinstance(place, int) or not SMALLEST_PLACE <= place <= 0:
        return printed.text
    return f"{number:f}".replace("-", MINUS)


def given_in_words(path: str, nouns: Nouns) -> str:
    """A given by its path in the scenario, e.g. ``coefficient of rolling friction on track 1``."""
    if path == GRAVITY:
        return title("paths.gravity")
    owner, *rest = path.split(".")
    key = "_".join(rest).replace("wheels_mass", "wheel_mass")
    the_object = nouns.the(owner) if owner in nouns.by_name else ""  # the run has no noun
    kinds = [kind for kind, _ in nouns.things.values()]
    if key == "friction" and nouns.things[owner][0] == "surface":
        key = "on_surface" if {*SLIDERS} - {"cart"} & {*kinds} else "rolling_friction"
    if key in texts("measuring")["paths"]:
        return title(f"paths.{key}", the=the_object)
    return without_echo(say(f"given.{key.replace('_', '-')}.meaning", "symbols", the=the_object))


def source_words(name: str, nouns: Nouns) -> str:
    """What makes a value uncertain, as ``Derived.counted`` names it, with its article."""
    if name in UNITS:
        return f"the {quantity_words(name)}"
    if name == GRAVITY or "." in name:
        return f"the {given_in_words(name, nouns)}"
    return title(f"sources.{name}") if name in (SCATTER, ZERO) else f"the {name}"


def unbroken(name: str) -> str:
    """A trial's name that no line ends within."""
    return name.replace("-", "\u2011").replace(" ", NO_BREAK)


def on_means(analysis: Analysis) -> Iterator[str]:
    """What can't be judged, and what to record so that it can be; and means over other trials."""
    lists: dict[str, list[str]] = {}
    for quantity, each in analysis.summary.items():
        if each.u is None:
            single = any(quantity in trial.estimates for trial in analysis.counted)
            tail = "-one" if each.n == 1 else "-alike" if single else ""
            lists.setdefault(tail, []).append(f"the {quantity_words(quantity)}")
    for tail, names in lists.items():
        yield say(f"quality.unscattered{tail}", "reviewing", list=listed(names))
    counted = len(analysis.counted)
    for quantity, n in over_others(analysis).items():
        yield say("quality.over-others", "reviewing", quantity=quantity, n=n, counted=counted)


def over_others(analysis: Analysis) -> dict[str, int]:
    """Means that can't be over the trials that count: in words, and over how many each is."""
    counted = analysis.counted
    return {
        quantity_words(q): each.n
        for q, each in analysis.summary.items()
        if each.n and each.n > 1 and counted and each.n != len(counted)
        if not any(q in trial.estimates for trial in counted)
    }
