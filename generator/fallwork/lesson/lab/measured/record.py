"""What the steps from a record to values ask: the trial that they work through, and its symbols."""

import math
from collections.abc import Iterator, Mapping, Sequence
from functools import cached_property

import numpy as np

from fallwork.lesson.expression import Expression, Symbol
from fallwork.lesson.lab.measured.core import Measured, refs
from fallwork.lesson.measured.words import ends_at, figures_for, title, unbroken
from fallwork.measurement.model import Basis, FoundRun, Measurand, Outcome, Trial

SAME = 1e-9  # relative; two ways to one number
CLOCK = 100  # points of the line are taken at whole hundredths of a second
NO_BREAK = "\u00a0"
SINGLE: Mapping[str, Measurand] = {  # letters of values of one trial
    "a1": Measurand.ACCELERATION,
    "v1": Measurand.FINAL_SPEED,
    "t1": Measurand.TRAVEL_TIME,
    "d1": Measurand.DISTANCE,
    "T1": Measurand.MEAN_TENSION,
    "W1": Measurand.WORK_OF_TENSION,
}


class Record(Measured):
    """The trial that is worked through, for all of its kind; in symbols without one."""

    @cached_property
    def trial(self) -> Trial | None:
        """That trial; None where there is no record to work through."""
        return None if self.evidence is None else self.evidence.worked

    @cached_property
    def run(self) -> FoundRun | None:
        """Where the run lies in its record."""
        return None if self.trial is None else self.trial.run

    @property
    def shows_values(self) -> bool:
        """Whether there is a way from a record to values to tell of."""
        return self.moves and (self.evidence is None or self.trial is not None)

    def shows(self, quantity: str) -> bool:
        """Whether there is something to tell of a quantity: in symbols always."""
        return self.shows_values and (self.trial is None or quantity in self.trial.estimates)

    @cached_property
    def letters(self) -> Mapping[str, Expression]:
        """Those of this trial: its values, the points X and Y of its line, its two moments."""
        if self.evidence is not None and self.trial is None:
            return super().letters
        found = {} if self.trial is None else self.trial.estimates
        single = {
            letter: self.of(quantity).single(found.get(quantity))
            for letter, quantity in SINGLE.items()
            if self.trial is None or quantity in found
        }
        if "W1" in single:
            single["d1"] = self._over
        return {**super().letters, **refs({**single, **self._line})}

    @property
    def _over(self) -> Symbol:
        """The distance that goes into the work: as measured, else as given."""
        distance, found = self.of(Measurand.DISTANCE), self.trial and self.trial.estimates
        if not found or Measurand.DISTANCE in found:
            return distance.single(found[Measurand.DISTANCE] if found else None)
        work, pull = (found[q].value for q in (Measurand.WORK_OF_TENSION, Measurand.MEAN_TENSION))
        return distance.as_given("covered", "given", work / pull)

    @property
    def _line(self) -> Mapping[str, Symbol]:
        run = self.run
        line = {
            "te": self._moment("landing", "end", None if run is None else run.landing),
            "tr": self._moment("release", "rel", None if run is None else run.release),
        }
        for mark, at in zip("XY", self._points(), strict=True):
            written = "" if at is None else f"{at:.2f}"
            line[f"t{mark}"] = self._moment(f"time-{mark}", mark, at, written)
            line[f"v{mark}"] = self._on_the_line(
                f"speed-{mark}", "v", mark, Measurand.FINAL_SPEED, self._speed_at(at)
            )
        if self.starts_moving:
            at = None if run is None else run.release
            line["v01"] = self._on_the_line(
                "start-speed", "v", "0,trial", Measurand.FINAL_SPEED, self._speed_at(at)
            )
        return line

    def _speed_at(self, moment: float | None) -> float | None:
        """Where the fitted line stands then."""
        if self.run is None or moment is None:
            return None
        first, slope = self.run.driven_line
        return first + slope * moment

    def _points(self) -> tuple[float | None, float | None]:
        """Whole hundredths of a second between the first and the last fitted reading."""
        if self.run is None:
            return None, None
        start, end = self._fitted
        return math.ceil(start * CLOCK) / CLOCK, math.floor(end * CLOCK) / CLOCK

    def _moment(self, kind: str, mark: str, value: float | None, written: str = "") -> Symbol:
        """A time on that trial's clock."""
        return self._on_the_line(kind, "t", mark, Measurand.TRAVEL_TIME, value, written)

    def _on_the_line(
        self,
        kind: str,
        letter: str,
        mark: str,
        like: Measurand,
        value: float | None,
        written: str = "",
    ) -> Symbol:
        """A value of the fitted line; its last place is that of a measured one like it."""
        found = None if self.trial is None else self.trial.estimates.get(like)
        return Symbol(
            id=f"measured.{kind}",
            letter=letter,
            subscript=mark,
            meaning=title(f"meanings.{kind}"),
            unit=self.of(like).unit,
            value=value,
            written=written,
            figures=figures_for(
                value or 0.0, 0.0 if found is None else ends_at(found), self.figures
            ),
        )

    # ---- values in words

    def found(self, quantity: str) -> Outcome | None:
        """A value of that trial; None where it has none."""
        return None if self.trial is None else self.trial.estimates.get(quantity)

    @staticmethod
    def at_time(moment: float, places: int) -> str:
        """A moment with so many decimal places."""
        return f"{moment:.{places}f}{NO_BREAK}s"

    @property
    def readings(self) -> tuple[str, str]:
        """The same, as the record has these times; to a millisecond at most."""
        first, last = (f"{at:.3f}".removesuffix("0") + f"{NO_BREAK}s" for at in self._fitted)
        return first, last

    @property
    def _fitted(self) -> tuple[float, float]:
        """When the first and the last reading lie to which the line of the run was fitted, s."""
        assert self.trial is not None  # asked for where one is worked through
        assert self.run is not None  # as it is then
        assert self.trial.record is not None  # in which it was found
        record, run = self.trial.record, self.run
        motion = record.position if run.basis is Basis.POSITION else record.velocity
        assert motion is not None  # it was found in this column
        inside = (record.time >= run.driven[0]) & (record.time <= run.driven[1])
        times = record.time[inside & np.isfinite(motion)]
        return float(times[0]), float(times[-1])

    # ---- the run in the record

    @property
    def windows(self) -> Iterator[tuple[str, ...]]:
        """Where the run lies in each record: name, release and end."""
        for trial in self._with_window:
            yield unbroken(trial.name), *(self.at_time(at, 3) for at in trial.window or ())

    @property
    def set_by_hand(self) -> str:
        """The trials for which it was set by hand, in words."""
        return ", ".join(trial.name for trial in self._with_window if trial.window_by_hand)

    @property
    def _with_window(self) -> Sequence[Trial]:
        trials = () if self.evidence is None else self.evidence.analysis.trials
        return [trial for trial in trials if trial.window is not None]

    @property
    def starts_at_zero(self) -> bool:
        """Whether the record begins at zero on its clock and the end of the run is in it."""
        if self.trial is None or self.trial.record is None or self.run is None:
            return self.evidence is None
        return self.run.landing is not None and bool(self.trial.record.time[0] == 0)

    @property
    def slope_of_all(self) -> float | None:
        """The slope of a line through everything up to the landing, stretch at rest included."""
        record, run = None if self.trial is None else self.trial.record, self.run
        if record is None or run is None or record.velocity is None:
            return None
        if run.held is None or run.landing is None:
            return None
        kept = np.isfinite(record.velocity) & (record.time <= run.landing)
        slope = float(np.polyfit(record.time[kept], record.velocity[kept], 1)[0])
        return run.signs.get("velocity", 1) * slope

    @property
    def distance_is_area(self) -> bool:
        """Whether the distance was found as the area under the fitted line."""
        if self.trial is None:
            return True
        speed, time, distance = (
            self.trial.estimates[q].value
            for q in (Measurand.FINAL_SPEED, Measurand.TRAVEL_TIME, Measurand.DISTANCE)
        )
        return math.isclose(speed * time / 2, distance, rel_tol=SAME)
