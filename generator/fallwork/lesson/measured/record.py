"""What the steps from a record to values ask: where the run lies in it, and symbols of the trial
that they work through.
"""

import math
from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from fallwork.lesson.expression import Symbol
from fallwork.lesson.measured.quantities import symbol
from fallwork.lesson.measured.trials import Trials
from fallwork.lesson.measured.words import UNITS, ends_at
from fallwork.lesson.rounding import to_places
from fallwork.measurement.model import Basis, FoundRun, Measurand, Outcome

SAME = 1e-9  # relative; two ways to one number
CLOCK = 100  # points of the line are taken at whole hundredths of a second


class Record(Trials):
    """The trial that is worked through, for all of its kind; in symbols without one."""

    @property
    def run(self) -> FoundRun | None:
        """Where the run lies in its record."""
        return None if self.trial is None else self.trial.run

    def found(self, quantity: str) -> Outcome | None:
        """A value of that trial; None where it has none."""
        return None if self.trial is None else self.trial.estimates.get(quantity)

    @property
    def shows_values(self) -> bool:
        """Whether there is a way from a record to values to tell of."""
        return self.moves and (self.evidence is None or self.trial is not None)

    def shows(self, quantity: str) -> bool:
        """Whether there is something to tell of a quantity: in symbols always."""
        return self.shows_values and (self.trial is None or quantity in self.trial.estimates)

    # ---- its symbols

    def single(self, name: str) -> Symbol | None:
        """A value of that trial as a symbol; of a distance that isn't found the one that went into
        the work.
        """
        quantity = self.of(name)
        if self.trial is None or name in self.trial.estimates:
            return quantity.with_value(self.found(name))
        work, pull = self.found(Measurand.WORK_OF_TENSION), self.found(Measurand.MEAN_TENSION)
        if name == Measurand.DISTANCE and work and pull:
            return quantity.as_given("covered", "given", work.value / pull.value)
        return None

    def on_the_line(self, kind: str, letter: str, mark: str) -> Symbol:
        """A time on the trial's clock, or the speed of the fitted line then: at release, at the
        end, at the points X and Y. Its last place is that of a measured one like it.
        """
        like = Measurand.TRAVEL_TIME if letter == "t" else Measurand.FINAL_SPEED
        measured, run, time, written = self.found(like), self.run, None, ""
        if run is not None and mark in "XY":
            start, end = (at * CLOCK for at in self._fitted)
            time = (math.ceil(start) if mark == "X" else math.floor(end)) / CLOCK
            written = to_places(time, 2) if letter == "t" else ""
        elif run is not None:
            time = run.landing if mark == "end" else run.release
        ends = 0.0 if measured is None else ends_at(measured)
        value = time
        if letter == "v" and run is not None and time is not None:
            value = run.driven_line[0] + run.driven_line[1] * time
        outcome = None if value is None else Outcome(value=value, u=ends)
        found = symbol(kind, kind, letter, (mark,), UNITS[like], outcome, self.figures)
        return replace(found, written=written)

    # ---- the run in the record

    @staticmethod
    def at_time(moment: float, places: int) -> str:
        """A moment with so many decimal places."""
        return f"{to_places(moment, places)}\u00a0s"

    @property
    def readings(self) -> Sequence[str]:
        """When the first and the last fitted reading lie, as the record has these times; to a
        millisecond at most.
        """
        return [to_places(at, 3).removesuffix("0") + "\u00a0s" for at in self._fitted]

    @property
    def _fitted(self) -> tuple[float, float]:
        """When the first and the last reading lie to which the line of the run was fitted, s."""
        record, run = None if self.trial is None else self.trial.record, self.run
        assert record is not None  # in which the run was found
        assert run is not None
        motion = record.position if run.basis is Basis.POSITION else record.velocity
        assert motion is not None  # it was found in this column
        inside = (record.time >= run.driven[0]) & (record.time <= run.driven[1])
        times = record.time[inside & np.isfinite(motion)]
        return float(times[0]), float(times[-1])

    @property
    def starts_at_zero(self) -> bool:
        """Whether the record begins at zero on its clock and the end of the run is in it."""
        if self.trial is None or self.trial.record is None or self.run is None:
            return self.evidence is None
        return self.run.landing is not None and bool(self.trial.record.time[0] == 0)

    @property
    def distance_is_area(self) -> bool:
        """Whether the distance was found as the area under the fitted line."""
        names = (Measurand.FINAL_SPEED, Measurand.TRAVEL_TIME, Measurand.DISTANCE)
        speed, time, distance = (each.value if each else 0.0 for each in map(self.found, names))
        return math.isclose(speed * time / 2, distance, rel_tol=SAME)
