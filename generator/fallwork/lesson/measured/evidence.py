"""What the steps about measuring are handed: trials, and what was made of them; sentences for
whoever enters them.
"""

from collections.abc import Iterator
from dataclasses import dataclass, field

from fallwork.lesson.measured.words import quantity_words
from fallwork.lesson.words import listing, say
from fallwork.measurement.comparison import ComparisonResult
from fallwork.measurement.discrepancy import Discrepancy
from fallwork.measurement.model import Analysis, Measurand, Trial
from fallwork.measurement.prediction import Prediction
from fallwork.measurement.records import SIMULATION
from fallwork.measurement.summaries import Sensors


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
        """The trial that the steps work through: the first that counts and has a run."""
        for trial in self.analysis.counted:
            if trial.run is not None and Measurand.ACCELERATION in trial.estimates:
                return trial
        return None

    def trial(self, name: str) -> Trial:
        """A trial by its name; KeyError for another."""
        return {trial.name: trial for trial in self.analysis.trials}[name]


def on_means(evidence: Evidence) -> Iterator[str]:
    """What can't be judged, and what to record so that it can be; and means over other trials."""
    lists: dict[str, list[str]] = {}
    for each in evidence.analysis.summary.values():
        single = any(each.quantity in trial.estimates for trial in evidence.analysis.counted)
        if each.u is None:
            key = "unscattered-one" if each.n == 1 else "unscattered-alike" if single else ""
            words = f"the {quantity_words(each.quantity)}"
            lists.setdefault(key or "unscattered", []).append(words)
    for key, names in lists.items():
        yield say(f"quality.{key}", "reviewing", list=listing(names))
    counted = str(len(evidence.analysis.counted))
    for quantity, n in over_others(evidence.analysis).items():
        yield say(
            "quality.over-others",
            "reviewing",
            quantity=quantity_words(quantity),
            n=str(n),
            counted=counted,
        )


def over_others(analysis: Analysis) -> dict[str, int]:
    """The number of trials of each mean that can't be over those that count beside it."""
    counted = analysis.counted
    known = {q: each.n or 0 for q, each in analysis.summary.items() if (each.n or 1) > 1}
    return {
        q: n
        for q, n in known.items()
        if counted and n != len(counted) and not any(q in trial.estimates for trial in counted)
    }
