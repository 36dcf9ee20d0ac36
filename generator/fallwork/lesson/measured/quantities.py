"""What the steps about measuring are handed: trials, and what was made of them; and one measured
quantity with its symbols: mean, uncertainty, prediction, difference.

Without evidence the symbols have no values.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from functools import cached_property

from fallwork.lesson.expression import Expression, Root, Symbol
from fallwork.lesson.measured import words as say
from fallwork.lesson.trees import signed, total
from fallwork.lesson.words import texts, upper_first
from fallwork.measurement.comparison import Compared, Comparison, ComparisonResult
from fallwork.measurement.discrepancy import Discrepancy
from fallwork.measurement.model import Analysis, Measurand, Outcome, Summary, Trial
from fallwork.measurement.prediction import Prediction
from fallwork.measurement.records import SIMULATION
from fallwork.measurement.summaries import Sensors


def letters() -> Mapping[str, str]:
    """By quantity its letter with the mark beside it, in the order of columns."""
    found: Mapping[str, str] = texts("measuring")["letters"]
    return found


def rows() -> Mapping[str, Mapping[str, str]]:
    """The table of the symbols of the measured pages."""
    found: Mapping[str, Mapping[str, str]] = texts("measuring")["symbols"]
    return found


def symbol(
    key: str,
    id_: str,
    value: float | Outcome | None = None,
    figures: int | None = None,
    *,
    letter: str = "",
    marks: Iterable[str] | None = None,
    unit: str = "",
    **words: str,
) -> Symbol:
    """The symbol of a row of the table, or with another letter, subscripts and unit.

    ``figures`` are those of results; of a value that is an outcome: where it has no uncertainty.
    """
    row = rows()[key]
    shown = row.get("figures", str(say.FIGURES_OF_U))
    digits = figures if shown == "results" else int(shown)
    if isinstance(value, Outcome):
        digits, value = say.figures_for(value.value, say.ends_at(value), digits or 1), value.value
    name = letter or row["letter"]
    return Symbol(
        id=f"measured.{id_}",
        letter=name,
        subscript=",".join(filter(None, [row.get("mark", "")] if marks is None else marks)),
        meaning=say.title(f"symbols.{key}.meaning", **words),
        unit=row.get("unit", unit),
        value=value,
        figures=digits,
        force="tension" if name == "T" else "",
    )


def as_its_share(share: Symbol, difference: Symbol) -> Symbol:
    """A difference in percent, known to the place to which the difference is."""
    if not difference.value or share.value is None:
        return share
    return replace(share, place=difference.place * abs(share.value / difference.value))


@dataclass(frozen=True, kw_only=True)
class Judgement:
    """The trials against the model. It holds results, so it belongs to the solution."""

    prediction: Prediction
    comparison: ComparisonResult
    discrepancy: Discrepancy


@dataclass(frozen=True, kw_only=True)
class Evidence:
    """The trials of a lab."""

    analysis: Analysis
    whose: str = ""  # bench, class, lent, simulation, or "" where it isn't said
    sensors: Sensors = field(default_factory=Sensors)
    judgement: Judgement | None = None

    @property
    def simulated(self) -> bool:
        """Whether a program made them, by the files or by what the term says."""
        return self.whose == SIMULATION or any(trial.simulated for trial in self.analysis.trials)

    @property
    def source(self) -> str:
        """Where they come from: one of the words for whose they are, or ``unsaid``."""
        return SIMULATION if self.simulated else self.whose or "unsaid"

    @property
    def recorded(self) -> tuple[Trial, ...]:
        """The trials with records, in order."""
        return tuple(trial for trial in self.analysis.trials if trial.record is not None)

    @property
    def worked(self) -> Trial | None:
        """The trial that the steps work through: of those that count and have a run the first with
        most values, because a record may end before its run does.
        """
        runs = (t for t in self.analysis.counted if t.run and Measurand.ACCELERATION in t.estimates)
        return max(runs, key=lambda trial: len(trial.estimates), default=None)


@dataclass(frozen=True)
class Quantity:
    """What is measured in each trial, e.g. the acceleration."""

    name: Measurand
    figures: int  # of results
    summary: Summary | None = None  # what all trials together say of it
    compared: Compared | None = None  # measured against predicted
    expected: Outcome | None = None  # the prediction; u: what its last figure goes by
    u_expected: float | None = None

    @cached_property
    def values(self) -> Mapping[str, float | Outcome | None]:
        """Of its symbols: of the mean, of the difference from the prediction, and of that."""
        found: dict[str, float | Outcome | None] = {}
        if mean := self.summary:
            effects = sum(each**2 for each in mean.effects.values()) ** 0.5
            found |= {"mean": mean, "deviation": mean.standard_deviation, "u": mean.u}
            found |= {"k": mean.coverage_factor, "u_random": mean.random.u, "u_shared": effects}
        if over := self.comparison:
            found |= {"difference": over, "u_difference": over.u}
            found |= {"k_difference": over.coverage_factor, "percent": over.percent}
            found |= {"u_common": abs(over.covariance) ** 0.5}
        return found | {"predicted": self.expected, "u_predicted": self.u_expected}

    @property
    def words(self) -> str:
        """What it is called in a sentence."""
        return say.quantity_words(self.name)

    @property
    def unit(self) -> str:
        """In which it is given."""
        return say.UNITS[self.name]

    @property
    def column(self) -> str:
        """The head of its column in a table."""
        return f"{upper_first(self.words)} in {self.unit}"

    @property
    def comparison(self) -> Comparison | None:
        """Measured against predicted, all trials together."""
        return None if self.compared is None else self.compared.overall

    # ---- its symbols

    def symbol(self, key: str, value: float | Outcome | None) -> Symbol:
        """One of those that the table has of a quantity."""
        row, name = rows()[key], self.name.predicted if key.endswith("predicted") else self.name
        (own, _, way), letter = letters()[name].partition("_"), row.get("letter", "")
        of_it = letter in ("", "Delta")
        return symbol(
            key,
            f"{row.get('id', key)}.{name}",
            value,
            self.figures,
            letter=f"{letter} {own}".strip() if of_it else letter,
            marks=("" if of_it else own, way, row.get("mark", "")),
            unit=self.unit,
            quantity=say.quantity_words(name),
        )

    def __getattr__(self, name: str) -> Symbol:
        if name not in rows():
            raise AttributeError(name)
        found = self.symbol(name, self.values.get(name))
        if name == "percent":
            return as_its_share(found, self.difference)
        if name == "difference" and self.comparison is not None:
            known, measured = self.comparison, self.comparison.measured
            return replace(found, place=say.last_place(measured if known.u is None else known))
        return found

    @property
    def u_scatter(self) -> Symbol:
        """The standard uncertainty of the mean from the scatter alone."""
        return self.u_random if self.summary and self.summary.effects else self.u

    @property
    def n(self) -> Symbol:
        """How many trials there are."""
        n = None if self.summary is None else self.summary.n
        return replace(symbol("number", "number", n and float(n)), written=str(n or ""))

    def in_trial(self, trial: Trial) -> Symbol:
        """Its value in another trial, to the place that a table shows."""
        last = say.ends_in_trial(trial, self.name, self.summary)
        return self.symbol("single", Outcome(value=trial.estimates[self.name].value, u=last))

    @property
    def combined(self) -> Expression:
        """The uncertainty of the difference; what both sides share alike drops out."""
        squares = [self.u**2, self.u_predicted**2]
        shared = 0.0 if self.comparison is None else self.comparison.covariance
        if shared:
            squares.append(signed(-1 if shared > 0 else 1, 2 * self.u_common**2))
        return Root(body=total(squares))
