"""One measured quantity and its symbols: mean, uncertainty, prediction, difference.

Without evidence the symbols have no values.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import NamedTuple

from fallwork.lesson.expression import Expression, Root, Symbol
from fallwork.lesson.measured.words import (
    FIGURES_OF_U,
    UNITS,
    ends_at,
    ends_in_trial,
    figures_for,
    last_place,
    quantity_words,
    title,
)
from fallwork.lesson.trees import signed, total
from fallwork.lesson.words import upper_first
from fallwork.measurement.comparison import Compared, Comparison
from fallwork.measurement.model import Measurand, Outcome, Summary, Trial

LETTERS: Mapping[Measurand, str] = {  # in the order of columns; the others have no symbol
    Measurand.ACCELERATION: "a",
    Measurand.FINAL_SPEED: "v",
    Measurand.ACCELERATION_FROM_SPEED: "a",
    Measurand.TRAVEL_TIME: "t",
    Measurand.DISTANCE: "d",
    Measurand.MEAN_TENSION: "T",
    Measurand.FORCE_HELD: "T",
    Measurand.WORK_OF_TENSION: "W",
}
WAYS: Mapping[Measurand, str] = {Measurand.ACCELERATION_FROM_SPEED: "v"}  # marks beside a letter
FACTOR_FIGURES = 3
Values = Mapping[str, float | Outcome | None]


class About(NamedTuple):
    """What a symbol tells of a quantity, or of a system's energy balance."""

    kind: str  # of its meaning, and in its id
    letter: str = ""  # "": that of the quantity
    mark: str = ""  # behind that of the quantity
    figures: int = FIGURES_OF_U  # 0: those of results
    unit: str | None = None  # None: that of the quantity


_SYMBOLS: Mapping[str, About] = {
    # over the trials: mean, standard deviation
    "mean": About("meas", "", "meas", 0),
    "deviation": About("deviation", "s"),
    # the standard uncertainty of the mean and its factor; from the scatter alone; from what shifts
    # all trials alike
    "u": About("u-meas", "u", "meas"),
    "k": About("factor", "k", "meas", FACTOR_FIGURES, ""),
    "u_random": About("u-scatter", "u", "scatter"),
    "u_shared": About("u-shared", "u", "shared"),
    # against the model: the predicted value, and what an error that both sides share does to them
    "predicted": About("pred", "", "pred", 0),
    "u_predicted": About("u-pred", "u", "pred"),
    "u_common": About("u-common", "u", "common"),
    # the difference with its standard uncertainty and its factor; in percent of the predicted value
    "difference": About("difference", "Delta", "", 0),
    "u_difference": About("u-diff", "u", "diff"),
    "k_difference": About("factor-diff", "k", "diff", FACTOR_FIGURES, ""),
    "percent": About("percent", "p", unit="%"),
    # in single trials
    "single": About("trial", "", "trial", 0),
}


def symbol(
    id_: str,
    kind: str,
    letter: str,
    marks: tuple[str, ...],
    unit: str,
    value: float | Outcome | None = None,
    figures: int | None = FIGURES_OF_U,
    **words: str,
) -> Symbol:
    """A symbol of the measured pages: the meaning of its ``kind`` stands in the text file.

    ``figures`` of a value that is an outcome: where it has no uncertainty.
    """
    if isinstance(value, Outcome):
        figures, value = figures_for(value.value, ends_at(value), figures or 1), value.value
    return Symbol(
        id=f"measured.{id_}",
        letter=letter,
        subscript=",".join(filter(None, marks)),
        meaning=title(f"meanings.{kind}", **words),
        unit=unit,
        value=value,
        figures=figures,
        force="tension" if letter == "T" else "",
    )


def as_its_share(share: Symbol, difference: Symbol) -> Symbol:
    """A difference in percent, known to the place to which the difference is."""
    if not difference.value or share.value is None:
        return share
    return replace(share, place=difference.place * abs(share.value / difference.value))


def of_comparison(found: Comparison) -> Values:
    """The values of a difference and what tells about it."""
    return {
        "difference": found.difference,
        "u_difference": found.difference.u,
        "k_difference": found.coverage_factor,
        "percent": found.percent,
        "u_common": abs(found.covariance) ** 0.5,
    }


def of_summary(found: Summary) -> Values:
    """The values of a mean and what tells about it."""
    return {
        "mean": found,
        "deviation": found.standard_deviation,
        "u": found.u,
        "k": found.coverage_factor,
        "u_random": found.random.u,
        "u_shared": sum(each**2 for each in found.effects.values()) ** 0.5,
    }


@dataclass(frozen=True)
class Quantity:
    """What is measured in each trial, e.g. the acceleration."""

    name: Measurand
    figures: int  # of results
    summary: Summary | None = None  # what all trials together say of it
    compared: Compared | None = None  # measured against predicted
    values: Values = field(default_factory=dict)  # of its symbols

    @property
    def words(self) -> str:
        """What it is called in a sentence."""
        return quantity_words(self.name)

    @property
    def unit(self) -> str:
        """In which it is given."""
        return UNITS[self.name]

    @property
    def column(self) -> str:
        """The head of its column in a table."""
        return f"{upper_first(self.words)} in {self.unit}"

    @property
    def comparison(self) -> Comparison | None:
        """Measured against predicted, all trials together."""
        return None if self.compared is None else self.compared.overall

    @property
    def model(self) -> "Quantity":
        """That whose prediction this one is compared with."""
        return replace(self, name=self.name.predicted)

    # ---- its symbols

    def __getattr__(self, name: str) -> Symbol:
        """One of the symbols that tell something about it."""
        if name not in _SYMBOLS:
            raise AttributeError(name)
        about, whose = _SYMBOLS[name], self.model if name.endswith("predicted") else self
        own, letter = LETTERS[whose.name], about.letter
        found = symbol(
            f"{about.kind}.{whose.name}",
            about.kind,
            f"Delta {own}" if letter == "Delta" else letter or own,
            (own if letter not in ("", "Delta") else "", WAYS.get(whose.name, ""), about.mark),
            self.unit if about.unit is None else about.unit,
            self.values.get(name),
            about.figures or self.figures,
            quantity=whose.words,
        )
        if name == "percent":
            return as_its_share(found, self.difference)
        if name != "difference" or self.comparison is None:
            return found
        known, measured = self.comparison.difference, self.comparison.measured
        return replace(found, place=last_place(measured if known.u is None else known))

    @property
    def u_scatter(self) -> Symbol:
        """The standard uncertainty of the mean from the scatter alone."""
        return self.u_random if self.summary and self.summary.effects else self.u

    @property
    def n(self) -> Symbol:
        """How many trials there are."""
        n = None if self.summary is None else self.summary.n
        found = symbol("number", "number", "n", (), "", n and float(n), None)
        return replace(found, written=str(n or ""))

    def with_value(self, value: float | Outcome | None) -> Symbol:
        """Its value in the trial that is worked through."""
        return replace(self, values={"single": value}).single

    def in_trial(self, trial: Trial) -> Symbol:
        """Its value in another trial, to the place that a table shows."""
        last = ends_in_trial(trial, self.name, self.summary)
        return self.with_value(Outcome(value=trial.estimates[self.name].value, u=last))

    def as_given(self, kind: str, mark: str, value: float) -> Symbol:
        """What the lab gives of it: the speed at the ``start``, the distance ``covered``."""
        id_, letter, words = f"{kind}.{self.name}", LETTERS[self.name], self.words
        return symbol(id_, kind, letter, (mark,), self.unit, value, self.figures, quantity=words)

    @property
    def combined(self) -> Expression:
        """The uncertainty of the difference from both sides; what they share drops out of it where
        it shifts both the same way.
        """
        squares = [self.u**2, self.u_predicted**2]
        shared = 0.0 if self.comparison is None else self.comparison.covariance
        if shared:
            squares.append(signed(-1 if shared > 0 else 1, 2 * self.u_common**2))
        return Root(body=total(squares))
