"""What the steps at the bench, about a record and about the report ask: what is weighed and
measured before the trials, where the run lies in a record, tables to fill in, a value rounded too
early.
"""

import math
from collections.abc import Mapping, Sequence
from dataclasses import replace
from fractions import Fraction
from functools import cached_property

import numpy as np

from fallwork.lesson.document import Given
from fallwork.lesson.expression import Expression, Function, Symbol
from fallwork.lesson.known import givens_of
from fallwork.lesson.lab.motion import Motion
from fallwork.lesson.measured.quantities import rows, symbol
from fallwork.lesson.measured.trials import Trials
from fallwork.lesson.measured.words import ends_at, title
from fallwork.lesson.rounding import rounded, to_places
from fallwork.lesson.trees import product, scaled, signed, total
from fallwork.lesson.words import upper_first
from fallwork.measurement.energies import is_measured
from fallwork.measurement.model import Basis, Measurand, Outcome
from fallwork.mechanics.solution import Interaction

TOO_FEW = 1  # figures
CLOCK = 100  # points of the line are taken at whole hundredths of a second


class Bench(Trials, Motion):
    """Before the trials, one of their records, and what is handed in after them."""

    @cached_property
    def held_pull(self) -> Expression | None:
        """The pull on the held object, without bearings; None where other friction has a share."""
        watched, on_tracks = self.watched, {self.watched, *self.sliders}
        sloping = any(self.slope_rad(name) for name in self.sliders if name != watched)
        others = [name for name in self.movers if name not in on_tracks]
        paths = [self.apparatus.strings[name].path for name in self.strings_at(watched)]
        leading = [path for path in paths if set(path) - on_tracks]
        settled = self.tied and watched in self.movers and not sloping
        if not settled or not others or len(leading) != 1:
            return None
        pulls = [
            signed(self.senses[name], scaled(self.ratio(name), self.gravity_on(name)))
            for name in others
            if self.mass_kg(name)
        ]
        way = -1 if self.pulled_back else 1
        return scaled(Fraction(way) / self.ratio(watched), total(pulls))

    @property
    def held_drag(self) -> Expression | None:
        """The most that friction in bearings can take from that pull or add to it."""
        drags = [(name, self.rotor_drag(name)) for name in self.rotors]
        parts = [scaled(self.rim(name), drag) for name, drag in drags if drag is not None]
        return scaled(1 / Fraction(self.ratio(self.watched)), total(parts)) if parts else None

    @property
    def run_ratio(self) -> Fraction | None:
        """How far the watched object moves for the run's; None where strings leave it open."""
        run = self.scenario.run.object
        if run == self.watched or not self.tied:
            return Fraction(1) if run == self.watched else None
        return abs(Fraction(self.ratios[self.watched]) / Fraction(self.ratios[run]))

    @property
    def givens(self) -> Sequence[Given]:
        """What is given."""
        return givens_of(self)

    @property
    def tilted(self) -> Expression:
        """What a tilt of the surface under the watched object does to the common acceleration."""
        surface = self.surface_under(self.watched)
        pulls = (scaled(self.ratio(name), self.gravity_on(name)) for name in self.riders(surface))
        pull = product(total(pulls), Function(name="sin", argument=self.slope(surface)))
        return pull / self.common_inertia

    # ---- a record: the trial that is worked through, for all of its kind; in symbols without one

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

    def single(self, name: str) -> Symbol | None:
        """A value of that trial; of a distance not found the one that went into the work."""
        quantity = self.of(name)
        if self.trial is None or name in self.trial.estimates:
            return quantity.symbol("single", self.found(name))
        work, pull = self.found(Measurand.WORK_OF_TENSION), self.found(Measurand.MEAN_TENSION)
        if name == Measurand.DISTANCE and work and pull:
            return quantity.symbol("covered", work.value / pull.value)
        return None

    def on_the_line(self, key: str) -> Symbol:
        """A time on the trial's clock, or the speed of the fitted line then: at release, at the
        end, at the points X and Y. Its last place is that of a measured one like it.
        """
        row, value, written = rows()[key], None, ""
        is_time, mark = row["letter"] == "t", row["mark"]
        run = None if self.trial is None else self.trial.run
        if run is not None and mark in "XY":
            first, last = (at * CLOCK for at in self._fitted)
            value = (math.ceil(first) if mark == "X" else math.floor(last)) / CLOCK
            written = to_places(value, 2) if is_time else ""
        elif run is not None:
            value = run.landing if mark == "end" else run.release
        if run is not None and value is not None and not is_time:
            value = run.driven_line[0] + run.driven_line[1] * value
        like = self.found(Measurand.TRAVEL_TIME if is_time else Measurand.FINAL_SPEED)
        ends = 0.0 if like is None else ends_at(like)
        outcome = None if value is None else Outcome(value=value, u=ends)
        return replace(symbol(key, key, outcome, self.figures), written=written)

    @staticmethod
    def at_time(moment: float) -> str:
        """A moment to a millisecond."""
        return f"{to_places(moment, 3)}\u00a0s"

    @property
    def readings(self) -> Sequence[str]:
        """When the first and last fitted reading lie, to a millisecond at most."""
        return [to_places(at, 3).removesuffix("0") + "\u00a0s" for at in self._fitted]

    @property
    def _fitted(self) -> tuple[float, float]:
        """When the first and the last reading lie to which the line of the run was fitted, s."""
        assert self.trial is not None
        record, run = self.trial.record, self.trial.run
        assert record is not None  # in which the run was found
        assert run is not None
        motion = record.position if run.basis is Basis.POSITION else record.velocity
        assert motion is not None  # it was found in this column
        inside = (record.time >= run.driven[0]) & (record.time <= run.driven[1])
        times = record.time[inside & np.isfinite(motion)]
        return float(times[0]), float(times[-1])

    # ---- the report

    def asked_for(self, *ways: str) -> tuple[tuple[str, str], ...]:
        """What the tables ask for, with units; both ``ways`` where friction turns round between."""
        back = len(self.driven) > 1
        return tuple(
            (upper_first(each.words) + way, each.unit)
            for each in self.featured
            for way in (ways if back and each.name is not Measurand.FINAL_SPEED else [""])
        )

    @property
    def unread(self) -> Mapping[str, Sequence[str]]:
        """By the id of a featured system, the strings that do work on it unread by any sensor."""
        found = {}
        pulls = [f for f in self.phase.forces if f.interaction is Interaction.TENSION]
        pulls = [f for f in pulls if f.work or (f.work is None and f.reason is None)]
        unread = [each for each in pulls if not is_measured(each, self.view, self.phase)]
        for system in self.scenario.systems:
            inside = system.members
            outer = [f for f in unread if f.on in inside and f.partner not in inside]
            ends = [name for force in outer for name in (force.partner, force.on)]
            names = dict.fromkeys(name for name in ends if name in self.apparatus.strings)
            if names:
                found[system.id] = [self.the(name) for name in names]
        return found

    @property
    def loose(self) -> Sequence[str]:
        """The movers whose motion no sensor follows and no taut string ties to the watched one."""
        bound, of = self.bound_to(self.watched), self.rigging.of_object
        tied = {at for at, by in bound.items() if not any(by[:-1])} | {of[self.watched]}
        return [name for name in self.moving if of[name] not in tied]

    @property
    def unfollowed(self) -> Mapping[str, Sequence[str]]:
        """By the id of a featured system, its members with mass whose motion isn't measured."""
        heavy = [name for name in self.loose if self.mass_kg(name)]
        held = {s.id: [self.the(n) for n in heavy if n in s.members] for s in self.scenario.systems}
        return {id_: names for id_, names in held.items() if names}

    @property
    def early_acceleration(self) -> Symbol:
        """The acceleration, rounded before it is used."""
        right, meaning = self.acceleration, title("symbols.rounded.meaning")
        digits = "" if right.value is None else str(rounded(right.value, TOO_FEW).decimal)
        early = replace(right, id="acceleration.early", subscript="early", meaning=meaning)
        return replace(early, value=float(digits) if digits else None, written=digits)

    @property
    def early_tension(self) -> Symbol:
        """What the tension on the weight comes to with that."""
        right, a = self.tension(self.string, self.weight), self.early_acceleration.value
        g, meaning = float(self.apparatus.gravity), title("symbols.tension-rounded.meaning")
        value = None if a is None else self.mass_kg(self.weight) * (g - a)
        early = replace(right, id="tension.early", subscript="early", meaning=meaning)
        return replace(early, value=value, written="", aside=True)
